//! Lengths with their unit: `30m`, `20yd`, `8 1/2in`.

use crate::{ModelError, verdict::decimal};

/// No arrow flies this far, m.
const MOST_M: f64 = 10_000.0;

/// A unit of length, exact by definition (international yard and pound agreement of 1959).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Length {
    /// Millimetre.
    Mm,
    /// Centimetre.
    Cm,
    /// Inch, 25.4 mm.
    In,
    /// Foot, 304.8 mm.
    Ft,
    /// Yard, 914.4 mm.
    Yd,
    /// Metre.
    M,
}

impl Length {
    /// Returns the unit's length in mm.
    pub fn mm(self) -> f64 {
        match self {
            Self::Mm => 1.0,
            Self::Cm => 10.0,
            Self::In => 25.4,
            Self::Ft => 304.8,
            Self::Yd => 914.4,
            Self::M => 1000.0,
        }
    }

    /// Returns the unit of that name.
    pub fn named(text: &str) -> Option<Self> {
        Some(match text.trim().to_ascii_lowercase().as_str() {
            "mm" => Self::Mm,
            "cm" => Self::Cm,
            "in" | "inch" | "inches" | "\"" => Self::In,
            "ft" | "feet" | "foot" => Self::Ft,
            "yd" | "yds" | "yard" | "yards" => Self::Yd,
            "m" | "metre" | "metres" | "meter" | "meters" => Self::M,
            _ => return None,
        })
    }
}

/// Reads a distance with its unit and returns it in m.
///
/// # Errors
/// `bad_distance` when it is no number above 0 and below 10,000 m, or its unit is missing or none of m, yd, ft.
pub fn distance_m(text: &str) -> Result<f64, ModelError> {
    let bad = |why: &str| {
        ModelError::new("bad_distance", format!("`{}` is no distance: {why}", text.trim())).at("distance_m")
    };
    let (number, unit) = split(text).ok_or_else(|| bad("write it like 30m or 20yd"))?;
    let unit = match unit {
        None => return Err(bad("its unit is missing; write 18m or 20yd")),
        Some(unit @ (Length::M | Length::Yd | Length::Ft)) => unit,
        Some(_) => return Err(bad("distances are given in m, yd or ft")),
    };
    if number <= 0.0 {
        return Err(bad("it has to be above 0"));
    }
    let metres = rounded(number * unit.mm() / 1000.0);
    if metres < MOST_M { Ok(metres) } else { Err(bad("it has to be below 10,000 m")) }
}

/// Returns whether two distances are one, as 30 yd and 27.43 m are: half a percent apart at most, far less than any two
/// that are shot on purpose.
pub fn same_distance(a_m: f64, b_m: f64) -> bool {
    (a_m - b_m).abs() <= 0.005 * a_m.abs().max(b_m.abs())
}

/// Returns a distance in m in the unit in which it must have been typed: one that is whole in yards or feet and not in
/// metres was.
pub fn distance_words(distance_m: f64) -> String {
    let whole = |unit: Length| {
        let n = distance_m * 1000.0 / unit.mm();
        // Distances are kept to a millionth of a metre.
        Some(n).filter(|n| (n - libm::round(*n)).abs() * unit.mm() < 0.002)
    };
    match (whole(Length::M), whole(Length::Yd), whole(Length::Ft)) {
        (None, Some(yards), _) => format!("{} yd", decimal(yards, 0)),
        (None, None, Some(feet)) => format!("{} ft", decimal(feet, 0)),
        _ => format!("{} m", decimal(distance_m, 2)),
    }
}

/// Returns a position as it is kept, to a tenth of a millimetre: finer than anyone can read it.
pub fn tenths_mm(mm: f64) -> f64 {
    libm::round(mm * 10.0) / 10.0
}

/// Returns whether a word that was typed is a distance, or was meant to be one and is to be refused as such.
pub fn looks_like_distance(word: &str) -> bool {
    let word = word.trim_start_matches(['-', '\u{2212}']);
    let looks_like_one = word.starts_with(|c: char| c.is_ascii_digit())
        && word.chars().all(|c| c.is_ascii_alphanumeric() || c == '.');
    looks_like_one || distance_m(word).is_ok()
}

/// Reads a length and returns it in mm; without a unit it is in `usual`.
///
/// # Errors
/// `bad_length` when it is no finite number or its unit is not known.
pub fn length_mm(text: &str, usual: Length) -> Result<f64, ModelError> {
    let bad = || {
        let message = format!("`{}` is no length; write it like 12, 12mm, 1.2cm or 0.5in", text.trim());
        ModelError::new("bad_length", message)
    };
    let (number, unit) = split(text).ok_or_else(bad)?;
    let mm = match unit.unwrap_or(usual) {
        // Nothing is converted, so nothing is rounded: what was written to the last digit is read back the same.
        Length::Mm => number,
        unit => rounded(number * unit.mm()),
    };
    if mm.is_finite() { Ok(mm) } else { Err(bad()) }
}

/// Returns a value to a millionth, so that 1.1 cm are 11 mm and not 11.000000000000002.
pub(crate) fn rounded(value: f64) -> f64 {
    let scaled = libm::round(value * 1e6);
    if scaled.abs() < 1e15 { scaled / 1e6 } else { value }
}

/// Splits a text into its number and its unit.
fn split(text: &str) -> Option<(f64, Option<Length>)> {
    let text = text.trim();
    let end =
        text.find(|c: char| !(c.is_ascii_digit() || "+-\u{2212}.,/ ".contains(c))).unwrap_or(text.len());
    let (digits, unit) = text.split_at(end);
    let unit = if unit.is_empty() { None } else { Some(Length::named(unit)?) };
    Some((number(digits)?, unit))
}

/// Reads `12.5`, `12,5`, `1/2`, `8 1/2` or `8½`, with a sign where wanted.
pub(super) fn number(text: &str) -> Option<f64> {
    let text = text.trim();
    let spelled = [('¼', "1/4"), ('½', "1/2"), ('¾', "3/4")]
        .into_iter()
        .find_map(|(sign, words)| Some(format!("{} {words}", text.strip_suffix(sign)?)));
    let text = spelled.as_deref().unwrap_or(text).trim();
    let (sign, text) = match text.strip_prefix(['+', '-', '\u{2212}']) {
        Some(rest) => (if text.starts_with('+') { 1.0 } else { -1.0 }, rest.trim_start()),
        None => (1.0, text),
    };
    let (whole, fraction) = match (text.split_once(' '), text.contains('/')) {
        (Some((whole, fraction)), true) => (plain(whole)?, Some(fraction)),
        (None, true) => (0.0, Some(text)),
        (None, false) => (plain(text)?, None),
        (Some(_), false) => return None,
    };
    let part = match fraction.map(str::trim).and_then(|f| f.split_once('/')) {
        Some((above, below)) => {
            let below = plain(below).filter(|b| *b > 0.0)?;
            plain(above)? / below
        }
        None if fraction.is_some() => return None,
        None => 0.0,
    };
    Some(sign * (whole + part)).filter(|n| n.is_finite())
}

fn plain(text: &str) -> Option<f64> {
    let text = text.trim();
    let shape = text.chars().all(|c| c.is_ascii_digit() || c == '.' || c == ',')
        && text.chars().any(|c| c.is_ascii_digit());
    shape.then(|| text.replace(',', ".").parse().ok()).flatten().filter(|n: &f64| n.is_finite())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn distances_need_their_unit() {
        assert_eq!(distance_m("30m").unwrap(), 30.0);
        assert_eq!(distance_m("20 yd").unwrap(), 18.288);
        assert_eq!(distance_m("60ft").unwrap(), 18.288);
        for bad in ["30", "0m", "-5m", "m", "", "30mm", "1e5m", "nanm", "30 miles", "é", "10000m", "11000yd"]
        {
            assert!(distance_m(bad).is_err(), "{bad}");
        }
        assert!(distance_m("30").unwrap_err().message.contains("its unit is missing"));
        assert!(distance_m("0m").unwrap_err().message.contains("above 0"));
        assert!(distance_m("10000m").unwrap_err().message.contains("below 10,000 m"));
    }

    #[test]
    fn a_distance_is_told_in_the_unit_in_which_it_was_typed() {
        for (typed, told) in [("30m", "30 m"), ("20yd", "20 yd"), ("50ft", "50 ft"), ("18.5m", "18.5 m")] {
            assert_eq!(distance_words(distance_m(typed).unwrap()), told);
        }
    }

    #[test]
    fn a_distance_is_the_same_in_other_units() {
        assert!(same_distance(27.432, 27.43) && same_distance(30.0, 30.001) && same_distance(18.288, 18.3));
        assert!(!same_distance(18.0, 18.288) && !same_distance(50.0, 49.0) && !same_distance(27.432, 27.0));
    }

    #[test]
    fn lengths_convert_by_definition() {
        assert_eq!(length_mm("8 1/2in", Length::Mm).unwrap(), 215.9);
        assert_eq!(length_mm("-3,1cm", Length::Mm).unwrap(), -31.0);
        assert_eq!(length_mm("0.5", Length::In).unwrap(), 12.7);
        assert!(length_mm("1 2", Length::Mm).is_err() && length_mm("1/0", Length::Mm).is_err());
    }
}
