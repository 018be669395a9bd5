//! Statistical methods: one file each.

pub mod adjust_p;
