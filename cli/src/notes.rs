//! Notes about bows, people and groups: what a coach writes, and everyone reads.

use crate::{CliError, Env, render, store::Home, when};
use serde::Serialize;
use sheaf_model::{
    id::ThingId,
    kind::{self, Note},
    merge::Thing,
    replica::Store,
};
use std::collections::BTreeMap;

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

/// Returns the notes that are wanted, in order of their times.
pub fn all(home: &Home, wanted: &dyn Fn(&Noted) -> bool) -> Result<Vec<Noted>, CliError> {
    let mut found = Vec::new();
    home.store().visit("note", None, &mut |thing| {
        let Ok(Note { about, bow, text, at, retired: false }) = kind::read::<Note>(thing) else { return };
        let text = text.unwrap_or_default().replace(char::is_control, " ");
        found.push(Noted { id: thing.id, at, by: author(thing), about, bow, text });
    })?;
    found.retain(|note| wanted(note));
    found.sort_by_key(|note| (when::unix_ms(note.at.as_deref()), note.id));
    Ok(found)
}

/// Prints notes under a head, a line each where they fit; nothing where there are none.
pub fn print(notes: &[Noted], names: &BTreeMap<ThingId, String>, env: &mut Env<'_>) -> Result<(), CliError> {
    if notes.is_empty() {
        return Ok(());
    }
    writeln!(env.out, "\nNotes:")?;
    let columns = env.width.min(100).saturating_sub(4);
    for note in notes {
        let by = note.by.map(|by| names.get(&by).cloned().unwrap_or_else(|| by.short())).unwrap_or_default();
        let line = format!("{} {by}: {} ({})", when::shown(note.at.as_deref()), note.text, note.id.short());
        for (n, line) in render::wrapped(&line, columns).iter().enumerate() {
            writeln!(env.out, "{}{line}", if n == 0 { "  " } else { "    " })?;
        }
    }
    Ok(())
}
