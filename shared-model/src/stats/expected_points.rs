//! Expected points of an arrow, many times over: the mean of `expected_score` at a fraction of its cost.
//!
//! # Formula
//! E = Σ (points − points of the next ring) Φ₂(circle of the ring's reach). In the principal axes the
//! integral over the circle of `expected_score` is taken over t, with u = R t (3 − t²)/2 and
//! h = R (1 − t²) √(4 − t²)/2, so that it has no corner at the edge, by 12 Gauss-Legendre nodes on
//! panels of at most 5.5 standard deviations; Φ from a table by Hermite's cubic. A circular law is first
//! turned so that its mean lies along h, and half of it is enough.
//! # Units
//! mm and mm² on the face, from the centre of the spot aimed at; points.
//! # Source
//! As `expected_score`; Hermite interpolation: Abramowitz and Stegun, 25.2 and 25.4.
//! # Limits
//! Within 1e-5 points of `expected_score` for any mean and covariance (tested on 2,000 laws from a
//! hundredth of a ring to a hundred faces wide, round, long and flat).

use crate::ModelError;
use crate::face::Face;
use crate::stats::special::gauss_legendre::gauss_legendre;
use crate::stats::special::normal::{Principal, cdf, density, principal};

/// What is needed of a face and a shaft to find expected points quickly.
#[derive(Debug, Clone)]
pub struct ExpectedPoints {
    rings: Vec<Ring>,
    least_sd: f64,
    nodes: Vec<(f64, f64)>,
    table: Table,
}

/// A circle, and the points gained by landing inside it.
#[derive(Debug, Clone, Copy)]
struct Ring {
    reach: f64,
    gain: f64,
}

/// Standard deviations beyond which nothing counts: the density beyond holds less than 4e-8.
const REACH: f64 = 5.5;

impl ExpectedPoints {
    /// Prepares for a face and a shaft.
    pub fn new(face: &Face, shaft_diameter_mm: f64) -> Self {
        let zones = face.zones();
        let next = zones.iter().skip(1).map(|zone| zone.points).chain([0]);
        let ring = |(zone, next): (&crate::face::Zone, u32)| Ring {
            reach: zone.outer_radius_mm + 0.5 * shaft_diameter_mm,
            gain: f64::from(zone.points) - f64::from(next),
        };
        Self {
            rings: zones.iter().zip(next).map(ring).collect(),
            least_sd: 1e-7 * face.scoring_outer_radius_mm(),
            nodes: gauss_legendre(12),
            table: Table::new(),
        }
    }

    /// Returns the expected points of an arrow; `covariance` unless that is symmetric and not negative.
    pub fn points(&self, mean_mm: [f64; 2], covariance_mm2: [[f64; 2]; 2]) -> Result<f64, ModelError> {
        let law = principal(mean_mm, covariance_mm2)?.flattened(self.least_sd);
        Ok(self.rings.iter().map(|ring| ring.gain * self.circle(&law, ring.reach)).sum())
    }

    /// Returns the expected points of an arrow with the same spread in every direction, `offset_mm` off
    /// the centre; both finite, the standard deviation not below 0.
    pub fn points_round(&self, offset_mm: f64, sd_mm: f64) -> f64 {
        let law = Principal { mean: [offset_mm.abs(), 0.0], sd: [sd_mm, sd_mm] }.flattened(self.least_sd);
        self.rings.iter().map(|ring| ring.gain * self.circle(&law, ring.reach)).sum()
    }

    /// Returns the probability of a circle about the origin.
    fn circle(&self, law: &Principal, radius: f64) -> f64 {
        let [[m1, m2], [s1, s2]] = [law.mean, law.sd];
        let off = (m1 * m1 + m2 * m2).sqrt();
        if radius - off >= 6.0 * s1 {
            return 1.0;
        }
        if off - radius > 6.0 * s1 {
            return 0.0;
        }
        if s2 == 0.0 {
            let h = (radius * radius - m2 * m2).max(0.0).sqrt();
            return if m2.abs() > radius { 0.0 } else { self.strip(h, m1, s1) };
        }
        if off == 0.0 && s1 == s2 {
            // About the centre the distance is Rayleigh's: no integral is left.
            let t = radius / s1;
            return -libm::expm1(-0.5 * t * t);
        }
        if s1 - s2 <= 1e-6 * s1 {
            let [_, end] = parameters(radius, 0.0, s2);
            return 2.0 * self.panels(radius, [off, 0.0], [s1, s2], [0.0, end]);
        }
        self.panels(radius, [m1, m2], [s1, s2], parameters(radius, m2, s2))
    }

    /// Returns the integral over t, on as many panels as its turns ask for.
    fn panels(&self, radius: f64, mean: [f64; 2], sd: [f64; 2], [from, to]: [f64; 2]) -> f64 {
        if to <= from {
            return 0.0;
        }
        let width = (to - from) * radius * 1.5 / sd[1];
        let rise = (half_chord(radius, from) - half_chord(radius, to)).abs() / sd[0];
        let panels = libm::ceil(width.min(2.0 * REACH).max(rise) / REACH).clamp(1.0, 40.0);
        let step = (to - from) / panels;
        (0..panels as usize)
            .map(|panel| from + panel as f64 * step)
            .map(|start| self.panel(radius, mean, sd, [start, start + step]))
            .sum()
    }

    fn panel(&self, radius: f64, mean: [f64; 2], sd: [f64; 2], [from, to]: [f64; 2]) -> f64 {
        let (middle, half) = (0.5 * (from + to), 0.5 * (to - from));
        let total: f64 = self
            .nodes
            .iter()
            .map(|(node, weight)| {
                let t = middle + half * node;
                let z = (radius * t * (1.5 - 0.5 * t * t) - mean[1]) / sd[1];
                weight * density(z) * (1.0 - t * t) * self.strip(half_chord(radius, t), mean[0], sd[0])
            })
            .sum();
        total * half * 1.5 * radius / sd[1]
    }

    fn strip(&self, h: f64, mean: f64, sd: f64) -> f64 {
        if sd == 0.0 {
            return f64::from(u8::from(mean.abs() <= h));
        }
        self.table.cdf((h - mean) / sd) - self.table.cdf((-h - mean) / sd)
    }
}

/// Returns √(R² − u²) at a parameter.
fn half_chord(radius: f64, t: f64) -> f64 {
    0.5 * radius * (1.0 - t * t) * (4.0 - t * t).sqrt()
}

/// Returns the parameters between which the density along u counts: t = 2 sin(asin(u/R)/3).
fn parameters(radius: f64, mean: f64, sd: f64) -> [f64; 2] {
    [mean - REACH * sd, mean + REACH * sd]
        .map(|u| 2.0 * libm::sin(libm::asin((u / radius).clamp(-1.0, 1.0)) / 3.0))
}

/// The normal distribution function at every 1/32, between which Hermite's cubic is within 4e-9.
#[derive(Debug, Clone)]
struct Table {
    values: Vec<(f64, f64)>,
}

impl Table {
    const STEPS: f64 = 32.0;
    const END: f64 = 6.0;

    fn new() -> Self {
        let last = (2.0 * Self::END * Self::STEPS) as i32;
        let at = |i: i32| f64::from(i) / Self::STEPS - Self::END;
        Self { values: (0..=last).map(|i| (cdf(at(i)), density(at(i)) / Self::STEPS)).collect() }
    }

    fn cdf(&self, z: f64) -> f64 {
        if z >= Self::END {
            return 1.0;
        }
        if z <= -Self::END {
            return 0.0;
        }
        let place = (z + Self::END) * Self::STEPS;
        let cell = place as usize;
        let t = place - cell as f64;
        let (Some(&(low, low_slope)), Some(&(high, high_slope))) =
            (self.values.get(cell), self.values.get(cell + 1))
        else {
            return 1.0;
        };
        let rise = high - low;
        low + t
            * (low_slope
                + t * (3.0 * rise - 2.0 * low_slope - high_slope + t * (low_slope + high_slope - 2.0 * rise)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::{Rng, Seed};
    use crate::stats::expected_score::expected_score;

    #[test]
    fn a_great_many_laws_agree_with_the_slow_integral() {
        let mut rng = Rng::new(Seed(20_260));
        let mut worst = (0.0, [0.0; 2], [[0.0; 2]; 2]);
        let laws = 2_000;
        let faces: Vec<Face> = Face::codes().map(|code| Face::by_code(code).expect("published")).collect();
        for i in 0..laws {
            let face = &faces[i % faces.len()];
            let outer = face.scoring_outer_radius_mm();
            // Standard deviations from a thousandth of the face to a hundred faces.
            let s1 = outer * libm::exp10(5.0 * rng.uniform() - 3.0);
            let s2 = match i % 4 {
                0 => s1,
                1 => s1 * rng.uniform(),
                2 => s1 * libm::exp10(-12.0 * rng.uniform()),
                _ => s1 * (1.0 - libm::exp10(-8.0 * rng.uniform())),
            };
            let off = rng.uniform() * 1.3 * outer;
            let (toward, turned) = (rng.uniform() * 6.3, rng.uniform() * 3.2);
            let (c, s) = (libm::cos(turned), libm::sin(turned));
            let (a, b) = (s1 * s1, s2 * s2);
            let cov = [[a * c * c + b * s * s, (a - b) * c * s], [(a - b) * c * s, a * s * s + b * c * c]];
            let mean = [off * libm::cos(toward), off * libm::sin(toward)];
            let want = expected_score(face, 5.5, mean, cov).expect("a law").points_per_arrow;
            let got = ExpectedPoints::new(face, 5.5).points(mean, cov).expect("a law");
            if (got - want).abs() > worst.0 {
                worst = ((got - want).abs(), mean, cov);
            }
        }
        assert!(worst.0 < 1e-5, "{worst:?}");
    }

    #[test]
    fn a_round_law_needs_only_its_offset() {
        let face = Face::by_code("wa_80").expect("published");
        let fast = ExpectedPoints::new(&face, 5.5);
        for (offset, sd) in [(0.0, 30.0), (50.0, 30.0), (0.0, 0.0), (42.75, 0.0), (42.8, 0.0), (300.0, 250.0)]
        {
            let want =
                expected_score(&face, 5.5, [0.6 * offset, 0.8 * offset], [[sd * sd, 0.0], [0.0, sd * sd]])
                    .expect("a law")
                    .points_per_arrow;
            assert!((fast.points_round(offset, sd) - want).abs() < 1e-6, "{offset} {sd}");
        }
    }
}
