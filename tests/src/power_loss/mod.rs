//! Power loss by replay: the real programs run under strace, which records every write and every sync; the folder is
//! then rebuilt as a power cut at any moment could have left it, opened by the real programs, and compared with what
//! had been acknowledged up to that moment.

mod disk;
mod replica;
mod service;
mod trace;

pub use service::serve;

use crate::simulation::{Tally, hush_the_index};
use sheaf_model::rng::{Rng, Seed};
use std::{
    path::{Path, PathBuf},
    process::Command,
};
use tempfile::TempDir;

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// How many power cuts of each program.
    pub points: u64,
    /// Where the drawing of moments and leftovers begins.
    pub seed: u64,
    /// The program `sheafd`.
    pub sheafd: PathBuf,
    /// The program `sheaf`.
    pub sheaf: PathBuf,
    /// The folder of recordings that an earlier run kept, to cut the power of again.
    pub recording: Option<PathBuf>,
    /// This program, which can also serve with small segments.
    pub own: PathBuf,
}

/// Records both programs and cuts their power; returns what was tried. After a failure the recordings are kept, since
/// no two of them are alike.
pub fn run(asked: &Asked) -> Result<Tally, String> {
    hush_the_index();
    if let Some(kept) = &asked.recording {
        return cut_power(asked, kept);
    }
    let folder = folder()?;
    cut_power(asked, folder.path()).map_err(|why| {
        let kept = folder.keep();
        format!("{why}\n  again: the same command with --recording {}", kept.display())
    })
}

fn cut_power(asked: &Asked, folder: &Path) -> Result<Tally, String> {
    let mut tally = Tally::default();
    let of_service = service::Recorded::new(asked, folder)?;
    let of_replica = replica::Recorded::new(asked, folder)?;
    let of_segment = replica::Recorded::at_the_end_of_a_segment(asked, folder)?;
    for n in 0..asked.points {
        let seed = asked.seed.wrapping_add(n);
        let again = |why| format!("seed {seed}: {why}");
        of_service.cut_power(&mut Rng::new(Seed(seed)), &mut tally).map_err(again)?;
        let rng = &mut Rng::new(Seed(seed));
        // A full segment takes longer to rebuild.
        let done = match n % 6 {
            5 => of_segment.cut_power(asked, rng, "replica: power cut, a segment full", &mut tally),
            _ => of_replica.cut_power(asked, rng, "replica: power cut", &mut tally),
        };
        done.map_err(again)?;
    }
    Ok(tally)
}

/// Returns whether strace is there.
pub fn can_record() -> bool {
    Command::new("strace").arg("-V").output().is_ok_and(|out| out.status.success())
}

/// Returns a command that runs a program and adds what it does to a recording; the program is killed as it goes to make
/// a call for the first time, when one is named.
fn recorded(program: &Path, recording: &Path, killed_at: Option<&str>) -> Command {
    let calls: Vec<String> = trace::CALLS.split(',').map(|call| format!("?{}", call.trim())).collect();
    let mut command = Command::new("strace");
    command.args(["-f", "-y", "-xx", "-qq", "-A", "-s", "16777216", "-e", "signal=none", "-e"]);
    command.arg(format!("trace={}", calls.join(",")));
    if let Some(call) = killed_at {
        command.arg("-e").arg(format!("inject={call}:signal=SIGKILL:when=1"));
    }
    command.arg("-o").arg(recording).arg(program);
    command
}

fn read(recording: &Path, root: &Path) -> Result<Vec<trace::Event>, String> {
    let text = std::fs::read_to_string(recording).map_err(|e| format!("the recording: {e}"))?;
    trace::read(&text, root)
}

fn folder() -> Result<TempDir, String> {
    // The recording syncs a lot, and its folder is only looked at: memory where there is some.
    let memory = Path::new("/dev/shm");
    let made = if memory.is_dir() { TempDir::new_in(memory) } else { TempDir::new() };
    made.map_err(|e| format!("a folder: {e}"))
}
