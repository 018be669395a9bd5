//! Parts that do not go together: limbs that do not sit true, a string for another bow, arrows too short or out of use.

use super::{
    Facts, Finding, PRACTICE, STRING_SAME_IN, STRING_STOP_IN, Severity, below,
    judge::{apart, finding, of},
};
use crate::stats::fit::{BEYOND_PIVOT_IN, STANDARD};

pub(super) fn all(facts: &Facts) -> Vec<Finding> {
    let found = [pair(facts), string(facts), short(facts)];
    found.into_iter().flatten().chain(out(facts)).collect()
}

fn pair(facts: &Facts) -> Option<Finding> {
    let (code, words) = match facts.fit.as_deref()? {
        "loose" => ("pair_loose", "The limbs sit loose in the pockets of this riser, as the pair was noted."),
        "tight" => (
            "pair_tight",
            "The limbs sit tight in the pockets of this riser and may not be fully seated, as the pair was noted.",
        ),
        _ => return None,
    };
    Some(finding(code, "limbs", [1.0, 0.0], "pairs", PRACTICE, words.into()))
}

fn string(facts: &Facts) -> Option<Finding> {
    let (of_in, bow_in) = (facts.string_for_in?, facts.bow_length_in?);
    let off = (of_in - bow_in).abs();
    if off <= STRING_SAME_IN {
        return None;
    }
    let [is, _, makes] = apart(of_in, bow_in, "in");
    let words = format!(
        "The string is for a bow of {is}, and riser and limbs make one of {makes} by the rule ({PRACTICE}): measure it \
         before the bow is strung."
    );
    let one = finding("string_other", "string", [of_in, bow_in], "in", PRACTICE, words);
    let severity = if off > STRING_STOP_IN { Severity::Stop } else { Severity::Look };
    Some(Finding { severity, ..one })
}

fn short(facts: &Facts) -> Option<Finding> {
    let (length, draw) = (facts.arrow_length_in?, facts.draw_length_in?);
    let least = below(length, Some(draw - BEYOND_PIVOT_IN))?;
    let who = facts.drawer.as_ref().or(facts.archer.as_ref());
    let whose = who.map_or_else(|| "a draw".to_owned(), |name| format!("{name}'s draw"));
    let words = format!(
        "An arrow of {} is too short for {whose} of {}: its point would come behind the grip.",
        of(length, "in"),
        of(draw, "in")
    );
    Some(finding("arrow_short", "arrows", [length, least], "in", STANDARD, words))
}

fn out(facts: &Facts) -> impl Iterator<Item = Finding> + '_ {
    facts.out_shot.iter().map(|(number, why)| {
        let why = why.as_ref().map_or_else(String::new, |why| format!(": {why}"));
        let words = format!("Arrow {number} was shot, and is noted as out of use{why}.");
        finding("shaft_out", "arrows", [f64::from(*number), 0.0], "arrow", "the records", words)
    })
}
