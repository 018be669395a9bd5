//! Simulated seasons whose truth is known, for checking what the verdicts promise.

use sheaf_model::{
    moment::Moment,
    rng::{Rng, Seed},
    stats::effects::{Change, Effects, EffectsInput, Group, Location, Tightness, effects},
};

/// Where the changes of a season fall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changes {
    /// Between two ends of one session.
    Inside,
    /// Between two sessions.
    Between,
}

/// How arrows scatter about their end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tail {
    /// Normally.
    Normal,
    /// As Student's t with five degrees of freedom, scaled to the same variance.
    T5,
}

/// A kind of season.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// What it is called.
    pub name: &'static str,
    /// Sessions.
    pub sessions: usize,
    /// Ends a session.
    pub ends: usize,
    /// Arrows an end.
    pub arrows: usize,
    /// Changes.
    pub changes: usize,
    /// Where they fall.
    pub place: Changes,
    /// SD between sessions, mrad.
    pub session_sd: f64,
    /// SD between ends, mrad.
    pub end_sd: f64,
    /// Correlation of the axes, in everything.
    pub correlation: f64,
    /// SD of the logarithm of the sessions' own spread.
    pub session_log_sd: f64,
    /// How arrows scatter.
    pub tail: Tail,
    /// SD ratio that every second change brings about and the next takes back.
    pub sd_ratio: f64,
    /// Shift to the right that the first change brings about, mrad.
    pub shift: f64,
}

impl Scenario {
    /// Returns an ordinary season without any effect.
    pub const fn usual(name: &'static str, sessions: usize, changes: usize, place: Changes) -> Self {
        Self {
            name,
            sessions,
            ends: 6,
            arrows: 6,
            changes,
            place,
            session_sd: 0.4,
            end_sd: 0.3,
            correlation: 0.0,
            session_log_sd: 0.0,
            tail: Tail::Normal,
            sd_ratio: 1.0,
            shift: 0.0,
        }
    }
}

/// What the verdicts of one season came to.
#[derive(Debug, Clone, Default)]
pub struct Tally {
    /// Seasons.
    pub seasons: usize,
    /// Seasons that got an error for an answer.
    pub unanswered: usize,
    /// Seasons in which some change without a shift was said to have moved the groups.
    pub false_moved: usize,
    /// Seasons in which some change without effect on the spread was said to have one.
    pub false_spread: usize,
    /// Changes with a shift that were found.
    pub found_moved: usize,
    /// Changes with a shift.
    pub shifts: usize,
    /// Changes of spread that were found, in the right direction.
    pub found_spread: usize,
    /// Changes of spread.
    pub ratios: usize,
    /// Intervals of a shift by axis, and how many covered the truth.
    pub intervals: usize,
    /// How many covered the truth.
    pub covered: usize,
    /// Intervals of an SD ratio.
    pub ratio_intervals: usize,
    /// How many covered the truth.
    pub ratio_covered: usize,
}

impl Tally {
    /// Adds another tally.
    pub fn add(&mut self, other: &Self) {
        self.seasons += other.seasons;
        self.unanswered += other.unanswered;
        self.false_moved += other.false_moved;
        self.false_spread += other.false_spread;
        self.found_moved += other.found_moved;
        self.shifts += other.shifts;
        self.found_spread += other.found_spread;
        self.ratios += other.ratios;
        self.intervals += other.intervals;
        self.covered += other.covered;
        self.ratio_intervals += other.ratio_intervals;
        self.ratio_covered += other.ratio_covered;
    }
}

/// Simulates seasons and tallies their verdicts.
pub fn simulate(scenario: &Scenario, seasons: usize, seed: u64) -> Tally {
    let mut tally = Tally::default();
    for n in 0..seasons {
        let mut rng = Rng::new(Seed(seed.wrapping_mul(0x9E37_79B9).wrapping_add(n as u64)));
        let season = Drawn::new(scenario, &mut rng);
        match effects(&season.input) {
            Ok(found) => season.judge(&found, &mut tally),
            Err(_) => tally.unanswered += 1,
        }
    }
    tally
}

/// A season with its truth.
pub struct Drawn {
    /// What was shot.
    pub input: EffectsInput,
    /// The true shift to the right of each change, mrad.
    shifts: Vec<f64>,
    /// The true SD ratio of each change.
    ratios: Vec<f64>,
}

impl Drawn {
    /// Draws a season.
    pub fn new(scenario: &Scenario, rng: &mut Rng) -> Self {
        let slots = slots(scenario, rng);
        let shifts: Vec<f64> = (0..slots.len()).map(|i| if i == 0 { scenario.shift } else { 0.0 }).collect();
        let ratios: Vec<f64> = (0..slots.len())
            .map(|i| if i % 2 == 0 { scenario.sd_ratio } else { 1.0 / scenario.sd_ratio })
            .collect();
        let mut input = EffectsInput::default();
        let (mut right, mut sd) = (0.0, 1.0);
        for session in 0..scenario.sessions {
            let day = pair(scenario, rng).map(|z| z * scenario.session_sd);
            let own = libm::exp(rng.normal() * scenario.session_log_sd);
            for end in 0..scenario.ends {
                let slot = session * scenario.ends + end;
                for (i, _) in slots.iter().enumerate().filter(|(_, s)| **s == slot) {
                    input.changes.push(Change { id: format!("c{i}"), at: at(slot, scenario.ends, 0) });
                    right += shifts[i];
                    sd *= ratios[i];
                }
                let off = pair(scenario, rng).map(|z| z * scenario.end_sd);
                let arrow = |rng: &mut Rng| {
                    let stretch = match scenario.tail {
                        Tail::Normal => 1.0,
                        Tail::T5 => {
                            let chi: f64 = (0..5).map(|_| rng.normal()).map(|z| z * z).sum();
                            (3.0 / chi).sqrt()
                        }
                    };
                    let z = pair(scenario, rng);
                    [0, 1].map(|a| {
                        30.0 * (z[a] * stretch * sd * own
                            + off[a]
                            + day[a]
                            + if a == 0 { right } else { 0.0 })
                    })
                };
                input.groups.push(Group {
                    at: at(slot, scenario.ends, 5),
                    session: Some(session.to_string()),
                    end: Some(slot.to_string()),
                    distance_m: 30.0,
                    points_mm: (0..scenario.arrows).map(|_| arrow(rng)).collect(),
                    flyers: Vec::new(),
                    sight: None,
                    sight_offset_mrad: None,
                });
            }
        }
        Self { input, shifts, ratios }
    }

    fn judge(&self, found: &Effects, tally: &mut Tally) {
        tally.seasons += 1;
        let (mut false_moved, mut false_spread) = (false, false);
        for effect in &found.effects {
            // Each change is a moment of its own here.
            let Some(i) = effect.changes.first().and_then(|id| id[1..].parse::<usize>().ok()) else {
                continue;
            };
            let (shift, ratio) = (self.shifts[i], self.ratios[i]);
            let moved = effect.location == Location::Moved;
            if shift == 0.0 {
                false_moved |= moved;
            } else {
                tally.shifts += 1;
                tally.found_moved += usize::from(moved);
            }
            let said = matches!(effect.tight, Tightness::Tighter | Tightness::Wider);
            if ratio == 1.0 {
                false_spread |= said;
            } else {
                tally.ratios += 1;
                let right = if ratio < 1.0 { Tightness::Tighter } else { Tightness::Wider };
                tally.found_spread += usize::from(effect.tight == right);
            }
            if let Some(intervals) = effect.shift_interval_mrad {
                for (interval, truth) in intervals.iter().zip([shift, 0.0]) {
                    tally.intervals += 1;
                    tally.covered += usize::from(interval[0] <= truth && truth <= interval[1]);
                }
            }
            if let Some([low, high]) = effect.sd_ratio_interval {
                tally.ratio_intervals += 1;
                tally.ratio_covered += usize::from(low <= ratio && ratio <= high);
            }
        }
        tally.false_moved += usize::from(false_moved);
        tally.false_spread += usize::from(false_spread);
    }
}

/// Draws before which ends the changes are made: different ones, in order, with ends on both sides.
fn slots(scenario: &Scenario, rng: &mut Rng) -> Vec<usize> {
    let fits = |slot: &usize| match scenario.place {
        Changes::Inside => !slot.is_multiple_of(scenario.ends),
        Changes::Between => slot.is_multiple_of(scenario.ends),
    };
    let mut open: Vec<usize> = (1..scenario.sessions * scenario.ends).filter(fits).collect();
    let mut slots = Vec::new();
    while slots.len() < scenario.changes && !open.is_empty() {
        slots.push(open.swap_remove(rng.below(open.len() as u64) as usize));
    }
    slots.sort_unstable();
    slots
}

/// Draws two standard normals with the scenario's correlation.
fn pair(scenario: &Scenario, rng: &mut Rng) -> [f64; 2] {
    let (a, b) = (rng.normal(), rng.normal());
    let r = scenario.correlation;
    [a, r * a + (1.0 - r * r).sqrt() * b]
}

fn at(slot: usize, ends: usize, minutes: usize) -> Moment {
    let (session, end) = (slot / ends, slot % ends);
    let day = session * 3;
    let (month, date) = (1 + day / 28, 1 + day % 28);
    let (year, month) = (2024 + (month - 1) / 12, (month - 1) % 12 + 1);
    let text = format!("{year}-{month:02}-{date:02}T{:02}:{:02}:00Z", 9 + end / 6, end % 6 * 10 + minutes);
    Moment::read(&text).expect("a moment within some hundred years")
}
