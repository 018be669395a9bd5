//! Values, changes and counts in words that several commands use.

use crate::render;
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    timeline::Altered,
    verdict::{name_and_unit, unit_beside},
    wire::Role,
};
use std::collections::BTreeMap;

pub use sheaf_model::{notation::distance_words, records::shown};

/// Returns what was altered in words: setting, value before, value after.
pub fn altered_words(altered: &Altered, names: &BTreeMap<ThingId, String>) -> String {
    let (name, unit) = name_and_unit(&altered.setting);
    let unit = unit_beside(unit, &altered.after);
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    match &altered.before {
        Some(before) if *before == altered.after => {
            format!("{name} {}{unit}, as before", shown(&altered.after, names))
        }
        Some(before) => format!("{name} {} -> {}{unit}", shown(before, names), shown(&altered.after, names)),
        None => format!("{name} {}{unit}", shown(&altered.after, names)),
    }
}

/// Returns where the mean point of impact lies, in words.
pub fn middle(mpi: [f64; 2], arrows: usize) -> String {
    let side = |v: f64, low: &str, high: &str| {
        let word = if v < 0.0 { low } else { high };
        format!("{} mm {word}", render::number(v.abs(), 1))
    };
    let (x, y) = (side(mpi[0], "left", "right"), side(mpi[1], "low", "high"));
    format!("Mean point of impact of {}: {x}, {y}", render::count(arrows, "arrow"))
}

/// Returns a count of entries in words.
pub fn entries_of(n: usize) -> String {
    if n == 1 { "1 entry".into() } else { format!("{} entries", render::thousands(n as u64)) }
}

/// Returns a role with its article.
pub fn role_words(role: Role) -> &'static str {
    match role {
        Role::Coach => "a coach",
        Role::Archer => "an archer",
        Role::Keeper => "a keeper",
    }
}

/// Returns what was altered as JSON.
pub fn altered_json(altered: &Altered) -> Value {
    json!({"setting": altered.setting, "before": altered.before, "after": altered.after})
}

/// Returns a word as it has to be typed in a POSIX shell.
pub fn quoted(word: &str) -> String {
    // Only a NUL cannot be quoted, and no word from a command line holds one.
    shlex::try_quote(word).map_or_else(|_| word.replace('\0', ""), |quoted| quoted.into_owned())
}
