//! Kept inputs, every input that once broke a promise, and changed copies of them, through the targets of
//! `tests/src/fuzz`. `SHEAF_CASES=100` changes each input that often instead.

use sheaf_tests::fuzz::{TARGETS, Target, mutate::mutated};
use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    path::{Path, PathBuf},
};

fn folder(kept: &str, target: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz").join(kept).join(target)
}

/// Returns the inputs of a folder by name, in order.
fn inputs(kept: &str, target: &str) -> Vec<(String, Vec<u8>)> {
    let Ok(folder) = fs::read_dir(folder(kept, target)) else { return Vec::new() };
    let read = |path: PathBuf| {
        let name = format!("{kept}/{target}/{}", path.file_name().unwrap_or_default().display());
        (name, fs::read(&path).expect("an input"))
    };
    let mut inputs: Vec<_> = folder.map(|file| read(file.expect("an input").path())).collect();
    inputs.sort();
    inputs
}

/// Puts an input through a target; a failure names the input.
fn holds(target: Target, name: &str, bytes: &[u8]) {
    if let Err(cause) = catch_unwind(AssertUnwindSafe(|| (target.check)(bytes))) {
        let why = cause.downcast_ref::<String>().map(String::as_str);
        let why = why.or_else(|| cause.downcast_ref::<&str>().copied()).unwrap_or_default();
        panic!("{}: {name}: {why}\n{}", target.name, String::from_utf8_lossy(bytes));
    }
}

fn replay(name: &str, changed: u64) {
    let target = *TARGETS.iter().find(|t| t.name == name).expect("a target");
    let corpus = inputs("corpus", name);
    assert!(!corpus.is_empty(), "{name} has inputs");
    let crashes = inputs("crashes", name);
    for (name, bytes) in corpus.iter().chain(&crashes) {
        holds(target, name, bytes);
    }
    let long: Option<u64> = std::env::var("SHEAF_CASES").ok().and_then(|n| n.parse().ok());
    let seeds = long.map_or(changed, |each| each * corpus.len() as u64);
    for seed in 0..seeds {
        let (name, bytes) = &corpus[(seed % corpus.len() as u64) as usize];
        holds(target, &format!("{name}, changed by seed {seed}"), &mutated(bytes, seed));
    }
}

macro_rules! replays {
    ($($name:ident: $changed:expr,)*) => {
        $(#[test]
        fn $name() {
            replay(stringify!($name), $changed);
        })*

        #[test]
        fn every_target_and_every_folder_of_inputs_is_replayed() {
            let mut names = vec![$(stringify!($name).to_owned()),*];
            names.sort();
            assert_eq!(names, TARGETS.iter().map(|t| t.name.to_owned()).collect::<Vec<_>>());
            for kept in ["corpus", "crashes"] {
                let folders = fs::read_dir(folder(kept, "")).expect("a folder of inputs");
                for name in folders.map(|f| f.expect("a folder").file_name().into_string().expect("a name")) {
                    assert!(names.contains(&name), "fuzz/{kept}/{name} is of no target");
                }
            }
        }
    };
}

// How often inputs are changed: as often as a few seconds allow in a debug build.
replays! {
    backup: 60,
    bundle: 1000,
    compute: 600,
    desk: 300,
    entry: 600,
    exchange: 1000,
    notation: 600,
    records: 60,
    request: 300,
    table: 1500,
}

#[test]
fn a_changed_input_is_another_one_and_the_same_for_the_same_seed() {
    let input = b"compare\n{\"a\": {\"points_mm\": [[1, 2], [3, 4]]}, \"b\": 0.5}\nx,y\n1,2\n";
    let changed: Vec<_> = (0..200).map(|seed| mutated(input, seed)).collect();
    assert_eq!(changed, (0..200).map(|seed| mutated(input, seed)).collect::<Vec<_>>());
    let different = changed.iter().filter(|bytes| bytes.as_slice() != input).count();
    assert!(different > 150, "{different} of 200 differ");
}
