//! Which arrows to pair, to keep or to leave out, and what the groups by number say beside the masses.

use super::{KnownSet, practice, rows::signed, worth::Flight};
use crate::{
    id::ThingId,
    named::name_of,
    rig::arrow_set::{mean_of_near, nearest_in_mass, pairs},
    stats::{
        numbered_arrows::{Apart, Numbered, NumberedArrows, numbered_arrows},
        shots::ShotGroup,
    },
    verdict::{
        bow_sheet::Said,
        sentence::{directed, list},
        units::{count, trimmed},
    },
};
use std::collections::BTreeMap;

/// How many arrows ends usually have.
const USUAL: [usize; 2] = [6, 3];

impl KnownSet {
    /// Says whom to keep, to pair and to weigh again.
    pub(super) fn advice(&self, flight: Option<&Flight>, keep: Option<usize>) -> Vec<Said> {
        let masses = self.masses_of_one_length();
        let mut said = self.length_words();
        let keeps = keep.map_or_else(|| USUAL.to_vec(), |keep| vec![keep]);
        let fewer = keeps.into_iter().filter(|keep| masses.len() > *keep);
        said.extend(fewer.filter_map(|keep| nearest_in_mass(&masses, keep)).map(|best| {
            let numbers: Vec<String> = best.numbers.iter().map(u32::to_string).collect();
            Said {
                words: format!(
                    "The {} nearest in mass are {}: within {} gr of each other.",
                    numbers.len(),
                    list(&numbers),
                    trimmed(best.range_gr, 1)
                ),
                source: "of all choices the one with the least range".into(),
                caution: None,
            }
        }));
        let length = if masses.len() < self.masses().len() { " and of one length" } else { "" };
        said.extend(keep.filter(|keep| *keep >= masses.len() && !masses.is_empty()).map(|keep| {
            practice(format!(
                "{keep} to keep: {} weighed{length}, so none is left over.",
                count(masses.len(), "arrow")
            ))
        }));
        said.extend(pair_words(&masses));
        said.extend(far_words(&self.masses(), flight));
        said.extend(self.bare_words());
        said
    }

    /// Says how far bare shafts are from the fletched ones in mass.
    fn bare_words(&self) -> Vec<Said> {
        let Some((mean, _)) = mean_of_near(&self.masses()) else { return Vec::new() };
        let bare = self.shafts.iter().filter(|(_, shaft)| shaft.bare);
        bare.filter_map(|(number, shaft)| {
            let off = shaft.mass_gr? - mean;
            let words = if off.abs() < 1.0 {
                format!("Bare shaft {number} weighs what the fletched arrows do.")
            } else {
                format!(
                    "Bare shaft {number} is {} gr beside the mean fletched arrow: a bare shaft tells most where it weighs \
                     the same, with tape in place of the fletching.",
                    signed(off, 1)
                )
            };
            Some(practice(words))
        })
        .collect()
    }

    /// Says which arrows land apart, with what their mass would do.
    pub(super) fn by_number(&self, flight: Option<&Flight>) -> Vec<Said> {
        let mut by_archer: BTreeMap<Option<ThingId>, Vec<ShotGroup>> = BTreeMap::new();
        for placed in &self.shot {
            by_archer.entry(placed.archer).or_default().push(placed.group.clone());
        }
        let masses: BTreeMap<u32, f64> = self.masses().into_iter().collect();
        let mut said = Vec::new();
        for (archer, groups) in by_archer {
            let Ok(told) = numbered_arrows(&groups, 0.95) else { continue };
            let name = archer.map_or_else(|| "someone".to_owned(), |id| name_of(&self.names, id));
            let apart = |a: &&Numbered| a.verdict == Apart::Apart || a.suspect;
            let words =
                told.arrows.iter().filter(apart).filter_map(|a| self.lands(a, &told, &name, &masses, flight));
            said.extend(words.collect::<Vec<_>>());
        }
        said
    }

    fn lands(
        &self,
        arrow: &Numbered,
        told: &NumberedArrows,
        name: &str,
        masses: &BTreeMap<u32, f64>,
        flight: Option<&Flight>,
    ) -> Option<Said> {
        let offset = arrow.offset_mm?;
        let mean = self.mean_mass_gr();
        let mass = arrow.number.parse::<u32>().ok().and_then(|n| masses.get(&n).copied());
        let at = self.units.distance(told.distance_m);
        let place =
            format!("{} and {}", directed(offset[0], 0, self.units), directed(offset[1], 1, self.units));
        let sure = match arrow.verdict {
            Apart::Apart => format!("Arrow {} lands {place} of the others at {at}", arrow.number),
            Apart::NotShown => {
                format!("Arrow {} is a suspect, no more: {place} of the others at {at} so far", arrow.number)
            }
        };
        let sure = format!("{sure} ({name}, {})", count(arrow.n, "end"));
        let weighed = match mass.zip(mean) {
            None => ". It has not been weighed; weigh it, and look at its nock, fletching, point and straightness.".into(),
            Some((mass, mean)) => {
                let expect = flight.and_then(|flight| flight.height_mm(mass, told.distance_m));
                self.mass_and_place(mass - mean, offset[1], expect)
            }
        };
        let source = match flight {
            Some(flight) if mass.is_some() => format!("its groups; {}", flight.source),
            _ => "its groups".into(),
        };
        Some(Said { words: format!("{sure}{weighed}"), source, caution: None })
    }

    /// Says how an arrow's mass and the height at which it lands go together.
    fn mass_and_place(&self, off_gr: f64, high_mm: f64, expect_mm: Option<f64>) -> String {
        let heavier = if off_gr >= 0.0 { "heavier" } else { "lighter" };
        let by = format!(", and is {} gr {heavier} than the mean", trimmed(off_gr.abs(), 1));
        let look = "look at its nock, fletching, point and straightness first";
        let together = off_gr * high_mm < 0.0;
        match expect_mm {
            None if together => format!(
                "{by}: {} and {}, which go together; by how much cannot be said without the speed.",
                if off_gr > 0.0 { "heavy" } else { "light" },
                if high_mm < 0.0 { "low" } else { "high" }
            ),
            None => format!("{by}, which would put it to the other side: {look}."),
            Some(expect) => {
                let alone = directed(expect, 1, self.units);
                if !together {
                    format!("{by}: its mass alone would put it {alone}, so it is not the mass; {look}.")
                } else if expect.abs() >= 0.5 * high_mm.abs() {
                    format!(
                        "{by}: heavy is low and light is high, and its mass alone would put it {alone}, half or more \
                             of what is seen up and down (half: chosen, no source)."
                    )
                } else {
                    format!(
                        "{by}: its mass alone would put it {alone}, less than half of what is seen (half: chosen, no \
                             source); {look}."
                    )
                }
            }
        }
    }
}

fn pair_words(masses: &[(u32, f64)]) -> Option<Said> {
    let found = pairs(masses);
    let told: Vec<String> = found.pairs.iter().map(|[a, b]| format!("{a} with {b}")).collect();
    let alone = found.alone.map_or_else(String::new, |n| format!("; {n} stays alone"));
    (!told.is_empty()).then(|| Said {
        words: format!(
            "Pairs by mass: {}{alone} ({} gr in all).",
            told.join(", "),
            trimmed(found.summed_gr, 1)
        ),
        source: "of all pairings the one with the least summed difference".into(),
        caution: None,
    })
}

/// Says which masses are far from the others, and whether that would show.
fn far_words(masses: &[(u32, f64)], flight: Option<&Flight>) -> Vec<Said> {
    let far = mean_of_near(masses).map_or_else(Vec::new, |(_, far)| far);
    let of = masses.iter().filter(|(number, _)| far.contains(number));
    of.map(|(number, mass)| {
        let shows = flight.map(|flight| flight.distances_m.iter().any(|m| flight.counts(*mass, *m)));
        let then = match shows {
            Some(true) => "If it stands, leave it out where every arrow counts.",
            Some(false) => "Even so the target cannot show it at the distances told: its mass alone is no reason to drop it.",
            None => "Whether the target can show it cannot be said without the speed.",
        };
        Said {
            words: format!(
                "Shaft {number} with {} gr is far from the others: weigh it again, and look at its point, insert and \
                 nock. {then}",
                trimmed(*mass, 1)
            ),
            source: "more than 3.5 robust SDs from the middle: Iglewicz and Hoaglin (1993)".into(),
            caution: None,
        }
    })
    .collect()
}
