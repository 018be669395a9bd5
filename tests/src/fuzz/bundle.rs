//! Bundles and journals: bytes as they are, and lines of JSON to which checksums and a seal are added.

use super::told::{told, well};
use sheaf_model::journal::{self, Found, Line, Sealer};

/// Reads bytes as a journal and as a bundle. A journal that was torn anywhere yields the lines before the tear and
/// nothing else; a bundle is read whole or not at all, and written again it is read the same.
pub fn check(bytes: &[u8]) {
    read(bytes);
    let sealed = sealed(bytes, true);
    read(&sealed);
    if let Some((team, entries)) = well(journal::read_bundle(&sealed)) {
        let Some(team) = team else { return };
        let again = journal::write_bundle(team, entries.clone()).expect("a bundle is written");
        let (back_team, back) = journal::read_bundle(&again).expect("what is written is read");
        assert_eq!((back_team, text(&back)), (Some(team), text(&entries)));
        harmed(&again);
    }
}

/// Returns the lines of a text as those of a journal: each with its checksum and, where wanted, a seal behind them.
pub fn sealed(bytes: &[u8], seal: bool) -> Vec<u8> {
    let mut out = Vec::new();
    for line in bytes.split(|b| *b == b'\n').filter(|line| !line.is_empty()) {
        out.extend_from_slice(format!("{:08x} ", crc32fast::hash(line)).as_bytes());
        out.extend_from_slice(line);
        out.push(b'\n');
    }
    if seal {
        let mut sealer = Sealer::default();
        sealer.cover(&out);
        journal::encode(&sealer.line().expect("a seal"), &mut out).expect("a seal is written");
    }
    out
}

fn text<T: serde::Serialize>(of: &T) -> String {
    serde_json::to_string(of).expect("it is written")
}

fn lines(found: &[Found]) -> Vec<String> {
    found.iter().map(|f| text(&f.line)).collect()
}

fn read(bytes: &[u8]) {
    let _ = well(journal::read_bundle(bytes));
    let _ = journal::is_whole(bytes);
    let Some(scan) = well(journal::scan(bytes, 0)) else { return };
    assert!(scan.end <= bytes.len());
    assert_eq!(scan.lines.iter().map(|f| f.len).sum::<usize>(), scan.end);
    for found in &scan.lines {
        let mut again = Vec::new();
        journal::encode(&found.line, &mut again).expect("a line is written");
        let back: Line = journal::decode(&again).expect("what is written is read");
        assert_eq!(text(&back), text(&found.line));
    }
    let whole = lines(&scan.lines);
    let good = &bytes[..scan.end];
    // Places that differ from input to input and are the same for the same one.
    let step = 1 + good.len() / 16;
    for cut in (0..good.len()).step_by(step).chain([good.len().saturating_sub(1)]) {
        let torn = journal::scan(&good[..cut], 0).unwrap_or_else(|e| panic!("torn at {cut}: {e}"));
        let end = good[..cut].iter().rposition(|b| *b == b'\n').map_or(0, |n| n + 1);
        assert_eq!(torn.end, end, "torn at {cut}");
        assert_eq!(lines(&torn.lines), whole[..torn.lines.len()], "torn at {cut}");
    }
    let rest = scan.lines.get(1).map_or(0, |f| f.at);
    let behind = journal::scan(&good[rest..], rest).expect("the rest of what is good is good");
    assert_eq!(behind.end, scan.end);
    assert_eq!(lines(&behind.lines), whole[whole.len() - behind.lines.len()..]);
}

/// A byte that is changed anywhere in a whole bundle is noticed.
fn harmed(bundle: &[u8]) {
    for at in (0..bundle.len()).step_by(1 + bundle.len() / 16) {
        let mut bad = bundle.to_vec();
        bad[at] ^= 1 + (at % 255) as u8;
        told(&journal::read_bundle(&bad).expect_err("a changed byte is noticed"));
        told(&journal::read_bundle(&bundle[..at]).expect_err("a cut is noticed"));
    }
}
