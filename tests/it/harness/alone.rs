//! One device by itself, run in-process.

use super::server::T0;
use sheaf_cli::Env;
use std::{
    cell::Cell,
    io::{self, Write},
    path::Path,
    sync::atomic::{AtomicU64, Ordering},
};

/// Runs a command line in-process, and returns its exit code and remarks.
pub fn run(home: &Path, out: &mut dyn Write, typed: &str, words: &[&str]) -> (u8, String) {
    run_at(home, T0, out, typed, words)
}

/// Runs a command line in-process at a moment, and returns its exit code and remarks.
pub fn run_at(home: &Path, now_ms: u64, out: &mut dyn Write, typed: &str, words: &[&str]) -> (u8, String) {
    run_shown(home, now_ms, out, typed, words, false)
}

/// Runs a command line in-process as on a terminal with colours, and returns its exit code, answer and remarks.
pub fn on_terminal(home: &Path, words: &[&str]) -> (u8, String, String) {
    let mut out = Vec::new();
    let (code, err) = run_shown(home, T0, &mut out, "", words, true);
    (code, String::from_utf8(out).expect("text"), err)
}

fn run_shown(
    home: &Path,
    now_ms: u64,
    out: &mut dyn Write,
    typed: &str,
    words: &[&str],
    terminal: bool,
) -> (u8, String) {
    let mut err = Vec::new();
    // No two calls draw the same ids, whatever their words.
    static CALLS: AtomicU64 = AtomicU64::new(7);
    let call = CALLS.fetch_add(1, Ordering::Relaxed);
    let mut drawn =
        words.iter().flat_map(|w| w.bytes()).fold(call, |n, b| n.wrapping_mul(131) + u64::from(b));
    let mut entropy = |bytes: &mut [u8]| {
        for byte in bytes {
            drawn = drawn.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            *byte = (drawn >> 33) as u8;
        }
    };
    let mut env = Env {
        out,
        err: &mut err,
        input: &mut io::BufReader::new(typed.as_bytes()),
        clock: &|| now_ms,
        zone: jiff::tz::TimeZone::UTC,
        entropy: &mut entropy,
        home: home.to_owned(),
        device_name: "test".into(),
        colour: terminal,
        width: 80,
        terminal,
        interactive: false,
        json: false,
    };
    let words = std::iter::once("sheaf").chain(words.iter().copied()).map(std::ffi::OsString::from);
    let code = sheaf_cli::run(words, &mut env);
    (code, String::from_utf8(err).expect("text"))
}

/// A home with a bow, and a way to run commands in it.
pub fn begun() -> (tempfile::TempDir, impl Fn(&[&str]) -> (u8, String, String)) {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let home = folder.path().join("home");
    let now_ms = Cell::new(T0);
    let sheaf = move |words: &[&str]| {
        let mut out = Vec::new();
        // A second passes from one command to the next.
        now_ms.set(now_ms.get() + 1000);
        let (code, err) = run_at(&home, now_ms.get(), &mut out, "", words);
        (code, String::from_utf8(out).expect("text"), err)
    };
    assert_eq!(sheaf(&["start", "Alone", "--me", "Ash"]).0, 0);
    assert_eq!(sheaf(&["add", "bow", "elm"]).0, 0);
    (folder, sheaf)
}
