//! Fields as people type them: numbers with units, choices, names.

use crate::{CliError, lookup::nearest};
use serde_json::{Value, json};
use sheaf_model::kind::{SETTINGS, WHAT};

/// How a field is written.
#[derive(Debug, Clone, Copy)]
pub enum Form {
    /// Any words.
    Text,
    /// A whole number from 0 to this.
    Count(u32),
    /// A number in the unit that ends the field's name, within these bounds.
    Number(f64, f64),
    /// One of some words.
    Choice(&'static [&'static str]),
    /// A moment.
    Moment,
    /// A thing of this kind, by name.
    Link(&'static str),
}

/// The fields that can be typed: kind, field, form.
#[rustfmt::skip]
pub const FIELDS: &[(&str, &str, Form)] = &[
    ("person", "name", Form::Text),
    ("person", "bow_arm", Form::Choice(&["left", "right"])),
    ("person", "hook", Form::Choice(&["split_finger", "three_under"])),
    ("person", "draw_length_in", Form::Number(10.0, 40.0)),
    ("person", "note", Form::Text),
    ("bow", "name", Form::Text),
    ("bow", "riser_in", Form::Number(8.0, 40.0)),
    ("bow", "note", Form::Text),
    ("part", "name", Form::Text),
    ("part", "what", Form::Choice(WHAT)),
    ("part", "length_in", Form::Number(1.0, 100.0)),
    ("part", "limb_length", Form::Choice(&["short", "medium", "long"])),
    ("part", "marked_weight_lbf", Form::Number(1.0, 150.0)),
    ("part", "strands", Form::Count(100)),
    ("part", "note", Form::Text),
    ("arrows", "name", Form::Text),
    ("arrows", "count", Form::Count(1000)),
    ("arrows", "shaft_diameter_mm", Form::Number(1.0, sheaf_model::face::WIDEST_SHAFT_MM)),
    ("arrows", "spine", Form::Number(100.0, 5000.0)),
    ("arrows", "length_in", Form::Number(10.0, 40.0)),
    ("arrows", "mass_gr", Form::Number(50.0, 2000.0)),
    ("arrows", "pile_gr", Form::Number(5.0, 1000.0)),
    ("arrows", "note", Form::Text),
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
    ("mark", "distance_m", Form::Number(0.5, 400.0)),
    ("mark", "sight_mark", Form::Number(-1000.0, 1000.0)),
    ("mark", "at", Form::Moment),
    ("mark", "note", Form::Text),
    ("note", "text", Form::Text),
];

/// Returns the field of a kind that is meant: its full name, or the name without its unit.
pub fn field(kind: &str, typed: &str) -> Result<(&'static str, Form), CliError> {
    let typed = typed.trim().to_lowercase().replace('-', "_");
    let of_kind = || FIELDS.iter().filter(|(k, ..)| *k == kind);
    if let Some((_, name, form)) = of_kind().find(|(_, name, _)| *name == typed || bare(name) == typed) {
        return Ok((name, *form));
    }
    let names: Vec<&str> = of_kind().map(|(_, name, _)| *name).collect();
    let near = nearest(&typed, names.iter().copied());
    let near = if near.is_empty() { names } else { near };
    Err(CliError::input(format!("a {kind} has no field `{typed}`"))
        .hint(format!("it has: {}", near.join(", "))))
}

/// Reads a value of a form that needs no look at the records.
pub fn value(name: &str, form: Form, typed: &str) -> Result<Value, CliError> {
    let wrong = |what: String| CliError::input(format!("{name}: `{typed}` {what}"));
    match form {
        Form::Text | Form::Moment | Form::Link(_) => {
            if typed.trim().is_empty() {
                return Err(wrong("is empty".into()));
            }
            if typed.chars().count() > 2000 {
                return Err(CliError::input(format!("{name}: the text is longer than 2,000 characters")));
            }
            Ok(json!(typed.trim()))
        }
        Form::Count(most) => match typed.trim().parse::<u32>() {
            Ok(n) if n <= most => Ok(json!(n)),
            _ => Err(wrong(format!("is no whole number from 0 to {most}"))),
        },
        Form::Choice(words) => {
            let typed = typed.trim().to_lowercase().replace([' ', '-'], "_");
            match words.iter().find(|w| **w == typed) {
                Some(word) => Ok(json!(word)),
                None => Err(wrong(format!("is none of {}", words.join(", ")))),
            }
        }
        Form::Number(least, most) => {
            let unit = unit_of(name);
            let number = measure(typed, unit).map_err(|e| CliError::input(format!("{name}: {e}")))?;
            if !(least..=most).contains(&number) {
                return Err(wrong(format!("is not between {least} and {most} {unit}").trim_end().to_owned()));
            }
            Ok(json!(number))
        }
    }
}

/// Returns the setting that is meant, by its field or by what the trade calls it.
///
/// A name that stands for a part and for its adjustment alike (`plunger`) is the adjustment when a number follows.
pub fn setting(typed: &str, numeric: bool) -> Option<&'static sheaf_model::kind::Setting> {
    let typed = typed.trim().to_lowercase().replace(['-', ' '], "_");
    let name = |s: &sheaf_model::kind::Setting| s.name.replace(' ', "_");
    let measured = |s: &&sheaf_model::kind::Setting| s.unit.is_empty() != numeric;
    SETTINGS
        .iter()
        .find(|s| s.field == typed && (measured(s) || !numeric))
        .or_else(|| SETTINGS.iter().filter(measured).find(|s| bare(s.field) == typed || name(s) == typed))
        .or_else(|| SETTINGS.iter().find(|s| s.field == typed || bare(s.field) == typed || name(s) == typed))
        .or_else(|| {
            let mut begins =
                SETTINGS.iter().filter(measured).filter(|s| typed.len() >= 3 && name(s).starts_with(&typed));
            begins.next().filter(|_| begins.next().is_none())
        })
}

/// The units that can end a field's name.
const UNITS: &[&str] = &["mm", "in", "m", "lbf", "gr", "turns", "deg"];

/// Returns the unit that ends a field's name, or nothing.
pub fn unit_of(field: &str) -> &'static str {
    UNITS
        .iter()
        .find(|u| field.strip_suffix(**u).is_some_and(|rest| rest.ends_with('_')))
        .copied()
        .unwrap_or("")
}

/// Returns a field's name without its unit.
pub fn bare(field: &str) -> &str {
    match unit_of(field) {
        "" => field,
        unit => &field[..field.len() - unit.len() - 1],
    }
}

/// Reads a number with or without a unit, and converts it; without one it is taken to be in `unit`.
pub fn measure(typed: &str, unit: &str) -> Result<f64, String> {
    let text = typed.trim();
    let split = text.find(|c: char| !(c.is_ascii_digit() || "+-.,/ \u{bd}\u{bc}\u{be}".contains(c)));
    let (digits, given) = text.split_at(split.unwrap_or(text.len()));
    let number = number(digits.trim()).ok_or_else(|| {
        format!("`{typed}` is no number; write it like 2.25, 2,25 or 2 1/4, with its unit where wanted")
    })?;
    let given = given.trim();
    if given.is_empty() {
        return Ok(number);
    }
    match (scale(given), scale(unit)) {
        (Some((of, from)), Some((wanted, to))) if of == wanted => {
            // To ten significant digits: 8 1/2 in are 215.9 mm, not 215.89999999999998.
            let converted = number * from / to;
            format!("{converted:.9e}").parse().map_err(|_| format!("`{typed}` is no number"))
        }
        (Some(_), _) if unit.is_empty() => Err(format!("`{typed}` has a unit where none belongs")),
        (Some(_), _) => Err(format!("`{typed}` is not given in {unit} or anything that converts to it")),
        (None, _) => Err(format!(
            "`{given}` in `{typed}` is no unit; known are mm, cm, m, in, ft, yd, lbf, kgf, N, gr, g, oz, turns, deg"
        )),
    }
}

/// Returns what a unit measures and its size: exact by definition (NIST SP 811; the pound and yard of 1959).
fn scale(unit: &str) -> Option<(&'static str, f64)> {
    Some(match unit.to_lowercase().as_str() {
        "mm" => ("length", 0.001),
        "cm" => ("length", 0.01),
        "m" => ("length", 1.0),
        "in" | "\"" | "inch" | "inches" => ("length", 0.0254),
        "ft" | "'" => ("length", 0.3048),
        "yd" => ("length", 0.9144),
        "lbf" | "lb" | "lbs" | "#" => ("force", 4.448_221_615_260_5),
        "kgf" | "kg" => ("force", 9.806_65),
        "n" => ("force", 1.0),
        "gr" | "grain" | "grains" => ("mass", 0.064_798_91),
        "g" => ("mass", 1.0),
        "oz" => ("mass", 28.349_523_125),
        "turns" | "turn" => ("turns", 1.0),
        "deg" | "\u{b0}" => ("angle", 1.0),
        _ => return None,
    })
}

/// Reads `2.25`, `2,25`, `1/4`, `2 1/4` or `-1/2`.
fn number(text: &str) -> Option<f64> {
    let (sign, text) = match text.strip_prefix(['+', '-']) {
        Some(rest) => (if text.starts_with('-') { -1.0 } else { 1.0 }, rest.trim()),
        None => (1.0, text),
    };
    let plain = |t: &str| -> Option<f64> {
        let t = t.replace(',', ".");
        let digits =
            t.chars().all(|c| c.is_ascii_digit() || c == '.') && t.chars().any(|c| c.is_ascii_digit());
        digits.then(|| t.parse().ok()).flatten().filter(|n: &f64| n.is_finite())
    };
    let part = |t: &str| -> Option<f64> {
        match t {
            "\u{bc}" => return Some(0.25),
            "\u{bd}" => return Some(0.5),
            "\u{be}" => return Some(0.75),
            _ => {}
        }
        match t.split_once('/') {
            Some((above, below)) => {
                let (above, below) = (above.parse::<u32>().ok()?, below.parse::<u32>().ok()?);
                (below > 0).then(|| f64::from(above) / f64::from(below))
            }
            None => plain(t),
        }
    };
    let mut words = text.split_whitespace();
    let (first, second, none) = (words.next()?, words.next(), words.next());
    let total = match (second, none) {
        (None, None) => part(first)?,
        (Some(fraction), None) if fraction.contains('/') => {
            f64::from(first.parse::<u32>().ok()?) + part(fraction)?
        }
        _ => return None,
    };
    Some(sign * total)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[track_caller]
    fn check(typed: &str, unit: &str, expect: f64) {
        assert_eq!(measure(typed, unit), Ok(expect), "{typed}");
    }

    #[test]
    fn numbers_are_read_in_the_ways_that_people_write_them() {
        check("2.25", "turns", 2.25);
        check("2,25", "turns", 2.25);
        check("2 1/4", "turns", 2.25);
        check("-1/4turn", "turns", -0.25);
        check("+1/4 turns", "turns", 0.25);
        check("\u{bd}", "turns", 0.5);
    }

    #[test]
    fn units_convert_by_their_definitions() {
        check("8 1/2in", "mm", 215.9);
        check("21.5cm", "mm", 215.0);
        check("70cm", "in", 27.559_055_12); // 70 / 2.54 = 27.5590551181...
        check("16kgf", "lbf", 35.273_961_95); // 16 / 0.45359237 = 35.2739619495...
        check("20g", "gr", 308.647_167_1); // 20 / 0.06479891 = 308.6471670589...
        check("20yd", "m", 18.288);
    }

    #[test]
    fn nonsense_is_refused_with_its_reason() {
        for (typed, unit) in [
            ("", "mm"),
            ("abc", "mm"),
            ("1/0", "turns"),
            ("nan", "mm"),
            ("inf", "mm"),
            ("1 2", "mm"),
            ("1e5", "mm"),
            ("5lbf", "mm"),
            ("--3", "mm"),
            ("1.2.3", "mm"),
        ] {
            assert!(measure(typed, unit).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_name_that_stands_for_two_settings_is_told_apart_by_its_value() {
        assert_eq!(setting("plunger", true).unwrap().field, "plunger_turns");
        assert_eq!(setting("plunger", false).unwrap().field, "plunger");
        assert_eq!(setting("brace height", true).unwrap().field, "brace_height_mm");
        assert!(setting("plunjer", true).is_none());
    }
}
