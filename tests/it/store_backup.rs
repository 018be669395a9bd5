//! `sheafd backup` while the service serves, and `sheafd restore` into an empty folder: the same state, the same
//! people, or a refusal.

use crate::harness::{
    care::{Kept, files, report, sheafd},
    server::{Device, TestServer},
};
use serde_json::Value;
use sheaf_model::wire::{Admitted, ExchangeReply};
use std::{fs, path::Path};
use tempfile::TempDir;

/// Backs a data folder up and returns the file in a folder of its own.
fn backed_up(data: &Path) -> (TempDir, std::path::PathBuf) {
    let folder = TempDir::new().expect("a folder");
    let file = folder.path().join("monday.backup");
    let said = sheafd(data, &["backup", file.to_str().expect("text")]).ok();
    assert!(said.contains("entries") && said.contains("acts of access"), "{said}");
    (folder, file)
}

/// Restores a backup into a new folder, and returns what was said and the folder.
#[track_caller]
fn restored(file: &Path) -> (String, TempDir) {
    let folder = TempDir::new().expect("a folder");
    let said = sheafd(folder.path(), &["restore", file.to_str().expect("text")]).ok();
    (said, folder)
}

#[test]
fn a_restored_service_has_the_same_state_people_tokens_and_invites() {
    let mut kept = Kept::new();
    let key = fs::read_to_string(kept.data().join("founding-key")).expect("the key");
    let (_folder, file) = backed_up(kept.data());
    let text = fs::read_to_string(&file).expect("text");
    let secrets = [key.trim(), &kept.invite, &kept.shut.token, &kept.keepers[0].token];
    assert!(
        secrets.iter().all(|secret| !text.contains(secret)),
        "a backup holds no secret, only fingerprints"
    );
    let (said, folder) = restored(&file);
    for (team, digest) in kept.digests() {
        assert!(said.contains(&team) && said.contains(&digest.to_string()), "{said}");
    }
    let found = report(folder.path());
    assert!(found["sound"] == true && found["index"] == "agrees", "{found}");
    let server = kept.serves(folder);
    kept.shut.call(&server, "GET", "/bows", None).is_problem(403, "shut");
    let devices = |server: &TestServer| kept.keepers[0].call(server, "GET", "/devices", None).ok::<Value>();
    let original = TestServer::start_over(kept.folder.clone(), |_| {});
    assert_eq!(devices(&server), devices(&original));
    // The invite that nobody had used works, once.
    let ask = Device::new().join_request(&kept.invite);
    server.call("POST", "/v1/join", None, Some(&ask)).ok::<Admitted>();
    let again = Device::new().join_request(&kept.invite);
    server.call("POST", "/v1/join", None, Some(&again)).is_problem(403, "bad_invite");
}

#[test]
fn a_backup_made_while_devices_sync_holds_all_that_was_acknowledged_before() {
    let server =
        TestServer::start_over(TempDir::new().expect("a folder").into(), |c| c.segment_bytes = 20_000);
    let mut device = server.found();
    let folder = TempDir::new().expect("a folder");
    let mut made = Vec::new();
    std::thread::scope(|scope| {
        let (tell, told) = std::sync::mpsc::channel::<u64>();
        let data = server.folder.path().to_owned();
        let backups = &folder;
        let keeper = scope.spawn(move || {
            let mut made = Vec::new();
            while let Ok(mut acknowledged) = told.recv() {
                acknowledged = told.try_iter().last().unwrap_or(acknowledged);
                let file = backups.path().join(format!("{}.backup", made.len()));
                sheafd(&data, &["backup", file.to_str().expect("text")]).ok();
                made.push((file, acknowledged));
            }
            made
        });
        for _ in 0..60 {
            let sent = device.notes(7);
            let last = sent.last().expect("seven").seq;
            let reply: ExchangeReply = device.exchange(&server, sent).ok();
            assert_eq!(reply.have[&device.writer.device].0, last);
            tell.send(last).expect("the keeper listens");
        }
        drop(tell);
        made = keeper.join().expect("every backup is made");
    });
    assert!(made.len() >= 2, "{} backups", made.len());
    for (file, acknowledged) in made {
        let (_, folder) = restored(&file);
        let found = report(folder.path());
        assert!(found["sound"] == true, "{found}");
        let there = found["entries"].as_u64().expect("a number");
        assert!(there >= acknowledged && there <= 420, "{acknowledged} were acknowledged, {there} are there");
        // The service comes back with the older state; the device brings what it lacks.
        let again = TestServer::start_over(folder.into(), |_| {});
        device.sync(&again);
    }
}

/// Restores a file that is no whole backup into an empty folder: refused in words, and nothing is left there.
#[track_caller]
fn refused(file: &Path, bytes: &[u8]) -> String {
    fs::write(file, bytes).expect("it is written");
    let folder = TempDir::new().expect("a folder");
    let said = sheafd(folder.path(), &["restore", file.to_str().expect("text")]).refuses();
    let left: Vec<_> = files(folder.path()).into_keys().collect();
    assert!(left == [folder.path().join("lock")], "{left:?}");
    assert!(said.contains(&*file.to_string_lossy()), "{said}");
    said
}

#[test]
fn a_backup_that_is_damaged_or_cut_short_is_refused_with_what_is_wrong() {
    let kept = Kept::new();
    let (_folder, file) = backed_up(kept.data());
    let good = fs::read(&file).expect("the backup");
    for cut in [0, 10, good.len() / 2, good.len() - 1] {
        let said = refused(&file, &good[..cut]);
        assert!(said.contains("cut short") && said.contains("older backup"), "{said}");
    }
    let lines: Vec<&[u8]> = good.split_inclusive(|b| *b == b'\n').collect();
    let without = |n: usize| [lines[..n].concat(), lines[n + 1..].concat()].concat();
    assert!(refused(&file, &without(lines.len() - 1)).contains("without its seal"));
    // The last entry gone, and every checksum and chain still fits: the seal tells.
    assert!(refused(&file, &without(lines.len() - 2)).contains("seal that does not fit"));
    assert!(refused(&file, &[&good[..], lines[2]].concat()).contains("behind its seal"));
    for at in (0..good.len()).step_by(good.len() / 12) {
        let mut bad = good.clone();
        bad[at] ^= 4;
        let said = refused(&file, &bad);
        assert!(said.contains("at byte") && said.contains("Nothing was restored"), "{at}: {said}");
    }
}

#[test]
fn what_is_no_backup_or_a_newer_one_is_named() {
    let kept = Kept::new();
    let (folder, file) = backed_up(kept.data());
    let good = fs::read_to_string(&file).expect("the backup");
    let rest = good.split_once('\n').expect("lines").1;
    let newer = r#"{"journal":{"version":2,"what":"backup"}}"#;
    let newer = format!("{:08x} {newer}\n{rest}", crc32fast::hash(newer.as_bytes()));
    let said = refused(&file, newer.as_bytes());
    assert!(said.contains("version 2") && said.contains("Install a newer sheafd"), "{said}");
    let bundle = sheaf_model::journal::write_bundle(kept.keepers[0].team, []).expect("a bundle");
    assert!(refused(&file, &bundle).contains("sheaf bundle in"));
    let journal = fs::read(&kept.segments()[0]).expect("a segment");
    assert!(refused(&file, &journal).contains("is a journal and no backup"));
    assert!(refused(&file, b"nothing of the kind\n").contains("no whole backup"));
    let nowhere = folder.path().join("nowhere.backup");
    let said = sheafd(folder.path(), &["restore", nowhere.to_str().expect("text")]).refuses();
    assert!(said.contains("nowhere.backup"), "{said}");
}

#[test]
fn nothing_is_overwritten() {
    let kept = Kept::new();
    let (_folder, file) = backed_up(kept.data());
    let (data, bytes) = (files(kept.data()), fs::read(&file).expect("the backup"));
    let name = file.to_str().expect("text");
    let said = sheafd(kept.data(), &["restore", name]).refuses();
    assert!(said.contains("is not empty") && said.contains("--data"), "{said}");
    let said = sheafd(kept.data(), &["backup", name]).refuses();
    assert!(said.contains("is there already"), "{said}");
    assert_eq!((files(kept.data()), fs::read(&file).expect("the backup")), (data, bytes));
    // A founding key that was put there first is kept.
    let fresh = TempDir::new().expect("a folder");
    let key = sheaf_server::founding_key(fresh.path()).expect("a key is made");
    sheafd(fresh.path(), &["restore", name]).ok();
    assert_eq!(sheafd(fresh.path(), &["key"]).ok().trim(), key);
    kept.serves(fresh);
}

#[test]
fn a_damaged_journal_is_not_backed_up() {
    let kept = Kept::new();
    let folder = kept.copy();
    let path = folder.path().join("journal/00000002.journal");
    let mut bytes = fs::read(&path).expect("a segment");
    bytes[500] ^= 1;
    fs::write(&path, bytes).expect("it is written");
    let file = folder.path().join("bad.backup");
    let said = sheafd(folder.path(), &["backup", file.to_str().expect("text")]).refuses();
    assert!(said.contains("00000002.journal at byte") && said.contains("nothing was backed up"), "{said}");
    assert!(!file.exists());
    let said = sheafd(&folder.path().join("nowhere"), &["backup", file.to_str().expect("text")]).refuses();
    assert!(said.contains("--data"), "{said}");
}

#[test]
fn a_restore_that_was_cut_off_is_not_served_and_can_be_run_again() {
    let kept = Kept::new();
    let (_folder, file) = backed_up(kept.data());
    let folder = TempDir::new().expect("a folder");
    let half = folder.path().join("journal.restoring");
    fs::create_dir(&half).expect("a folder");
    fs::copy(&kept.segments()[0], half.join("00000001.journal")).expect("a copy");
    let said = crate::harness::care::refused_start(folder.path());
    assert!(said.contains("sheafd restore"), "{said}");
    sheafd(folder.path(), &["restore", file.to_str().expect("text")]).ok();
    assert!(!half.exists());
    kept.serves(folder);
}
