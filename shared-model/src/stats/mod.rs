//! Statistical methods: one file each.

pub mod adjust_p;
pub mod expected_score;
pub mod face_score;
pub mod mixed;
pub mod scatter_regression;
pub mod special;
