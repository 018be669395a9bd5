//! A mark as people type it: what the sight reads, a crawl or a gap, one of them.

use crate::{
    ModelError,
    kind::{self, Mark},
    notation::quantity,
    stats::marks::{MarkedOn, SPEEDS_M_S},
};

/// Metres of a foot, exact (NIST SP 811).
const FT_M: f64 = 0.304_8;

/// What was typed of a mark: the words of each field, where there are any.
#[derive(Debug, Clone, Copy, Default)]
pub struct TypedMark<'a> {
    /// What the sight reads.
    pub sight: Option<&'a str>,
    /// How far below the nock the fingers take the string.
    pub crawl: Option<&'a str>,
    /// How far above the middle of the target the point is held.
    pub gap: Option<&'a str>,
}

/// Returns what a mark is read on, the reading, and a record that holds both and nothing else.
///
/// # Errors
/// `missing_field` and `too_many` where there is not one of the three, and those of the field.
pub fn marked(typed: &TypedMark<'_>) -> Result<(MarkedOn, f64, Mark), ModelError> {
    let given = [(MarkedOn::Sight, typed.sight), (MarkedOn::Crawl, typed.crawl), (MarkedOn::Gap, typed.gap)];
    let given: Vec<(MarkedOn, &str)> =
        given.into_iter().filter_map(|(what, text)| Some((what, text?))).collect();
    let (what, text) = match given.as_slice() {
        [one] => *one,
        [] => {
            let message = "the mark is missing: give what the sight reads, a crawl (24mm) or a gap (-300mm)";
            return Err(ModelError::new("missing_field", message).at("mark"));
        }
        [_, (second, _), ..] => {
            let message = "a mark is one of a sight reading, a crawl and a gap, and more than one was given: note each by \
                           itself";
            return Err(ModelError::new("too_many", message).at(second.word()));
        }
    };
    let (name, place) = match what {
        MarkedOn::Sight => ("sight_mark", "mark"),
        MarkedOn::Crawl => ("crawl_mm", "crawl"),
        MarkedOn::Gap => ("gap_mm", "gap"),
    };
    let (field, form) = kind::field("mark", name).expect("a mark has its readings");
    let value = kind::value(field, form, text).map_err(|e| e.at(place))?;
    let reading = value.as_f64().filter(|v| v.is_finite());
    let reading =
        reading.ok_or_else(|| ModelError::new("bad_quantity", format!("`{text}` is no number")).at(place))?;
    let mut record = Mark { what: Some(what.word().to_owned()), ..Mark::default() };
    match what {
        MarkedOn::Sight => record.sight_mark = Some(reading),
        MarkedOn::Crawl => record.crawl_mm = Some(reading),
        MarkedOn::Gap => record.gap_mm = Some(reading),
    }
    Ok((what, reading, record))
}

/// Reads the speed of an arrow, in ft/s where no unit stands beside it, and returns it in m/s.
///
/// # Errors
/// Those of a quantity, and `out_of_range` for what no bow does, at `speed`.
pub fn speed_m_s(typed: &str) -> Result<f64, ModelError> {
    let speed = FT_M * quantity(typed, "ft/s").map_err(|e| e.at("speed"))?;
    let [least, most] = SPEEDS_M_S;
    if (least..=most).contains(&speed) {
        return Ok(speed);
    }
    let message = format!(
        "`{}` is {} m/s, and an arrow's speed is from {least} to {most} m/s ({} to {} ft/s); check the number and its unit",
        typed.trim(),
        crate::verdict::decimal(speed, 1),
        libm::ceil(least / FT_M),
        libm::floor(most / FT_M)
    );
    Err(ModelError::new("out_of_range", message).at("speed"))
}

/// Returns a mark in words, as it is kept.
pub fn marked_words(what: MarkedOn, reading: f64) -> String {
    let number = crate::verdict::decimal(reading, 3);
    match what {
        MarkedOn::Sight => number,
        MarkedOn::Crawl => format!("crawl {number} mm"),
        MarkedOn::Gap => format!("gap {number} mm"),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_speed_is_read_in_feet_or_metres_a_second() {
        let near =
            |typed: &str, want: f64| assert!((speed_m_s(typed).unwrap() - want).abs() < 1e-9, "{typed}");
        near("190", 57.912);
        near("190 fps", 57.912);
        near("190ft/s", 57.912);
        near("57.912 m/s", 57.912);
        for (typed, words) in [
            ("900fps", "from 20 to 130 m/s (66 to 426 ft/s)"),
            ("57mm", "not given in ft/s"),
            ("19 m/s", "is 19 m/s"),
        ] {
            let told = speed_m_s(typed).unwrap_err();
            assert!(
                told.message.contains(words) && told.field.as_deref() == Some("speed"),
                "{}",
                told.message
            );
        }
    }

    #[test]
    fn one_of_the_three_is_read_in_its_unit() {
        let crawl = |text| marked(&TypedMark { crawl: Some(text), ..TypedMark::default() });
        let gap = |text| marked(&TypedMark { gap: Some(text), ..TypedMark::default() });
        let sight = |text| marked(&TypedMark { sight: Some(text), ..TypedMark::default() });
        assert_eq!(crawl("2.4cm").unwrap().2.crawl_mm, Some(24.0));
        assert_eq!(gap("-12in").unwrap().1, -304.8);
        assert_eq!(sight("4,2").unwrap().2.what.as_deref(), Some("sight"));
        for (told, words) in [
            (crawl("24cm"), "did you mean 24 mm?"),
            (crawl("-3mm"), "between 0 and 150 mm"),
            (sight("4.2mm"), "has a unit where none belongs"),
            (gap("300lbf"), "not given in mm"),
            (marked(&TypedMark::default()), "the mark is missing"),
            (marked(&TypedMark { sight: Some("3"), gap: Some("3"), crawl: None }), "more than one was given"),
        ] {
            let message = told.unwrap_err().message;
            assert!(message.contains(words), "{message}");
        }
    }
}
