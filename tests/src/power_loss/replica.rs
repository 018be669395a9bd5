//! The replica of the command line under power loss: what `sheaf` said it had kept is there.

use super::{Asked, disk::Disk, folder, read, recorded, trace::Event};
use crate::simulation::Tally;
use sheaf_model::rng::Rng;
use std::{fs, path::Path, process::Command};

/// What the command line did.
pub struct Recorded {
    events: Vec<Event>,
}

impl Recorded {
    /// Records a team's beginning and some ends.
    pub fn new(asked: &Asked, folder: &Path) -> Result<Self, String> {
        let (root, recording) = (folder.join("replica"), folder.join("replica.trace"));
        if recording.exists() {
            return Ok(Self { events: read(&recording, &root)? });
        }
        fs::create_dir(&root).map_err(|e| format!("a folder: {e}"))?;
        // A folder above the home that is not there yet either.
        let home = root.join("deep/home");
        let sheaf =
            |words: &[&str]| done(recorded(&asked.sheaf, &recording).arg("--home").arg(&home).args(words));
        sheaf(&["start", "Pair", "--me", "Ash"])?;
        sheaf(&["add", "bow", "elm"])?;
        for n in 0..30 {
            let mark = format!("mark {n};");
            sheaf(&["shoot", "elm", "30m", "9@1", "10@7", "X@3", "--face", "wa_80", "--note", &mark])?;
        }
        Ok(Self { events: read(&recording, &root)? })
    }

    /// Cuts the power at a moment; what was said to be kept until then must be there, and the replica goes on.
    pub fn cut_power(&self, asked: &Asked, rng: &mut Rng, tally: &mut Tally) -> Result<(), String> {
        let moment = rng.below(self.events.len() as u64 + 1) as usize;
        let mut disk = Disk::default();
        for (n, event) in self.events[..moment].iter().enumerate() {
            disk.apply(n, event)?;
        }
        let left = folder()?;
        disk.cut_power(left.path(), rng).map_err(|e| format!("the folder cannot be rebuilt: {e}"))?;
        let said: Vec<String> = self.events[..moment].iter().filter_map(words).collect();
        let begun = said.iter().any(|text| text.contains("begins with"));
        let kept = said.iter().filter(|text| text.contains("Kept: 3 arrows")).count();
        tally.one("replica: power cut");
        tally.more("replica: ends kept by then", kept as u64);
        let found = check(asked, &left.path().join("deep/home"), begun, kept);
        found.map_err(|why| format!("the replica's power was cut after event {moment}: {why}"))
    }
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
