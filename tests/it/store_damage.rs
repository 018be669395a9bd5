//! Random damage to a store, a byte at a time: a check reports it or it does no harm, and a service does not start
//! or serves what it served before. `SHEAF_CASES=5000` makes it a long run; a failure prints its seed.

use crate::harness::{
    care::{Kept, copy, files},
    server::TestServer,
};
use sheaf_model::rng::{Rng, Seed};
use sheaf_server::{Clock, Config, Server, ServerError, check};
use std::{
    fs,
    path::{Path, PathBuf},
};
use tempfile::TempDir;

fn cases() -> u64 {
    std::env::var("SHEAF_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(60)
}

/// Opens the service of a folder and lets it go again.
fn opens(data: &Path) -> Result<(), ServerError> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(Server::open(Config::new(data), Clock::System)).map(drop)
}

/// Changes a byte of one of these files into another; returns the file and where.
fn change(from: &[PathBuf], rng: &mut Rng) -> (PathBuf, usize) {
    let path = from[rng.below(from.len() as u64) as usize].clone();
    let mut bytes = fs::read(&path).expect("a file");
    let at = rng.below(bytes.len() as u64) as usize;
    bytes[at] ^= 1 + rng.below(255) as u8;
    fs::write(&path, bytes).expect("it is written");
    (path, at)
}

/// Copies a store in so many cases, and hands each copy out with dice of its own.
fn in_cases(salt: u64, mut case: impl FnMut(&Kept, TempDir, &mut Rng, String)) {
    let kept = Kept::new();
    for n in 0..cases() {
        let folder = TempDir::new().expect("a folder");
        copy(kept.data(), folder.path());
        case(&kept, folder, &mut Rng::new(Seed(salt + n)), format!("seed {}", salt + n));
    }
}

#[test]
fn a_changed_byte_of_the_journal_is_always_reported_and_never_served() {
    in_cases(1_000_000, |_, folder, rng, seed| {
        let data = folder.path();
        let journal: Vec<PathBuf> = files(&data.join("journal")).into_keys().collect();
        let (path, at) = change(&journal, rng);
        let place = format!("{seed}: byte {at} of {}", path.display());
        let harmed = files(&data.join("journal"));
        let report = check(data).expect("it is read");
        assert!(!report.sound, "{place}: {report}");
        let name = path.file_name().and_then(|n| n.to_str()).expect("a name");
        assert!(report.troubles.iter().any(|t| t.file.ends_with(name)), "{place}: {report}");
        let refused = opens(data).expect_err(&place);
        let known = matches!(
            refused,
            ServerError::Damaged { .. } | ServerError::Lost { .. } | ServerError::Newer { .. }
        );
        assert!(known, "{place}: {refused}");
        assert_eq!(files(&data.join("journal")), harmed, "{place}");
    });
}

/// Overwrites a run of bytes, takes one out, puts another in, or copies a part of the file to another place of it.
fn tear(bytes: &[u8], rng: &mut Rng) -> Vec<u8> {
    let mut below = |n: usize| rng.below(n as u64) as usize;
    let at = below(bytes.len());
    let end = (at + 1 + below(600)).min(bytes.len());
    let run: Vec<u8> = match below(5) {
        0 => (at..end).map(|_| below(256) as u8).collect(),
        1 => vec![0; end - at],
        2 => Vec::new(),
        kind => {
            let from = below(bytes.len());
            let run = &bytes[from..(from + 1 + below(900)).min(bytes.len())];
            let to = if kind == 3 { end } else { at };
            return [&bytes[..at], run, &bytes[to..]].concat();
        }
    };
    [&bytes[..at], &run, &bytes[end..]].concat()
}

#[test]
fn a_torn_journal_is_reported_unless_only_something_was_put_behind_its_end() {
    in_cases(4_000_000, |kept, folder, rng, seed| {
        let data = folder.path();
        let journal: Vec<PathBuf> = files(&data.join("journal")).into_keys().collect();
        let path = &journal[rng.below(journal.len() as u64) as usize];
        let good = fs::read(path).expect("a segment");
        let bad = tear(&good, rng);
        if bad == good {
            return;
        }
        fs::write(path, &bad).expect("it is written");
        let report = check(data).expect("it is read");
        let harmless = bad.starts_with(&good) && Some(path) == journal.last();
        assert!(!report.sound || harmless, "{seed}: {}: {report}", path.display());
        if opens(data).is_ok() {
            // A check reads the chains, too, and a start does not: what it serves is what the index knew.
            kept.serves(folder);
        }
    });
}

#[test]
fn without_an_index_a_changed_byte_is_reported_or_in_the_last_batch() {
    in_cases(2_000_000, |_, folder, rng, seed| {
        let data = folder.path();
        fs::remove_dir_all(data.join("index")).expect("it goes");
        let journal: Vec<PathBuf> = files(&data.join("journal")).into_keys().collect();
        let last = journal.last().expect("a segment").clone();
        let text = fs::read_to_string(&last).expect("a segment");
        let batch = text.rfind("{\"batch\":").expect("a batch") - 9;
        let (path, at) = change(&journal, rng);
        let report = check(data).expect("it is read");
        // Damage to the last batch alone looks like a write that a crash cut off; that is said, too.
        let torn = report.remarks.iter().any(|remark| remark.contains("unfinished write"));
        let allowed = path == last && at >= batch && torn;
        assert!(!report.sound || allowed, "{seed}: byte {at} of {}: {report}", path.display());
        assert!(opens(data).is_err() || allowed, "{seed}: byte {at} of {}", path.display());
    });
}

#[test]
fn a_changed_byte_of_the_index_never_changes_what_is_served() {
    in_cases(3_000_000, |kept, folder, rng, seed| {
        let index: Vec<PathBuf> = files(&folder.path().join("index")).into_keys().collect();
        let (path, at) = change(&index, rng);
        eprintln!("{seed}: byte {at} of {}", path.display());
        let report = check(folder.path()).expect("it is read");
        assert!(
            report.sound || report.troubles.iter().all(|t| t.todo.contains("sheafd rebuild")),
            "{report}"
        );
        let folder = std::sync::Arc::new(folder);
        let mut server = TestServer::start_over(folder.clone(), |_| {});
        kept.are_as_before(&server);
        server.stop();
        let after = check(folder.path()).expect("it is read");
        assert!(after.sound && after.index == "agrees", "{seed}: byte {at} of {}: {after}", path.display());
    });
}
