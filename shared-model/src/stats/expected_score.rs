//! Expected score: what an arrow brings when it lands by a correlated normal law about a mean.
//!
//! # Formula
//! P(ring) = Φ₂(circle of its reach) − Φ₂(circle of the ring inside), reach = outer radius + half shaft.
//! In the principal axes, σ₁ ≥ σ₂, with u along the second, h = √(R² − u²):
//! Φ₂ = ∫ φ((u − m₂)/σ₂)/σ₂ [Φ((h − m₁)/σ₁) − Φ((−h − m₁)/σ₁)] du over |u| ≤ R, with u = R sin θ.
//! E = Σ points P, SD = √(Σ (points − E)² P).
//! # Units
//! mm and mm² on the face, from the centre of the spot aimed at; scores in points.
//! # Source
//! The line-cutter rule of World Archery, Books 3 and 4; the integral is DiDonato and Jarnagin's
//! ("Integration of the general bivariate Gaussian distribution over an offset circle", Mathematics of
//! Computation 15, 1961), by the Gauss-Kronrod pair of 7 and 15 points (Piessens et al., QUADPACK, 1983).
//! # Limits
//! Probabilities to 1e-9, to 1e-7 where a standard deviation is below 1e-5 of a ring's radius. A covariance
//! without spread along one axis or both is allowed; a standard deviation below 1e-7 of the face's radius
//! counts as none. Arrows are taken as independent.

use crate::ModelError;
use crate::face::Face;
use crate::stats::special::normal::{Principal, cdf, density, principal};

/// How an arrow scores on average.
#[derive(Debug, Clone, PartialEq)]
pub struct ExpectedScore {
    /// Points of each zone with their probability, the highest zone first, ending with the miss, 0.
    pub zone_probability: Vec<(u32, f64)>,
    /// Probability of touching the inner ten, on a face that has one.
    pub inner_ten_probability: Option<f64>,
    /// Mean of an arrow's points.
    pub points_per_arrow: f64,
    /// Standard deviation of an arrow's points.
    pub sd_points_per_arrow: f64,
}

/// Returns the expected score of an arrow; `covariance` unless that is symmetric and not negative.
pub fn expected_score(
    face: &Face,
    shaft_diameter_mm: f64,
    mean_mm: [f64; 2],
    covariance_mm2: [[f64; 2]; 2],
) -> Result<ExpectedScore, ModelError> {
    let law = principal(mean_mm, covariance_mm2)?.flattened(1e-7 * face.scoring_outer_radius_mm());
    let within = |radius: f64| circle_probability(&law, radius + 0.5 * shaft_diameter_mm);
    let mut zones = Vec::with_capacity(face.zones().len() + 1);
    let mut inside = 0.0;
    for zone in face.zones() {
        let reached = within(zone.outer_radius_mm).max(inside);
        zones.push((zone.points, reached - inside));
        inside = reached;
    }
    zones.push((0, 1.0 - inside));
    let mean: f64 = zones.iter().map(|(points, p)| f64::from(*points) * p).sum();
    let square = |points: u32| (f64::from(points) - mean) * (f64::from(points) - mean);
    let variance: f64 = zones.iter().map(|(points, p)| square(*points) * p).sum();
    Ok(ExpectedScore {
        zone_probability: zones,
        inner_ten_probability: face.inner10_radius_mm().map(within),
        points_per_arrow: mean,
        sd_points_per_arrow: variance.max(0.0).sqrt(),
    })
}

/// Returns the probability of a circle about the origin, from 0 to 1.
fn circle_probability(law: &Principal, radius: f64) -> f64 {
    let [m1, m2] = law.mean;
    let [s1, s2] = law.sd;
    let strip = |u: f64| {
        let h = (radius * radius - u * u).max(0.0).sqrt();
        if s1 > 0.0 { cdf((h - m1) / s1) - cdf((-h - m1) / s1) } else { f64::from(u8::from(m1.abs() <= h)) }
    };
    if s2 == 0.0 {
        return if m2.abs() <= radius { strip(m2) } else { 0.0 };
    }
    let [low, high] = [m2 - REACH * s2, m2 + REACH * s2].map(|u| libm::asin((u / radius).clamp(-1.0, 1.0)));
    if high - low <= 0.0 {
        return 0.0;
    }
    let integrand = |theta: f64| {
        let u = radius * libm::sin(theta);
        density((u - m2) / s2) / s2 * strip(u) * radius * libm::cos(theta)
    };
    // Below this the difference of the two rules is the rounding of (u - m2) / s2, which no halving mends.
    let floor = 1e-15 * (1.0 + radius / s2);
    let panels = 8;
    let width = (high - low) / f64::from(panels);
    let total: f64 = (0..panels)
        .map(|panel| low + f64::from(panel) * width)
        .map(|from| adaptive(&integrand, from, from + width, Tolerance { error: 1e-11, floor }, 30))
        .sum();
    total.clamp(0.0, 1.0)
}

/// Standard deviations beyond which a normal density holds less than 1e-18.
const REACH: f64 = 9.0;

/// The error allowed to an interval, and the error below which it is rounding.
#[derive(Clone, Copy)]
struct Tolerance {
    error: f64,
    floor: f64,
}

fn adaptive(f: &impl Fn(f64) -> f64, low: f64, high: f64, allowed: Tolerance, depth: u32) -> f64 {
    let (value, error) = kronrod(f, low, high);
    let middle = 0.5 * (low + high);
    if depth == 0 || error.is_nan() || error <= allowed.error.max(allowed.floor) {
        return value;
    }
    let half = Tolerance { error: 0.5 * allowed.error, ..allowed };
    adaptive(f, low, middle, half, depth - 1) + adaptive(f, middle, high, half, depth - 1)
}

/// Nodes, Kronrod weights and Gauss weights of the upper half of the pair of 7 and 15 points.
const PAIR: [(f64, f64, f64); 8] = [
    (0.0, 0.209_482_141_084_727_83, 0.417_959_183_673_469_4),
    (0.207_784_955_007_898_47, 0.204_432_940_075_298_9, 0.0),
    (0.405_845_151_377_397_2, 0.190_350_578_064_785_4, 0.381_830_050_505_118_9),
    (0.586_087_235_467_691_1, 0.169_004_726_639_267_9, 0.0),
    (0.741_531_185_599_394_5, 0.140_653_259_715_525_92, 0.279_705_391_489_276_64),
    (0.864_864_423_359_769_1, 0.104_790_010_322_250_18, 0.0),
    (0.949_107_912_342_758_5, 0.063_092_092_629_978_56, 0.129_484_966_168_869_7),
    (0.991_455_371_120_812_6, 0.022_935_322_010_529_224, 0.0),
];

fn kronrod(f: &impl Fn(f64) -> f64, low: f64, high: f64) -> (f64, f64) {
    let (middle, half) = (0.5 * (low + high), 0.5 * (high - low));
    let (mut fine, mut coarse) = (0.0, 0.0);
    for (node, kronrod, gauss) in PAIR {
        let value = if node == 0.0 { f(middle) } else { f(middle - half * node) + f(middle + half * node) };
        fine += kronrod * value;
        coarse += gauss * value;
    }
    (fine * half, ((fine - coarse) * half).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn score(mean: [f64; 2], covariance: [[f64; 2]; 2]) -> ExpectedScore {
        let face = Face::by_code("wa_122").expect("published");
        expected_score(&face, 6.0, mean, covariance).expect("a covariance")
    }

    #[test]
    fn a_circular_law_about_the_centre_is_the_rayleigh_law() {
        for sigma in [1e-4, 1.0, 40.0, 200.0, 1e5, 1e9] {
            let got = score([0.0, 0.0], [[sigma * sigma, 0.0], [0.0, sigma * sigma]]);
            let t: f64 = 64.0 / sigma;
            let want = -libm::expm1(-0.5 * t * t);
            assert!((got.zone_probability[0].1 - want).abs() < 1e-10, "{sigma} {got:?}");
        }
    }

    #[test]
    fn no_spread_along_one_axis_leaves_a_line_and_none_at_all_a_point() {
        let flat = score([10.0, 64.5], [[900.0, 0.0], [0.0, 0.0]]);
        assert_eq!(flat.zone_probability[0].1, 0.0);
        let half = libm::sqrt(125.0 * 125.0 - 64.5 * 64.5);
        let want = cdf((half - 10.0) / 30.0) - cdf((-half - 10.0) / 30.0);
        assert!((flat.zone_probability[1].1 - want).abs() < 1e-12);
        let slanted = score([0.0, 0.0], [[450.0, 450.0], [450.0, 450.0]]);
        let along = score([0.0, 0.0], [[900.0, 0.0], [0.0, 0.0]]);
        assert!((slanted.points_per_arrow - along.points_per_arrow).abs() < 1e-7);
        let nearly = score([10.0, 64.5], [[900.0, 0.0], [0.0, 1e-8]]);
        assert!((nearly.points_per_arrow - flat.points_per_arrow).abs() < 1e-7);
        let point = score([64.0, 0.0], [[0.0, 0.0], [0.0, 0.0]]);
        assert_eq!((point.points_per_arrow, point.sd_points_per_arrow), (10.0, 0.0));
        assert_eq!(score([64.1, 0.0], [[0.0, 0.0], [0.0, 0.0]]).points_per_arrow, 9.0);
    }

    #[test]
    fn turning_the_face_changes_nothing() {
        let (c, s) = (libm::cos(0.7), libm::sin(0.7));
        let turned = [[c * c * 9e3 + s * s * 40.0, c * s * (9e3 - 40.0)], [0.0, s * s * 9e3 + c * c * 40.0]];
        let turned = [turned[0], [turned[0][1], turned[1][1]]];
        let plain = score([30.0, -580.0], [[9e3, 0.0], [0.0, 40.0]]);
        let other = score([30.0 * c + 580.0 * s, 30.0 * s - 580.0 * c], turned);
        assert!((plain.points_per_arrow - other.points_per_arrow).abs() < 1e-8);
    }

    #[test]
    fn far_off_and_wild_values_stay_probabilities() {
        for (mean, variance) in [(1e300, 1.0), (1e9, 1e-30), (0.0, 1e300), (610.0, 1e-200), (1e160, 1e300)] {
            let got = score([mean, -mean], [[variance, 0.0], [0.0, variance]]);
            assert!((0.0..=10.0).contains(&got.points_per_arrow), "{mean} {variance} {got:?}");
            assert!(got.zone_probability.iter().all(|(_, p)| (0.0..=1.0).contains(p)));
        }
    }

    #[test]
    fn a_covariance_that_is_none_is_refused() {
        let face = Face::by_code("wa_122").expect("published");
        for bad in [[[1.0, 2.0], [2.0, 1.0]], [[-1.0, 0.0], [0.0, 1.0]], [[1.0, 0.1], [0.2, 1.0]]] {
            let error = expected_score(&face, 6.0, [0.0, 0.0], bad).expect_err("no covariance");
            assert_eq!(error.field.as_deref(), Some("covariance_mm2"), "{bad:?}");
        }
    }
}
