//! Logs that forked where their owner cannot see it: another device holds one part, the service the other.

use crate::harness::team::{Device, Range};
use sheaf_tests::simulation::copy;
use std::{fs, path::Path};

fn put_back(from: &Path, to: &Path) {
    fs::remove_dir_all(to).expect("it goes");
    copy(from, to).expect("a copy comes back");
}

/// Everyone syncs twice; then all agree, and have all the bows.
#[track_caller]
fn all_have(devices: &[&Device], bows: &[&str]) {
    for device in devices.iter().chain(devices) {
        device.sync();
    }
    let digest = devices[0].sync()["digest"].clone();
    for device in devices {
        let report = device.sync();
        assert_eq!((&report["digest"], &report["agree"]), (&digest, &true.into()), "{report}");
        assert_eq!(report["refused"].as_array().map(Vec::len), Some(0), "{report}");
        let listed = device.ok(&["list", "bows"]);
        assert!(bows.iter().all(|bow| listed.contains(bow)), "{listed}");
        device.ok(&["add", "person", &format!("friend of {}", device.home().display())]);
    }
}

#[test]
fn a_restored_device_hands_a_bundle_over_before_it_syncs() {
    let range = Range::open();
    let (ash, birch) = {
        let ash = range.keeper("Ash");
        let birch = range.join(&ash, "Birch", "archer");
        (ash, birch)
    };
    ash.ok(&["add", "bow", "elm"]);
    ash.sync();
    copy(ash.home(), &range.path("old")).expect("a copy");
    ash.ok(&["add", "bow", "lost and found"]);
    ash.sync();
    put_back(&range.path("old"), ash.home());
    ash.ok(&["add", "bow", "at the range"]);
    let bundle = range.path("pair.sheaf");
    let bundle = bundle.to_str().expect("text");
    ash.ok(&["bundle", "out", bundle]);
    birch.ok(&["bundle", "in", bundle]);
    let said = String::from_utf8(birch.run(&["sync"]).stderr).expect("text");
    assert!(said.contains("forked") && said.contains("Nothing is lost"), "{said}");
    all_have(&[&birch, &ash], &["elm", "lost and found", "at the range"]);
}

#[test]
fn service_and_device_both_come_back_from_old_copies() {
    let mut range = Range::open();
    let ash = range.keeper("Ash");
    let birch = range.join(&ash, "Birch", "archer");
    let cedar = range.join(&ash, "Cedar", "archer");
    ash.ok(&["add", "bow", "elm"]);
    ash.sync();
    range.kill();
    copy(&range.path("server"), &range.path("old-server")).expect("a copy");
    copy(ash.home(), &range.path("old")).expect("a copy");
    range.start();
    ash.ok(&["add", "bow", "first"]);
    ash.ok(&["set", "bow", "first", "note=one"]);
    ash.ok(&["set", "bow", "first", "note=two"]);
    ash.sync();
    birch.sync();
    cedar.sync();
    range.kill();
    put_back(&range.path("old-server"), &range.path("server"));
    put_back(&range.path("old"), ash.home());
    range.start();
    // What the service and this device lost, only the others hold now.
    ash.ok(&["add", "bow", "second"]);
    ash.sync();
    let report = birch.sync();
    assert_eq!(report["parted"][0]["entries"], 3, "{report}");
    all_have(&[&cedar, &ash, &birch], &["elm", "first", "second"]);
    let differences = ash.json(&["differences"]);
    assert_eq!(differences.as_array().map(Vec::len), Some(0), "{differences}");
}

#[test]
fn a_phone_that_went_on_under_a_new_id_is_shut_out_with_both() {
    let range = Range::open();
    let ash = range.keeper("Ash");
    let birch = range.join(&ash, "Birch", "archer");
    birch.ok(&["add", "bow", "elm"]);
    birch.sync();
    copy(birch.home(), &range.path("old")).expect("a copy");
    birch.ok(&["add", "bow", "yew"]);
    birch.sync();
    put_back(&range.path("old"), birch.home());
    birch.ok(&["add", "bow", "oak"]);
    birch.sync();
    ash.sync();
    let devices = ash.json(&["devices"]);
    let of_birch = devices.as_array().expect("a list").iter().filter(|d| d["role"] == "archer");
    let ids: Vec<&str> = of_birch.filter_map(|d| d["device"].as_str()).collect();
    assert_eq!(ids.len(), 2, "{devices}");
    let said = ash.ok(&["shut", ids[0]]);
    assert!(said.contains("shut out from now on") && said.contains("So are the ids"), "{said}");
    let refused = String::from_utf8(birch.run(&["sync"]).stderr).expect("text");
    assert!(refused.contains("shut this device out"), "{refused}");
}

#[test]
fn a_keeper_who_shuts_the_own_device_out_is_told_that_it_is_done() {
    let range = Range::open();
    let ash = range.keeper("Ash");
    let birch = range.join(&ash, "Birch", "keeper");
    let devices = ash.json(&["devices"]);
    let card = fs::read(birch.home().join("replica.json")).expect("the card");
    let card: serde_json::Value = serde_json::from_slice(&card).expect("JSON");
    assert!(devices.to_string().contains(&card["device"].to_string()));
    let done = birch.json(&["shut", card["device"].as_str().expect("an id")]);
    assert_eq!(done["devices"], serde_json::json!([card["device"]]));
    birch.fails(4, &["sync"]);
    ash.sync();
}
