//! What is asked of a draw curve and what is answered, as command line, service and page have it.

use super::CurveToDraw;
use crate::{
    id::ThingId,
    verdict::{bow_sheet::Said, units::Units},
};
use serde::Serialize;

/// What is asked of a bow's draw curve.
#[derive(Debug, Clone)]
pub struct CurveAsked {
    /// Who asks: draws where nobody has shot the bow.
    pub me: ThingId,
    /// Draws at which the weight is wanted, inches; at these another bow's curve is compared too, where one is asked for.
    pub at_in: Vec<f64>,
    /// Whose draw counts; who shot the bow last where left out.
    pub archer: Option<ThingId>,
    /// The arrow set whose speed counts; the latest that was measured where left out.
    pub arrows: Option<ThingId>,
    /// Another bow whose curve is laid over this one's.
    pub beside: Option<ThingId>,
    /// The units that people are told in.
    pub units: Units,
}

impl CurveAsked {
    /// Asks for the curve alone.
    pub fn new(me: ThingId, units: Units) -> Self {
        Self { me, at_in: Vec::new(), archer: None, arrows: None, beside: None, units }
    }
}

/// What a bow's latest draw curve says.
#[derive(Debug, Clone, Serialize)]
pub struct CurveSheet {
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// The record of the curve; none where none is noted.
    pub curve: Option<ThingId>,
    /// The day on which it was measured, in words.
    pub day: Option<String>,
    /// How it stands, in a sentence.
    pub head: String,
    /// How the points of a new curve are typed.
    pub how: String,
    /// Why it is not of the bow as it is now.
    pub stale: Option<String>,
    /// The points, by draw; one that was added is no measured one.
    pub points: Vec<PointRow>,
    /// The weight at the draws that were asked for.
    pub asked: Vec<PointRow>,
    /// What follows, each with its source.
    pub said: Vec<Said>,
    /// The same in figures.
    pub figures: Option<CurveFigures>,
    /// The curve of the other bow.
    pub beside: Option<Beside>,
    /// What there is to know of it.
    pub remarks: Vec<String>,
    /// Every curve of the bow, the latest first.
    pub curves: Vec<CurveRow>,
    /// The picture.
    pub svg: Option<String>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
    /// What can be drawn elsewhere.
    #[serde(skip)]
    pub drawn: Vec<CurveToDraw>,
}

/// A draw with its weight.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointRow {
    /// The draw, inches.
    pub draw_in: f64,
    /// The weight, lbf.
    pub weight_lbf: f64,
    /// By how much it gains there, lbf/in; none for a point of the record.
    pub slope_lbf_per_in: Option<f64>,
    /// The draw in words.
    pub draw: String,
    /// The weight in words.
    pub weight: String,
    /// Whether it was added and not measured.
    pub added: bool,
}

/// What follows from a curve, in figures.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct CurveFigures {
    /// Full draw: the archer's own where it was measured, else the last draw measured; inches.
    pub full_draw_in: f64,
    /// Whether that is the archer's own.
    pub own_draw: bool,
    /// The weight there, lbf.
    pub weight_lbf: f64,
    /// By how much it gains there, lbf/in.
    pub slope_lbf_per_in: f64,
    /// The gain over the last inch, lbf/in.
    pub last_inch_lbf_per_in: Option<f64>,
    /// The gain in the middle of the draw, lbf/in.
    pub middle_lbf_per_in: Option<f64>,
    /// The first over the second.
    pub stacking: Option<f64>,
    /// The energy stored up to full draw, ft·lbf.
    pub stored_energy_ftlbf: f64,
    /// The same in J.
    pub stored_energy_j: f64,
    /// Whether the curve begins where there is no weight, so that all of the energy is in it.
    pub from_no_weight: bool,
    /// ft·lbf stored for each lbf at full draw.
    pub energy_per_pound: Option<f64>,
    /// The kinetic energy of the arrow whose speed was measured, J.
    pub kinetic_energy_j: Option<f64>,
    /// That over the energy stored up to the draw of who drew for the speed.
    pub efficiency: Option<f64>,
    /// Who drew for the speed, where that is noted.
    pub efficiency_archer: Option<ThingId>,
    /// That draw, inches.
    pub efficiency_draw_in: Option<f64>,
}

/// The curve of another bow.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Beside {
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// The day on which its curve was measured.
    pub day: Option<String>,
    /// How the two compare.
    pub words: Vec<String>,
}

/// A curve that is kept.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CurveRow {
    /// Which record.
    pub id: ThingId,
    /// When it was measured, RFC 3339.
    pub at: String,
    /// Draws and weights as they were measured.
    pub points: Vec<[f64; 2]>,
    /// The draw without weight that was added, inches.
    pub no_weight_draw_in: Option<f64>,
    /// Day, points and state, in words.
    pub words: String,
    /// Whether the bow is still as it was.
    pub valid: bool,
    /// The remark that its record holds.
    pub note: Option<String>,
}
