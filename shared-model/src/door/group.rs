//! `group` behind the door.

use super::{read::Field, write};
use crate::{ModelError, stats::group::group};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  points_mm   list of arrows [x, y] on the face, x to the archer's right, y up, from the centre;
              one or more
  distance_m  (optional) above 0; adds the figures in mrad
  confidence  (optional, 0.95) of the intervals, between 0 and 1
Output
  n, mpi_mm, covariance_mm2 (n - 1), sd_mm [x, y], radial_sd_mm, mean_radius_mm,
  extreme_spread_mm, width_mm, height_mm, figure_of_merit_mm (mean of width and height)
  enclosing_circle     centre_mm, radius_mm: the smallest circle that holds every arrow
  hull_area_mm2, hull_perimeter_mm: of the convex hull; twice its length for a line
  geometric_median_mm  the point with the smallest sum of distances; flyers hardly move it
  principal            sd_major_mm, sd_minor_mm, angle_deg: along and across the longest direction
  rayleigh             sigma_mm (unbiased), sigma_interval_mm (chi-square): a round group's SD
  cep_circular_mm      radius about the MPI that holds 50, 90, 95 % of a round group
  cep_normal_mm        the same from the covariance
  mpi_ellipse          semi_major_mm, semi_minor_mm, angle_deg: where the true MPI lies (Hotelling)
  flyers               indices (from 0), false_alarm, method; null below five arrows
  mrad                 the lengths divided by the distance, null without one
  notes                why a figure is null
Units
  mm on the face; mrad (mm divided by m); angles in degrees counter-clockwise from +x, in (-90, 90],
  null for a round group
Source
  Grubbs, Statistical Measures of Accuracy for Riflemen and Missile Engineers (1964); Johnson and
  Wichern, Applied Multivariate Statistical Analysis (2007), chapter 5; Johnson, Kotz and
  Balakrishnan, Continuous Univariate Distributions 1 (1994), chapter 18; Harter, Journal of the
  American Statistical Association 55 (1960) 723; Wilks, Sankhya A 25 (1963) 407; Caroni and
  Prescott, Applied Statistics 41 (1992) 355
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let points = root.need("points_mm")?.points(1)?;
    let distance = root.find("distance_m").map(|f| f.number_above_zero()).transpose()?;
    let confidence = root.find("confidence").map_or(Ok(0.95), |f| f.fraction())?;
    write::output(&group(&points, distance, confidence)?)
}
