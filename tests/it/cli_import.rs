//! Import and export as a user types them, with the real program.

use crate::harness::programs::program;
use serde_json::{Value, json};
use std::{
    io::Write,
    path::PathBuf,
    process::{Command, Stdio},
};
use tempfile::TempDir;

struct Place {
    folder: TempDir,
}

struct Said {
    code: i32,
    out: String,
    err: String,
}

impl Place {
    /// A home with a team, one bow and one archer.
    fn new() -> Self {
        let place = Self { folder: tempfile::tempdir().expect("a folder for the test") };
        place.say("", &["start", "Elm pair", "--me", "Ash"]);
        place.say("", &["add", "bow", "elm"]);
        place
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn file(&self, name: &str, text: &str) -> String {
        let path = self.path(name);
        std::fs::write(&path, text).expect("the file can be written");
        path.to_str().expect("a path in text").to_owned()
    }

    fn say(&self, input: &str, words: &[&str]) -> Said {
        let mut child = Command::new(program("sheaf"))
            .args(words)
            .env("SHEAF_HOME", self.path("home"))
            .env("TZ", "UTC")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("sheaf starts");
        // A program that needs no input may have closed it already.
        let _ = child.stdin.take().expect("its input").write_all(input.as_bytes());
        let done = child.wait_with_output().expect("sheaf ends");
        let text = |bytes| String::from_utf8(bytes).expect("sheaf writes text");
        Said {
            code: done.status.code().expect("it ended by itself"),
            out: text(done.stdout),
            err: text(done.stderr),
        }
    }

    fn json(&self, words: &[&str]) -> Value {
        let said = self.say("", words);
        assert_eq!(said.code, 0, "{words:?}: {}", said.err);
        serde_json::from_str(&said.out).expect("sheaf answers in JSON")
    }

    fn groups(&self) -> usize {
        self.json(&["list", "groups", "--last", "0", "--json"]).as_array().expect("a list").len()
    }
}

const SHEET: &str = "at,bow,archer,distance,face,x1,y1,x2,y2\n\
    2026-04-12 10:00,elm,Ash,30m,wa_80,1,2,3,4\n\
    2026-04-12 10:05,elm,Ash,30m,wa_80,5,6,7,1000\n";

#[test]
fn the_same_file_twice_adds_nothing_and_a_file_that_grew_adds_its_new_ends() {
    let place = Place::new();
    let file = place.file("season.csv", SHEET);
    let first = place.say("", &["import", &file]);
    assert_eq!((first.code, first.out.as_str()), (0, "Kept 2 new groups of 2 in 2 rows.\n"), "{}", first.err);
    assert!(
        first.err.contains("1 arrow off the face: kept where they struck, scored as misses."),
        "{}",
        first.err
    );
    let again = place.say("", &["import", &file]);
    assert_eq!(again.out, "Kept 0 new groups of 2 in 2 rows.\n2 groups were here already.\n");
    let file = place.file("season.csv", &format!("{SHEET}2026-04-13 10:05,elm,Ash,20yd,wa_80,5,6,7,8\n"));
    let grown = place.json(&["import", &file, "--json"]);
    assert_eq!((&grown["new"], &grown["known"], place.groups()), (&json!(1), &json!(2), 3));
}

#[test]
fn a_bad_row_keeps_everything_out_unless_the_good_ones_are_asked_for() {
    let place = Place::new();
    let file = place.file("bad.csv", &format!("{SHEET}2026-04-13 10:05,elm,Ash,30m,wa_80,5,up,7,8\n"));
    let said = place.say("", &["import", &file]);
    assert_eq!((said.code, place.groups()), (1, 0));
    assert!(said.err.contains("line 4, column y1: `up` is no number"), "{}", said.err);
    assert!(said.err.contains("keep the other 2 groups with --keep-good"), "{}", said.err);
    let dry = place.say("", &["import", &file, "--keep-good", "--dry-run"]);
    assert_eq!((dry.code, place.groups()), (0, 0));
    assert!(dry.out.contains("x1: x\n") && dry.out.contains("Would keep 2 new groups"), "{}", dry.out);
    let good = place.json(&["import", &file, "--keep-good", "--json"]);
    assert_eq!((&good["new"], &good["refused"][0]["line"], place.groups()), (&json!(2), &json!(4), 2));
}

#[test]
fn names_that_the_team_does_not_have_are_asked_about_or_made() {
    let place = Place::new();
    let sheet = SHEET.replace("elm", "elmm").replace("Ash", "Birch");
    let file = place.file("names.csv", &sheet);
    let said = place.say("", &["import", &file]);
    assert_eq!((said.code, place.groups()), (1, 0));
    let err = said.err.replace('\n', " ");
    assert!(err.contains("bow `elmm` (nearest: elm); person `Birch`"), "{err}");
    let made = place.say("", &["import", &file, "--create"]);
    assert!(
        made.out.starts_with("Added bow elmm.\nAdded person Birch.\nKept 2 new"),
        "{}{}",
        made.out,
        made.err
    );
    let usual = place.say(
        "date,across,up\n12.04.2026,1,2\n",
        &[
            "import",
            "-",
            "--bow",
            "el",
            "--distance",
            "20yd",
            "--units",
            "imperial",
            "--column",
            "x=across",
            "--column",
            "y=up",
        ],
    );
    assert_eq!(usual.code, 1, "`el` may mean elm or elmm: {}", usual.out);
    let usual = place.say(
        "date,across,up\n12.04.2026,1,2\n",
        &[
            "import",
            "-",
            "--bow",
            "elm",
            "--distance",
            "20yd",
            "--units",
            "imperial",
            "--column",
            "x=across",
            "--column",
            "y=up",
        ],
    );
    assert_eq!((usual.code, usual.out.as_str()), (0, "Kept 1 new group of 1 in 1 row.\n"), "{}", usual.err);
}

#[test]
fn what_is_exported_is_known_when_it_comes_back_and_new_elsewhere() {
    let place = Place::new();
    place.say("", &["import", &place.file("season.csv", SHEET)]);
    place.say("", &["change", "elm", "plunger_turns=2.25", "--at", "2026-04-12 10:02"]);
    let changes = place.say("", &["export", "changes"]);
    assert!(changes.out.contains(",elm,Ash,plunger_turns,2.25,turns,"), "{}", changes.out);
    let out = place.path("out.csv").to_str().expect("text").to_owned();
    assert_eq!(place.say("", &["export", "-o", &out]).code, 0);
    assert_eq!(place.say("", &["export", "-o", &out]).code, 1, "a file that is there is not written over");
    let known = place.json(&["import", &out, "--json"]);
    assert_eq!((&known["new"], &known["known"]), (&json!(0), &json!(2)));
    let elsewhere = Place::new();
    elsewhere.say("", &["import", &out]);
    assert_eq!(elsewhere.say("", &["export"]).out, place.say("", &["export"]).out);
}

#[test]
fn a_file_that_cannot_be_read_is_no_crash() {
    let place = Place::new();
    for text in ["", "PK\u{3}\u{4}zip", "only,words\n", "at,bow,distance,x,y\n\"2026"] {
        let file = place.file("broken.csv", text);
        let said = place.say("", &["import", &file]);
        assert_eq!(said.code, 1, "{text}: {}", said.err);
        assert!(said.err.starts_with("sheaf: ") || said.err.starts_with("line "), "{}", said.err);
    }
    let none = place.say("", &["import", "/no/such/file.csv"]);
    assert!(none.code == 1 && none.err.contains("/no/such/file.csv"), "{}", none.err);
}
