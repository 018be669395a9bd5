//! The arrow sets of a bow: what they are, and what they weigh for it.

use super::{
    Known, PRACTICE, Said,
    room::{Room, shortest},
    thing,
};
use crate::{
    id::ThingId,
    kind::Arrows,
    named::name_of,
    replica::Store,
    rig::{arrow::grains_per_pound, caution, limits::decimals_apart, wear::Worn},
    verdict::{
        sentence::list,
        units::{count, trimmed},
    },
};
use serde::Serialize;

/// Below so many grains a pound an arrow is light for many bows.
pub(in crate::verdict) const LIGHT: f64 = 6.0;

/// An arrow set on a bow, or shot from it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ArrowSet {
    /// Which set.
    pub id: ThingId,
    /// Its name.
    pub name: String,
    /// Whether it is noted on the bow now.
    pub on: bool,
    /// What it is and what follows.
    pub words: Vec<Said>,
}

impl<S: Store> Known<'_, S> {
    /// Returns the set on the bow and those shot from it, the last first; the weight is on the fingers, from least to most.
    pub(super) fn arrows(
        &self,
        weight_lbf: Option<[f64; 2]>,
        wanted: &mut Vec<String>,
    ) -> Result<Vec<ArrowSet>, S::Error> {
        let on: Option<ThingId> = self.setup.get("arrows").and_then(|set| set.value.as_str()?.parse().ok());
        let mut shot: Vec<ThingId> = self.timeline.groups().filter_map(|(_, group)| group.arrows).collect();
        shot.reverse();
        let mut ids: Vec<ThingId> = on.into_iter().collect();
        for id in shot {
            if !ids.contains(&id) {
                ids.push(id);
            }
        }
        let mut sets = Vec::new();
        for id in ids {
            let Some(set) = thing::<S, Arrows>(self.store, id)?.map(Arrows::measured) else { continue };
            let name = name_of(&self.names, id);
            if set.lightest_gr().is_none() {
                wanted.push(format!("the mass of an arrow of {name}, for its grains a pound"));
            }
            let mut words: Vec<Said> = measures(&set).into_iter().collect();
            let lightest = set.lightest_gr();
            words.extend(lightest.zip(weight_lbf).and_then(|((shaft, gr), lbf)| for_weight(shaft, gr, lbf)));
            let room = shortest(&set).and_then(|shortest| Room::left(shortest, &self.archers));
            words.extend(room.and_then(|room| room.said()));
            words.extend(self.other_bows(id));
            sets.push(ArrowSet { id, name, on: on == Some(id), words });
        }
        Ok(sets)
    }

    /// Names the other bows that shoot the set.
    fn other_bows(&self, id: ThingId) -> Option<Said> {
        let wear = self.wear.get(&Worn::Thing(id))?;
        let others = wear.bows.iter().filter(|bow| **bow != self.bow);
        let others: Vec<String> = others.map(|bow| name_of(&self.names, *bow)).collect();
        let words = format!("Also shot from {}.", list(&others));
        (!others.is_empty()).then(|| Said { words, source: "its groups".into(), caution: None })
    }
}

/// Returns what the records say of a set.
fn measures(set: &Arrows) -> Option<Said> {
    let number = |value: Option<f64>, decimals, before: &str, after: &str| {
        value.map(|v| format!("{before}{}{after}", trimmed(v, decimals)))
    };
    let told = [
        set.count.map(|n| count(n as usize, "arrow")),
        number(set.spine, 0, "spine ", ""),
        number(set.length_in, 2, "", " in long"),
        number(set.shaft_diameter_mm, 2, "shaft ", " mm"),
        number(set.mass_gr, 1, "", " gr"),
        number(set.pile_gr, 1, "pile ", " gr"),
    ];
    let told: Vec<String> = told.into_iter().flatten().collect();
    (!told.is_empty()).then(|| Said {
        words: format!("{}.", told.join(", ")),
        source: "the records".into(),
        caution: Some(caution::CARBON),
    })
}

/// Returns the grains of the lightest arrow on each pound, with the caution that belongs to it.
fn for_weight(shaft: Option<u32>, mass_gr: f64, [low, high]: [f64; 2]) -> Option<Said> {
    let possible = mass_gr > 0.0 && mass_gr <= 3000.0 && low > 0.0;
    let [most, least] = [low, high].map(|lbf| grains_per_pound(mass_gr, lbf));
    let words = |grains: f64| {
        let decimals = if grains < LIGHT { decimals_apart(grains, LIGHT, 1) } else { 1 };
        trimmed(grains, decimals)
    };
    let (most_words, least_words) = (words(most), words(least));
    let of = shaft.map_or_else(String::new, |shaft| format!(" with shaft {shaft}, the lightest"));
    // Where only the least weight is known nobody knows how few grains it can be.
    let (grains, least) = match high.is_finite() {
        false => (format!("At most {most_words}"), most),
        true if most_words == least_words => (most_words, least),
        true => (format!("{least_words} to {most_words}"), least),
    };
    let light = if least < LIGHT {
        " That is light for many bows: do not shoot it before you know what the makers allow."
    } else {
        ""
    };
    possible.then(|| Said {
        words: format!("{grains} grains for each pound on the fingers{of}.{light}"),
        source: PRACTICE.into(),
        caution: Some(caution::LIGHT_ARROWS),
    })
}
