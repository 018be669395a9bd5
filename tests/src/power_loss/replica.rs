//! The replica of the command line under power loss: what `sheaf` said it had kept is there.

use super::{Asked, disk::Disk, folder, read, recorded, trace::Event};
use crate::simulation::Tally;
use sheaf_model::{
    id::{DeviceId, ThingId},
    kind::{Note, draft},
    replica::{Memory, Replica, Writer},
    rng::Rng,
};
use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

/// What the command line did.
pub struct Recorded {
    events: Vec<Event>,
    /// From which event on the power is cut.
    from: usize,
}

impl Recorded {
    /// Records a team's beginning and some ends, and between them commands that are killed right before they sync what
    /// they have written.
    pub fn new(asked: &Asked, folder: &Path) -> Result<Self, String> {
        record(asked, folder, "replica", |home| {
            for n in 0..30 {
                if n % 4 == 1 {
                    home.killed(&["shoot", "elm", "30m", "9@5", "--face", "wa_80", "--note", "cut off"])?;
                }
                home.shoot(n)?;
            }
            Ok(())
        })
    }

    /// Records the same where a segment of the journal is full: a command that fills it is killed before it has synced
    /// what it wrote, another before it has synced the segment that it began, and then ends are kept.
    pub fn at_the_end_of_a_segment(asked: &Asked, folder: &Path) -> Result<Self, String> {
        let mut recorded = record(asked, folder, "segment", |home| {
            let bundle = folder.join("fill.sheaf");
            fill(&home.folder, &bundle)?;
            home.killed(&["bundle", "in", &bundle.display().to_string()])?;
            home.killed(&["shoot", "elm", "30m", "9@5", "--face", "wa_80", "--note", "cut off"])?;
            (0..4).try_for_each(|n| home.shoot(n))
        })?;
        let large = |event: &Event| matches!(event, Event::Write(_, _, bytes) if bytes.len() > 1_000_000);
        recorded.from = recorded.events.iter().position(large).ok_or("nothing filled a segment")?;
        let second =
            |event: &Event| matches!(event, Event::Write(path, ..) if path.ends_with("00000002.journal"));
        recorded.events.iter().find(|event| second(event)).ok_or("no second segment was begun")?;
        Ok(recorded)
    }

    /// Cuts the power at a moment; what was said to be kept until then must be there, and the replica goes on.
    pub fn cut_power(
        &self,
        asked: &Asked,
        rng: &mut Rng,
        what: &'static str,
        tally: &mut Tally,
    ) -> Result<(), String> {
        let moment = self.from + rng.below((self.events.len() - self.from) as u64 + 1) as usize;
        let mut disk = Disk::default();
        for (n, event) in self.events[..moment].iter().enumerate() {
            disk.apply(n, event)?;
        }
        let left = folder()?;
        disk.cut_power(left.path(), rng).map_err(|e| format!("the folder cannot be rebuilt: {e}"))?;
        let said: Vec<String> = self.events[..moment].iter().filter_map(words).collect();
        let begun = said.iter().any(|text| text.contains("begins with"));
        let kept = said.iter().filter(|text| text.contains("Kept: 3 arrows")).count();
        tally.one(what);
        tally.more("replica: ends kept by then", kept as u64);
        let found = check(asked, &left.path().join(HOME), begun, kept);
        found.map_err(|why| format!("{what}: cut after event {moment}: {why}"))
    }
}

/// A home below a folder that is not there yet either.
const HOME: &str = "deep/home";

/// A home that is worked in while it is recorded.
struct Recording<'a> {
    asked: &'a Asked,
    file: &'a Path,
    folder: PathBuf,
}

fn record(
    asked: &Asked,
    folder: &Path,
    name: &str,
    work: impl FnOnce(&Recording<'_>) -> Result<(), String>,
) -> Result<Recorded, String> {
    let (root, file) = (folder.join(name), folder.join(format!("{name}.trace")));
    if !file.exists() {
        fs::create_dir(&root).map_err(|e| format!("a folder: {e}"))?;
        let home = Recording { asked, file: &file, folder: root.join(HOME) };
        home.done(&["start", "Pair", "--me", "Ash"])?;
        home.done(&["add", "bow", "elm"])?;
        work(&home)?;
    }
    Ok(Recorded { events: read(&file, &root)?, from: 0 })
}

impl Recording<'_> {
    fn done(&self, words: &[&str]) -> Result<String, String> {
        done(recorded(&self.asked.sheaf, self.file, None).arg("--home").arg(&self.folder).args(words))
    }

    fn shoot(&self, n: usize) -> Result<(), String> {
        let mark = format!("mark {n};");
        let words = ["shoot", "elm", "30m", "9@1", "10@7", "X@3", "--face", "wa_80", "--note", &mark];
        self.done(&words).map(drop)
    }

    /// Runs a command that is killed as it goes to sync its first line: what it wrote is there, and nothing is sure.
    fn killed(&self, words: &[&str]) -> Result<(), String> {
        let mut command = recorded(&self.asked.sheaf, self.file, Some("fdatasync"));
        let out = command.arg("--home").arg(&self.folder).args(words).output();
        let out = out.map_err(|e| format!("a program does not start: {e}"))?;
        if out.status.success() { Err(format!("{words:?} was not killed")) } else { Ok(()) }
    }
}

/// Writes a bundle of an invented device's notes that fills a segment.
fn fill(home: &Path, bundle: &Path) -> Result<(), String> {
    let card = fs::read(home.join("replica.json")).map_err(|e| e.to_string())?;
    let card: serde_json::Value = serde_json::from_slice(&card).map_err(|e| e.to_string())?;
    let team = card["team"].as_str().and_then(|team| team.parse().ok()).ok_or("the card names no team")?;
    let at = 1_775_000_000_000;
    let note = Note { text: Some("x".repeat(60_000)), ..Note::default() };
    let drafts = (0..145_u8).map(|n| draft(ThingId::new(at, [n + 1; 10]), &note));
    let drafts = drafts.collect::<Result<Vec<_>, _>>().map_err(|e| e.message)?;
    let writer = Writer { device: DeviceId::new(at, [77; 10]), author: ThingId::new(at, [0; 10]) };
    let log = Replica::new(Memory::default()).append(writer, drafts, at).map_err(|e| e.message)?;
    let bytes = sheaf_model::journal::write_bundle(team, log).map_err(|e| e.message)?;
    fs::write(bundle, bytes).map_err(|e| e.to_string())
}

fn words(event: &Event) -> Option<String> {
    match event {
        Event::Said(_, bytes) => Some(String::from_utf8_lossy(bytes).into_owned()),
        _ => None,
    }
}

fn check(asked: &Asked, home: &Path, begun: bool, kept: usize) -> Result<(), String> {
    let sheaf = |words: &[&str]| done(Command::new(&asked.sheaf).arg("--home").arg(home).args(words));
    if !begun && sheaf(&["list", "groups"]).is_err() {
        // Nothing was promised yet: beginning anew must work over what is left.
        return sheaf(&["start", "Pair", "--me", "Ash"]).map(drop);
    }
    let groups = sheaf(&["list", "groups", "--last", "0", "--json"])?;
    if let Some(lost) = (0..kept).find(|n| !groups.contains(&format!("\"mark {n};\""))) {
        return Err(format!("end {lost} of {kept} was kept and is lost"));
    }
    sheaf(&["add", "bow", "oak"])?;
    sheaf(&["shoot", "oak", "30m", "9@1", "--face", "wa_80", "--note", "after"])?;
    let groups = sheaf(&["list", "groups", "--last", "0", "--json"])?;
    if groups.contains("\"after\"") { Ok(()) } else { Err("the replica does not go on".into()) }
}

fn done(command: &mut Command) -> Result<String, String> {
    let out = command.output().map_err(|e| format!("a program does not start: {e}"))?;
    if !out.status.success() {
        return Err(String::from_utf8_lossy(&out.stderr).into_owned());
    }
    String::from_utf8(out.stdout).map_err(|e| e.to_string())
}
