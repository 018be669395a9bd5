//! Fits: which limbs, what bow, what string follow from the archer and the riser.
//!
//! # Formula
//! Limb length: short for a draw below 26 in, medium from 26.5 to 29.5 in, long above 29.5 in.
//! Bow length: riser + 41 in (short), 43 in (medium), 45 in (long). String: bow length − 3 in.
//! # Units
//! Inches; draw length by the AMO measure (nocking point to grip pivot + 1 3/4 in).
//! # Source
//! Limb and bow lengths: common practice, no source. String: AMO Standards, Field Publication FP-3 (2000):
//! a bow is 3 in longer than the string master that braces it properly.
//! # Limits
//! Where to start from: the makers of riser and limbs say what goes together, and makers differ. Between
//! 26 and 26.5 in the rule says nothing.

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
