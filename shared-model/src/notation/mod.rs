//! What a cold finger types: shots, distances, units.

mod distance;
mod quantity;
mod shots;

pub(crate) use distance::rounded;
pub use distance::{Length, distance_m, length_mm};
pub use quantity::{bare, quantity, unit_of};
pub use shots::{Shot, shot, shots, write};
