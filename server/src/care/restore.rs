//! Making a data folder from a backup: all of it or nothing.

use super::{chains::Chains, check::teams, index_of, journal_of, report::TeamReport, unfit};
use crate::{
    config::Config,
    error::{ServerError, io},
    index::{Index, remove},
    journal::{Journal, Reader, sync_folder},
    store::lock,
};
use sheaf_model::journal::{self, Line, Sealer};
use std::{
    fs::{self, File},
    io::{BufRead, BufReader, Read},
    path::{Path, PathBuf},
};

/// The most bytes of a line: far more than the largest entry takes.
const LINE: u64 = 1 << 20;
/// Lines, and bytes of them, that are written in one go.
const CHUNK: (usize, usize) = (2000, 8 << 20);

/// Makes the journal and index of an empty data folder from a backup, and returns its teams.
pub fn restore(data: &Path, file: &Path) -> Result<Vec<TeamReport>, ServerError> {
    let input = File::open(file).map_err(io("read the backup", file))?;
    fs::create_dir_all(data).map_err(io("make the data folder", data))?;
    let _lock = lock(data)?;
    let made = half(data);
    is_empty(data, &made)?;
    remove(&made)?;
    let written =
        Restoring::new(file, input, &made, Config::new(data).segment_bytes).and_then(Restoring::run);
    if let Err(e) = written {
        remove(&made)?;
        return Err(e);
    }
    sync_folder(&made)?;
    fs::rename(&made, journal_of(data)).map_err(io("put in place", &made))?;
    sync_folder(data)?;
    // A backup that somebody wrote by hand can be whole and still hold an act that does not fit those before it.
    indexed(data).inspect_err(|_| {
        let _ = remove(&journal_of(data)).and_then(|()| remove(&index_of(data)));
    })
}

/// Makes the index of a journal that was put in place, and returns its teams.
fn indexed(data: &Path) -> Result<Vec<TeamReport>, ServerError> {
    let index = Index::open(&index_of(data), &Reader::new(&journal_of(data)))?;
    let teams = teams(&index)?;
    index.flush()?;
    Ok(teams)
}

/// Where a journal stands until it is whole.
fn half(data: &Path) -> PathBuf {
    data.join("journal.restoring")
}

/// Refuses a data folder in which a restore was cut off, rather than to serve without its records.
pub fn no_half_restore(data: &Path) -> Result<(), ServerError> {
    if half(data).exists() && !journal_of(data).exists() {
        let why = "holds half of a backup, whose restore was cut off; run `sheafd restore` again";
        return Err(unfit(data, why));
    }
    Ok(())
}

/// Refuses a folder that holds anything that a restore could hide or overwrite.
fn is_empty(data: &Path, made: &Path) -> Result<(), ServerError> {
    for item in fs::read_dir(data).map_err(io("list", data))? {
        let path = item.map_err(io("list", data))?.path();
        let ours = path == made || ["lock", "founding-key"].iter().any(|name| path.ends_with(name));
        if !ours {
            let what = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let why = format!("is not empty (it holds `{what}`); name an empty or a new folder with --data");
            return Err(unfit(data, why));
        }
    }
    Ok(())
}

/// A backup that is being read, and the journal that it becomes.
struct Restoring<'a> {
    file: &'a Path,
    input: BufReader<File>,
    journal: Journal,
    sealer: Sealer,
    chains: Chains,
    at: u64,
    chunk: Vec<Line>,
    bytes: usize,
}

impl<'a> Restoring<'a> {
    fn new(file: &'a Path, input: File, made: &Path, segment_bytes: u64) -> Result<Self, ServerError> {
        let (sealer, chains) = (Sealer::default(), Chains::default());
        let input = BufReader::with_capacity(1 << 20, input);
        let journal = Journal::open(made, segment_bytes)?;
        Ok(Self { file, input, journal, sealer, chains, at: 0, chunk: Vec::new(), bytes: 0 })
    }

    fn run(mut self) -> Result<(), ServerError> {
        let mut raw = Vec::new();
        loop {
            raw.clear();
            let read = (&mut self.input).take(LINE).read_until(b'\n', &mut raw);
            if read.map_err(io("read the backup", self.file))? == 0 {
                return Err(self.broken("ends without its seal: it was cut short"));
            }
            if !raw.ends_with(b"\n") || !journal::is_whole(&raw) {
                return Err(self.broken("has a line that fails its checksum, or was cut short there"));
            }
            let Ok(line) = journal::decode(&raw) else {
                return Err(self.newer("this line of it is unknown"));
            };
            if self.line(line, raw.len())? {
                return self.end();
            }
            self.sealer.cover(&raw);
            self.at += raw.len() as u64;
        }
    }

    /// Takes in a line; returns whether it was the seal.
    fn line(&mut self, line: Line, len: usize) -> Result<bool, ServerError> {
        if let Line::Act(raw) = &line
            && let Some(fits) = self.sealer.fits(raw)
        {
            return if fits {
                Ok(true)
            } else {
                Err(self.broken("has a seal that does not fit: it was altered"))
            };
        }
        match &line {
            Line::Journal(head) if self.at == 0 => self.head(head).map(|()| false),
            _ if self.at == 0 => Err(self.broken("does not begin as a backup does")),
            Line::Batch(_) => Ok(false),
            Line::Journal(_) => Err(self.broken("has a first line in its middle")),
            Line::Act(_) | Line::Entry(..) => {
                self.chains.take(&line).map_err(|why| self.broken(&format!("is not right: {why}")))?;
                self.bytes += len;
                self.chunk.push(line);
                if self.chunk.len() >= CHUNK.0 || self.bytes >= CHUNK.1 {
                    self.write()?;
                }
                Ok(false)
            }
        }
    }

    fn head(&self, head: &journal::Head) -> Result<(), ServerError> {
        if head.version > journal::VERSION {
            let what =
                format!("its format is version {}, and this build reads {}", head.version, journal::VERSION);
            return Err(self.newer(&what));
        }
        match head.what.as_str() {
            "backup" => Ok(()),
            "bundle" => {
                Err(unfit(self.file, "is a bundle of one team and no backup; `sheaf bundle in` reads it"))
            }
            other => Err(unfit(self.file, format!("is a {other} and no backup"))),
        }
    }

    fn write(&mut self) -> Result<(), ServerError> {
        self.bytes = 0;
        if !self.chunk.is_empty() {
            self.journal.append(std::mem::take(&mut self.chunk))?;
        }
        Ok(())
    }

    /// Writes what is left once the seal has been seen, behind which nothing may stand.
    fn end(mut self) -> Result<(), ServerError> {
        if !self.input.fill_buf().map_err(io("read the backup", self.file))?.is_empty() {
            return Err(self.broken("goes on behind its seal: it was altered"));
        }
        self.write()
    }

    fn broken(&self, what: &str) -> ServerError {
        let todo = "Nothing was restored; take another copy of it or an older backup";
        unfit(self.file, format!("is no whole backup: at byte {} it {what}. {todo}", self.at))
    }

    fn newer(&self, what: &str) -> ServerError {
        ServerError::Newer { file: self.file.to_owned(), what: what.to_owned() }
    }
}
