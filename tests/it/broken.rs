//! What was broken once by using the programs as nobody should: two commands that begin or join a team in one folder
//! at the same moment, a card that was altered, a folder that got lost, a backup at the wrong place.

use crate::harness::{
    care::{Kept, report, sheafd},
    team::{Device, Range},
};
use std::{
    fs::{self, File},
    process::{Child, Output, Stdio},
    thread,
    time::{Duration, Instant},
};

/// Runs a command up to where it waits for the lock of its home.
fn until_the_lock(device: &Device, words: &[&str]) -> Child {
    let mut command = device.command(words);
    let child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("sheaf starts");
    let pid = format!(" {} ", child.id());
    let began = Instant::now();
    let waits = || {
        let locks = fs::read_to_string("/proc/locks").expect("the system lists locks");
        locks.lines().any(|line| line.contains("->") && line.contains(&pid))
    };
    while !waits() {
        assert!(began.elapsed() < Duration::from_secs(60), "sheaf {words:?} never came to the lock");
        thread::sleep(Duration::from_millis(5));
    }
    child
}

fn hold_the_lock(device: &Device) -> File {
    fs::create_dir_all(device.home()).expect("a home can be made");
    let lock = File::create(device.home().join("lock")).expect("a lock can be made");
    lock.lock().expect("the lock is free");
    lock
}

fn ended(child: Child) -> Output {
    child.wait_with_output().expect("sheaf ends")
}

#[cfg(target_os = "linux")]
#[test]
fn of_two_teams_begun_in_one_folder_at_once_one_is_begun() {
    let folder = tempfile::tempdir().expect("a folder can be made");
    let device = Device::in_home(folder.path().join("home"));
    let lock = hold_the_lock(&device);
    let first = until_the_lock(&device, &["start", "Elder", "--me", "Ash"]);
    let second = until_the_lock(&device, &["start", "Younger", "--me", "Birch"]);
    drop(lock);
    let (first, second) = (ended(first), ended(second));
    assert_ne!(first.status.success(), second.status.success(), "one is told that it was too late");
    let (team, person, late) = match first.status.success() {
        true => ("Elder", "Ash", second),
        false => ("Younger", "Birch", first),
    };
    let told = String::from_utf8_lossy(&late.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains(&format!("holds the team {team} already")), "{told}");
    assert!(device.ok(&["list", "people"]).contains(person));
}

#[cfg(target_os = "linux")]
#[test]
fn a_join_does_not_replace_a_team_that_was_begun_meanwhile() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    let code = keeper.json(&["invite"])["code"].as_str().expect("a code").to_owned();
    let device = range.device("late");
    let lock = hold_the_lock(&device);
    let joining = until_the_lock(&device, &["join", &range.url(), &code, "--me", "Birch"]);
    let other = range.device("other");
    other.ok(&["start", "Other", "--me", "Cedar"]);
    fs::rename(other.home().join("journal-1"), device.home().join("journal-1")).expect("it can be moved");
    fs::rename(other.home().join("replica.json"), device.home().join("replica.json"))
        .expect("it can be moved");
    drop(lock);
    let joined = ended(joining);
    let told = String::from_utf8_lossy(&joined.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(!joined.status.success() && told.contains("in the meantime"), "{told}");
    assert!(device.ok(&["list", "people"]).contains("Cedar"), "the team that was begun is there");
}

#[test]
fn a_card_leads_to_no_folder_outside_of_its_home() {
    let range = Range::open();
    let (keeper, card) = (range.keeper("Ash"), range.path("Ash/replica.json"));
    let whole = fs::read_to_string(&card).expect("the card is there");
    let outside = range.path("outside");
    fs::create_dir(&outside).expect("a folder can be made");
    for journal in [outside.to_str().expect("text"), "../outside", "..", ".", "", "journal-1/../../outside"] {
        let altered = whole.replace("journal-1", journal);
        fs::write(&card, altered).expect("the card can be written");
        let told = keeper.fails(1, &["sync"]);
        assert!(told.contains("outside"), "{journal}: {told}");
    }
    assert_eq!(fs::read_dir(&outside).expect("it is there").count(), 0, "nothing was written there");
    fs::write(&card, whole).expect("the card can be written");
    keeper.sync();
}

#[test]
fn a_home_whose_journal_was_lost_gets_its_records_back() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    keeper.ok(&["add", "bow", "elm"]);
    keeper.sync();
    fs::remove_dir_all(keeper.home().join("journal-1")).expect("it goes");
    keeper.sync();
    assert!(keeper.ok(&["list", "bows"]).contains("elm"));
}

#[test]
fn a_backup_does_not_go_among_the_segments() {
    let kept = Kept::new();
    let data = kept.copy();
    let file = data.path().join("journal/00000099.journal");
    let told = sheafd(data.path(), &["backup", file.to_str().expect("text")]).refuses();
    assert!(told.contains("another folder"), "{told}");
    assert_eq!(report(data.path())["sound"], true, "the journal is as it was");
}
