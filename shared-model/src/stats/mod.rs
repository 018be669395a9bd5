//! Statistical methods: one file each.

pub mod adjust_p;
pub mod anytime;
pub mod bare_shaft;
mod chi_square;
pub mod circular_error;
pub mod compare;
pub mod day_to_day;
pub mod effects;
pub mod expected_points;
pub mod expected_round;
pub mod expected_score;
pub mod face_score;
pub mod fit;
pub mod group;
pub mod mixed;
pub mod numbered_arrows;
pub mod plan;
pub mod plan_verdict;
pub mod power;
pub mod scatter_regression;
pub mod season_flyers;
pub mod shots;
pub mod special;
pub mod spread_steps;
pub mod spread_tests;
mod weighted_mean;
pub use weighted_mean::Ellipse;
