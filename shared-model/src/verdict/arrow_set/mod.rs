//! An arrow set shaft by shaft: what was measured, how it scatters, what that is worth, whom to pair or leave out.

mod advice;
mod figures;
mod length;
mod rows;
mod worth;

pub use rows::ShaftRow;

use super::{
    bow::names,
    bow_sheet::{PRACTICE, Said},
    suits::{SetOnBow, on_bow, set_bows},
    units::Units,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{Arrows, Shaft},
    named::name_of,
    records::arrow_set,
    replica::Store,
    rig::{arrow_set::mean_of_near, caution},
    timeline::{PlacedGroup, Timeline},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// What is asked of a set.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct SetAsked {
    /// How many arrows are to be kept; the usual ends where nothing is said.
    pub keep: Option<usize>,
    /// In which units.
    pub units: Units,
}

/// An arrow set, shaft by shaft.
#[derive(Debug, Clone, Serialize)]
pub struct SetSheet {
    /// Which set.
    pub set: ThingId,
    /// Its name.
    pub name: String,
    /// How many arrows it has, where that is noted.
    pub count: Option<u32>,
    /// Each arrow.
    pub shafts: Vec<ShaftRow>,
    /// How they scatter, and the mean arrow in figures.
    pub figures: Vec<Said>,
    /// What the scatter of mass is worth at the target.
    pub worth: Vec<Said>,
    /// Whom to pair, keep or leave out.
    pub advice: Vec<Said>,
    /// What the groups by number say beside the masses.
    pub groups: Vec<Said>,
    /// What the records lack for more to follow.
    pub wanted: Vec<String>,
    /// Every caution that stands beside something above, and whose word comes first.
    pub cautions: Vec<&'static str>,
}

/// What is known of a set while its sheet is written.
pub(super) struct KnownSet {
    /// Its record.
    pub record: Arrows,
    /// Each arrow in use, by number.
    pub shafts: BTreeMap<u32, Shaft>,
    /// What was shot with it from whatever bow.
    pub shot: Vec<PlacedGroup>,
    /// The bows that shoot it, each with what is known of it.
    pub on: Vec<SetOnBow>,
    /// Names of people and bows.
    pub names: BTreeMap<ThingId, String>,
    /// In which units people are told.
    pub units: Units,
}

/// Returns an arrow set shaft by shaft; `me` is who asks.
///
/// # Errors
/// Those of the store, and `unknown_thing`.
pub fn set_sheet<S: Store>(
    store: &S,
    set: ThingId,
    me: ThingId,
    asked: &SetAsked,
) -> Result<SetSheet, S::Error> {
    let Some(record) = arrow_set(store, Some(set))?.map(Arrows::measured) else {
        return Err(unknown(set).into());
    };
    let names = names(store)?;
    let mut on = Vec::new();
    for bow in set_bows(store, set, false)? {
        on.push(on_bow(store, bow, set, &record, me, asked.units)?);
    }
    let shafts = record.shafts().into_iter().filter(|(_, shaft)| !shaft.out).collect();
    let known = KnownSet { shafts, shot: shot_with(store, set)?, on, names, units: asked.units, record };
    Ok(known.sheet(set, asked))
}

/// Says that there is no such set.
pub(super) fn unknown(set: ThingId) -> ModelError {
    let message = format!("there is no arrow set {set} in the records of this device");
    ModelError::new("unknown_thing", message).at("set")
}

/// Returns what was shot with a set, from whatever bow, in order of time.
pub(super) fn shot_with<S: Store>(store: &S, set: ThingId) -> Result<Vec<PlacedGroup>, S::Error> {
    let mut bows = Vec::new();
    store.visit("bow", None, &mut |thing| bows.push(thing.id))?;
    let mut shot = Vec::new();
    for bow in bows {
        shot.extend(Timeline::read(store, bow)?.shots().into_iter().filter(|placed| placed.set == Some(set)));
    }
    shot.sort_by_key(|placed| (placed.at.unix_ms(), placed.id));
    Ok(shot)
}

impl KnownSet {
    fn sheet(&self, set: ThingId, asked: &SetAsked) -> SetSheet {
        let mut wanted = Vec::new();
        let flights = self.flight(&mut wanted);
        let mut sheet = SetSheet {
            set,
            name: name_of(&self.names, set),
            count: self.record.count,
            shafts: self.rows(),
            figures: self.figures(&mut wanted),
            worth: self.worth(flights.as_ref()),
            advice: self.advice(flights.as_ref(), asked.keep),
            groups: self.by_number(flights.as_ref()),
            wanted,
            cautions: Vec::new(),
        };
        let said = [&sheet.figures, &sheet.worth, &sheet.advice, &sheet.groups].into_iter().flatten();
        let told: Vec<&'static str> = said.filter_map(|said| said.caution).collect();
        sheet.cautions = caution::once(told.into_iter().chain([caution::CARBON, caution::FIRST]));
        sheet
    }

    /// Returns the fletched arrows in use that were weighed, with their masses in grains.
    fn masses(&self) -> Vec<(u32, f64)> {
        self.shafts.iter().filter(|(_, s)| !s.bare).filter_map(|(n, s)| Some((*n, s.mass_gr?))).collect()
    }

    /// Returns the mean mass of the fletched arrows that were weighed, else what the set's record says, grains.
    pub(super) fn mean_mass_gr(&self) -> Option<f64> {
        mean_mass_gr(&self.record)
    }
}

/// Returns the mean mass of the fletched arrows in use, without those that are far from the others; else what the set's record
/// says; grains.
pub(super) fn mean_mass_gr(set: &Arrows) -> Option<f64> {
    let shafts = set.shafts();
    let in_use = shafts.iter().filter(|(_, shaft)| !shaft.bare && !shaft.out);
    let masses: Vec<(u32, f64)> = in_use.filter_map(|(n, shaft)| Some((*n, shaft.mass_gr?))).collect();
    mean_of_near(&masses).map(|(mean, _)| mean).or(set.mass_gr)
}

fn practice(words: String) -> Said {
    Said { words, source: PRACTICE.into(), caution: None }
}

fn measured(words: String) -> Said {
    Said { words, source: "the records".into(), caution: None }
}
