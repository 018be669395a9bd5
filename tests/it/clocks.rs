//! Clocks that agree too well, and clocks that are ten years wrong.

use crate::harness::{
    alone::run_at,
    server::{T0, TestServer},
    team::Range,
};
use serde_json::Value;
use sheaf_tests::simulation::copy;
use std::{fs, path::PathBuf};
use tempfile::TempDir;

const TEN_YEARS: u64 = 3652 * 86_400_000;

/// Devices of a team, each with a clock that is told at every command.
struct Team {
    folder: TempDir,
    server: TestServer,
}

impl Team {
    fn new(names: &[&str]) -> Self {
        let team = Self { folder: TempDir::new().expect("a folder"), server: TestServer::start() };
        team.ok("ash", T0, &["start", "Pair", "--me", "Ash"]);
        team.ok("ash", T0, &["add", "bow", "elm"]);
        team.ok("ash", T0, &["connect", &team.server.url(""), "--key", &team.server.key()]);
        for name in names {
            let invite = team.ok("ash", T0, &["invite", "--json"]).0;
            let invite: Value = serde_json::from_str(&invite).expect("JSON");
            let code = invite["code"].as_str().expect("a code");
            team.ok(name, T0, &["join", &team.server.url(""), code, "--me", name]);
        }
        team
    }

    fn home(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    #[track_caller]
    fn ok(&self, name: &str, now: u64, words: &[&str]) -> (String, String) {
        let mut out = Vec::new();
        let (code, err) = run_at(&self.home(name), now, &mut out, "", words);
        assert_eq!(code, 0, "{name}: {words:?}: {err}");
        let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
        (String::from_utf8(out).expect("text"), flat(&err))
    }

    #[track_caller]
    fn json(&self, name: &str, now: u64, words: &[&str]) -> Value {
        let words: Vec<&str> = words.iter().copied().chain(["--json"]).collect();
        serde_json::from_str(&self.ok(name, now, &words).0).expect("JSON")
    }

    /// Returns the note of the bow on a device.
    fn note(&self, name: &str) -> Value {
        self.json(name, T0, &["list", "bows"])[0]["fields"]["note"].clone()
    }
}

#[test]
fn two_devices_with_the_very_same_clock_end_with_the_same_value_and_both_know_the_other() {
    let team = Team::new(&["birch"]);
    team.ok("ash", T0, &["sync"]);
    team.ok("birch", T0, &["sync"]);
    team.ok("ash", T0, &["set", "bow", "elm", "note=by Ash"]);
    team.ok("birch", T0, &["set", "bow", "elm", "note=by Birch"]);
    for name in ["ash", "birch", "ash"] {
        team.ok(name, T0, &["sync"]);
    }
    assert_eq!(team.note("ash"), team.note("birch"));
    let differences = team.json("ash", T0, &["differences"]);
    assert_eq!(differences, team.json("birch", T0, &["differences"]));
    let said = differences.to_string();
    assert!(said.contains("by Ash") && said.contains("by Birch"), "{said}");
}

#[test]
fn a_clock_ten_years_ahead_wins_no_argument_for_good_and_is_put_right() {
    let team = Team::new(&["birch"]);
    let ahead = T0 + TEN_YEARS;
    team.ok("birch", ahead, &["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    team.ok("birch", ahead, &["set", "bow", "elm", "note=from the future"]);
    let said = team.ok("birch", ahead, &["sync"]).1;
    assert!(said.contains("10.0 years ahead of the server's") && said.contains("shift-times"), "{said}");
    team.ok("ash", T0 + 1, &["sync"]);
    // Whoever has seen that value can replace it, with a clock that is right.
    team.ok("ash", T0 + 2, &["set", "bow", "elm", "note=from today"]);
    team.ok("ash", T0 + 3, &["sync"]);
    team.ok("birch", T0 + 4, &["sync"]);
    assert_eq!((team.note("ash"), team.note("birch")), ("from today".into(), "from today".into()));
    assert!(team.ok("birch", T0 + 5, &["shift-times"]).0.contains("Kept: moved 1 record back"));
    team.ok("birch", T0 + 6, &["sync"]);
    team.ok("ash", T0 + 7, &["sync"]);
    let groups = team.json("ash", T0 + 8, &["list", "groups"]);
    assert!(groups[0]["fields"]["at"].as_str().is_some_and(|at| at.starts_with("2026-")), "{groups}");
}

#[test]
fn a_clock_ten_years_behind_loses_no_argument_for_good_and_is_put_right() {
    let team = Team::new(&["birch"]);
    // Not on a whole second, which is how an import makes its ids.
    let behind = T0 - TEN_YEARS + 250;
    team.ok("ash", T0 + 1, &["set", "bow", "elm", "note=seen by Birch"]);
    team.ok("ash", T0 + 2, &["sync"]);
    team.ok("birch", T0 + 3, &["sync"]);
    team.ok("birch", behind, &["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    team.ok("birch", behind, &["set", "bow", "elm", "note=later, whatever the clock says"]);
    let said = team.ok("birch", behind, &["sync"]).1;
    assert!(said.contains("10.0 years behind the server's") && said.contains("shift-times"), "{said}");
    team.ok("ash", T0 + 4, &["sync"]);
    assert_eq!(team.note("ash"), "later, whatever the clock says");
    let out = team.ok("birch", T0 + 5, &["shift-times"]).0;
    assert!(out.contains("Kept: moved 1 record forward by 10.0 years"), "{out}");
    team.ok("birch", T0 + 6, &["sync"]);
    team.ok("ash", T0 + 7, &["sync"]);
    let groups = team.json("ash", T0 + 8, &["list", "groups"]);
    assert!(groups[0]["fields"]["at"].as_str().is_some_and(|at| at.starts_with("2026-")), "{groups}");
}

#[test]
fn a_device_that_comes_back_from_an_old_copy_says_that_it_is_another_now() {
    let range = Range::open();
    let ash = range.keeper("Ash");
    copy(ash.home(), &range.path("old")).expect("a copy");
    ash.ok(&["add", "bow", "elm"]);
    ash.sync();
    fs::remove_dir_all(ash.home()).expect("it goes");
    copy(&range.path("old"), ash.home()).expect("it comes back");
    ash.ok(&["add", "bow", "oak"]);
    let id = || -> String {
        let card: Value = serde_json::from_slice(&fs::read(ash.home().join("replica.json")).expect("a card"))
            .expect("JSON");
        card["device"].as_str().expect("an id").to_owned()
    };
    let before = id();
    let output = ash.run(&["sync", "--quiet"]);
    assert!(output.status.success());
    let said = String::from_utf8(output.stderr).expect("text");
    let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_ne!(id(), before);
    assert!(
        said.contains("restored from an old one") && said.contains(&format!("new device id ({})", id())),
        "{said}"
    );
    assert!(said.contains("1 entry that only it had") && said.contains("Nothing is lost"), "{said}");
    let bows = ash.ok(&["list", "bows"]);
    assert!(bows.contains("elm") && bows.contains("oak"), "{bows}");
    assert!(ash.run(&["sync", "--quiet"]).stderr.is_empty(), "it is said once");
}

#[test]
fn a_service_restored_from_a_backup_is_healed_and_who_came_in_since_keeps_all() {
    use crate::harness::care::sheafd;
    let mut range = Range::open();
    let ash = range.keeper("Ash");
    let birch = range.join(&ash, "Birch", "archer");
    let backup = range.path("monday.backup");
    sheafd(&range.path("server"), &["backup", backup.to_str().expect("text")]).ok();
    ash.ok(&["add", "bow", "elm"]);
    ash.sync();
    let cedar = range.join(&ash, "Cedar", "archer");
    cedar.ok(&["add", "bow", "oak"]);
    cedar.sync();
    let before = ash.sync();
    range.kill();
    fs::remove_dir_all(range.path("server")).expect("it goes");
    sheafd(&range.path("server"), &["restore", backup.to_str().expect("text")]).ok();
    range.start();
    let report = ash.sync();
    assert_eq!((&report["agree"], &report["digest"]), (&true.into(), &before["digest"]), "{report}");
    assert!(birch.sync()["received"].as_u64() >= Some(3), "with what Cedar had sent");
    cedar.ok(&["add", "bow", "yew"]);
    let err = cedar.fails(4, &["sync"]);
    assert!(err.contains("does not know this device"), "{err}");
    assert!(cedar.ok(&["list", "bows"]).contains("yew"));
}
