//! Functions that the methods share.

pub(crate) mod fewest;
pub mod gauss_legendre;
pub mod normal;
pub(crate) mod tails;
