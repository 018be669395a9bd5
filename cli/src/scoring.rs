//! What the arrows of a group score, by the arrow sets of a home.

use crate::{CliError, store::Home};
use sheaf_model::{id::ThingId, kind::Group, records};

pub use sheaf_model::records::{off_face, scores};

/// Returns the diameter of the shafts of an arrow set in mm; 0 where it is not noted, so that only the point counts.
pub fn shaft_mm(home: &Home, arrows: Option<ThingId>) -> Result<f64, CliError> {
    records::shaft_mm(home.store(), arrows)
}

/// Returns the numbers of a group that no arrow of its set has, with how many arrows that set has; none where the
/// set's count is not noted.
pub fn beyond_set(home: &Home, group: &Group) -> Result<(Vec<String>, u32), CliError> {
    records::beyond_set(home.store(), group)
}
