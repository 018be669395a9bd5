//! Pictures for the page: SVG from plain numbers, coloured by the page's style sheet alone.

mod little_face;

pub use little_face::{Lie, LittleFace};
