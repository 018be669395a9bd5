//! The kinds of record: one file each.
