//! Parts that go on a bow and come off again.

use super::{Hook, Kind};
use crate::ModelError;
use serde::{Deserialize, Serialize};

/// What a part can be, in the trade's words.
pub const WHAT: &[&str] = &[
    "riser",
    "limbs",
    "string",
    "rest",
    "plunger",
    "grip",
    "sight",
    "stabiliser",
    "clicker",
    "tab",
    "other",
];

/// What limbs can be.
pub const LIMB_KIND: &[&str] = &["recurve", "longbow"];

/// A part. Where its maker gives a limit and the archer knows it, the limit stands with it: it comes before every figure.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Part {
    /// What the team calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// One of [`WHAT`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub what: Option<String>,
    /// Length in inches: of a riser, or of the bow that a string is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_in: Option<f64>,
    /// Limb length class: short, medium or long.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb_length: Option<String>,
    /// One of [`LIMB_KIND`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb_kind: Option<String>,
    /// Weight marked on limbs, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_weight_lbf: Option<f64>,
    /// Draw length at which that weight was marked, inches; 28 where nothing else is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_draw_in: Option<f64>,
    /// Length of the riser on which that weight was marked, inches; 25 where nothing else is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_riser_in: Option<f64>,
    /// Strands of a string.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strands: Option<u32>,
    /// Twists of a string as it was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub twists: Option<f64>,
    /// What it is made of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Its mass in g.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<f64>,
    /// What the limb pockets of a riser let one adjust, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pocket: Option<String>,
    /// The hook that a tab is made for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hook: Option<Hook>,
    /// Fewest turns that the maker lets a limb bolt be out from fully in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_bolt_turns: Option<f64>,
    /// Most turns that the maker lets a limb bolt be out from fully in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_bolt_turns: Option<f64>,
    /// Least draw weight that its maker allows or makes it for, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_weight_lbf: Option<f64>,
    /// Most draw weight that its maker allows, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_weight_lbf: Option<f64>,
    /// Longest draw that the maker of limbs allows, inches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_draw_in: Option<f64>,
    /// Least brace height that its maker allows, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_brace_mm: Option<f64>,
    /// Most brace height that its maker allows, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_brace_mm: Option<f64>,
    /// Least mass of an arrow that its maker allows, grains.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_arrow_gr: Option<f64>,
    /// Least grains of arrow on each pound of draw weight that its maker allows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_grains_per_pound: Option<f64>,
    /// After so many arrows the archer wants to be reminded to look it over or replace it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remind_at_arrows: Option<u32>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether it is out of use.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Kind for Part {
    const NAME: &'static str = "part";
}

/// Which fields belong to which sorts of part, in the words of [`WHAT`]; a field that is not named here belongs to all.
#[rustfmt::skip]
pub const FIELD_OF: &[(&str, &[&str])] = &[
    ("length_in", &["riser", "string", "stabiliser"]),
    ("limb_length", &["limbs"]),
    ("limb_kind", &["limbs"]),
    ("marked_weight_lbf", &["limbs"]),
    ("marked_draw_in", &["limbs"]),
    ("marked_riser_in", &["limbs"]),
    ("strands", &["string"]),
    ("twists", &["string"]),
    ("material", &["riser", "limbs", "string", "rest", "grip", "sight", "stabiliser", "tab", "other"]),
    ("pocket", &["riser"]),
    ("hook", &["tab"]),
    ("least_bolt_turns", &["riser", "limbs"]),
    ("most_bolt_turns", &["riser", "limbs"]),
    ("least_weight_lbf", &["riser", "limbs", "string"]),
    ("most_weight_lbf", &["riser", "limbs", "string"]),
    ("most_draw_in", &["limbs"]),
    ("least_brace_mm", &["riser", "limbs"]),
    ("most_brace_mm", &["riser", "limbs"]),
    ("least_arrow_gr", &["riser", "limbs"]),
    ("least_grains_per_pound", &["riser", "limbs"]),
];

/// Returns the sorts of part that a field belongs to; nothing where it belongs to all.
pub fn sorts_of(field: &str) -> Option<&'static [&'static str]> {
    FIELD_OF.iter().find(|(of, _)| *of == field).map(|(_, sorts)| *sorts)
}

/// Returns whether a field is a limit that the maker sets.
pub fn is_makers_limit(field: &str) -> bool {
    field.starts_with("least_") || field.starts_with("most_")
}

/// A limit that has two ends: what it is called, its unit, the two fields and their values.
type TwoEnds = (&'static str, &'static str, [&'static str; 2], [Option<f64>; 2]);

impl Part {
    /// Checks that no maker's range is upside down.
    ///
    /// # Errors
    /// `upside_down` at the field of the lower end.
    pub fn check(&self) -> Result<(), ModelError> {
        for (name, unit, [least, most], ends) in self.ranges() {
            let [Some(low), Some(high)] = ends else { continue };
            if low > high {
                let message = format!(
                    "{least}: the least {name}, {low} {unit}, is above the most, {high} {unit}; look at the maker's \
                     figures, and put {least} and {most} right"
                );
                return Err(ModelError::new("upside_down", message).at(least));
            }
        }
        Ok(())
    }

    /// Returns its maker's limits that have two ends.
    fn ranges(&self) -> [TwoEnds; 3] {
        [
            (
                "turns of a limb bolt",
                "turns",
                ["least_bolt_turns", "most_bolt_turns"],
                [self.least_bolt_turns, self.most_bolt_turns],
            ),
            (
                "draw weight",
                "lbf",
                ["least_weight_lbf", "most_weight_lbf"],
                [self.least_weight_lbf, self.most_weight_lbf],
            ),
            (
                "brace height",
                "mm",
                ["least_brace_mm", "most_brace_mm"],
                [self.least_brace_mm, self.most_brace_mm],
            ),
        ]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::fields_of;

    #[test]
    fn every_row_names_a_field_and_sorts_that_there_are() {
        for (field, sorts) in FIELD_OF {
            assert!(fields_of("part").any(|known| known == *field), "{field}");
            assert!(!sorts.is_empty() && sorts.iter().all(|sort| WHAT.contains(sort)), "{field}");
        }
        assert_eq!(sorts_of("strands"), Some(&["string"][..]));
        assert_eq!(sorts_of("note"), None);
    }

    #[test]
    fn a_range_that_is_upside_down_is_refused_at_its_lower_end() {
        let of = |least, most| Part { least_bolt_turns: least, most_bolt_turns: most, ..Part::default() };
        for (least, most) in [(Some(0.0), Some(6.0)), (Some(2.0), Some(2.0)), (Some(9.0), None), (None, None)]
        {
            assert_eq!(of(least, most).check(), Ok(()));
        }
        let e = of(Some(6.0), Some(2.0)).check().expect_err("upside down");
        assert_eq!((e.code, e.field.as_deref()), ("upside_down", Some("least_bolt_turns")));
        assert!(e.message.contains("6 turns, is above the most, 2 turns"), "{}", e.message);
        let brace = Part { least_brace_mm: Some(230.0), most_brace_mm: Some(210.0), ..Part::default() };
        assert!(brace.check().is_err());
    }
}
