//! Rounds of the rule book, and rounds of one's own in words.
//!
//! Source of the published ones: World Archery rule book, Book 2, article 4.5, from memory.

use super::Face;
use crate::{ModelError, kind::DISTANCES_M, notation::distance_m, stats::expected_round::Part};

/// A published round: code, name, and its parts as arrows, distance, face and arrows an end.
type Published = (&'static str, &'static str, &'static [(usize, f64, &'static str, usize)]);

#[rustfmt::skip]
const ROUNDS: &[Published] = &[
    ("wa_70m", "70 m round", &[(72, 70.0, "wa_122", 6)]),
    ("wa_50m", "50 m round, compound", &[(72, 50.0, "wa_80_6ring", 6)]),
    ("wa_25m", "25 m round, indoor", &[(60, 25.0, "wa_60", 3)]),
    ("wa_18m", "18 m round, indoor", &[(60, 18.0, "wa_40", 3)]),
    ("wa_1440_men", "1440 round, men", &[
        (36, 90.0, "wa_122", 6), (36, 70.0, "wa_122", 6), (36, 50.0, "wa_80", 3), (36, 30.0, "wa_80", 3),
    ]),
];

/// Returns the published rounds: code and name.
pub fn rounds() -> impl Iterator<Item = (&'static str, &'static str)> {
    ROUNDS.iter().map(|(code, name, _)| (*code, *name))
}

/// Returns the parts of a published round.
///
/// # Errors
/// `unknown_round`, naming all.
pub fn round(code: &str) -> Result<Vec<Part>, ModelError> {
    let Some((_, _, parts)) = ROUNDS.iter().find(|(known, _, _)| known.eq_ignore_ascii_case(code.trim()))
    else {
        let all: Vec<&str> = rounds().map(|(code, _)| code).collect();
        let message = format!(
            "there is no round `{code}`; there are {}. Write one of your own as 36@50m:wa_80",
            all.join(", ")
        );
        return Err(ModelError::new("unknown_round", message).at("round"));
    };
    let part = |(arrows, distance_m, face, arrows_per_end): &(usize, f64, &str, usize)| {
        let face = Face::by_code(face)?;
        Ok(Part { face, distance_m: *distance_m, arrows: *arrows, arrows_per_end: *arrows_per_end })
    };
    parts.iter().map(part).collect()
}

/// Reads a part of a round of one's own: `36@50m:wa_80`, arrows at a distance on a face, six an end, or
/// `36x3@50m:wa_80` for three an end.
///
/// # Errors
/// `bad_round` with what it should look like; those of the distance and the face.
pub fn part(text: &str) -> Result<Part, ModelError> {
    let bad = || {
        let message = format!(
            "`{text}` is no part of a round; write arrows, distance and face like 36@50m:wa_80, or 36x3@50m:wa_80 \
             for ends of three"
        );
        ModelError::new("bad_round", message).at("round")
    };
    let (arrows, rest) = text.split_once('@').ok_or_else(bad)?;
    let (distance, face) = rest.split_once(':').ok_or_else(bad)?;
    let (arrows, an_end) = arrows.split_once('x').unwrap_or((arrows, "6"));
    let count = |n: &str| n.trim().parse::<usize>().ok().filter(|n| (1..=1000).contains(n)).ok_or_else(bad);
    let distance_m = distance_m(distance.trim())?;
    if !DISTANCES_M.contains(&distance_m) {
        let [least, most] = [DISTANCES_M.start(), DISTANCES_M.end()];
        let message =
            format!("`{text}` is no part of a round: its distance is not between {least} m and {most} m");
        return Err(ModelError::new("out_of_range", message).at("round"));
    }
    Ok(Part {
        face: Face::by_code(face.trim())?,
        distance_m,
        arrows: count(arrows)?,
        arrows_per_end: count(an_end)?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_rounds_have_the_most_points_of_the_rule_book() {
        // World Archery Book 2, 4.5, from memory: 720, 720, 600, 600, 1440.
        let most = |code: &str| -> u32 {
            let parts = round(code).expect("a round");
            parts.iter().map(|p| p.face.zones()[0].points * p.arrows as u32).sum()
        };
        let all: Vec<u32> = rounds().map(|(code, _)| most(code)).collect();
        assert_eq!(all, [720, 720, 600, 600, 1440]);
        assert_eq!(round("WA_18m").expect("a round").len(), 1);
        assert!(round("wa_900m").expect_err("none").message.contains("wa_1440_men"));
    }

    #[test]
    fn a_round_of_ones_own_is_read_and_a_slip_is_told() {
        let part = part("36x3@20yd:wa_40").expect("a part");
        assert_eq!((part.arrows, part.arrows_per_end, part.distance_m), (36, 3, 18.288));
        for bad in
            ["", "36", "36@50m", "x@50m:wa_80", "0@50m:wa_80", "36@0m:wa_80", "36@401m:wa_80", "36@50m:none"]
        {
            assert!(super::part(bad).is_err(), "{bad}");
        }
    }
}
