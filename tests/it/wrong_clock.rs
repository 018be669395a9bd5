//! A device whose clock is hours wrong: said on the next sync, and mended by ordinary edits.

use crate::harness::{
    alone::run_at,
    server::{T0, TestServer},
};
use serde_json::Value;
use std::path::Path;

/// Runs a command line in-process at a moment, and returns its exit code, output and remarks.
fn sheaf(home: &Path, now_ms: u64, words: &[&str]) -> (u8, String, String) {
    let mut out = Vec::new();
    let (code, err) = run_at(home, now_ms, &mut out, "", words);
    (code, String::from_utf8(out).expect("text"), err)
}

#[test]
fn a_clock_three_hours_ahead_is_told_and_its_times_are_shifted_back() {
    let server = TestServer::start();
    let folder = tempfile::tempdir().expect("a folder for the test");
    let home = folder.path().join("home");
    let ok = |now, words: &[&str]| {
        let (code, out, err) = sheaf(&home, now, words);
        assert_eq!(code, 0, "{words:?}: {err}");
        (out, err)
    };
    let hour = 3_600_000;
    ok(T0, &["start", "Alone", "--me", "Ash"]);
    ok(T0 + 1, &["add", "bow", "elm"]);
    ok(T0 + 2, &["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    ok(T0 + 3, &["connect", &server.url(""), "--key", &server.key()]);
    let ahead = T0 + 3 * hour;
    ok(ahead, &["shoot", "9@2"]);
    ok(ahead + 1, &["change", "elm", "plunger=2"]);
    // What was typed or imported under the wrong clock did not come from it.
    ok(ahead + 2, &["change", "elm", "plunger=3", "--at", "2026-01-01 10:00"]);
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, "date,bow,x_mm,y_mm\n2026-01-02 10:00,elm,1,2\n").expect("a file");
    let import = ["import", file.to_str().expect("text"), "--distance", "30m", "--face", "wa_80"];
    ok(ahead + 3, &import);
    let (out, remark) = ok(ahead + 4, &["sync", "--quiet"]);
    assert!(out.is_empty() && remark.contains("3.0 h ahead"), "{out}{remark}");
    let times = |now| -> Vec<String> {
        let list: Value = serde_json::from_str(&ok(now, &["list", "groups", "--json"]).0).expect("JSON");
        let at = |g: &Value| g["fields"]["at"].as_str().unwrap_or_default().to_owned();
        let (imported, shot): (Vec<_>, _) = list
            .as_array()
            .expect("a list")
            .iter()
            .map(at)
            .partition(|at| at.starts_with("2026-01-02T10:00"));
        assert_eq!(imported.len(), 1, "what was imported stays: {imported:?} {shot:?}");
        shot
    };
    let wrong = times(T0 + 4);
    assert!(ok(T0 + 5, &["shift-times", "--dry-run"]).0.contains("Would move 2 records back by 3.0 h"));
    assert_eq!(times(T0 + 6), wrong);
    assert!(ok(T0 + 7, &["shift-times"]).0.contains("Kept: moved 2 records"));
    let right = times(T0 + 8);
    assert!(right.contains(&wrong[0]), "what was recorded by a right clock stays: {wrong:?} {right:?}");
    assert_eq!(right[1][..16], right[0][..16], "{right:?}");
    let (code, _, err) = sheaf(&home, T0 + 9, &["shift-times"]);
    assert!(code == 1 && err.contains("sheaf sync"), "shifted once, not twice: {err}");
    assert!(!ok(T0 + 10, &["sync"]).1.contains("ahead"));
}

#[test]
fn a_clock_three_hours_behind_what_it_has_heard_of_is_mended_too() {
    let server = TestServer::start();
    let folder = tempfile::tempdir().expect("a folder for the test");
    let home = folder.path().join("home");
    let ok = |now, words: &[&str]| {
        let (code, out, err) = sheaf(&home, now, words);
        assert_eq!(code, 0, "{words:?}: {err}");
        (out, err)
    };
    ok(T0, &["start", "Alone", "--me", "Ash"]);
    ok(T0 + 1, &["add", "bow", "elm"]);
    ok(T0 + 2, &["connect", &server.url(""), "--key", &server.key()]);
    let behind = T0 - 3 * 3_600_000 + 250;
    ok(behind, &["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    ok(behind + 1, &["shoot", "9@2", "--at", "2026-01-01 10:00"]);
    assert!(ok(behind + 2, &["sync"]).1.contains("3.0 h behind"));
    assert!(ok(T0 + 4, &["shift-times"]).0.contains("Kept: moved 1 record forward by 3.0 h"));
}
