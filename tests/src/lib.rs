//! Programs that check claims.

pub mod cases;
