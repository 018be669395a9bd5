//! Programs that check claims.

pub mod cases;
pub mod dial_season;
pub mod fire;
pub mod fuzz;
pub mod load;
pub mod power_loss;
pub mod scenarios;
pub mod season;
pub mod simulation;
