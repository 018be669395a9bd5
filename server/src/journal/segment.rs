//! One file of the journal: making it, checking it, cutting its torn tail.

use crate::error::{ServerError, io};
use sheaf_model::journal::{self, Head, Line};
use std::{
    fs::{self, File, OpenOptions},
    io::{BufRead, BufReader, ErrorKind, Write},
    path::{Path, PathBuf},
};

/// Returns the path of a segment.
pub fn path_of(dir: &Path, segment: u32) -> PathBuf {
    dir.join(format!("{segment:08}.journal"))
}

/// Returns the numbers of the segments that a folder has, in order; none when there is no folder.
pub fn numbers(dir: &Path) -> Result<Vec<u32>, ServerError> {
    let items = match fs::read_dir(dir) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Vec::new()),
        items => items.map_err(io("list", dir))?,
    };
    let mut found = Vec::new();
    for item in items {
        let name = item.map_err(io("list", dir))?.file_name();
        let number: Option<u32> =
            name.to_str().and_then(|n| n.strip_suffix(".journal")).and_then(|n| n.parse().ok());
        found.extend(number);
    }
    found.sort_unstable();
    Ok(found)
}

/// Returns the numbers of the segments of a folder, which must run from 1 without a hole.
pub fn list(dir: &Path) -> Result<Vec<u32>, ServerError> {
    let found = numbers(dir)?;
    for (expected, number) in (1..).zip(&found) {
        if *number != expected {
            let why = "the segment is missing, though later ones are there".into();
            return Err(ServerError::Damaged { file: path_of(dir, expected), at: 0, why });
        }
    }
    Ok(found)
}

/// Makes a segment with its first line; it survives a power cut when this returns.
pub fn create(dir: &Path, segment: u32) -> Result<(File, u64), ServerError> {
    let path = path_of(dir, segment);
    let mut file = OpenOptions::new()
        .create(true)
        .append(true)
        .open(&path)
        .map_err(io("create the journal segment", &path))?;
    file.set_len(0).map_err(io("empty", &path))?;
    let mut head = Vec::new();
    journal::encode(&Line::Journal(Head::journal()), &mut head)?;
    file.write_all(&head).map_err(io("write to", &path))?;
    file.sync_all().map_err(io("sync", &path))?;
    sync_folder(dir)?;
    Ok((file, head.len() as u64))
}

/// Makes a folder, and those above it, whose name survives a power cut when this returns.
///
/// One that is there already is synced into its place all the same: whoever made it may have been killed before that.
pub fn make_folder(dir: &Path) -> Result<(), ServerError> {
    let dir = std::path::absolute(dir).map_err(io("find", dir))?;
    let made: Vec<&Path> = dir.ancestors().take_while(|above| !above.exists()).collect();
    fs::create_dir_all(&dir).map_err(io("make the folder", &dir))?;
    for parent in made.iter().skip(1).rev().filter_map(|above| above.parent()) {
        sync_folder(parent)?;
    }
    match dir.parent().map_or(Ok(()), sync_folder) {
        // A folder that only its owner can look into was made by them, and not just now.
        Err(ServerError::Io { source, .. })
            if made.is_empty() && source.kind() == ErrorKind::PermissionDenied =>
        {
            Ok(())
        }
        done => done,
    }
}

/// Makes the names of a folder survive a power cut.
pub fn sync_folder(dir: &Path) -> Result<(), ServerError> {
    File::open(dir).and_then(|d| d.sync_all()).map_err(io("sync the folder", dir))
}

/// What the last segment holds.
#[derive(Debug, Clone, Copy)]
pub struct Last {
    /// Its number.
    pub segment: u32,
    /// Where the next line goes; everything from here on is a torn tail.
    pub end: u64,
    /// How long the file is.
    pub len: u64,
    /// The number of its last batch.
    pub batch: u64,
}

/// Looks at the last segment and finds what a crash left half written at its end. Nothing is changed.
pub fn look_at_last(dir: &Path, segment: u32) -> Result<Last, ServerError> {
    let path = path_of(dir, segment);
    let bytes = fs::read(&path).map_err(io("read", &path))?;
    let first = bytes.split_inclusive(|b| *b == b'\n').next().unwrap_or_default();
    if first.ends_with(b"\n") && journal::is_whole(first) {
        // Before anything else: what a newer version wrote behind it may look like damage to this one.
        check_head(&path, journal::decode(first).ok().as_ref())?;
    }
    let end = journal::walk(&bytes, 0, &mut |_| Ok(())).map_err(|d| unreadable(&path, &bytes, d))?;
    Ok(Last { segment, end: end.at as u64, len: bytes.len() as u64, batch: end.batch })
}

/// Opens the last segment for appending and cuts off its torn tail; returns where the next line goes.
pub fn open_last(dir: &Path, last: Last) -> Result<(File, u64), ServerError> {
    if last.end == 0 {
        // Not even the first line is whole: the crash came while the segment was made.
        return create(dir, last.segment);
    }
    let path = path_of(dir, last.segment);
    let file = OpenOptions::new().append(true).open(&path).map_err(io("open", &path))?;
    if last.end < last.len {
        let bytes = last.len - last.end;
        tracing::warn!(file = %path.display(), at = last.end, bytes, "cut a torn tail, which nobody was told was kept");
        file.set_len(last.end).map_err(io("cut the torn tail of", &path))?;
        file.sync_all().map_err(io("sync", &path))?;
    }
    Ok((file, last.end))
}

/// Tells damage from a line that is whole and that only a newer build can read.
fn unreadable(path: &Path, bytes: &[u8], damage: journal::Damage) -> ServerError {
    let line = bytes.get(damage.at..).and_then(|rest| rest.split_inclusive(|b| *b == b'\n').next());
    if line.is_some_and(|line| line.ends_with(b"\n") && journal::is_whole(line)) {
        let what = format!("this build does not know what its line at byte {} says", damage.at);
        return ServerError::Newer { file: path.to_owned(), what };
    }
    ServerError::Damaged { file: path.to_owned(), at: damage.at as u64, why: damage.why }
}

/// Checks the first line of a segment.
pub fn check_head(path: &Path, line: Option<&Line>) -> Result<(), ServerError> {
    let why = match line {
        Some(Line::Journal(head)) if head.what != "journal" => {
            format!("it is a {}, no journal", head.what)
        }
        Some(Line::Journal(head)) if head.version > journal::VERSION => {
            let what =
                format!("its format is version {}, and this build reads {}", head.version, journal::VERSION);
            return Err(ServerError::Newer { file: path.to_owned(), what });
        }
        Some(Line::Journal(_)) => return Ok(()),
        _ => "its first line does not say that it is a journal".into(),
    };
    Err(ServerError::Damaged { file: path.to_owned(), at: 0, why })
}

/// Checks a segment that later ones follow: every line must be whole.
pub fn verify_sealed(path: &Path) -> Result<(), ServerError> {
    let mut input = BufReader::with_capacity(1 << 20, File::open(path).map_err(io("open", path))?);
    let (mut at, mut line) = (0, Vec::new());
    loop {
        line.clear();
        let len = input.read_until(b'\n', &mut line).map_err(io("read", path))?;
        if len == 0 && at > 0 {
            return Ok(());
        }
        if !line.ends_with(b"\n") || !journal::is_whole(&line) {
            let why = "a line fails its checksum, and later segments follow it".into();
            return Err(ServerError::Damaged { file: path.to_owned(), at, why });
        }
        if at == 0 {
            check_head(path, journal::decode(&line).ok().as_ref())?;
        }
        at += len as u64;
    }
}
