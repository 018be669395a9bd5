//! Principal axes: along which line a group is longest, and its SDs along and across it.
//!
//! # Formula
//! angle = ½ atan2(2 sₓᵧ, sₓₓ − s_yy); the SDs are those of the points turned to that angle.
//! # Units
//! mm; degrees counter-clockwise from +x, in (−90, 90].
//! # Source
//! Johnson and Wichern, Applied Multivariate Statistical Analysis, 6th ed. (2007), section 8.2; eigenvectors
//! of a symmetric 2 by 2 matrix in closed form.
//! # Limits
//! From two arrows on. A round group has no direction, so its angle is none.

use super::{Point, moments::Moments};

/// SDs along the axes of a group, and the angle of the longer one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axes {
    pub(super) sd_major: f64,
    pub(super) sd_minor: f64,
    pub(super) angle_deg: Option<f64>,
}

/// Returns the principal axes, from two arrows on.
pub(super) fn principal_axes(points: &[Point], moments: &Moments) -> Option<Axes> {
    let df = moments.n.checked_sub(1).filter(|&df| df > 0)? as f64;
    let [xx, xy, yy] = moments.scatter;
    if libm::hypot(xx - yy, 2.0 * xy) <= 1e-12 * (xx + yy) {
        let sd = ((xx + yy) / (2.0 * df)).sqrt();
        return Some(Axes { sd_major: sd, sd_minor: sd, angle_deg: None });
    }
    let angle = libm::atan2(2.0 * xy, xx - yy) / 2.0;
    let (sin, cos) = (libm::sin(angle), libm::cos(angle));
    let [mut along, mut across] = [0.0; 2];
    for p in points {
        let [dx, dy] = [p[0] - moments.mpi[0], p[1] - moments.mpi[1]];
        along += (dx * cos + dy * sin) * (dx * cos + dy * sin);
        across += (dy * cos - dx * sin) * (dy * cos - dx * sin);
    }
    let degrees = angle.to_degrees();
    let degrees = if degrees <= -90.0 { degrees + 180.0 } else { degrees };
    Some(Axes {
        sd_major: (along / df).sqrt(),
        sd_minor: (across / df).sqrt(),
        angle_deg: Some(degrees + 0.0),
    })
}
