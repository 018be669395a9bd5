//! The journal on disk: a folder of segments `00000001.journal`, `00000002.journal` and so on.

use super::files;
use crate::CliError;
use sheaf_model::{
    ModelError,
    id::TeamId,
    journal::{self, Head, Line},
    log::Entry,
};
use std::{
    fs::File,
    io::{self, Read, Seek, SeekFrom, Write},
    path::{Path, PathBuf},
};

/// The size at which a new segment is begun.
const SEGMENT_BYTES: u64 = 8 * 1024 * 1024;

/// Where an entry stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Which segment.
    pub segment: u32,
    /// Offset of the line.
    pub at: u64,
    /// Its length.
    pub len: u32,
}

/// How far a reader has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// Which segment, from 1.
    pub segment: u32,
    /// Offset of the next byte in it.
    pub at: u64,
    /// Number of the last batch.
    pub batch: u64,
}

impl Position {
    /// The beginning of a journal.
    pub const START: Self = Self { segment: 1, at: 0, batch: 0 };
}

/// The segments of one journal.
#[derive(Debug)]
pub struct Segments {
    folder: PathBuf,
    /// The segment whose name this process knows to be on the disk.
    named: Option<u32>,
}

/// An entry that was read, with its place.
pub type Placed = (TeamId, Box<Entry>, Place);

impl Segments {
    /// Names the folder of a journal.
    pub fn new(folder: PathBuf) -> Self {
        Self { folder, named: None }
    }

    /// Returns the folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Hands out the entries from a position on and moves it past them.
    pub fn read_on(
        &self,
        position: &mut Position,
        take: &mut dyn FnMut(Placed) -> Result<(), CliError>,
    ) -> Result<(), CliError> {
        loop {
            let path = self.path(position.segment);
            // Asked first: a segment that has a successor is finished, whoever writes meanwhile.
            let next_is_there = self.path(position.segment + 1).exists();
            let Some(bytes) = read_from(&path, position.at)? else { return Ok(()) };
            let from = usize::try_from(position.at).unwrap_or(usize::MAX);
            let scan = journal::scan(&bytes, from).map_err(|e| damage(&path, &e))?;
            let whole = scan.end - from == bytes.len();
            if !whole && next_is_there {
                let what = format!("the journal is damaged at byte {}: a line is not whole", scan.end);
                return Err(damage(&path, &ModelError::new("damaged", what)));
            }
            for found in scan.lines {
                let at = found.at as u64;
                match found.line {
                    Line::Entry(team, entry) => {
                        let place = Place { segment: position.segment, at, len: found.len as u32 };
                        take((team, entry, place))?;
                    }
                    Line::Batch(n) => position.batch = n,
                    Line::Journal(head) => readable(&path, &head)?,
                    Line::Act(_) => {}
                }
            }
            position.at = scan.end as u64;
            if !next_is_there {
                return Ok(());
            }
            *position = Position { segment: position.segment + 1, at: 0, batch: position.batch };
        }
    }

    /// Reads the entry at a place.
    pub fn read_at(&self, place: Place) -> Result<Entry, CliError> {
        let path = self.path(place.segment);
        let mut line = vec![0; place.len as usize];
        File::open(&path)
            .and_then(|mut file| {
                file.seek(SeekFrom::Start(place.at))?;
                file.read_exact(&mut line)
            })
            .map_err(|e| CliError::file("read", &path, &e))?;
        match journal::decode(&line) {
            Ok(Line::Entry(_, entry)) => Ok(*entry),
            Ok(_) => {
                Err(damage(&path, &ModelError::new("damaged", format!("byte {} holds no entry", place.at))))
            }
            Err(e) => {
                Err(damage(&path, &ModelError::new(e.code, format!("at byte {}: {}", place.at, e.message))))
            }
        }
    }

    /// Cuts off what stands behind a position: a batch that was never acknowledged.
    pub fn cut(&self, position: Position) -> Result<(), CliError> {
        let path = self.path(position.segment);
        let cut = || -> io::Result<()> {
            let file = match files::open_private(&path, false) {
                Ok(file) => file,
                Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
                Err(e) => return Err(e),
            };
            if file.metadata()?.len() > position.at {
                file.set_len(position.at)?;
                file.sync_all()?;
            }
            Ok(())
        };
        cut().map_err(|e| CliError::file("repair", &path, &e))
    }

    /// Appends a batch of entries at a position and syncs it to the disk; moves the position past it.
    pub fn append(
        &mut self,
        position: &mut Position,
        team: TeamId,
        entries: &[Entry],
    ) -> Result<Vec<Place>, CliError> {
        let mut next = *position;
        if next.at >= SEGMENT_BYTES {
            self.finish(next.segment)?;
            next = Position { segment: next.segment + 1, at: 0, batch: next.batch };
        }
        next.batch += 1;
        let mut bytes = Vec::new();
        if next.at == 0 {
            journal::encode(&Line::Journal(Head::journal()), &mut bytes)?;
        }
        journal::encode(&Line::Batch(next.batch), &mut bytes)?;
        let mut places = Vec::with_capacity(entries.len());
        for entry in entries {
            let at = next.at + bytes.len() as u64;
            let len = journal::encode(&Line::Entry(team, Box::new(entry.clone())), &mut bytes)?;
            places.push(Place { segment: next.segment, at, len: len as u32 });
        }
        self.write(next, &bytes)?;
        next.at += bytes.len() as u64;
        *position = next;
        Ok(places)
    }

    /// Syncs a segment that is written no more: its last batch may be of a command that was killed before it had synced
    /// it, and nothing may come after a batch that a power cut can still tear.
    fn finish(&self, segment: u32) -> Result<(), CliError> {
        let path = self.path(segment);
        let synced = File::open(&path).and_then(|file| file.sync_all());
        synced.map_err(|e| CliError::file("sync", &path, &e))?;
        files::sync_folder(&self.folder)
    }

    fn write(&mut self, at: Position, bytes: &[u8]) -> Result<(), CliError> {
        if at.at == 0 {
            // A home that is on a server gets its records back from there, also when their folder was lost.
            files::make_folder(&self.folder)?;
        }
        let path = self.path(at.segment);
        let write = || -> io::Result<()> {
            let mut file = files::open_private(&path, false)?;
            file.seek(SeekFrom::Start(at.at))?;
            if let Err(e) = file.write_all(bytes).and_then(|()| file.sync_data()) {
                // What was written of the batch is no use; should this fail too, the next open cuts it off.
                let _ = file.set_len(at.at);
                return Err(e);
            }
            Ok(())
        };
        write().map_err(|e| {
            CliError::file("write", &path, &e)
                .hint("nothing of this was kept; make room on the disk and try again")
        })?;
        // Whoever began the segment may have been killed before its name was on the disk.
        if self.named != Some(at.segment) {
            files::sync_folder(&self.folder)?;
            self.named = Some(at.segment);
        }
        Ok(())
    }

    fn path(&self, segment: u32) -> PathBuf {
        self.folder.join(format!("{segment:08}.journal"))
    }
}

/// Returns the bytes of a file from an offset on; nothing when there is no such file.
fn read_from(path: &Path, at: u64) -> Result<Option<Vec<u8>>, CliError> {
    let read = || -> io::Result<Vec<u8>> {
        let mut file = File::open(path)?;
        file.seek(SeekFrom::Start(at))?;
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes)?;
        Ok(bytes)
    };
    match read() {
        Ok(bytes) => Ok(Some(bytes)),
        Err(e) if e.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(e) => Err(CliError::file("read", path, &e)),
    }
}

fn readable(path: &Path, head: &Head) -> Result<(), CliError> {
    if head.version <= journal::VERSION {
        return Ok(());
    }
    let (path, has, reads) = (path.display(), head.version, journal::VERSION);
    Err(CliError::input(format!("{path} has format {has}; this build reads {reads}")).hint("update sheaf"))
}

fn damage(path: &Path, e: &ModelError) -> CliError {
    CliError::input(format!("{}: {}", path.display(), e.message)).hint(
        "keep a copy of the folder; what was synced or handed over in a bundle can be brought back by joining \
         again into a new home, and every line before the damage is whole",
    )
}
