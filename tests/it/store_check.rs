//! `sheafd check` and `sheafd rebuild`, and what a service does over a damaged store: it says what is wrong
//! and where, or it serves what it served before.

use crate::harness::care::{Kept, files, refused_start, report, segments, sheafd};
use serde_json::Value;
use sheaf_model::{journal, log::Hash};
use std::{collections::BTreeMap, fs, path::Path};

fn digests(report: &Value) -> BTreeMap<String, Hash> {
    let teams = report["teams"].as_array().expect("a list");
    let text = |team: &Value, field: &str| team[field].as_str().expect("a text").to_owned();
    teams.iter().map(|team| (text(team, "team"), text(team, "digest").parse().expect("a hash"))).collect()
}

#[test]
fn a_sound_store_is_said_to_be_sound_with_the_digests_that_its_devices_know() {
    let mut kept = Kept::new();
    let before = files(kept.data());
    let found = report(kept.data());
    assert!(found["sound"] == true && found["index"] == "agrees", "{found}");
    assert_eq!(found["segments"], kept.segments().len());
    assert_eq!(found["entries"].as_u64(), Some(6 * 8 + 2));
    assert_eq!(digests(&found), kept.digests());
    assert!(sheafd(kept.data(), &["check"]).ok().ends_with("\nsound\n"));
    assert_eq!(files(kept.data()), before, "nothing is changed");
}

#[test]
fn while_a_service_runs_over_the_folder_the_journal_is_read_and_that_is_said() {
    let kept = Kept::new();
    let server = kept.serves(kept.copy());
    let found = report(server.folder.path());
    assert!(found["sound"] == true && found["index"] == "not_compared", "{found}");
    assert!(found["remarks"][0].as_str().is_some_and(|r| r.contains("a service runs over")), "{found}");
    let busy = sheafd(server.folder.path(), &["rebuild"]).refuses();
    assert!(busy.contains("another sheafd already runs over"), "{busy}");
    kept.are_as_before(&server);
}

#[test]
fn a_folder_that_holds_no_store_is_no_sound_one() {
    let folder = tempfile::TempDir::new().expect("a folder");
    let found = report(folder.path());
    assert!(found["troubles"][0]["what"].as_str().is_some_and(|w| w.contains("no journal")), "{found}");
    let nowhere = sheafd(&folder.path().join("nowhere"), &["check"]).refuses();
    assert!(nowhere.contains("--data"), "{nowhere}");
    let nothing = sheafd(folder.path(), &["rebuild"]).refuses();
    assert!(nothing.contains("restore a backup"), "{nothing}");
}

/// Harms a copy of a store so that `check` names the file, and the byte if one is given, and the service does
/// not start; neither changes the journal, and neither does `rebuild`.
#[track_caller]
fn is_found(kept: &Kept, file: &Path, at: Option<usize>, harm: impl FnOnce(&Path)) {
    let folder = kept.copy();
    let data = folder.path();
    harm(&data.join(file));
    let harmed = files(&data.join("journal"));
    let found = report(data);
    let named = found["troubles"].as_array().expect("a list").iter().any(|trouble| {
        trouble["file"].as_str().is_some_and(|f| Path::new(f) == file)
            && at.is_none_or(|at| trouble["at"].as_u64() == Some(at as u64))
            && trouble["todo"].as_str().is_some_and(|todo| todo.contains("restore"))
    });
    assert!(named, "{} at {at:?}: {found}", file.display());
    let said = refused_start(data);
    assert!(said.contains(&*data.join(file).to_string_lossy()), "{said}");
    assert_eq!(files(&data.join("journal")), harmed, "nothing is changed");
}

/// Returns where the lines of a file begin.
fn lines(bytes: &[u8]) -> Vec<usize> {
    let mut starts = vec![0];
    starts.extend(bytes.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(at, _)| at + 1));
    starts.truncate(starts.len() - 1);
    starts
}

#[test]
fn a_flipped_byte_in_any_line_of_any_segment_is_found_at_its_line() {
    let kept = Kept::new();
    for path in kept.segments() {
        let bytes = fs::read(&path).expect("a segment");
        let starts = lines(&bytes);
        let file = path.strip_prefix(kept.data()).expect("it lies below").to_owned();
        let (middle, last) = (starts.len() / 2, starts.len() - 1);
        // In the checksum, the space behind it, the JSON and the line feed of the first, a middle and the last two
        // lines; the last batch has two, so that a bad line of it can stand before a whole one.
        for line in [0, middle, last - 1, last] {
            let end = starts.get(line + 1).map_or(bytes.len(), |next| *next) - 1;
            for at in [starts[line], starts[line] + 8, (starts[line] + end) / 2, end] {
                is_found(&kept, &file, Some(starts[line]), |path| {
                    let mut bad = bytes.clone();
                    bad[at] ^= 0x11;
                    fs::write(path, bad).expect("it is written");
                });
            }
        }
    }
}

#[test]
fn a_segment_that_is_gone_cut_or_emptied_is_found() {
    let kept = Kept::new();
    for path in kept.segments() {
        let file = path.strip_prefix(kept.data()).expect("it lies below").to_owned();
        let bytes = fs::read(&path).expect("a segment");
        let starts = lines(&bytes);
        is_found(&kept, &file, None, |path| fs::remove_file(path).expect("it goes"));
        is_found(&kept, &file, None, |path| fs::write(path, b"").expect("it is written"));
        // At a line's end: no checksum tells.
        is_found(&kept, &file, None, |path| {
            fs::write(path, &bytes[..starts[starts.len() - 1]]).expect("it is written");
        });
    }
    let folder = kept.copy();
    fs::remove_dir_all(folder.path().join("journal")).expect("it goes");
    assert_eq!(report(folder.path())["sound"], false);
    assert!(refused_start(folder.path()).contains("somebody was told"));
    assert!(!folder.path().join("journal").exists(), "no empty one is made in its place");
}

/// Returns a line with other JSON and a checksum that fits it.
fn with_json(json: &str) -> String {
    format!("{:08x} {json}\n", crc32fast::hash(json.as_bytes()))
}

#[test]
fn lines_that_were_changed_together_with_their_checksums_break_a_chain() {
    let kept = Kept::new();
    let path = &kept.segments()[1];
    let text = fs::read_to_string(path).expect("a segment");
    let all: Vec<&str> = text.split_inclusive('\n').collect();
    let is_entry = |line: &str| matches!(journal::decode(line.as_bytes()), Ok(journal::Line::Entry(..)));
    let at = all.iter().position(|line| is_entry(line)).expect("an entry");
    let altered =
        with_json(&all[at][9..].trim_end().replacen("note ", "nota ", 1).replacen("bow ", "bou ", 1));
    let redated = with_json(&all[at][9..].trim_end().replacen("\"author\":\"0", "\"author\":\"1", 1));
    for (line, what) in [
        (altered.as_str(), "does not match its fingerprint"),
        (redated.as_str(), "does not chain to the one before it"),
        ("", "what was between is missing"),
    ] {
        assert_ne!(line, all[at]);
        let folder = kept.copy();
        let mut bad = all.clone();
        bad[at] = line;
        let path = folder.path().join(path.strip_prefix(kept.data()).expect("it lies below"));
        fs::write(&path, bad.concat()).expect("it is written");
        let found = report(folder.path());
        let said = found["troubles"].to_string();
        assert!(said.contains(what) && said.contains("00000002.journal"), "{what}: {said}");
        if what != "does not match its fingerprint" {
            // Made anew, the index would hold what the chains do not.
            let made = sheafd(folder.path(), &["rebuild"]).refuses();
            assert!(made.contains("does not continue its log"), "{made}");
            fs::remove_dir_all(folder.path().join("index")).expect("it goes");
            assert!(refused_start(folder.path()).contains("does not continue its log"));
        }
    }
}

#[test]
fn an_index_that_is_garbled_missing_or_cut_is_reported_and_made_anew() {
    let mut kept = Kept::new();
    let garble = |bytes: &mut Vec<u8>, from: usize, len: usize| {
        let end = (from + len).min(bytes.len());
        bytes[from.min(end)..end].fill(0xa5);
    };
    type Harm<'a> = &'a dyn Fn(&mut Vec<u8>);
    let harms: [Harm<'_>; 5] = [
        &|bytes| garble(bytes, 0, 64),
        &|bytes| garble(bytes, bytes.len() / 3, 4096),
        &|bytes| garble(bytes, bytes.len() / 2, 1),
        &|bytes| bytes.truncate(bytes.len() / 2),
        &|bytes| bytes.clear(),
    ];
    for file in ["db", "conf"] {
        for harm in harms {
            let folder = kept.copy();
            let path = folder.path().join("index").join(file);
            let mut bytes = fs::read(&path).expect("a file of the index");
            harm(&mut bytes);
            fs::write(&path, bytes).expect("it is written");
            let garbled = files(folder.path());
            let found = report(folder.path());
            assert_eq!(files(folder.path()), garbled, "nothing is changed");
            assert_eq!(digests(&found), kept.digests(), "what the entries give is told anyway");
            kept.serves(folder);
        }
    }
    let folder = kept.copy();
    fs::remove_dir_all(folder.path().join("index")).expect("it goes");
    let found = report(folder.path());
    assert!(found["sound"] == true && found["index"] == "missing", "{found}");
    assert!(!folder.path().join("index").exists(), "a check makes none");
    kept.serves(folder);
}

#[test]
fn a_garbled_index_is_trouble_until_it_was_rebuilt_and_the_journal_stays_as_it_is() {
    let mut kept = Kept::new();
    let folder = kept.copy();
    let journal = files(&folder.path().join("journal"));
    fs::write(folder.path().join("index/conf"), b"no configuration of anything").expect("it is written");
    let found = report(folder.path());
    assert_eq!(found["index"], "unusable", "{found}");
    assert!(found["troubles"][0]["todo"].as_str().is_some_and(|t| t.contains("sheafd rebuild")), "{found}");
    let said = sheafd(folder.path(), &["rebuild"]).ok();
    for (team, digest) in kept.digests() {
        assert!(said.contains(&team) && said.contains(&digest.to_string()), "{said}");
    }
    assert_eq!(files(&folder.path().join("journal")), journal);
    let found = report(folder.path());
    assert!(found["sound"] == true && found["index"] == "agrees", "{found}");
    assert_eq!(
        fs::read_dir(folder.path()).expect("a folder").count(),
        4,
        "journal, index, lock, key and no more"
    );
    kept.serves(folder);
}

#[test]
fn when_the_end_of_the_journal_is_lost_a_rebuild_lets_the_service_go_on_and_devices_bring_it_back() {
    let mut kept = Kept::new();
    let folder = kept.copy();
    let last = segments(folder.path()).pop().expect("a segment");
    let bytes = fs::read(&last).expect("a segment");
    let starts = lines(&bytes);
    let mut bad = bytes.clone();
    bad[starts[starts.len() - 1] + 40] ^= 1;
    fs::write(&last, &bad).expect("it is written");
    let said = refused_start(folder.path());
    assert!(said.contains("sheafd rebuild") && said.contains("sheafd restore"), "{said}");
    sheafd(folder.path(), &["rebuild"]).ok();
    assert_eq!(fs::read(&last).expect("a segment"), bad, "a rebuild only reads the journal");
    let found = report(folder.path());
    assert!(found["sound"] == true, "{found}");
    assert!(found["remarks"][0].as_str().is_some_and(|r| r.contains("unfinished write")), "{found}");
    let digests = kept.digests();
    let server = crate::harness::server::TestServer::start_over(folder.into(), |_| {});
    kept.keepers[1].sync(&server);
    kept.are_as_before(&server);
    assert_eq!(kept.digests(), digests);
}

#[test]
fn an_index_behind_the_journal_is_no_trouble() {
    let kept = Kept::new();
    let folder = kept.copy();
    // The last batch once more as a new one would stand there: an act that says what is so already.
    let path = segments(folder.path()).pop().expect("a segment");
    let text = fs::read_to_string(&path).expect("a segment");
    let batch = text.lines().filter(|line| line.contains("{\"batch\":")).count();
    let invited = fs::read_to_string(&kept.segments()[0]).expect("a segment");
    let act = invited.lines().find(|line| line.contains("\"act\":\"invited\"")).expect("an invite");
    let more = with_json(&format!("{{\"batch\":{}}}", batch + 1)) + act + "\n";
    fs::write(&path, text + &more).expect("it is written");
    let found = report(folder.path());
    assert!(found["sound"] == true && found["index"] == "behind", "{found}");
    kept.serves(folder);
}
