//! What the numbers of an arrow set tell, in sentences.

use super::{
    sentence::beside,
    units::{Units, count},
};
use crate::stats::numbered_arrows::{Apart, Numbered, NumberedArrows};

/// Returns a sentence on the set, and one on each arrow that is apart or suspect.
pub fn numbered_sentences(told: &NumberedArrows, units: Units) -> Vec<String> {
    let apart = told.arrows.iter().filter(|a| a.verdict == Apart::Apart).count();
    let judged = format!("{} judged", count(told.judged, "numbered arrow"));
    let over = count(told.ends, "end");
    let first = match (told.judged, apart) {
        (0, _) => format!(
            "No numbered arrow can be judged yet (of {}): each needs four ends with two others in them.",
            told.arrows.len()
        ),
        (_, 0) => format!("No arrow is shown to land apart from its set ({judged} over {over})."),
        (_, 1) => format!("One arrow keeps landing apart from its set ({judged} over {over})."),
        (_, n) => format!("{n} arrows keep landing apart from their set ({judged} over {over})."),
    };
    std::iter::once(first)
        .chain(told.arrows.iter().filter_map(|arrow| on_arrow(arrow, told, units)))
        .collect()
}

fn on_arrow(arrow: &Numbered, told: &NumberedArrows, units: Units) -> Option<String> {
    let place = beside(arrow.offset_mm?, units);
    let (number, at, n) = (&arrow.number, units.distance(told.distance_m), count(arrow.n, "end"));
    match (arrow.verdict, arrow.suspect) {
        (Apart::Apart, _) => Some(format!(
            "Arrow {number} lands {place} of the others at {at}, over {n}: look at its nock, fletching, point and \
             straightness, or leave it out."
        )),
        (Apart::NotShown, true) => {
            let more = match arrow.more_ends {
                Some(more) => {
                    format!("about {} with it would settle it if it goes on so", count(more, "more end"))
                }
                None => "no number of ends worth shooting would settle it".to_owned(),
            };
            Some(format!(
                "Arrow {number} is a suspect, no more ({place} of the others at {at} so far, over {n}): {more}."
            ))
        }
        (Apart::NotShown, false) => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(arrows: Vec<Numbered>) -> NumberedArrows {
        let judged = arrows.len();
        NumberedArrows { distance_m: 30.0, ends: 14, flyers: 0, bare: 0, judged, arrows }
    }

    fn arrow(number: &str, offset_mm: [f64; 2]) -> Numbered {
        Numbered { number: number.into(), n: 12, offset_mm: Some(offset_mm), ..Numbered::default() }
    }

    #[test]
    fn an_arrow_apart_a_suspect_and_a_good_one() {
        let apart = Numbered { verdict: Apart::Apart, ..arrow("7", [21.4, -14.0]) };
        let suspect = Numbered { suspect: true, more_ends: Some(6), ..arrow("4", [-9.04, 12.0]) };
        let said = numbered_sentences(&told(vec![apart, suspect, arrow("1", [1.0, 1.0])]), Units::Metric);
        assert_eq!(said.len(), 3);
        assert_eq!(
            said[0],
            "One arrow keeps landing apart from its set (3 numbered arrows judged over 14 ends)."
        );
        assert!(
            said[1]
                .starts_with("Arrow 7 lands 21 mm right and 14 mm low of the others at 30 m, over 12 ends:")
        );
        assert!(
            said[2].contains("a suspect, no more (9 mm left and 12 mm high of the others at 30 m so far")
        );
        assert!(said[2].contains("about 6 more ends with it would settle it"));
    }

    #[test]
    fn nothing_found_is_said_as_not_shown() {
        let said = numbered_sentences(&told(vec![arrow("1", [1.0, 1.0])]), Units::Metric);
        assert_eq!(
            said,
            ["No arrow is shown to land apart from its set (1 numbered arrow judged over 14 ends)."]
        );
    }
}
