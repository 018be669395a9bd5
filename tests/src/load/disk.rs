//! What the disk does on its own, and what lies on it.

use super::pace::Pace;
use sheaf_model::{
    id::TeamId,
    journal::{Line, encode},
    log::Entry,
};
use std::{
    fs::{self, File},
    io::Write as _,
    path::Path,
    time::{Duration, Instant},
};

/// Appends what the journal writes for an entry that comes alone, and syncs, again and again.
pub fn synced_writes(folder: &Path, team: TeamId, entry: &Entry, time: Duration) -> Pace {
    let mut bytes = Vec::new();
    for line in [Line::Batch(100), Line::Entry(team, Box::new(entry.clone()))] {
        encode(&line, &mut bytes).expect("a line can be written");
    }
    let path = folder.join("synced-writes");
    let mut file = File::create(&path).expect("a file can be made");
    let (began, mut took) = (Instant::now(), Vec::new());
    while began.elapsed() < time {
        let one = Instant::now();
        file.write_all(&bytes).and_then(|()| file.sync_data()).expect("the disk takes it");
        took.push(one.elapsed());
    }
    let pace = Pace::new(took, began.elapsed());
    fs::remove_file(&path).expect("it can be removed");
    pace
}

/// Returns the bytes of all files below a folder.
pub fn size(folder: &Path) -> u64 {
    let items = fs::read_dir(folder).into_iter().flatten().flatten();
    items
        .map(|item| match item.metadata() {
            Ok(found) if found.is_dir() => size(&item.path()),
            Ok(found) => found.len(),
            Err(_) => 0,
        })
        .sum()
}
