//! Names that people give to things, and labels that they give to sessions and ends.
//!
//! A name is kept in one spelling, Unicode normalization form C (Unicode Standard Annex 15), since `é` as one
//! character and as two look alike. Characters that nobody sees (general category Cf, line and paragraph
//! separators, and `Default_Ignorable_Code_Point`; Unicode Standard Annex 44) would make two names out of one and
//! are refused.

use crate::{
    ModelError,
    face::Face,
    notation::{self, Length, looks_like_distance, looks_like_shot},
};
use icu_normalizer::ComposingNormalizerBorrowed;
use icu_properties::{
    CodePointMapData, CodePointSetData,
    props::{DefaultIgnorableCodePoint, GeneralCategory},
};

/// The most characters of a name or a label.
pub const LONGEST: usize = 100;

/// Returns what people call a kind of thing, with its article.
pub fn with_article(kind: &str) -> String {
    match kind {
        "arrows" => "an arrow set".into(),
        vowel if vowel.starts_with(['a', 'e', 'i', 'o', 'u']) => format!("an {vowel}"),
        kind => format!("a {kind}"),
    }
}

/// Returns what people call a kind of thing.
pub fn kind_word(kind: &str) -> &str {
    if kind == "arrows" { "arrow set" } else { kind }
}

/// Returns a name as it is kept: in one spelling, without the spaces around it.
///
/// # Errors
/// `bad_name` when it has not 1 to 100 characters on one line, or one of them cannot be seen.
pub fn read(whose: &str, typed: &str) -> Result<String, ModelError> {
    let name = composed(typed.trim());
    if name.is_empty() || name.chars().count() > LONGEST || name.contains(char::is_control) {
        let message = format!("the name of {whose} has 1 to {LONGEST} characters on one line");
        return Err(ModelError::new("bad_name", message).at("name"));
    }
    match name.chars().find(|c| is_hidden(*c)) {
        Some(c) => {
            let message = format!(
                "the name of {whose} holds U+{:04X}, which nobody sees; write it without that character",
                u32::from(c)
            );
            Err(ModelError::new("bad_name", message).at("name"))
        }
        None => Ok(name),
    }
}

/// Checks that a name is not read as something else where a thing of its kind is named.
///
/// # Errors
/// `taken_name` when it is the word `last`, a shot or a distance.
pub fn check_unambiguous(kind: &str, name: &str) -> Result<(), ModelError> {
    let Some(meant) = meaning(kind, name) else { return Ok(()) };
    let message = format!(
        "`{name}` cannot be the name of {}: it is read as {meant}; take a name with another word in it",
        with_article(kind)
    );
    Err(ModelError::new("taken_name", message).at("name"))
}

fn meaning(kind: &str, name: &str) -> Option<&'static str> {
    if name.eq_ignore_ascii_case("last") {
        return Some("the group recorded last");
    }
    // The first word of `sheaf shoot` is a bow unless it looks like one of the two.
    let (shot, distance) = match kind {
        "bow" => (looks_like_shot(name), looks_like_distance(name)),
        "person" | "arrows" | "part" => {
            let face = Face::by_code("wa_122").ok()?;
            let shot = notation::shot(name, &face, Length::Mm).is_ok();
            (shot, notation::distance_m(name).is_ok())
        }
        _ => (false, false),
    };
    let ring = matches!(kind, "bow" | "person" | "arrows" | "part") && name.eq_ignore_ascii_case("x");
    if shot || ring {
        Some("a shot")
    } else if distance {
        Some("a distance")
    } else {
        None
    }
}

/// Checks a label: at most 100 characters. Those of older records may have several lines, and are shown on one.
///
/// # Errors
/// `bad_label`, which names the field.
pub fn check_label(field: &str, label: &str) -> Result<(), ModelError> {
    if label.chars().count() <= LONGEST {
        return Ok(());
    }
    let message = format!("the {field} has at most {LONGEST} characters; a note takes what is longer");
    Err(ModelError::new("bad_label", message).at(field))
}

/// Returns what two names have in common that count as the same: spelling and letter case aside.
pub fn key(name: &str) -> String {
    composed(&name.trim().to_lowercase())
}

/// Returns whether nobody sees a character, or it steers the direction of others.
pub fn is_hidden(c: char) -> bool {
    let unseen = CodePointSetData::new::<DefaultIgnorableCodePoint>().contains(c);
    let category = CodePointMapData::<GeneralCategory>::new().get(c);
    let steers =
        [GeneralCategory::Format, GeneralCategory::LineSeparator, GeneralCategory::ParagraphSeparator];
    unseen || steers.contains(&category)
}

fn composed(text: &str) -> String {
    ComposingNormalizerBorrowed::new_nfc().normalize(text).into_owned()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_name_has_one_spelling() {
        assert_eq!(read("a bow", " e\u{301}lm ").unwrap(), "\u{e9}lm");
        assert_eq!(key("E\u{301}LM"), key("\u{e9}lm"));
        assert_ne!(key("elm"), key("\u{e9}lm"));
    }

    #[test]
    fn what_nobody_sees_is_named_by_its_code_point() {
        for (c, code) in [
            ('\u{202e}', "U+202E"),
            ('\u{200b}', "U+200B"),
            ('\u{feff}', "U+FEFF"),
            ('\u{2028}', "U+2028"),
            ('\u{ad}', "U+00AD"),
            ('\u{3164}', "U+3164"),
        ] {
            let told = read("a bow", &format!("el{c}m")).unwrap_err().message;
            assert!(told.contains(code), "{told}");
        }
        for name in ["élm", "Ulme groß", "楡", "דקל", "elm 70\" 36#"] {
            assert!(read("a bow", name).is_ok(), "{name}");
        }
    }

    #[test]
    fn a_name_is_not_read_as_something_else() {
        for kind in ["bow", "person", "arrows", "part"] {
            for name in ["last", "LAST", "30m", "20 yd", "9@4", "M", "m", "X", "12,3"] {
                assert!(check_unambiguous(kind, name).is_err(), "{kind} {name}");
            }
            for name in ["elm", "lastly", "Max", "elm 30m", "Xenia"] {
                assert!(check_unambiguous(kind, name).is_ok(), "{kind} {name}");
            }
        }
        assert!(check_unambiguous("bow", "2024").is_err(), "shoot takes it for a distance without its unit");
        assert!(check_unambiguous("arrows", "500").is_ok() && check_unambiguous("part", "68in").is_ok());
        assert!(check_unambiguous("plan", "30m").is_ok() && check_unambiguous("plan", "last").is_err());
    }
}
