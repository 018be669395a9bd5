//! What a group comes to, in mm.

use super::{GroupFiguresMrad, Point, flyers::FALSE_ALARM};
use serde::Serialize;

/// The figures of a group; lengths in mm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupFigures {
    /// How many arrows.
    pub n: usize,
    /// The confidence of every interval and ellipse.
    pub confidence: f64,
    /// Mean point of impact.
    pub mpi_mm: Point,
    /// Covariance (n − 1).
    pub covariance_mm2: Option<[[f64; 2]; 2]>,
    /// SD in x and in y.
    pub sd_mm: Option<Point>,
    /// Root of the sum of the two variances.
    pub radial_sd_mm: Option<f64>,
    /// Mean distance from the MPI.
    pub mean_radius_mm: f64,
    /// Largest distance between two arrows.
    pub extreme_spread_mm: f64,
    /// Largest less smallest x.
    pub width_mm: f64,
    /// Largest less smallest y.
    pub height_mm: f64,
    /// Mean of width and height.
    pub figure_of_merit_mm: f64,
    /// The smallest circle that holds every arrow.
    pub enclosing_circle: EnclosingCircle,
    /// Area of the convex hull.
    pub hull_area_mm2: f64,
    /// Perimeter of the convex hull; twice the length of a line.
    pub hull_perimeter_mm: f64,
    /// The point with the smallest sum of distances.
    pub geometric_median_mm: Point,
    /// SDs along and across the longest direction.
    pub principal: Principal,
    /// SD along any axis, the group taken for round.
    pub rayleigh: Rayleigh,
    /// Circles about the MPI from the Rayleigh sigma.
    pub cep_circular_mm: ShareRadii,
    /// Circles about the MPI from the covariance.
    pub cep_normal_mm: ShareRadii,
    /// Where the true MPI lies.
    pub mpi_ellipse: MpiEllipse,
    /// Arrows farther out than chance puts them; none when they cannot be looked for.
    pub flyers: Option<Flyers>,
    /// The same divided by the distance.
    pub mrad: Option<GroupFiguresMrad>,
    /// Why a figure is missing.
    pub notes: Vec<String>,
}

/// The smallest circle that holds every arrow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EnclosingCircle {
    /// Its centre.
    pub centre_mm: Point,
    /// Its radius.
    pub radius_mm: f64,
}

/// The principal axes of a group.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Principal {
    /// SD along the longest direction.
    pub sd_major_mm: Option<f64>,
    /// SD across it.
    pub sd_minor_mm: Option<f64>,
    /// The longest direction, counter-clockwise from +x, in (−90, 90]; none for a round group.
    pub angle_deg: Option<f64>,
}

/// The Rayleigh sigma.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Rayleigh {
    /// Unbiased estimate.
    pub sigma_mm: Option<f64>,
    /// Its chi-square interval.
    pub sigma_interval_mm: Option<[f64; 2]>,
}

/// Radii about the MPI that hold 50, 90 and 95 % of arrows.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct ShareRadii {
    /// Holds half.
    #[serde(rename = "50")]
    pub p50: Option<f64>,
    /// Holds 90 %.
    #[serde(rename = "90")]
    pub p90: Option<f64>,
    /// Holds 95 %.
    #[serde(rename = "95")]
    pub p95: Option<f64>,
}

impl ShareRadii {
    /// Returns the radii that a function of the share gives.
    pub(super) fn of(radius: impl Fn(f64) -> f64) -> Self {
        Self { p50: Some(radius(0.5)), p90: Some(radius(0.9)), p95: Some(radius(0.95)) }
    }

    pub(super) fn scaled(self, by: f64) -> Self {
        let scale = |r: Option<f64>| r.map(|r| r / by);
        Self { p50: scale(self.p50), p90: scale(self.p90), p95: scale(self.p95) }
    }
}

/// The ellipse in which the true MPI lies, about the MPI found.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct MpiEllipse {
    /// Longer half axis.
    pub semi_major_mm: Option<f64>,
    /// Shorter half axis.
    pub semi_minor_mm: Option<f64>,
    /// Direction of the longer, as in [`Principal`].
    pub angle_deg: Option<f64>,
}

/// Arrows that lie farther from their group than chance puts them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flyers {
    /// Their places in the list of points, counted from 0.
    pub indices: Vec<usize>,
    /// The chance with which a group without flyers has one flagged.
    pub false_alarm: f64,
    /// How they were found.
    pub method: &'static str,
}

impl Flyers {
    pub(super) fn flagged(indices: Vec<usize>) -> Self {
        let method = "each arrow against the others (Wilks 1963), the farthest taken out in turn (Caroni and \
                      Prescott 1992); groups below ten arrows taken for round";
        Self { indices, false_alarm: FALSE_ALARM, method }
    }
}
