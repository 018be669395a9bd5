//! The ellipse in which the true mean point of impact lies with a given confidence.
//!
//! # Formula
//! n (MPI − μ)ᵀ S⁻¹ (MPI − μ) ≤ 2(n − 1)/(n − 2) F_{2, n−2}(confidence), so each half axis is the SD along
//! its axis times √(2(n − 1) F / (n (n − 2))). With two degrees of freedom above,
//! F = (n − 2)/2 ((1 − confidence)^{−2/(n − 2)} − 1).
//! # Units
//! mm.
//! # Source
//! Hotelling, Annals of Mathematical Statistics 2 (1931) 360; Johnson and Wichern, Applied Multivariate
//! Statistical Analysis, 6th ed. (2007), section 5.4.
//! # Limits
//! From three arrows on; arrows independent, normal, of one group.

/// Returns the factor from the SD along an axis to the half axis of the ellipse, from three arrows on.
pub(super) fn half_axis_factor(n: usize, confidence: f64) -> Option<f64> {
    let n = n as f64;
    let df = n - 2.0;
    if df < 1.0 {
        return None;
    }
    let f = df / 2.0 * libm::expm1(-2.0 / df * libm::log1p(-confidence));
    Some((2.0 * (n - 1.0) * f / (n * df)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_f_quantile_is_the_printed_one() {
        // F(0.95; 2, 10) = 4.103 and F(0.99; 2, 20) = 5.849 (from memory): NIST/SEMATECH e-Handbook, section 1.3.6.7.3.
        for (n, confidence, f) in [(12.0, 0.95, 4.103), (22.0, 0.99, 5.849)] {
            let factor = half_axis_factor(n as usize, confidence).expect("three or more");
            let back = factor * factor * n * (n - 2.0) / (2.0 * (n - 1.0));
            assert!((back - f).abs() < 6e-4, "{back}");
        }
        assert_eq!(half_axis_factor(2, 0.95), None);
    }
}
