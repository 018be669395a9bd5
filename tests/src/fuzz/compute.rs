//! The compute door: the name of a method in the first line, its input behind it.

use super::told::told;
use serde_json::Value;
use sheaf_model::door::{compute, compute_json, error_json};

/// Computes. The answer holds finite numbers only, is the same the second time, and is read back as it was written; an
/// error says what is wrong.
pub fn check(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let (method, input) = text.split_once('\n').unwrap_or((text, ""));
    match compute_json(method, input) {
        Ok(output) => {
            let value: Value = serde_json::from_str(&output).expect("the answer is JSON");
            assert_eq!(value.to_string(), output, "it is read back as it was written");
            let input: Value = serde_json::from_str(input).expect("it was read before");
            let again = compute(method, &input).expect("it was computed before");
            assert_eq!(again, value, "the same again");
            finite(&value);
        }
        Err(e) => {
            told(&e);
            let said: Value = serde_json::from_str(&error_json(&e)).expect("an error is JSON");
            assert_eq!(said["error"]["message"], e.message);
        }
    }
}

fn finite(value: &Value) {
    match value {
        Value::Number(n) => assert!(n.as_f64().is_some_and(f64::is_finite), "{n}"),
        Value::Array(list) => list.iter().for_each(finite),
        Value::Object(map) => map.values().for_each(finite),
        Value::String(text) => {
            let word = text.split_whitespace().find(|w| matches!(*w, "NaN" | "inf" | "-inf"));
            assert!(word.is_none(), "{text}");
        }
        Value::Null | Value::Bool(_) => {}
    }
}
