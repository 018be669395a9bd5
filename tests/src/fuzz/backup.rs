//! Backups of a service: lines of JSON to which checksums and a seal are added, and the same with their logs put right.

use super::{bundle::sealed, chain::mended_one};
use sheaf_model::{
    journal::{self, Line},
    log::Vector,
};
use sheaf_server::{ServerError, TeamReport, backup, check as checked, restore};
use std::{fs, path::Path};

/// Restores a backup: whole, or not at all and with the reason. What was restored passes the check of the service, and a
/// backup of it restores to the same.
pub fn check(bytes: &[u8]) {
    restored(bytes);
    restored(&sealed(bytes, true));
    restored(&sealed(&mended(bytes), true));
}

/// Puts the logs right, line by line; what is no entry stays as it is.
fn mended(bytes: &[u8]) -> Vec<u8> {
    let mut vector = Vector::default();
    let mend = |line: &[u8]| match serde_json::from_slice::<Line>(line) {
        Ok(Line::Entry(team, entry)) => {
            let entry = mended_one(&mut vector, *entry)?;
            serde_json::to_vec(&Line::Entry(team, Box::new(entry))).ok()
        }
        _ => Some(line.to_vec()),
    };
    bytes.split(|b| *b == b'\n').filter_map(mend).collect::<Vec<_>>().join(&b'\n')
}

fn restored(bytes: &[u8]) {
    // An empty journal is a torn one, and nothing is written for it.
    if !bytes.split_inclusive(|b| *b == b'\n').next().is_some_and(journal::is_whole) {
        return;
    }
    let folder = tempfile::tempdir().expect("a folder");
    let (data, file) = (folder.path().join("data"), folder.path().join("a.backup"));
    fs::write(&file, bytes).expect("it is written");
    let Some(teams) = well(restore(&data, &file)) else {
        assert!(!data.join("journal").exists() && !data.join("journal.restoring").exists());
        return;
    };
    let report = checked(&data).expect("it is read");
    assert!(report.sound, "{report}");
    let again = folder.path().join("b.backup");
    backup(&data, &again).expect("a backup is written");
    let twice: Vec<TeamReport> = restore(&folder.path().join("twice"), &again).expect("a backup is restored");
    assert_eq!(text(&twice), text(&teams));
    assert_eq!(lines(&again), lines(&made_again(folder.path())));
}

/// Writes a backup of what was restored from a backup.
fn made_again(folder: &Path) -> std::path::PathBuf {
    let file = folder.join("c.backup");
    backup(&folder.join("twice"), &file).expect("a backup is written");
    file
}

/// Returns what a backup holds, without its batches.
fn lines(file: &Path) -> Vec<String> {
    let text = fs::read_to_string(file).expect("a backup is text");
    text.lines()
        .filter(|line| line.contains("{\"entry\"") || line.contains("{\"act\""))
        .map(str::to_owned)
        .collect()
}

fn well<T>(done: Result<T, ServerError>) -> Option<T> {
    done.inspect_err(|e| assert!(!e.to_string().trim().is_empty(), "{e:?}")).ok()
}

fn text<T: serde::Serialize>(of: &T) -> String {
    serde_json::to_string(of).expect("it is written")
}
