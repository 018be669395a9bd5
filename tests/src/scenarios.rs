//! The kinds of season in which the verdicts have to keep what they promise.

use crate::season::{
    Changes::{Between, Every, Inside},
    Flyers, Scenario, Step, Tail,
};

/// The largest share of all seasons in which any verdict may be wrong.
pub const FALSE_RATE: f64 = 0.06;
/// Between these the share of 95 % intervals has to lie that cover the truth, in seasons of 12 sessions or more.
pub const COVERAGE: (f64, f64) = (0.93, 0.97);

const NARROW_AND_BACK: &[Step] = &[step(0.0, 0.6), step(0.0, 1.0 / 0.6)];
const FIFTH_SMALLER: &[Step] = &[step(0.0, 0.8), step(0.0, 1.25)];
const QUARTER_LARGER: &[Step] = &[step(0.0, 1.25), step(0.0, 0.8)];
const MOVED: &[Step] = &[step(0.7, 1.0), step(0.0, 1.0), step(0.0, 1.0)];

const fn step(right: f64, ratio: f64) -> Step {
    Step { right, ratio }
}

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
            arrows: [3, 3],
            ends: 10,
            correlation: 0.5,
            steps: NARROW_AND_BACK,
            session_log_sd: 0.2,
            tail: Tail::T5,
            ..usual("everything at once, inside", 12, 5, Inside)
        },
        Scenario {
            arrows: [3, 3],
            ends: 10,
            correlation: 0.5,
            steps: NARROW_AND_BACK,
            session_log_sd: 0.2,
            tail: Tail::T5,
            ..usual("everything at once, between", 12, 5, Between)
        },
        Scenario { correlation: 0.8, ..usual("axes correlated, inside", 12, 4, Inside) },
        Scenario { correlation: 0.8, ..usual("axes correlated, between", 12, 4, Between) },
        Scenario { steps: NARROW_AND_BACK, ..usual("unequal spreads, inside", 12, 4, Inside) },
        Scenario { steps: NARROW_AND_BACK, ..usual("unequal spreads, between", 12, 4, Between) },
        Scenario { session_sd: 0.0, end_sd: 0.0, ..usual("no session or end effect", 12, 4, Inside) },
        Scenario { session_sd: 1.0, end_sd: 0.0, ..usual("strong session effect, between", 8, 3, Between) },
        Scenario { arrows: [3, 3], ends: 10, ..usual("ends of three arrows", 12, 4, Inside) },
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
        Scenario { steps: FIFTH_SMALLER, ..usual("power: SD ratio 0.8", 24, 3, Inside) },
        Scenario { steps: QUARTER_LARGER, ..usual("power: SD ratio 1.25", 24, 3, Inside) },
        Scenario { steps: MOVED, ..usual("power: shift of 0.7 mrad", 24, 3, Inside) },
    ]
}

/// Shifts and spreads of every size: what is beside nothing, less than matters, more than matters and much more.
const EVERY_SIZE: &[Step] = &[
    step(0.65, 1.0),
    step(0.0, 1.15),
    step(-0.25, 1.0),
    step(0.0, 1.0 / 1.15),
    step(1.2, 1.05),
    step(0.0, 1.0 / 1.05),
];
/// The spread halves and doubles while the groups move by more than matters, or do not.
const HALF_AND_BACK: &[Step] = &[step(0.0, 0.5), step(0.7, 2.0), step(0.0, 1.0)];
const SHARED: Flyers = Flyers { share: 0.02, sd: 4.0, marked_from: None };

/// Returns seasons as they are shot, with changes of every size: ends of 3 to 6 arrows, good and bad days both in
/// where the groups lie and in how wide they are.
pub fn broad() -> Vec<Scenario> {
    let season = |name, sessions, changes, place| Scenario {
        arrows: [3, 6],
        session_log_sd: 0.1,
        steps: EVERY_SIZE,
        ..Scenario::usual(name, sessions, changes, place)
    };
    vec![
        season("2 sessions, a change inside", 2, 1, Inside),
        season("4 sessions, 2 changes inside", 4, 2, Inside),
        season("12 sessions, 6 changes inside", 12, 6, Inside),
        season("60 sessions, 6 changes inside", 60, 6, Inside),
        season("1 session between changes", 12, 11, Every(1)),
        season("2 sessions between changes", 14, 6, Every(2)),
        season("4 sessions between changes", 28, 6, Every(4)),
        season("8 sessions between changes", 56, 6, Every(8)),
        Scenario {
            ends: 12,
            distances: &[18.0, 30.0, 50.0],
            ..season("three distances, inside", 12, 6, Inside)
        },
        Scenario { distances: &[30.0, 50.0], ..season("two distances, between", 28, 6, Every(4)) },
        Scenario {
            session_sd: 0.8,
            session_log_sd: 0.2,
            ..season("days differ much, inside", 12, 6, Inside)
        },
        Scenario {
            session_sd: 0.8,
            session_log_sd: 0.2,
            ..season("days differ much, between", 28, 6, Every(4))
        },
        Scenario {
            session_sd: 0.0,
            end_sd: 0.0,
            session_log_sd: 0.0,
            ..season("days and ends alike", 12, 6, Inside)
        },
        Scenario { correlation: 0.7, ..season("axes correlated", 12, 6, Inside) },
        Scenario { steps: HALF_AND_BACK, ..season("spread halves and doubles, inside", 12, 6, Inside) },
        Scenario { steps: HALF_AND_BACK, ..season("spread halves and doubles, between", 28, 6, Every(4)) },
        Scenario { tail: Tail::T5, ..season("long tails, inside", 12, 6, Inside) },
        Scenario { tail: Tail::T5, ..season("long tails, between", 28, 6, Every(4)) },
        Scenario {
            flyers: Some(Flyers { marked_from: Some(3.5), ..SHARED }),
            ..season("one arrow in 50 a flyer, marked", 12, 6, Inside)
        },
        Scenario { flyers: Some(SHARED), ..season("one arrow in 50 a flyer, unmarked", 12, 6, Inside) },
        Scenario {
            flyers: Some(Flyers { share: 0.0, sd: 1.0, marked_from: Some(2.0) }),
            ..season("good arrows marked as flyers", 12, 6, Inside)
        },
    ]
}
