//! Numbers on arrows, alike from whichever way they come in.

use crate::ModelError;

/// The most characters of a number.
const LONGEST: usize = 12;

/// Returns the number on an arrow in its one spelling: `3` for `03`, and for the `3.0` that a sheet makes of it.
///
/// # Errors
/// `bad_arrow_number` when it has other characters than letters and digits, or more than 12.
pub fn arrow_number(typed: &str) -> Result<String, ModelError> {
    let typed = typed.trim();
    let whole = match typed.split_once(['.', ',']) {
        Some((whole, zeros)) if is_digits(whole) && is_digits(zeros) && zeros.chars().all(|c| c == '0') => {
            whole
        }
        _ => typed,
    };
    let number = if is_digits(whole) {
        let short = whole.trim_start_matches('0');
        if short.is_empty() { "0" } else { short }
    } else {
        whole
    };
    if number.is_empty() || number.chars().count() > LONGEST || !number.chars().all(char::is_alphanumeric) {
        let shown: String = typed.chars().take(40).map(|c| if c.is_control() { ' ' } else { c }).collect();
        let message =
            format!("`{shown}` is no arrow number; it has 1 to {LONGEST} letters or digits, like 3");
        return Err(ModelError::new("bad_arrow_number", message).at("arrow_numbers"));
    }
    Ok(number.to_owned())
}

fn is_digits(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn one_arrow_has_one_number() {
        for typed in ["3", "03", " 003 ", "3.0", "3,00"] {
            assert_eq!(arrow_number(typed).unwrap(), "3", "{typed}");
        }
        assert_eq!(arrow_number("000").unwrap(), "0");
        assert_eq!(arrow_number("A07").unwrap(), "A07");
        for typed in ["", "-1", "3.5", "1e3.0", "3.", ".0", "a b", "1234567890123", "3:"] {
            assert!(arrow_number(typed).is_err(), "{typed}");
        }
    }
}
