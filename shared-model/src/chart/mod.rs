//! Pictures as SVG, from plain numbers.
//!
//! A picture is text that a page takes in: `viewBox` in units that are pixels at 358 px, the width of a phone's column;
//! no letter is smaller than 12 of them. Meaning stands in classes and in shapes: `ring ring-yellow` … `ring-white` with
//! `faint` where they lie behind, `before` (squares, dashed ellipse), `after` (discs, solid ellipse), `ellipse` of a mean,
//! `spread` of the arrows, `mean`, `flyer`, `bare`, `arrow-mark`, `band`, `small` (too small to matter), `axis`, `deal`,
//! `reach`, `bar`, `enough`, `mark-line`, `curve`, `area`, `point`, `text`. Colours come from a style sheet; without one a picture is black on white.
//! No `style`, no `id`, no script; every word from outside is escaped.

mod band;
mod before_after;
mod deals;
mod draw_curve;
mod face_group;
mod little_face;
mod marks;
mod plan_bars;
mod scale;
mod svg;
#[cfg(test)]
mod tests;
mod window;

pub use band::{Band, band};
pub use before_after::{BeforeAfter, Side, before_after};
pub use deals::{Deals, deals};
pub use draw_curve::{DrawCurves, DrawnCurve, draw_curves};
pub use face_group::{FaceGroup, Shot, face_group};
pub use little_face::{Lie, LittleFace};
pub use marks::{MarkCurve, mark_curve};
pub use plan_bars::{PlanBar, PlanBars, plan_bars};
pub(crate) use svg::escaped;

use crate::stats::group::GroupFigures;
use serde::Serialize;

/// An ellipse on the face.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ellipse {
    /// Its centre, mm right and up of the middle.
    pub centre_mm: [f64; 2],
    /// Its half axes in mm, the longer first.
    pub semi_mm: [f64; 2],
    /// The direction of the longer from x to y, radians.
    pub angle_rad: f64,
}

impl Ellipse {
    /// Returns where the true mean of a group lies, with the confidence of its figures; none below three arrows.
    pub fn of_mean(figures: &GroupFigures) -> Option<Self> {
        let found = &figures.mpi_ellipse;
        Some(Self::new(figures.mpi_mm, [found.semi_major_mm?, found.semi_minor_mm?], found.angle_deg))
    }

    /// Returns the ellipse of one SD along and across a group's longest direction; none below two arrows.
    pub fn of_spread(figures: &GroupFigures) -> Option<Self> {
        let found = &figures.principal;
        Some(Self::new(figures.mpi_mm, [found.sd_major_mm?, found.sd_minor_mm?], found.angle_deg))
    }

    fn new(centre_mm: [f64; 2], semi_mm: [f64; 2], angle_deg: Option<f64>) -> Self {
        Self { centre_mm, semi_mm, angle_rad: angle_deg.unwrap_or(0.0).to_radians() }
    }

    /// Returns how far it reaches from its centre sideways and in height, mm.
    fn reach_mm(&self) -> [f64; 2] {
        let ([a, b], (sin, cos)) = (self.semi_mm, libm::sincos(self.angle_rad));
        [libm::hypot(a * cos, b * sin), libm::hypot(a * sin, b * cos)]
    }
}
