//! Two devices and a service between them, all of them real processes.

use crate::harness::team::{Device, Range};
use serde_json::Value;
use sheaf_model::log::Have;
use std::{
    fs,
    path::Path,
    process::{Child, Stdio},
};

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder can be made");
    for item in fs::read_dir(from).expect("a folder can be read") {
        let item = item.expect("an item");
        let target = to.join(item.file_name());
        if item.path().is_dir() {
            copy(&item.path(), &target);
        } else {
            fs::copy(item.path(), target).expect("a file can be copied");
        }
    }
}

fn pair(range: &Range) -> (Device, Device) {
    let ash = range.keeper("Ash");
    ash.ok(&["add", "bow", "elm"]);
    ash.ok(&["sync"]);
    let birch = range.join(&ash, "Birch", "archer");
    (ash, birch)
}

fn digest(report: &Value) -> &str {
    assert_eq!(report["agree"], true, "{report}");
    report["digest"].as_str().expect("a digest")
}

#[track_caller]
fn level(devices: &[&Device]) -> String {
    devices.iter().for_each(|d| drop(d.sync()));
    let digests: Vec<String> = devices.iter().map(|d| digest(&d.sync()).to_owned()).collect();
    assert!(digests.windows(2).all(|w| w[0] == w[1]), "{digests:?}");
    digests[0].clone()
}

#[test]
fn what_two_record_apart_becomes_the_same_on_both() {
    let mut range = Range::open();
    let (ash, birch) = pair(&range);
    range.kill();
    ash.ok(&["shoot", "elm", "30m", "9@4:30", "X@12", "M", "--face", "wa_80"]);
    birch.ok(&["shoot", "elm", "20yd", "12,-31", "-4,8", "--face", "wa_40"]);
    birch.ok(&["change", "elm", "plunger=2"]);
    let err = ash.fails(3, &["sync"]);
    let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(err.contains("nothing is lost") && err.contains("1 entry waits on this device"), "{err}");
    range.start();
    level(&[&ash, &birch, &ash]);
    let second = ash.sync();
    assert_eq!(
        (second["sent"].as_u64(), second["received"].as_u64(), second["requests"].as_u64()),
        (Some(0), Some(0), Some(1))
    );
    assert_eq!(ash.json(&["list", "groups"]), birch.json(&["list", "groups"]));
}

#[test]
fn a_partners_late_change_moves_to_its_place_and_the_effects_change() {
    let range = Range::open();
    let (ash, birch) = pair(&range);
    let shots = |x: i32| {
        (0..6).map(|n| format!("{},{}", x + 7 * (n % 3) - 7, 9 * (n % 2) - 4 + n)).collect::<Vec<_>>()
    };
    for n in 0..12 {
        let at = format!("2026-04-12T10:{:02}:00Z", n * 4);
        let points = shots(if n < 6 { 20 } else { -25 });
        let mut words = vec!["shoot", "elm", "30m", "--face", "wa_80", "--at", &at];
        words.extend(points.iter().map(String::as_str));
        ash.ok(&words);
    }
    ash.sync();
    assert_eq!(ash.json(&["effects", "elm"])["archers"][0]["verdicts"], Value::Array(vec![]));
    birch.ok(&["change", "elm", "plunger=2", "--at", "2026-04-12T10:22:00Z"]);
    level(&[&birch, &ash]);
    let timeline = ash.json(&["timeline", "elm"]);
    let arrows: Vec<u64> = timeline["stretches"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|s| s["arrows"].as_u64())
        .collect();
    assert_eq!(arrows, [36, 36]);
    let verdict = &ash.json(&["effects", "elm"])["archers"][0]["verdicts"][0];
    assert_eq!(verdict["where"], "moved", "{verdict}");
    let sentence = verdict["sentence"].as_str().expect("a sentence");
    assert!(sentence.contains("groups moved 45 mm left") && sentence.contains("at 30 m"), "{sentence}");
    assert_eq!(birch.json(&["effects", "elm"]), ash.json(&["effects", "elm"]));
}

#[test]
fn a_copied_replica_goes_on_under_a_new_name_and_nothing_is_lost() {
    let range = Range::open();
    let (ash, birch) = pair(&range);
    level(&[&ash, &birch]);
    copy(ash.home(), &range.path("copy"));
    let twin = range.device("copy");
    ash.ok(&["add", "bow", "original"]);
    twin.ok(&["add", "bow", "twin"]);
    twin.ok(&["set", "bow", "elm", "note=from the copy"]);
    ash.sync();
    let report = twin.sync();
    assert_eq!(report["renewed"]["moved"], 2, "{report}");
    level(&[&twin, &ash, &birch]);
    for device in [&ash, &birch, &twin] {
        let bows = device.ok(&["list", "bows"]);
        assert!(
            bows.contains("original") && bows.contains("twin") && bows.contains("from the copy"),
            "{bows}"
        );
    }
    // A copy that wrote nothing of its own catches up without a new name.
    let idle = range.device("idle");
    copy(ash.home(), idle.home());
    ash.ok(&["add", "bow", "later"]);
    ash.sync();
    assert_eq!(idle.sync()["renewed"], Value::Null);
}

#[test]
fn a_server_restored_from_yesterdays_copy_is_healed_by_the_next_device() {
    let mut range = Range::open();
    let (ash, birch) = pair(&range);
    level(&[&ash, &birch]);
    range.kill();
    copy(&range.path("server"), &range.path("yesterday"));
    range.start();
    ash.ok(&["add", "bow", "new one"]);
    birch.ok(&["add", "bow", "another"]);
    let before = level(&[&ash, &birch]);
    range.kill();
    fs::remove_dir_all(range.path("server")).expect("it can be removed");
    copy(&range.path("yesterday"), &range.path("server"));
    range.start();
    // Ash brings back what Birch's device had sent, too.
    let report = ash.sync();
    assert_eq!((report["agree"].as_bool(), report["sent"].as_u64()), (Some(true), Some(2)), "{report}");
    assert_eq!(level(&[&birch, &ash]), before);
}

#[test]
fn a_killed_service_loses_nothing_and_the_exchange_resumes() {
    let mut range = Range::open();
    let (ash, birch) = pair(&range);
    let mut cut = 0;
    let mut told = birch.marks(&Have::new());
    for round in 0..3 {
        ash.fill(3001, 70 + round);
        let mut sync = ash.command(&["sync", "--quiet"]).stderr(Stdio::null()).spawn().expect("sheaf starts");
        told = acknowledged_beyond(&told, &birch, &mut sync);
        range.kill();
        cut += usize::from(!sync.wait().expect("it ends").success());
        range.start();
        // Nobody has sent again yet: what is there is what the service itself has kept.
        let kept = birch.marks(&told);
        for (device, mark) in &told {
            let there = kept.get(device).map_or(0, |kept| kept.0);
            assert!(there >= mark.0, "{device}: {} were acknowledged and {there} are there", mark.0);
        }
        let mut sync = ash.command(&["sync", "--quiet"]).stderr(Stdio::null()).spawn().expect("sheaf starts");
        told = acknowledged_beyond(&kept, &birch, &mut sync);
        sync.kill().expect("it can be killed");
        cut += usize::from(!sync.wait().expect("it ends").success());
    }
    assert!(cut > 0, "every sync was over before the kill: no test of anything");
    level(&[&ash, &birch]);
    assert_eq!(birch.sync()["entries"].as_u64(), ash.sync()["entries"].as_u64());
    assert!(birch.sync()["entries"].as_u64() >= Some(9003));
}

/// Asks as another device until the service has acknowledged more than `before`, or the sync is over.
fn acknowledged_beyond(before: &Have, asker: &Device, sync: &mut Child) -> Have {
    loop {
        let over = sync.try_wait().expect("it can be asked").is_some();
        let now = asker.marks(before);
        if over || now != *before {
            return now;
        }
    }
}

#[test]
fn what_was_said_to_be_kept_is_there_after_a_kill() {
    let range = Range::open();
    let ash = range.device("alone");
    ash.ok(&["start", "Alone", "--me", "Ash"]);
    ash.ok(&["add", "bow", "elm"]);
    let (mut kept, mut killed) = (Vec::new(), 0);
    for n in 0..20 {
        let note = format!("n{n}");
        let mut child = ash
            .command(&["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--note", &note])
            .stdout(std::process::Stdio::piped())
            .spawn()
            .expect("sheaf starts");
        // The instant of the kill: from before the program has begun to well after it has ended.
        std::thread::sleep(std::time::Duration::from_millis(n * n));
        let _ = child.kill();
        let output = child.wait_with_output().expect("it ends");
        killed += usize::from(!output.status.success());
        if String::from_utf8_lossy(&output.stdout).contains("Kept") {
            kept.push(note);
        }
    }
    assert!(!kept.is_empty() && killed > 0, "{} kept, {killed} killed: no test of anything", kept.len());
    let there = ash.json(&["list", "groups", "--last", "0"]);
    let notes: Vec<&str> =
        there.as_array().expect("a list").iter().filter_map(|g| g["fields"]["note"].as_str()).collect();
    for note in &kept {
        assert!(notes.contains(&note.as_str()), "{note} was said to be kept and is not there");
    }
    ash.ok(&["shoot", "9@3"]);
}

#[test]
fn pages_of_every_size_go_over_whole() {
    let range = Range::open();
    let (ash, birch) = pair(&range);
    let mut all = level(&[&ash, &birch]);
    for (salt, count) in [(1, 1), (2, 999), (3, 1000), (4, 1001), (5, 2000)] {
        ash.fill(count, salt);
        let sent = ash.sync()["sent"].as_u64();
        assert_eq!(sent, Some(count as u64));
        let received = birch.sync()["received"].as_u64();
        assert_eq!(received, Some(count as u64));
        let now = level(&[&ash, &birch]);
        assert_ne!(now, all);
        all = now;
    }
}

#[test]
fn logs_that_the_service_refuses_are_each_offered_once_in_a_sync() {
    let range = Range::open();
    let (ash, _) = pair(&range);
    let coach = range.join(&ash, "Maple", "coach");
    coach.fill(1001, 1);
    coach.fill(1001, 2);
    let report = coach.sync();
    assert_eq!(
        (report["sent"].as_u64(), report["agree"].as_bool(), report["requests"].as_u64()),
        (Some(0), Some(false), Some(2)),
        "{report}"
    );
    let refused = report["refused"].as_array().expect("a list");
    assert!(refused.iter().all(|r| r["code"] == "role"), "{report}");
    assert!(refused.iter().any(|r| r["device"] != refused[0]["device"]), "both logs are told of");
}

#[test]
fn who_comes_in_and_who_does_not() {
    let range = Range::open();
    let (ash, _) = pair(&range);
    let code = ash.json(&["invite"])["code"].as_str().expect("a code").to_owned();
    let solo = range.device("solo");
    solo.ok(&["start", "Solo", "--me", "Cedar"]);
    solo.ok(&["add", "bow", "old friend"]);
    solo.ok(&["join", &range.url(), &code, "--me", "Cedar"]);
    assert!(solo.ok(&["list", "bows"]).contains("elm"));
    ash.sync();
    assert!(
        ash.ok(&["list", "bows"]).contains("old friend") && ash.ok(&["list", "people"]).contains("Cedar")
    );
    let late = range.device("late");
    late.fails(4, &["join", &range.url(), &code, "--me", "Late"]);
    late.fails(4, &["join", &range.url(), "AAAA-BBBB", "--me", "Late"]);
    late.fails(3, &["join", &nobody(), &code, "--me", "Late"]);
    ash.ok(&["add", "person", "Maple"]);
    ash.sync();
    let invite = ash.json(&["invite", "--role", "coach", "--for", "Maple"]);
    let coach = range.device("coach");
    coach.ok(&["join", &range.url(), invite["code"].as_str().expect("a code")]);
    let err = coach.fails(4, &["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    assert!(err.contains("coach"), "{err}");
    assert!(coach.ok(&["report"]).contains("Pair"));
    ash.ok(&["role", "Maple", "archer"]);
    coach.sync();
    coach.ok(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    ash.ok(&["role", "Maple", "coach"]);
    coach.sync();
    coach.fails(4, &["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    let devices = ash.json(&["devices"]);
    let name = devices
        .as_array()
        .expect("a list")
        .iter()
        .find(|d| d["role"] == "coach")
        .expect("the coach's device");
    ash.ok(&["shut", name["device"].as_str().expect("an id")]);
    coach.fails(4, &["sync"]);
}

/// Returns an address that nobody listens at: a port that was free a moment ago.
fn nobody() -> String {
    let socket = std::net::TcpListener::bind("127.0.0.1:0").expect("a free port");
    format!("http://{}", socket.local_addr().expect("an address"))
}

#[test]
fn bad_input_gets_a_clear_message_and_loses_nothing() {
    let range = Range::open();
    let ash = range.device("alone");
    let err = ash.fails(1, &["list", "bows"]);
    assert!(err.contains("sheaf start"), "{err}");
    ash.ok(&["start", "Alone", "--me", "Ash"]);
    ash.ok(&["add", "bow", "elm"]);
    let cases: &[(i32, &[&str], &str)] = &[
        (1, &["shoot", "elm", "30m", "9@1", "--face", "wa_81"], "wa_80"),
        (1, &["shoot", "elm", "0m", "9@1", "--face", "wa_80"], "above 0"),
        (1, &["shoot", "elm", "30", "9@1", "--face", "wa_80"], "unit"),
        (1, &["shoot", "elm", "30m", "11@1", "--face", "wa_80"], "it has X, 10, 9"),
        (1, &["shoot", "elm", "30m", "NaN,1", "--face", "wa_80"], "shot 1"),
        (1, &["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--flyer", "2"], "no arrow number 2"),
        (1, &["shoot", "elk", "30m", "9@1", "--face", "wa_80"], "elm"),
        (1, &["show", "oak"], "oak"),
        (1, &["change", "elm", "plunjer=2"], "plunger"),
        (1, &["change", "elm", "plunger=+1/4"], "not noted"),
        (1, &["change", "elm", "brace_height=lots"], "no number"),
        (1, &["add", "bow", "elm"], "already"),
        (1, &["set", "bow", "elm", "riser=9kg"], "riser_in"),
        (1, &["sync"], "no server"),
        (1, &["compute", "grupe"], "group"),
        (2, &["shoot", "--nonsense"], "--nonsense"),
        (2, &["frobnicate"], "frobnicate"),
    ];
    for (code, words, says) in cases {
        let err = ash.fails(*code, words).replace('\n', " ");
        assert!(err.contains(says), "{words:?}: {err}");
    }
    assert_eq!(ash.json(&["list", "groups"]), Value::Array(vec![]), "nothing half-kept");
    let off = ash.ok(&["shoot", "elm", "30m", "1000,0", "M", "--face", "wa_80"]);
    assert!(off.contains("scores as a miss") && off.contains("no place"), "{off}");
}

#[test]
fn flyers_and_bare_shafts_stay_out_of_mean_and_spread_wherever_they_are_told() {
    let range = Range::open();
    let ash = range.device("alone");
    ash.ok(&["start", "Alone", "--me", "Ash"]);
    ash.ok(&["add", "bow", "elm"]);
    let said = ash.ok(&["shoot", "elm", "30m", "--face", "wa_80", "10,0", "20,0", "0,-200!", "0,-300b"]);
    for words in [said, ash.ok(&["show", "last"]), ash.ok(&["analyse"])] {
        assert!(words.contains("Mean point of impact of 2 arrows: 15 mm right, 0 mm high"), "{words}");
    }
    assert_eq!(ash.json(&["analyse", "elm"])["sessions"][0]["arrows"], 2);
}
