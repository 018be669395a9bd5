//! Many devices and the real service under a seeded schedule of work and faults. When the faults have stopped and
//! everyone has synced, all digests must agree and everything that was acknowledged must be there.
//!
//! The devices are the model's replica over a disk in memory; the service is the real one, asked one request at a
//! time, with its clock set. What happens follows from the seed alone.

mod check;
mod device;
mod disk;
mod faults;
mod http;
mod service;
mod work;
mod world;

pub use disk::SECTOR;
pub use http::{Cut, Running, post, read_answer, text};
pub use service::copy;
pub use world::World;

use std::{collections::BTreeMap, fmt::Display, sync::Once};

/// How often something happened, by its name.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Tally(pub BTreeMap<&'static str, u64>);

impl Tally {
    /// Counts one more.
    pub fn one(&mut self, what: &'static str) {
        self.more(what, 1);
    }

    /// Counts so many more.
    pub fn more(&mut self, what: &'static str, count: u64) {
        *self.0.entry(what).or_default() += count;
    }

    /// Takes in the counts of another schedule.
    pub fn join(&mut self, other: &Self) {
        other.0.iter().for_each(|(what, count)| self.more(what, *count));
    }

    /// Returns how often something happened.
    pub fn of(&self, what: &str) -> u64 {
        self.0.get(what).copied().unwrap_or_default()
    }
}

/// Runs the schedule of a seed; a failure says which seed, which step, and what went wrong.
pub fn run(seed: u64) -> Result<Tally, String> {
    hush_the_index();
    let mut step = 0;
    let done = World::begin(seed).and_then(|mut world| {
        for _ in 0..world.steps {
            step += 1;
            world.step()?;
        }
        world.settle()?;
        Ok(world.tally)
    });
    done.map_err(|why| {
        format!("seed {seed}, step {step}: {why}\n  again: cargo run -p sheaf-tests --bin simulate -- --seed {seed} --schedules 1")
    })
}

/// Keeps quiet about an index whose store gives up over what a crash left of it: the service catches that and makes
/// the index anew.
pub fn hush_the_index() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        let tell = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            if !panic.location().is_some_and(|place| place.file().contains("sled")) {
                tell(panic);
            }
        }));
    });
}

/// Puts a failure into words.
pub(crate) fn failed<E: Display>(what: &str) -> impl Fn(E) -> String + '_ {
    move |e| format!("{what}: {e}")
}
