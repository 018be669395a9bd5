//! The mean of two-axis differences that are known with different precision, one an end.
//!
//! # Formula
//! Difference dⱼ with variance Σ/wⱼ: mean b = Σ wⱼ dⱼ / W, W = Σ wⱼ, S = Σ wⱼ (dⱼ − b)(dⱼ − b)′ / (m − 1).
//! T² = W b′ S⁻¹ b, with ν = m − 1 F = T² (ν − 1) / (2ν) on 2 and ν − 1: Hotelling's one-sample test of √wⱼ dⱼ
//! regressed on √wⱼ. Ellipse: W (b − β)′ S⁻¹ (b − β) ≤ 2ν/(ν − 1) F(confidence). On one axis: b ± t(ν) √(s²/W).
//! With few ends S may come from elsewhere, with its own ν.
//! # Units
//! Those of the differences; weights without unit.
//! # Source
//! Hotelling, Annals of Mathematical Statistics 2 (1931) 360; Johnson and Wichern, Applied Multivariate
//! Statistical Analysis, 6th ed. (2007), sections 5.2 and 7.7.
//! # Limits
//! Three differences for the test, two for an interval on an axis; ends independent, differences normal.

use super::{
    compare::{FTest, Symmetric, form, inverse},
    special::tails::{f_quantile, f_upper, f_upper_noncentral, t_quantile, t_two_sided},
};
use serde::Serialize;

/// The most noncentrality that is told apart.
const MOST_NONCENTRALITY: f64 = 1e6;

/// A difference and its weight.
pub(super) type Weighed = ([f64; 2], f64);

/// An ellipse in which a true mean lies with the confidence asked.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ellipse {
    /// Half of its longer axis.
    pub semi_major: f64,
    /// Half of its shorter axis.
    pub semi_minor: f64,
    /// The longer axis, counter-clockwise from +x; null when the ellipse is round.
    pub angle_deg: Option<f64>,
}

impl Ellipse {
    /// Returns the same ellipse in another unit of length.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self { semi_major: self.semi_major * factor, semi_minor: self.semi_minor * factor, ..self }
    }
}

/// A weighted mean and what it is known by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct WeightedMean {
    /// How many differences.
    pub count: usize,
    pub mean: [f64; 2],
    /// Sum of the weights.
    pub weight: f64,
    /// Sums of squares and products that the noise is known by.
    scatter: Symmetric,
    /// Their degrees of freedom.
    pub df: f64,
}

/// Returns the weighted mean of one difference or more.
pub(super) fn weighted_mean(values: &[Weighed]) -> Option<WeightedMean> {
    let weight: f64 = values.iter().map(|(_, w)| w).sum();
    if values.is_empty() || weight <= 0.0 {
        return None;
    }
    let mean = [0, 1].map(|axis| values.iter().map(|(d, w)| w * d[axis]).sum::<f64>() / weight);
    let scatter = values.iter().fold([0.0; 3], |s, (d, w)| {
        let (x, y) = (d[0] - mean[0], d[1] - mean[1]);
        [s[0] + w * x * x, s[1] + w * x * y, s[2] + w * y * y]
    });
    let df = values.len() as f64 - 1.0;
    Some(WeightedMean { count: values.len(), mean, weight, scatter, df })
}

/// Returns the values without the one farthest from the mean, measured as each end's noise is.
pub(super) fn without_farthest(values: &[Weighed]) -> Vec<Weighed> {
    let Some(WeightedMean { mean, .. }) = weighted_mean(values) else { return Vec::new() };
    let far =
        |(d, w): &Weighed| w * ((d[0] - mean[0]) * (d[0] - mean[0]) + (d[1] - mean[1]) * (d[1] - mean[1]));
    let farthest = (0..values.len()).max_by(|a, b| far(&values[*a]).total_cmp(&far(&values[*b])));
    let others = values.iter().enumerate().filter(|(i, _)| Some(*i) != farthest);
    others.map(|(_, value)| *value).collect()
}

impl WeightedMean {
    /// Returns the same mean with its noise known from elsewhere.
    pub(super) fn with_noise(self, scatter: Symmetric, df: f64) -> Self {
        Self { scatter, df, ..self }
    }

    /// Returns the covariance of a difference of weight 1.
    fn covariance(&self) -> Option<Symmetric> {
        (self.df > 0.0).then(|| self.scatter.map(|s| s / self.df))
    }

    /// Tests that the true mean is nothing on both axes.
    pub(super) fn hotelling(&self) -> Option<FTest> {
        let t2 = self.weight * self.distance2()?;
        let df2 = self.df - 1.0;
        let f = t2 * df2 / (2.0 * self.df);
        Some(FTest { t2, f, df1: 2.0, df2, p: f_upper(f, 2.0, df2)? })
    }

    /// Returns the squared distance of the mean from nothing in SDs of a difference of weight 1.
    fn distance2(&self) -> Option<f64> {
        if self.df < 2.0 {
            return None;
        }
        Some(form(inverse(self.covariance()?)?, self.mean)).filter(|d| d.is_finite())
    }

    /// Returns the chance that as many differences as `count`, each of the weight that these have on average,
    /// find this mean at the level `alpha`.
    pub(super) fn power(&self, count: usize, alpha: f64) -> Option<f64> {
        let df = count as f64 - 2.0;
        let weight = self.weight / self.count as f64 * count as f64;
        // Beyond that any power asked for is reached, and the sum over Poisson weights is long.
        let noncentrality = (weight * self.distance2()?).min(MOST_NONCENTRALITY);
        f_upper_noncentral(f_quantile(1.0 - alpha, 2.0, df)?, 2.0, df, noncentrality)
    }

    /// Returns the ellipse of the true mean.
    pub(super) fn ellipse(&self, confidence: f64) -> Option<Ellipse> {
        if self.df < 2.0 {
            return None;
        }
        let f = f_quantile(confidence, 2.0, self.df - 1.0)?;
        let factor = 2.0 * self.df / (self.df - 1.0) * f / self.weight;
        let [xx, xy, yy] = self.covariance()?;
        let (middle, half) = (0.5 * (xx + yy), libm::hypot(0.5 * (xx - yy), xy));
        let angle = (half > 1e-12 * middle).then(|| (0.5 * libm::atan2(2.0 * xy, xx - yy)).to_degrees());
        let ellipse = Ellipse {
            semi_major: ((middle + half) * factor).sqrt(),
            semi_minor: ((middle - half).max(0.0) * factor).sqrt(),
            angle_deg: angle.map(|a| if a <= -90.0 { a + 180.0 } else { a }),
        };
        (ellipse.semi_major.is_finite()).then_some(ellipse)
    }

    /// Returns, axis by axis, the interval of the true mean and the p-value of none.
    pub(super) fn by_axis(&self, confidence: f64) -> Option<[([f64; 2], f64); 2]> {
        let [xx, _, yy] = self.covariance()?;
        let [x, y] = [(0, xx), (1, yy)]
            .map(|(axis, s)| t_interval(self.mean[axis], (s / self.weight).sqrt(), self.df, confidence));
        Some([x?, y?])
    }
}

/// Returns the interval of a mean known with a standard error, and the two-sided p-value of none.
pub(super) fn t_interval(mean: f64, se: f64, df: f64, confidence: f64) -> Option<([f64; 2], f64)> {
    if !(se.is_finite() && se > 0.0) {
        return None;
    }
    let half = se * t_quantile(0.5 * (1.0 + confidence), df)?;
    Some(([mean - half, mean + half], t_two_sided(mean / se, df)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_of_two_is_not_two_values_but_a_more_precise_one() {
        let values = [([1.0, 0.0], 2.0), ([4.0, 3.0], 1.0), ([1.0, 1.0], 1.0)];
        let found = weighted_mean(&values).expect("values");
        assert_eq!((found.count, found.mean), (3, [1.75, 1.0]));
        assert_eq!(found.hotelling().expect("a test").df2, 1.0);
    }

    #[test]
    fn on_its_edge_the_ellipse_is_as_far_as_the_test_lets_it() {
        let values = [([1.0, 0.5], 1.0), ([2.0, -1.0], 1.0), ([4.0, 3.0], 0.5), ([3.0, 0.0], 1.0)];
        let found = weighted_mean(&values).expect("values");
        let ellipse = found.ellipse(0.9).expect("an ellipse");
        let angle = ellipse.angle_deg.expect("not round").to_radians();
        let edge = [libm::cos(angle), libm::sin(angle)].map(|v| v * ellipse.semi_major);
        let moved = WeightedMean { mean: edge, ..found };
        assert!((moved.hotelling().expect("a test").p - 0.1).abs() < 1e-12);
    }

    #[test]
    fn what_cannot_be_had_is_none() {
        assert_eq!(weighted_mean(&[]), None);
        let two = weighted_mean(&[([1.0, 0.0], 1.0), ([2.0, 0.0], 1.0)]).expect("values");
        assert_eq!((two.hotelling(), two.ellipse(0.95), two.by_axis(0.95)), (None, None, None));
        let close = [([1.0, 0.0], 1.0), ([1.0, 1e-9], 1.0), ([1.0 + 1e-9, 0.0], 1.0)];
        let power = weighted_mean(&close).expect("values").power(6, 1e-4);
        assert!(power.is_some_and(|p| p > 0.999), "{power:?}");
        assert!(without_farthest(&[]).is_empty());
        let far = without_farthest(&[([1.0, 0.0], 1.0), ([9.0, 0.0], 1.0), ([2.0, 0.0], 1.0)]);
        assert_eq!(far, [([1.0, 0.0], 1.0), ([2.0, 0.0], 1.0)]);
    }
}
