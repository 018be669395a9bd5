//! What is typed: shots, distances, lengths, moments, settings, numbers on arrows, names, ids and stamps.

use super::told::{told, well};
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind::{SETTINGS, check_setting, is_numeric, read_setting, setting_meant},
    log::{Hash, Stamp, Tick},
    moment::Moment,
    name,
    notation::{
        Length, arrow_number, distance_m, length_mm, looks_like_distance, looks_like_shot, numbers, quantity,
        series, shots, write,
    },
};
use std::{fmt::Display, str::FromStr};

const UNITS: [(Length, &str); 6] = [
    (Length::Mm, "mm"),
    (Length::Cm, "cm"),
    (Length::In, "in"),
    (Length::Ft, "ft"),
    (Length::Yd, "yd"),
    (Length::M, "m"),
];

/// Reads a text in every way in which something typed is read; what is shown of it is read as the same again.
pub fn check(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    for code in ["wa_80", "field_80", "wa_122"] {
        shots_are_stable(text, &Face::by_code(code).expect("a published face"));
    }
    for line in text.lines() {
        lengths(line);
        settings(line);
        moments(line);
        words(line);
        canonical::<Tick>(line);
        canonical::<Stamp>(line);
        canonical::<ThingId>(line);
        canonical::<Hash>(line);
    }
}

fn shots_are_stable(text: &str, face: &Face) {
    for (unit, _) in &UNITS[..3] {
        let Some(read) = well(shots(text, face, *unit)) else { continue };
        for shot in &read {
            assert!(shot.at.is_none_or(|at| at.iter().all(|mm| mm.is_finite())), "{shot:?}");
            let _ = shot.at.map(|at| face.score(at, 5.0));
        }
        let shown: Vec<String> = read.iter().map(write).collect();
        assert!(shown.iter().all(|word| looks_like_shot(word)), "{shown:?}");
        let back = shots(&shown.join(" "), face, Length::Cm).unwrap_or_else(|e| panic!("{shown:?}: {e}"));
        assert_eq!(back, read, "{shown:?}");
    }
}

fn lengths(line: &str) {
    if let Some(metres) = well(distance_m(line)) {
        assert!(metres > 0.0 && metres < 10_000.0, "{line}: {metres}");
        assert!(looks_like_distance(line), "{line}");
        assert_eq!(distance_m(&format!("{metres}m")), Ok(metres), "{line}");
    }
    for (unit, word) in UNITS {
        if let Some(mm) = well(length_mm(line, unit)) {
            assert!(mm.is_finite());
            assert_eq!(length_mm(&format!("{mm}mm"), unit), Ok(mm), "{line} in {word}");
        }
    }
    for unit in ["mm", "in", "m", "lbf", "gr", "turns", "deg", ""] {
        if let Some(number) = well(quantity(line, unit)) {
            assert!(number.is_finite());
            let back = quantity(&format!("{number}{unit}"), unit);
            assert!(unit.is_empty() || back.is_ok_and(|b| near(b, number)), "{line}: {number} {unit}");
            assert_eq!(quantity(&number.to_string(), unit), Ok(number), "{line}");
        }
    }
}

/// Quantities are shown to ten digits.
fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-9 * a.abs().max(b.abs())
}

fn settings(line: &str) {
    let (named, typed) = line.split_once('=').unwrap_or((line, line));
    let numeric = is_numeric(typed);
    let meant = setting_meant(named, numeric);
    let own = named.len() < 40 && named.bytes().all(|b| b.is_ascii_lowercase() || b == b'_');
    let fields = SETTINGS.iter().filter(|_| meant.is_none()).map(|s| s.field);
    for field in fields.chain(meant.map(|s| s.field)).chain(own.then_some(named)) {
        if let Some(number) = well(read_setting(field, typed)) {
            let value = serde_json::Value::from(number);
            assert!(value.is_number(), "{line}: {number}");
            let _ = well(check_setting(field, &value));
        }
        let _ = well(check_setting(field, &typed.into()));
    }
}

fn moments(line: &str) {
    let Some(moment) = well(Moment::read(line)) else { return };
    let shown = moment.rfc3339();
    match Moment::read(&shown) {
        Ok(back) => {
            assert_eq!(
                (back.unix_ms(), back.offset_min()),
                (moment.unix_ms(), moment.offset_min()),
                "{line}"
            );
            assert_eq!(back.rfc3339(), shown, "{line}");
            assert_eq!((back.day(), back.day_and_time()), (moment.day(), moment.day_and_time()));
        }
        // Such a moment is refused before it is kept.
        Err(_) => assert!(moment.check().is_err(), "{line}: {shown}"),
    }
    let _ = well(moment.check());
}

fn words(line: &str) {
    if let Some(number) = well(arrow_number(line)) {
        assert_eq!(arrow_number(&number), Ok(number.clone()), "{line}");
    }
    for kind in ["bow", "person", "arrows", "part"] {
        if let Some(name) = well(name::read(kind, line)) {
            assert_eq!(name::read(kind, &name), Ok(name.clone()), "{line}");
            assert_eq!(name::key(&name), name::key(line), "{line}");
            let _ = name::check_unambiguous(kind, &name).inspect_err(told);
        }
    }
    let _ = well(name::check_label("session", line));
    let key = name::key(line);
    assert_eq!(name::key(&key), key, "{line}");
    if let Some(values) = well(series(line)) {
        assert!(values.iter().all(|(_, value)| !value.is_empty()), "{line}");
    }
    if let Some(numbers) = numbers(line).and_then(well) {
        assert!(numbers.iter().all(|n| (1..=1000).contains(n)), "{line}");
    }
}

/// What has one spelling is shown as it was typed, and is read back the same.
fn canonical<T: FromStr<Err = sheaf_model::ModelError> + Display + PartialEq + std::fmt::Debug>(line: &str) {
    if let Some(read) = well(line.parse::<T>()) {
        assert_eq!(read.to_string().parse::<T>().as_ref(), Ok(&read), "{line}");
    }
}
