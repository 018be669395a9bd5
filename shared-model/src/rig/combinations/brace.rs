//! The brace heights to start from: those of the trade as far as the makers of riser, limbs and string allow them.
//!
//! # Formula
//! The overlap of the table of the trade and the makers' limits; where they do not meet, the makers' end nearest to the
//! table. A range that makers allow is none to start from by itself.
//! # Source
//! The table: from memory; common practice, no source. The limits are the makers'.

use super::Limits;
use crate::{
    rig::fits::{FROM_MEMORY, brace_mm},
    verdict::{Units, decimal},
};

/// Whose word a start within the makers' limits is.
const BOTH: &str = "from memory, common practice, no source; the limits are the makers', as they were noted";
/// Whose word a limit is.
const MAKERS: &str = "the maker's limit, as it was noted";

/// Where to start from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Brace {
    /// The brace heights to start from, mm.
    pub start_mm: Option<[f64; 2]>,
    /// What the table of the trade gives.
    table: Option<[f64; 2]>,
    /// What the makers allow.
    makers: [Option<f64>; 2],
    /// Whether a string that is at hand is among the makers' parts.
    string: bool,
}

/// Returns the least and the most that all of some makers allow.
pub(super) fn by_makers<'a>(limits: impl Iterator<Item = &'a Limits> + Clone) -> [Option<f64>; 2] {
    let ends = |end: usize| limits.clone().filter_map(move |limit| limit.brace_mm[end]);
    [ends(0).reduce(f64::max), ends(1).reduce(f64::min)]
}

impl Brace {
    /// Finds where to start from; of the strings at hand the first counts whose limits can be kept beside those of the others.
    pub(super) fn of(parts: [Limits; 2], strings: &[Limits], bow_in: Option<f64>, longbow: bool) -> Self {
        let table = bow_in.and_then(|bow| brace_mm(bow, longbow));
        let kept = |ends: &[Option<f64>; 2]| !matches!(ends, [Some(least), Some(most)] if least > most);
        let with = |string: &Limits| by_makers(parts.iter().chain([string]));
        let ends = strings.iter().map(with).find(kept);
        let makers = ends.or_else(|| strings.first().map(with)).unwrap_or_else(|| by_makers(parts.iter()));
        let string = makers != by_makers(parts.iter());
        Self { start_mm: start(table, makers), table, makers, string }
    }

    /// Says where to start from, and whose word that is; nothing where neither table nor maker says anything.
    pub fn said(&self, units: Units) -> Option<(String, &'static str)> {
        let at = |mm: f64| between([mm, mm], units);
        let allowed = match self.makers {
            [None, None] => {
                let words = |range| format!("brace height to start from: {}", between(range, units));
                return self.table.map(|range| (words(range), FROM_MEMORY));
            }
            [Some(least), Some(most)] if least > most => {
                let words = "brace height: none keeps the makers' limits and those of the string at hand: take another string";
                return self.string.then(|| (words.into(), MAKERS));
            }
            [Some(least), Some(most)] => between([least, most], units),
            [Some(least), None] => format!("{} at least", at(least)),
            [None, Some(most)] => format!("{} at most", at(most)),
        };
        Some(self.within(&allowed, units))
    }

    /// Says where to start from within what the makers allow.
    fn within(&self, allowed: &str, units: Units) -> (String, &'static str) {
        let words = match (self.start_mm, self.table) {
            (Some(range), Some(_)) if self.meets() => {
                let range = between(range, units);
                format!("brace height: start from {range}, within the makers' limits ({allowed})")
            }
            (Some([end, _]), Some(table)) => format!(
                "brace height: the makers' limits ({allowed}) lie off the table of the trade ({}): start from {}, the \
                 makers' end nearest to it",
                between(table, units),
                between([end, end], units)
            ),
            _ => {
                let words =
                    format!("brace height: the makers allow {allowed}; where in that to start is not known");
                return (words, MAKERS);
            }
        };
        (words, BOTH)
    }

    /// Returns whether table and makers' limits meet.
    fn meets(&self) -> bool {
        self.table.is_some_and(|table| overlap(table, self.makers).is_some())
    }
}

/// Returns a range in words; one figure where both ends are alike.
fn between(range: [f64; 2], units: Units) -> String {
    let decimals = if units == Units::Metric { 0 } else { 2 };
    let [a, b] = range.map(|mm| decimal(units.reading(mm), decimals));
    if a == b { format!("{a} {}", units.unit()) } else { format!("{a} to {b} {}", units.unit()) }
}

fn overlap([low, high]: [f64; 2], [least, most]: [Option<f64>; 2]) -> Option<[f64; 2]> {
    let both = [least.map_or(low, |least| least.max(low)), most.map_or(high, |most| most.min(high))];
    (both[0] <= both[1]).then_some(both)
}

fn start(table: Option<[f64; 2]>, makers: [Option<f64>; 2]) -> Option<[f64; 2]> {
    let table = table?;
    if let [Some(least), Some(most)] = makers
        && least > most
    {
        return None;
    }
    overlap(table, makers).or_else(|| {
        let above = makers[0].filter(|least| *least > table[1]);
        above.or(makers[1]).map(|end| [end, end])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(least: Option<f64>, most: Option<f64>) -> Limits {
        Limits { brace_mm: [least, most], ..Limits::default() }
    }

    /// For a bow of 68 in the table gives 215 to 225 mm.
    fn found(parts: [Limits; 2], strings: &[Limits]) -> Brace {
        Brace::of(parts, strings, Some(68.0), false)
    }

    #[test]
    fn what_the_trade_starts_from_counts_as_far_as_the_makers_allow_it() {
        let none = Limits::default();
        let told =
            |brace: Brace| (brace.start_mm, brace.said(Units::Metric).map(|said| said.0).unwrap_or_default());
        assert_eq!(
            told(found([none, none], &[])),
            (Some([215.0, 225.0]), "brace height to start from: 215 to 225 mm".into())
        );
        assert_eq!(
            told(found([of(Some(210.0), Some(230.0)), none], &[])),
            (
                Some([215.0, 225.0]),
                "brace height: start from 215 to 225 mm, within the makers' limits (210 to 230 mm)".into()
            )
        );
        assert_eq!(found([of(Some(220.0), None), of(None, Some(224.0))], &[]).start_mm, Some([220.0, 224.0]));
        // The limits of the string at hand belong to it; of two the one that can be kept counts.
        let (short, long) = (of(None, Some(218.0)), of(Some(240.0), None));
        assert_eq!(found([of(Some(210.0), Some(230.0)), none], &[short]).start_mm, Some([215.0, 218.0]));
        assert_eq!(
            found([of(Some(210.0), Some(230.0)), none], &[long, short]).start_mm,
            Some([215.0, 218.0])
        );
        let (start, words) = told(found([of(Some(210.0), Some(230.0)), none], &[long]));
        assert!(start.is_none() && words.ends_with("take another string"), "{words}");
    }

    #[test]
    fn makers_limits_off_the_table_are_started_from_at_their_nearest_end() {
        let none = Limits::default();
        let high = found([of(Some(230.0), Some(245.0)), none], &[]);
        assert_eq!(high.start_mm, Some([230.0, 230.0]));
        assert_eq!(
            high.said(Units::Metric).map(|said| said.0).unwrap_or_default(),
            "brace height: the makers' limits (230 to 245 mm) lie off the table of the trade (215 to 225 mm): start from 230 \
             mm, the makers' end nearest to it"
        );
        assert_eq!(found([of(Some(180.0), Some(200.0)), none], &[]).start_mm, Some([200.0, 200.0]));
        let unknown = Brace::of([of(Some(210.0), None), none], &[], None, false);
        let words = unknown.said(Units::Imperial).map(|said| said.0).unwrap_or_default();
        assert!(unknown.start_mm.is_none() && words.contains("allow 8.27 in at least"), "{words}");
        let apart = found([of(Some(220.0), None), of(None, Some(210.0))], &[]);
        assert_eq!((apart.start_mm, apart.said(Units::Metric)), (None, None));
    }
}
