//! Worth: points an arrow gained or lost by a step.
//!
//! # Formula
//! Expected points of a circular normal about the shift with the SD after the step, less those of one about
//! the centre with the SD before it; resighted, both about the centre. Intervals are quantiles over draws of
//! the shift (t about its estimate on each axis) and of the SD ratio (log-t), the SDs before and after
//! moving apart about their geometric mean.
//! # Units
//! Points an arrow; mm on the face at one distance.
//! # Source
//! Expected points: [`crate::stats::expected_points`].
//! # Limits
//! Both axes are given the same SD. The SD of the season as a whole is taken as known.

use super::shift::Shift;
use crate::face::Face;
use crate::rng::{Rng, Seed};
use crate::stats::expected_points::ExpectedPoints;

/// A value and its interval.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Gain {
    pub points: f64,
    pub interval: [f64; 2],
}

/// The log of an SD ratio with its standard error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LogRatio {
    pub estimate: f64,
    pub se: f64,
    pub df: f64,
}

/// What a step is worth on one face at one distance.
pub(super) struct Worth {
    points: ExpectedPoints,
    distance_m: f64,
    confidence: f64,
}

/// Draws behind an interval: the ends of a 95 % interval are then within a tenth of its length.
const DRAWS: usize = 400;

impl Worth {
    pub fn new(face: &Face, shaft_diameter_mm: f64, distance_m: f64, confidence: f64) -> Self {
        Self { points: ExpectedPoints::new(face, shaft_diameter_mm), distance_m, confidence }
    }

    /// Returns the gain with the sight left alone; `sd_mrad` is the geometric mean of the SDs on both sides.
    pub fn left_alone(&self, shift: &[Shift; 2], ratio: LogRatio, sd_mrad: f64, seed: Seed) -> Gain {
        let mut rng = Rng::new(seed);
        let gain = |x: f64, y: f64, log_ratio: f64| self.gain(libm::hypot(x, y), log_ratio, sd_mrad);
        let draws = (0..DRAWS).map(|_| {
            let [x, y] = [0, 1].map(|i| student(&mut rng, shift[i].estimate, shift[i].se, shift[i].df));
            gain(x, y, student(&mut rng, ratio.estimate, ratio.se, ratio.df))
        });
        let draws = draws.collect();
        let points = gain(shift[0].estimate, shift[1].estimate, ratio.estimate);
        Gain { points, interval: self.interval(draws) }
    }

    /// Returns the gain with the mean brought back to the centre.
    pub fn resighted(&self, ratio: LogRatio, sd_mrad: f64, seed: Seed) -> Gain {
        let mut rng = Rng::new(seed);
        let draws = (0..DRAWS)
            .map(|_| self.gain(0.0, student(&mut rng, ratio.estimate, ratio.se, ratio.df), sd_mrad))
            .collect();
        Gain { points: self.gain(0.0, ratio.estimate, sd_mrad), interval: self.interval(draws) }
    }

    fn gain(&self, shift_mrad: f64, log_ratio: f64, sd_mrad: f64) -> f64 {
        // Beyond these the points are those of an arrow that never or always hits the middle.
        let half = (0.5 * log_ratio).clamp(-20.0, 20.0);
        let sd = sd_mrad * self.distance_m;
        let after = self.points.points_round(shift_mrad * self.distance_m, sd * libm::exp(half));
        after - self.points.points_round(0.0, sd * libm::exp(-half))
    }

    fn interval(&self, mut draws: Vec<f64>) -> [f64; 2] {
        draws.sort_by(f64::total_cmp);
        let tail = 0.5 * (1.0 - self.confidence);
        let at = |share: f64| {
            let place = share * (draws.len() - 1) as f64;
            let low = libm::floor(place) as usize;
            let high = (low + 1).min(draws.len() - 1);
            draws[low] + (place - low as f64) * (draws[high] - draws[low])
        };
        [at(tail), at(1.0 - tail)]
    }
}

/// Draws from Student's t about an estimate.
fn student(rng: &mut Rng, estimate: f64, se: f64, df: f64) -> f64 {
    let z = rng.normal();
    if se == 0.0 {
        return estimate;
    }
    let scale = if df > 1e6 { 1.0 } else { rng.gamma(0.5 * df) / (0.5 * df) };
    // A t with few degrees of freedom may leave every face; so far out nothing changes any more.
    estimate + (se * z / scale.max(1e-12).sqrt()).clamp(-1e6, 1e6)
}
