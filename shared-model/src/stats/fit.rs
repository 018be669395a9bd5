//! Fits: which limbs, what bow, what string follow from the archer and the riser.
//!
//! # Formula
//! Limb length: short for a draw below 26 in, medium from 26.5 to 29.5 in, long above 29.5 in.
//! Bow length: riser + 41 in (short), 43 in (medium), 45 in (long). String: bow length − 3 in.
//! Draw length: nocking point to the pivot point of the grip + 1 3/4 in.
//! # Units
//! Inches; draw length by the AMO measure (nocking point to grip pivot + 1 3/4 in).
//! # Source
//! Limb and bow lengths: common practice, no source. String and draw length: AMO Standards, Field Publication FP-3
//! (2000): a bow is 3 in longer than the string master that braces it properly; 26 1/4 in to the pivot point are a draw
//! of 28 in.
//! # Limits
//! Where to start from: the makers of riser and limbs say what goes together, and makers differ. Between
//! 26 and 26.5 in the rule says nothing. A draw length is measured to about a quarter of an inch (common practice, no
//! source), so within that of an edge both lengths are worth a try.

use crate::ModelError;
use serde::{Deserialize, Serialize};

/// How long a pair of limbs is, as the trade marks it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum LimbLength {
    /// For draws below 26 in.
    Short,
    /// For draws of 26.5 to 29.5 in.
    Medium,
    /// For draws above 29.5 in.
    Long,
    /// A draw from 26 in to below 26.5 in, for which the rule names neither short nor medium.
    Between,
}

impl LimbLength {
    /// Every length, with its word.
    pub const WORDS: [(&'static str, Self); 4] =
        [("short", Self::Short), ("medium", Self::Medium), ("long", Self::Long), ("between", Self::Between)];

    /// Returns its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// The standard that says what a draw length and a string length are.
pub const STANDARD: &str = "AMO Standards, Field Publication FP-3 (2000)";
/// How much longer the draw length is than the draw to the pivot point of the grip, in.
pub const BEYOND_PIVOT_IN: f64 = 1.75;
/// Within this of an edge of the rule, in, both lengths are worth a try.
pub const NEAR_EDGE_IN: f64 = 0.25;
/// The edges of the rule, in: short ends, medium begins, long begins.
const EDGES_IN: [f64; 3] = [26.0, 26.5, 29.5];

/// Returns the draw length by the AMO measure from the draw to the pivot point of the grip, in inches.
///
/// # Errors
/// `out_of_range` for a draw that no archer has: outside 8.25 to 38.25 in.
pub fn draw_length_in(pivot_draw_in: f64) -> Result<f64, ModelError> {
    within("pivot_draw_in", pivot_draw_in, 10.0 - BEYOND_PIVOT_IN, 40.0 - BEYOND_PIVOT_IN)?;
    Ok(pivot_draw_in + BEYOND_PIVOT_IN)
}

/// How limbs of a length go with a draw length.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Suits {
    /// The rule gives this length.
    Suits,
    /// The rule gives another, or none, and its edge is near: both are worth a try.
    NearEdge,
    /// Draw or limb length are not known.
    Unknown,
    /// The rule gives another.
    Other,
}

/// Returns how limbs of a length go with a draw length in inches.
///
/// # Errors
/// As [`limb_length`].
pub fn suits(draw_length_in: f64, limbs: LimbLength) -> Result<Suits, ModelError> {
    let rule = limb_length(draw_length_in)?;
    let [short_to, medium_from, long_from] = EDGES_IN;
    // What lies between short and medium may be either's.
    let [from, to] = match limbs {
        LimbLength::Short => [f64::NEG_INFINITY, medium_from],
        LimbLength::Medium => [short_to, long_from],
        LimbLength::Long => [long_from, f64::INFINITY],
        LimbLength::Between => return Ok(Suits::Unknown),
    };
    let near = draw_length_in >= from - NEAR_EDGE_IN && draw_length_in <= to + NEAR_EDGE_IN;
    Ok(match rule == limbs {
        true => Suits::Suits,
        false if near => Suits::NearEdge,
        false => Suits::Other,
    })
}

/// Returns the edge of the rule that is nearest to a draw length, in inches.
pub fn nearest_edge_in(draw_length_in: f64) -> f64 {
    let off = |edge: &&f64| (*edge - draw_length_in).abs();
    *EDGES_IN.iter().min_by(|a, b| off(a).total_cmp(&off(b))).expect("the rule has edges")
}

/// Returns the limb length for a draw length in inches.
///
/// # Errors
/// `out_of_range` for a draw that no archer has: outside 10 to 40 in.
pub fn limb_length(draw_length_in: f64) -> Result<LimbLength, ModelError> {
    within("draw_length_in", draw_length_in, 10.0, 40.0)?;
    Ok(match draw_length_in {
        d if d < 26.0 => LimbLength::Short,
        d if d < 26.5 => LimbLength::Between,
        d if d <= 29.5 => LimbLength::Medium,
        _ => LimbLength::Long,
    })
}

/// Returns the bow length in inches of a riser with a pair of limbs, or nothing between two lengths.
///
/// # Errors
/// `out_of_range` for a riser outside 9 to 31 in.
pub fn bow_length_in(riser_in: f64, limbs: LimbLength) -> Result<Option<f64>, ModelError> {
    within("riser_in", riser_in, 9.0, 31.0)?;
    Ok(match limbs {
        LimbLength::Short => Some(riser_in + 41.0),
        LimbLength::Medium => Some(riser_in + 43.0),
        LimbLength::Long => Some(riser_in + 45.0),
        LimbLength::Between => None,
    })
}

/// Returns the length in inches of the string that braces a bow of that length properly.
pub fn string_length_in(bow_length_in: f64) -> f64 {
    bow_length_in - 3.0
}

fn within(field: &'static str, inches: f64, low: f64, high: f64) -> Result<(), ModelError> {
    if (low..=high).contains(&inches) {
        return Ok(());
    }
    let message =
        format!("'{field}' is {inches} in; it has to be from {low} to {high} in. Is it in another unit?");
    Err(ModelError::new("out_of_range", message).at(field))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_limits_of_the_rule_fall_where_the_trade_puts_them() {
        let words = [25.99, 26.0, 26.49, 26.5, 29.5, 29.51].map(|d| limb_length(d).expect("a draw length"));
        use LimbLength::{Between, Long, Medium, Short};
        assert_eq!(words, [Short, Between, Between, Medium, Medium, Long]);
    }

    #[test]
    fn near_an_edge_both_lengths_are_worth_a_try() {
        use LimbLength::{Long, Medium, Short};
        use Suits::{NearEdge, Other, Suits as Yes};
        for (draw, expect) in [
            (24.0, [Yes, Other, Other]),
            (25.8, [Yes, NearEdge, Other]),
            (26.2, [NearEdge, NearEdge, Other]),
            (26.7, [NearEdge, Yes, Other]),
            (28.0, [Other, Yes, Other]),
            (29.3, [Other, Yes, NearEdge]),
            (29.7, [Other, NearEdge, Yes]),
            (31.0, [Other, Other, Yes]),
        ] {
            assert_eq!([Short, Medium, Long].map(|limbs| suits(draw, limbs)), expect.map(Ok), "{draw}");
        }
        assert_eq!([24.0, 26.2, 26.4, 28.5].map(nearest_edge_in), [26.0, 26.0, 26.5, 29.5]);
    }

    #[test]
    fn the_draw_length_is_that_of_the_standard() {
        // AMO FP-3 (2000): 26 1/4 in to the pivot point are 28 in of draw.
        assert_eq!(draw_length_in(26.25), Ok(28.0));
        let e = draw_length_in(-26.25).expect_err("no draw is less than nothing");
        assert_eq!((e.code, e.field.as_deref()), ("out_of_range", Some("pivot_draw_in")));
    }

    #[test]
    fn both_series_of_the_trade_come_out() {
        // tests/reference/trade_facts.json: 15/17/19 in with short, medium, long; 25 in likewise.
        for (riser, bows) in [
            (15.0, [56.0, 58.0, 60.0]),
            (17.0, [58.0, 60.0, 62.0]),
            (19.0, [60.0, 62.0, 64.0]),
            (25.0, [66.0, 68.0, 70.0]),
        ] {
            let limbs = [LimbLength::Short, LimbLength::Medium, LimbLength::Long];
            assert_eq!(limbs.map(|l| bow_length_in(riser, l)), bows.map(|b| Ok(Some(b))));
        }
        assert_eq!(bow_length_in(25.0, LimbLength::Between), Ok(None));
    }

    #[test]
    fn the_string_master_of_the_standard_is_three_inches_shorter() {
        // AMO FP-3 (2000): a 66 in bow has a 63 in string master.
        assert_eq!(string_length_in(66.0), 63.0);
    }

    #[test]
    fn lengths_in_another_unit_are_refused() {
        for draw in [0.0, -28.0, 71.0, f64::NAN, f64::INFINITY] {
            assert_eq!(limb_length(draw).expect_err("no draw").code, "out_of_range");
        }
        assert_eq!(
            bow_length_in(63.5, LimbLength::Short).expect_err("cm").field.as_deref(),
            Some("riser_in")
        );
    }
}
