//! The kinds of season in which the verdicts have to keep what they promise.

use crate::season::{
    Changes::{Between, Inside},
    Scenario, Tail,
};

/// The largest share of all seasons in which any verdict may be wrong.
pub const FALSE_RATE: f64 = 0.06;
/// Between these the share of 95 % intervals has to lie that cover the truth, in seasons of 12 sessions or more.
pub const COVERAGE: (f64, f64) = (0.93, 0.97);

/// Returns every kind of season.
pub fn scenarios() -> Vec<Scenario> {
    let usual = Scenario::usual;
    let few = |name, sessions: usize, changes| Scenario {
        session_log_sd: 0.1,
        ..usual(name, sessions, changes, Between)
    };
    vec![
        usual("12 sessions, 4 changes inside", 12, 4, Inside),
        usual("24 sessions, 6 changes inside", 24, 6, Inside),
        usual("12 sessions, 3 changes between", 12, 3, Between),
        usual("24 sessions, 6 changes between", 24, 6, Between),
        few("2 sessions, 1 change between", 2, 1),
        few("3 sessions, 1 change between", 3, 1),
        few("4 sessions, 2 changes between", 4, 2),
        few("5 sessions, 3 changes between", 5, 3),
        few("6 sessions, 3 changes between", 6, 3),
        few("8 sessions, 3 changes between", 8, 3),
        few("8 sessions, 5 changes between", 8, 5),
        usual("2 sessions, 3 changes inside", 2, 3, Inside),
        usual("3 sessions, 3 changes inside", 3, 3, Inside),
        usual("4 sessions, 4 changes inside", 4, 4, Inside),
        usual("6 sessions, 4 changes inside", 6, 4, Inside),
        usual("8 sessions, 6 changes inside", 8, 6, Inside),
        Scenario {
            arrows: 3,
            ends: 10,
            correlation: 0.5,
            sd_ratio: 0.6,
            session_log_sd: 0.2,
            tail: Tail::T5,
            ..usual("everything at once, inside", 12, 5, Inside)
        },
        Scenario {
            arrows: 3,
            ends: 10,
            correlation: 0.5,
            sd_ratio: 0.6,
            session_log_sd: 0.2,
            tail: Tail::T5,
            ..usual("everything at once, between", 12, 5, Between)
        },
        Scenario { correlation: 0.8, ..usual("axes correlated, inside", 12, 4, Inside) },
        Scenario { correlation: 0.8, ..usual("axes correlated, between", 12, 4, Between) },
        Scenario { sd_ratio: 0.6, ..usual("unequal spreads, inside", 12, 4, Inside) },
        Scenario { sd_ratio: 0.6, ..usual("unequal spreads, between", 12, 4, Between) },
        Scenario { session_sd: 0.0, end_sd: 0.0, ..usual("no session or end effect", 12, 4, Inside) },
        Scenario { session_sd: 1.0, end_sd: 0.0, ..usual("strong session effect, between", 8, 3, Between) },
        Scenario { arrows: 3, ends: 10, ..usual("ends of three arrows", 12, 4, Inside) },
        Scenario { session_log_sd: 0.1, ..usual("sessions' spread 0.1, inside", 12, 4, Inside) },
        Scenario { session_log_sd: 0.2, ..usual("sessions' spread 0.2, inside", 12, 4, Inside) },
        Scenario { session_log_sd: 0.1, ..usual("sessions' spread 0.1, between", 12, 4, Between) },
        Scenario { session_log_sd: 0.2, ..usual("sessions' spread 0.2, between", 12, 4, Between) },
        Scenario { session_log_sd: 0.2, ..usual("sessions' spread 0.2, 5 sessions", 5, 3, Between) },
        Scenario { session_log_sd: 0.2, ..usual("sessions' spread 0.2, 40 sessions", 40, 6, Between) },
        Scenario { tail: Tail::T5, ..usual("long tails, inside", 12, 4, Inside) },
        Scenario {
            tail: Tail::T5,
            session_log_sd: 0.2,
            ..usual("long tails and 0.2, between", 12, 4, Between)
        },
        Scenario { sd_ratio: 0.8, ..usual("power: SD ratio 0.8", 24, 3, Inside) },
        Scenario { sd_ratio: 1.25, ..usual("power: SD ratio 1.25", 24, 3, Inside) },
        Scenario { shift: 0.7, ..usual("power: shift of 0.7 mrad", 24, 3, Inside) },
    ]
}
