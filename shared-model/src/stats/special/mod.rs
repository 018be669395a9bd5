//! Functions that the methods share.

pub mod normal;
