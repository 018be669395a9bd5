//! Statistical methods: one file each.

pub mod adjust_p;
mod chi_square;
pub mod circular_error;
pub mod compare;
pub mod dial;
pub mod effects;
pub mod expected_points;
pub mod expected_score;
pub mod face_score;
pub mod fit;
pub mod group;
pub mod mixed;
pub mod power;
pub mod scatter_regression;
pub mod special;
pub mod spread_steps;
pub mod spread_tests;
