//! Runs the cases of `tests/reference/cases` through anything that can compute: the library, the command
//! line, the service.
//!
//! The rule is that of `tests/reference/check.py`: what `expect` names has to be there and agree within
//! `abs + rel |want|`; `null` in `expect` is not checked; `expect_error` wants a refusal.

use serde::Deserialize;
use serde_json::Value;
use std::{collections::BTreeMap, path::Path};

/// One question with its known answer.
#[derive(Debug, Clone, Deserialize)]
pub struct Case {
    /// Its name, unique among all.
    pub id: String,
    /// The method of the compute door.
    pub method: String,
    /// What goes in.
    pub input: Value,
    /// The part of the output that is known; nothing when a refusal is expected.
    #[serde(default)]
    pub expect: Value,
    /// Whether the input has to be refused.
    #[serde(default)]
    pub expect_error: bool,
    /// How far off a number may be, as a part of it.
    #[serde(default)]
    pub rel: f64,
    /// How far off a number may be at least.
    #[serde(default)]
    pub abs: f64,
    /// Where the answer comes from.
    pub source: String,
}

/// How the cases went.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Cases that agreed, by method.
    pub passed: BTreeMap<String, usize>,
    /// Cases of methods that do not exist yet, by method.
    pub skipped: BTreeMap<String, usize>,
    /// What did not agree, one line a case.
    pub failed: Vec<String>,
}

impl Tally {
    /// Returns how many cases agreed.
    pub fn passes(&self) -> usize {
        self.passed.values().sum()
    }
}

/// Reads every case, in the order of the files.
///
/// # Panics
/// When a file cannot be read: these files are part of the tests.
pub fn all() -> Vec<Case> {
    #[derive(Deserialize)]
    struct File {
        cases: Vec<Case>,
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("reference/cases");
    let mut paths: Vec<_> = std::fs::read_dir(&folder)
        .expect("the folder of cases is there")
        .map(|entry| entry.expect("the folder of cases can be read").path())
        .filter(|path| path.extension().is_some_and(|e| e == "json"))
        .collect();
    paths.sort();
    let read = |path: &std::path::PathBuf| -> Vec<Case> {
        let text = std::fs::read_to_string(path).expect("a file of cases can be read");
        let file: File = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        file.cases
    };
    paths.iter().flat_map(read).collect()
}

/// Puts every case of a known method to `compute`, which answers with the output or the words of its refusal.
pub fn run<F>(cases: &[Case], known: &[&str], compute: F) -> Tally
where
    F: Fn(&str, &Value) -> Result<Value, String>,
{
    let mut tally = Tally::default();
    for case in cases {
        if !known.contains(&case.method.as_str()) {
            *tally.skipped.entry(case.method.clone()).or_default() += 1;
            continue;
        }
        match complaint(case, compute(&case.method, &case.input)) {
            None => *tally.passed.entry(case.method.clone()).or_default() += 1,
            Some(complaint) => tally.failed.push(format!("{} {}: {complaint}", case.method, case.id)),
        }
    }
    tally
}

fn complaint(case: &Case, answer: Result<Value, String>) -> Option<String> {
    match answer {
        Ok(got) if case.expect_error => Some(format!("want a refusal, got {}", short(&got))),
        Ok(got) => {
            let mut found = Vec::new();
            differences(&case.expect, &got, case, "", &mut found);
            (!found.is_empty()).then(|| found.into_iter().take(4).collect::<Vec<_>>().join("; "))
        }
        Err(words) if case.expect_error && words.trim().is_empty() => {
            Some("refused without a word".to_owned())
        }
        Err(_) if case.expect_error => None,
        Err(words) => Some(format!("refused: {words}")),
    }
}

fn differences(want: &Value, got: &Value, case: &Case, path: &str, found: &mut Vec<String>) {
    match want {
        Value::Null => {}
        Value::Number(number) => {
            let want = number.as_f64().expect("a number of a case is a float");
            match got.as_f64() {
                Some(got) if (got - want).abs() <= case.abs + case.rel * want.abs() => {}
                Some(other) => {
                    found.push(format!("{path}: want {want}, got {other} (off {:.3e})", (other - want).abs()))
                }
                None => found.push(format!("{path}: want {want}, got {}", short(got))),
            }
        }
        Value::Array(items) => match got.as_array() {
            Some(list) if list.len() == items.len() => {
                for (i, (want, got)) in items.iter().zip(list).enumerate() {
                    differences(want, got, case, &format!("{path}[{i}]"), found);
                }
            }
            _ => found.push(format!("{path}: want a list of {}, got {}", items.len(), short(got))),
        },
        Value::Object(fields) if got.is_object() => {
            for (name, want) in fields {
                let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                differences(want, got.get(name).unwrap_or(&Value::Null), case, &path, found);
            }
        }
        other if other == got => {}
        other => found.push(format!("{path}: want {}, got {}", short(other), short(got))),
    }
}

fn short(value: &Value) -> String {
    value.to_string().chars().take(60).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn failures(expect: Value, answer: Result<Value, String>) -> usize {
        let case = Case {
            id: "c".into(),
            method: "m".into(),
            input: json!({}),
            expect_error: expect.is_null(),
            expect,
            rel: 1e-3,
            abs: 1e-6,
            source: "none".into(),
        };
        run(&[case], &["m"], |_, _| answer.clone()).failed.len()
    }

    #[test]
    fn what_is_expected_has_to_be_there_and_agree() {
        assert_eq!(
            failures(json!({"a": [1.0, null], "b": "x"}), Ok(json!({"a": [1.0009, 7], "b": "x", "c": 1}))),
            0
        );
        for wrong in [
            json!({"a": [1.0, 7], "b": "y"}),
            json!({"a": [1.0], "b": "x"}),
            json!({"a": [1.002, 7], "b": "x"}),
            json!({"a": [null, 7], "b": "x"}),
            json!({"b": "x"}),
            json!([]),
            json!(null),
        ] {
            assert_eq!(failures(json!({"a": [1.0, null], "b": "x"}), Ok(wrong.clone())), 1, "{wrong}");
        }
        assert_eq!(failures(json!({"a": false}), Ok(json!({"a": 0}))), 1);
        assert_eq!(failures(json!({"a": 1}), Err("no".into())), 1);
    }

    #[test]
    fn a_refusal_is_wanted_with_words() {
        assert_eq!(failures(json!(null), Err("no".into())), 0);
        assert_eq!(failures(json!(null), Err(" ".into())), 1);
        assert_eq!(failures(json!(null), Ok(json!({}))), 1);
    }
}
