//! The line format of journals and bundles: encode, decode, checksum, find the torn tail.
//!
//! A journal is text. Each line is eight hex digits of CRC-32 (ISO-HDLC), a space, and one JSON
//! object. Lines are appended in batches; a batch opens with a line `{"batch": n}` and is made durable
//! before the next one is begun. So a bad line with a later batch behind it, or inside of it where a line feed
//! was lost, is damage, and is reported. One without is taken for a torn tail and cut off: an unfinished write
//! looks like that, and damage to the last batch alone cannot be told from it.

mod seal;

pub use seal::Sealer;

use crate::{ModelError, id::TeamId, log::Entry};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

/// The version of the journal format.
pub const VERSION: u32 = 1;

/// The bytes of a line before its JSON: the checksum and a space.
const SUM: usize = 9;

/// A line of a journal.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Line {
    /// The first line of a file: what it is and in which version.
    Journal(Head),
    /// A batch begins.
    Batch(u64),
    /// An entry of a team.
    Entry(TeamId, Box<Entry>),
    /// An act of the keeper of this journal, in its own words.
    Act(Box<RawValue>),
}

/// What a file says of itself.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Head {
    /// Format version.
    pub version: u32,
    /// `journal`, `bundle` or `backup`.
    pub what: String,
}

impl Head {
    /// Returns the head of a journal segment.
    pub fn journal() -> Self {
        Self { version: VERSION, what: "journal".into() }
    }

    /// Returns the head of a bundle that is handed over.
    pub fn bundle() -> Self {
        Self { version: VERSION, what: "bundle".into() }
    }

    /// Returns the head of a backup of a service: the lines of all teams and its acts.
    pub fn backup() -> Self {
        Self { version: VERSION, what: "backup".into() }
    }
}

/// Appends the encoded line to a buffer and returns how many bytes it took.
pub fn encode(line: &Line, out: &mut Vec<u8>) -> Result<usize, ModelError> {
    let json = serde_json::to_vec(line)
        .map_err(|e| ModelError::new("bad_line", format!("a journal line cannot be written: {e}")))?;
    let start = out.len();
    out.extend_from_slice(format!("{:08x} ", crc32fast::hash(&json)).as_bytes());
    out.extend_from_slice(&json);
    out.push(b'\n');
    Ok(out.len() - start)
}

/// Reads one line, with or without its line feed.
pub fn decode(line: &[u8]) -> Result<Line, ModelError> {
    let json =
        checked(line).ok_or_else(|| ModelError::new("bad_checksum", "a journal line fails its checksum"))?;
    serde_json::from_slice(json).map_err(|e| ModelError::new("bad_line", format!("a journal line: {e}")))
}

/// Returns whether a line passes its checksum, without reading what it says.
pub fn is_whole(line: &[u8]) -> bool {
    checked(line).is_some()
}

fn checked(line: &[u8]) -> Option<&[u8]> {
    let line = line.strip_suffix(b"\n").unwrap_or(line);
    let (sum, json) = (line.get(..8)?, line.get(9..)?);
    // As they are written: the parser would take capitals and a sign, and a damaged digit could pass for another.
    let written = sum.iter().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f'));
    let sum = u32::from_str_radix(std::str::from_utf8(sum).ok().filter(|_| written)?, 16).ok()?;
    (line.get(8) == Some(&b' ') && sum == crc32fast::hash(json)).then_some(json)
}

/// A line with the place where it stands.
#[derive(Debug)]
pub struct Found {
    /// Offset of its first byte.
    pub at: usize,
    /// Its length in bytes, the line feed included.
    pub len: usize,
    /// What it says.
    pub line: Line,
}

/// What a file holds.
#[derive(Debug)]
pub struct Scan {
    /// The good lines in order.
    pub lines: Vec<Found>,
    /// Where the good part ends: everything from here on is a torn tail and is to be cut.
    pub end: usize,
    /// The number of the last batch.
    pub batch: u64,
}

/// A place where a file is damaged.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Damage {
    /// Offset of the first bad byte's line.
    pub at: usize,
    /// What is wrong there.
    pub why: String,
}

/// Where the good part of a file ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct End {
    /// Offset just behind the last good line.
    pub at: usize,
    /// The number of the last batch; 0 when there is none.
    pub batch: u64,
}

/// Hands out the lines of a file, or of the rest of one that begins at a line, and returns where the good
/// part ends; `from` is only added to the places.
///
/// A torn tail ends the walk; damage before the last batch is an error that names the place.
pub fn walk(
    bytes: &[u8],
    from: usize,
    see: &mut dyn FnMut(Found) -> Result<(), Damage>,
) -> Result<End, Damage> {
    let mut end = End { at: from, batch: 0 };
    let mut rest = bytes;
    while !rest.is_empty() {
        let len = rest.iter().position(|b| *b == b'\n').map(|n| n + 1);
        let read = len.map(|len| decode(&rest[..len]));
        let (Some(len), Some(Ok(line))) = (len, read) else {
            return not_a_line(len.map_or((rest, &[][..]), |len| rest.split_at(len)), end);
        };
        if let Line::Batch(n) = line {
            end.batch = n;
        }
        see(Found { at: end.at, len, line })?;
        end.at += len;
        rest = &rest[len..];
    }
    Ok(end)
}

/// Tells a torn tail, which ends the good part, from damage.
fn not_a_line((line, rest): (&[u8], &[u8]), end: End) -> Result<End, Damage> {
    let why = if line.ends_with(b"\n") && is_whole(line) {
        "a line passes its checksum and this build cannot read it; a newer build wrote it, update sheaf"
    } else if later_batch(rest).is_some() || batch_inside(line) {
        "a line fails its checksum, and good batches follow it; copy the journal from a backup or fetch its \
         records again"
    } else {
        return Ok(end);
    };
    Err(Damage { at: end.at, why: why.into() })
}

/// Reads a file, or the rest of one that begins at a line; `from` is only added to the places.
///
/// A torn tail ends the scan; damage before the last batch is an error that names the place.
pub fn scan(bytes: &[u8], from: usize) -> Result<Scan, ModelError> {
    let mut lines = Vec::new();
    let walked = walk(bytes, from, &mut |found| {
        lines.push(found);
        Ok(())
    });
    let end = walked.map_err(|d| {
        ModelError::new("damaged", format!("the journal is damaged at byte {}: {}", d.at, d.why))
    })?;
    Ok(Scan { lines, end: end.at, batch: end.batch })
}

fn later_batch(bytes: &[u8]) -> Option<u64> {
    bytes.split_inclusive(|b| *b == b'\n').find_map(|line| match decode(line) {
        Ok(Line::Batch(n)) => Some(n),
        _ => None,
    })
}

/// Says whether a bad line swallowed the line that opens a batch, since the line feed before it is damaged.
fn batch_inside(line: &[u8]) -> bool {
    const OPENS: &[u8] = b"{\"batch\":";
    // One at the very beginning is the last batch itself, cut off before its line feed.
    let opens = (SUM + 1..line.len()).filter(|at| line[*at..].starts_with(OPENS));
    opens.into_iter().any(|at| {
        let end = line[at..].iter().position(|b| *b == b'}').map_or(line.len(), |n| at + n + 1);
        matches!(decode(&line[at - SUM..end]), Ok(Line::Batch(_)))
    })
}

/// Writes a bundle: the same lines as a journal, in one batch.
pub fn write_bundle(team: TeamId, entries: impl IntoIterator<Item = Entry>) -> Result<Vec<u8>, ModelError> {
    let mut out = Vec::new();
    encode(&Line::Journal(Head::bundle()), &mut out)?;
    encode(&Line::Batch(1), &mut out)?;
    for entry in entries {
        encode(&Line::Entry(team, Box::new(entry)), &mut out)?;
    }
    let mut sealer = Sealer::default();
    sealer.cover(&out);
    encode(&sealer.line()?, &mut out)?;
    Ok(out)
}

/// Reads a bundle; one that was cut short or altered is refused as a whole.
pub fn read_bundle(bytes: &[u8]) -> Result<(Option<TeamId>, Vec<Entry>), ModelError> {
    let broken = |what: &str| {
        ModelError::new("bad_bundle", format!("this is no whole bundle: {what}; ask for it again"))
    };
    let scan = scan(bytes, 0).map_err(|e| broken(&e.message))?;
    if scan.end != bytes.len() {
        return Err(broken("it was cut short or altered"));
    }
    let mut lines = scan.lines.into_iter();
    match lines.next().map(|f| f.line) {
        Some(Line::Journal(head)) if head.version > VERSION => {
            return Err(broken(&format!("it has format {}, this build reads {VERSION}", head.version)));
        }
        Some(Line::Journal(head)) if head.what == "bundle" => {}
        _ => return Err(broken("its first line does not say that it is one")),
    }
    let (mut team, mut entries, mut sealed) = (None, Vec::new(), false);
    for Found { at, line, .. } in lines {
        match line {
            Line::Entry(of, entry) if team.is_none_or(|t| t == of) => {
                team = Some(of);
                entries.push(*entry);
            }
            Line::Entry(..) => return Err(broken("it mixes the records of two teams")),
            Line::Act(raw) => {
                let mut sealer = Sealer::default();
                sealer.cover(&bytes[..at]);
                sealed = sealer.fits(&raw) == Some(true);
            }
            Line::Journal(_) | Line::Batch(_) => {}
        }
    }
    if sealed { Ok((team, entries)) } else { Err(broken("its seal is missing or does not fit")) }
}
