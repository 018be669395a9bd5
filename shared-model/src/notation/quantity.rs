//! Quantities with their unit: `8 1/2in`, `16kgf`, `+1/4 turn`; and the unit that ends a field's name.

use super::{Length, distance::number};
use crate::ModelError;

/// The units that can end a field's name.
const UNITS: &[&str] = &["mm", "in", "m", "lbf", "gr", "g", "fps", "turns", "deg"];

/// Returns the unit that a field's name ends in, as people write it, or nothing.
pub fn unit_of(field: &str) -> &'static str {
    match ending(field) {
        "fps" => "ft/s",
        unit => unit,
    }
}

fn ending(field: &str) -> &'static str {
    let ends = |unit: &&&str| field.strip_suffix(**unit).is_some_and(|rest| rest.ends_with('_'));
    UNITS.iter().find(ends).copied().unwrap_or("")
}

/// Returns a field's name without its unit.
pub fn bare(field: &str) -> &str {
    match ending(field) {
        "" => field,
        unit => &field[..field.len() - unit.len() - 1],
    }
}

/// Reads a number with or without a unit, and converts it; without one it is taken to be in `unit`.
///
/// # Errors
/// `bad_quantity` when it is no finite number, or its unit is not known or measures something else.
pub fn quantity(typed: &str, unit: &str) -> Result<f64, ModelError> {
    let bad = |why: String| ModelError::new("bad_quantity", format!("`{}` {why}", typed.trim()));
    let text = typed.trim();
    let split = text.find(|c: char| !(c.is_ascii_digit() || "+-\u{2212}.,/ ½¼¾".contains(c)));
    let (digits, given) = text.split_at(split.unwrap_or(text.len()));
    let number = number(digits).ok_or_else(|| {
        bad("is no number; write it like 2.25, 2,25 or 2 1/4, with its unit where wanted".into())
    })?;
    let given = given.trim();
    if given.is_empty() {
        return Ok(number);
    }
    match (scale(given), scale(unit)) {
        (Some((of, from)), Some((wanted, to))) if of == wanted => {
            // To ten significant digits: 8 1/2 in are 215.9 mm, not 215.89999999999998.
            let converted =
                format!("{:.9e}", number * from / to).parse().ok().filter(|n: &f64| n.is_finite());
            converted.ok_or_else(|| bad("is too large".into()))
        }
        (Some(_), _) if unit.is_empty() => Err(bad("has a unit where none belongs".into())),
        (Some(_), _) => Err(bad(format!("is not given in {unit} or anything that converts to it"))),
        (None, _) => Err(bad(format!(
            "ends in `{given}`, which is no unit; known are mm, cm, m, in, ft, yd, lbf, kgf, N, gr, g, oz, ft/s, m/s, turns, deg"
        ))),
    }
}

/// Returns what a unit measures and its size: exact by definition (NIST SP 811; the pound and yard of 1959).
fn scale(unit: &str) -> Option<(&'static str, f64)> {
    if let Some(length) = Length::named(unit) {
        return Some(("length", length.mm()));
    }
    Some(match unit.to_lowercase().as_str() {
        "'" => ("length", Length::Ft.mm()),
        "lbf" | "lb" | "lbs" | "#" => ("force", 4.448_221_615_260_5),
        "kgf" | "kg" => ("force", 9.806_65),
        "n" => ("force", 1.0),
        "gr" | "grain" | "grains" => ("mass", 0.064_798_91),
        "g" => ("mass", 1.0),
        "oz" => ("mass", 28.349_523_125),
        "fps" | "ft/s" => ("speed", 0.304_8),
        "m/s" => ("speed", 1.0),
        "km/h" => ("speed", 1.0 / 3.6),
        "turns" | "turn" => ("turns", 1.0),
        "deg" | "\u{b0}" => ("angle", 1.0),
        _ => return None,
    })
}

/// The units in which people measure what a field holds in another.
const OTHERS: &[&str] = &["in", "cm", "mm", "m", "ft", "lbf", "kgf", "gr", "g", "ft/s", "m/s"];

/// Asks about a number outside its range that another unit would explain: a number that was typed in that unit with none
/// beside it, or one that was typed with that unit where the field's own was meant.
pub fn unit_meant(number: f64, unit: &str, [least, most]: [f64; 2]) -> Option<String> {
    let (what, size) = scale(unit)?;
    let within = |value: f64| (least..=most).contains(&value);
    let told = |value: f64| format!("{}", libm::round(value * 1e4) / 1e4);
    let others = || {
        OTHERS.iter().filter(|other| **other != unit).filter_map(|other| {
            let (of, scale) = scale(other)?;
            (of == what).then_some((*other, scale / size))
        })
    };
    let forgotten = others().find(|(_, ratio)| within(number * ratio));
    let slipped = || {
        others().find(|(_, ratio)| {
            let typed = number / ratio;
            // Only a number as people type it: in quarters, fifths or tenths.
            within(typed) && (libm::round(typed * 20.0) - typed * 20.0).abs() < 1e-4
        })
    };
    if let Some((other, ratio)) = forgotten {
        return Some(format!(
            "did you mean {} {other}, which is {} {unit}?",
            told(number),
            told(number * ratio)
        ));
    }
    let (other, ratio) = slipped()?;
    let typed = told(number / ratio);
    Some(format!("{typed} {other} is {} {unit}; did you mean {typed} {unit}?", told(number)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[track_caller]
    fn check(typed: &str, unit: &str, expect: f64) {
        assert_eq!(quantity(typed, unit), Ok(expect), "{typed}");
    }

    #[test]
    fn numbers_are_read_in_the_ways_that_people_write_them() {
        check("2.25", "turns", 2.25);
        check("2,25", "turns", 2.25);
        check("2 1/4", "turns", 2.25);
        check("-1/4turn", "turns", -0.25);
        check("\u{2212}1/4", "turns", -0.25);
        check("+1/4 turns", "turns", 0.25);
        check("\u{bd}", "turns", 0.5);
        check("2\u{bd} turns", "turns", 2.5);
        check("-2 \u{be}", "turns", -2.75);
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
            ("\u{bd}\u{bd}", "turns"),
            ("\u{bd}2", "turns"),
        ] {
            assert!(quantity(typed, unit).is_err(), "{typed}");
        }
    }

    #[test]
    fn a_number_that_another_unit_explains_is_asked_about() {
        let asked = |number, unit, range| unit_meant(number, unit, range).unwrap_or_default();
        // 28 cm typed for a draw length; 8.5 typed for a brace height in mm; 71 typed for a draw length in inches.
        assert_eq!(
            asked(quantity("28cm", "in").unwrap(), "in", [14.0, 37.0]),
            "28 cm is 11.0236 in; did you mean 28 in?"
        );
        assert_eq!(asked(8.5, "mm", [100.0, 350.0]), "did you mean 8.5 in, which is 215.9 mm?");
        assert_eq!(asked(71.0, "in", [14.0, 37.0]), "did you mean 71 cm, which is 27.9528 in?");
        assert_eq!(unit_meant(1e9, "mm", [100.0, 350.0]), None);
        assert_eq!(unit_meant(300.0, "turns", [0.0, 200.0]), None);
    }

    #[test]
    fn a_field_ends_in_its_unit() {
        assert_eq!((unit_of("brace_height_mm"), bare("brace_height_mm")), ("mm", "brace_height"));
        assert_eq!((unit_of("string"), bare("string")), ("", "string"));
    }
}
