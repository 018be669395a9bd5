//! What bow and arrow are by measure: draw curve, arrow, its flight, positions from a picture; what the trade expects of
//! a bow, how it is rebuilt, what wears, and where people get hurt.

pub mod arrow;
pub mod arrow_set;
pub mod caution;
pub mod combinations;
pub mod fits;
pub mod force_draw;
#[cfg(test)]
mod force_draw_laws;
pub mod launch_angle;
pub mod limits;
pub mod monotone;
pub mod pair;
pub mod rebuild;
pub mod rectify;
pub mod speed;
pub mod spine;
pub mod stacking;
pub mod trajectory;
pub mod wear;
pub mod weight;
pub mod whereabouts;
