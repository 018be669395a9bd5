//! What somebody new stumbles over where a team and its service come in.

use crate::harness::{alone::begun, programs::program, team::Range};
use std::{
    io::{BufRead, BufReader},
    process::{Command, Stdio},
};

#[test]
fn a_device_follows_its_team_to_another_address() {
    let mut range = Range::open();
    let keeper = range.keeper("Ash");
    let birch = range.join(&keeper, "Birch", "archer");
    birch.ok(&["add", "bow", "elm"]);
    let old = range.url();
    let other = Range::open();
    let err = birch.fails(4, &["connect", &other.url()]);
    assert!(err.contains("not your team's service") && !err.contains("Bearer"), "{err}");
    assert!(err.contains(&format!("stays with {old}")), "{err}");
    range.move_away();
    let err = birch.fails(1, &["connect", &old]);
    assert!(err.contains("already"), "{err}");
    let out = birch.ok(&["connect", &range.url()]);
    assert!(out.contains("answers at") && out.contains("1 entry sent") && !out.contains("igest"), "{out}");
    keeper.ok(&["connect", &range.url()]);
    assert!(keeper.ok(&["list", "bows"]).contains("elm"));
    assert!(keeper.ok(&["sync", "--verbose"]).contains("digest"));
}

#[test]
fn a_service_of_others_is_told_in_words_for_archers() {
    let mut range = Range::open();
    let keeper = range.keeper("Ash");
    let home = keeper.home().join("replica.json");
    let other = Range::open();
    let card = std::fs::read_to_string(&home).expect("the card");
    std::fs::write(&home, card.replace(&range.url(), &other.url())).expect("it can be written");
    let err = keeper.fails(4, &["sync"]);
    assert!(err.contains("does not know this device") && err.contains("sheaf connect URL"), "{err}");
    assert!(!err.contains("Authorization"), "{err}");
    range.kill();
}

#[test]
fn a_team_without_a_server_needs_its_key() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["connect", "http://127.0.0.1:9"]);
    assert!(
        code == 1 && err.contains("--key") && err.contains("sheafd key") && err.contains("sheaf join"),
        "{err}"
    );
}

#[test]
fn a_sync_that_brings_differences_says_so_and_they_have_their_times() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    keeper.ok(&["add", "bow", "elm"]);
    keeper.ok(&["sync"]);
    let birch = range.join(&keeper, "Birch", "archer");
    birch.ok(&["set", "bow", "elm", "note=heavy"]);
    keeper.ok(&["set", "bow", "elm", "note=light"]);
    birch.ok(&["sync"]);
    let err = String::from_utf8(keeper.run(&["sync"]).stderr).expect("text");
    assert!(err.contains("1 difference to settle: `sheaf differences`"), "{err}");
    let err = String::from_utf8(keeper.run(&["sync"]).stderr).expect("text");
    assert!(err.is_empty(), "nothing came in: {err}");
    let told = keeper.ok(&["differences"]);
    let by = |name: &str| told.lines().find(|l| l.contains(&format!("by {name}, 20"))).is_some();
    assert!(by("Ash") && by("Birch"), "{told}");
}

#[test]
fn the_same_limbs_on_two_bows_are_named_by_the_sync_that_brings_it_and_until_one_bow_has_others() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    for words in
        [&["add", "bow", "elm"][..], &["add", "bow", "oak"], &["add", "part", "long 36", "--what", "limbs"]]
    {
        keeper.ok(words);
    }
    keeper.ok(&["sync"]);
    let birch = range.join(&keeper, "Birch", "archer");
    keeper.ok(&["change", "elm", "limbs=long 36"]);
    birch.ok(&["change", "oak", "limbs=long 36"]);
    birch.ok(&["sync"]);
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let err = flat(&String::from_utf8(keeper.run(&["sync"]).stderr).expect("text"));
    let clash =
        "long 36 (limbs) is named by elm and by oak, on two devices: the records take it to be on oak";
    assert!(err.contains(clash), "{err}");
    let told = flat(&keeper.ok(&["differences"]));
    assert!(told.contains(clash) && told.contains("note on the other one what is on it instead"), "{told}");
    assert!(!told.contains("No differences"), "{told}");
    keeper.ok(&["add", "part", "short 34", "--what", "limbs"]);
    keeper.ok(&["change", "elm", "limbs=short 34"]);
    assert!(keeper.ok(&["differences"]).contains("No differences to settle"));
    // What one device moves from bow to bow is no clash.
    keeper.ok(&["change", "oak", "limbs=short 34"]);
    assert!(keeper.ok(&["differences"]).contains("No differences to settle"));
}

#[test]
fn a_coach_who_comes_in_with_a_name_is_known_by_it() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    keeper.ok(&["add", "bow", "elm"]);
    keeper.ok(&["sync"]);
    let code = keeper.json(&["invite", "--role", "coach"]);
    let coach = range.device("Cedar");
    coach.ok(&["join", &range.url(), code["code"].as_str().expect("a code"), "--me", "Cedar"]);
    coach.ok(&["note", "elm", "watch the release"]);
    coach.ok(&["sync"]);
    keeper.ok(&["sync"]);
    let list = keeper.ok(&["list", "notes"]);
    assert!(list.contains("Cedar") && list.contains("watch the release"), "{list}");
}

#[test]
fn a_coach_writes_notes_and_everyone_reads_them() {
    let mut range = Range::open();
    let keeper = range.keeper("Ash");
    keeper.ok(&["add", "bow", "elm"]);
    keeper.ok(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    keeper.ok(&["add", "person", "Cedar"]);
    keeper.ok(&["sync"]);
    let code = keeper.json(&["invite", "--role", "coach", "--for", "Cedar"]);
    let coach = range.device("Cedar");
    coach.ok(&["join", &range.url(), code["code"].as_str().expect("a code")]);
    for (about, words) in [("elm", "the serving is worn"), ("Ash", "follow through"), ("last", "gusty")] {
        let out = coach.ok(&["note", about, words]);
        assert!(out.starts_with("Kept: a note about "), "{out}");
    }
    coach.ok(&["sync"]);
    keeper.ok(&["sync"]);
    let list = keeper.ok(&["list", "notes"]);
    assert!(list.contains("Cedar") && list.contains("elm") && list.contains("follow through"), "{list}");
    for (name, words) in [("elm", "worn"), ("Ash", "follow through"), ("last", "gusty")] {
        let shown = keeper.ok(&["show", name]);
        assert!(shown.contains("Notes:") && shown.contains(words) && shown.contains("Cedar: "), "{shown}");
    }
    let timeline = keeper.ok(&["timeline", "elm"]);
    assert!(timeline.contains("worn") && timeline.contains("gusty"), "{timeline}");
    assert!(!timeline.contains("follow through"), "that is about a person: {timeline}");
    let noted = keeper.json(&["show", "elm"])["notes"][0].clone();
    keeper.ok(&["retire", noted["id"].as_str().expect("an id")]);
    assert!(!keeper.ok(&["show", "elm"]).contains("worn"));
    coach.fails(1, &["note", "elm", " "]);
    coach.fails(1, &["note", "oak", "whose?"]);
    range.kill();
}

#[test]
fn a_key_is_shown_only_where_a_service_has_run() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let data = folder.path().join("no service");
    let key = Command::new(program("sheafd")).arg("key").arg("--data").arg(&data).output().expect("it runs");
    let err = String::from_utf8_lossy(&key.stderr);
    assert!(
        !key.status.success() && err.contains("no service has run") && err.contains("sheafd serve"),
        "{err}"
    );
    assert!(!data.exists(), "nothing was made");
    let mut serve = Command::new(program("sheafd"));
    serve.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(&data);
    let mut service = serve.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("the service starts");
    let mut line = String::new();
    let out = service.stdout.take().expect("its output");
    BufReader::new(out).read_line(&mut line).expect("a line");
    service.kill().expect("it can be killed");
    service.wait().expect("it ends");
    let words = format!("`sheafd key --data '{}'`", data.display());
    assert!(line.contains(&words), "{line}");
    let key = Command::new(program("sheafd")).arg("key").arg("--data").arg(&data).output().expect("it runs");
    assert!(key.status.success() && key.stdout.len() > 20, "there is one now");
}

#[test]
fn an_invite_to_this_machine_alone_is_remarked_on() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    let output = keeper.run(&["invite"]);
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(
        output.status.success() && err.contains("this machine only") && err.contains("--listen"),
        "{err}"
    );
}
