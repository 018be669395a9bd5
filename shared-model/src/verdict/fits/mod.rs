//! Does it fit: what follows from an archer's draw, hook and discipline, and what one's own risers and limbs make of it.

mod own;

use super::{
    Said,
    bow::names,
    part_words::hook_words,
    units::{Units, trimmed},
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Kind as _, Person},
    named::name_of,
    replica::Store,
    rig::{
        caution,
        combinations::{Combination, Sits, combinations, title},
        fits::{FROM_MEMORY, PRACTICE, brace_mm, contradiction, lengths, risers, rule_words, tiller_mm},
    },
    stats::fit::{BEYOND_PIVOT_IN, LimbLength, STANDARD, Suits, limb_length},
};
use own::{Found, found};
use serde::Serialize;

/// What is asked for beside what the records say of the archer.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct FitsAsked {
    /// What is to be shot: one of [`DISCIPLINES`](crate::kind::DISCIPLINES).
    pub discipline: Option<String>,
    /// The weight on the fingers that is wanted, lbf.
    pub weight_lbf: Option<f64>,
    /// A draw length in place of the one noted, in.
    pub draw_in: Option<f64>,
}

/// What fits an archer.
#[derive(Debug, Clone, Serialize)]
pub struct Fits {
    /// The archer.
    pub person: ThingId,
    /// The archer's name.
    pub name: String,
    /// The draw length that it is for, in; none where none is noted.
    pub draw_length_in: Option<f64>,
    /// What is to be shot.
    pub discipline: Option<String>,
    /// What follows from draw length and hook.
    pub said: Vec<Said>,
    /// The risers of the trade with the bows that they make, those of the discipline first.
    pub risers: Vec<RiserRow>,
    /// What one's own risers and limbs make, best first.
    pub combinations: Vec<CombinationRow>,
    /// In which order these stand.
    pub order: &'static str,
    /// What the table of risers shows.
    pub risers_words: &'static str,
    /// Whose word strings and brace heights are.
    pub risers_source: String,
    /// What the records lack for more to follow.
    pub wanted: Vec<String>,
    /// Every caution that stands beside something above, and whose word comes first.
    pub cautions: Vec<&'static str>,
}

/// A riser of the trade.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RiserRow {
    /// Its length, in.
    pub riser_in: f64,
    /// What it is shot for.
    pub used_for: String,
    /// Whether that is what is to be shot.
    pub of_discipline: bool,
    /// The bows that it makes, by limb length.
    pub bows: Vec<LengthCell>,
    /// Whose word that is.
    pub source: &'static str,
}

/// The bow that a riser makes with limbs of a length.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LengthCell {
    /// The limbs: short, medium or long.
    pub limb_length: &'static str,
    /// Whether the rule gives these limbs for the archer's draw.
    pub suits: bool,
    /// The bow, in.
    pub bow_length_in: f64,
    /// The string to start from, measured braced, in.
    pub string_length_in: f64,
    /// The brace heights to start from, in words; none where the table does not reach.
    pub brace: Option<String>,
}

/// One's own riser with one's own limbs.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CombinationRow {
    /// Its place, from 1.
    pub rank: usize,
    /// What it is: `elm with long 36, a 70 in bow`.
    pub title: String,
    /// The bow whose riser it is; none of a riser that is on no bow.
    pub bow: Option<ThingId>,
    /// The riser, where it is a part of the records.
    pub riser: Option<ThingId>,
    /// Its length, in.
    pub riser_in: f64,
    /// The limbs.
    pub limbs: ThingId,
    /// The length of the bow, in.
    pub bow_length_in: Option<f64>,
    /// The weight on the fingers to be expected, least and most, lbf; both ends alike where it was measured.
    pub weight_lbf: Option<[f64; 2]>,
    /// Whether that was measured: by a draw curve of the bow as it is.
    pub weight_measured: bool,
    /// Whether the makers' limits are kept: kept, `may_pass` or passed.
    pub limits: &'static str,
    /// Why it is not to be shot: limbs that were found loose or tight; none of the others.
    pub do_not_shoot: Option<&'static str>,
    /// Whether the limbs are on that bow now.
    pub on_now: bool,
    /// Why it stands where it does, each with its source.
    pub reasons: Vec<Said>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
}

/// In which order combinations stand.
const ORDER: &str = "In this order: makers' limits kept, limbs that suit the draw, a string at hand, a pair found true, a \
                     riser for what is shot, nearest to the weight wanted; pairs found loose or tight, which are not to be \
                     shot, come last.";

/// What is said where no limbs at hand are those for the draw.
const NONE_SUITS: &str = "None of the limbs at hand are those of the rule for this draw: what stands first below is the best of what \
                          does not fit. A bow that is short for a draw stacks and can be overdrawn: ask a qualified coach \
                          before it is shot.";

/// What the table of risers shows.
const RISERS: &str = "With short, medium and long limbs: the bow, the string to start from (measured braced), the brace \
                      heights to start from. \u{2713} suits the draw.";

/// Returns what fits an archer.
///
/// # Errors
/// Those of the store, `unknown_thing`, and `out_of_range` for a draw that no archer has.
pub fn fits<S: Store>(store: &S, person: ThingId, asked: &FitsAsked, units: Units) -> Result<Fits, S::Error> {
    let Some(thing) = store.thing(Person::NAME, person)? else {
        let message = format!("there is no person {} in the records of this device", person.short());
        return Err(ModelError::new("unknown_thing", message).at("person").into());
    };
    let record = kind::read::<Person>(&thing)?;
    let name = name_of(&names(store)?, person);
    let mut said = Vec::new();
    let mut wanted = Vec::new();
    let draw = draw(&name, &record, asked, &mut said, &mut wanted);
    match draw {
        Some(draw) => said.push(told(rule_words(draw)?, PRACTICE)),
        None => wanted.push(format!("{name}'s draw length, for limbs and weight")),
    }
    said.push(tiller(&name, record.hook, units, &mut wanted));
    let mut found = found(store, draw, asked, &mut wanted)?;
    found.own.units = units;
    let combined = combinations(&found.own);
    said.extend(draw.filter(|_| none_suits(&combined)).map(|_| told(NONE_SUITS.into(), PRACTICE)));
    let rows: Vec<CombinationRow> =
        combined.iter().enumerate().map(|(i, made)| combination_row(&found, made, i + 1, units)).collect();
    let cautions =
        caution::once(rows.iter().flat_map(|row| row.cautions.iter().copied()).chain([caution::FIRST]));
    Ok(Fits {
        person,
        name,
        draw_length_in: draw,
        discipline: asked.discipline.clone(),
        said,
        risers: riser_rows(draw, asked.discipline.as_deref(), units)?,
        combinations: rows,
        order: ORDER,
        risers_words: RISERS,
        risers_source: format!("Strings: {STANDARD}. Brace heights: {FROM_MEMORY}."),
        wanted,
        cautions,
    })
}

/// Returns whether the limbs of no combination are those of the rule, though all of their lengths are known.
fn none_suits(combined: &[Combination]) -> bool {
    !combined.is_empty() && combined.iter().all(|made| made.suits == Suits::Other)
}

fn told(words: String, source: &str) -> Said {
    Said { words, source: source.into(), caution: None }
}

/// Returns the draw length that is reckoned with, and says where it comes from.
fn draw(
    name: &str,
    record: &Person,
    asked: &FitsAsked,
    said: &mut Vec<Said>,
    wanted: &mut Vec<String>,
) -> Option<f64> {
    if let Some(draw) = asked.draw_in {
        said.push(told(
            format!("Reckoned for a draw of {} in, as it was asked.", trimmed(draw, 2)),
            "what was typed",
        ));
        return Some(draw);
    }
    // What came from elsewhere may be no draw at all: the rest is said without it.
    if let Some(none) = record.draw_in().filter(|draw| limb_length(*draw).is_err()) {
        wanted.push(format!("{name}'s draw length anew: {} in is none", trimmed(none, 2)));
        return None;
    }
    noted(name, record, said)
}

/// Returns the draw length of the records, and says how it was measured; one that two measures contradict is said too.
fn noted(name: &str, record: &Person, said: &mut Vec<Said>) -> Option<f64> {
    let (typed, pivot) = (record.draw_length_in, record.pivot_draw_in);
    said.extend(
        typed.zip(pivot).and_then(|(draw, pivot)| contradiction(draw, pivot)).map(|w| told(w, STANDARD)),
    );
    let draw = record.draw_in()?;
    let made = trimmed(draw, 2);
    said.push(match pivot.filter(|_| typed.is_none()).map(|pivot| trimmed(pivot, 2)) {
        None => told(format!("{name} draws {made} in by the AMO measure."), "the records"),
        Some(pivot) => told(
            format!(
                "{name} draws {made} in by the AMO measure: {pivot} in from the nocking point to the pivot point of the \
                 grip, and {BEYOND_PIVOT_IN} in."
            ),
            STANDARD,
        ),
    });
    Some(draw)
}

/// Says the tiller to start from.
fn tiller(name: &str, hook: Option<kind::Hook>, units: Units, wanted: &mut Vec<String>) -> Said {
    let range = |hook| millimetres(tiller_mm(hook), units);
    let words = match hook {
        Some(hook) => format!(
            "Tiller to start from for {}: {}, the upper distance less the lower.",
            hook_words(hook),
            range(hook)
        ),
        None => {
            wanted.push(format!("how {name} hooks the string, for the tiller to start from"));
            format!(
                "Tiller to start from, the upper distance less the lower: {} for a split finger, {} for three fingers \
                 under the nock.",
                range(kind::Hook::SplitFinger),
                range(kind::Hook::ThreeUnder)
            )
        }
    };
    told(words, FROM_MEMORY)
}

/// Returns a range of mm in the units of who asks.
pub(super) fn millimetres([least, most]: [f64; 2], units: Units) -> String {
    let decimals = if units == Units::Metric { 0 } else { 2 };
    let [least, most] = [least, most].map(|mm| trimmed(units.reading(mm), decimals));
    format!("{least} to {most} {}", units.unit())
}

fn riser_rows(
    draw: Option<f64>,
    discipline: Option<&str>,
    units: Units,
) -> Result<Vec<RiserRow>, ModelError> {
    let rule = draw.map(limb_length).transpose()?;
    let suits = |limbs: LimbLength| match rule {
        Some(LimbLength::Between) => limbs != LimbLength::Long,
        rule => rule == Some(limbs),
    };
    let mut rows = Vec::new();
    for riser in risers(discipline) {
        let cells = lengths(riser.riser_in)?.into_iter().map(|made| LengthCell {
            limb_length: made.limbs.word(),
            suits: suits(made.limbs),
            bow_length_in: made.bow_in,
            string_length_in: made.string_in,
            brace: brace_mm(made.bow_in, false).map(|range| millimetres(range, units)),
        });
        rows.push(RiserRow {
            riser_in: riser.riser_in,
            used_for: riser.disciplines.join(", ").replace("3d", "3D"),
            of_discipline: discipline.is_some_and(|wanted| riser.disciplines.contains(&wanted)),
            bows: cells.collect(),
            source: riser.source,
        });
    }
    Ok(rows)
}

/// Says in a few words why a pair is not to be shot.
fn not_to_be_shot(sits: Sits) -> Option<&'static str> {
    match sits {
        Sits::True => None,
        Sits::Tight => Some("the limbs sit tight in the pockets"),
        Sits::Loose => Some("the limbs sit loose in the pockets"),
    }
}

fn combination_row(found: &Found, made: &Combination, rank: usize, units: Units) -> CombinationRow {
    let (riser, limbs) = (found.risers[made.riser], found.limbs[made.limbs]);
    let mut reasons: Vec<Said> =
        made.reasons.iter().map(|reason| told(reason.words.clone(), reason.source)).collect();
    reasons.extend(made.brace.said(units).map(|(words, source)| told(words, source)));
    let on_now = riser.bow.is_some() && found.on.get(&limbs) == riser.bow.as_ref();
    CombinationRow {
        rank,
        title: title(&found.own, made),
        bow: riser.bow,
        riser: riser.part,
        riser_in: found.own.risers[made.riser].riser_in,
        limbs,
        bow_length_in: made.bow_in,
        weight_lbf: made.weight_lbf,
        weight_measured: made.weight_measured,
        limits: made.limits.word(),
        do_not_shoot: made.pair.and_then(not_to_be_shot),
        on_now,
        reasons,
        cautions: made.cautions.clone(),
    }
}
