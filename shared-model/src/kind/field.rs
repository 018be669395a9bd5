//! Fields of records as people type them: numbers with units, choices, words.

use super::setting::within;
use crate::{
    ModelError,
    face::Face,
    notation::{bare, quantity, unit_of},
};
use serde_json::{Value, json};

/// The most characters of a text.
const LONGEST: usize = 2000;

/// How a field is written.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Form {
    /// Any words.
    Text,
    /// A whole number from 1 to this.
    Count(u32),
    /// A number in the unit that ends the field's name, within these bounds.
    Number(f64, f64),
    /// One of some words.
    Choice(&'static [&'static str]),
    /// A moment.
    Moment,
    /// A thing of this kind, by name.
    Link(&'static str),
    /// A published face, by its code.
    Face,
}

/// How the fingers can hold the string.
const HOOKS: &[&str] = &["split_finger", "three_under"];

/// The fields that can be typed: kind, field, form. The bounds are generous: only slips lie outside (common practice,
/// no source).
#[rustfmt::skip]
pub const FIELDS: &[(&str, &str, Form)] = &[
    ("person", "name", Form::Text),
    ("person", "bow_arm", Form::Choice(&["left", "right"])),
    ("person", "hook", Form::Choice(HOOKS)),
    ("person", "draw_length_in", Form::Number(14.0, 37.0)),
    ("person", "pivot_draw_in", Form::Number(12.25, 35.25)),
    ("person", "note", Form::Text),
    ("bow", "name", Form::Text),
    ("bow", "riser_in", Form::Number(8.0, 40.0)),
    ("bow", "discipline", Form::Choice(super::DISCIPLINES)),
    ("bow", "note", Form::Text),
    ("part", "name", Form::Text),
    ("part", "what", Form::Choice(super::WHAT)),
    ("part", "length_in", Form::Number(8.0, 80.0)),
    ("part", "limb_length", Form::Choice(&["short", "medium", "long"])),
    ("part", "limb_kind", Form::Choice(super::LIMB_KIND)),
    ("part", "marked_weight_lbf", Form::Number(1.0, 100.0)),
    ("part", "marked_draw_in", Form::Number(14.0, 37.0)),
    ("part", "marked_riser_in", Form::Number(8.0, 40.0)),
    ("part", "strands", Form::Count(100)),
    ("part", "twists", Form::Number(0.0, 200.0)),
    ("part", "material", Form::Text),
    ("part", "mass_g", Form::Number(0.1, 5000.0)),
    ("part", "pocket", Form::Text),
    ("part", "hook", Form::Choice(HOOKS)),
    ("part", "least_bolt_turns", Form::Number(-10.0, 15.0)),
    ("part", "most_bolt_turns", Form::Number(-10.0, 15.0)),
    ("part", "least_weight_lbf", Form::Number(1.0, 100.0)),
    ("part", "most_weight_lbf", Form::Number(1.0, 100.0)),
    ("part", "most_draw_in", Form::Number(14.0, 37.0)),
    ("part", "least_brace_mm", Form::Number(100.0, 350.0)),
    ("part", "most_brace_mm", Form::Number(100.0, 350.0)),
    ("part", "least_arrow_gr", Form::Number(50.0, 2000.0)),
    ("part", "least_grains_per_pound", Form::Number(1.0, 30.0)),
    ("part", "remind_at_arrows", Form::Count(1_000_000)),
    ("part", "note", Form::Text),
    ("arrows", "name", Form::Text),
    ("arrows", "count", Form::Count(1000)),
    ("arrows", "shaft_diameter_mm", Form::Number(1.0, crate::face::WIDEST_SHAFT_MM)),
    ("arrows", "spine", Form::Number(100.0, 2000.0)),
    ("arrows", "length_in", Form::Number(14.0, 40.0)),
    ("arrows", "mass_gr", Form::Number(50.0, 2000.0)),
    ("arrows", "pile_gr", Form::Number(5.0, 1000.0)),
    ("arrows", "balance_from_nock_in", Form::Number(5.0, 40.0)),
    ("arrows", "material", Form::Choice(super::MATERIALS)),
    ("arrows", "nock", Form::Text),
    ("arrows", "fletching", Form::Text),
    ("arrows", "remind_at_arrows", Form::Count(1_000_000)),
    ("arrows", "note", Form::Text),
    ("shaft", "length_in", Form::Number(14.0, 40.0)),
    ("shaft", "spine", Form::Number(100.0, 2000.0)),
    ("shaft", "pile_gr", Form::Number(5.0, 1000.0)),
    ("shaft", "mass_gr", Form::Number(50.0, 2000.0)),
    ("shaft", "balance_from_nock_in", Form::Number(5.0, 40.0)),
    ("shaft", "nock", Form::Text),
    ("shaft", "fletching", Form::Text),
    ("shaft", "bare", Form::Choice(super::shaft::YES_NO)),
    ("shaft", "out", Form::Choice(super::shaft::YES_NO)),
    ("shaft", "note", Form::Text),
    ("change", "at", Form::Moment),
    ("change", "by", Form::Link("person")),
    ("change", "note", Form::Text),
    ("group", "bow", Form::Link("bow")),
    ("group", "archer", Form::Link("person")),
    ("group", "arrows", Form::Link("arrows")),
    ("group", "at", Form::Moment),
    ("group", "session", Form::Text),
    ("group", "end", Form::Text),
    ("group", "distance_m", Form::Number(0.5, 400.0)),
    ("group", "face", Form::Face),
    ("group", "sight", Form::Text),
    ("group", "note", Form::Text),
    ("baseline", "name", Form::Text),
    ("baseline", "note", Form::Text),
    ("session", "name", Form::Text),
    ("session", "at", Form::Moment),
    ("session", "conditions", Form::Text),
    ("session", "note", Form::Text),
    ("plan", "name", Form::Text),
    ("plan", "note", Form::Text),
    ("mark", "archer", Form::Link("person")),
    ("mark", "arrows", Form::Link("arrows")),
    ("mark", "distance_m", Form::Number(0.5, 400.0)),
    ("mark", "what", Form::Choice(super::MARKED_ON)),
    ("mark", "sight_mark", Form::Number(-1000.0, 1000.0)),
    ("mark", "crawl_mm", Form::Number(0.0, 150.0)),
    ("mark", "gap_mm", Form::Number(-10_000.0, 10_000.0)),
    ("mark", "at", Form::Moment),
    ("mark", "note", Form::Text),
    ("note", "text", Form::Text),
    ("pair", "riser", Form::Link("part")),
    ("pair", "limbs", Form::Link("part")),
    ("pair", "fit", Form::Choice(super::FITS)),
    ("pair", "limb_bolt_top_turns", Form::Number(-10.0, 15.0)),
    ("pair", "limb_bolt_bottom_turns", Form::Number(-10.0, 15.0)),
    ("pair", "limb_lateral_top_mm", Form::Number(-20.0, 20.0)),
    ("pair", "limb_lateral_bottom_mm", Form::Number(-20.0, 20.0)),
    ("pair", "tiller_mm", Form::Number(-30.0, 30.0)),
    ("pair", "at", Form::Moment),
    ("pair", "note", Form::Text),
    ("curve", "at", Form::Moment),
    ("curve", "note", Form::Text),
    ("speed", "archer", Form::Link("person")),
    ("speed", "arrows", Form::Link("arrows")),
    ("speed", "at", Form::Moment),
    ("speed", "speed_fps", Form::Number(65.6, 426.6)),
    ("speed", "note", Form::Text),
    ("practice", "archer", Form::Link("person")),
    ("practice", "arrows", Form::Link("arrows")),
    ("practice", "at", Form::Moment),
    ("practice", "count", Form::Count(5000)),
    ("practice", "note", Form::Text),
];

/// Returns the field of a kind that is meant: its full name, or the name without its unit.
pub fn field(kind: &str, typed: &str) -> Option<(&'static str, Form)> {
    let typed = typed.trim().to_lowercase().replace('-', "_");
    let meant = |(k, name, _): &&(&str, &str, Form)| *k == kind && (*name == typed || bare(name) == typed);
    FIELDS.iter().find(meant).map(|(_, name, form)| (*name, *form))
}

/// Returns the names of the fields of a kind.
pub fn fields_of(kind: &str) -> impl Iterator<Item = &'static str> {
    FIELDS.iter().filter(move |(k, ..)| *k == kind).map(|(_, name, _)| *name)
}

/// Reads a value of a form that needs no look at the records; of a moment and of a thing, its words.
///
/// # Errors
/// When it is empty, out of bounds, in another unit, or none of the choices; the message names the field.
pub fn value(name: &str, form: Form, typed: &str) -> Result<Value, ModelError> {
    let wrong = |code, why: String| ModelError::new(code, format!("{name}: `{typed}` {why}")).at(name);
    match form {
        Form::Text | Form::Moment | Form::Link(_) => text(name, typed),
        Form::Face => {
            let face = Face::by_code(&typed.trim().to_lowercase()).map_err(|e| e.at(name))?;
            Ok(json!(face.code()))
        }
        Form::Count(most) => match typed.trim().parse::<u32>() {
            Ok(n) if (1..=most).contains(&n) => Ok(json!(n)),
            _ => Err(wrong("out_of_range", format!("is no whole number from 1 to {most}"))),
        },
        Form::Choice(words) => {
            let typed = typed.trim().to_lowercase().replace([' ', '-'], "_");
            match words.iter().find(|w| **w == typed) {
                Some(word) => Ok(json!(word)),
                None => Err(wrong("no_choice", format!("is none of {}", words.join(", ")))),
            }
        }
        Form::Number(least, most) => {
            let unit = unit_of(name);
            let number = quantity(typed, unit)
                .map_err(|e| ModelError::new(e.code, format!("{name}: {}", e.message)).at(name))?;
            within(name, unit, number, [least, most])?;
            Ok(json!(number))
        }
    }
}

fn text(name: &str, typed: &str) -> Result<Value, ModelError> {
    let wrong = |why: String| Err(ModelError::new("bad_text", format!("{name}: {why}")).at(name));
    match typed.trim() {
        "" => wrong(format!("`{typed}` is empty")),
        long if long.chars().count() > LONGEST => wrong("the text is longer than 2,000 characters".into()),
        text => Ok(json!(text)),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[track_caller]
    fn read(kind: &str, name: &str, typed: &str) -> Result<Value, ModelError> {
        let (name, form) = field(kind, name).unwrap();
        value(name, form, typed)
    }

    #[test]
    fn a_field_is_read_in_its_unit_and_within_its_bounds() {
        assert_eq!(read("arrows", "mass", "20g"), Ok(json!(308.647_167_1)));
        assert_eq!(read("part", "what", "Limbs"), Ok(json!("limbs")));
        assert_eq!(read("arrows", "count", "12"), Ok(json!(12)));
        assert!(field("arrows", "colour").is_none() && fields_of("mark").any(|f| f == "sight_mark"));
    }

    #[test]
    fn what_no_bow_and_no_arrow_has_is_refused_with_the_bounds() {
        for (kind, name, typed) in [
            ("arrows", "spine", "2001"),
            ("arrows", "spine", "99"),
            ("arrows", "mass", "nan"),
            ("arrows", "shaft_diameter", "55"),
            ("arrows", "length", "28.5mm"),
            ("part", "marked_weight", "9999"),
            ("part", "length", "700"),
            ("part", "what", "wheel"),
            ("bow", "riser", "25mm"),
            ("bow", "name", " "),
            ("arrows", "count", "0"),
        ] {
            let told = read(kind, name, typed).unwrap_err().message;
            assert!(told.starts_with(name), "{told}");
        }
        let told = read("arrows", "spine", "9").unwrap_err().message;
        assert!(told.contains("between 100 and 2000; check"), "{told}");
    }
}
