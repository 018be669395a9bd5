//! One binary of tests: a list of features.
