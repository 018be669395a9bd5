//! Why a combination stands where it does, in words.

use super::{Combination, Limits, Own, OwnString, Sits, apart};
use crate::{
    rig::{
        fits::PRACTICE,
        limits::{above, below, decimals_apart},
    },
    stats::fit::{LimbLength, STANDARD, Suits, string_length_in},
    verdict::{Units, decimal, list},
};

/// Whose word a limit is.
const MAKERS: &str = "the maker's limit, as it was noted";
/// Whose word a measurement is.
const RECORDS: &str = "the records";

/// A reason, and whose word it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// The reason in words.
    pub words: String,
    /// Whose word that is.
    pub source: &'static str,
}

fn reason(words: String, source: &'static str) -> Reason {
    Reason { words, source }
}

/// Returns what a combination is called: `elm with long 36, a 70 in bow`.
pub fn title(own: &Own, made: &Combination) -> String {
    let bow = made.bow_in.map_or_else(String::new, |bow| format!(", a {} in bow", decimal(bow, 2)));
    format!("{} with {}{bow}", own.risers[made.riser].name, own.limbs[made.limbs].name)
}

/// Returns the reasons in the order in which they count.
pub(super) fn reasons(own: &Own, made: &Combination) -> Vec<Reason> {
    let mut said = limits(own, made);
    said.extend(class(own, made));
    said.push(strings(own, made));
    said.push(pair(made));
    said.extend(made.of_discipline.map(|fits| {
        let noted = own.risers[made.riser].discipline.as_deref().unwrap_or_default();
        let words = if fits { format!("a bow for {noted}") } else { format!("noted as a bow for {noted}") };
        reason(words, RECORDS)
    }));
    said.push(weight(own, made));
    said
}

/// Says what a maker's limit has to say: passed, in reach, or that none is noted.
fn limits(own: &Own, made: &Combination) -> Vec<Reason> {
    let (riser, limbs) = (&own.risers[made.riser], &own.limbs[made.limbs]);
    let mut said = Vec::new();
    for (whose, limit) in [(&riser.name, &riser.limits), (&limbs.name, &limbs.limits)] {
        let draw = own.draw_in.and_then(|draw| Some((draw, above(draw, limit.most_draw_in)?)));
        if let Some((draw, most)) = draw {
            let decimals = decimals_apart(draw, most, 2);
            let [draw, most] = [draw, most].map(|inches| decimal(inches, decimals));
            said.push(format!(
                "a draw of {draw} in is longer than the {most} in that the maker of {whose} allows"
            ));
        }
        said.extend(made.weight_lbf.and_then(|range| of_weight(range, whose, limit)));
    }
    said.extend(apart([limbs.limits, riser.limits]).map(|ends| {
        let of = [(&limbs.name, limbs.limits), (&riser.name, riser.limits)];
        let whose = |end: usize| of.iter().find(|(_, limits)| limits.brace_mm[end] == Some(ends[end]));
        let told = |mm: f64| match own.units {
            Units::Metric => format!("{} mm", decimal(mm, 1)),
            Units::Imperial => format!("{} in", decimal(mm / 25.4, 2)),
        };
        let [least, most] =
            [0, 1].map(|end| (whose(end).map_or("", |(name, _)| name.as_str()), told(ends[end])));
        format!(
            "no brace height keeps both makers' limits: the maker of {} asks for {} at least, the maker \
             of {} allows {} at most",
            least.0, least.1, most.0, most.1
        )
    }));
    if !said.is_empty() {
        return said.into_iter().map(|words| reason(words, MAKERS)).collect();
    }
    let none = |limit: &Limits| limit.least_weight_lbf.is_none() && limit.most_weight_lbf.is_none();
    let (words, source) = match (made.weight_lbf, none(&riser.limits), none(&limbs.limits)) {
        (_, true, true) => ("no maker's limit of weight is noted: look it up", RECORDS),
        (None, ..) => ("whether the makers' limits are kept cannot be said without the weight", RECORDS),
        _ => ("within the makers' limits that are noted", MAKERS),
    };
    vec![reason(words.into(), source)]
}

fn of_weight([low, high]: [f64; 2], whose: &str, limit: &Limits) -> Option<String> {
    let told = |end: f64, limit: f64| {
        let decimals = decimals_apart(end, limit, 1);
        (between([low, high], decimals), decimal(limit, decimals))
    };
    if let Some(most) = above(high, limit.most_weight_lbf) {
        let can = if above(low, Some(most)).is_some() { "is" } else { "can be" };
        let (range, most) = told(high, most);
        return Some(format!("{range} {can} more than the {most} lbf that the maker of {whose} allows"));
    }
    let least = below(low, limit.least_weight_lbf)?;
    let can = if below(high, Some(least)).is_some() { "is" } else { "can be" };
    let (range, least) = told(low, least);
    Some(format!("{range} {can} less than the {least} lbf that the maker of {whose} makes it for"))
}

fn class(own: &Own, made: &Combination) -> Option<Reason> {
    let Some(word) = own.limbs[made.limbs].limb_length.map(LimbLength::word) else {
        return Some(reason("the length class of the limbs is not noted".into(), RECORDS));
    };
    let Some(draw) = own.draw_in.map(|draw| decimal(draw, 2)) else {
        return Some(reason(format!("{word} limbs; the draw length is not noted"), RECORDS));
    };
    Some(match made.suits {
        Suits::Suits => {
            reason(format!("{word} limbs are those of the rule for a draw of {draw} in"), PRACTICE)
        }
        Suits::NearEdge => reason(
            format!("{word} limbs: a draw of {draw} in is near the edge of the rule, try them"),
            PRACTICE,
        ),
        _ => reason(format!("{word} limbs are not those of the rule for a draw of {draw} in"), PRACTICE),
    })
}

fn strings(own: &Own, made: &Combination) -> Reason {
    let names: Vec<String> = made.strings.iter().map(|i| string(&own.strings[*i], own, made)).collect();
    let Some(bow) = made.bow_in else {
        return reason("which string it takes follows from the limb length".into(), RECORDS);
    };
    let length = decimal(string_length_in(bow), 2);
    if names.is_empty() {
        return reason(
            format!("no string of yours is noted for it: start from {length} in, measured braced"),
            STANDARD,
        );
    }
    let elsewhere = made.strings.iter().all(|i| elsewhere(&own.strings[*i], own, made).is_some());
    let head = if elsewhere { "string for it" } else { "string at hand" };
    reason(format!("{head}: {}; to start from, {length} in measured braced", list(&names)), STANDARD)
}

/// Returns the other bow that a string is on.
fn elsewhere<'a>(string: &'a OwnString, own: &Own, made: &Combination) -> Option<&'a str> {
    string.on.as_deref().filter(|bow| *bow != own.risers[made.riser].name)
}

fn string(string: &OwnString, own: &Own, made: &Combination) -> String {
    match elsewhere(string, own, made) {
        Some(bow) => format!("{} (on {bow} now)", string.name),
        None => string.name.clone(),
    }
}

fn pair(made: &Combination) -> Reason {
    let words = match made.pair {
        Some(Sits::True) if made.pair_beyond => {
            "noted as true, but with limb bolts beyond what a maker allows, so that does not count: set them within the \
             limits and measure the pair again"
        }
        Some(Sits::True) => "measured as a pair: the limbs sit true",
        Some(Sits::Tight) => "measured as a pair: the limbs sit tight in the pockets",
        Some(Sits::Loose) => "measured as a pair: the limbs sit loose in the pockets",
        None => "not measured as a pair yet: limbs and pockets vary between makers",
    };
    reason(words.into(), RECORDS)
}

fn weight(own: &Own, made: &Combination) -> Reason {
    let limbs = &own.limbs[made.limbs];
    let Some(range) = made.weight_lbf else {
        let why = match (limbs.marked_weight_lbf, own.draw_in) {
            (None, _) => "no weight is noted as marked on the limbs",
            (_, None) => "the weight follows once the draw length is noted",
            _ => {
                "the rule of the weight does not reach this draw, this riser or what the limbs were marked at"
            }
        };
        return reason(why.into(), PRACTICE);
    };
    let (told, source) =
        if made.weight_measured { ("as it was measured", RECORDS) } else { ("to be expected", PRACTICE) };
    let mut words = format!("{} on the fingers {told}", between(range, 1));
    if let Some((off, wanted)) = made.off_wanted_lbf.zip(own.wanted_lbf) {
        let [off, wanted] = [off, wanted].map(|lbf| decimal(lbf, 1));
        let which = if made.weight_measured { "" } else { "its middle " };
        words.push_str(&format!(", {which}{off} lbf from the {wanted} lbf wanted"));
    }
    reason(words, source)
}

/// Returns a range of weights in words; one figure where both ends are alike.
fn between([low, high]: [f64; 2], decimals: usize) -> String {
    let [low, high] = [low, high].map(|lbf| decimal(lbf, decimals));
    if low == high { format!("{low} lbf") } else { format!("{low} to {high} lbf") }
}
