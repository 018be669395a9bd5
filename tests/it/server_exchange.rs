//! The exchange over HTTP: pages, forks, roles.

use crate::harness::server::{Device, T0, TestServer, pack};
use serde_json::{Value, json};
use sheaf_model::{
    kind::{Bow, Note},
    log::Entry,
    replica::{PAGE_ENTRIES, Store as _},
    wire::{Admitted, ExchangeReply, ExchangeRequest, Role},
};

#[test]
fn two_devices_agree_at_every_page_boundary() {
    for count in [0, 1, 999, 1000, 1001, 2000, 2001] {
        let server = TestServer::start();
        let mut one = server.found();
        let mut two = server.join(&one, Role::Archer);
        one.notes(count);
        one.sync(&server);
        let pages = two.sync(&server);
        assert_eq!(one.replica.store_mut().digest().ok(), two.replica.store_mut().digest().ok());
        assert_eq!(two.replica.store().vector().total(), count as u64);
        assert_eq!(pages, count.div_ceil(PAGE_ENTRIES).max(1), "pages for {count} entries");
        assert_eq!(two.sync(&server), 1, "a second sync needs one request");
    }
}

#[test]
fn sending_twice_changes_nothing() {
    let server = TestServer::start();
    let mut device = server.found();
    let entries = device.notes(3);
    let first: ExchangeReply = device.exchange(&server, entries.clone()).ok();
    let again: ExchangeReply = device.exchange(&server, entries).ok();
    assert_eq!((first.have, first.digest), (again.have, again.digest));
    assert!(again.refused.is_empty());
}

#[test]
fn entries_before_their_turn_are_refused_as_early_and_taken_later() {
    let server = TestServer::start();
    let mut device = server.found();
    let mut entries = device.notes(3);
    let last = entries.split_off(2);
    let reply: ExchangeReply = device.exchange(&server, last.clone()).ok();
    assert_eq!(reply.refused.iter().map(|r| (r.seq, r.code.as_str())).collect::<Vec<_>>(), [(3, "early")]);
    let mut all = last;
    all.append(&mut entries);
    let reply: ExchangeReply = device.exchange(&server, all).ok();
    assert!(reply.refused.is_empty(), "any order within a request will do");
    assert_eq!(reply.have[&device.writer.device].0, 3);
}

#[test]
fn a_copied_replica_is_refused_as_a_fork_and_goes_on_under_a_new_id() {
    let server = TestServer::start();
    let mut device = server.found();
    let mut copy = Device::new();
    (copy.writer, copy.team, copy.token) = (device.writer, device.team, device.token.clone());
    let mine = device.notes(2);
    device.exchange(&server, mine).ok::<Value>();
    let theirs = copy.notes(2);
    copy.exchange(&server, theirs).is_problem(409, "fork");
    // The marks alone show it too.
    copy.exchange(&server, Vec::new()).is_problem(409, "fork");
    let new = Device::new().writer.device;
    let ask = json!({"device": new, "device_name": "the copy"});
    let admitted: Admitted = copy.call(&server, "POST", "/devices", Some(&ask)).ok();
    assert_eq!((admitted.device, admitted.person), (new, copy.writer.author));
    copy.replica = Device::new().replica;
    copy.writer.device = new;
    copy.token = admitted.token;
    copy.notes(2);
    copy.sync(&server);
    device.sync(&server);
    assert_eq!(device.replica.store().vector().total(), 4, "nothing of either side is lost");
}

#[test]
fn a_fork_of_another_log_is_reported_and_the_rest_goes_on() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let mut other = server.join(&keeper, Role::Archer);
    let mut twin = Device::new();
    (twin.writer, twin.team) = (other.writer, other.team);
    other.notes(1);
    other.sync(&server);
    // The keeper holds a forked entry of the other's log, handed over without the service.
    let forked = twin.notes(1);
    keeper.replica.absorb(forked.clone()).expect("it fits the keeper's replica");
    let mine = keeper.notes(1);
    let reply: ExchangeReply = keeper.exchange(&server, [forked, mine].concat()).ok();
    let codes: Vec<_> = reply.refused.iter().map(|r| (r.device, r.code.as_str())).collect();
    assert!(codes.contains(&(other.writer.device, "fork")), "{codes:?}");
    assert_eq!(reply.have[&keeper.writer.device].0, 1, "the keeper's own entry is kept");
    assert!(reply.entries.is_empty() && !reply.more, "what follows a fork is not handed out");
}

#[test]
fn a_coach_writes_notes_and_plans_only() {
    let server = TestServer::start();
    let keeper = server.found();
    let mut coach = server.join(&keeper, Role::Coach);
    coach.keep(&Note { text: Some("elbow".into()), ..Note::default() });
    coach.sync(&server);
    coach.keep(&Bow { name: Some("mine".into()), ..Bow::default() });
    let page = coach.replica.missing_for(&keeper.replica.store().vector().have()).expect("a page");
    let reply: ExchangeReply = coach.exchange(&server, page.entries).ok();
    assert_eq!(reply.refused.iter().map(|r| (r.seq, r.code.as_str())).collect::<Vec<_>>(), [(2, "role")]);
    // Nor does it come in by way of the keeper.
    let bow = coach.replica.missing_for(&reply.have).expect("a page").entries;
    let reply: ExchangeReply = keeper.exchange(&server, bow).ok();
    assert_eq!(reply.refused[0].code, "role");
}

#[test]
fn any_replica_hands_on_but_strange_devices_come_from_archers_and_keepers_only() {
    let server = TestServer::start();
    let keeper = server.found();
    let archer = server.join(&keeper, Role::Archer);
    let coach = server.join(&keeper, Role::Coach);
    let known = Device { team: keeper.team, ..Device::new() };
    let strange: Vec<Entry> = { known }.notes(1);
    let reply: ExchangeReply = coach.exchange(&server, strange.clone()).ok();
    assert_eq!(reply.refused[0].code, "role");
    let reply: ExchangeReply = archer.exchange(&server, strange.clone()).ok();
    assert!(reply.refused.is_empty());
    assert_eq!(reply.have[&strange[0].device].0, 1);
    let again: ExchangeReply = coach.exchange(&server, strange).ok();
    assert!(again.refused.is_empty(), "what is kept already is no offence");
}

#[test]
fn altered_entries_are_refused_with_the_reason() {
    let server = TestServer::start();
    let mut device = server.found();
    let mut entries = device.notes(1);
    entries[0].body = Some(serde_json::from_str("{\"set\":{}}").expect("JSON"));
    let reply: ExchangeReply = device.exchange(&server, entries).ok();
    assert_eq!(reply.refused[0].code, "altered");
    assert!(reply.have.is_empty());
}

#[test]
fn a_request_for_another_device_is_refused() {
    let server = TestServer::start();
    let keeper = server.found();
    let archer = server.join(&keeper, Role::Archer);
    let ask = json!({"device": archer.writer.device, "clock_ms": T0, "have": {}});
    keeper.call(&server, "POST", "/exchange", Some(&ask)).is_problem(403, "other_device");
}

#[test]
fn a_service_restored_from_an_older_copy_is_healed_by_whoever_syncs() {
    let server = TestServer::start();
    let mut one = server.found();
    let mut two = server.join(&one, Role::Archer);
    one.notes(5);
    one.sync(&server);
    let mut kept = std::path::PathBuf::new();
    let server = server.restart(|folder| {
        kept = folder.join("older");
        copy(&folder.join("journal"), &kept);
    });
    one.notes(5);
    one.sync(&server);
    two.sync(&server);
    let server = server.restart(|folder| {
        std::fs::remove_dir_all(folder.join("journal")).expect("it goes");
        copy(&kept, &folder.join("journal"));
        // The index shows that the journal went on: who put back an older one has to say that it is meant.
        sheaf_server::rebuild(folder).expect("it is made anew");
    });
    two.notes(1);
    two.sync(&server);
    one.sync(&server);
    assert_eq!(one.replica.store().vector().total(), 11);
    assert_eq!(one.replica.store_mut().digest().ok(), two.replica.store_mut().digest().ok());
}

fn copy(from: &std::path::Path, to: &std::path::Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for item in std::fs::read_dir(from).expect("a folder") {
        let item = item.expect("an item");
        std::fs::copy(item.path(), to.join(item.file_name())).expect("a copy");
    }
}

#[test]
fn packed_requests_and_replies_say_the_same() {
    let server = TestServer::start();
    let mut device = server.found();
    let entries = device.notes(50);
    let ask =
        ExchangeRequest { device: device.writer.device, clock_ms: T0, have: Default::default(), entries };
    let body = pack(&serde_json::to_vec(&ask).expect("JSON"));
    let path = format!("/v1/teams/{}/exchange", device.team);
    let headers =
        [("content-type", "application/json"), ("content-encoding", "gzip"), ("accept-encoding", "gzip")];
    let response = server.send("POST", &path, Some(&device.token), &headers, Some(body));
    assert_eq!(response.status(), 200);
    assert_eq!(response.headers()["content-encoding"], "gzip");
    let packed = response.bytes().expect("bytes");
    let mut text = String::new();
    std::io::Read::read_to_string(&mut flate2::read::GzDecoder::new(&packed[..]), &mut text).expect("gzip");
    let reply: ExchangeReply = serde_json::from_str(&text).expect("the answer's shape");
    assert_eq!((reply.have[&device.writer.device].0, reply.entries.len()), (50, 50));
}
