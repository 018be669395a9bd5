//! Parts that two bows name as theirs, by changes of two devices that may not have known of each other.
//!
//! The records take such a part to be on the bow that named it last; nobody put it back, and no field has two values.

use super::{bow::names, moved::gone_words, rebuild::full_name};
use crate::{
    id::{DeviceId, ThingId},
    named::{self, name_of},
    replica::Store,
    rig::whereabouts::{gone, whereabouts},
    timeline::Timeline,
};
use serde::Serialize;

/// A part that is named by two bows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Clash {
    /// The part.
    pub part: ThingId,
    /// The bow that the records take it to be on.
    pub on: ThingId,
    /// The bow that names it too.
    pub also: ThingId,
    /// What is so, and what to do.
    pub words: String,
}

/// Returns the parts that two bows name by changes of different devices.
///
/// # Errors
/// Those of the store.
pub fn clashes<S: Store>(store: &S) -> Result<Vec<Clash>, S::Error> {
    let known = named::all(store, "bow")?;
    let bows = Timeline::changes_of_all(store)?;
    let (found, names) = (whereabouts(&bows), names(store)?);
    let in_use = |id: ThingId| known.iter().any(|bow| bow.id == id && !bow.retired);
    let mut all = Vec::new();
    // What a bow that is out of use names is nothing to settle.
    for bow in bows.iter().filter(|bow| in_use(bow.bow)) {
        let setup = bow.setup_now();
        for (setting, gone) in gone(&found, bow.bow, &setup) {
            let end = found.get(&gone.part).into_iter().flatten().filter_map(|spell| spell.end.as_ref());
            let taken = end.filter(|end| end.at == gone.at).find_map(|end| device(&bows, end.change));
            let own = setup.get(&setting).and_then(|set| device(&bows, set.change));
            if own.is_none() || taken.is_none() || own == taken {
                continue;
            }
            let [part, on, also] = [gone.part, gone.to, bow.bow].map(|id| name_of(&names, id));
            let words = format!(
                "{part} ({}) is named by {also} and by {on}, on two devices: the records take it to be on {on}, since it {}. \
                 Look which bow it is on, and note on the other one what is on it instead.",
                full_name(&setting).0,
                gone_words(&gone, &names)
            );
            all.push(Clash { part: gone.part, on: gone.to, also: bow.bow, words });
        }
    }
    Ok(all)
}

/// Returns the device that wrote a change.
fn device(bows: &[Timeline], change: ThingId) -> Option<DeviceId> {
    let items = bows.iter().flat_map(|bow| &bow.items);
    items.filter(|item| item.id == change).map(|item| item.stamp.device).next()
}
