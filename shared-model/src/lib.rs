//! What Sheaf's records mean, on every device alike.
//!
//! Words become records, records are kept in per-device logs that merge, the merged state yields a
//! timeline for every bow, and the timeline feeds the statistics. Nothing here reads a clock, a
//! random source, a file or the environment: all of these are passed in.

pub mod chart;
pub mod desk;
pub mod door;
pub mod error;
pub mod face;
pub mod id;
pub mod journal;
pub mod kind;
pub mod log;
pub mod merge;
pub mod moment;
pub mod name;
mod named;
pub mod notation;
pub mod qr;
pub mod records;
pub mod replica;
pub mod rig;
pub mod rng;
pub mod stats;
pub mod table;
pub mod timeline;
pub mod verdict;
pub mod wire;

pub use error::ModelError;
