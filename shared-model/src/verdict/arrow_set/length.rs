//! Which arrows of a set are shorter or longer than the others, and so neither paired nor kept with them.

use super::{KnownSet, practice};
use crate::{
    rig::arrow_set::{ALIKE_IN, odd_lengths},
    verdict::{bow_sheet::Said, units::trimmed},
};
use std::collections::BTreeMap;

impl KnownSet {
    /// Returns by how much arrows in use are longer than the others, inches, by number; below 0 they are shorter.
    pub(super) fn odd_lengths(&self) -> BTreeMap<u32, f64> {
        let lengths = self.record.lengths_in();
        let Some((usual, odd)) = odd_lengths(&lengths) else { return BTreeMap::new() };
        let odd = lengths.into_iter().filter(|(number, _)| odd.contains(number));
        odd.map(|(number, length)| (number, length - usual)).collect()
    }

    /// Returns the masses of [`KnownSet::masses`] without arrows that are shorter or longer than the others.
    pub(super) fn masses_of_one_length(&self) -> Vec<(u32, f64)> {
        let odd = self.odd_lengths();
        self.masses().into_iter().filter(|(number, _)| !odd.contains_key(number)).collect()
    }

    /// Says which arrows are shorter or longer than the others.
    pub(super) fn length_words(&self) -> Vec<Said> {
        let told = |(number, off): (u32, f64)| {
            let look = if off < 0.0 {
                " See at full draw, with a qualified coach, whether its point stays before the grip."
            } else {
                ""
            };
            practice(format!(
                "Shaft {number} is {}: it is left out of pairs and of what to keep, as one that differs by more than {} in \
                 flies otherwise whatever it weighs.{look}",
                off_words(off),
                trimmed(ALIKE_IN, 2)
            ))
        };
        self.odd_lengths().into_iter().map(told).collect()
    }
}

/// Returns by how much a length is off in words: `1.75 in shorter than the others`.
pub(super) fn off_words(off_in: f64) -> String {
    let than = if off_in < 0.0 { "shorter" } else { "longer" };
    format!("{} in {than} than the others", trimmed(off_in.abs(), 2))
}
