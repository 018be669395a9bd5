//! Plain counts of arrows in a bow's timeline: shot and not placed. They stand beside its items, so that groups, stretches
//! and statistics never count them.

use super::{Moment, Timeline};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Practice},
    log::Stamp,
    replica::Store,
};

/// Arrows that were shot with a bow without being placed.
#[derive(Debug, Clone)]
pub struct Practiced {
    /// Which record.
    pub id: ThingId,
    /// When they were shot.
    pub at: Moment,
    /// When that was first recorded.
    pub stamp: Stamp,
    /// Who shot, with which set.
    pub practice: Practice,
    /// How many arrows, 1 or more.
    pub arrows: u32,
}

impl Timeline {
    /// Reads the counts of the bow; one without a moment or a number is told of among the unplaced.
    pub(super) fn read_practice<S: Store>(&mut self, store: &S) -> Result<(), S::Error> {
        let bow = self.bow;
        store.visit("practice", Some(bow), &mut |thing| {
            let counted = |p: Practice| {
                if p.retired {
                    return Ok(None);
                }
                let arrows = p.count.filter(|n| *n > 0).ok_or_else(|| {
                    ModelError::new("missing_field", "it does not say how many arrows were shot")
                })?;
                Ok(Some((p.at.clone(), (p, arrows))))
            };
            let read = kind::read::<Practice>(thing).and_then(counted);
            if let Some((at, stamp, (practice, arrows))) = self.place(thing, read) {
                self.practice.push(Practiced { id: thing.id, at, stamp, practice, arrows });
            }
        })?;
        self.practice.sort_by_key(|count| (count.at.unix_ms(), count.stamp));
        Ok(())
    }
}
