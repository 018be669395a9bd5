//! The truth of the service: append-only segments of checksummed lines, synced before anyone is answered.

mod reader;
mod segment;

pub use reader::{Reader, replay};
pub use segment::{check_head, make_folder, numbers, path_of, sync_folder};

use crate::error::{ServerError, io};
use segment::{Last, create, list, look_at_last, open_last, verify_sealed};
use sheaf_model::journal::{Line, encode};
use std::{
    fs::File,
    io::Write,
    path::{Path, PathBuf},
    time::{Duration, Instant},
};

/// Where a line stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Place {
    /// Number of the segment.
    pub segment: u32,
    /// Offset of its first byte.
    pub at: u64,
    /// Its length in bytes, the line feed included.
    pub len: u32,
}

/// A line that is on the disk.
#[derive(Debug)]
pub struct Placed {
    /// Where it stands.
    pub place: Place,
    /// What it says.
    pub line: Line,
}

/// The journal, open for appending.
#[derive(Debug)]
pub struct Journal {
    dir: PathBuf,
    limit: u64,
    segment: u32,
    file: File,
    end: u64,
    batch: u64,
    synced_in: Duration,
    stopped: Option<String>,
}

impl Placed {
    /// Returns whether the line says something: an entry or an act, and not what holds the file together.
    pub fn speaks(&self) -> bool {
        matches!(self.line, Line::Entry(..) | Line::Act(_))
    }
}

/// A journal whose segments were checked, and in which nothing was changed yet.
#[derive(Debug)]
pub struct Looked {
    dir: PathBuf,
    last: Option<Last>,
}

impl Looked {
    /// Checks every segment of a folder's journal.
    pub fn at(dir: &Path) -> Result<Self, ServerError> {
        let segments = list(dir)?;
        let last = match segments.split_last() {
            None => None,
            Some((last, sealed)) => {
                sealed.iter().try_for_each(|segment| verify_sealed(&path_of(dir, *segment)))?;
                Some(look_at_last(dir, *last)?)
            }
        };
        Ok(Self { dir: dir.to_owned(), last })
    }

    /// Makes a reader of what is whole of the journal.
    pub fn reader(&self) -> Reader {
        Reader::up_to(&self.dir, self.last.map(|last| (last.segment, last.end)))
    }

    /// Makes what was found survive a power cut, before anybody is told of it: whoever wrote it may have been
    /// killed before that.
    pub fn sync(&self) -> Result<(), ServerError> {
        let Some(last) = self.last else { return Ok(()) };
        let path = path_of(&self.dir, last.segment);
        File::open(&path).and_then(|file| file.sync_all()).map_err(io("sync", &path))?;
        sync_folder(&self.dir)
    }

    /// Cuts off a torn tail and opens the journal for appending.
    pub fn open(self, limit: u64) -> Result<Journal, ServerError> {
        let Self { dir, last } = self;
        make_folder(&dir)?;
        let (segment, batch, (file, end)) = match last {
            None => (1, 0, create(&dir, 1)?),
            Some(last) => (last.segment, last.batch, open_last(&dir, last)?),
        };
        Ok(Journal { dir, limit, segment, file, end, batch, synced_in: Duration::ZERO, stopped: None })
    }
}

impl Journal {
    /// Opens the journal of a folder: checks every segment, cuts off a torn tail of the last one.
    ///
    /// Damage before the last batch is an error that names file and place; nothing is changed then.
    pub fn open(dir: &Path, limit: u64) -> Result<Self, ServerError> {
        Looked::at(dir)?.open(limit)
    }

    /// Appends lines as one batch; they are on the disk when this returns.
    ///
    /// After any failure to write the journal takes nothing more until it is opened anew, since nobody
    /// knows then what the disk holds.
    pub fn append(&mut self, lines: Vec<Line>) -> Result<Vec<Placed>, ServerError> {
        if let Some(why) = &self.stopped {
            return Err(ServerError::Stopped(why.clone()));
        }
        self.write(lines).map_err(|e| match e {
            ServerError::Io { .. } => {
                let why = e.to_string();
                self.stopped = Some(why.clone());
                ServerError::Stopped(why)
            }
            other => other,
        })
    }

    /// Returns why nothing can be written any more, if so.
    pub fn stopped(&self) -> Option<&str> {
        self.stopped.as_deref()
    }

    /// Returns how long the disk took to sync the last batch.
    pub fn synced_in(&self) -> Duration {
        self.synced_in
    }

    /// Checks that the segment is there, can be written to, and ends where it should.
    pub fn check(&self) -> Result<(), ServerError> {
        let path = path_of(&self.dir, self.segment);
        let failed = || io("write to", &path);
        let file = File::options().append(true).open(&path).map_err(failed())?;
        let there = file.metadata().map_err(failed())?.len();
        if there != self.end {
            let why = format!("{there} bytes are there, and {} were written", self.end);
            return Err(ServerError::Damaged { file: path, at: self.end.min(there), why });
        }
        Ok(())
    }

    fn write(&mut self, lines: Vec<Line>) -> Result<Vec<Placed>, ServerError> {
        if self.end >= self.limit {
            (self.file, self.end) = create(&self.dir, self.segment + 1)?;
            (self.segment, self.batch) = (self.segment + 1, 0);
        }
        let mut bytes = Vec::new();
        encode(&Line::Batch(self.batch + 1), &mut bytes)?;
        let mut placed = Vec::with_capacity(lines.len());
        for line in lines {
            let at = self.end + bytes.len() as u64;
            let len = u32::try_from(encode(&line, &mut bytes)?).unwrap_or(u32::MAX);
            placed.push(Placed { place: Place { segment: self.segment, at, len }, line });
        }
        let path = path_of(&self.dir, self.segment);
        self.file.write_all(&bytes).map_err(io("write to", &path))?;
        let began = Instant::now();
        self.file.sync_data().map_err(io("sync", &path))?;
        self.synced_in = began.elapsed();
        self.end += bytes.len() as u64;
        self.batch += 1;
        Ok(placed)
    }
}

#[cfg(test)]
mod tests;
