//! Circular error of a normal with two unequal axes: the circle that holds a given share of arrows.
//!
//! # Formula
//! P(r) = (2/π) ∫₀^{π/2} 1 − exp(−r² / (2 s²(φ))) dφ,  s² = a² cos² φ + b² sin² φ,
//! a and b the SDs along the axes: the angle is that of the point after the ellipse has been stretched
//! to a circle. The integrand is smooth and periodic, so the trapezoidal rule converges fast; it is
//! doubled until two sums agree. The radius of a share follows by Newton's steps inside a bracket.
//! # Units
//! Radius in the unit of the SDs.
//! # Source
//! Harter, "Circular error probabilities", Journal of the American Statistical Association 55 (1960) 723;
//! the rule: Davis and Rabinowitz, Methods of Numerical Integration, 2nd ed. (1984), section 2.9.
//! # Limits
//! SDs of 0 or more; a smaller SD of 0 is the normal on a line. Centre of the circle at the mean.

/// Returns the share of arrows within `radius` of the mean.
pub fn share_within(sd_major: f64, sd_minor: f64, radius: f64) -> f64 {
    share_and_density(sd_major, sd_minor, radius).0
}

/// Returns the radius about the mean that holds the share `p` of arrows, 0 < p < 1.
pub fn radius_of(p: f64, sd_major: f64, sd_minor: f64) -> f64 {
    if sd_major <= 0.0 {
        return 0.0;
    }
    let round = (-2.0 * libm::log1p(-p)).sqrt();
    let (mut low, mut high) = (sd_minor * round, sd_major * round);
    let mut radius = round * ((sd_major * sd_major + sd_minor * sd_minor) / 2.0).sqrt();
    for _ in 0..200 {
        let (share, density) = share_and_density(sd_major, sd_minor, radius);
        if share > p {
            high = high.min(radius)
        } else {
            low = low.max(radius)
        }
        let newton = radius - (share - p) / density;
        let next = if newton > low && newton < high { newton } else { (low + high) / 2.0 };
        let step = (next - radius).abs();
        radius = next;
        if step <= 4.0 * f64::EPSILON * radius {
            break;
        }
    }
    radius
}

/// Returns P(r) and its derivative.
fn share_and_density(sd_major: f64, sd_minor: f64, radius: f64) -> (f64, f64) {
    if sd_major <= 0.0 || radius <= 0.0 {
        return (if radius > 0.0 { 1.0 } else { 0.0 }, 0.0);
    }
    let (ratio, r) = (sd_minor / sd_major, radius / sd_major);
    let integrand = |phi: f64| {
        let (sin, cos) = (libm::sin(phi), libm::cos(phi));
        let variance = cos * cos + ratio * ratio * sin * sin;
        let z = r * r / (2.0 * variance);
        // Beyond z = 745 the exponential is 0 in floating point, and r/variance may be infinite.
        let density = if z < 745.0 { r / variance * libm::exp(-z) } else { 0.0 };
        (-libm::expm1(-z), density)
    };
    let half_pi = std::f64::consts::FRAC_PI_2;
    let (first, last) = (integrand(0.0), integrand(half_pi));
    let mut panels = 16_u32;
    let inner = (1..panels).map(|i| integrand(half_pi * f64::from(i) / f64::from(panels)));
    let mut sum = inner.fold(((first.0 + last.0) / 2.0, (first.1 + last.1) / 2.0), add);
    let mut mean = (sum.0 / f64::from(panels), sum.1 / f64::from(panels));
    while panels < 1 << 14 {
        let width = half_pi / f64::from(panels);
        sum = (0..panels).map(|i| integrand(width * (f64::from(i) + 0.5))).fold(sum, add);
        panels *= 2;
        let finer = (sum.0 / f64::from(panels), sum.1 / f64::from(panels));
        let off = (finer.0 - mean.0).abs();
        mean = finer;
        if off <= 1e-14 * mean.0 {
            break;
        }
    }
    (mean.0, mean.1 / sd_major)
}

fn add(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0 + b.0, a.1 + b.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn close(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got}, want {want}");
    }

    #[test]
    fn a_round_normal_has_the_closed_form() {
        for p in [0.001, 0.5, 0.9, 0.95, 0.999] {
            close(radius_of(p, 3.0, 3.0), 3.0 * (-2.0 * libm::log1p(-p)).sqrt(), 1e-12);
        }
    }

    #[test]
    fn a_flat_normal_is_the_normal_on_a_line() {
        // Quantiles 0.75, 0.95 and 0.975 of the normal (from memory): NIST/SEMATECH e-Handbook, section 1.3.6.7.1, and
        // their further digits from statrs.
        for (p, z) in
            [(0.5, 0.674_489_750_196_081_7), (0.9, 1.644_853_626_951_472_2), (0.95, 1.959_963_984_540_054)]
        {
            close(radius_of(p, 2.0, 0.0), 2.0 * z, 1e-10);
            close(radius_of(p, 2.0, 1e-9), 2.0 * z, 1e-10);
        }
    }

    #[test]
    fn the_share_of_the_radius_is_the_share_asked_for() {
        for ratio in [0.0, 1e-6, 0.001, 0.03, 0.3, 0.8, 1.0] {
            for p in [0.05, 0.5, 0.95, 0.9999] {
                close(share_within(7.0, 7.0 * ratio, radius_of(p, 7.0, 7.0 * ratio)), p, 1e-13);
            }
        }
    }

    #[test]
    fn arrows_that_all_hit_one_spot_have_no_circle() {
        close(radius_of(0.5, 0.0, 0.0), 0.0, 0.0);
    }
}
