//! The wall clock of the service: the system's, or one that a test sets.

use std::{
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    time::{SystemTime, UNIX_EPOCH},
};

/// A wall clock.
#[derive(Debug, Clone, Default)]
pub enum Clock {
    /// The system's.
    #[default]
    System,
    /// Milliseconds since 1970 that stand until someone sets them.
    Set(Arc<AtomicU64>),
}

impl Clock {
    /// Returns the milliseconds since 1970.
    pub fn now_ms(&self) -> u64 {
        match self {
            Self::System => SystemTime::now()
                .duration_since(UNIX_EPOCH)
                .map_or(0, |d| u64::try_from(d.as_millis()).unwrap_or(u64::MAX)),
            Self::Set(ms) => ms.load(Ordering::SeqCst),
        }
    }
}
