//! Whether an index fits the journal beside it, and what it shows of a journal that lost something.

use super::{
    Index,
    codec::{EntryRow, Position, read_end, read_head},
    keys,
    open::{FORMAT, OLDER},
};
use crate::{
    error::ServerError,
    journal::{Reader, path_of, replay},
};
use std::collections::BTreeMap;

impl Index {
    /// Returns whether an older build wrote the index, in a layout that is made anew at the next start.
    pub fn is_older(&self) -> Result<bool, ServerError> {
        let format = self.db.get(keys::FORMAT)?;
        Ok(format.is_some_and(|format| OLDER.contains(&&format[..])))
    }

    /// Reads every row and checks that the index fits the journal.
    ///
    /// [`ServerError::Index`] when it cannot be used; [`ServerError::Lost`] when it shows that the journal went
    /// on behind its end: lines are applied only after they are on the disk, so somebody was told of them.
    pub fn fits(&self, reader: &Reader) -> Result<(), ServerError> {
        let unusable = |why: String| Err(ServerError::Index(why));
        if self.db.get(keys::FORMAT)?.as_deref() != Some(FORMAT) {
            return unusable("it has another format".into());
        }
        let (mut entries, mut promised) = (0, 0);
        let mut ends: BTreeMap<u32, u64> = BTreeMap::new();
        for row in self.db.iter() {
            let (key, value) = row?;
            match key.first() {
                Some(b'e') => {
                    EntryRow::read(&value)?;
                    entries += 1;
                }
                Some(b's') => drop(ends.insert(keys::segment_of(&key)?, read_end(&value)?)),
                Some(b'h') => promised += read_head(&value)?.seq,
                _ => {}
            }
        }
        if entries != promised {
            return unusable(format!("it holds {entries} entries and its heads speak of {promised}"));
        }
        match self.position()? {
            Some(at) => {
                self.follows(reader, &at)?;
                long_enough(reader, &ends)
            }
            None if entries == 0 => Ok(()),
            None => unusable("it does not say how far it has come".into()),
        }
    }

    /// Checks that the line which was applied last stands in the journal.
    fn follows(&self, reader: &Reader, at: &Position) -> Result<(), ServerError> {
        let there = reader.bytes(at.last).is_ok_and(|line| {
            line.starts_with(&at.sum) && line.ends_with(b"\n") && sheaf_model::journal::is_whole(&line)
        });
        if there {
            return Ok(());
        }
        let begins = self.db.get(keys::FIRST)?.map(|v| Position::read(&v)).transpose()?;
        let first = first(reader)?;
        if first.is_none() || first == begins {
            return Err(lost(reader, at.last.segment, at.last.at, "the line that was kept last"));
        }
        Err(ServerError::Index("it was made from another journal".into()))
    }
}

/// Checks that every segment reaches as far as the lines that were read from it.
fn long_enough(reader: &Reader, ends: &BTreeMap<u32, u64>) -> Result<(), ServerError> {
    for (segment, end) in ends {
        // A tail that looks torn can have whole lines behind the bad one: it counts from there.
        let whole = reader.whole(*segment);
        if whole < *end {
            return Err(lost(reader, *segment, whole, "lines that were kept"));
        }
    }
    Ok(())
}

fn lost(reader: &Reader, segment: u32, at: u64, what: &'static str) -> ServerError {
    ServerError::Lost { file: path_of(reader.dir(), segment), at, what }
}

/// Returns the first line of the journal that says something.
fn first(reader: &Reader) -> Result<Option<Position>, ServerError> {
    let mut found = None;
    replay(reader.dir(), 1, 0, &mut |placed| {
        if found.is_none() && placed.speaks() {
            found = Some(Position::of(&placed)?);
        }
        Ok(())
    })?;
    Ok(found)
}
