//! Reading the journal: single lines by their place, and everything from a place on.

use super::{
    Place, Placed,
    segment::{list, path_of},
};
use crate::error::{ServerError, io};
use sheaf_model::{
    journal::{self, Line},
    log::Entry,
};
use std::{
    collections::BTreeMap,
    fs::{self, File},
    os::unix::fs::FileExt,
    path::{Path, PathBuf},
    sync::{Arc, Mutex, PoisonError},
};

/// Reads lines by their place, while the journal is being appended to.
#[derive(Debug)]
pub struct Reader {
    dir: PathBuf,
    end: Option<(u32, u64)>,
    files: Mutex<BTreeMap<u32, Arc<File>>>,
}

impl Reader {
    /// Makes a reader of a folder.
    pub fn new(dir: &Path) -> Self {
        Self::up_to(dir, None)
    }

    /// Makes a reader of a folder of whose last segment only a part is whole.
    pub fn up_to(dir: &Path, end: Option<(u32, u64)>) -> Self {
        Self { dir: dir.to_owned(), end, files: Mutex::default() }
    }

    /// Returns how many bytes of a segment were whole when the reader was made; 0 when it is not there.
    pub fn whole(&self, segment: u32) -> u64 {
        match self.end {
            Some((last, end)) if last == segment => end,
            _ => fs::metadata(path_of(&self.dir, segment)).map_or(0, |file| file.len()),
        }
    }

    /// Returns how many bytes all segments have.
    pub fn journal_bytes(&self) -> Result<u64, ServerError> {
        let size = |segment: u32| fs::metadata(path_of(&self.dir, segment)).map_or(0, |file| file.len());
        Ok(list(&self.dir)?.into_iter().map(size).sum())
    }

    /// Reads the line at a place, as bytes.
    pub fn bytes(&self, place: Place) -> Result<Vec<u8>, ServerError> {
        let mut bytes = vec![0; place.len as usize];
        let file = self.file(place.segment)?;
        let path = path_of(&self.dir, place.segment);
        file.read_exact_at(&mut bytes, place.at).map_err(io("read", path))?;
        Ok(bytes)
    }

    /// Reads the entry at a place.
    pub fn entry(&self, place: Place) -> Result<Entry, ServerError> {
        let damaged =
            |why: String| ServerError::Damaged { file: path_of(&self.dir, place.segment), at: place.at, why };
        match journal::decode(&self.bytes(place)?).map_err(|e| damaged(e.message))? {
            Line::Entry(_, entry) => Ok(*entry),
            _ => Err(damaged("an entry should stand here".into())),
        }
    }

    /// Returns the folder of the journal.
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    fn file(&self, segment: u32) -> Result<Arc<File>, ServerError> {
        let mut files = self.files.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(file) = files.get(&segment) {
            return Ok(file.clone());
        }
        let path = path_of(&self.dir, segment);
        let file = Arc::new(File::open(&path).map_err(io("open", &path))?);
        files.insert(segment, file.clone());
        Ok(file)
    }
}

/// Hands out every line from a place on, in order, batch markers and heads included.
pub fn replay(
    dir: &Path,
    segment: u32,
    at: u64,
    see: &mut dyn FnMut(Placed) -> Result<(), ServerError>,
) -> Result<(), ServerError> {
    for number in list(dir)?.into_iter().filter(|n| *n >= segment) {
        let path = path_of(dir, number);
        let bytes = fs::read(&path).map_err(io("read", &path))?;
        let from = if number == segment { usize::try_from(at).unwrap_or(usize::MAX) } else { 0 };
        let mut failed = None;
        let walked = journal::walk(bytes.get(from..).unwrap_or_default(), from, &mut |found| {
            let len = u32::try_from(found.len).unwrap_or(u32::MAX);
            let place = Place { segment: number, at: found.at as u64, len };
            see(Placed { place, line: found.line }).map_err(|e| {
                let why = e.to_string();
                failed = Some(e);
                journal::Damage { at: found.at, why }
            })
        });
        if let Some(e) = failed {
            return Err(e);
        }
        walked.map_err(|d| ServerError::Damaged { file: path, at: d.at as u64, why: d.why })?;
    }
    Ok(())
}
