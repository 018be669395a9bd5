//! Writing everything that a service holds to one sealed file, while it serves.
//!
//! The journal is only ever appended to, so its lines up to any moment are a state that the service was in: an
//! entry stands behind those that it chains to, an act behind those that it builds on. Reading them needs no
//! lock, and what was acknowledged before the reading began is among them.

use super::{audit::audit, journal_of, report::Report, unfit};
use crate::{
    error::{ServerError, io},
    journal::sync_folder,
};
use sheaf_model::journal::{Head, Line, Sealer, encode};
use std::{
    fs::{self, File, OpenOptions},
    io::{BufWriter, ErrorKind, Write},
    os::unix::fs::OpenOptionsExt,
    path::Path,
};

/// What a backup holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Backup {
    /// Entries of all teams.
    pub entries: u64,
    /// Acts of access.
    pub acts: u64,
    /// Bytes of the file.
    pub bytes: u64,
}

/// Writes all lines of a data folder's journal to a file that is not there yet; it is on the disk when this
/// returns. A journal that is damaged is not backed up.
pub fn backup(data: &Path, file: &Path) -> Result<Backup, ServerError> {
    let dir = journal_of(data);
    if !dir.is_dir() {
        return Err(unfit(
            &dir,
            "is not there, so there is nothing to back up; name the data folder with --data",
        ));
    }
    let into = file.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if is_same(into, &dir) {
        return Err(unfit(
            file,
            "would stand among the segments of the journal; keep backups in another folder",
        ));
    }
    // A service that starts cuts off a torn tail and writes on; who reads meanwhile may take that for damage.
    let (done, report) = match attempt(&dir, file)? {
        (_, report) if !report.troubles.is_empty() => attempt(&dir, file)?,
        first => first,
    };
    match report.troubles.first() {
        None => Ok(done),
        Some(trouble) => {
            let why = format!("holds no sound journal, so nothing was backed up: {trouble}");
            Err(unfit(data, why))
        }
    }
}

/// Returns whether two paths lead to one folder.
fn is_same(one: &Path, other: &Path) -> bool {
    one.canonicalize().is_ok_and(|one| other.canonicalize().is_ok_and(|other| one == other))
}

/// Writes the file; one that would not be whole is removed again.
fn attempt(dir: &Path, file: &Path) -> Result<(Backup, Report), ServerError> {
    let out = create(file)?;
    let written = write(dir, file, out);
    if !written.as_ref().is_ok_and(|(_, report)| report.troubles.is_empty()) {
        fs::remove_file(file).ok();
    }
    written
}

fn create(file: &Path) -> Result<File, ServerError> {
    let made = OpenOptions::new().write(true).create_new(true).mode(0o600).open(file);
    made.map_err(|e| match e.kind() {
        ErrorKind::AlreadyExists => unfit(file, "is there already; give the backup another name"),
        _ => io("write the backup", file)(e),
    })
}

fn write(dir: &Path, file: &Path, out: File) -> Result<(Backup, Report), ServerError> {
    let mut out =
        Out { file, out: BufWriter::with_capacity(1 << 20, out), sealer: Sealer::default(), bytes: 0 };
    out.line(&Line::Journal(Head::backup()))?;
    out.line(&Line::Batch(1))?;
    let (report, _) = audit(dir, &mut |line| out.raw(line))?;
    let seal = out.sealer.line()?;
    out.line(&seal)?;
    let failed = |e| io("write the backup", file)(e);
    let done = out.out.into_inner().map_err(|e| failed(e.into_error()))?;
    done.sync_all().map_err(failed)?;
    let folder = file.parent().filter(|folder| !folder.as_os_str().is_empty());
    sync_folder(folder.unwrap_or(Path::new(".")))?;
    Ok((Backup { entries: report.entries, acts: report.acts, bytes: out.bytes }, report))
}

struct Out<'a> {
    file: &'a Path,
    out: BufWriter<File>,
    sealer: Sealer,
    bytes: u64,
}

impl Out<'_> {
    fn line(&mut self, line: &Line) -> Result<(), ServerError> {
        let mut bytes = Vec::new();
        encode(line, &mut bytes)?;
        self.raw(&bytes)
    }

    fn raw(&mut self, line: &[u8]) -> Result<(), ServerError> {
        self.sealer.cover(line);
        self.bytes += line.len() as u64;
        self.out.write_all(line).map_err(io("write the backup", self.file))
    }
}
