//! What a cold finger types: shots, distances, units.

mod arrow_number;
mod clock;
mod distance;
mod quantity;
mod series;
mod shots;

pub use arrow_number::arrow_number;
pub use clock::clock_words;
pub(crate) use distance::rounded;
pub use distance::{
    Length, distance_m, distance_words, length_mm, looks_like_distance, same_distance, tenths_mm,
};
pub use quantity::{bare, quantity, unit_meant, unit_of};
pub use series::{numbers, series};
pub use shots::{Shot, looks_like_shot, shot, shots, write};
