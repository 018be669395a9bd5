//! The fold of entries into state, the differences it keeps, and its digest.

mod digest;
mod thing;

pub use digest::Digest;
pub use thing::{Assigned, Contribution, Field, Fields, Thing};
