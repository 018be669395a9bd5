//! What was acknowledged: every record carries a mark of its own, by which it is found again wherever it has to be.

use std::collections::BTreeSet;

/// The marks of one device's records, by what was said of them.
#[derive(Debug, Default, Clone)]
pub struct Ledger {
    next: u64,
    /// What a command said is kept, in this order: on this device for ever after.
    pub kept: Vec<String>,
    /// How many of these a sync that ended well has taken to the service: there for ever after.
    pub synced: usize,
    /// What a command began to record and never said a word of: it may be there or not.
    pub unsaid: Vec<String>,
}

impl Ledger {
    /// Returns a mark that nothing else carries.
    pub fn mark(&mut self, device: usize) -> String {
        self.next += 1;
        format!("m{device}-{};", self.next)
    }

    /// Notes what became of records.
    pub fn note(&mut self, marks: Vec<String>, kept: bool) {
        if kept { self.kept.extend(marks) } else { self.unsaid.extend(marks) }
    }

    /// Notes that a sync ended well that began when so many were kept.
    pub fn note_synced(&mut self, kept: usize) {
        self.synced = self.synced.max(kept);
    }

    /// Returns what the service has to hold.
    pub fn on_service(&self) -> &[String] {
        &self.kept[..self.synced]
    }
}

/// Returns how often each mark is in a text: every value of a record that holds one, once.
pub fn marks_in(text: &str) -> Vec<String> {
    let starts = text.match_indices("\"m").map(|(at, _)| &text[at + 1..]);
    starts
        .filter_map(|rest| Some(rest.split_once(";\"")?.0.to_owned() + ";"))
        .filter(|m| is_mark(m))
        .collect()
}

fn is_mark(text: &str) -> bool {
    text.len() < 40 && text.starts_with('m') && text.contains('-') && !text.contains(char::is_whitespace)
}

/// Checks that marks which were promised are among those that were found.
pub fn all_there(promised: &[String], found: &BTreeSet<String>, place: &str) -> Result<(), String> {
    let lost: Vec<&String> = promised.iter().filter(|mark| !found.contains(*mark)).collect();
    match lost.first() {
        None => Ok(()),
        Some(first) => Err(format!(
            "{} of {} acknowledged records are lost {place}, the first of them {first}",
            lost.len(),
            promised.len()
        )),
    }
}

/// Checks that no mark was found twice.
pub fn none_twice(found: &[String], place: &str) -> Result<(), String> {
    let mut seen = BTreeSet::new();
    match found.iter().find(|mark| !seen.insert(*mark)) {
        None => Ok(()),
        Some(mark) => Err(format!("{mark} is there twice {place}")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_found_where_they_are_whole_values() {
        let text = r#"{"note":"m0-12;","text":"m1-3;","name":"meadow"} "m0-12;""#;
        let found = marks_in(text);
        assert_eq!(found, ["m0-12;", "m1-3;", "m0-12;"]);
        assert!(none_twice(&found, "here").is_err());
        let found: BTreeSet<String> = found.into_iter().collect();
        assert!(all_there(&["m1-3;".into()], &found, "here").is_ok());
        assert!(all_there(&["m1-4;".into()], &found, "here").is_err_and(|why| why.contains("m1-4;")));
    }
}
