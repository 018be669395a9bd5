//! Simulated seasons whose truth is known, for checking what the verdicts promise.

mod drawn;
mod oracle;
mod scenario;
mod tally;

pub use drawn::{Drawn, TrueEnd};
pub use scenario::{Changes, Flyers, NOTHING, Scenario, Step, Tail};
pub use tally::{Said, Subject, Tally, Truth, Words};

use oracle::Found;
use sheaf_model::{
    rng::{Rng, Seed},
    stats::effects::{Effect, Effects, Location, Tightness, effects},
};
use std::thread;

/// An SD ratio matters from this on, either way.
const RATIO_MATTERS: f64 = 1.1;

/// Simulates seasons on all cores and tallies their verdicts; the result does not depend on how many there are.
#[must_use]
pub fn simulate_on_all_cores(scenario: &Scenario, seasons: usize, seed: u64) -> Tally {
    const PARTS: usize = 20;
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let parts: Vec<(usize, u64)> = (0..PARTS)
        .map(|i| (seasons / PARTS + usize::from(i < seasons % PARTS), seed * 1000 + i as u64))
        .collect();
    let mut tally = Tally::default();
    thread::scope(|scope| {
        let workers: Vec<_> = (0..cores)
            .map(|core| {
                let own: Vec<(usize, u64)> = parts.iter().skip(core).step_by(cores).copied().collect();
                scope.spawn(move || {
                    let mut sum = Tally::default();
                    own.into_iter().for_each(|(n, seed)| sum += simulate(scenario, n, seed));
                    sum
                })
            })
            .collect();
        for worker in workers {
            tally += worker.join().expect("a worker ends");
        }
    });
    tally
}

/// Simulates seasons and tallies their verdicts.
#[must_use]
pub fn simulate(scenario: &Scenario, seasons: usize, seed: u64) -> Tally {
    let mut tally = Tally::default();
    for n in 0..seasons {
        let mut rng = Rng::new(Seed(seed.wrapping_mul(0x9E37_79B9).wrapping_add(n as u64)));
        let drawn = Drawn::new(scenario, &mut rng);
        match effects(&drawn.input) {
            Ok(found) => judge(scenario, &drawn, &found, &mut tally),
            Err(_) => tally.unanswered += 1,
        }
    }
    tally
}

fn judge(scenario: &Scenario, drawn: &Drawn, found: &Effects, tally: &mut Tally) {
    tally.seasons += 1;
    // Who knows the variances of a normal arrow knows nothing of badly shot ones.
    let asked = scenario.flyers.is_none() && scenario.tail == Tail::Normal;
    let places = if asked { oracle::places(scenario, drawn) } else { Vec::new() };
    let spreads = if asked { oracle::spreads(scenario, drawn) } else { Vec::new() };
    let matters = drawn.matters();
    let (mut place, mut spread) = (Wrong::default(), Wrong::default());
    for effect in &found.effects {
        // Each change is a moment of its own here.
        let Some(i) = effect.changes.first().and_then(|id| id[1..].parse::<usize>().ok()) else { continue };
        let step = drawn.steps[i];
        let truth = truth(step.right.abs() / matters);
        let said = said_of_place(effect, step.right);
        place.see(truth, said);
        count(&mut tally.place, truth, said, places.get(i), step.right);
        for (interval, truth) in effect.shift_interval_mrad.iter().flatten().zip([step.right, 0.0]) {
            cover(&mut tally.place, *interval, truth);
        }
        let log_ratio = libm::log(step.ratio);
        let truth = self::truth(log_ratio.abs() / libm::log(RATIO_MATTERS));
        let said = said_of_spread(effect, log_ratio);
        spread.see(truth, said);
        count(&mut tally.spread, truth, said, spreads.get(i), log_ratio);
        if let Some(interval) = effect.sd_ratio_interval {
            cover(&mut tally.spread, interval, step.ratio);
        }
    }
    place.add_to(&mut tally.place);
    spread.add_to(&mut tally.spread);
}

/// What a season held of changes that did nothing.
#[derive(Default)]
struct Wrong {
    asked: bool,
    wrong: bool,
}

impl Wrong {
    fn see(&mut self, truth: Truth, said: Said) {
        if truth == Truth::Nothing {
            self.asked = true;
            self.wrong |= said == Said::Wrongly;
        }
    }

    fn add_to(&self, subject: &mut Subject) {
        subject.seasons += usize::from(self.asked);
        subject.wrong_seasons += usize::from(self.wrong);
    }
}

fn truth(of_what_matters: f64) -> Truth {
    match of_what_matters {
        0.0 => Truth::Nothing,
        s if s < 1.0 => Truth::Little,
        _ => Truth::Much,
    }
}

fn count(subject: &mut Subject, truth: Truth, said: Said, oracle: Option<&Found>, right: f64) {
    let words = &mut subject.words[truth as usize];
    words.count(said);
    words.count_oracle(oracle, right);
}

fn cover(subject: &mut Subject, [low, high]: [f64; 2], truth: f64) {
    subject.intervals += 1;
    subject.covered += usize::from(low <= truth && truth <= high);
}

fn said_of_place(effect: &Effect, right: f64) -> Said {
    match effect.location {
        Location::Held => Said::Held,
        Location::Unsettled => Said::Unsettled,
        Location::Inseparable => Said::Inseparable,
        Location::Moved => {
            let (p, shift) = (effect.shift_p.unwrap_or([1.0; 2]), effect.shift_mrad.unwrap_or_default());
            let way = p[0] <= p[1] && shift[0] * right > 0.0;
            if way { Said::Changed } else { Said::Wrongly }
        }
    }
}

fn said_of_spread(effect: &Effect, log_ratio: f64) -> Said {
    match effect.tight {
        Tightness::Held => Said::Held,
        Tightness::Unsettled => Said::Unsettled,
        Tightness::Inseparable => Said::Inseparable,
        Tightness::Tighter if log_ratio < 0.0 => Said::Changed,
        Tightness::Wider if log_ratio > 0.0 => Said::Changed,
        Tightness::Tighter | Tightness::Wider => Said::Wrongly,
    }
}
