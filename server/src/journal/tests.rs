#![allow(clippy::unwrap_used)]

use super::*;
use sheaf_model::journal::Line;
use std::fs;
use tempfile::TempDir;

fn act(n: usize) -> Line {
    Line::Act(serde_json::value::to_raw_value(&format!("act {n}")).unwrap())
}

fn lines(dir: &Path) -> Vec<String> {
    let mut found = Vec::new();
    replay(dir, 1, 0, &mut |placed| {
        if let Line::Act(raw) = placed.line {
            found.push(serde_json::from_str(raw.get()).unwrap());
        }
        Ok(())
    })
    .unwrap();
    found
}

fn three_batches() -> (TempDir, Vec<u8>, usize) {
    let folder = TempDir::new().unwrap();
    let mut journal = Journal::open(folder.path(), 1 << 20).unwrap();
    journal.append(vec![act(1), act(2)]).unwrap();
    journal.append(vec![act(3)]).unwrap();
    let before = journal.end;
    journal.append(vec![act(4), act(5), act(6)]).unwrap();
    let bytes = fs::read(path_of(folder.path(), 1)).unwrap();
    assert_eq!(bytes.len() as u64, journal.end);
    (folder, bytes, usize::try_from(before).unwrap())
}

#[test]
fn a_batch_cut_at_any_byte_is_cut_off_and_the_journal_goes_on() {
    let (folder, whole, before) = three_batches();
    for cut in before..=whole.len() {
        fs::write(path_of(folder.path(), 1), &whole[..cut]).unwrap();
        let mut journal = Journal::open(folder.path(), 1 << 20).unwrap();
        let kept = lines(folder.path());
        assert!(kept.len() >= 3 && kept.len() <= 6, "cut at {cut}: {kept:?}");
        assert_eq!(kept.len() == 6, cut == whole.len(), "cut at {cut}: {kept:?}");
        journal.append(vec![act(7)]).unwrap();
        drop(journal);
        Journal::open(folder.path(), 1 << 20).unwrap();
        assert_eq!(lines(folder.path())[kept.len()..], ["act 7"], "cut at {cut}");
    }
}

#[test]
fn a_first_line_cut_at_any_byte_is_written_again() {
    let (folder, whole, _) = three_batches();
    let head = whole.iter().position(|b| *b == b'\n').unwrap() + 1;
    for cut in 0..head {
        fs::write(path_of(folder.path(), 1), &whole[..cut]).unwrap();
        let mut journal = Journal::open(folder.path(), 1 << 20).unwrap();
        journal.append(vec![act(1)]).unwrap();
        assert_eq!(lines(folder.path()), ["act 1"], "cut at {cut}");
    }
}

#[test]
fn a_flipped_bit_before_the_last_batch_is_damage_at_its_line() {
    let (folder, whole, before) = three_batches();
    let head = whole.iter().position(|b| *b == b'\n').unwrap() + 1;
    for at in (head..before).filter(|at| whole[*at] != b'\n') {
        let mut bad = whole.clone();
        bad[at] ^= 1;
        fs::write(path_of(folder.path(), 1), &bad).unwrap();
        let line = whole[..at].iter().rposition(|b| *b == b'\n').unwrap() + 1;
        match Journal::open(folder.path(), 1 << 20) {
            Err(ServerError::Damaged { file, at: place, .. }) => {
                assert_eq!((file, place), (path_of(folder.path(), 1), line as u64), "bit at {at}");
            }
            other => panic!("bit at {at}: {other:?}"),
        }
        assert_eq!(fs::read(path_of(folder.path(), 1)).unwrap(), bad, "nothing is changed");
    }
}

#[test]
fn a_line_of_a_newer_build_is_not_cut_off() {
    let (folder, mut whole, _) = three_batches();
    let json = br#"{"novelty":1}"#;
    whole.extend_from_slice(format!("{:08x} ", crc32fast::hash(json)).as_bytes());
    whole.extend_from_slice(json);
    whole.push(b'\n');
    fs::write(path_of(folder.path(), 1), &whole).unwrap();
    let refused = Journal::open(folder.path(), 1 << 20).unwrap_err();
    assert!(matches!(refused, ServerError::Newer { .. }), "{refused}");
}

#[test]
fn after_a_failed_write_nothing_more_is_taken() {
    let folder = TempDir::new().unwrap();
    let mut journal = Journal::open(folder.path(), 1 << 20).unwrap();
    journal.append(vec![act(1)]).unwrap();
    // A file that is open for reading only refuses the write, as a full disk would.
    journal.file = File::open(path_of(folder.path(), 1)).unwrap();
    assert!(matches!(journal.append(vec![act(2)]), Err(ServerError::Stopped(_))));
    journal.file = File::options().append(true).open(path_of(folder.path(), 1)).unwrap();
    assert!(matches!(journal.append(vec![act(3)]), Err(ServerError::Stopped(_))), "not even when it could");
    drop(journal);
    Journal::open(folder.path(), 1 << 20).unwrap().append(vec![act(4)]).unwrap();
    assert_eq!(lines(folder.path()), ["act 1", "act 4"]);
}
