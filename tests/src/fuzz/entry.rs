//! Entries: a JSON line each, as they travel and are kept.

use super::{chain, records::look};
use sheaf_model::log::Entry;

/// Reads an entry a line. What is read is written and read back the same; taken in, they hold what merging promises.
pub fn check(bytes: &[u8]) {
    let lines = bytes.split(|b| *b == b'\n').filter(|line| !line.is_empty());
    let entries: Vec<Entry> = lines.filter_map(read).take(64).collect();
    if entries.is_empty() {
        return;
    }
    chain::taken_in_once(&entries);
    let fit = chain::mended(entries);
    look(chain::merged(&fit).store());
}

fn read(line: &[u8]) -> Option<Entry> {
    let entry: Entry = match serde_json::from_slice(line) {
        Ok(entry) => entry,
        Err(e) => {
            assert!(!e.to_string().is_empty());
            return None;
        }
    };
    let text = serde_json::to_string(&entry).expect("an entry is written");
    let back: Entry = serde_json::from_str(&text).expect("what is written is read");
    assert_eq!(back.header_hash(), entry.header_hash());
    assert_eq!(serde_json::to_string(&back).expect("it is written again"), text);
    assert_eq!(back.check().is_ok(), entry.check().is_ok());
    Some(entry)
}
