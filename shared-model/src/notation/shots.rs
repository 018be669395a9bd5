//! Shots as they are typed: ring and clock position, or x and y from the centre.
//!
//! One shot is `[arrow:]place[marks]`. The arrow's number is optional. The place is one of
//! - `9@4:30`: ring 9 in the direction in which the hour hand stands at half past four, as the archer sees the
//!   face (12 is up, 3 right); `9` is the middle of the ring, `9.0` just inside its outer line, `9.9` just
//!   outside the next one in (the innermost ring goes to the centre); `X` is the middle of the inner ten;
//! - `12,-31`: x to the right and y up from the centre, in mm unless `cm`, `in` or `mm` follows; with a decimal
//!   comma a semicolon stands between the two (`1,2;-3,1cm`);
//! - `M`: an arrow that was not found on the target.
//!
//! Marks: `!` a flyer by the archer's word, `b` a bare shaft. Shots are separated by spaces.

use super::{
    arrow_number,
    distance::{Length, length_mm},
};
use crate::{ModelError, face::Face};
use core::f64::consts::PI;

/// How far from a ring's lines an arrow typed into it lies at least: more than half the diagonal of the tenth of
/// a millimetre to which positions are kept, and less than anyone can read.
const OFF_THE_LINE_MM: f64 = 0.1;

/// One arrow as typed.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shot {
    /// The number on the arrow.
    pub arrow: Option<String>,
    /// Where it struck, mm from the centre; `None` for a miss.
    pub at: Option<[f64; 2]>,
    /// Whether the archer calls it a flyer.
    pub flyer: bool,
    /// Whether it is a bare shaft.
    pub bare: bool,
}

/// Reads shots separated by spaces; `usual` is the unit of x and y without one.
///
/// # Errors
/// `bad_shot` with the shot, its place in the line and an example.
pub fn shots(text: &str, face: &Face, usual: Length) -> Result<Vec<Shot>, ModelError> {
    let mut read: Vec<Shot> = Vec::new();
    for (i, word) in text.split_whitespace().enumerate() {
        let wrong = |code, why: &str| {
            ModelError::new(code, format!("shot {}, `{word}`: {why}", i + 1)).at(format!("shots[{i}]"))
        };
        let one = shot(word, face, usual).map_err(|e| wrong(e.code, &e.message))?;
        let twin = read.iter().position(|other| one.arrow.is_some() && other.arrow == one.arrow);
        if let (Some(first), Some(arrow)) = (twin, &one.arrow) {
            let why = format!("arrow {arrow} is shot {} already; mend the number of one", first + 1);
            return Err(wrong("bad_shot", &why));
        }
        read.push(one);
    }
    Ok(read)
}

/// Reads one shot.
///
/// # Errors
/// `bad_shot` with what is wrong and an example.
pub fn shot(word: &str, face: &Face, usual: Length) -> Result<Shot, ModelError> {
    let mut rest = word.trim();
    let mut shot = Shot::default();
    loop {
        if let Some(before) = rest.strip_suffix('!') {
            (shot.flyer, rest) = (true, before);
        } else if let Some(before) = rest.strip_suffix(['b', 'B']) {
            (shot.bare, rest) = (true, before);
        } else {
            break;
        }
    }
    // A colon before the place names the arrow; one behind the @ belongs to the clock.
    let before_clock = rest.find('@').unwrap_or(rest.len());
    if let Some(colon) = rest[..before_clock].find(':') {
        let arrow = arrow_number(&rest[..colon])
            .map_err(|e| ModelError::new("bad_shot", format!("{}; write it like 3:9@4:30", e.message)))?;
        (shot.arrow, rest) = (Some(arrow), &rest[colon + 1..]);
    }
    shot.at = if rest.eq_ignore_ascii_case("m") { None } else { Some(place(rest, face, usual)?) };
    Ok(shot)
}

/// Returns whether a word that was typed can only have been meant as a shot.
pub fn looks_like_shot(word: &str) -> bool {
    word.contains(['@', ',', ';', ':']) || word.trim_end_matches(['!', 'b']).eq_ignore_ascii_case("m")
}

/// Writes a shot so that it is read back the same.
pub fn write(shot: &Shot) -> String {
    let arrow = shot.arrow.as_ref().map_or(String::new(), |a| format!("{a}:"));
    let at = shot.at.map_or("M".to_owned(), |[x, y]| format!("{x},{y}mm"));
    let flyer = if shot.flyer { "!" } else { "" };
    let bare = if shot.bare { "b" } else { "" };
    format!("{arrow}{at}{bare}{flyer}")
}

fn place(text: &str, face: &Face, usual: Length) -> Result<[f64; 2], ModelError> {
    match text.split_once('@') {
        Some((ring, clock)) => {
            let (radius, angle) = (ring_radius(ring, face)?, clock_angle(clock)?);
            Ok([radius * libm::sin(angle), radius * libm::cos(angle)])
        }
        None => point(text, usual),
    }
}

fn point(text: &str, usual: Length) -> Result<[f64; 2], ModelError> {
    let wrong = || {
        bad("write x,y like 12,-31 or 1.2,-3.1cm, a ring with its clock position like 9@4:30, or M".into())
    };
    let ends_in_unit = |part: &str| part.ends_with(|c: char| c.is_ascii_alphabetic() || c == '"');
    if let Some((x, y)) = text.split_once([',', ';'])
        && ends_in_unit(x)
        && ends_in_unit(y)
    {
        let unit = y.trim_start_matches(|c: char| !(c.is_ascii_alphabetic() || c == '"'));
        return Err(bad(format!("the unit stands once, behind both numbers, like 1,2{unit}")));
    }
    let end = text.find(|c: char| c.is_ascii_alphabetic() || c == '"').unwrap_or(text.len());
    let (numbers, unit) = text.split_at(end);
    let unit = match (unit.is_empty(), Length::named(unit)) {
        (true, _) => usual,
        (false, Some(unit @ (Length::Mm | Length::Cm | Length::In))) => unit,
        // A slip of the finger for mm, which would put the arrow metres away.
        (false, Some(_)) => return Err(bad(format!("x and y are given in mm, cm or in, not in {unit}"))),
        (false, None) => return Err(wrong()),
    };
    let mut parts = numbers.split(if numbers.contains(';') { ';' } else { ',' });
    let (Some(x), Some(y), None) = (parts.next(), parts.next(), parts.next()) else { return Err(wrong()) };
    let read = |part: &str| length_mm(part, unit).map_err(|_| wrong());
    Ok([read(x)?, read(y)?])
}

fn ring_radius(text: &str, face: &Face) -> Result<f64, ModelError> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("x") {
        return face.inner_ten_middle_mm();
    }
    let unknown = || {
        let rings: Vec<String> = face.zones().iter().map(|z| z.points.to_string()).collect();
        let x = if face.inner10_radius_mm().is_some() { "X, " } else { "" };
        bad(format!("there is no ring `{text}` on {}; it has {x}{}", face.name(), rings.join(", ")))
    };
    let (whole, tenth) = match text.split_once(['.', ',']) {
        Some((whole, tenth)) => (whole, Some(tenth)),
        None => (text, None),
    };
    let points: u32 = whole.parse().map_err(|_| unknown())?;
    let Some(tenth) = tenth else { return face.ring_radius_mm(points).map_err(|_| unknown()) };
    let share: f64 = format!("0.{tenth}")
        .parse()
        .ok()
        .filter(|_| !tenth.is_empty() && tenth.chars().all(|c| c.is_ascii_digit()))
        .ok_or_else(unknown)?;
    let index = face.zones().iter().position(|z| z.points == points).ok_or_else(unknown)?;
    let outer = face.zones()[index].outer_radius_mm;
    let inner = index.checked_sub(1).map_or(0.0, |i| face.zones()[i].outer_radius_mm);
    // On the line itself a rounded position may come to lie in the ring outside of it.
    let margin = OFF_THE_LINE_MM.min(0.5 * (outer - inner));
    Ok((outer - share * (outer - inner)).max(inner + margin).min(outer - margin))
}

/// Returns the direction of the hour hand, clockwise from up.
fn clock_angle(text: &str) -> Result<f64, ModelError> {
    let wrong = || bad(format!("`{text}` is no clock position; write it like 4 or 4:30, from 1 to 12"));
    let (hours, minutes) = text.trim().split_once(':').unwrap_or((text.trim(), "00"));
    let digits = |t: &str| t.len() <= 2 && t.chars().all(|c| c.is_ascii_digit());
    // One digit behind the colon is half a number: 4:3 may have become of 4:30.
    if !digits(hours) || !digits(minutes) || minutes.len() != 2 {
        return Err(wrong());
    }
    let (hours, minutes): (u32, u32) =
        (hours.parse().map_err(|_| wrong())?, minutes.parse().map_err(|_| wrong())?);
    if !(1..=12).contains(&hours) || minutes > 59 {
        return Err(wrong());
    }
    Ok(f64::from(hours * 60 + minutes) * (2.0 * PI / 720.0))
}

fn bad(message: String) -> ModelError {
    ModelError::new("bad_shot", message)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[track_caller]
    fn check(typed: &str, want: [f64; 2]) {
        let face = Face::by_code("wa_80").unwrap();
        let got = shot(typed, &face, Length::Mm).unwrap().at.unwrap();
        assert!(
            (got[0] - want[0]).abs() < 1e-9 && (got[1] - want[1]).abs() < 1e-9,
            "{typed}: {got:?} {want:?}"
        );
    }

    #[test]
    fn rings_and_clock_positions_lie_where_the_hour_hand_points() {
        // On the 80 cm face ring 9 goes from 40 to 80 mm, so its middle is 60 mm from the centre.
        let d = 60.0 / libm::sqrt(2.0);
        check("9@12", [0.0, 60.0]);
        check("9@3", [60.0, 0.0]);
        check("9@4:30", [d, -d]);
        check("9@10:30", [-d, d]);
        check("X@12", [0.0, 10.0]);
        check("9.0@6", [0.0, -79.9]);
        check("9.5@6", [0.0, -60.0]);
    }

    #[test]
    fn a_ring_that_was_typed_is_the_ring_that_scores() {
        // Positions are kept to a tenth of a millimetre, which must not carry an arrow over a line.
        for code in Face::codes() {
            let face = Face::by_code(code).unwrap();
            for (zone, tenth) in
                face.zones().iter().flat_map(|z| ["", ".0", ".5", ".9", ".999"].map(|t| (z, t)))
            {
                for clock in (1..=12).flat_map(|h| ["", ":17", ":30"].map(|m| format!("{h}{m}"))) {
                    let typed = format!("{}{tenth}@{clock}", zone.points);
                    let at = shot(&typed, &face, Length::Mm).unwrap().at.unwrap();
                    let kept = at.map(|mm| libm::round(mm * 10.0) / 10.0);
                    assert_eq!(face.score(kept, 0.0).points, zone.points, "{typed} on {code}");
                }
            }
        }
    }

    #[test]
    fn points_are_read_in_every_unit() {
        check("12,-31", [12.0, -31.0]);
        check("1.2,-3.1cm", [12.0, -31.0]);
        check("0.5,-1in", [12.7, -25.4]);
        check("1,2;-3,1cm", [12.0, -31.0]);
    }

    #[test]
    fn arrows_and_marks_are_kept() {
        let face = Face::by_code("wa_80").unwrap();
        let read = shots("3:9@4:30! 7:M 12:X@12b 1,2b!", &face, Length::Mm).unwrap();
        assert_eq!(read[0].arrow.as_deref(), Some("3"));
        assert!(read[0].flyer && !read[0].bare);
        assert_eq!((read[1].arrow.as_deref(), read[1].at), (Some("7"), None));
        assert!(read[2].bare && read[3].bare && read[3].flyer);
    }

    #[test]
    fn what_is_wrong_is_named_with_its_place() {
        let face = Face::by_code("wa_80").unwrap();
        let why = |text: &str| shots(text, &face, Length::Mm).unwrap_err().message;
        assert!(
            why("9@3 11@3").contains("shot 2") && why("11@3").contains("it has X, 10, 9"),
            "{}",
            why("11@3")
        );
        for bad in [
            "9", "9@", "9@13", "9@4:60", "9@0", "9@0:30", "9@4:3", "9@4:", "9@:30", "9@-1", "@3", "nan,1",
            "1,2,3", "1,2ly", ":9@3", "9.x@3", "é", "9@é", "9.@3", "9,@3", "3:", "3:!", "1,2m", "1,2yd",
            "1,2ft",
        ] {
            assert!(shots(bad, &face, Length::Mm).is_err(), "{bad}");
        }
    }

    #[test]
    fn a_unit_written_twice_is_told_where_it_stands() {
        let face = Face::by_code("wa_80").unwrap();
        for (typed, right) in
            [("1in,1in", "1,2in"), ("12mm,1in", "1,2in"), ("1cm,2mm", "1,2mm"), ("1cm;2cm", "1,2cm")]
        {
            let told = shot(typed, &face, Length::Mm).unwrap_err().message;
            assert!(told.contains("stands once") && told.ends_with(right), "{told}");
        }
    }

    #[test]
    fn an_arrow_is_shot_once_in_an_end() {
        let face = Face::by_code("wa_80").unwrap();
        let error = shots("3:9@4:30 M 03:M", &face, Length::Mm).unwrap_err();
        assert!(error.message.contains("shot 3") && error.message.contains("shot 1 already"), "{error}");
        assert!(shots("3:9@4:30 M M 4:M", &face, Length::Mm).is_ok());
    }

    /// Shots as people type them: each form of place, with and without number and marks.
    fn typed() -> impl Strategy<Value = String> {
        let place = prop_oneof![
            "(10|[1-9]|[1-9]\\.[0-9]{1,3}|X)@([1-9]|1[0-2])(:[0-5][0-9])?",
            "-?[0-9]{1,3}(\\.[0-9]{1,4})?,-?[0-9]{1,3}(\\.[0-9]{1,4})?(mm|cm|in)?",
            "-?[0-9]{1,3},[0-9];-?[0-9]{1,3},[0-9](cm)?",
            "1/[3-9],-2/[3-9](in)?",
            "[Mm]",
        ];
        ("([0-9A-Z]{1,3}:)?", place, "(|!|b|b!|!b)").prop_map(|(arrow, place, marks)| arrow + &place + &marks)
    }

    proptest! {
        #[test]
        fn what_is_written_is_read_back(x in -5000.0..5000.0f64, y in -5000.0..5000.0f64, marks in 0..4u8, arrow in proptest::option::of(1..200u32)) {
            let face = Face::by_code("wa_122").unwrap();
            let place = [libm::round(x * 1e3) / 1e3, libm::round(y * 1e3) / 1e3];
            let one = Shot { arrow: arrow.map(|a| a.to_string()), at: Some(place), flyer: marks & 1 == 1, bare: marks & 2 == 2 };
            prop_assert_eq!(shot(&write(&one), &face, Length::Mm).unwrap(), one);
        }

        #[test]
        fn what_is_typed_is_written_and_read_back(word in typed()) {
            let face = Face::by_code("wa_80").unwrap();
            let one = shot(&word, &face, Length::Mm).unwrap();
            prop_assert_eq!(shot(&write(&one), &face, Length::Cm).unwrap(), one);
        }

        #[test]
        fn nothing_typed_panics(text in "[0-9a-zA-Z@:;,.!\\-+ é\"/]{0,24}") {
            let face = Face::by_code("field_80").unwrap();
            let _ = shots(&text, &face, Length::Mm);
            let _ = super::super::distance_m(&text);
        }
    }
}
