//! Numbers for people: metric or imperial, as inside everything stays in mm, m and mrad; counts with their nouns.

use serde::Deserialize;

/// In which units people are told.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Units {
    /// Millimetres and metres.
    #[default]
    Metric,
    /// Inches and yards.
    Imperial,
}

impl Units {
    /// Returns a length on the face in words, for example `14 mm` or `0.6 in`.
    pub fn length(self, mm: f64) -> String {
        format!("{} {}", self.number(mm), self.unit())
    }

    /// Returns the number of a length on the face, without its unit.
    pub fn number(self, mm: f64) -> String {
        match self {
            Self::Metric if mm.abs() < 9.95 => trimmed(mm, 1),
            Self::Metric => trimmed(mm, 0),
            Self::Imperial if mm.abs() < 25.4 => trimmed(mm / 25.4, 2),
            Self::Imperial => trimmed(mm / 25.4, 1),
        }
    }

    /// Returns the unit of lengths on the face.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Metric => "mm",
            Self::Imperial => "in",
        }
    }

    /// Returns that unit as it is written in a sentence, where `in` would be another word.
    pub fn unit_word(self) -> &'static str {
        match self {
            Self::Metric => "mm",
            Self::Imperial => "inches",
        }
    }

    /// Returns a length on the face as a number in that unit, for pictures.
    pub fn reading(self, mm: f64) -> f64 {
        match self {
            Self::Metric => mm,
            Self::Imperial => mm / 25.4,
        }
    }

    /// Returns a distance in words, for example `30 m` or `20 yd`.
    pub fn distance(self, m: f64) -> String {
        match self {
            Self::Metric => format!("{} m", trimmed(m, 1)),
            Self::Imperial => format!("{} yd", trimmed(m / 0.9144, 1)),
        }
    }
}

/// Returns a number with up to so many decimals and no trailing zeros.
pub fn trimmed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
    if text == "-0" { "0".into() } else { text.to_owned() }
}

/// Returns a count with its noun, for example `1 arrow`, `6 arrows`, `1,240 arrows`.
pub fn count(n: usize, noun: &str) -> String {
    if n == 1 { format!("1 {noun}") } else { format!("{} {noun}s", thousands(n as u64)) }
}

/// Returns a whole number with commas between thousands.
pub fn thousands(n: u64) -> String {
    let digits = n.to_string();
    let mut text = String::new();
    for (i, digit) in digits.chars().enumerate() {
        if i > 0 && (digits.len() - i).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text
}
