//! Settings as they are typed: which one is meant, and a value that is added to what was before.

use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Kind as _, Part, SETTINGS, WHAT, check_setting},
    name,
    notation::unit_of,
    replica::Store,
    timeline::Setup,
};
use serde_json::{Value, json};

/// The longest name of a setting of the bow's own.
const LONGEST: usize = 56;

/// A setting that is meant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Meant {
    /// Its field.
    pub field: String,
    /// Its unit, or nothing for a part.
    pub unit: &'static str,
    /// Whether it is one of the bow's own, which the model has no words for.
    pub own: bool,
}

/// Returns the setting that is meant: a known one, or one of the bow's own, whose name says its unit.
pub fn meant_setting(name: &str, numeric: bool) -> Option<Meant> {
    if let Some(known) = kind::setting_meant(name, numeric) {
        return Some(Meant { field: known.field.to_owned(), unit: known.unit, own: false });
    }
    let field = name.trim().to_lowercase().replace(['-', ' '], "_");
    let fits = field.starts_with(|c: char| c.is_ascii_lowercase())
        && field.len() <= LONGEST
        && field.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
    let unit = unit_of(&field);
    (fits && !unit.is_empty()).then_some(Meant { field, unit, own: true })
}

/// Returns the value of a setting when so much is added to what it was; nothing where that is not noted.
///
/// # Errors
/// `out_of_range` for what no bow has.
pub fn added(setup: &Setup, field: &str, by: f64) -> Result<Option<Value>, ModelError> {
    let Some(before) = setup.get(field).and_then(|s| s.value.as_f64()) else { return Ok(None) };
    // To a tenth of a thousandth, so that a quarter turn eight times is two turns.
    let after = json!(libm::round((before + by) * 1e4) / 1e4);
    check_setting(field, &after)?;
    Ok(Some(after))
}

/// Returns the kind of thing that a setting without a unit stands for, and whether it has to be one that is recorded:
/// everything else depends on limbs, string and arrows.
pub fn part_of_setting(field: &str) -> (&'static str, bool) {
    match field {
        "arrows" => ("arrows", true),
        "limbs" | "string" => ("part", true),
        _ => ("part", false),
    }
}

/// Checks that a part that a setting is to name is of its sort: a string is no limbs. A part that does not say what it is
/// fits anywhere, and one of no sort that has a setting fits a setting that is no sort.
///
/// # Errors
/// `wrong_sort`, and those of the store.
pub fn check_sort<S: Store>(store: &S, setting: &str, value: &Value) -> Result<(), S::Error> {
    let Some(id) = value.as_str().and_then(|text| text.parse::<ThingId>().ok()) else { return Ok(()) };
    let Some(thing) = store.thing(Part::NAME, id)? else { return Ok(()) };
    let part = kind::read::<Part>(&thing).unwrap_or_default();
    let Some(what) = part.what.filter(|what| what != setting) else { return Ok(()) };
    if what == "other" && !WHAT.contains(&setting) {
        return Ok(());
    }
    let called = part.name.unwrap_or_else(|| id.short()).replace(char::is_control, " ");
    let message = format!(
        "{setting}: `{called}` is noted as {}; choose {}, or put right what `{called}` is",
        sort_word(&what),
        sort_word(setting)
    );
    Err(ModelError::new("wrong_sort", message).at(setting).into())
}

/// Returns a sort of part with its article.
fn sort_word(what: &str) -> String {
    match what {
        "limbs" => "limbs".into(),
        "other" => "something other".into(),
        one => name::with_article(one),
    }
}

/// Returns the place of a setting in the order in which the trade sets a bow up; the bow's own come last.
pub fn setting_place(field: &str) -> usize {
    SETTINGS.iter().position(|s| s.field == field).unwrap_or(SETTINGS.len())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_setting_of_ones_own_says_its_unit() {
        let meant = meant_setting("Damper gr", true).unwrap();
        assert_eq!((meant.field.as_str(), meant.unit, meant.own), ("damper_gr", "gr", true));
        assert!(!meant_setting("plunger", true).unwrap().own);
        for name in ["damper", "", "_mm", "däm_mm", "1_mm", &format!("{}_mm", "x".repeat(60))] {
            assert_eq!(meant_setting(name, true), None, "{name}");
        }
    }
}
