//! What the keeper of a service does for its data folder: check it, make derived data anew, back it up, restore it.

mod audit;
mod backup;
mod chains;
mod check;
mod rebuild;
mod report;
mod restore;

pub use backup::{Backup, backup};
pub use check::check;
pub use rebuild::rebuild;
pub use report::{Report, TeamReport, Trouble};
pub use restore::{no_half_restore, restore};

use crate::error::ServerError;
use std::path::{Path, PathBuf};

/// Returns where a data folder keeps its journal.
fn journal_of(data: &Path) -> PathBuf {
    data.join("journal")
}

/// Returns where a data folder keeps its index.
fn index_of(data: &Path) -> PathBuf {
    data.join("index")
}

fn unfit(file: &Path, why: impl Into<String>) -> ServerError {
    ServerError::Unfit { file: file.to_owned(), why: why.into() }
}
