//! The promise of the store: what was acknowledged is there again, whatever becomes of the index.

use crate::harness::server::{Device, TestServer};
use serde_json::Value;
use sheaf_model::{
    kind::{Bow, Note},
    log::Hash,
    wire::{ExchangeReply, Role},
};
use sheaf_server::{Clock, Config, Server, ServerError};
use std::{fs, path::Path};

/// A service with some history, and the digest that everything must come back to.
fn with_history() -> (TestServer, Device, Hash) {
    let server = TestServer::start();
    let mut keeper = server.found();
    let mut archer = server.join(&keeper, Role::Archer);
    keeper.notes(40);
    keeper.sync(&server);
    archer.sync(&server);
    for n in 0..20 {
        archer.keep(&Bow { name: Some(format!("bow {n}")), ..Bow::default() });
    }
    archer.sync(&server);
    keeper.sync(&server);
    let digest = digest(&keeper, &server);
    (server, keeper, digest)
}

fn digest(device: &Device, server: &TestServer) -> Hash {
    let reply: ExchangeReply = device.exchange(server, Vec::new()).ok();
    assert!(reply.entries.is_empty());
    reply.digest
}

/// Starts the service again after `harm` was done to its folder; everything must be as before.
#[track_caller]
fn comes_back(harm: impl FnOnce(&Path)) {
    let (server, mut keeper, before) = with_history();
    let server = server.restart(harm);
    assert_eq!(digest(&keeper, &server), before);
    keeper.notes(5);
    keeper.sync(&server);
}

#[test]
fn a_missing_index_is_made_anew() {
    comes_back(|folder| fs::remove_dir_all(folder.join("index")).expect("it goes"));
}

#[test]
fn an_index_whose_making_was_cut_off_is_made_anew() {
    comes_back(|folder| {
        fs::remove_dir_all(folder.join("index")).expect("it goes");
        fs::create_dir(folder.join("index")).expect("a folder");
    });
    comes_back(|folder| {
        fs::create_dir(folder.join("index.unusable")).expect("a folder");
        fs::write(folder.join("index.unusable/db"), b"left over").expect("a file");
    });
}

#[test]
fn an_index_that_a_kill_left_half_open_is_made_anew() {
    comes_back(|folder| {
        fs::write(folder.join("index/snap.0000000000000000.generating"), b"half").expect("a file");
    });
}

#[test]
fn a_damaged_index_is_made_anew() {
    for file in ["db", "conf"] {
        comes_back(|folder| {
            let path = folder.join("index").join(file);
            let mut bytes = fs::read(&path).expect("the index has this file");
            let from = bytes.len() / 3;
            bytes[from..from + from.min(4096)].fill(0xa5);
            fs::write(&path, bytes).expect("it is written");
        });
        comes_back(|folder| {
            let path = folder.join("index").join(file);
            let bytes = fs::read(&path).expect("the index has this file");
            fs::write(&path, &bytes[..bytes.len() / 2]).expect("it is written");
        });
    }
}

#[test]
fn an_index_of_an_older_moment_catches_up() {
    let (server, mut keeper, _) = with_history();
    let older = server.folder.path().join("older");
    let server = server.restart(|folder| copy(&folder.join("index"), &older));
    keeper.notes(7);
    keeper.sync(&server);
    let before = digest(&keeper, &server);
    let server = server.restart(|folder| {
        fs::remove_dir_all(folder.join("index")).expect("it goes");
        copy(&folder.join("older"), &folder.join("index"));
    });
    assert_eq!(digest(&keeper, &server), before);
}

#[test]
fn an_index_of_another_journal_is_made_anew() {
    let (other, ..) = with_history();
    let (mut stopped, _) = (other, ());
    stopped.stop();
    let strange = stopped.folder.path().join("index");
    comes_back(|folder| {
        fs::remove_dir_all(folder.join("index")).expect("it goes");
        copy(&strange, &folder.join("index"));
    });
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for item in fs::read_dir(from).expect("a folder") {
        let item = item.expect("an item");
        if item.path().is_dir() {
            copy(&item.path(), &to.join(item.file_name()));
        } else {
            fs::copy(item.path(), to.join(item.file_name())).expect("a copy");
        }
    }
}

fn open(folder: &Path) -> Result<Server, ServerError> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    runtime.block_on(Server::open(Config::new(folder), Clock::System))
}

#[test]
fn damage_in_the_middle_is_reported_with_its_place_and_nothing_is_changed() {
    let (mut server, ..) = with_history();
    server.stop();
    let path = server.folder.path().join("journal/00000001.journal");
    let good = fs::read(&path).expect("the journal");
    let at = good.iter().enumerate().filter(|(_, b)| **b == b'\n').nth(10).expect("there are lines").0 + 1;
    let mut bad = good.clone();
    bad[at + 30] ^= 1;
    fs::write(&path, &bad).expect("it is written");
    match open(server.folder.path()) {
        Err(ServerError::Damaged { file, at: place, .. }) => {
            assert_eq!((file, place), (path.clone(), at as u64))
        }
        Err(other) => panic!("{other}"),
        Ok(_) => panic!("it starts over damage"),
    }
    assert_eq!(fs::read(&path).expect("the journal"), bad);
}

/// Starts over a journal with another line in the place of one; says why that is no good, the file unchanged.
fn with_line(at: usize, line: &str) -> ServerError {
    let (mut server, ..) = with_history();
    server.stop();
    let path = server.folder.path().join("journal/00000001.journal");
    let text = fs::read_to_string(&path).expect("the journal");
    let mut lines: Vec<&str> = text.lines().collect();
    lines[at] = line;
    let strange = lines.join("\n") + "\n";
    fs::write(&path, &strange).expect("it is written");
    let refused = open(server.folder.path()).err().expect("it does not start");
    assert_eq!(fs::read_to_string(&path).expect("the journal"), strange);
    refused
}

#[test]
fn a_journal_of_a_newer_version_asks_for_a_newer_program_and_not_for_a_backup() {
    let head = "6e1104d0 {\"journal\":{\"version\":2,\"what\":\"journal\"}}";
    for (at, line) in [(0, head), (5, "0f561d52 {\"later\":{}}")] {
        let refused = with_line(at, line);
        assert!(matches!(refused, ServerError::Newer { .. }), "{refused}");
        let said = refused.to_string();
        assert!(said.contains("Install a newer sheafd") && !said.contains("backup"), "{said}");
    }
}

#[test]
fn a_founding_key_that_cannot_be_read_costs_a_new_key_and_nothing_else() {
    let (mut server, ..) = with_history();
    server.stop();
    let key = server.folder.path().join("founding-key");
    fs::write(&key, "half a ke").expect("it is written");
    let refused = open(server.folder.path()).err().expect("it does not start");
    assert!(matches!(&refused, ServerError::BadKey(file) if *file == key), "{refused}");
    let said = refused.to_string();
    assert!(said.contains("Remove this file") && !said.contains("data folder"), "{said}");
    fs::remove_file(&key).expect("it goes");
    assert!(open(server.folder.path()).is_ok());
}

#[test]
fn a_journal_of_many_segments_is_read_as_one() {
    let folder = std::sync::Arc::new(tempfile::TempDir::new().expect("a folder"));
    let server = TestServer::start_over(folder.clone(), |config| config.segment_bytes = 1500);
    let mut keeper = server.found();
    for _ in 0..12 {
        keeper.notes(4);
        keeper.sync(&server);
    }
    let before = digest(&keeper, &server);
    let segments = fs::read_dir(folder.path().join("journal")).expect("a folder").count();
    assert!(segments >= 8, "{segments} segments");
    let server = server.restart(|folder| fs::remove_dir_all(folder.join("index")).expect("it goes"));
    assert_eq!(digest(&keeper, &server), before);
    let mut server = server;
    server.stop();
    let middle = folder.path().join("journal/00000003.journal");
    let bytes = fs::read(&middle).expect("a segment");
    fs::write(&middle, &bytes[..bytes.len() - 1]).expect("it is written");
    assert!(matches!(open(folder.path()), Err(ServerError::Damaged { file, .. }) if file == middle));
    fs::remove_file(&middle).expect("it goes");
    assert!(matches!(open(folder.path()), Err(ServerError::Damaged { file, at: 0, .. }) if file == middle));
}

#[test]
fn when_the_journal_cannot_be_written_nothing_is_taken_and_reading_goes_on() {
    let folder = std::sync::Arc::new(tempfile::TempDir::new().expect("a folder"));
    let server = TestServer::start_over(folder.clone(), |config| config.segment_bytes = 4000);
    let mut keeper = server.found();
    // A folder stands where the next segment would be made.
    let blocked = folder.path().join("journal/00000002.journal");
    fs::create_dir(&blocked).expect("a folder");
    let sent = keeper.notes(20);
    let first: ExchangeReply = keeper.exchange(&server, sent).ok();
    let more = keeper.notes(1);
    for _ in 0..2 {
        let refused = keeper.exchange(&server, more.clone());
        assert!(refused.body["detail"].as_str().is_some_and(|d| d.contains("00000002")), "{}", refused.body);
        refused.is_problem(503, "stopped");
    }
    fs::remove_dir(&blocked).expect("it goes");
    keeper.exchange(&server, more.clone()).is_problem(503, "stopped");
    keeper
        .call(&server, "POST", "/invites", Some(&serde_json::json!({"role": "coach"})))
        .is_problem(503, "stopped");
    let reply: ExchangeReply = keeper.exchange(&server, Vec::new()).ok();
    assert_eq!((&reply.have, reply.digest), (&first.have, first.digest), "reading goes on");
    assert_eq!(server.call("GET", "/v1/health", None, None).status, 503);
    let server = server.restart(|_| {});
    let reply: ExchangeReply = keeper.exchange(&server, more).ok();
    assert_eq!(reply.have[&keeper.writer.device].0, 21);
}

#[test]
fn two_services_over_one_folder_do_not_start() {
    let server = TestServer::start();
    assert!(matches!(open(server.folder.path()), Err(ServerError::Locked(_))));
    server.call("GET", "/v1/health", None, None).ok::<Value>();
}

#[test]
fn a_note_that_many_wrote_to_is_the_same_after_a_rebuild() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let note = keeper.keep(&Note { text: Some("first".into()), ..Note::default() });
    for n in 0..30 {
        let text = Note { text: Some(format!("version {n}")), ..Note::default() };
        keeper.record(vec![sheaf_model::kind::draft(note, &text).expect("a note")]);
        keeper.sync(&server);
    }
    let before = digest(&keeper, &server);
    let server = server.restart(|folder| fs::remove_dir_all(folder.join("index")).expect("it goes"));
    assert_eq!(digest(&keeper, &server), before);
}
