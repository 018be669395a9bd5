//! Stores of every version that was written are opened; those of later versions are refused. `tests/stores/README.md`
//! says what each holds.

use crate::harness::{
    care::{copy, files, refused_start, report, sheafd},
    server::{T0, TestServer, answer},
};
use serde_json::{Value, json};
use sheaf_model::{
    id::{DeviceId, ThingId},
    log::Hash,
    wire::{Admitted, ExchangeReply},
};
use std::{
    fs,
    path::{Path, PathBuf},
    sync::Arc,
};
use tempfile::TempDir;

fn stores() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("stores")
}

/// Returns a copy of the store of a version, and what is known of it.
fn store(version: &str) -> (TempDir, Value) {
    let folder = TempDir::new().expect("a folder");
    let from = stores().join(version);
    copy(&from, folder.path());
    fs::remove_file(folder.path().join("known.json")).expect("it goes");
    let known = fs::read_to_string(from.join("known.json")).expect("what is known");
    (folder, serde_json::from_str(&known).expect("JSON"))
}

/// Asks a service for the state of a team as one of its devices did when the store was written.
#[track_caller]
fn is_served(server: &TestServer, team: &Value) {
    let path = format!("/v1/teams/{}/exchange", team["team"].as_str().expect("an id"));
    let ask = json!({"device": team["device"], "clock_ms": 0, "have": {}, "entries": []}).to_string();
    let headers = [("content-type", "application/json")];
    let reply = answer(server.send("POST", &path, team["token"].as_str(), &headers, Some(ask.into_bytes())));
    let reply: ExchangeReply = reply.ok();
    assert_eq!(json!(reply.have), team["have"]);
    assert_eq!(json!(reply.digest), team["digest"]);
    // The entries that are handed out are those of that time, byte for byte.
    for (device, mark) in &reply.have {
        let last = reply.entries.iter().rfind(|e| e.device == *device).expect("its log is there");
        assert_eq!((last.seq, last.header_hash()), (mark.0, mark.1));
    }
    assert!(reply.entries.iter().all(|entry| entry.check().is_ok()));
}

#[test]
fn a_store_of_the_first_version_is_sound_and_served_as_it_was() {
    let (folder, known) = store("v1");
    let found = report(folder.path());
    assert!(found["sound"] == true && found["index"] == "older", "{found}");
    let teams = known["teams"].as_array().expect("a list");
    for team in teams {
        let is = |t: &&Value| t["team"] == team["team"];
        let told = found["teams"].as_array().and_then(|all| all.iter().find(is)).expect("it is told");
        assert_eq!(told["digest"], team["digest"]);
    }
    let journal = files(&folder.path().join("journal"));
    let folder = Arc::new(folder);
    let mut server = TestServer::start_over(folder.clone(), |_| {});
    teams.iter().for_each(|team| is_served(&server, team));
    let bows = |token: &str| {
        let path = format!("/v1/teams/{}/bows", teams[0]["team"].as_str().expect("an id"));
        server.call("GET", &path, known[token].as_str(), None)
    };
    bows("shut_token").is_problem(403, "shut");
    let renewed: Value = bows("renewed_token").ok();
    assert!(renewed.to_string().contains(known["bow"].as_str().expect("an id")), "{renewed}");
    server.stop();
    // The index was brought to the layout of today; the journal stays as it was written.
    assert_eq!(files(&folder.path().join("journal")), journal);
    let found = report(folder.path());
    assert!(found["sound"] == true && found["index"] == "agrees", "{found}");
    let server = TestServer::start_over(folder, |_| {});
    let code = known["invite"].as_str().expect("a code");
    // The ids that the tests deal out begin with those that the store holds.
    let (device, person) = (DeviceId::new(T0, [0xee; 10]), ThingId::new(T0, [0xef; 10]));
    let ask = json!({"code": code, "device": device, "device_name": "a phone", "person": person});
    server.call("POST", "/v1/join", None, Some(&ask)).ok::<Admitted>();
}

#[test]
fn a_store_of_the_first_version_is_backed_up_restored_and_rebuilt() {
    let (folder, known) = store("v1");
    let file = folder.path().join("old.backup");
    sheafd(folder.path(), &["backup", file.to_str().expect("text")]).ok();
    let fresh = TempDir::new().expect("a folder");
    let restored = sheafd(fresh.path(), &["restore", file.to_str().expect("text")]).ok();
    let rebuilt = sheafd(folder.path(), &["rebuild"]).ok();
    for team in known["teams"].as_array().expect("a list") {
        let digest: Hash = team["digest"].as_str().expect("a text").parse().expect("a hash");
        assert!([&restored, &rebuilt].iter().all(|said| said.contains(&digest.to_string())));
    }
    let server = TestServer::start_over(fresh.into(), |_| {});
    known["teams"].as_array().expect("a list").iter().for_each(|team| is_served(&server, team));
}

#[test]
fn a_store_of_a_newer_version_is_refused_in_words_by_everything() {
    // In the first segment and in the last one, which are read in different ways.
    for segment in ["journal/00000001.journal", "journal/00000002.journal"] {
        let (folder, _) = store("v1");
        let path = folder.path().join(segment);
        let text = fs::read_to_string(&path).expect("a segment");
        let head = r#"{"journal":{"version":2,"what":"journal"}}"#;
        let rest = text.split_once('\n').expect("lines").1;
        fs::write(&path, format!("{:08x} {head}\n{rest}", crc32fast::hash(head.as_bytes())))
            .expect("it is written");
        let before = files(&folder.path().join("journal"));
        let file = folder.path().join("new.backup");
        for said in [
            refused_start(folder.path()),
            sheafd(folder.path(), &["rebuild"]).refuses(),
            sheafd(folder.path(), &["backup", file.to_str().expect("text")]).refuses(),
            report(folder.path())["troubles"].to_string(),
        ] {
            assert!(said.contains("version 2") && said.contains("Install a newer sheafd"), "{said}");
        }
        assert_eq!(files(&folder.path().join("journal")), before);
    }
}
