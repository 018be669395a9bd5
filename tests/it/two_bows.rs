//! The walk-through of two bows and one arrow set: what its page shows is what the command line answers.
//!
//! The page is run from top to bottom in one home. A block that is marked `console` holds commands behind `$ ` and what
//! they answer; one marked `console answers` shows answers without the remarks and cautions beside them. A line
//! `<!-- clock 2026-05-02T10:00:00Z -->` sets the clock. `UPDATE_GOLDEN=1` writes the page anew.

use crate::harness::alone::run_at;
use std::{
    env, fs,
    path::{Path, PathBuf},
};

/// Ids are drawn by lot, so they are left out of the comparison.
const ID: &str = "########";

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../cli/two-bows")
}

#[test]
fn the_walk_through_shows_what_the_command_line_answers() {
    let path = folder().join("README.md");
    let page = fs::read_to_string(&path).expect("the walk-through");
    let ran = Walk::new().page(&page);
    if env::var_os("UPDATE_GOLDEN").is_some() {
        fs::write(&path, ran).expect("the page can be written");
        return;
    }
    let differs = page.lines().zip(ran.lines()).position(|(shown, answered)| plain(shown) != plain(answered));
    if let Some(at) = differs.or((page.lines().count() != ran.lines().count()).then_some(0)) {
        let near =
            |text: &str| text.lines().skip(at.saturating_sub(3)).take(12).collect::<Vec<_>>().join("\n");
        panic!(
            "line {} of the walk-through shows\n{}\n\nand the answer is\n{}",
            at + 1,
            near(&page),
            near(&ran)
        );
    }
}

/// A home in which the page is run.
struct Walk {
    folder: tempfile::TempDir,
    now_ms: u64,
}

impl Walk {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder"), now_ms: 0 }
    }

    /// Runs every command of a page, and returns the page with the answers.
    fn page(mut self, page: &str) -> String {
        let (mut ran, mut block) = (String::new(), None);
        for line in page.lines() {
            if let Some(at) = line.strip_prefix("<!-- clock ").and_then(|rest| rest.strip_suffix(" -->")) {
                let at: jiff::Timestamp = at.parse().expect("a moment");
                self.now_ms = u64::try_from(at.as_millisecond()).expect("after 1970");
            }
            match (block, line) {
                (None, "```console" | "```console answers") => block = Some(line.ends_with("answers")),
                (Some(_), "```") => block = None,
                // What the block showed is written anew.
                (Some(answers), shown) => {
                    if let Some(command) = shown.strip_prefix("$ ") {
                        ran.push_str(&format!("{line}\n{}", self.command(command, answers)));
                    }
                    continue;
                }
                _ => {}
            }
            ran.push_str(line);
            ran.push('\n');
        }
        assert!(block.is_none(), "a block has no end");
        ran
    }

    fn command(&mut self, command: &str, answers: bool) -> String {
        self.now_ms += 1000;
        let typed = shlex::split(command).unwrap_or_else(|| panic!("{command} has an open quote"));
        let words: Vec<String> = typed.iter().map(|word| self.path_of(word)).collect();
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        assert_eq!(words.first(), Some(&"sheaf"), "{command}");
        let home = self.folder.path().join("home");
        let mut out = Vec::new();
        let (code, err) = run_at(&home, self.now_ms, &mut out, "", &words[1..]);
        let out = String::from_utf8(out).expect("text");
        // What is wrong on purpose is shown with its words.
        let text = if answers && code == 0 { out } else { out + &err };
        let text = text.replace(&format!("{}/", folder().display()), "");
        let text = text.replace(&format!("{}/", self.folder.path().display()), "");
        let lines = text.lines().map(str::trim_end).collect::<Vec<_>>().join("\n");
        if lines.is_empty() { lines } else { lines + "\n" }
    }

    /// Returns where a file that is named lies: those of the page beside it, others in the folder of the test.
    fn path_of(&self, word: &str) -> String {
        let is_file = [".csv", ".html", ".svg"].iter().any(|end| word.ends_with(end)) && !word.contains('=');
        let place = if folder().join(word).exists() { folder() } else { self.folder.path().to_owned() };
        if is_file { place.join(word).display().to_string() } else { word.to_owned() }
    }
}

/// Returns a line without the ids in it.
fn plain(line: &str) -> String {
    let is_id = |word: &str| {
        word.len() == ID.len() && word.bytes().all(|b| b.is_ascii_hexdigit() && !b.is_ascii_uppercase())
    };
    line.split(' ').map(|word| if is_id(word) { ID } else { word }).collect::<Vec<_>>().join(" ")
}
