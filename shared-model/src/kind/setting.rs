//! The settings of a bow: what they are called, their units, and what is plausible.

use crate::{
    ModelError,
    notation::{bare, quantity, unit_meant, unit_of},
};
use serde_json::Value;

/// A setting of a bow that a change can alter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setting {
    /// Its field name, with the unit.
    pub field: &'static str,
    /// What the trade calls it.
    pub name: &'static str,
    /// Its unit: `mm`, `turns`, `lbf`, `in`, or empty for a name, a part or an arrow set.
    pub unit: &'static str,
    /// The least and the most that is plausible, in its unit; generous, so that only slips lie outside.
    pub range: Option<[f64; 2]>,
    /// What it is read against.
    pub about: &'static str,
}

const fn part(field: &'static str, about: &'static str) -> Setting {
    Setting { field, name: field, unit: "", range: None, about }
}

const fn measured(
    field: &'static str,
    name: &'static str,
    unit: &'static str,
    range: [f64; 2],
    about: &'static str,
) -> Setting {
    Setting { field, name, unit, range: Some(range), about }
}

/// The settings, in the order in which the trade sets a bow up, with their ranges (common practice, no source).
#[rustfmt::skip]
pub const SETTINGS: &[Setting] = &[
    part("riser", "the riser, where it is a part with a name"),
    part("limbs", "the pair of limbs on the bow"),
    measured("limb_lateral_top_mm", "upper limb alignment", "mm", [-20.0, 20.0], "string right of the middle of the upper limb, seen from behind"),
    measured("limb_lateral_bottom_mm", "lower limb alignment", "mm", [-20.0, 20.0], "string right of the middle of the lower limb, seen from behind"),
    measured("limb_bolt_top_turns", "top limb bolt", "turns", [-10.0, 15.0], "out from fully in; never past the maker's limit"),
    measured("limb_bolt_bottom_turns", "bottom limb bolt", "turns", [-10.0, 15.0], "out from fully in; never past the maker's limit"),
    measured("draw_weight_lbf", "draw weight", "lbf", [1.0, 100.0], "on the fingers at full draw"),
    part("string", "the string on the bow"),
    measured("string_twists", "string twists", "turns", [0.0, 200.0], "twists in the string"),
    part("serving", "the serving in the middle of the string"),
    measured("brace_height_mm", "brace height", "mm", [100.0, 350.0], "string to the deepest part of the grip"),
    measured("tiller_mm", "tiller", "mm", [-30.0, 30.0], "upper less lower limb-to-string distance"),
    measured("nocking_point_mm", "nocking point", "mm", [-20.0, 40.0], "above square"),
    part("rest", "the rest on the bow"),
    measured("centre_shot_mm", "centre shot", "mm", [-20.0, 20.0], "arrow point outside the string line"),
    part("plunger", "the plunger on the bow"),
    measured("plunger_turns", "plunger", "turns", [-20.0, 40.0], "turns of the spring screw in from the softest"),
    measured("clicker_mm", "clicker", "mm", [-100.0, 300.0], "from the front of the grip"),
    part("grip", "the grip on the bow"),
    part("sight", "the sight on the bow"),
    part("stabiliser", "the stabilisers on the bow"),
    part("tab", "the tab or glove that holds the string"),
    part("arrows", "the arrow set shot"),
];

/// Returns the setting with a field name.
pub fn setting(field: &str) -> Option<&'static Setting> {
    SETTINGS.iter().find(|s| s.field == field)
}

/// Returns the setting that is meant, by its field or by what the trade calls it.
///
/// A name that stands for a part and for its adjustment alike (`plunger`) is the adjustment when a number follows.
pub fn setting_meant(typed: &str, numeric: bool) -> Option<&'static Setting> {
    let typed = typed.trim().to_lowercase().replace(['-', ' '], "_");
    let name = |s: &Setting| s.name.replace(' ', "_");
    let fits = |s: &&Setting| s.unit.is_empty() != numeric;
    SETTINGS
        .iter()
        .find(|s| s.field == typed && (fits(s) || !numeric))
        .or_else(|| SETTINGS.iter().filter(fits).find(|s| bare(s.field) == typed || name(s) == typed))
        .or_else(|| SETTINGS.iter().find(|s| s.field == typed || bare(s.field) == typed || name(s) == typed))
        .or_else(|| {
            let mut begins =
                SETTINGS.iter().filter(fits).filter(|s| typed.len() >= 3 && name(s).starts_with(&typed));
            begins.next().filter(|_| begins.next().is_none())
        })
}

/// Returns whether what was typed for a setting is meant as a number; `nan` and `inf` are, so that they are refused.
pub fn is_numeric(typed: &str) -> bool {
    let typed = typed.trim();
    typed.starts_with(|c: char| c.is_ascii_digit() || "+-\u{2212}.½¼¾".contains(c))
        || typed.parse::<f64>().is_ok()
}

/// Returns whether two values are one: 30 and 30.0 are.
pub fn same_value(a: &Value, b: &Value) -> bool {
    match (a, b) {
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| same_value(a, b))
        }
        (Value::Number(x), Value::Number(y)) => x == y || x.as_f64() == y.as_f64(),
        _ => a == b,
    }
}

/// Returns the unit of a setting, by its record or by the end of its name; nothing for a name, a part or an arrow set.
pub fn unit_of_setting(field: &str) -> &'static str {
    setting(field).map_or_else(|| unit_of(field), |s| s.unit)
}

/// Reads a number for a setting, with or without its unit; what it comes to is for [`check_setting`] to judge.
pub fn read_setting(field: &str, typed: &str) -> Result<f64, ModelError> {
    quantity(typed, unit_of_setting(field))
        .map_err(|e| ModelError::new(e.code, format!("{field}: {}", e.message)).at(field))
}

/// Checks the value of a setting before it is kept.
///
/// # Errors
/// `out_of_range` for a number that no bow has, `bad_quantity` for words where a number belongs.
pub fn check_setting(field: &str, value: &Value) -> Result<(), ModelError> {
    let unit = unit_of_setting(field);
    if unit.is_empty() {
        return match value {
            Value::String(text) if !is_no_number(text) => Ok(()),
            other => {
                let message = format!("{field}: `{}` names no part; write what it is called", shown(other));
                Err(ModelError::new("bad_name", message).at(field))
            }
        };
    }
    let Some(number) = value.as_f64() else {
        let message = format!("{field}: `{}` is no number of {unit}", shown(value));
        return Err(ModelError::new("bad_quantity", message).at(field));
    };
    let [least, most] = setting(field).and_then(|s| s.range).unwrap_or_else(|| own_range(unit));
    within(field, unit, number, [least, most])
}

/// Checks that a number lies within a range.
pub(super) fn within(
    field: &str,
    unit: &str,
    number: f64,
    [least, most]: [f64; 2],
) -> Result<(), ModelError> {
    if (least..=most).contains(&number) {
        return Ok(());
    }
    let range = format!("{least} and {most} {unit}");
    let asked =
        unit_meant(number, unit, [least, most]).map_or_else(String::new, |asked| format!(": {asked}"));
    let message = format!(
        "{field}: {number} is not between {}; check the number and its unit{asked}",
        range.trim_end()
    );
    Err(ModelError::new("out_of_range", message).at(field))
}

/// What a setting of someone's own can be: no more than keeps out slips of the unit.
fn own_range(unit: &str) -> [f64; 2] {
    let most = match unit {
        "mm" => 3000.0,
        "in" => 120.0,
        "m" => 400.0,
        "lbf" => 100.0,
        "gr" => 31_000.0, // 2 kg
        "turns" => 200.0,
        _ => 360.0,
    };
    [if matches!(unit, "lbf" | "gr") { 0.0 } else { -most }, most]
}

/// `nan` and `inf`: a number to a program, to nobody the name of a part.
fn is_no_number(text: &str) -> bool {
    text.trim().parse::<f64>().is_ok_and(|n| !n.is_finite())
}

fn shown(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use serde_json::json;

    #[test]
    fn a_name_that_stands_for_two_settings_is_told_apart_by_its_value() {
        assert_eq!(setting_meant("plunger", true).unwrap().field, "plunger_turns");
        assert_eq!(setting_meant("plunger", false).unwrap().field, "plunger");
        assert_eq!(setting_meant("brace height", true).unwrap().field, "brace_height_mm");
        assert!(setting_meant("plunjer", true).is_none());
    }

    #[test]
    fn every_measured_setting_has_a_range_and_no_part_has_one() {
        for s in SETTINGS {
            assert_eq!(s.range.is_some(), !s.unit.is_empty(), "{}", s.field);
            assert!(s.range.is_none_or(|[least, most]| least < most), "{}", s.field);
        }
    }

    #[test]
    fn what_no_bow_has_is_refused_with_its_range() {
        for (field, value) in [
            ("brace_height_mm", json!(100_000)),
            ("draw_weight_lbf", json!(9999)),
            ("draw_weight_lbf", json!(0)),
            ("tiller_mm", json!(30.1)),
            ("plunger_turns", json!("nan")),
            ("plunger", json!("inf")),
            ("rest", json!("-Infinity")),
            ("button_mm", json!(1e9)),
            ("damper_gr", json!(-1)),
        ] {
            assert!(check_setting(field, &value).is_err(), "{field} {value}");
        }
        let told = check_setting("brace_height_mm", &json!(8.5)).unwrap_err().message;
        assert!(told.contains("between 100 and 350 mm") && told.contains("unit"), "{told}");
        for (field, value) in [
            ("brace_height_mm", json!(100)),
            ("draw_weight_lbf", json!(100)),
            ("tiller_mm", json!(-30)),
            ("plunger", json!("the old one")),
            ("button_mm", json!(2.5)),
        ] {
            assert_eq!(check_setting(field, &value), Ok(()), "{field} {value}");
        }
    }

    #[test]
    fn what_a_program_takes_for_a_number_is_read_as_one() {
        for typed in ["nan", "inf", "-inf", "+1/4", "\u{2212}2", "½", " 3"] {
            assert!(is_numeric(typed), "{typed}");
        }
        assert!(!is_numeric("new spring") && !is_numeric(""));
        assert!(read_setting("plunger_turns", "nan").is_err());
        assert_eq!(read_setting("brace_height_mm", "8 1/2in"), Ok(215.9));
    }
}
