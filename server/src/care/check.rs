//! Checking a data folder: every line of its journal, every chain, every row of its index.

use super::{
    audit::{Torn, audit, name_of},
    index_of, journal_of,
    report::{Report, TeamReport, Trouble},
    unfit,
};
use crate::{
    error::{ServerError, io},
    index::{Index, remove, survive},
    journal::{Place, Reader},
    store::lock,
};
use std::{fs, path::Path};

/// The most rows of an index that are told one by one.
const MOST_ROWS: usize = 10;
/// Where an index stands that has applied nothing.
const BEFORE_ALL: Place = Place { segment: 0, at: 0, len: 0 };
const REBUILD: &str = "Run `sheafd rebuild`, which makes the index anew from the journal";

/// Checks a data folder and changes nothing in it but a scratch folder of its own.
///
/// While a service runs over the folder only the journal is read, up to where it goes at that moment.
pub fn check(data: &Path) -> Result<Report, ServerError> {
    if !data.is_dir() {
        return Err(unfit(data, "is no data folder; name the service's with --data"));
    }
    let lock = match lock(data) {
        Ok(lock) => Some(lock),
        Err(ServerError::Locked(_)) => None,
        Err(other) => return Err(other),
    };
    let read = || audit(&journal_of(data), &mut |_| Ok(()));
    let (mut report, mut torn) = read()?;
    if lock.is_none() && !report.troubles.is_empty() {
        // A service that starts cuts off a torn tail and writes on; who reads meanwhile sees some of both.
        (report, torn) = read()?;
    }
    report.index = "not_compared";
    if lock.is_none() {
        let note = "a service runs over this folder: its index was not compared, and the journal was read as \
                    far as it reached then; stop the service to have all of it checked";
        report.remarks.push(note.into());
    } else {
        let scratch = data.join("check.scratch");
        remove(&scratch)?;
        let end = torn.as_ref().map(|torn| (torn.segment, torn.at));
        let reader = Reader::up_to(&journal_of(data), end);
        let done = index(data, &scratch, &reader, &mut report);
        remove(&scratch)?;
        done?;
        note_torn(&mut report, torn);
    }
    report.sound = report.troubles.is_empty();
    Ok(report)
}

/// Says that the end of the journal was never finished, unless the index showed already that it was.
fn note_torn(report: &mut Report, torn: Option<Torn>) {
    if let Some(Torn { segment, at, bytes }) = torn.filter(|_| report.index != "disagrees") {
        report.remarks.push(format!(
            "{} ends with {bytes} bytes of an unfinished write at byte {at}, which nobody was told was kept; the \
             service cuts them off when it starts",
            name_of(segment)
        ));
    }
}

/// Compares a copy of the index with one that is made from the journal for this.
fn index(data: &Path, scratch: &Path, reader: &Reader, report: &mut Report) -> Result<(), ServerError> {
    fs::create_dir(scratch).map_err(io("make the scratch folder", scratch))?;
    if !report.troubles.is_empty() {
        return mended_first(data, scratch, reader, report);
    }
    let fresh = Index::create(&scratch.join("fresh"), reader)?;
    let stored = index_of(data);
    if stored.exists() {
        let copy = scratch.join("stored");
        copy_folder(&stored, &copy)?;
        compare(&copy, reader, &fresh, report)?;
    } else {
        report.index = "missing";
        report.remarks.push("there is no index; the service makes it when it starts".into());
    }
    if let Err(e) = fresh.catch_up(None) {
        report.trouble(of_journal(e));
        return Ok(());
    }
    report.teams = teams(&fresh)?;
    Ok(())
}

/// Asks the index what a damaged journal lacks; comparing the two has to wait.
fn mended_first(
    data: &Path,
    scratch: &Path,
    reader: &Reader,
    report: &mut Report,
) -> Result<(), ServerError> {
    report.remarks.push("the index was not compared, since the journal has to be mended first".into());
    let (stored, copy) = (index_of(data), scratch.join("stored"));
    if stored.exists() {
        copy_folder(&stored, &copy)?;
        match survive(|| Index::as_it_is(&copy, reader)?.fits(reader)) {
            Err(e @ ServerError::Lost { .. }) => report.trouble(of_journal(e)),
            Ok(()) | Err(ServerError::Index(_) | ServerError::Damaged { .. }) => {}
            Err(other) => return Err(other),
        }
    }
    Ok(())
}

/// Returns the teams of an index with their digests.
pub fn teams(index: &Index) -> Result<Vec<TeamReport>, ServerError> {
    let of = |(team, name, digest)| {
        let (entries, logs) = index.counts(team)?;
        Ok(TeamReport { team, name, logs, entries, digest })
    };
    index.teams()?.into_iter().map(of).collect()
}

/// Compares an index with one that is made from the journal, as far as the first has come.
fn compare(copy: &Path, reader: &Reader, fresh: &Index, report: &mut Report) -> Result<(), ServerError> {
    let Some(stored) = opened(copy, reader, report)? else { return Ok(()) };
    let until = stored.position()?.map_or(BEFORE_ALL, |position| position.last);
    // A journal that gives no index is reported when the rest is made.
    let Ok((_, left)) = fresh.catch_up(Some(until)) else { return Ok(()) };
    let differences = match survive(|| stored.compare(fresh, MOST_ROWS)) {
        Err(ServerError::Index(why)) => {
            report.index = "unusable";
            report.trouble(of_index(why));
            return Ok(());
        }
        found => found?,
    };
    report.index = if left > 0 { "behind" } else { "agrees" };
    if left > 0 {
        let note =
            format!("the index is {left} lines behind the journal; the service catches up when it starts");
        report.remarks.push(note);
    }
    if differences.rows > 0 {
        report.index = "disagrees";
        let all = differences.rows;
        differences.first.into_iter().for_each(|what| report.trouble(of_index(what)));
        if all > MOST_ROWS {
            report.trouble(of_index(format!("{all} rows differ in all")));
        }
    }
    Ok(())
}

/// Opens an index for comparing; none when that makes no sense, which is reported.
fn opened(copy: &Path, reader: &Reader, report: &mut Report) -> Result<Option<Index>, ServerError> {
    let stored = survive(|| {
        let stored = Index::as_it_is(copy, reader)?;
        if stored.is_older()? {
            return Ok(None);
        }
        stored.fits(reader)?;
        Ok(Some(stored))
    });
    match stored {
        Ok(Some(stored)) => return Ok(Some(stored)),
        Ok(None) => {
            report.index = "older";
            let note = "an older sheafd made the index; the service makes it anew when it starts";
            report.remarks.push(note.into());
        }
        Err(ServerError::Index(why)) => {
            report.index = "unusable";
            report.trouble(of_index(why));
        }
        Err(e @ ServerError::Lost { .. }) => {
            report.index = "disagrees";
            report.trouble(of_journal(e));
        }
        Err(other) => return Err(other),
    }
    Ok(None)
}

fn of_index(what: String) -> Trouble {
    Trouble { file: "index".into(), at: None, what, todo: REBUILD }
}

/// Puts what the journal does not give, or no longer gives, among the troubles.
fn of_journal(e: ServerError) -> Trouble {
    let (file, at, what, todo) = match e {
        ServerError::Lost { file, at, what } => (
            file,
            Some(at),
            format!("it lacks {what}, as the index shows"),
            "Put the file back or restore a backup (`sheafd restore`); without one, `sheafd rebuild` lets the service go \
             on with what is left, and devices that sync bring back what they hold",
        ),
        ServerError::Damaged { file, at, why } => {
            (file, Some(at), why, "Restore a backup (`sheafd restore`)")
        }
        other => ("journal".into(), None, other.to_string(), "Restore a backup (`sheafd restore`)"),
    };
    let name = file.file_name().map(|name| Path::new("journal").join(name)).filter(|_| at.is_some());
    let file = name.unwrap_or(file).display().to_string();
    Trouble { file, at, what, todo }
}

fn copy_folder(from: &Path, to: &Path) -> Result<(), ServerError> {
    fs::create_dir_all(to).map_err(io("make the folder", to))?;
    for item in fs::read_dir(from).map_err(io("list", from))? {
        let item = item.map_err(io("list", from))?;
        let (path, copy) = (item.path(), to.join(item.file_name()));
        if path.is_dir() {
            copy_folder(&path, &copy)?;
        } else {
            fs::copy(&path, &copy).map_err(io("copy", &path))?;
        }
    }
    Ok(())
}
