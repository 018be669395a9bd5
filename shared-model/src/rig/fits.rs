//! What the trade starts from for an archer: risers by discipline, brace height, tiller, and the rule of the limbs in
//! words.
//!
//! # Formula
//! Tables; lengths as in [`fit`](crate::stats::fit).
//! # Units
//! Lengths of bow and riser in inches, brace height and tiller in mm; 1 in is 25.4 mm (NIST SP 811).
//! # Source
//! Risers of 15 to 25 in by discipline: common practice, no source. The 27 in riser, brace heights and tillers: from
//! memory; common practice, no source.
//! # Limits
//! Where to start from. What the makers of riser and limbs give comes first, and tuning decides within it.

use crate::{
    ModelError,
    kind::Hook,
    stats::fit::{LimbLength, NEAR_EDGE_IN, bow_length_in, limb_length, nearest_edge_in, string_length_in},
    verdict::decimal,
};

/// What is said without a source.
pub const PRACTICE: &str = "common practice, no source";
/// What is said without a source, and not even by the list of facts that the tests hold.
pub const FROM_MEMORY: &str = "from memory; common practice, no source";

/// A riser as the trade has it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TradeRiser {
    /// Its length in inches.
    pub riser_in: f64,
    /// What it is shot for, in the words of [`DISCIPLINES`](crate::kind::DISCIPLINES).
    pub disciplines: &'static [&'static str],
    /// Whose word that is.
    pub source: &'static str,
}

const fn riser(riser_in: f64, disciplines: &'static [&'static str], source: &'static str) -> TradeRiser {
    TradeRiser { riser_in, disciplines, source }
}

/// What short risers are shot for.
const SHORT: &[&str] = &["field", "3d", "hunting"];

/// The risers that the trade has, shortest first.
pub const RISERS: &[TradeRiser] = &[
    riser(15.0, SHORT, PRACTICE),
    riser(17.0, SHORT, PRACTICE),
    riser(19.0, SHORT, PRACTICE),
    riser(21.0, &["target"], PRACTICE),
    riser(23.0, &["target"], PRACTICE),
    riser(25.0, &["target"], PRACTICE),
    riser(27.0, &["target"], FROM_MEMORY),
];

/// Returns the risers of the trade, those of a discipline first; among them the shortest first.
pub fn risers(discipline: Option<&str>) -> Vec<&'static TradeRiser> {
    let mut all: Vec<&TradeRiser> = RISERS.iter().collect();
    all.sort_by_key(|riser| !discipline.is_some_and(|wanted| riser.disciplines.contains(&wanted)));
    all
}

/// What a riser makes with limbs of a length.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lengths {
    /// The limbs.
    pub limbs: LimbLength,
    /// The bow, in.
    pub bow_in: f64,
    /// The string to start from, in.
    pub string_in: f64,
}

/// Returns what a riser makes with short, medium and long limbs.
///
/// # Errors
/// `out_of_range` for what is no riser.
pub fn lengths(riser_in: f64) -> Result<Vec<Lengths>, ModelError> {
    let mut all = Vec::new();
    for limbs in [LimbLength::Short, LimbLength::Medium, LimbLength::Long] {
        let bow = bow_length_in(riser_in, limbs)?;
        all.extend(bow.map(|bow_in| Lengths { limbs, bow_in, string_in: string_length_in(bow_in) }));
    }
    Ok(all)
}

/// Brace heights to start from by bow length: inches, then mm.
const BRACE: &[(f64, [f64; 2])] = &[
    (56.0, [185.0, 200.0]),
    (58.0, [185.0, 205.0]),
    (60.0, [190.0, 205.0]),
    (62.0, [195.0, 210.0]),
    (64.0, [200.0, 215.0]),
    (66.0, [210.0, 220.0]),
    (68.0, [215.0, 225.0]),
    (70.0, [220.0, 230.0]),
    (72.0, [220.0, 235.0]),
];
/// The same of longbow limbs, whatever the length of the bow, mm.
const BRACE_LONGBOW: [f64; 2] = [165.0, 190.0];

/// Returns the brace heights to start from for a bow of a length, mm; nothing where the table does not reach.
pub fn brace_mm(bow_in: f64, longbow: bool) -> Option<[f64; 2]> {
    if longbow {
        return Some(BRACE_LONGBOW);
    }
    let off = |row: &&(f64, [f64; 2])| (row.0 - bow_in).abs();
    let nearest = BRACE.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    (off(&nearest) <= 1.0).then_some(nearest.1)
}

/// Returns the tiller to start from by the hook, mm: upper less lower.
pub fn tiller_mm(hook: Hook) -> [f64; 2] {
    match hook {
        Hook::SplitFinger => [3.0, 6.0],
        Hook::ThreeUnder => [-3.0, 0.0],
    }
}

/// Says which limbs the rule gives for a draw length, with its edges.
///
/// # Errors
/// `out_of_range` for a draw that no archer has.
pub fn rule_words(draw_in: f64) -> Result<String, ModelError> {
    let gap = "between 26 and 26.5 in it says nothing";
    let draw = decimal(draw_in, 2);
    let mut said = match limb_length(draw_in)? {
        LimbLength::Short => format!("{draw} in: short limbs, which the rule gives below 26 in; {gap}."),
        LimbLength::Medium => {
            format!("{draw} in: medium limbs, which the rule gives from 26.5 to 29.5 in; {gap}.")
        }
        LimbLength::Long => format!("{draw} in: long limbs, which the rule gives above 29.5 in."),
        LimbLength::Between => {
            return Ok(format!(
                "{draw} in: the rule says nothing between 26 and 26.5 in; below that it gives short limbs, above it \
                 medium ones: try both."
            ));
        }
    };
    let edge = nearest_edge_in(draw_in);
    let off = (draw_in - edge).abs();
    if off <= NEAR_EDGE_IN {
        let both = if edge > 29.0 { "medium and long" } else { "short and medium" };
        let place =
            if off < 0.005 { "on the edge".into() } else { format!("{} in from the edge", decimal(off, 2)) };
        said.push_str(&format!(" You are {place}: try both, {both}."));
    }
    Ok(said)
}

/// Says that two measures of one draw length contradict each other; nothing where they agree to a quarter of an inch.
pub fn contradiction(draw_length_in: f64, pivot_draw_in: f64) -> Option<String> {
    let by_pivot = pivot_draw_in + crate::stats::fit::BEYOND_PIVOT_IN;
    let apart = (by_pivot - draw_length_in).abs();
    (apart > NEAR_EDGE_IN + 1e-9).then(|| {
        format!(
            "The draw length of {} in and the {} in to the pivot point, which make {} in, are {} in apart: measure \
             both again. {} in is used here.",
            decimal(draw_length_in, 2),
            decimal(pivot_draw_in, 2),
            decimal(by_pivot, 2),
            decimal(apart, 2),
            decimal(draw_length_in, 2)
        )
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn the_rule_says_its_edges() {
        for (draw, says) in [
            (
                25.0,
                "25 in: short limbs, which the rule gives below 26 in; between 26 and 26.5 in it says nothing.",
            ),
            (26.2, "try both"),
            (26.5, "You are on the edge: try both, short and medium."),
            (26.7, "You are 0.2 in from the edge: try both, short and medium."),
            (29.3, "You are 0.2 in from the edge: try both, medium and long."),
            (31.0, "31 in: long limbs, which the rule gives above 29.5 in."),
        ] {
            let said = rule_words(draw).unwrap();
            assert!(said.contains(says), "{said}");
        }
        assert!(!rule_words(28.0).unwrap().contains("edge"));
        assert!(rule_words(-28.0).is_err() && rule_words(f64::NAN).is_err());
    }

    #[test]
    fn the_discipline_says_which_risers_come_first() {
        let of = |discipline| risers(discipline).iter().map(|r| r.riser_in).collect::<Vec<f64>>();
        assert_eq!(of(Some("target")), [21.0, 23.0, 25.0, 27.0, 15.0, 17.0, 19.0]);
        assert_eq!(of(Some("3d")), [15.0, 17.0, 19.0, 21.0, 23.0, 25.0, 27.0]);
        assert_eq!(of(None), of(Some("hunting")));
    }

    #[test]
    fn brace_heights_rise_with_the_bow_and_the_table_ends() {
        for pair in BRACE.windows(2) {
            assert!(pair[0].0 < pair[1].0 && pair[0].1[0] <= pair[1].1[0] && pair[0].1[1] <= pair[1].1[1]);
        }
        assert_eq!(brace_mm(68.0, false), Some([215.0, 225.0]));
        assert_eq!(brace_mm(67.0, false), Some([210.0, 220.0]));
        assert_eq!(
            (brace_mm(50.0, false), brace_mm(80.0, false), brace_mm(f64::NAN, false)),
            (None, None, None)
        );
        assert_eq!(brace_mm(58.0, true), Some([165.0, 190.0]));
    }

    #[test]
    fn two_measures_of_a_draw_that_contradict_each_other_are_told() {
        assert_eq!(contradiction(28.0, 26.25), None);
        assert_eq!(contradiction(28.0, 26.5), None);
        let told = contradiction(28.0, 26.75).unwrap();
        assert!(told.contains("which make 28.5 in, are 0.5 in apart"), "{told}");
    }
}
