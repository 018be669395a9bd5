//! Entries, clocks, chains and vectors: what travels between devices.
