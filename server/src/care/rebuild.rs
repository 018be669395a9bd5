//! Making all derived data anew from the journal, which is only read.

use super::{check::teams, index_of, journal_of, report::TeamReport, unfit};
use crate::{
    error::ServerError,
    index::{Index, remove},
    journal::{Looked, Reader},
    store::lock,
};
use std::path::Path;

/// Makes the index of a data folder anew beside the old one and puts it in its place once it is whole.
pub fn rebuild(data: &Path) -> Result<Vec<TeamReport>, ServerError> {
    let dir = journal_of(data);
    if !dir.is_dir() {
        return Err(unfit(
            &dir,
            "is not there, and the index is made from it; restore a backup (`sheafd restore`)",
        ));
    }
    let _lock = lock(data)?;
    Looked::at(&dir)?;
    let made = data.join("index.new");
    remove(&made)?;
    let index = Index::create(&made, &Reader::new(&dir))?;
    index.catch_up(None)?;
    let teams = teams(&index)?;
    index.flush()?;
    drop(index);
    Index::swap(&made, &index_of(data))?;
    Ok(teams)
}
