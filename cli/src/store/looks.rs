//! `looks.json`: how often verdicts were looked at while their data grew. Each look is a chance for a false
//! word, so the reader is told; the file is a convenience, and nothing is lost with it.

use super::files;
use serde::{Deserialize, Serialize};
use std::{collections::BTreeMap, fs, path::Path};

const FILE: &str = "looks.json";

/// The looks at one question.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Looked {
    /// The last change that was judged; another one is another question.
    change: String,
    /// Groups there were at each look that had new ones.
    groups: Vec<usize>,
}

/// Notes a look at a verdict and returns the how-many-eth it is while the data of its last change grew.
pub fn note(home: &Path, question: &str, last_change: &str, groups: usize) -> usize {
    let path = home.join(FILE);
    let known = fs::read(&path).ok().and_then(|bytes| serde_json::from_slice(&bytes).ok());
    let mut all: BTreeMap<String, Looked> = known.unwrap_or_default();
    let looked = all.entry(question.to_owned()).or_default();
    if looked.change != last_change {
        *looked = Looked { change: last_change.to_owned(), groups: Vec::new() };
    }
    if looked.groups.last() != Some(&groups) {
        looked.groups.push(groups);
        let count = looked.groups.len();
        if let Ok(bytes) = serde_json::to_vec(&all) {
            // A full disk costs the count of looks, not the verdict.
            let _ = files::replace_derived(&path, &bytes);
        }
        return count;
    }
    looked.groups.len()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn looks_count_while_data_grow_and_start_anew_with_another_change() {
        let home = tempfile::tempdir().expect("a folder");
        let look = |change: &str, groups: usize| note(home.path(), "elm Ash", change, groups);
        assert_eq!([look("c1", 5), look("c1", 5), look("c1", 6), look("c1", 9)], [1, 1, 2, 3]);
        assert_eq!([look("c2", 9), look("c2", 10)], [1, 2]);
        fs::write(home.path().join(FILE), b"{").expect("it can be written");
        assert_eq!(look("c2", 11), 1);
    }
}
