//! A device: the real `sheaf` over a home of its own, killed at any moment.

use super::ledger::{Ledger, all_there, marks_in, none_twice};
use crate::simulation::failed;
use sheaf_model::rng::Rng;
use std::{
    collections::BTreeSet,
    fmt::Write as _,
    fs,
    path::{Path, PathBuf},
    process::{Command, Output, Stdio},
    sync::{Mutex, MutexGuard, PoisonError},
    thread,
    time::Duration,
};

/// A device with what was said to it.
pub struct Device {
    number: usize,
    program: PathBuf,
    home: PathBuf,
    ledger: Mutex<Ledger>,
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ended {
    /// All went well.
    Well,
    /// It said that the service is out of reach.
    OutOfReach,
    /// It was killed.
    Killed,
}

impl Device {
    /// Names a device; nothing is done yet.
    pub fn new(number: usize, program: &Path, folder: &Path) -> Self {
        let home = folder.join(format!("device-{number}"));
        Self { number, program: program.to_owned(), home, ledger: Mutex::default() }
    }

    /// Returns what was said so far.
    pub fn ledger(&self) -> MutexGuard<'_, Ledger> {
        self.ledger.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Returns the card of the home.
    pub fn card(&self) -> Result<serde_json::Value, String> {
        let text = fs::read(self.home.join("replica.json")).map_err(failed("the card"))?;
        serde_json::from_slice(&text).map_err(failed("the card"))
    }

    /// Runs a command that has to succeed and returns what it printed.
    pub fn ok(&self, words: &[&str]) -> Result<String, String> {
        let output = self.command(words).output().map_err(failed("sheaf starts"))?;
        match self.ended(words, &output, false)? {
            Ended::Well => Ok(String::from_utf8_lossy(&output.stdout).into_owned()),
            other => Err(format!("device {}: sheaf {words:?}: {other:?}: {}", self.number, said(&output))),
        }
    }

    /// Records something, and kills the command after a while if it is told to.
    pub fn record(&self, rng: &mut Rng, kill_after: Option<Duration>) -> Result<Ended, String> {
        let mark = || self.ledger().mark(self.number);
        let (words, marks) = match rng.below(8) {
            0..4 => {
                let mark = mark();
                (
                    words(&["shoot", "elm", "30m", "9@1", "X@3", "--face", "wa_80", "--note", &mark]),
                    vec![mark],
                )
            }
            4..6 => {
                let mark = mark();
                (words(&["note", "elm", &mark]), vec![mark])
            }
            6 => {
                let (mark, turns) = (mark(), format!("plunger={}", rng.below(9)));
                (words(&["change", "elm", &turns, "--note", &mark]), vec![mark])
            }
            _ => {
                let marks: Vec<String> = (0..=rng.below(30)).map(|_| mark()).collect();
                let sheet = self.sheet(&marks)?;
                (words(&["import", &sheet, "--distance", "30m", "--face", "wa_80"]), marks)
            }
        };
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        let (ended, output) = self.run(&words, kill_after)?;
        if ended == Ended::OutOfReach {
            return Err(format!("device {}: sheaf {words:?}: {}", self.number, said(&output)));
        }
        let kept = ended == Ended::Well || String::from_utf8_lossy(&output.stdout).contains("Kept");
        self.ledger().note(marks, kept);
        Ok(ended)
    }

    /// Syncs, and kills the command after a while if it is told to.
    pub fn sync(&self, kill_after: Option<Duration>) -> Result<Ended, String> {
        let kept = self.ledger().kept.len();
        let (ended, output) = self.run(&["sync", "--quiet"], kill_after)?;
        if said(&output).contains("forked") {
            return Err(format!("device {}: a kill forked its log: {}", self.number, said(&output)));
        }
        if ended == Ended::Well {
            self.ledger().note_synced(kept);
        }
        Ok(ended)
    }

    /// Syncs until this device and the service are level, and returns the digest.
    pub fn level(&self) -> Result<String, String> {
        for _ in 0..5 {
            let kept = self.ledger().kept.len();
            let report: serde_json::Value =
                serde_json::from_str(&self.ok(&["sync", "--json"])?).map_err(failed("a report"))?;
            self.ledger().note_synced(kept);
            if report["agree"] == true {
                return Ok(report["digest"].to_string());
            }
        }
        Err(format!("device {} and the service do not come level", self.number))
    }

    /// Checks that everything of these marks is on this device, and nothing twice.
    pub fn check(&self, promised: &[String]) -> Result<(), String> {
        let mut found = Vec::new();
        for kind in ["groups", "notes", "changes"] {
            found.extend(marks_in(&self.ok(&["list", kind, "--last", "0", "--json"])?));
        }
        let place = format!("on device {}", self.number);
        none_twice(&found, &place)?;
        all_there(promised, &found.into_iter().collect::<BTreeSet<_>>(), &place)
    }

    /// Checks that everything that was kept here is here.
    pub fn check_own(&self) -> Result<(), String> {
        let kept = self.ledger().kept.clone();
        self.check(&kept)
    }

    fn run(&self, words: &[&str], kill_after: Option<Duration>) -> Result<(Ended, Output), String> {
        let mut child = self.command(words).spawn().map_err(failed("sheaf starts"))?;
        let mut killed = false;
        if let Some(after) = kill_after {
            thread::sleep(after);
            killed = child.try_wait().map_err(failed("sheaf"))?.is_none();
            child.kill().map_err(failed("a kill"))?;
        }
        let output = child.wait_with_output().map_err(failed("sheaf ends"))?;
        let ended = self.ended(words, &output, killed)?;
        Ok((ended, output))
    }

    fn ended(&self, words: &[&str], output: &Output, killed: bool) -> Result<Ended, String> {
        match output.status.code() {
            Some(0) => Ok(Ended::Well),
            Some(3) => Ok(Ended::OutOfReach),
            None if killed => Ok(Ended::Killed),
            _ => Err(format!(
                "device {}: sheaf {words:?} ended with {}: {}",
                self.number,
                output.status,
                said(output)
            )),
        }
    }

    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(&self.program);
        command.arg("--home").arg(&self.home).args(words).env("NO_COLOR", "1").env("TZ", "UTC");
        command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
        command
    }

    /// Writes a sheet with a group for each mark.
    fn sheet(&self, marks: &[String]) -> Result<String, String> {
        let mut text = "at,bow,x1_mm,y1_mm,x2_mm,y2_mm,note\n".to_owned();
        for mark in marks {
            // A row that is there already adds nothing, so each has a moment of its own.
            let n: u64 =
                mark.trim_end_matches(';').rsplit('-').next().unwrap_or_default().parse().unwrap_or(0);
            let (day, hour, minute, second) = (1 + n / 86_400, n / 3600 % 24, n / 60 % 60, n % 60);
            // Writing to a string cannot fail.
            let _ = writeln!(
                text,
                "2026-04-{day:02}T{hour:02}:{minute:02}:{second:02}Z,elm,{},-3,4,5,{mark}",
                self.number
            );
        }
        let path = self.home.with_extension("csv");
        fs::write(&path, text).map_err(failed("a sheet"))?;
        Ok(path.display().to_string())
    }
}

fn words(words: &[&str]) -> Vec<String> {
    words.iter().map(|word| (*word).to_owned()).collect()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}
