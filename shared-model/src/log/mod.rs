//! Entries, clocks, chains and vectors: what travels between devices.

mod adopt;
mod entry;
mod hash;
mod stamp;
mod vector;

pub use adopt::adopt;
pub use entry::{Body, Entry, MAX_BODY, VERSION, read_body, write_body};
pub use hash::{Hash, Hasher};
pub use stamp::{Stamp, Tick};
pub use vector::{Admission, Have, Head, Mark, Vector};
