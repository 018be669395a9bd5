//! The normal law: density, distribution, and the principal axes of two dimensions.
//!
//! # Formula
//! φ(z) = exp(−z²/2)/√(2π), Φ(z) = erfc(−z/√2)/2. The axes are the eigenvectors of the covariance
//! [[a, b], [b, c]]: the larger variance (a + c)/2 + √((a − c)²/4 + b²) at the angle atan2(2b, a − c)/2.
//! # Units
//! Those of the mean and covariance given.
//! # Source
//! Abramowitz and Stegun, Handbook of Mathematical Functions, 26.2 and 26.3; `libm`'s erfc.
//! # Limits
//! Any finite number; a covariance without spread along an axis is allowed.

use core::f64::consts::{FRAC_1_SQRT_2, PI};

use crate::ModelError;

/// Returns the standard normal density.
pub fn density(z: f64) -> f64 {
    libm::exp(-0.5 * z * z) / (2.0 * PI).sqrt()
}

/// Returns the standard normal distribution function.
pub fn cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * FRAC_1_SQRT_2)
}

/// A normal law of two dimensions in its principal axes, the wider first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Principal {
    /// The mean along each axis.
    pub mean: [f64; 2],
    /// The standard deviation along each axis.
    pub sd: [f64; 2],
}

impl Principal {
    /// Returns the law with standard deviations of `least` or less taken as none.
    #[must_use]
    pub fn flattened(self, least: f64) -> Self {
        Self { sd: self.sd.map(|sd| if sd <= least { 0.0 } else { sd }), ..self }
    }
}

/// Returns the law in its principal axes; errors with `covariance` when that is not symmetric, is not
/// finite or has a negative variance.
pub fn principal(mean: [f64; 2], covariance: [[f64; 2]; 2]) -> Result<Principal, ModelError> {
    let [[a, b], [b2, c]] = covariance;
    let scale = a.abs().max(c.abs()).max(b.abs()).max(b2.abs());
    if !scale.is_finite() || (b - b2).abs() > 1e-9 * scale {
        return Err(not_a_covariance("is not symmetric: its two covariances differ"));
    }
    if scale == 0.0 {
        return Ok(Principal { mean, sd: [0.0, 0.0] });
    }
    let (a, b, c) = (a / scale, b / scale, c / scale);
    let wide = 0.5 * (a + c) + (0.25 * (a - c) * (a - c) + b * b).sqrt();
    let narrow = if wide > 0.0 { (a * c - b * b) / wide } else { -1.0 };
    if narrow < -1e-9 {
        return Err(not_a_covariance("has a negative variance along some direction"));
    }
    let angle = 0.5 * libm::atan2(2.0 * b, a - c);
    let (cos, sin) = (libm::cos(angle), libm::sin(angle));
    Ok(Principal {
        mean: [mean[0] * cos + mean[1] * sin, mean[1] * cos - mean[0] * sin],
        sd: [wide, narrow.max(0.0)].map(|variance| variance.sqrt() * scale.sqrt()),
    })
}

fn not_a_covariance(what: &str) -> ModelError {
    ModelError::new(
        "covariance",
        format!("the covariance matrix {what}; give [[xx, xy], [xy, yy]] as the group's covariance has it"),
    )
    .at("covariance_mm2")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_distribution_agrees_with_the_printed_table() {
        // Abramowitz and Stegun, table 26.1.
        for (z, p) in [(0.0, 0.5), (1.0, 0.841_344_746_068_543), (2.5, 0.993_790_334_674_224)] {
            assert!((cdf(z) - p).abs() < 1e-14 && (cdf(-z) - (1.0 - p)).abs() < 1e-14, "{z}");
        }
        assert!((density(1.0) - 0.241_970_724_519_143).abs() < 1e-15);
    }

    #[test]
    fn the_axes_carry_the_same_law() {
        let law = principal([3.0, 4.0], [[10.0, 6.0], [6.0, 10.0]]).expect("a covariance");
        let root = libm::sqrt(2.0);
        for (got, want) in
            [(law.sd[0], 4.0), (law.sd[1], 2.0), (law.mean[0], 7.0 / root), (law.mean[1], 1.0 / root)]
        {
            assert!((got - want).abs() < 1e-12, "{law:?}");
        }
    }
}
