//! What was measured of the arrows of a set, as it is typed: of one, of some, or of many in a row from the scale.

use crate::{
    ModelError,
    kind::{Arrows, Form, MOST_SHAFTS, Shaft, fields_of, shaft_field, shaft_name, shaft_value},
    notation::{numbers, series, unit_meant, unit_of},
    verdict::decimal,
};
use serde_json::Value;
use std::collections::BTreeMap;

/// From how many times more or less than the others on a number is asked about.
const FAR: f64 = 2.0;
/// By how much, as a part, it lies near them in the unit that was meant.
const NEAR: f64 = 0.25;

/// Reads what was typed of a set's arrows: which ones first, where they are named, then `field=value` or `number:mass`.
/// An empty value is noted no more. Returns the fields of the record with their values.
///
/// # Errors
/// What is wrong with the words, a number that the set does not have, a value that is in another unit.
pub fn read_shafts(set: &Arrows, typed: &[String]) -> Result<BTreeMap<String, Value>, ModelError> {
    let (named, pairs) = match typed.split_first() {
        Some((first, rest)) => match numbers(first) {
            Some(read) => (Some(read?), rest),
            None => (None, typed),
        },
        None => (None, typed),
    };
    let mut read = BTreeMap::new();
    let bare: Vec<&str> = pairs.iter().map(String::as_str).filter(|word| !word.contains('=')).collect();
    let mut given: Vec<(String, String)> = Vec::new();
    if !bare.is_empty() {
        let behind = bare[0].contains(':');
        if let Some(word) = bare.iter().find(|word| !(word.contains(':') || behind && is_unit(word))) {
            return Err(bad(format!(
                "`{word}` is no field with a value; write it like mass=331gr, or 3:331.2 for the mass of arrow 3"
            )));
        }
        given.push(("mass".into(), bare.join(" ")));
    }
    given.extend(pairs.iter().filter_map(|pair| pair.split_once('=')).map(|(f, v)| (f.into(), v.into())));
    if given.is_empty() {
        return Err(
            bad("nothing is given; write for example 3 mass=331gr, or mass=330.8,331.2,329.9".into()),
        );
    }
    for (field, values) in given {
        let field = field_meant(&field)?;
        for (number, value) in placed(set, named.as_deref(), field, &values)? {
            if read.insert(shaft_name(number, field.0), value).is_some() {
                return Err(bad(format!("the {} of shaft {number} is given twice", field.0)));
            }
        }
    }
    check(set, &read)?;
    Ok(read)
}

/// A unit that stands behind a number with a space between.
fn is_unit(word: &str) -> bool {
    word.len() <= 6 && word.chars().all(char::is_alphabetic)
}

fn bad(message: String) -> ModelError {
    ModelError::new("bad_shaft", message).at("shafts")
}

fn field_meant(typed: &str) -> Result<(&'static str, Form), ModelError> {
    shaft_field(typed).ok_or_else(|| {
        let all: Vec<&str> = fields_of("shaft").collect();
        bad(format!("an arrow of a set has no field `{}`; it has {}", typed.trim(), all.join(", ")))
    })
}

/// Returns which arrow gets which value of a field.
fn placed(
    set: &Arrows,
    named: Option<&[u32]>,
    (name, form): (&'static str, Form),
    typed: &str,
) -> Result<Vec<(u32, Value)>, ModelError> {
    let numeric = matches!(form, Form::Number(..));
    let one = |number: u32, typed: &str| {
        within(set, number)?;
        match typed.trim() {
            "" => Ok((number, Value::Null)),
            typed => Ok((number, measured(set, number, name, form, typed)?)),
        }
    };
    if let Some(named) = named {
        let each: Result<Vec<_>, _> = named.iter().map(|number| one(*number, typed)).collect();
        return match row_for(named, name, typed).filter(|_| numeric && each.is_err()) {
            Some(cure) => Err(bad(cure)),
            None => each,
        };
    }
    if !numeric && !typed.contains(':') {
        let message =
            format!("{name}: say of which arrows, for example 3 {name}={typed} or 1-6 {name}={typed}");
        return Err(bad(message));
    }
    let values = series(typed).map_err(|e| e.at("shafts"))?;
    if let [(None, value)] = values.as_slice() {
        let message =
            format!("{name}: one value, `{value}`: say of which arrow, for example 3 {name}={value}");
        return Err(bad(message));
    }
    (1..).zip(&values).map(|(place, (number, value))| one(number.unwrap_or(place), value)).collect()
}

/// Says how a row of values is typed, where one was given for arrows that are named.
fn row_for(named: &[u32], name: &str, typed: &str) -> Option<String> {
    let between = if typed.contains(';') { ';' } else { ',' };
    let values: Vec<&str> = typed.trim_end_matches(between).split(between).map(str::trim).collect();
    // Of a comma alone nobody knows whether it is a decimal point.
    let row = values.len() > if between == ';' { 1 } else { 2 };
    if !row || values.iter().any(|value| !value.starts_with(|c: char| c.is_ascii_digit())) {
        return None;
    }
    let numbered: Vec<String> = named.iter().zip(&values).map(|(n, value)| format!("{n}:{value}")).collect();
    Some(format!(
        "{name}: `{typed}` is a row of {} values, and behind the numbers of arrows stands one value for each of them. Write \
         each value with its number, like {name}=\"{}\", or leave the numbers out and the row is that of arrows 1, 2, 3 and \
         so on; semicolons stand between values whose commas are decimal",
        values.len(),
        numbered.join("; ")
    ))
}

/// Checks that a set has an arrow of this number.
fn within(set: &Arrows, number: u32) -> Result<(), ModelError> {
    let most = set.count.unwrap_or(MOST_SHAFTS).min(MOST_SHAFTS);
    if (1..=most).contains(&number) {
        return Ok(());
    }
    let why = match set.count {
        Some(count) => format!(
            "the set has {count} arrows, numbered from 1; if it has more, set its count first, for example count={}",
            number.max(1)
        ),
        None => format!("arrows are numbered from 1 to {MOST_SHAFTS}"),
    };
    Err(ModelError::new("no_such_shaft", format!("shaft {number}: {why}")).at("shafts"))
}

/// Reads a value, and asks where another unit would bring it among the others.
fn measured(set: &Arrows, number: u32, name: &str, form: Form, typed: &str) -> Result<Value, ModelError> {
    let value = shaft_value(number, name, form, typed)?;
    let no_unit = !typed.contains(char::is_alphabetic) && !typed.contains(['"', '\'']);
    if let (Some(read), Some(usual), true) = (value.as_f64(), usual(set, number, name), no_unit)
        && (read > FAR * usual || read < usual / FAR)
        && let Some(asked) = unit_meant(read, unit_of(name), [usual * (1.0 - NEAR), usual * (1.0 + NEAR)])
    {
        let unit = unit_of(name);
        let message = format!(
            "shaft {number}, {name}: {read} {unit} is far from the {} {unit} of the others: {asked} Write the unit with \
             the number",
            decimal(usual, 1)
        );
        return Err(ModelError::new("out_of_range", message).at(shaft_name(number, name)));
    }
    Ok(value)
}

/// Returns what the set says a field is, else the middle of what is noted of other arrows.
fn usual(set: &Arrows, number: u32, name: &str) -> Option<f64> {
    let of_set = match name {
        "mass_gr" => set.mass_gr,
        "pile_gr" => set.pile_gr,
        "length_in" => set.length_in,
        "balance_from_nock_in" => set.balance_from_nock_in,
        _ => return None,
    };
    let of = |shaft: &Shaft| match name {
        "mass_gr" => shaft.mass_gr,
        "pile_gr" => shaft.pile_gr,
        "length_in" => shaft.length_in,
        _ => shaft.balance_from_nock_in,
    };
    let shafts = set.shafts();
    let mut others: Vec<f64> =
        shafts.iter().filter(|(n, _)| **n != number).filter_map(|(_, s)| of(s)).collect();
    others.sort_by(f64::total_cmp);
    of_set.or_else(|| others.get(others.len() / 2).copied())
}

/// Checks each arrow as it will be, where its measures have to fit one another.
fn check(set: &Arrows, read: &BTreeMap<String, Value>) -> Result<(), ModelError> {
    let mut after = set.clone();
    after.rest.extend(read.clone());
    for (number, shaft) in after.shafts() {
        let touched = |field: &str| read.contains_key(&shaft_name(number, field));
        let length = shaft.length_in.or(set.length_in);
        if let (Some(balance), Some(length)) = (shaft.balance_from_nock_in, length)
            && balance > length
            && (touched("balance_from_nock_in") || touched("length_in"))
        {
            let message = format!(
                "shaft {number}: its balance point at {} in lies beyond its length of {} in; measure both from the nock \
                 groove, and check the unit",
                decimal(balance, 2),
                decimal(length, 2)
            );
            let place = shaft_name(number, "balance_from_nock_in");
            return Err(ModelError::new("out_of_range", message).at(place));
        }
        if let (Some(pile), Some(mass)) = (shaft.pile_gr, shaft.mass_gr.or(set.mass_gr))
            && pile >= mass
            && (touched("pile_gr") || touched("mass_gr"))
        {
            let message = format!(
                "shaft {number}: a point of {} gr in an arrow of {} gr; check both numbers and their units",
                decimal(pile, 1),
                decimal(mass, 1)
            );
            return Err(ModelError::new("out_of_range", message).at(shaft_name(number, "pile_gr")));
        }
    }
    Ok(())
}

/// Returns what a set holds of its arrows in words: each field where they are few, else how many were measured.
pub fn shaft_words(set: &Arrows) -> Option<String> {
    let shafts = set.shafts();
    let masses: Vec<f64> = shafts.values().filter_map(|shaft| shaft.mass_gr).collect();
    let (least, most) = (masses.iter().copied().reduce(f64::min), masses.iter().copied().reduce(f64::max));
    let told = match (least, most, masses.len()) {
        (Some(only), _, 1) => format!(", 1 weighed: {} gr", decimal(only, 1)),
        (Some(least), Some(most), n) => {
            format!(", {n} weighed: {} to {} gr", decimal(least, 1), decimal(most, 1))
        }
        _ => String::new(),
    };
    let noun = if shafts.len() == 1 { "shaft" } else { "shafts" };
    (!shafts.is_empty()).then(|| format!("{} {noun} noted one by one{told}", shafts.len()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use serde_json::json;

    fn set() -> Arrows {
        serde_json::from_value(json!({"count": 6, "mass_gr": 330, "pile_gr": 100, "length_in": 28.5}))
            .unwrap()
    }

    fn read(typed: &[&str]) -> Result<BTreeMap<String, Value>, ModelError> {
        read_shafts(&set(), &typed.iter().map(|t| (*t).to_owned()).collect::<Vec<_>>())
    }

    #[test]
    fn one_some_and_many_arrows_are_read() {
        let one = read(&["3", "mass=331gr", "balance=16.1in", "bare=yes", "note="]).unwrap();
        assert_eq!(
            json!(one),
            json!({"shaft.3.mass_gr": 331.0, "shaft.3.balance_from_nock_in": 16.1, "shaft.3.bare": true, "shaft.3.note": null})
        );
        let many = read(&["mass=330.8,331.2,329.9", "balance=16,1; 16,2"]).unwrap();
        assert_eq!(
            (&many["shaft.3.mass_gr"], &many["shaft.2.balance_from_nock_in"]),
            (&json!(329.9), &json!(16.2))
        );
        assert_eq!(
            json!(read(&["5:330.8", "2:331,2"]).unwrap()),
            json!({"shaft.5.mass_gr": 330.8, "shaft.2.mass_gr": 331.2})
        );
        assert_eq!(read(&["1-6", "nock=red"]).unwrap().len(), 6);
        assert_eq!(read(&["pile=1:100 2:101"]).unwrap().len(), 2);
    }

    #[track_caller]
    fn refused(typed: &[&str], code: &str, told: &str) {
        let e = read(typed).unwrap_err();
        assert!(e.code == code && e.message.contains(told), "{typed:?}: {} {}", e.code, e.message);
    }

    #[test]
    fn what_is_wrong_is_said_with_the_arrow() {
        refused(&["7", "mass=331"], "no_such_shaft", "the set has 6 arrows");
        refused(&["0", "mass=331"], "bad_series", "counted from 1");
        refused(&["mass=330,331,329,330,331,332,333"], "bad_series", "decimal point");
        refused(&["mass=330;331;329;330;331;332;333"], "no_such_shaft", "shaft 7");
        refused(&["mass=331"], "bad_shaft", "of which arrow");
        refused(&["nock=red"], "bad_shaft", "of which arrows");
        refused(&["3", "colour=red"], "bad_shaft", "no field `colour`");
        refused(&["3"], "bad_shaft", "nothing is given");
        refused(&["3", "mass"], "bad_shaft", "no field with a value");
        refused(&["3", "mass=331", "mass_gr=332"], "bad_shaft", "given twice");
        refused(&["2:331", "2:332"], "bad_shaft", "given twice");
        refused(&["3", "balance=29"], "out_of_range", "beyond its length");
        refused(&["3", "pile=400"], "out_of_range", "a point of 400 gr");
    }

    #[test]
    fn a_row_behind_numbers_is_told_how_it_is_typed() {
        let cure = "like spine=\"1:548; 2:552; 3:550; 4:561\", or leave the numbers out";
        refused(&["1-4", "spine=548,552,550,561"], "bad_shaft", cure);
        refused(&["1-4", "spine=548;552;550;561"], "bad_shaft", cure);
        // What it says to type is read.
        let read = read(&["spine=1:548; 2:552; 3:550; 4:561"]).unwrap();
        assert_eq!((read.len(), &read["shaft.4.spine"]), (4, &json!(561.0)));
        refused(&["1-4", "spine=soft"], "bad_quantity", "is no number");
    }

    #[test]
    fn units_that_are_mixed_up_are_asked_about() {
        refused(&["3", "mass=21.4"], "out_of_range", "did you mean 21.4 g");
        refused(&["3", "pile=6.5"], "out_of_range", "did you mean 6.5 g, which is 100.31");
        refused(&["3", "length=72.4"], "out_of_range", "did you mean 72.4 cm");
        assert!(read(&["3", "pile=6.5gr"]).is_ok(), "a unit that is written is meant");
        assert!(read(&["3", "pile=120"]).is_ok());
    }

    #[test]
    fn a_set_is_told_in_few_words() {
        assert_eq!(shaft_words(&set()), None);
        let mut set = set();
        set.rest.extend(read(&["mass=330.8,331.2,329.9"]).unwrap());
        assert_eq!(shaft_words(&set).unwrap(), "3 shafts noted one by one, 3 weighed: 329.9 to 331.2 gr");
    }
}
