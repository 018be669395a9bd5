//! One binary of tests: a list of features.

mod harness;
mod reference;
mod tidy;
