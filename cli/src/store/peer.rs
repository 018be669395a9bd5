//! `server-have.json`: how far each log had come on the server when it was last heard of. It only saves a
//! request; without it, or with a wrong one, the exchange finds out anew.

use super::files;
use sheaf_model::log::Have;
use std::{fs, path::Path};

const NAME: &str = "server-have.json";

/// Returns what the server had when it was last heard of.
pub fn read_server_have(journal: &Path) -> Have {
    let text = fs::read(journal.join(NAME)).unwrap_or_default();
    serde_json::from_slice(&text).unwrap_or_default()
}

/// Remembers what the server has; a disk that cannot take it is no error.
pub fn write_server_have(journal: &Path, have: &Have) {
    if let Ok(text) = serde_json::to_vec(have) {
        let _ = files::replace_derived(&journal.join(NAME), &text);
    }
}

/// Forgets it.
pub fn forget_server(journal: &Path) {
    let _ = fs::remove_file(journal.join(NAME));
}
