//! Rebuilding a bow: in which order the trade puts it back, how close each setting has to come, and what it disturbs.
//!
//! # Formula
//! off = measured − target; right when |off| is within the tolerance. A part is right when it is the same.
//! # Units
//! Each setting in its own unit.
//! # Source
//! Order, tolerances and what disturbs what: common practice, no source. What the makers of the parts say comes first.
//! # Limits
//! A tolerance is how close a bow can be measured and put back at the range, not what a given archer would notice; the
//! groups say that.

use crate::{kind::SETTINGS, notation::unit_of};
use serde_json::Value;
use std::collections::BTreeMap;

/// Whose word order and tolerances are.
pub const SOURCE: &str = "common practice, no source";

/// A step of the work: one setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Which setting.
    pub setting: &'static str,
    /// How far off it may be, in its unit; none for a part.
    pub tolerance: Option<f64>,
    /// How it is measured.
    pub how: &'static str,
    /// The settings further down that it moves.
    pub disturbs: &'static [&'static str],
}

const fn step(
    setting: &'static str,
    tolerance: Option<f64>,
    how: &'static str,
    disturbs: &'static [&'static str],
) -> Step {
    Step { setting, tolerance, how, disturbs }
}

const BOLTS: &[&str] = &["brace_height_mm", "tiller_mm", "draw_weight_lbf", "nocking_point_mm"];
const BRACED: &[&str] = &["tiller_mm", "draw_weight_lbf", "nocking_point_mm"];

/// The steps, in the order of the work.
#[rustfmt::skip]
pub const STEPS: &[Step] = &[
    step("riser", None, "The same riser: look it over for cracks about the limb pockets and the grip, its bolts and locks whole.", &["limbs", "limb_lateral_top_mm", "limb_lateral_bottom_mm"]),
    step("limbs", None, "The same pair, upper limb up, both seated fully home. Strung, the string runs down the middle of both limbs and of the riser, seen from behind: set the alignment before anything else.", &["brace_height_mm", "tiller_mm", "draw_weight_lbf", "nocking_point_mm", "centre_shot_mm"]),
    step("limb_lateral_top_mm", Some(0.5), "Strung, seen from behind at some steps: how far the string runs to the right of the middle of the upper limb; to the left is less than 0.", &["centre_shot_mm", "plunger_turns"]),
    step("limb_lateral_bottom_mm", Some(0.5), "The same at the lower limb; the pockets are set before anything else.", &["centre_shot_mm", "plunger_turns"]),
    step("limb_bolt_top_turns", Some(0.125), "Unstrung, count the turns from fully in, within the maker's range.", BOLTS),
    step("limb_bolt_bottom_turns", Some(0.125), "Unstrung, count the turns from fully in, within the maker's range.", BOLTS),
    step("string", None, "The same string, the same loop up, both loops seated in their grooves.", &["string_twists", "brace_height_mm", "tiller_mm", "nocking_point_mm"]),
    step("string_twists", Some(2.0), "Count the twists while the string is off one limb; the brace height says whether they are enough.", &["brace_height_mm", "tiller_mm", "nocking_point_mm"]),
    step("serving", None, "The same serving, tight, where the fingers and the nock hold it.", &["nocking_point_mm"]),
    step("brace_height_mm", Some(2.0), "Strung, with a bow square on the string: from the string to the deepest part of the grip. A new string stretches: shoot it in, then measure again.", BRACED),
    step("tiller_mm", Some(1.0), "Strung, from the string square to each limb where it leaves the riser: the upper less the lower.", &["draw_weight_lbf", "nocking_point_mm"]),
    step("draw_weight_lbf", Some(0.5), "A bow scale at the draw length that it was noted for, an arrow on the string; the middle of three readings.", &["plunger_turns"]),
    step("nocking_point_mm", Some(0.5), "A bow square on the string, its arm on the rest: from square up to the lower edge of the upper locator.", &["plunger_turns"]),
    step("rest", None, "The same rest, in the same place; its arm holds the shaft at the middle of the plunger.", &["centre_shot_mm", "plunger_turns"]),
    step("plunger", None, "The same plunger with the same spring, its tip whole.", &["centre_shot_mm", "plunger_turns"]),
    step("centre_shot_mm", Some(0.5), "An arrow on the string, the string lined up with the middle of both limbs, seen from behind: how far the point stands outside the string.", &["plunger_turns"]),
    step("plunger_turns", Some(0.125), "Turn the spring screw out to its softest, then count the turns in.", &[]),
    step("clicker_mm", Some(1.0), "From the front of the grip to the blade, along the arrow. It sets the draw length: when it moved, measure the draw weight again.", &[]),
    step("grip", None, "The same grip, seated and tight.", &[]),
    step("sight", None, "The same sight, its bar fully home and tight; shoot one distance before its marks are believed.", &[]),
    step("stabiliser", None, "The same rods and weights, screwed home.", &[]),
    step("tab", None, "The same tab or glove, its face whole.", &[]),
    step("arrows", None, "The same set; look every shaft and nock over.", &[]),
];

/// Returns the step of a setting; one that the table does not hold is measured as it was before.
fn step_of(setting: &str) -> Step {
    let known = STEPS.iter().find(|step| step.setting == setting).copied();
    known.unwrap_or_else(|| {
        let tolerance = match unit_of(setting) {
            "mm" => Some(1.0),
            "turns" => Some(0.125),
            "lbf" => Some(0.5),
            "in" => Some(0.04),
            "m" => Some(0.01),
            "gr" => Some(5.0),
            "deg" => Some(1.0),
            _ => None,
        };
        Step { setting: "", tolerance, how: "As it was measured before.", disturbs: &[] }
    })
}

/// One setting beside what it was.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// Which setting.
    pub setting: String,
    /// Its step.
    pub step: Step,
    /// How far off it may be, in its unit; none for a part.
    pub tolerance: Option<f64>,
    /// Whether that is the archer's own word, and not common practice.
    pub own_tolerance: bool,
    /// What it was; none where that was not noted.
    pub target: Option<Value>,
    /// What was measured; none where nothing was.
    pub measured: Option<Value>,
    /// By how much it is off, in its unit; of numbers alone.
    pub off: Option<f64>,
    /// Whether it is right; none where one of the two is not known.
    pub right: Option<bool>,
    /// The settings before it that are off and move this one: they come first.
    pub after: Vec<String>,
}

/// Compares what was measured with what it was, in the order of the work; `own` are the archer's tolerances, which go
/// before those of common practice; `same` says whether two parts are one.
pub fn compare(
    target: &BTreeMap<String, Value>,
    measured: &BTreeMap<String, Value>,
    own: &BTreeMap<String, f64>,
    same: &dyn Fn(&Value, &Value) -> bool,
) -> Vec<Compared> {
    let mut settings: Vec<&String> = target.keys().chain(measured.keys()).collect();
    settings.sort_by_key(|setting| (place(setting), *setting));
    settings.dedup();
    let mut rows: Vec<Compared> = Vec::new();
    for setting in settings {
        let step = step_of(setting);
        let given = own.get(setting).copied().filter(|most| *most > 0.0 && step.tolerance.is_some());
        let tolerance = given.or(step.tolerance);
        let (target, measured) = (target.get(setting).cloned(), measured.get(setting).cloned());
        let (off, right) = judged(target.as_ref().zip(measured.as_ref()), tolerance, same);
        let moves =
            |row: &&Compared| row.right == Some(false) && row.step.disturbs.contains(&setting.as_str());
        let after = rows.iter().filter(moves).map(|row| row.setting.clone()).collect();
        rows.push(Compared {
            setting: setting.clone(),
            step,
            tolerance,
            own_tolerance: given.is_some(),
            target,
            measured,
            off,
            right,
            after,
        });
    }
    rows
}

/// Returns by how much a value is off, and whether it is right.
fn judged(
    values: Option<(&Value, &Value)>,
    tolerance: Option<f64>,
    same: &dyn Fn(&Value, &Value) -> bool,
) -> (Option<f64>, Option<bool>) {
    let Some((target, measured)) = values else { return (None, None) };
    match (target.as_f64(), measured.as_f64(), tolerance) {
        (Some(was), Some(is), Some(tolerance)) => {
            // To a tenth of a thousandth, as settings are kept: 2.1 - 2 is 0.1.
            let by = ((is - was) * 1e4).round() / 1e4;
            (Some(by).filter(|by| by.is_finite()), Some(by.abs() <= tolerance))
        }
        _ => (None, Some(same(target, measured))),
    }
}

/// Returns where a setting stands in the order of the work; those of someone's own come last.
pub fn place(setting: &str) -> usize {
    let known = STEPS.iter().position(|step| step.setting == setting);
    let other = || STEPS.len() + SETTINGS.iter().position(|s| s.field == setting).unwrap_or(SETTINGS.len());
    known.unwrap_or_else(other)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::kind::setting;
    use serde_json::json;

    fn of(pairs: &[(&str, Value)]) -> BTreeMap<String, Value> {
        pairs.iter().map(|(name, value)| ((*name).to_owned(), value.clone())).collect()
    }

    #[test]
    fn every_setting_has_one_step_and_disturbs_only_what_comes_later() {
        for known in SETTINGS {
            let steps = STEPS.iter().filter(|step| step.setting == known.field);
            assert_eq!(steps.count(), 1, "{}", known.field);
        }
        for step in STEPS {
            let known = setting(step.setting).unwrap();
            assert_eq!(step.tolerance.is_some(), !known.unit.is_empty(), "{}", step.setting);
            for moved in step.disturbs {
                assert!(setting(moved).is_some(), "{moved}");
                assert!(place(moved) > place(step.setting), "{} disturbs {moved}", step.setting);
            }
        }
    }

    #[test]
    fn off_is_told_against_the_tolerance_in_the_order_of_the_work() {
        let target = of(&[
            ("plunger_turns", json!(2)),
            ("brace_height_mm", json!(215)),
            ("tiller_mm", json!(4)),
            ("string", json!("red")),
            ("button_mm", json!(3)),
        ]);
        let measured = of(&[
            ("brace_height_mm", json!(212)),
            ("tiller_mm", json!(4.9)),
            ("string", json!("blue")),
            ("plunger_turns", json!(2.125)),
            ("clicker_mm", json!(30)),
        ]);
        let rows = compare(&target, &measured, &BTreeMap::new(), &|a, b| a == b);
        let told: Vec<(&str, Option<f64>, Option<bool>, usize)> =
            rows.iter().map(|r| (r.setting.as_str(), r.off, r.right, r.after.len())).collect();
        assert_eq!(
            told,
            [
                ("string", None, Some(false), 0),
                ("brace_height_mm", Some(-3.0), Some(false), 1),
                ("tiller_mm", Some(0.9), Some(true), 2),
                ("plunger_turns", Some(0.125), Some(true), 0),
                ("clicker_mm", None, None, 0),
                ("button_mm", None, None, 0),
            ]
        );
        assert_eq!(rows[2].after, ["string", "brace_height_mm"]);
    }
    #[test]
    fn the_archers_own_tolerance_goes_before_common_practice() {
        let target =
            of(&[("tiller_mm", json!(4)), ("brace_height_mm", json!(215)), ("string", json!("red"))]);
        let measured =
            of(&[("tiller_mm", json!(4.6)), ("brace_height_mm", json!(213.5)), ("string", json!("red"))]);
        let told = |own: &[(&str, f64)]| -> Vec<(Option<f64>, bool, Option<bool>)> {
            let own = own.iter().map(|(setting, most)| ((*setting).to_owned(), *most)).collect();
            let rows = compare(&target, &measured, &own, &|a, b| a == b);
            rows.iter().map(|r| (r.tolerance, r.own_tolerance, r.right)).collect()
        };
        let right = Some(true);
        assert_eq!(told(&[]), [(None, false, right), (Some(2.0), false, right), (Some(1.0), false, right)]);
        // A part has no tolerance, and none is right within nothing.
        assert_eq!(
            told(&[("tiller_mm", 0.5), ("string", 3.0), ("brace_height_mm", -1.0)]),
            [(None, false, right), (Some(2.0), false, right), (Some(0.5), true, Some(false))]
        );
    }

    #[test]
    fn the_work_goes_in_the_order_of_the_trade() {
        // Common practice, no source: what stands further up moves what stands further down.
        let order = [
            "limbs",
            "limb_lateral_top_mm",
            "limb_bolt_top_turns",
            "string",
            "brace_height_mm",
            "tiller_mm",
            "draw_weight_lbf",
            "nocking_point_mm",
            "centre_shot_mm",
            "plunger_turns",
        ];
        assert!(order.is_sorted_by_key(|setting| place(setting)));
        let tiller = STEPS.iter().find(|step| step.setting == "tiller_mm").unwrap();
        assert!(tiller.disturbs.contains(&"nocking_point_mm"));
    }
}
