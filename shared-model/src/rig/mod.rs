//! What bow and arrow are by measure: draw curve, arrow, its flight, positions from a picture; what the trade expects of
//! a bow, how it is rebuilt, what wears, and where people get hurt.

pub mod arrow;
pub mod caution;
pub mod force_draw;
pub mod launch_angle;
pub mod monotone;
pub mod rebuild;
pub mod rectify;
pub mod trajectory;
pub mod wear;
pub mod weight;
