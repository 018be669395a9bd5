//! Notes about bows, people and groups: what a coach writes, and everyone reads.

use crate::{
    id::ThingId,
    kind::{self, Note},
    merge::Thing,
    moment::Moment,
    replica::Store,
};
use serde::Serialize;

/// A note that is in use.
#[derive(Debug, Clone, Serialize)]
pub struct Noted {
    /// Which one.
    pub id: ThingId,
    /// When, RFC 3339.
    pub at: Option<String>,
    /// Who wrote it.
    pub by: Option<ThingId>,
    /// What it is about.
    pub about: Option<ThingId>,
    /// The bow, when it concerns one.
    pub bow: Option<ThingId>,
    /// The words.
    pub text: String,
}

/// Returns who wrote a thing first.
pub fn author(thing: &Thing) -> Option<ThingId> {
    thing.parts().next().map(|part| part.author)
}

/// Returns the notes that are wanted, in order of their times; those without one come first.
///
/// # Errors
/// Those of the store.
pub fn notes<S: Store>(store: &S, wanted: &dyn Fn(&Noted) -> bool) -> Result<Vec<Noted>, S::Error> {
    let mut found = Vec::new();
    store.visit("note", None, &mut |thing| {
        let Ok(Note { about, bow, text, at, retired: false }) = kind::read::<Note>(thing) else { return };
        let text = text.unwrap_or_default().replace(char::is_control, " ");
        found.push(Noted { id: thing.id, at, by: author(thing), about, bow, text });
    })?;
    found.retain(|note| wanted(note));
    found.sort_by_key(|note| (unix_ms(note.at.as_deref()), note.id));
    Ok(found)
}

/// Returns the milliseconds since 1970 of a moment as it is kept; the least where there is none.
pub fn unix_ms(at: Option<&str>) -> i64 {
    at.and_then(|at| Moment::read(at).ok()).map_or(i64::MIN, |at| at.unix_ms())
}
