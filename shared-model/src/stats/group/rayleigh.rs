//! Rayleigh sigma: the SD along any one axis of a round group, with its interval.
//!
//! # Formula
//! With SS = Σ |pᵢ − MPI|² and ν = 2(n − 1): sigma = √(SS/ν) / c(ν),
//! c(ν) = √(2/ν) Γ((ν + 1)/2) / Γ(ν/2); interval √(SS / χ²_{ν, 1 − α/2}) to √(SS / χ²_{ν, α/2}).
//! The circle about the MPI that holds the share p has the radius sigma √(−2 ln(1 − p)).
//! # Units
//! mm.
//! # Source
//! Johnson, Kotz and Balakrishnan, Continuous Univariate Distributions 1, 2nd ed. (1994), sections 18.3 and
//! 18.10 (c is the c₄ of quality control at ν + 1); Grubbs 1964 for the circles.
//! # Limits
//! From two arrows on; takes the group for round. For the shape of its own see the correlated normal.

use super::moments::Moments;
use crate::stats::chi_square;

/// The unbiased sigma and its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sigma {
    pub(super) sigma: f64,
    pub(super) interval: [f64; 2],
}

/// Returns the Rayleigh sigma, from two arrows on.
pub(super) fn rayleigh_sigma(moments: &Moments, confidence: f64) -> Option<Sigma> {
    let df = 2.0 * moments.n.checked_sub(1).filter(|&df| df > 0)? as f64;
    let ss = moments.scatter[0] + moments.scatter[2];
    let tail = (1.0 - confidence) / 2.0;
    let bound = |p: f64| (ss / chi_square::quantile(p, df)).sqrt();
    Some(Sigma { sigma: (ss / df).sqrt() / bias(df), interval: [bound(1.0 - tail), bound(tail)] })
}

/// Returns the radius about the mean that holds the share `p` of a round group.
pub(super) fn circle_radius(sigma: f64, p: f64) -> f64 {
    sigma * (-2.0 * libm::log1p(-p)).sqrt()
}

/// Returns c(ν), the expected value of a sample SD over the true one.
fn bias(df: f64) -> f64 {
    if df > 1000.0 {
        // Its expansion in 1/ν: the difference of two large logarithms would lose digits.
        let v = 1.0 / df;
        return 1.0 - v / 4.0 + v * v / 32.0 + 5.0 * v * v * v / 128.0;
    }
    (2.0 / df).sqrt() * libm::exp(libm::lgamma((df + 1.0) / 2.0) - libm::lgamma(df / 2.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bias_is_the_tabled_c4() {
        // c₄ for samples of 2, 3, 10 and 25 (from memory): NIST/SEMATECH e-Handbook of Statistical Methods, section 6.3.2
        // (to four decimals).
        for (n, c4) in [(2.0, 0.7979), (3.0, 0.8862), (10.0, 0.9727), (25.0, 0.9896)] {
            assert!((bias(n - 1.0) - c4).abs() < 6e-5, "{n}");
        }
    }

    #[test]
    fn the_two_forms_of_the_bias_meet() {
        let (df, v) = (1000.0, 1e-3);
        let series = 1.0 - v / 4.0 + v * v / 32.0 + 5.0 * v * v * v / 128.0;
        assert!((bias(df) - series).abs() < 1e-12);
    }
}
