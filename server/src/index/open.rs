//! Opening the index: check it, make it anew when it cannot be used, catch up with the journal.

use super::{Index, codec::Position, guard::survive, keys};
use crate::{
    error::{ServerError, io},
    journal::{Place, Placed, Reader, replay, sync_folder},
};
use std::{
    fs,
    path::Path,
    thread,
    time::{Duration, Instant},
};

/// The layout that this build writes; another one is made anew.
pub const FORMAT: &[u8] = b"3";
/// The layouts before it: 1 did not say with which line its journal begins and where its segments end, 2 not who
/// founded a team, who made an invite and from which id a device went on.
pub const OLDER: [&[u8]; 2] = [b"1", b"2"];
/// Bytes that sled may keep in memory.
const CACHE: u64 = 64 << 20;
/// How long the lock of a store that was just closed is waited for, and how long between two looks.
const LOCK_WAIT: Duration = Duration::from_secs(5);
const LOCK_PAUSE: Duration = Duration::from_millis(10);
/// Lines, and bytes of them, that are applied in one go.
const CHUNK: (usize, u64) = (2000, 8 << 20);

type CatchUp<'a> = &'a dyn Fn(&Index) -> Result<(), ServerError>;

impl Index {
    /// Opens the index of a folder over a journal that was looked at, and catches up with it.
    pub fn open(dir: &Path, reader: &Reader) -> Result<Self, ServerError> {
        Self::open_with(dir, reader, &|index| index.catch_up(None).map(drop))
    }

    fn open_with(dir: &Path, reader: &Reader, catch_up: CatchUp<'_>) -> Result<Self, ServerError> {
        clear_leftovers(dir)?;
        let reason = match usable(dir, reader, catch_up) {
            Ok(index) => return Ok(index),
            // An index that is wrong makes the journal look as if it did not go on from there.
            Err(ServerError::Index(why) | ServerError::Damaged { why, .. }) => why,
            Err(other) => return Err(other),
        };
        let make = || {
            let index = Self::create(dir, reader)?;
            catch_up(&index)?;
            Ok(index)
        };
        if !dir.exists() {
            tracing::info!("there is no index; it is made from the journal");
            return make();
        }
        tracing::warn!(reason, "the index cannot be used; it is removed and made anew from the journal");
        let aside = aside(dir);
        fs::rename(dir, &aside).map_err(io("set aside", dir))?;
        let made = make();
        if made.is_err() {
            // It may be all that shows what the journal held: it goes back to its place.
            remove(dir)?;
            fs::rename(&aside, dir).map_err(io("put back", dir))?;
        }
        clear_leftovers(dir)?;
        made
    }

    /// Makes an index of a journal in a folder that is not there yet; it still has to catch up.
    pub fn create(dir: &Path, reader: &Reader) -> Result<Self, ServerError> {
        let index = Self { db: open_db(dir)?, journal: reader.dir().to_owned() };
        index.db.insert(keys::FORMAT, FORMAT)?;
        Ok(index)
    }

    /// Opens an index as it stands. What is damaged in it is [`ServerError::Index`].
    pub fn as_it_is(dir: &Path, reader: &Reader) -> Result<Self, ServerError> {
        survive(|| Ok(Self { db: open_db(dir)?, journal: reader.dir().to_owned() }))
    }

    /// Puts a whole index that was made beside another in its place.
    pub fn swap(fresh: &Path, dir: &Path) -> Result<(), ServerError> {
        clear_leftovers(dir)?;
        if dir.exists() {
            fs::rename(dir, aside(dir)).map_err(io("set aside", dir))?;
        }
        fs::rename(fresh, dir).map_err(io("put in place", dir))?;
        clear_leftovers(dir)?;
        dir.parent().map_or(Ok(()), sync_folder)
    }

    /// Returns how far the index has come.
    pub fn position(&self) -> Result<Option<Position>, ServerError> {
        self.db.get(keys::POSITION)?.map(|v| Position::read(&v)).transpose()
    }

    /// Applies the lines of the journal that are not in yet, up to a place if one is given; returns how many
    /// were applied and how many are left.
    pub fn catch_up(&self, until: Option<Place>) -> Result<(usize, usize), ServerError> {
        let (segment, at) = match self.position()? {
            Some(Position { last, .. }) => (last.segment, last.at + u64::from(last.len)),
            None => (1, 0),
        };
        let (mut chunk, mut bytes, mut total, mut left): (Vec<Placed>, u64, usize, usize) =
            (Vec::new(), 0, 0, 0);
        replay(&self.journal, segment, at, &mut |placed| {
            if until.is_some_and(|until| placed.place > until) {
                left += usize::from(placed.speaks());
                return Ok(());
            }
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
        Ok((total, left))
    }
}

/// Opens an index that is there and catches up; [`ServerError::Index`] when it cannot be used.
fn usable(dir: &Path, reader: &Reader, catch_up: CatchUp<'_>) -> Result<Index, ServerError> {
    if !dir.exists() {
        return Err(ServerError::Index("it is missing".into()));
    }
    survive(|| {
        let index = Index { db: open_db(dir)?, journal: reader.dir().to_owned() };
        index.fits(reader)?;
        catch_up(&index)?;
        Ok(index)
    })
}

/// Opens the store of the index. It writes when its buffers are full and when it is closed, and not on its
/// own time: a crash costs a little catching up, and a disk that is full already does not stop the reads.
fn open_db(dir: &Path) -> Result<sled::Db, ServerError> {
    let config = sled::Config::new().path(dir).cache_capacity(CACHE).flush_every_ms(None);
    let began = Instant::now();
    loop {
        match config.open() {
            // Whoever closed it a moment ago frees its lock a moment later; that is no reason to make it anew.
            Err(sled::Error::Io(e)) if locked(&e) && began.elapsed() < LOCK_WAIT => thread::sleep(LOCK_PAUSE),
            opened => return Ok(opened?),
        }
    }
}

/// Tells a lock that is held from other faults; the store gives it no kind of its own.
fn locked(e: &std::io::Error) -> bool {
    e.to_string().contains("could not acquire lock")
}

/// Where an index goes in one step when another takes its place, so that a crash never leaves half of one.
fn aside(dir: &Path) -> std::path::PathBuf {
    dir.with_extension("unusable")
}

fn clear_leftovers(dir: &Path) -> Result<(), ServerError> {
    remove(&aside(dir))
}

/// Removes a folder of derived data, if it is there.
pub fn remove(dir: &Path) -> Result<(), ServerError> {
    if dir.exists() {
        fs::remove_dir_all(dir).map_err(io("remove", dir))?;
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
