//! What bow and arrow are by measure: draw curve, arrow, its flight, and positions from a picture.

pub mod arrow;
pub mod force_draw;
pub mod rectify;
pub mod trajectory;
