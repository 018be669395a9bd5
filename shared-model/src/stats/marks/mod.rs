//! Marks: sight readings, crawls or gaps against distance.
//!
//! # Formula
//! τ(d) is the tangent of the launch angle that brings the arrow to a target d away at the height of the eye. A sight
//! reads a + b τ(d): a pin at an even distance before the eye. A crawl c lowers the eye over the arrow: c = a + b τ(d)
//! with the eye c nearer to the arrow. A gap at the target over its distance is tan(θ(d) − ψ), ψ the angle between
//! arrow and line of sight. a, b (or ψ) and, where it is not known, the logarithm of the speed by least squares;
//! curve and new mark: value ± t √(gᵀ(JᵀJ)⁻¹g s²) and with 1 + gᵀ(JᵀJ)⁻¹g; speed: where the sum of squares rises by
//! t² s². s is at least the resolution over √12. Where this cannot be: a monotone curve through the marks.
//! # Units
//! Distances in m, sight marks on their own scale, crawls in mm, gaps in mm at the target; speed in m/s.
//! # Source
//! Bates and Watts, Nonlinear Regression Analysis and Its Applications (1988), sections 2.3 and 6.1; Cook and Weisberg,
//! Residuals and Influence in Regression (1982), section 2.2.1; Holm 1979; rounding: GUM (JCGM 100:2008), 4.3.7. The
//! flight as in [`crate::rig::trajectory`].
//! # Limits
//! Four marks where the speed is not known and three where it is, one less for gaps. The interval is that of the mark
//! itself, not of where one arrow lands. The fitted speed hangs on the height of the eye over the arrow and on the drag:
//! it is no chronograph. Up to a fifth (10 m at most) beyond the marks, nothing farther.

mod fit;
mod input;
mod monotone;
mod output;
mod shape;
mod suspect;
mod table;

pub use input::{CD, Flight, MarkedOn, MarksInput, Reading};
pub use output::{Curve, FittedMark, MarkAt, Marks, Place, PointOn, Speed};

use crate::ModelError;
pub use fit::SPEEDS_M_S;
use fit::{Fit, Unfit};

/// Most marks and most distances of one question.
pub const MOST: usize = 500;

/// Fits marks against distance.
///
/// # Errors
/// `out_of_range` and `too_many`, with the place.
pub fn marks(input: &MarksInput) -> Result<Marks, ModelError> {
    input.check()?;
    match Fit::new(input) {
        Ok(fit) => Ok(table::fitted(input, &fit)),
        Err(why) => Ok(monotone::between(input, &why)),
    }
}

impl Unfit {
    fn words(&self, input: &MarksInput) -> String {
        let noun = input.what.noun();
        match *self {
            Self::TooFew { need, distances } => {
                let known = if input.speed_m_s.is_some() { "is known" } else { "is not known" };
                format!(
                    "a fit by the arrow's flight needs {need} {noun} at {distances} distances or more where the arrow's \
                     speed {known}, and there are {} at {}",
                    input.marks.len(),
                    input.distances().len()
                )
            }
            Self::SpeedAtBounds => format!(
                "no arrow speed from {} to {} m/s goes with these {noun}: the fit runs to the edge of what an arrow does",
                fit::SPEEDS_M_S[0],
                fit::SPEEDS_M_S[1]
            ),
            Self::NoTrend => format!("the {noun} do not follow the distance as an arrow flies"),
            Self::NoQuantile => {
                "how wide the ranges of a fit are cannot be reckoned at this confidence".into()
            }
            Self::NotReached(distance_m) => {
                format!("an arrow of that speed does not reach {distance_m} m, where there is a mark")
            }
        }
    }
}

#[cfg(test)]
mod tests;
