//! Several values in one go, as they come off a scale: `330.8; 331.2; 329.9`, or `3:330.8 7:331.2` with their numbers.
//!
//! Semicolons separate, and so do spaces and commas with a space behind them. A comma alone separates only between
//! numbers that have a decimal point; between others it may stand for that point, and is asked about.

use crate::ModelError;

/// The most values that are read in one go.
const MOST: usize = 1000;

/// Returns the values of a series, each with its number where one stands before it.
///
/// # Errors
/// `bad_series` where it cannot be told what separates the values, one is empty, or only some are numbered.
pub fn series(typed: &str) -> Result<Vec<(Option<u32>, String)>, ModelError> {
    let bad = |why: String| ModelError::new("bad_series", why);
    let items = split(typed)?;
    if items.len() > MOST {
        return Err(bad(format!("{} values are more than a set has arrows", items.len())));
    }
    let mut read = Vec::new();
    for item in &items {
        let (number, value) = match item.split_once(':') {
            Some((number, value)) => (Some(numbered(number)?), value.trim()),
            None => (None, item.trim()),
        };
        if value.is_empty() {
            return Err(bad(format!("`{}` has an empty value in it", typed.trim())));
        }
        read.push((number, value.to_owned()));
    }
    let with = read.iter().filter(|(number, _)| number.is_some()).count();
    if with > 0 && with < read.len() {
        return Err(bad(format!(
            "`{}` has numbers before some values and not before others; number all, like 1:330.8 2:331.2, or none",
            typed.trim()
        )));
    }
    Ok(read)
}

/// Returns the numbers that are meant by `3`, `1,4,7` or `1-12`; nothing where it is no such list.
///
/// # Errors
/// `bad_series` for a range that runs backwards, a zero, or too many.
pub fn numbers(typed: &str) -> Option<Result<Vec<u32>, ModelError>> {
    let typed = typed.trim();
    let digits = |text: &str| !text.is_empty() && text.chars().all(|c| c.is_ascii_digit());
    let parts: Vec<Vec<&str>> =
        typed.split(',').map(|part| part.split(['-', '\u{2013}']).map(str::trim).collect()).collect();
    if !parts.iter().all(|part| part.len() <= 2 && part.iter().all(|text| digits(text))) {
        return None;
    }
    Some(parts.iter().try_fold(Vec::new(), |mut all, part| {
        let first = numbered(part[0])?;
        let last = part.get(1).map_or(Ok(first), |last| numbered(last))?;
        if last < first {
            let message = format!("`{typed}` runs from {first} down to {last}; write {last}-{first}");
            return Err(ModelError::new("bad_series", message));
        }
        all.extend((first..=last).filter(|n| !all.contains(n)).collect::<Vec<_>>());
        Ok(all)
    }))
}

fn numbered(typed: &str) -> Result<u32, ModelError> {
    let number = typed.trim().parse::<u32>().ok().filter(|n| (1..=MOST as u32).contains(n));
    number.ok_or_else(|| {
        let message = format!("`{}` is no number of an arrow; they are counted from 1", typed.trim());
        ModelError::new("bad_series", message)
    })
}

fn split(typed: &str) -> Result<Vec<String>, ModelError> {
    let typed = typed.trim();
    let owned = |text: &str| text.trim().to_owned();
    if typed.contains(';') {
        return Ok(typed.trim_end_matches(';').split(';').map(owned).collect());
    }
    let commas: Vec<usize> = typed.match_indices(',').map(|(i, _)| i).collect();
    let spaced = |i: &usize| typed[i + 1..].starts_with(char::is_whitespace);
    if !commas.is_empty() && commas.iter().all(spaced) {
        return Ok(typed.split(',').map(owned).collect());
    }
    let words = words(typed);
    if words.len() > 1 || commas.is_empty() {
        return Ok(words);
    }
    if typed.contains('.') {
        return Ok(typed.split(',').map(owned).collect());
    }
    let message = format!(
        "`{typed}`: is the comma a decimal point, or does it separate two values? Write the values with semicolons \
         between them, like \"{}\", and one value with a point, like {}",
        typed.replace(',', "; "),
        typed.replacen(',', ".", 1)
    );
    Err(ModelError::new("bad_series", message))
}

/// Returns the values between spaces: a unit and a fraction belong to the number before them.
fn words(typed: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in typed.split_whitespace() {
        let fraction = (word.contains('/') && !word.contains(':')) || word.starts_with(['½', '¼', '¾']);
        let unit = word.starts_with(|c: char| c.is_alphabetic() || "'\"#".contains(c));
        match words.last_mut() {
            Some(last) if unit || fraction => {
                last.push(' ');
                last.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    if words.is_empty() { vec![String::new()] } else { words }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn check(typed: &str, expect: &[&str]) {
        let read = series(typed).unwrap();
        assert_eq!(read.iter().map(|(_, value)| value.as_str()).collect::<Vec<_>>(), expect, "{typed}");
    }

    #[test]
    fn values_are_separated_in_the_ways_that_people_write_them() {
        check("330.8,331.2,329.9", &["330.8", "331.2", "329.9"]);
        check("330.8, 331.2", &["330.8", "331.2"]);
        check("330,8; 331,2;", &["330,8", "331,2"]);
        check("330,8 331,2", &["330,8", "331,2"]);
        check("330, 331, 329", &["330", "331", "329"]);
        check("16 1/8in 16 1/4in", &["16 1/8in", "16 1/4in"]);
        check("21.4 g 21.5 g", &["21.4 g", "21.5 g"]);
        check("331", &["331"]);
    }

    #[test]
    fn numbers_stand_before_their_values() {
        assert_eq!(
            series("3:330.8 7:331,2 gr").unwrap(),
            [(Some(3), "330.8".into()), (Some(7), "331,2 gr".into())]
        );
        for wrong in ["1:330.8 331.2", "0:330", "x:330", "1:", "330;;331", "", "1001:5"] {
            assert_eq!(series(wrong).unwrap_err().code, "bad_series", "{wrong}");
        }
    }

    #[test]
    fn a_comma_that_may_be_a_decimal_point_is_asked_about() {
        for typed in ["330,8", "16,20,16,25", "500,505"] {
            let told = series(typed).unwrap_err().message;
            assert!(told.contains("decimal point") && told.contains("; "), "{told}");
        }
    }

    #[test]
    fn lists_of_numbers_are_read() {
        assert_eq!(numbers("3").unwrap().unwrap(), [3]);
        assert_eq!(numbers("1-3,7, 2").unwrap().unwrap(), [1, 2, 3, 7]);
        assert!(numbers("0").unwrap().is_err() && numbers("5-3").unwrap().is_err());
        for none in ["mass=3", "1:330", "", "3.5", "-1"] {
            assert!(numbers(none).is_none(), "{none}");
        }
    }

    proptest! {
        #[test]
        fn nothing_panics_and_what_was_joined_comes_apart(typed in ".{0,60}", values in prop::collection::vec(50u32..20000, 1..20)) {
            let _ = (series(&typed), numbers(&typed));
            let tenths = |v: &u32, point: char| format!("{}{point}{}", v / 10, v % 10);
            let points: Vec<String> = values.iter().map(|v| tenths(v, '.')).collect();
            let commas: Vec<String> = values.iter().map(|v| tenths(v, ',')).collect();
            for (text, expect) in [(points.join(","), &points), (points.join(" "), &points), (commas.join("; ") + ";", &commas)] {
                let read: Vec<String> = series(&text).unwrap().into_iter().map(|(_, v)| v).collect();
                prop_assert_eq!(&read, expect);
            }
        }
    }
}
