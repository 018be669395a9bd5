//! What a group comes to, in mrad: lengths in mm divided by the distance in m.

use super::{GroupFigures, Point, ShareRadii};
use serde::Serialize;

/// The lengths of [`GroupFigures`] divided by the distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GroupFiguresMrad {
    /// Mean point of impact.
    pub mpi_mrad: Point,
    /// Covariance (n − 1).
    pub covariance_mrad2: Option<[[f64; 2]; 2]>,
    /// SD in x and in y.
    pub sd_mrad: Option<Point>,
    /// Root of the sum of the two variances.
    pub radial_sd_mrad: Option<f64>,
    /// Mean distance from the MPI.
    pub mean_radius_mrad: f64,
    /// Largest distance between two arrows.
    pub extreme_spread_mrad: f64,
    /// Largest less smallest x.
    pub width_mrad: f64,
    /// Largest less smallest y.
    pub height_mrad: f64,
    /// Mean of width and height.
    pub figure_of_merit_mrad: f64,
    /// The smallest circle that holds every arrow.
    pub enclosing_circle: EnclosingCircleMrad,
    /// Area of the convex hull.
    pub hull_area_mrad2: f64,
    /// Perimeter of the convex hull.
    pub hull_perimeter_mrad: f64,
    /// The point with the smallest sum of distances.
    pub geometric_median_mrad: Point,
    /// SDs along and across the longest direction.
    pub principal: PrincipalMrad,
    /// SD along any axis, the group taken for round.
    pub rayleigh: RayleighMrad,
    /// Circles about the MPI from the Rayleigh sigma.
    pub cep_circular_mrad: ShareRadii,
    /// Circles about the MPI from the covariance.
    pub cep_normal_mrad: ShareRadii,
    /// Where the true MPI lies.
    pub mpi_ellipse: MpiEllipseMrad,
}

/// The smallest circle that holds every arrow.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EnclosingCircleMrad {
    /// Its centre.
    pub centre_mrad: Point,
    /// Its radius.
    pub radius_mrad: f64,
}

/// The principal axes of a group.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PrincipalMrad {
    /// SD along the longest direction.
    pub sd_major_mrad: Option<f64>,
    /// SD across it.
    pub sd_minor_mrad: Option<f64>,
    /// The longest direction in degrees.
    pub angle_deg: Option<f64>,
}

/// The Rayleigh sigma.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RayleighMrad {
    /// Unbiased estimate.
    pub sigma_mrad: Option<f64>,
    /// Its chi-square interval.
    pub sigma_interval_mrad: Option<[f64; 2]>,
}

/// The ellipse in which the true MPI lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MpiEllipseMrad {
    /// Longer half axis.
    pub semi_major_mrad: Option<f64>,
    /// Shorter half axis.
    pub semi_minor_mrad: Option<f64>,
    /// Direction of the longer in degrees.
    pub angle_deg: Option<f64>,
}

impl GroupFiguresMrad {
    /// Returns the figures of a group at a distance.
    pub(super) fn at(f: &GroupFigures, distance_m: f64) -> Self {
        let pair = |p: Point| p.map(|x| x / distance_m);
        let some = |x: Option<f64>| x.map(|x| x / distance_m);
        let circle = &f.enclosing_circle;
        Self {
            mpi_mrad: pair(f.mpi_mm),
            covariance_mrad2: f.covariance_mm2.map(|c| c.map(|row| pair(pair(row)))),
            sd_mrad: f.sd_mm.map(pair),
            radial_sd_mrad: some(f.radial_sd_mm),
            mean_radius_mrad: f.mean_radius_mm / distance_m,
            extreme_spread_mrad: f.extreme_spread_mm / distance_m,
            width_mrad: f.width_mm / distance_m,
            height_mrad: f.height_mm / distance_m,
            figure_of_merit_mrad: f.figure_of_merit_mm / distance_m,
            enclosing_circle: EnclosingCircleMrad {
                centre_mrad: pair(circle.centre_mm),
                radius_mrad: circle.radius_mm / distance_m,
            },
            hull_area_mrad2: f.hull_area_mm2 / distance_m / distance_m,
            hull_perimeter_mrad: f.hull_perimeter_mm / distance_m,
            geometric_median_mrad: pair(f.geometric_median_mm),
            principal: PrincipalMrad {
                sd_major_mrad: some(f.principal.sd_major_mm),
                sd_minor_mrad: some(f.principal.sd_minor_mm),
                angle_deg: f.principal.angle_deg,
            },
            rayleigh: RayleighMrad {
                sigma_mrad: some(f.rayleigh.sigma_mm),
                sigma_interval_mrad: f.rayleigh.sigma_interval_mm.map(pair),
            },
            cep_circular_mrad: f.cep_circular_mm.scaled(distance_m),
            cep_normal_mrad: f.cep_normal_mm.scaled(distance_m),
            mpi_ellipse: MpiEllipseMrad {
                semi_major_mrad: some(f.mpi_ellipse.semi_major_mm),
                semi_minor_mrad: some(f.mpi_ellipse.semi_minor_mm),
                angle_deg: f.mpi_ellipse.angle_deg,
            },
        }
    }
}
