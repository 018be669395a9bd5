//! Programs that check claims.

pub mod cases;
pub mod scenarios;
pub mod season;
