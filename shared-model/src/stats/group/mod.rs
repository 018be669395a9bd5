//! A group of arrows in figures: where it is, how wide, of what shape, and how sure that is.
//!
//! # Formula
//! One file each for the quantities: see [`GroupFigures`] and the files of this module.
//! # Units
//! Points in mm on the face, x to the archer's right, y up; divided by the distance in m they are mrad.
//! # Source
//! Named in each file.
//! # Limits
//! From one arrow to many thousands; what the arrows cannot give is none, and the notes say why.

mod enclosing;
mod figures;
mod flyers;
mod geometric_median;
mod hull;
mod moments;
mod mpi_ellipse;
mod mrad;
mod principal;
mod rayleigh;

pub use figures::{EnclosingCircle, Flyers, GroupFigures, MpiEllipse, Principal, Rayleigh, ShareRadii};
pub use mrad::{EnclosingCircleMrad, GroupFiguresMrad, MpiEllipseMrad, PrincipalMrad, RayleighMrad};

use super::circular_error;
use crate::ModelError;
use moments::{Moments, moments};
use principal::Axes;

/// A point on the face: x to the archer's right, y up.
pub type Point = [f64; 2];

/// No face is near this large; beyond it squares lose their meaning.
const FARTHEST_MM: f64 = 1e9;

/// Returns the figures of a group.
///
/// Points are in mm, `distance_m` adds the figures in mrad, `confidence` is that of the intervals.
///
/// # Errors
/// `too_few` without points; `out_of_range` for a point that is not finite or beyond 1,000 km, a distance
/// that is not above 0, or a confidence that is not between 0 and 1.
pub fn group(points: &[Point], distance_m: Option<f64>, confidence: f64) -> Result<GroupFigures, ModelError> {
    check(points, distance_m, confidence)?;
    let moments = moments(points);
    let hull = hull::corners(points);
    let axes = principal::principal_axes(points, &moments);
    let span = |axis: usize| {
        let (low, high) =
            points.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p[axis]), h.max(p[axis])));
        high - low
    };
    let (width, height) = (span(0), span(1));
    let (centre, radius) = enclosing::enclosing_circle(&hull);
    let covariance = moments.covariance();
    let flagged = flyers::flyers(points);
    let mut figures = GroupFigures {
        n: points.len(),
        confidence,
        mpi_mm: moments.mpi,
        covariance_mm2: covariance,
        sd_mm: covariance.map(|c| [c[0][0].sqrt(), c[1][1].sqrt()]),
        radial_sd_mm: covariance.map(|c| (c[0][0] + c[1][1]).sqrt()),
        mean_radius_mm: moments.mean_radius,
        extreme_spread_mm: hull::extreme_spread(&hull),
        width_mm: width,
        height_mm: height,
        figure_of_merit_mm: (width + height) / 2.0,
        enclosing_circle: EnclosingCircle { centre_mm: centre, radius_mm: radius },
        hull_area_mm2: hull::area(&hull),
        hull_perimeter_mm: hull::perimeter(&hull),
        geometric_median_mm: geometric_median::geometric_median(points, &hull, &moments),
        principal: Principal::default(),
        rayleigh: Rayleigh::default(),
        cep_circular_mm: ShareRadii::default(),
        cep_normal_mm: ShareRadii::default(),
        mpi_ellipse: MpiEllipse::default(),
        flyers: flagged.map(Flyers::flagged),
        mrad: None,
        notes: Vec::new(),
    };
    if let Some(axes) = axes {
        fill_from_two_arrows_on(&mut figures, axes, &moments);
    }
    figures.notes = notes(&figures);
    figures.mrad = distance_m.map(|distance| GroupFiguresMrad::at(&figures, distance));
    Ok(figures)
}

fn fill_from_two_arrows_on(figures: &mut GroupFigures, axes: Axes, moments: &Moments) {
    let Axes { sd_major, sd_minor, angle_deg } = axes;
    figures.principal = Principal { sd_major_mm: Some(sd_major), sd_minor_mm: Some(sd_minor), angle_deg };
    if let Some(s) = rayleigh::rayleigh_sigma(moments, figures.confidence) {
        figures.rayleigh = Rayleigh { sigma_mm: Some(s.sigma), sigma_interval_mm: Some(s.interval) };
        figures.cep_circular_mm = ShareRadii::of(|p| rayleigh::circle_radius(s.sigma, p));
    }
    figures.cep_normal_mm = ShareRadii::of(|p| circular_error::radius_of(p, sd_major, sd_minor));
    if let Some(factor) = mpi_ellipse::half_axis_factor(moments.n, figures.confidence) {
        figures.mpi_ellipse = MpiEllipse {
            semi_major_mm: Some(factor * sd_major),
            semi_minor_mm: Some(factor * sd_minor),
            angle_deg,
        };
    }
}

fn notes(figures: &GroupFigures) -> Vec<String> {
    let mut notes = Vec::new();
    let mut say = |words: &str| notes.push(words.to_owned());
    match figures.n {
        1 => say(
            "One arrow: covariance, SDs, axes, sigma, circles of error and the ellipse of the MPI need two or \
             more (the ellipse three), and the sizes of 0 say nothing about the spread.",
        ),
        2 => say(
            "Two arrows: the ellipse of the MPI needs three, and the minor axis is 0 because two arrows lie on a \
             line.",
        ),
        _ => {}
    }
    if figures.n < 5 {
        say("Flyers are looked for from five arrows on.");
    } else if figures.flyers.is_none() {
        say("Flyers are not looked for: the arrows lie on one spot or on a line.");
    }
    if figures.n > 1 && figures.principal.angle_deg.is_none() {
        say("The group is round, so its axes have no direction.");
    }
    notes
}

fn check(points: &[Point], distance_m: Option<f64>, confidence: f64) -> Result<(), ModelError> {
    if points.is_empty() {
        return Err(ModelError::new("too_few", "A group needs at least one arrow.").at("points_mm"));
    }
    let far = |p: &Point| !p.iter().all(|x| x.abs() <= FARTHEST_MM);
    if let Some(i) = points.iter().position(far) {
        let message =
            format!("Arrow {} lies at {:?} mm; positions are within 1e9 mm of the centre.", i + 1, points[i]);
        return Err(ModelError::new("out_of_range", message).at(format!("points_mm[{i}]")));
    }
    if let Some(d) = distance_m.filter(|d| !(d.is_finite() && *d > 0.0)) {
        let message = format!("The distance is {d} m; it has to be above 0.");
        return Err(ModelError::new("out_of_range", message).at("distance_m"));
    }
    if !(confidence > 0.0 && confidence < 1.0) {
        let message =
            format!("The confidence is {confidence}; it has to lie between 0 and 1, for example 0.95.");
        return Err(ModelError::new("out_of_range", message).at("confidence"));
    }
    Ok(())
}

#[cfg(test)]
mod tests;
