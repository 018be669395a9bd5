//! Simulated seasons in which one setting was shot at several values, for checking what `dial` promises.

use sheaf_model::{
    moment::Moment,
    rng::{Rng, Seed},
    stats::{
        dial::{Best, Dial, DialChange, DialGroup, DialInput, dial},
        effects::{Group, Noise},
    },
};
use std::collections::BTreeMap;

/// A kind of season.
#[derive(Debug, Clone)]
pub struct Kind {
    /// What it is called.
    pub name: &'static str,
    /// Sessions.
    pub sessions: usize,
    /// Ends a session.
    pub ends: usize,
    /// Arrows an end.
    pub arrows: usize,
    /// The values shot; every second end has another of them.
    pub values: &'static [f64],
    /// Whether the value stays for a whole session.
    pub by_session: bool,
    /// Shift to the right, mrad per unit.
    pub slope: f64,
    /// Log SD per unit squared about `best`.
    pub curvature: f64,
    /// The value of smallest spread, where `curvature` is not zero.
    pub best: f64,
    /// Log SD per unit.
    pub log_sd_slope: f64,
    /// SD of the logarithm of the sessions' own spread.
    pub session_log_sd: f64,
    /// Whether a second dial turns, a string is changed and the sight is moved as well.
    pub busy: bool,
}

impl Kind {
    /// Returns an ordinary season with nothing to be found.
    pub const fn usual(name: &'static str, sessions: usize) -> Self {
        Self {
            name,
            sessions,
            ends: 8,
            arrows: 6,
            values: &[1.5, 2.0, 2.5, 3.0, 3.5],
            by_session: false,
            slope: 0.0,
            curvature: 0.0,
            best: 2.4,
            log_sd_slope: 0.0,
            session_log_sd: 0.1,
            busy: false,
        }
    }
}

/// Returns every kind of season.
pub fn kinds() -> Vec<Kind> {
    let usual = Kind::usual;
    vec![
        usual("nothing, 4 sessions", 4),
        usual("nothing, 12 sessions", 12),
        Kind { values: &[2.0, 2.5, 3.0], arrows: 3, ..usual("nothing, 3 values, ends of 3", 8) },
        Kind { busy: true, session_log_sd: 0.2, ..usual("nothing, much else going on", 12) },
        Kind { by_session: true, ..usual("nothing, a value a session", 15) },
        Kind { log_sd_slope: 0.3, slope: -0.7, ..usual("spread grows, no best value", 12) },
        Kind { slope: -0.7, curvature: 0.3, ..usual("a line and a best value", 16) },
        Kind { slope: -0.7, curvature: 0.3, busy: true, ..usual("the same, much else going on", 16) },
        Kind { curvature: 0.1, ..usual("a flat best value", 16) },
    ]
}

/// What the answers came to.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Seasons.
    pub seasons: usize,
    /// Seasons without an answer for the place.
    pub unanswered: usize,
    /// Intervals of the shift per unit by axis.
    pub intervals: usize,
    /// How many covered the truth.
    pub covered: usize,
    /// Seasons in which the groups were said to move with the dial, along a line or not.
    pub moved: usize,
    /// Seasons in which the values were said to lie on no line, corrected for the slope; they all do.
    pub bent: usize,
    /// Seasons in which a value of smallest spread was shown.
    pub shown: usize,
    /// How many of their intervals covered the truth.
    pub best_covered: usize,
}

/// Simulates seasons and tallies the answers.
pub fn simulate(kind: &Kind, seasons: usize, seed: u64) -> Tally {
    let mut tally = Tally { seasons, ..Tally::default() };
    for n in 0..seasons {
        let mut rng = Rng::new(Seed(seed.wrapping_mul(0x9E37_79B9).wrapping_add(n as u64)));
        match dial(&drawn(kind, &mut rng)) {
            Ok(found) => judge(kind, &found, &mut tally),
            Err(_) => tally.unanswered += 1,
        }
    }
    tally
}

fn judge(kind: &Kind, found: &Dial, tally: &mut Tally) {
    match found.shift_interval_mrad_per_unit {
        None => tally.unanswered += 1,
        Some(intervals) => {
            for (interval, truth) in intervals.iter().zip([kind.slope, 0.0]) {
                tally.intervals += 1;
                tally.covered += usize::from(interval[0] <= truth && truth <= interval[1]);
            }
        }
    }
    let bent = found.straightness.is_some_and(|s| s.p_adjusted < 0.05);
    tally.moved += usize::from(bent || found.shift_p_adjusted.is_some_and(|p| p < 0.05));
    tally.bent += usize::from(bent);
    if found.spread.best == Best::Shown {
        tally.shown += 1;
        let holds = |[low, high]: [f64; 2]| low <= kind.best && kind.best <= high;
        tally.best_covered += usize::from(found.spread.smallest_at_interval.is_some_and(holds));
    }
}

/// What is on the bow.
struct Bow {
    turns: f64,
    brace: f64,
    string: bool,
    sight: bool,
}

/// Draws a season.
pub fn drawn(kind: &Kind, rng: &mut Rng) -> DialInput {
    let mut input = DialInput {
        dial: "plunger_turns".into(),
        confidence: 0.95,
        noise: Noise::BySpread,
        changes: Vec::new(),
        groups: Vec::new(),
    };
    let last = kind.sessions * kind.ends;
    let mut bow = Bow { turns: kind.values[0], brace: 215.0, string: false, sight: false };
    for session in 0..kind.sessions {
        let day = [0, 1].map(|_| 0.4 * rng.normal());
        let own = kind.session_log_sd * rng.normal();
        for end in 0..kind.ends {
            let slot = session * kind.ends + end;
            if end == 0 || (!kind.by_session && end % 2 == 0) {
                bow.turns = kind.values[rng.below(kind.values.len() as u64) as usize];
            }
            if kind.by_session && end == 0 {
                bow.turns = kind.values[session % kind.values.len()];
            }
            if kind.busy {
                if end == 3 {
                    bow.brace = 213.0 + rng.below(5) as f64;
                }
                if slot == last / 2 + 1 {
                    bow.string = true;
                    let set = vec!["string".into()];
                    input.changes.push(DialChange { id: "string".into(), at: at(slot, kind.ends, 0), set });
                }
                bow.sight = slot > last / 3;
            }
            let group = shot(kind, rng, &bow, [day[0], day[1], own]);
            input.groups.push(placed(group, slot, session, kind));
        }
    }
    input
}

/// Draws one end: an arrow is off by the bow, the day, the end and by itself.
fn shot(kind: &Kind, rng: &mut Rng, bow: &Bow, day: [f64; 3]) -> DialGroup {
    let off = bow.turns - kind.best;
    let log_sd = kind.curvature * off * off
        + kind.log_sd_slope * bow.turns
        + day[2]
        + if bow.string { -0.1 } else { 0.0 };
    let right = kind.slope * bow.turns + 0.1 * (bow.brace - 215.0) + if bow.sight { 0.8 } else { 0.0 };
    let end = [0, 1].map(|a| day[a] + 0.3 * rng.normal() + if a == 0 { right } else { 0.0 });
    let arrow = |rng: &mut Rng| end.map(|at| 30.0 * (at + libm::exp(log_sd) * rng.normal()));
    let mut settings = BTreeMap::from([("plunger_turns".to_owned(), Some(bow.turns))]);
    if kind.busy {
        settings.insert("brace_height_mm".into(), Some(bow.brace));
    }
    let group = Group {
        at: at(0, 1, 0),
        session: None,
        end: None,
        distance_m: 30.0,
        points_mm: (0..kind.arrows).map(|_| arrow(rng)).collect(),
        flyers: Vec::new(),
        sight: Some(if bow.sight { "b" } else { "a" }.into()),
        sight_offset_mrad: None,
    };
    DialGroup { group, settings }
}

fn placed(mut group: DialGroup, slot: usize, session: usize, kind: &Kind) -> DialGroup {
    group.group.at = at(slot, kind.ends, 5);
    group.group.session = Some(session.to_string());
    group
}

fn at(slot: usize, ends: usize, minutes: usize) -> Moment {
    let (session, end) = (slot / ends, slot % ends);
    let (month, date) = (1 + session / 28, 1 + session % 28);
    let text = format!("2025-{month:02}-{date:02}T{:02}:{:02}:00Z", 9 + end / 6, end % 6 * 10 + minutes);
    Moment::read(&text).expect("a moment within a year")
}
