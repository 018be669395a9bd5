//! A simulated season and its truth.

use super::scenario::{Changes, Scenario, Step, Tail};
use sheaf_model::{
    moment::Moment,
    rng::Rng,
    stats::effects::{Change, EffectsInput, Group},
};

/// A season with its truth.
pub struct Drawn {
    /// What was shot.
    pub input: EffectsInput,
    /// What each change did.
    pub steps: Vec<Step>,
    /// The ends, as the groups of `input`.
    pub ends: Vec<TrueEnd>,
}

/// What nobody at the range knows of an end.
pub struct TrueEnd {
    /// Its session, from 0.
    pub session: usize,
    /// The stretch between two changes that it lies in, from 0.
    pub stretch: usize,
    /// SD of its arrows about its middle, mrad.
    pub sd: f64,
}

/// How far a distance's sight is off that of the distance before, mrad.
const SIGHT_OFF: f64 = 0.8;

/// Where an end's middle truly lies and how wide its arrows scatter, mrad.
struct Middle {
    at: [f64; 2],
    sd: f64,
}

impl Drawn {
    /// Draws a season.
    pub fn new(scenario: &Scenario, rng: &mut Rng) -> Self {
        let slots = slots(scenario, rng);
        let steps: Vec<Step> = (0..slots.len()).map(|i| scenario.steps[i % scenario.steps.len()]).collect();
        let mut drawn = Self { input: EffectsInput::default(), steps, ends: Vec::new() };
        let (mut right, mut sd, mut stretch) = (0.0, 1.0, 0);
        for session in 0..scenario.sessions {
            let day = pair(scenario, rng).map(|z| z * scenario.session_sd);
            let own = libm::exp(rng.normal() * scenario.session_log_sd);
            for end in 0..scenario.ends {
                let slot = session * scenario.ends + end;
                while slots.get(stretch) == Some(&slot) {
                    let change = Change { id: format!("c{stretch}"), at: at(slot, scenario.ends, 0) };
                    drawn.input.changes.push(change);
                    right += drawn.steps[stretch].right;
                    sd *= drawn.steps[stretch].ratio;
                    stretch += 1;
                }
                let off = pair(scenario, rng).map(|z| z * scenario.end_sd);
                let middle = Middle { at: [off[0] + day[0] + right, off[1] + day[1]], sd: sd * own };
                drawn.ends.push(TrueEnd { session, stretch, sd: middle.sd });
                drawn.input.groups.push(shoot(scenario, session, slot, &middle, rng));
            }
        }
        drawn
    }

    /// Returns the smallest shift that matters by the true spread, mrad: half the SD of an arrow about its end.
    #[must_use]
    pub fn matters(&self) -> f64 {
        let arrows = |i: usize| self.input.groups[i].points_mm.len() as f64;
        let sum = |f: &dyn Fn(usize) -> f64| (0..self.ends.len()).map(f).sum::<f64>();
        0.5 * (sum(&|i| arrows(i) * self.ends[i].sd * self.ends[i].sd) / sum(&arrows)).sqrt()
    }
}

fn shoot(scenario: &Scenario, session: usize, slot: usize, middle: &Middle, rng: &mut Rng) -> Group {
    let [fewest, most] = scenario.arrows;
    let arrows =
        if fewest == most { fewest } else { fewest + rng.below((most - fewest + 1) as u64) as usize };
    let sight = slot % scenario.distances.len();
    let (distance, off) = (scenario.distances[sight], SIGHT_OFF * sight as f64);
    let mut group = Group {
        at: at(slot, scenario.ends, 5),
        session: Some(session.to_string()),
        end: Some(slot.to_string()),
        distance_m: distance,
        points_mm: Vec::new(),
        flyers: Vec::new(),
        sight: (scenario.distances.len() > 1).then(|| format!("{distance} m")),
        sight_offset_mrad: None,
    };
    for index in 0..arrows {
        let about = arrow(scenario, rng).map(|z| z * middle.sd);
        let far = libm::hypot(about[0], about[1]) / middle.sd;
        if scenario.flyers.and_then(|f| f.marked_from).is_some_and(|from| far >= from) {
            group.flyers.push(index);
        }
        group.points_mm.push([0, 1].map(|axis| distance * (about[axis] + middle.at[axis] + off)));
    }
    // An end without an arrow that counts is none.
    if group.flyers.len() == arrows {
        group.flyers.pop();
    }
    group
}

/// Draws where an arrow lands about its end's middle, in SDs.
fn arrow(scenario: &Scenario, rng: &mut Rng) -> [f64; 2] {
    let mut stretch = match scenario.tail {
        Tail::Normal => 1.0,
        Tail::T5 => {
            let chi: f64 = (0..5).map(|_| rng.normal()).map(|z| z * z).sum();
            (3.0 / chi).sqrt()
        }
    };
    if let Some(flyers) = scenario.flyers {
        const PARTS: u64 = 1_000_000;
        stretch *= if (rng.below(PARTS) as f64) < flyers.share * PARTS as f64 { flyers.sd } else { 1.0 };
    }
    pair(scenario, rng).map(|z| z * stretch)
}

/// Draws before which ends the changes are made: different ones, in order, with ends on both sides.
fn slots(scenario: &Scenario, rng: &mut Rng) -> Vec<usize> {
    if let Changes::Every(sessions) = scenario.place {
        let every = sessions * scenario.ends;
        return (1..=scenario.changes)
            .map(|i| i * every)
            .filter(|s| *s < scenario.sessions * scenario.ends)
            .collect();
    }
    let inside = scenario.place == Changes::Inside;
    let fits = |slot: &usize| slot.is_multiple_of(scenario.ends) != inside;
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
