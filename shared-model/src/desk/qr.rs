//! A text as a QR code, so that one phone can read an invite from another's screen.

use super::{Ask, Desk, read};
use crate::{ModelError, qr::Qr};
use serde::Deserialize;
use serde_json::{Value, json};

/// Returns the picture of a text, and how many modules a side has without its margins.
pub(super) fn qr(_: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        text: String,
        label: Option<String>,
    }
    let asked: Asked = read(input)?;
    let code = Qr::of(&asked.text)?;
    Ok(json!({"svg": code.svg(asked.label.as_deref().unwrap_or("QR code")), "modules": code.size()}))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn answer(input: &Value) -> Value {
        let call =
            json!({"call": "qr", "input": input, "now_ms": 0, "offset_min": 0, "seed": "0000000000000001"});
        serde_json::from_str(&Desk::default().answer(&call.to_string())).unwrap()
    }

    #[test]
    fn a_text_becomes_a_picture_before_any_team_is_open() {
        let answer = answer(&json!({"text": "https://range.example/#join=AB12", "label": "Invite"}));
        let svg = answer["output"]["svg"].as_str().unwrap();
        assert!(svg.starts_with("<svg ") && svg.contains("aria-label=\"Invite\""), "{svg}");
        assert_eq!(answer["output"]["modules"], 29, "version 3 of the standard");
    }

    #[test]
    fn what_cannot_be_a_code_is_told_so() {
        assert_eq!(answer(&json!({"text": ""}))["error"]["code"], "no_text");
        assert_eq!(answer(&json!({}))["error"]["code"], "bad_input");
    }
}
