//! The truth of the service: append-only segments of checksummed lines, synced before anyone is answered.

mod reader;
mod segment;

pub use reader::{Reader, replay};
pub use segment::{make_folder, sync_folder};

use crate::error::{ServerError, io};
use segment::{create, list, open_last, path_of, verify_sealed};
use sheaf_model::journal::{Line, encode};
use std::{
    fs::File,
    io::Write,
    path::{Path, PathBuf},
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
    stopped: Option<String>,
}

impl Journal {
    /// Opens the journal of a folder: checks every segment, cuts off a torn tail of the last one.
    ///
    /// Damage before the last batch is an error that names file and place; nothing is changed then.
    pub fn open(dir: &Path, limit: u64) -> Result<Self, ServerError> {
        make_folder(dir)?;
        let segments = list(dir)?;
        let Some((last, sealed)) = segments.split_last() else {
            let (file, end) = create(dir, 1)?;
            return Ok(Self::at(dir, limit, 1, file, end, 0));
        };
        for segment in sealed {
            verify_sealed(&path_of(dir, *segment))?;
        }
        let opened = open_last(dir, *last)?;
        Ok(Self::at(dir, limit, *last, opened.file, opened.end, opened.batch))
    }

    fn at(dir: &Path, limit: u64, segment: u32, file: File, end: u64, batch: u64) -> Self {
        Self { dir: dir.to_owned(), limit, segment, file, end, batch, stopped: None }
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
        self.file.sync_data().map_err(io("sync", &path))?;
        self.end += bytes.len() as u64;
        self.batch += 1;
        Ok(placed)
    }
}

#[cfg(test)]
mod tests;
