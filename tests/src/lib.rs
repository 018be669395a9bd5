//! Programs that check claims.

pub mod cases;
pub mod dial_season;
pub mod scenarios;
pub mod season;
pub mod simulation;
