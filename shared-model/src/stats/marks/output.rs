//! What `marks` answers.

use super::MarkedOn;
use serde::Serialize;

/// Marks against distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Marks {
    /// What they are read on.
    pub what: MarkedOn,
    /// What runs through them.
    pub curve: Curve,
    /// The nearest and the farthest mark.
    pub span_m: Option<[f64; 2]>,
    /// Between which distances there are figures.
    pub reach_m: Option<[f64; 2]>,
    /// a of a + b τ; of gaps the tangent of the angle between arrow and line of sight.
    pub zero: Option<f64>,
    /// b: marks for each unit of the launch angle's tangent.
    pub slope: Option<f64>,
    /// Its interval; none where the speed has no interval with two ends.
    pub slope_interval: Option<[f64; 2]>,
    /// The speed of the arrow, known or fitted.
    pub speed: Option<Speed>,
    /// Scatter of a mark about the curve: in mrad of gaps, on the scale or in mm of the others.
    pub sigma: Option<f64>,
    /// Its degrees of freedom.
    pub df: Option<f64>,
    /// The step to which the readings are read.
    pub resolution: f64,
    /// The marks beside the curve, in the order given.
    pub fitted: Vec<FittedMark>,
    /// The distances asked about, in the order given.
    pub table: Vec<MarkAt>,
    /// Where crawl or gap are 0; none for a sight.
    pub point_on: Option<PointOn>,
    /// What is not so, and why.
    pub notes: Vec<String>,
}

/// What runs through the marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Curve {
    /// The flight of an arrow.
    Trajectory,
    /// A monotone curve.
    Monotone,
    /// Nothing.
    None,
}

/// How fast the arrow leaves.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Speed {
    /// m/s.
    pub value_m_s: f64,
    /// Whether it was given.
    pub known: bool,
    /// The interval of a fitted one; an end that the marks do not show is null.
    pub interval_m_s: Option<[Option<f64>; 2]>,
}

/// A mark beside the curve.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FittedMark {
    /// Distance in m.
    pub distance_m: f64,
    /// What was read.
    pub reading: f64,
    /// What the curve through all marks says.
    pub fitted: Option<f64>,
    /// How far the mark stands off the curve through the others.
    pub off: Option<f64>,
    /// The p-value of so much by chance, corrected for the number of marks.
    pub p_adjusted: Option<f64>,
    /// Whether that is less than 1 - confidence.
    pub suspect: bool,
}

/// The mark of a distance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MarkAt {
    /// Distance in m.
    pub distance_m: f64,
    /// Where it lies.
    pub place: Place,
    /// The mark.
    pub value: Option<f64>,
    /// Its interval; of a monotone curve, the neighbouring marks.
    pub interval: Option<[f64; 2]>,
    /// The interval in which a mark that is noted anew will lie.
    pub new_mark_interval: Option<[f64; 2]>,
}

/// Where a distance lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Place {
    /// Between the marks.
    Between,
    /// A little beyond the marks.
    Beyond,
    /// Too far beyond the marks for a figure.
    Outside,
    /// The arrow does not get there.
    OutOfReach,
    /// Farther than the point-on distance: there is no crawl for it.
    PastPointOn,
    /// There is no curve.
    NoCurve,
}

impl Place {
    /// Returns the word for it in a table.
    pub fn word(self) -> &'static str {
        match self {
            Self::Between => "between",
            Self::Beyond => "beyond",
            Self::Outside => "outside",
            Self::OutOfReach => "out_of_reach",
            Self::PastPointOn => "past_point_on",
            Self::NoCurve => "no_curve",
        }
    }
}

/// The distance at which the point is held on the middle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PointOn {
    /// The distance; none where it lies beyond the marks.
    pub distance_m: Option<f64>,
    /// Its interval; an end that the marks do not show is null.
    pub interval_m: [Option<f64>; 2],
}
