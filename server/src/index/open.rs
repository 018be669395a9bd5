//! Opening the index: check it, make it anew when it cannot be used, catch up with the journal.

use super::{
    Index,
    codec::{EntryRow, Position, read_head},
    keys,
};
use crate::{
    error::{ServerError, io},
    journal::{Placed, Reader, replay},
};
use std::{
    fs,
    panic::{AssertUnwindSafe, catch_unwind},
    path::Path,
};

/// The layout that this build writes; another one is made anew.
const FORMAT: &[u8] = b"1";
/// Bytes that sled may keep in memory.
const CACHE: u64 = 64 << 20;
/// Lines, and bytes of them, that are applied in one go.
const CHUNK: (usize, u64) = (2000, 8 << 20);

impl Index {
    /// Opens the index of a folder over a journal that is open already, and catches up with it.
    pub fn open(dir: &Path, journal: &Path, reader: &Reader) -> Result<Self, ServerError> {
        Self::open_with(dir, reader, &|index| index.catch_up(journal))
    }

    fn open_with(
        dir: &Path,
        reader: &Reader,
        catch_up: &dyn Fn(&Self) -> Result<(), ServerError>,
    ) -> Result<Self, ServerError> {
        clear_leftovers(dir)?;
        let reason = match usable(dir, reader, catch_up) {
            Ok(index) => return Ok(index),
            Err(ServerError::Index(why)) => why,
            Err(other) => return Err(other),
        };
        if dir.exists() {
            tracing::warn!(reason, "the index cannot be used; it is removed and made anew from the journal");
            set_aside(dir)?;
        } else {
            tracing::info!("there is no index; it is made from the journal");
        }
        let index = Self { db: open_db(dir)? };
        index.db.insert(keys::FORMAT, FORMAT)?;
        catch_up(&index)?;
        Ok(index)
    }

    fn position(&self) -> Result<Option<Position>, ServerError> {
        self.db.get(keys::POSITION)?.map(|v| Position::read(&v)).transpose()
    }

    fn catch_up(&self, journal: &Path) -> Result<(), ServerError> {
        let (segment, at) = match self.position()? {
            Some(Position { last, .. }) => (last.segment, last.at + u64::from(last.len)),
            None => (1, 0),
        };
        let (mut chunk, mut bytes, mut total): (Vec<Placed>, u64, usize) = (Vec::new(), 0, 0);
        replay(journal, segment, at, &mut |placed| {
            bytes += u64::from(placed.place.len);
            chunk.push(placed);
            if chunk.len() >= CHUNK.0 || bytes >= CHUNK.1 {
                self.apply(&chunk)?;
                total += chunk.len();
                chunk.clear();
                bytes = 0;
            }
            Ok(())
        })?;
        self.apply(&chunk)?;
        total += chunk.len();
        if total > 0 {
            tracing::info!(lines = total, "the index has caught up with the journal");
        }
        Ok(())
    }

    /// Reads every row and checks that the index fits the journal; says what is wrong if it does not.
    fn check(&self, reader: &Reader) -> Result<(), String> {
        if self.db.get(keys::FORMAT).map_err(|e| e.to_string())?.as_deref() != Some(FORMAT) {
            return Err("it has another format".into());
        }
        let (mut entries, mut promised) = (0, 0);
        for row in self.db.iter() {
            let (key, value) = row.map_err(|e| e.to_string())?;
            match key.first() {
                Some(b'e') => {
                    EntryRow::read(&value).map_err(|e| e.to_string())?;
                    entries += 1;
                }
                Some(b'h') => promised += read_head(&value).map_err(|e| e.to_string())?.seq,
                _ => {}
            }
        }
        if entries != promised {
            return Err(format!("it holds {entries} entries and its heads speak of {promised}"));
        }
        match self.position().map_err(|e| e.to_string())? {
            Some(at) => match reader.bytes(at.last) {
                Ok(line) if line.starts_with(&at.sum) && line.ends_with(b"\n") => Ok(()),
                _ => Err("it was made from another journal".into()),
            },
            None if entries == 0 => Ok(()),
            None => Err("it does not say how far it has come".into()),
        }
    }
}

/// Opens an index that is there and catches up; [`ServerError::Index`] when it cannot be used.
fn usable(
    dir: &Path,
    reader: &Reader,
    catch_up: &dyn Fn(&Index) -> Result<(), ServerError>,
) -> Result<Index, ServerError> {
    if !dir.exists() {
        return Err(ServerError::Index("it is missing".into()));
    }
    // sled panics over some kinds of damage, at opening or when it first reaches the place; the index is thrown
    // away then, so nothing half-done is kept.
    let opened = catch_unwind(AssertUnwindSafe(|| {
        let index = Index { db: open_db(dir)? };
        index.check(reader).map_err(ServerError::Index)?;
        catch_up(&index)?;
        Ok(index)
    }));
    opened.unwrap_or_else(|_| Err(ServerError::Index("its store gives up over it".into())))
}

/// Opens the store of the index. It writes when its buffers are full and when it is closed, and not on its
/// own time: a crash costs a little catching up, and a disk that is full already does not stop the reads.
fn open_db(dir: &Path) -> Result<sled::Db, ServerError> {
    Ok(sled::Config::new().path(dir).cache_capacity(CACHE).flush_every_ms(None).open()?)
}

/// Moves an index out of the way in one step, then removes it, so that a crash never leaves half of one.
fn set_aside(dir: &Path) -> Result<(), ServerError> {
    let aside = dir.with_extension("unusable");
    fs::rename(dir, &aside).map_err(io("set aside", dir))?;
    clear_leftovers(dir)
}

fn clear_leftovers(dir: &Path) -> Result<(), ServerError> {
    let aside = dir.with_extension("unusable");
    if aside.exists() {
        fs::remove_dir_all(&aside).map_err(io("remove", &aside))?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use std::cell::Cell;
    use tempfile::TempDir;

    #[test]
    fn an_index_whose_store_gives_up_while_it_catches_up_is_made_anew() {
        let folder = TempDir::new().unwrap();
        let (dir, reader) = (folder.path().join("index"), Reader::new(folder.path()));
        let open = |catch_up: &dyn Fn(&Index) -> Result<(), ServerError>| {
            Index::open_with(&dir, &reader, catch_up).map(drop)
        };
        open(&|index| index.db.insert(b"mark", b"of the first").map(drop).map_err(Into::into)).unwrap();
        let calls = Cell::new(0);
        open(&|index| {
            calls.set(calls.get() + 1);
            if index.db.get(b"mark")?.is_some() {
                panic!("a page cannot be read");
            }
            Ok(())
        })
        .unwrap();
        assert_eq!(calls.get(), 2, "once over the old index and once over the new one");
    }
}
