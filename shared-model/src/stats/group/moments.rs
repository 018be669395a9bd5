//! Mean point of impact, covariance, standard deviations, radial standard deviation and mean radius.
//!
//! # Formula
//! MPI = (1/n) Σ pᵢ; covariance = Σ (pᵢ − MPI)(pᵢ − MPI)ᵀ / (n − 1); SDs its diagonal's roots;
//! radial SD = √(sₓ² + s_y²); mean radius = (1/n) Σ |pᵢ − MPI|.
//! # Units
//! Points in mm; mm and mm².
//! # Source
//! Grubbs, Statistical Measures of Accuracy for Riflemen and Missile Engineers (1964); Johnson and Wichern,
//! Applied Multivariate Statistical Analysis, 6th ed. (2007), section 3.2.
//! # Limits
//! MPI and mean radius from one arrow on, the others from two. Two passes, so a group far from the centre
//! loses no digits. One flyer pulls all of them; the geometric median resists.

use super::Point;

/// The first two moments of a group.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Moments {
    pub(super) n: usize,
    pub(super) mpi: Point,
    /// Sums of squares and products about the MPI: xx, xy, yy.
    pub(super) scatter: [f64; 3],
    pub(super) mean_radius: f64,
}

/// Returns the moments of one point or more.
pub(super) fn moments(points: &[Point]) -> Moments {
    let n = points.len();
    let mean = |axis: usize| points.iter().map(|p| p[axis]).sum::<f64>() / n as f64;
    let rough = [mean(0), mean(1)];
    // The mean of what is left over takes back the rounding of the first sum.
    let rest = |axis: usize| points.iter().map(|p| p[axis] - rough[axis]).sum::<f64>() / n as f64;
    let mpi = [rough[0] + rest(0), rough[1] + rest(1)];
    let mut scatter = [0.0; 3];
    let mut radii = 0.0;
    for p in points {
        let [dx, dy] = [p[0] - mpi[0], p[1] - mpi[1]];
        scatter[0] += dx * dx;
        scatter[1] += dx * dy;
        scatter[2] += dy * dy;
        radii += libm::hypot(dx, dy);
    }
    Moments { n, mpi, scatter, mean_radius: radii / n as f64 }
}

impl Moments {
    /// Returns the covariance (n − 1), from two arrows on.
    pub(super) fn covariance(&self) -> Option<[[f64; 2]; 2]> {
        let df = self.n.checked_sub(1).filter(|&df| df > 0)? as f64;
        let [xx, xy, yy] = self.scatter.map(|s| s / df);
        Some([[xx, xy], [xy, yy]])
    }
}
