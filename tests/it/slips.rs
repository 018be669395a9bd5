//! Slips of the hand: each is told in lines that fit the terminal, and nothing odd gets into the records.

use crate::harness::alone::{begun, run};
use std::io::{self, Write};

/// A disk that takes nothing.
struct Full;

impl Write for Full {
    fn write(&mut self, _: &[u8]) -> io::Result<usize> {
        Err(io::Error::from(io::ErrorKind::StorageFull))
    }

    fn flush(&mut self) -> io::Result<()> {
        Err(io::Error::from(io::ErrorKind::StorageFull))
    }
}

#[test]
fn a_new_name_is_checked_like_a_first_one() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "bow", "oak"]).0, 0);
    for name in ["name=two\nlines", "name=red\u{1b}[31m", "name=OAK"] {
        assert_eq!(sheaf(&["set", "bow", "elm", name]).0, 1, "{name}");
    }
    assert_eq!(sheaf(&["set", "bow", "elm", "name=Elm"]).0, 0, "its own name in other letters");
}

#[test]
fn a_setting_stands_once_in_a_change() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["change", "elm", "plunger=3", "plunger_turns=4"]);
    assert!(code == 1 && err.contains("given twice"), "{err}");
    assert_eq!(sheaf(&["list", "changes", "--json"]).1.trim(), "[]");
}

#[test]
fn messages_fit_the_terminal_and_keep_commands_whole() {
    let (folder, sheaf) = begun();
    assert_eq!(sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]).0, 0);
    let tries: [&[&str]; 5] = [
        &["change", "elm", "=3"],
        &["change", "elm", "brace_height=215mm", "limb_bolt_top=1"],
        &["shoot", "9@13"],
        &["shoot", "9@1", "--face", "nope"],
        &["shoot", "9@1", "--at", "2199-01-01 10:00"],
    ];
    for words in tries {
        let err = sheaf(words).2;
        assert!(!err.is_empty() && err.lines().all(|l| l.chars().count() <= 80), "{words:?}: {err}");
    }
    let empty = folder.path().join("none");
    let err = run(&empty, &mut Vec::new(), "", &["list", "bows"]).1;
    assert!(err.contains("`sheaf join URL CODE --me NAME`"), "{err}");
}

#[test]
fn a_moment_to_come_is_remarked_on_and_kept() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["change", "elm", "plunger=2", "--at", "2199-01-01 10:00"]);
    assert!(code == 0 && err.contains("yet to come"), "{err}");
    assert!(!sheaf(&["change", "elm", "plunger=2", "--at", "2020-01-01 10:00"]).2.contains("yet to come"));
}

#[test]
fn an_output_that_cannot_be_written_is_told() {
    let (folder, _sheaf) = begun();
    let (code, err) = run(&folder.path().join("home"), &mut Full, "", &["list", "bows"]);
    assert!(code == 1 && err.contains("the output cannot be written"), "{code} {err}");
}

#[test]
fn ends_read_line_by_line_say_which_one_failed() {
    let (folder, _sheaf) = begun();
    let typed = "9@1 8@2\nzz 9@1\n8@3\n";
    let words = ["shoot", "elm", "30m", "--face", "wa_80"];
    let (code, err) = run(&folder.path().join("home"), &mut Vec::new(), typed, &words);
    assert!(code == 1 && err.contains("this was end 2: kept 1 end before it"), "{err}");
}

#[test]
fn a_journal_that_is_gone_is_told_and_not_begun_anew() {
    let (folder, sheaf) = begun();
    std::fs::remove_file(folder.path().join("home/journal-1/00000001.journal")).expect("the journal");
    for words in [&["list", "bows"] as &[&str], &["add", "bow", "ash"]] {
        let (code, _, err) = sheaf(words);
        assert!(code == 1 && err.contains("are gone"), "{words:?}: {err}");
    }
}

#[test]
fn names_made_by_an_import_stand_on_one_line() {
    let (folder, sheaf) = begun();
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, "date,bow,x_mm,y_mm\n2026-04-12,\"o\nk\",1,2\n").expect("a file");
    let path = file.to_str().expect("a path of text");
    let (code, _, err) = sheaf(&["import", path, "--create", "--distance", "30m", "--face", "wa_80"]);
    assert!(code == 1 && err.contains("on one line"), "{err}");
    assert!(!sheaf(&["list", "bows"]).1.contains("o k"));
}

#[test]
fn what_steers_a_terminal_is_not_passed_on_to_it() {
    let (_folder, sheaf) = begun();
    let (code, out, err) = sheaf(&["set", "bow", "elm", "note=red\u{1b}[31m"]);
    assert!(code == 0 && out.contains("red") && !out.contains('\u{1b}'), "{out}{err}");
    let err = sheaf(&["show", "\u{1b}[31melk"]).2;
    assert!(err.contains("elk") && !err.contains('\u{1b}'), "{err:?}");
}

#[test]
fn a_moment_is_kept_as_it_is_written_everywhere_or_refused() {
    let (_folder, sheaf) = begun();
    for at in ["2026-04-12T10:00:00+0200", "2026-04-12T10:00+02", "2026-04-12T10:00:00+02:00"] {
        let (code, _, err) = sheaf(&["change", "elm", "plunger=2", "--at", at]);
        let kept = sheaf(&["list", "changes", "--json"]).1;
        assert!(code == 1 || kept.contains("2026-04-12T10:00:00+02:00"), "{at}: {err}{kept}");
        assert!(!kept.contains("+0200") && !kept.contains("+02\""), "{kept}");
    }
}

#[test]
fn an_address_that_is_none_is_for_the_user_to_mend() {
    let (_folder, sheaf) = begun();
    for url in ["", "two words", "http://", "http://[::1", "http://sheaf.example:port"] {
        let (code, _, err) = sheaf(&["connect", url, "--key", "k"]);
        assert!(code == 1 && err.contains("is no address"), "{url}: {code} {err}");
    }
}

#[test]
fn what_can_be_typed_instead_fits_the_terminal() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["list", "wheels"]);
    assert!(code == 2 && err.contains("faces") && err.lines().all(|l| l.chars().count() <= 80), "{err}");
}

#[test]
fn a_line_cutter_scores_by_its_shaft_wherever_it_is_shown() {
    let (folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "blue", "--shaft-diameter", "5.5mm"]).0, 0);
    let shoot = ["shoot", "elm", "30m", "82,0", "402,0", "403,0", "--face", "wa_80", "--arrows", "blue"];
    let (code, out, err) = sheaf(&shoot);
    assert!(code == 0 && out.contains("Arrow 3 lies off") && !out.contains("Arrow 2 lies off"), "{out}{err}");
    assert!(sheaf(&["show", "last"]).1.contains("Scores 9 1 M"));
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, "date,bow,arrows,x_mm,y_mm\n2026-04-12,elm,blue,402,0\n").expect("a file");
    let path = file.to_str().expect("a path of text");
    let (code, _, err) = sheaf(&["import", path, "--distance", "30m", "--face", "wa_80"]);
    assert!(code == 0 && !err.contains("off the face"), "{err}");
}

#[test]
fn faces_are_listed_with_their_codes() {
    let (_folder, sheaf) = begun();
    let out = sheaf(&["list", "faces"]).1;
    let line = out.lines().find(|l| l.starts_with("wa_80 ")).expect("the face is listed");
    assert!(line.contains("80 cm ten-ring face") && line.ends_with("800"), "{line}");
    assert!(sheaf(&["list", "faces", "--json"]).1.contains("\"field_20\""));
}

#[test]
fn an_export_writes_nothing_as_nothing() {
    let (folder, sheaf) = begun();
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, "date,bow,score,clock\n2026-04-12,elm,9,3\n").expect("a file");
    let path = file.to_str().expect("a path of text");
    assert_eq!(sheaf(&["import", path, "--distance", "30m", "--face", "wa_80"]).0, 0);
    let (csv, json) = (sheaf(&["export"]).1, sheaf(&["export", "--json"]).1);
    assert!(csv.contains(",60,0,") && !csv.contains("0.0000"), "{csv}");
    let places: String = json.split_whitespace().collect();
    assert!(places.contains("[60.0,0.0]"), "{json}");
}

#[test]
fn records_without_their_card_are_not_begun_anew() {
    let (folder, sheaf) = begun();
    let home = folder.path().join("home");
    std::fs::rename(home.join("replica.json"), folder.path().join("kept")).expect("the card");
    for words in [
        &["list", "bows"] as &[&str],
        &["start", "Again", "--me", "Ash"],
        &["join", "http://127.0.0.1:9", "code", "--me", "Ash"],
    ] {
        let (code, _, err) = sheaf(words);
        assert!(
            code == 1 && err.contains("journal-1") && err.contains("put replica.json back"),
            "{words:?}: {err}"
        );
    }
    assert!(!home.join("journal-2").exists() && !home.join("replica.json").exists());
    std::fs::rename(folder.path().join("kept"), home.join("replica.json")).expect("the card");
    assert!(sheaf(&["list", "bows"]).1.contains("elm"));
}

#[test]
fn a_journal_with_other_line_ends_is_said_to_have_them() {
    let (folder, sheaf) = begun();
    let journal = folder.path().join("home/journal-1/00000001.journal");
    let text = std::fs::read_to_string(&journal).expect("a journal");
    std::fs::write(&journal, text.replace('\n', "\r\n")).expect("a journal");
    let _ = std::fs::remove_file(folder.path().join("home/journal-1/snapshot"));
    let (code, _, err) = sheaf(&["list", "bows"]);
    assert!(code == 1 && err.contains("CR LF") && !err.contains("are gone"), "{err}");
    assert_eq!(std::fs::read_to_string(&journal).expect("a journal"), text.replace('\n', "\r\n"));
    std::fs::write(&journal, text.replace('"', "'")).expect("a journal");
    let (code, _, err) = sheaf(&["list", "bows"]);
    assert!(code == 1 && err.contains("checksum"), "{err}");
}

/// Makes a plan for the plunger and sets the bow up for its first end.
fn planned(sheaf: &impl Fn(&[&str]) -> (u8, String, String), name: &str, distance: &str) -> String {
    for day in ["2025-04-10", "2025-04-11"] {
        for hour in 10..14 {
            let at = format!("{day} {hour}:00");
            let words = ["shoot", "elm", "30m", "9@1", "9@5", "8@9", "10@3", "--face", "wa_80", "--at", &at];
            assert_eq!(sheaf(&words).0, 0);
        }
    }
    let words = ["plan", "new", name, "elm", "--a", "plunger=2", "--b", "plunger=2.5", "--shift", "60mm"];
    let (code, _, err) = sheaf(&[&words[..], &["--distance", distance]].concat());
    assert_eq!(code, 0, "{err}");
    let out = sheaf(&["plan", "next", name]).1;
    let turns = if out.contains("setup A") { "plunger=2" } else { "plunger=2.5" };
    assert_eq!(sheaf(&["change", "elm", turns]).0, 0);
    sheaf(&["plan", "next", name]).1
}

#[test]
fn a_suggested_command_is_safe_in_a_shell() {
    let (_folder, sheaf) = begun();
    for (name, typed) in
        [("$(touch x)", "'$(touch x)'"), ("a;b", "'a;b'"), ("two words", "'two words'"), ("one", "one")]
    {
        let out = planned(&sheaf, name, "30m");
        let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(&format!("`sheaf shoot --plan {typed}`")), "{out}");
    }
}

#[test]
fn a_planned_distance_may_be_typed_in_another_unit() {
    let (_folder, sheaf) = begun();
    planned(&sheaf, "h", "30yd");
    let shoot = ["9@1", "9@2", "9@3", "9@4", "9@5", "9@6", "--face", "wa_80", "--plan", "h"];
    let (code, _, err) = sheaf(&[&["shoot", "elm", "27m"], &shoot[..]].concat());
    assert!(code == 1 && err.contains("27.43 m"), "{err}");
    let (code, _, err) = sheaf(&[&["shoot", "elm", "27.43m"], &shoot[..]].concat());
    assert_eq!(code, 0, "{err}");
    assert!(sheaf(&["list", "groups", "--json"]).1.contains("27.432"), "the plan's own distance is kept");
}

#[test]
fn a_distance_shot_for_the_first_time_is_no_move_of_the_sight() {
    let (_folder, sheaf) = begun();
    let shoot = |distance: &str| {
        for _ in 0..3 {
            let words = ["shoot", "elm", distance, "9@1", "9@5", "8@9", "10@3", "--face", "wa_80"];
            assert_eq!(sheaf(&words).0, 0);
        }
    };
    shoot("30m");
    assert_eq!(sheaf(&["change", "elm", "plunger=1"]).0, 0);
    shoot("30yd");
    for question in ["effects", "today"] {
        if question == "today" {
            for at in ["2026-03-01 10:00", "2026-03-01 11:00", "2026-03-02 10:00", "2026-03-02 11:00"] {
                let words =
                    ["shoot", "elm", "30m", "9@1", "9@5", "8@9", "10@3", "--face", "wa_80", "--at", at];
                assert_eq!(sheaf(&words).0, 0);
            }
        }
        let flat = |out: String| out.split_whitespace().collect::<Vec<_>>().join(" ");
        let metric = flat(sheaf(&[question, "elm"]).1);
        assert!(!metric.contains("27.432") && !metric.contains("move of the sight"), "{metric}");
        let imperial = flat(sheaf(&[question, "elm", "--imperial"]).1);
        if question == "effects" {
            assert!(metric.contains("the change of distance to 27.43 m"), "{metric}");
            assert!(imperial.contains("the change of distance to 30 yd"), "{imperial}");
            assert!(metric.contains("lunger set to 1 turn,") && !metric.contains("1 turns"), "{metric}");
        } else {
            assert!(imperial.contains("SDs in inches at"), "{imperial}");
        }
    }
}

#[test]
fn pictures_are_drawn_in_the_units_asked_for() {
    let (_folder, sheaf) = begun();
    for turns in ["plunger=1", "plunger=2", "plunger=3"] {
        assert_eq!(sheaf(&["change", "elm", turns]).0, 0);
        for _ in 0..4 {
            let words = ["shoot", "elm", "30yd", "9@1", "9@5", "8@9", "10@3", "--face", "wa_80"];
            assert_eq!(sheaf(&words).0, 0);
        }
    }
    for words in
        [&["dial", "elm", "plunger", "--imperial"] as &[&str], &["effects", "elm", "--imperial", "--plot"]]
    {
        let out = sheaf(words).1;
        let titles: Vec<&str> = out.lines().filter(|l| l.starts_with("Mean point of impact,")).collect();
        assert!(
            titles.len() == 2 && titles.iter().all(|t| t.contains("inches") && t.contains("at 30 yd")),
            "{out}"
        );
    }
}

#[test]
fn too_few_numbered_arrows_are_an_answer() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "blue"]).0, 0);
    assert_eq!(sheaf(&["shoot", "elm", "30m", "3:9@1", "--face", "wa_80"]).0, 0);
    let (code, out, err) = sheaf(&["arrows", "elm"]);
    assert!(
        code == 0 && out.lines().nth(1).is_some_and(|l| l.trim().starts_with(char::is_uppercase)),
        "{out}{err}"
    );
    let (code, out, _) = sheaf(&["arrows", "elm", "--json"]);
    assert!(code == 0 && out.contains("\"figures\": null"), "{out}");
    let out = sheaf(&["dial", "elm", "plunger"]).1;
    assert!(out.lines().nth(1).is_some_and(|l| l.trim().starts_with(char::is_uppercase)), "{out}");
    let err = sheaf(&["shoot", "elm", "30m", "9@1", "--arrows", "red"]).2;
    assert!(err.contains("there is no arrow set called `red`"), "{err}");
}
