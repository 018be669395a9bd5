//! One binary of tests: a list of features.

mod reference;
