//! Notes about bows, people and groups: what a coach writes, and everyone reads.

use crate::{CliError, Env, render, store::Home, when};
use sheaf_model::{id::ThingId, records};
use std::collections::BTreeMap;

pub use sheaf_model::records::{Noted, author};

/// Returns the notes that are wanted, in order of their times.
pub fn all(home: &Home, wanted: &dyn Fn(&Noted) -> bool) -> Result<Vec<Noted>, CliError> {
    records::notes(home.store(), wanted)
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
