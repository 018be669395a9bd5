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
        &["shoot", "9@1", "--at", "2999-01-01 10:00"],
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
    let (code, _, err) = sheaf(&["change", "elm", "plunger=2", "--at", "2999-01-01 10:00"]);
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
