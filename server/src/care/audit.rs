//! Reading every line of a journal, changing nothing, and going on behind what is damaged.

use super::{
    chains::Chains,
    report::{Report, Trouble},
};
use crate::{
    error::{ServerError, io},
    journal::{check_head, numbers, path_of},
};
use sheaf_model::journal::{self, Found, Line};
use std::{fs, path::Path};

const RESTORE: &str = "Restore a backup (`sheafd restore`); without one, move the data folder aside and start afresh: devices that sync \
     bring back what they hold";
const NEWER: &str = "Install a newer sheafd";

/// What stands at the end of a journal and was never finished.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Torn {
    /// The segment.
    pub segment: u32,
    /// Where the unfinished part begins.
    pub at: u64,
    /// How long it is.
    pub bytes: u64,
}

/// A journal that is being read.
pub struct Audit<'a> {
    report: Report,
    chains: Chains,
    torn: Option<Torn>,
    see: &'a mut dyn FnMut(&[u8]) -> Result<(), ServerError>,
}

/// Where the reading of a segment stands.
struct Segment {
    number: u32,
    last: bool,
    batch: u64,
    /// Whether lines before this one could not be read, so that numbers may leap.
    leap: bool,
}

/// Reads the journal of a folder and reports what is wrong with it; `see` is handed the bytes of every
/// line that says something, in order.
pub fn audit(
    dir: &Path,
    see: &mut dyn FnMut(&[u8]) -> Result<(), ServerError>,
) -> Result<(Report, Option<Torn>), ServerError> {
    let found = numbers(dir)?;
    let mut audit = Audit { report: Report::default(), chains: Chains::default(), torn: None, see };
    audit.report.segments = found.len();
    let (mut next, end) = (1, found.last().copied());
    for number in found {
        for missing in (next..number).take(3) {
            audit.trouble(missing, None, "the segment is missing, though later ones are there", RESTORE);
        }
        next = number.saturating_add(1);
        audit.segment(dir, Segment { number, last: Some(number) == end, batch: 0, leap: false })?;
    }
    if end.is_none() {
        audit.report.trouble(Trouble {
            file: "journal".into(),
            at: None,
            what: "there is no journal in this data folder".into(),
            todo: "See that --data names the right folder; if it does, restore a backup (`sheafd restore`)",
        });
    }
    let Audit { mut report, chains, torn, .. } = audit;
    (report.entries, report.acts) = (chains.entries, chains.acts);
    Ok((report, torn))
}

/// Returns the name of a segment from the data folder on.
pub fn name_of(segment: u32) -> String {
    path_of(Path::new("journal"), segment).display().to_string()
}

/// Says what a file is whose first line is whole and not that of a segment which this build reads: what is behind
/// it may look like damage and is none.
fn of_another_kind(path: &Path, bytes: &[u8]) -> Result<Option<(String, &'static str)>, ServerError> {
    let first = bytes.split_inclusive(|b| *b == b'\n').next().unwrap_or_default();
    let Ok(line) = journal::decode(first) else { return Ok(None) };
    match check_head(path, Some(&line)) {
        _ if !first.ends_with(b"\n") => Ok(None),
        Ok(()) => Ok(None),
        Err(ServerError::Newer { what, .. }) => Ok(Some((what, NEWER))),
        Err(ServerError::Damaged { why, .. }) => Ok(Some((why, RESTORE))),
        Err(other) => Err(other),
    }
}

impl Audit<'_> {
    fn trouble(&mut self, segment: u32, at: Option<u64>, what: impl Into<String>, todo: &'static str) {
        let (file, what) = (name_of(segment), what.into());
        self.report.trouble(Trouble { file, at, what, todo });
    }

    fn segment(&mut self, dir: &Path, mut segment: Segment) -> Result<(), ServerError> {
        let path = path_of(dir, segment.number);
        let bytes = fs::read(&path).map_err(io("read", &path))?;
        if let Some((what, todo)) = of_another_kind(&path, &bytes)? {
            self.trouble(segment.number, Some(0), what, todo);
            return Ok(());
        }
        if bytes.is_empty() && !segment.last {
            self.trouble(segment.number, Some(0), "the segment is empty, and later ones follow it", RESTORE);
        }
        let mut from = 0;
        while from < bytes.len() {
            let mut failed = None;
            let walked = journal::walk(&bytes[from..], from, &mut |found| {
                let raw = &bytes[found.at..found.at + found.len];
                self.line(&mut segment, &found, raw).map_err(|e| {
                    failed = Some(e);
                    journal::Damage { at: found.at, why: String::new() }
                })
            });
            if let Some(e) = failed {
                return Err(e);
            }
            from = match walked {
                Ok(end) if end.at >= bytes.len() => end.at,
                Ok(end) if segment.last => {
                    let (at, len) = (end.at as u64, bytes.len() as u64);
                    self.torn = Some(Torn { segment: segment.number, at, bytes: len - at });
                    return Ok(());
                }
                Ok(end) => self.unreadable(&mut segment, &bytes, end.at),
                Err(damage) => self.unreadable(&mut segment, &bytes, damage.at),
            };
        }
        Ok(())
    }

    /// Reports a line that cannot be read; returns where the next one begins.
    fn unreadable(&mut self, segment: &mut Segment, bytes: &[u8], at: usize) -> usize {
        let rest = &bytes[at..];
        let line = rest.split_inclusive(|b| *b == b'\n').next().unwrap_or_default();
        let (what, todo) = if line.ends_with(b"\n") && journal::is_whole(line) {
            ("the line passes its checksum, and this build cannot read it: a newer one wrote it", NEWER)
        } else {
            ("the line fails its checksum, and more was written behind it", RESTORE)
        };
        self.trouble(segment.number, Some(at as u64), what, todo);
        segment.leap = true;
        at + line.len()
    }

    fn line(&mut self, segment: &mut Segment, found: &Found, raw: &[u8]) -> Result<(), ServerError> {
        let at = Some(found.at as u64);
        match &found.line {
            Line::Journal(_) if found.at == 0 => return Ok(()),
            Line::Journal(_) => {
                self.trouble(segment.number, at, "the first line of a file stands inside of one", RESTORE);
            }
            Line::Batch(n) => {
                if *n != segment.batch + 1 && !segment.leap {
                    let what = format!("batch {n} follows batch {}: lines are missing", segment.batch);
                    self.trouble(segment.number, at, what, RESTORE);
                }
                (segment.batch, segment.leap) = (*n, false);
            }
            line => {
                if segment.batch == 0 && !segment.leap {
                    self.trouble(segment.number, at, "a line stands before the first batch", RESTORE);
                    segment.leap = true;
                }
                if let Err(what) = self.chains.take(line) {
                    self.trouble(segment.number, at, what, RESTORE);
                }
                return (self.see)(raw);
            }
        }
        if found.at == 0 {
            let what = "the first line does not say that the file is a journal";
            self.trouble(segment.number, at, what, RESTORE);
        }
        Ok(())
    }
}
