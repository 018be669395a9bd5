//! Functions that the methods share.

pub mod gauss_legendre;
pub mod normal;
pub(crate) mod tails;
