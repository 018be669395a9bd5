//! A bow's changes and groups in order, and the setup at any moment.
