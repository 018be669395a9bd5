//! What of a bow lies beyond a limit: the makers' where they are known, common practice where they are not.
//!
//! # Formula
//! Beyond when value > most + 1e-9 or value < least − 1e-9. Grains per pound = arrow in gr / weight in lbf. A draw weight
//! is a step above what an archer has shot from more than 2 lbf on, and far above it when it then is more than 4 lbf or more
//! than a tenth above it. The floor of grains counts unless the maker of the riser or of the limbs gives a least. A string is for
//! another bow when the length of the bow that it is for is more than 0.5 in off the one at hand, and stops from more than
//! 1 in on. An arrow is too short when it is shorter than the draw length less 1.75 in. A pair is not true when it was noted
//! as tight or loose.
//! # Units
//! Turns, lbf, inches, mm and grains, as the names say.
//! # Source
//! The makers' limits are as the archer noted them. The floor of 5 grains a pound, the steps of draw weight, the 3 mm of
//! alignment, the lengths of strings and how pairs sit: common practice, no source. Draw length: AMO Standards, Field
//! Publication FP-3 (2000).
//! # Limits
//! Only what was noted is judged; a bow of which nothing is found here is not thereby safe. The maker, the club's rules
//! and a qualified coach come first.

mod judge;
mod together;

use super::{
    caution,
    pair::{LOOSE, TIGHT},
};
use crate::verdict::decimal;
use serde::{Deserialize, Serialize};

/// Whose word a limit is where no maker's is known.
pub const PRACTICE: &str = "common practice, no source";
/// Fewest grains of arrow on each pound of draw weight where the makers' least is not known.
pub const FLOOR_GRAINS_PER_POUND: f64 = 5.0;
/// From how much above what the archer has shot a draw weight is a step, lbf.
pub const STEP_LBF: f64 = 2.0;
/// From how much above it is far, lbf.
pub const FAR_LBF: f64 = 4.0;
/// From what share above it is far.
pub const FAR_SHARE: f64 = 0.1;
/// Lengths of bows that differ by no more than this are the same to a string, in.
pub const STRING_SAME_IN: f64 = 0.5;
/// From how far off on a string is not to be strung, in.
pub const STRING_STOP_IN: f64 = 1.0;
/// How far the string may run beside the middle of a limb, mm, before the limb is to be looked at.
pub const ASIDE_MM: f64 = 3.0;

/// What is no more than the rounding of a computer.
pub(crate) const SAME: f64 = 1e-9;
/// The parts that bear the load: where the maker of one says how light an arrow may be, the common floor is not asked.
pub(crate) const BEARING: [&str; 2] = ["riser", "limbs"];

/// Returns the limit where a value lies above it.
pub(crate) fn above(value: f64, most: Option<f64>) -> Option<f64> {
    most.filter(|most| value > most + SAME)
}

/// Returns the limit where a value lies below it.
pub(crate) fn below(value: f64, least: Option<f64>) -> Option<f64> {
    least.filter(|least| value < least - SAME)
}

/// Returns with how many decimals, so many at least, a value beyond a limit does not read as the limit.
pub(crate) fn decimals_apart(value: f64, limit: f64, least: usize) -> usize {
    (least..9).find(|n| decimal(value, *n) != decimal(limit, *n)).unwrap_or(9)
}

/// Returns whether the common floor of grains a pound counts, by the parts whose makers say how light an arrow may be: a
/// least that is noted of any other part counts beside it.
pub(crate) fn floor_counts<'a>(noted_of: impl IntoIterator<Item = &'a str>) -> bool {
    !noted_of.into_iter().any(|part| BEARING.contains(&part))
}

/// What is known of a bow, its archer and the arrows; nothing has to be.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    /// Turns of the top limb bolt out from fully in.
    pub limb_bolt_top_turns: Option<f64>,
    /// Turns of the bottom limb bolt out from fully in.
    pub limb_bolt_bottom_turns: Option<f64>,
    /// String right of the middle of the upper limb, mm.
    pub limb_lateral_top_mm: Option<f64>,
    /// String right of the middle of the lower limb, mm.
    pub limb_lateral_bottom_mm: Option<f64>,
    /// Brace height, mm.
    pub brace_height_mm: Option<f64>,
    /// Weight on the fingers from least to most, lbf; both alike where it was measured.
    pub weight_lbf: Option<[f64; 2]>,
    /// The archer's draw length by the AMO measure, inches.
    pub draw_length_in: Option<f64>,
    /// Who shoots the bow.
    pub archer: Option<String>,
    /// Whose draw length that is, where it is not the archer's.
    pub drawer: Option<String>,
    /// The most weight that the archer has shot, lbf.
    pub shot_weight_lbf: Option<f64>,
    /// How the limbs sit on the riser, as the pair was noted: tight, true or loose.
    pub fit: Option<String>,
    /// The length of the bow that riser and limbs make, inches.
    pub bow_length_in: Option<f64>,
    /// The length of the bow that the string is for, inches.
    pub string_for_in: Option<f64>,
    /// Mass of an arrow, grains.
    pub arrow_gr: Option<f64>,
    /// Length of the shortest arrow in use, inches.
    pub arrow_length_in: Option<f64>,
    /// Arrows that were shot though they are noted out of use, with the remark that says why.
    pub out_shot: Vec<(u32, Option<String>)>,
    /// Whether carbon is in its shaft.
    pub carbon: bool,
    /// How many arrows of the set missed when it was shot last.
    pub missed: u64,
    /// The makers' limits, a part each.
    pub parts: Vec<PartLimits>,
}

/// What the maker of a part allows, as far as it is known.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PartLimits {
    /// What the part is: riser, limbs, string and so on.
    pub part: String,
    /// Fewest turns that a limb bolt may be out.
    pub least_bolt_turns: Option<f64>,
    /// Most turns that a limb bolt may be out.
    pub most_bolt_turns: Option<f64>,
    /// Least draw weight that it is made for, lbf.
    pub least_weight_lbf: Option<f64>,
    /// Most draw weight, lbf.
    pub most_weight_lbf: Option<f64>,
    /// Longest draw, inches.
    pub most_draw_in: Option<f64>,
    /// Least brace height, mm.
    pub least_brace_mm: Option<f64>,
    /// Most brace height, mm.
    pub most_brace_mm: Option<f64>,
    /// Least mass of an arrow, grains.
    pub least_arrow_gr: Option<f64>,
    /// Fewest grains of arrow on each pound.
    pub least_grains_per_pound: Option<f64>,
}

/// What is to be done about something that was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Do not shoot before it is put right or cleared up.
    Stop,
    /// Look at it.
    Look,
}

/// Something beyond a limit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Finding {
    /// What was found: `bolt_out`, `bolt_in`, `weight_above`, `weight_below`, `draw_above`, `brace_above`, `brace_below`,
    /// `arrow_light`, `grains_few`, `weight_far`, `weight_step`, `string_aside`, `carbon_missed`, `pair_tight`, `pair_loose`,
    /// `string_other`, `arrow_short`, `shaft_out`.
    pub code: &'static str,
    /// The setting that it stands beside.
    pub setting: &'static str,
    /// The figure.
    pub figure: f64,
    /// The limit.
    pub limit: f64,
    /// By how much the figure is beyond it.
    pub beyond: f64,
    /// The unit of all three.
    pub unit: &'static str,
    /// Whose limit it is.
    pub whose: String,
    /// What is to be done.
    pub severity: Severity,
    /// All that in a sentence.
    pub words: String,
    /// What to take care of.
    pub caution: &'static str,
}

impl Finding {
    /// Returns it as it is said aloud: that one has to stop comes first.
    pub fn said(&self) -> String {
        match self.severity {
            Severity::Stop => format!("Stop. {}", self.words),
            Severity::Look => self.words.clone(),
        }
    }

    /// Returns whether it is of parts that do not go together, whoever draws the bow.
    pub fn of_parts(&self) -> bool {
        ["pair_tight", "pair_loose", "string_other"].contains(&self.code)
    }

    /// Returns whether altering a setting can have brought it about.
    pub fn touched_by(&self, setting: &str) -> bool {
        let more: &[&str] = match self.code {
            "bolt_out" | "bolt_in" => &["riser", "limbs"],
            "weight_above" | "weight_below" => &[
                "riser",
                "limbs",
                "string",
                "rest",
                "plunger",
                "limb_bolt_top_turns",
                "limb_bolt_bottom_turns",
            ],
            "draw_above" => &["limbs", "riser"],
            "brace_above" | "brace_below" => &["riser", "limbs", "string", "string_twists"],
            "arrow_light" | "grains_few" => &["riser", "limbs", "draw_weight_lbf"],
            "pair_tight" | "pair_loose" | "string_other" => &["riser", "limbs"],
            "weight_far" | "weight_step" => &["limbs"],
            "string_aside" => &["limbs"],
            _ => &[],
        };
        self.setting == setting || more.contains(&setting)
    }
}

/// Returns what lies beyond a limit, what stops first, else in the order in which a bow is put together.
pub fn beyond(facts: &Facts) -> Vec<Finding> {
    let mut found = judge::all(facts);
    found.sort_by_key(|finding| (finding.severity, super::rebuild::place(finding.setting)));
    found
}

/// Returns the caution that belongs to a finding.
fn caution_of(code: &str) -> &'static str {
    match code {
        "bolt_out" | "bolt_in" => caution::LIMB_BOLTS,
        "brace_above" | "brace_below" => caution::BRACE,
        "arrow_light" | "grains_few" => caution::LIGHT_ARROWS,
        "carbon_missed" => caution::CARBON,
        "string_aside" => caution::LIMBS,
        "pair_loose" => LOOSE,
        "pair_tight" => TIGHT,
        "string_other" => caution::BRACE,
        "shaft_out" => caution::CARBON,
        "draw_above" | "weight_below" | "arrow_short" => caution::FIRST,
        _ => caution::WEIGHT,
    }
}

#[cfg(test)]
mod tests;
