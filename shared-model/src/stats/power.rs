//! Power: how many arrows find a shift or a change of spread, and which change so many arrows find.
//!
//! # Formula
//! Shift: Hotelling's two-sample test, F on 2 and m + n − 3 with noncentrality δ² m n / (m + n), δ the shift
//! in SDs (Mahalanobis). Spread: two-sided F of the radial variances on 2 (n − 1) each; with an SD ratio r
//! the statistic is r² times a central F. What is missing is found by bisection, arrows by the least whole
//! number that reaches the power.
//! # Units
//! Shift in SDs of one axis; spread as SD after over SD before.
//! # Source
//! Johnson and Wichern, Applied Multivariate Statistical Analysis, 6th ed. (2007), section 6.3; noncentral F:
//! Abramowitz and Stegun 26.6.18.
//! # Limits
//! Arrows independent and normal; ends and sessions are not known here, so a season needs more.

use super::special::{
    fewest::fewest,
    tails::{f_quantile, f_upper, f_upper_noncentral},
};
use crate::ModelError;

/// The most arrows on a side that are searched.
const MOST_ARROWS: usize = 10_000_000;

/// What is to be found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Test {
    /// A shift, by Hotelling's test.
    Shift,
    /// A change of spread, by the F test of radial variances.
    Spread,
}

impl Test {
    /// Returns the chance that `arrows` before and after find a change of that size at the level `alpha`.
    pub fn power(self, arrows: [usize; 2], size: f64, alpha: f64) -> Option<f64> {
        let [m, n] = arrows.map(|n| n as f64);
        match self {
            Self::Shift => {
                let df = m + n - 3.0;
                let bar = f_quantile(1.0 - alpha, 2.0, df)?;
                f_upper_noncentral(bar, 2.0, df, size * size * m * n / (m + n))
            }
            Self::Spread => {
                let (before, after) = (2.0 * (m - 1.0), 2.0 * (n - 1.0));
                let [high, low] = [1.0 - 0.5 * alpha, 0.5 * alpha].map(|p| f_quantile(p, after, before));
                let ratio = size * size;
                Some(f_upper(high? / ratio, after, before)? + 1.0 - f_upper(low? / ratio, after, before)?)
            }
        }
    }

    /// Returns the size of change that is found with a given power: a shift in SDs, or an SD ratio above 1.
    ///
    /// # Errors
    /// `not_computable` where no size is.
    pub fn size(self, arrows: [usize; 2], power: f64, alpha: f64) -> Result<f64, ModelError> {
        let none = || {
            let message = format!(
                "no size of change is found with a power of {power} at a level of {alpha} by so few arrows"
            );
            ModelError::new("not_computable", message).at("power")
        };
        let start = self.none();
        let (mut low, mut high) = (start, start + 1.0);
        while self.power(arrows, high, alpha).ok_or_else(none)? < power {
            low = high;
            high = start + 2.0 * (high - start);
            if high > 1e9 {
                return Err(none());
            }
        }
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if high - low <= 1e-14 * high {
                break;
            }
            let short = self.power(arrows, middle, alpha).ok_or_else(none)? < power;
            if short { low = middle } else { high = middle }
        }
        Ok(0.5 * (low + high))
    }

    /// Returns the fewest arrows on each side that find a change of that size with a given power.
    ///
    /// # Errors
    /// `not_computable` when more than ten million on each side would be needed.
    pub fn arrows(self, size: f64, power: f64, alpha: f64) -> Result<usize, ModelError> {
        let reached = |n: usize| self.power([n, n], size, alpha).is_some_and(|p| p >= power);
        fewest(1, MOST_ARROWS, reached).ok_or_else(|| {
            let message = "more than ten million arrows on each side would be needed; ask for a larger change or less power";
            ModelError::new("not_computable", message).at(self.field())
        })
    }

    /// Returns the size that is no change.
    pub fn none(self) -> f64 {
        match self {
            Self::Shift => 0.0,
            Self::Spread => 1.0,
        }
    }

    /// Returns what the size is called behind the door.
    pub fn field(self) -> &'static str {
        match self {
            Self::Shift => "shift_sd",
            Self::Spread => "sd_ratio",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_change_is_found_as_often_as_the_level_says() {
        for test in [Test::Shift, Test::Spread] {
            let power = test.power([12, 20], test.none(), 0.05).expect("a power");
            assert!((power - 0.05).abs() < 1e-10, "{power}");
        }
    }

    #[test]
    fn size_and_arrows_turn_power_round() {
        for (test, size) in [(Test::Shift, 0.8), (Test::Spread, 1.3)] {
            let n = test.arrows(size, 0.8, 0.05).expect("enough");
            assert!(test.power([n, n], size, 0.05).expect("power") >= 0.8);
            assert!(test.power([n - 1, n - 1], size, 0.05).expect("power") < 0.8);
            let found = test.size([n, n], 0.8, 0.05).expect("a size");
            assert!((test.power([n, n], found, 0.05).expect("power") - 0.8).abs() < 1e-9);
        }
        assert_eq!(Test::Shift.arrows(1e-6, 0.9, 0.01).expect_err("too many").code, "not_computable");
    }
}
