//! `combinations` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    kind::DISCIPLINES,
    rig::combinations::{
        Combination, Limits, Own, OwnLimbs, OwnPair, OwnRiser, OwnString, OwnWeight, Sits, combinations,
        title,
    },
    stats::fit::{LimbLength, Suits},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  risers          a list of {name, riser_in 9 to 31, discipline, limits}
  limbs           a list of {name, limb_length: short, medium or long, longbow: true or false,
                  marked_weight_lbf 1 to 100, marked_draw_in, marked_riser_in, limits}
  any of these
  draw_length_in  draw length by the AMO measure, 10 to 40
  discipline      target, field, 3d or hunting
  wanted_lbf      weight on the fingers that is wanted, 1 to 100
  strings         a list of {name, bow_length_in: of the bow that it is for, on: the bow it is on,
                  limits: of brace height}
  pairs           a list of {riser, limbs: places in the lists, from 0; fit: tight, true or loose;
                  beyond: true where the bolts were beyond what a maker allows, so that true
                  counts for nothing}
  weights         a list of {riser, limbs: as above; lbf: measured at that draw, 1 to 100}
  limits are {least_weight_lbf, most_weight_lbf, most_draw_in, least_brace_mm, most_brace_mm},
  each as far as it is known
  at most 2500 combinations of risers and limbs
Output
  combinations    every riser with every pair of limbs, best first: makers' limits kept > limbs
                  that suit the draw > a string at hand > a pair found true > a riser of the
                  discipline > nearest to the wanted weight > the order in which they were given;
                  pairs found tight or loose come last of all
    riser, limbs    their places
    title
    bow_length_in   null where the limb length is not known
    suits           suits, near_edge, unknown or other
    weight_lbf      least and most to be expected on the fingers, alike where measured; or null
    weight_measured true or false
    limits          kept, may_pass or passed, as far as limits are known
    strings         the places of those for that bow, to half an inch
    pair            tight, true, loose, or null
    do_not_shoot    true where the pair is tight or loose
    of_discipline   true, false, or null
    off_wanted_lbf  from the middle of the weights to the one wanted, or null
    brace_mm        brace heights to start from: those of the trade as far as the makers of
                  riser, limbs and a string at hand allow them; both ends the makers' end nearest
                  to these where none is allowed; null where neither is known, or no height
                  keeps all limits
    reasons         {words, source} each
    cautions
Units
  as the names say
Source
  order, lengths, weights and brace heights: common practice, no source; the limits are the makers'
  and come before everything
";

/// The most of a kind.
const MOST: usize = 200;
/// The most combinations in one answer.
const MOST_ROWS: usize = 2500;

#[derive(serde::Serialize)]
struct Output {
    combinations: Vec<Row>,
}

#[derive(serde::Serialize)]
struct Row {
    riser: usize,
    limbs: usize,
    title: String,
    bow_length_in: Option<f64>,
    suits: Suits,
    weight_lbf: Option<[f64; 2]>,
    weight_measured: bool,
    limits: &'static str,
    strings: Vec<usize>,
    pair: Option<&'static str>,
    do_not_shoot: bool,
    of_discipline: Option<bool>,
    off_wanted_lbf: Option<f64>,
    brace_mm: Option<[f64; 2]>,
    reasons: Vec<Reason>,
    cautions: Vec<&'static str>,
}

#[derive(serde::Serialize)]
struct Reason {
    words: String,
    source: &'static str,
}

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let within = |name: &str, low, high| root.find(name).map(|f| f.number_within(low, high)).transpose();
    let mut own = Own {
        draw_in: within("draw_length_in", 10.0, 40.0)?,
        discipline: root.find("discipline").map(|f| one_of(&f, DISCIPLINES)).transpose()?,
        wanted_lbf: within("wanted_lbf", 1.0, 100.0)?,
        risers: several(&root.need("risers")?, riser)?,
        limbs: several(&root.need("limbs")?, limbs)?,
        ..Own::default()
    };
    let rows = own.risers.len() * own.limbs.len();
    if rows > MOST_ROWS {
        let why = format!("make {rows} combinations with the risers; at most {MOST_ROWS}");
        return Err(root.need("limbs")?.wrong("too_many", why));
    }
    if let Some(strings) = root.find("strings") {
        own.strings = several(&strings, string)?;
    }
    if let Some(pairs) = root.find("pairs") {
        own.pairs = several(&pairs, |field| pair(field, [own.risers.len(), own.limbs.len()]))?;
    }
    if let Some(weights) = root.find("weights") {
        own.weights = several(&weights, |field| weight(field, [own.risers.len(), own.limbs.len()]))?;
    }
    let rows = combinations(&own).into_iter().map(|made| row(&own, made)).collect();
    write::output(&Output { combinations: rows })
}

fn row(own: &Own, made: Combination) -> Row {
    Row {
        title: title(own, &made),
        do_not_shoot: made.do_not_shoot(),
        riser: made.riser,
        limbs: made.limbs,
        bow_length_in: made.bow_in,
        suits: made.suits,
        weight_lbf: made.weight_lbf,
        weight_measured: made.weight_measured,
        limits: made.limits.word(),
        strings: made.strings,
        pair: made.pair.map(Sits::word),
        of_discipline: made.of_discipline,
        off_wanted_lbf: made.off_wanted_lbf,
        brace_mm: made.brace.start_mm,
        reasons: made.reasons.into_iter().map(|r| Reason { words: r.words, source: r.source }).collect(),
        cautions: made.cautions,
    }
}

fn several<T>(field: &Field, one: impl Fn(&Field) -> Result<T, ModelError>) -> Result<Vec<T>, ModelError> {
    let list = field.list()?;
    if list.len() > MOST {
        return Err(field.wrong("too_many", format_args!("has {} entries; at most {MOST}", list.len())));
    }
    list.iter().map(one).collect()
}

fn riser(field: &Field) -> Result<OwnRiser, ModelError> {
    Ok(OwnRiser {
        name: field.need("name")?.label()?,
        riser_in: field.need("riser_in")?.number_within(9.0, 31.0)?,
        discipline: field.find("discipline").map(|f| one_of(&f, DISCIPLINES)).transpose()?,
        limits: limits(field)?,
    })
}

fn limbs(field: &Field) -> Result<OwnLimbs, ModelError> {
    let within = |name: &str, low, high| field.find(name).map(|f| f.number_within(low, high)).transpose();
    let class = field.find("limb_length").map(|f| one_of(&f, &["short", "medium", "long"])).transpose()?;
    let class = class.and_then(|word| LimbLength::WORDS.iter().find(|(known, _)| *known == word));
    let longbow = truth(field, "longbow")?;
    Ok(OwnLimbs {
        name: field.need("name")?.label()?,
        limb_length: class.map(|(_, class)| *class),
        longbow,
        marked_weight_lbf: within("marked_weight_lbf", 1.0, 100.0)?,
        marked_draw_in: within("marked_draw_in", 14.0, 37.0)?,
        marked_riser_in: within("marked_riser_in", 8.0, 40.0)?,
        limits: limits(field)?,
    })
}

/// Reads what is true or false; false where it is not given.
fn truth(field: &Field, name: &str) -> Result<bool, ModelError> {
    let Some(found) = field.find(name) else { return Ok(false) };
    found.raw().as_bool().ok_or_else(|| found.wrong("wrong_type", "has to be true or false"))
}

fn limits(field: &Field) -> Result<Limits, ModelError> {
    let Some(limits) = field.find("limits") else { return Ok(Limits::default()) };
    let within = |name: &str, low, high| limits.find(name).map(|f| f.number_within(low, high)).transpose();
    let read = Limits {
        least_weight_lbf: within("least_weight_lbf", 1.0, 100.0)?,
        most_weight_lbf: within("most_weight_lbf", 1.0, 100.0)?,
        most_draw_in: within("most_draw_in", 14.0, 40.0)?,
        brace_mm: [within("least_brace_mm", 100.0, 350.0)?, within("most_brace_mm", 100.0, 350.0)?],
    };
    let upside_down = |least: Option<f64>, most: Option<f64>| least.zip(most).is_some_and(|(a, b)| a > b);
    for (least, most, name) in [
        (read.least_weight_lbf, read.most_weight_lbf, "least_weight_lbf"),
        (read.brace_mm[0], read.brace_mm[1], "least_brace_mm"),
    ] {
        if upside_down(least, most) {
            return Err(limits
                .need(name)?
                .wrong("upside_down", "is above the most; look at the maker's figures"));
        }
    }
    Ok(read)
}

fn string(field: &Field) -> Result<OwnString, ModelError> {
    let bow_in = field.find("bow_length_in").map(|f| f.number_within(40.0, 90.0)).transpose()?;
    let on = field.find("on").map(|f| f.label()).transpose()?;
    Ok(OwnString { name: field.need("name")?.label()?, bow_in, on, limits: limits(field)? })
}

/// Reads the place of an entry in a list of so many.
fn place(field: &Field, name: &str, of: usize) -> Result<usize, ModelError> {
    let field = field.need(name)?;
    let place = field.count()?;
    if place < of {
        return Ok(place);
    }
    Err(field
        .wrong("out_of_range", format_args!("is {place}; the list has places 0 to {}", of.saturating_sub(1))))
}

fn weight(field: &Field, [risers, limbs]: [usize; 2]) -> Result<OwnWeight, ModelError> {
    let lbf = field.need("lbf")?.number_within(1.0, 100.0)?;
    Ok(OwnWeight { riser: place(field, "riser", risers)?, limbs: place(field, "limbs", limbs)?, lbf })
}

fn pair(field: &Field, [risers, limbs]: [usize; 2]) -> Result<OwnPair, ModelError> {
    let fit = field.need("fit")?;
    let word = one_of(&fit, &Sits::WORDS.map(|(word, _)| word))?;
    let sits = Sits::WORDS.iter().find(|(known, _)| *known == word).map_or(Sits::True, |(_, sits)| *sits);
    let (riser, limbs) = (place(field, "riser", risers)?, place(field, "limbs", limbs)?);
    Ok(OwnPair { riser, limbs, sits, beyond: truth(field, "beyond")? })
}

fn one_of(field: &Field, words: &[&str]) -> Result<String, ModelError> {
    let word = field.text()?;
    if words.contains(&word) {
        return Ok(word.to_owned());
    }
    let shown: String = word.chars().take(30).collect();
    Err(field.wrong("out_of_range", format_args!("is '{shown}'; it is one of {}", words.join(", "))))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn what_is_wrong_is_said_where_it_is() {
        let with = |limbs: Value, pairs: Value| json!({"risers": [{"name": "elm", "riser_in": 25}], "limbs": [limbs], "pairs": pairs});
        for (input, code, field) in [
            (json!({"limbs": []}), "missing_field", "risers"),
            (
                json!({"risers": [{"name": "elm", "riser_in": 63.5}], "limbs": []}),
                "out_of_range",
                "risers[0].riser_in",
            ),
            (
                with(json!({"name": "a", "limb_length": "huge"}), json!([])),
                "out_of_range",
                "limbs[0].limb_length",
            ),
            (with(json!({"name": "a", "longbow": "no"}), json!([])), "wrong_type", "limbs[0].longbow"),
            (
                with(
                    json!({"name": "a", "limits": {"least_weight_lbf": 40, "most_weight_lbf": 30}}),
                    json!([]),
                ),
                "upside_down",
                "limbs[0].limits.least_weight_lbf",
            ),
            (
                with(json!({"name": "a"}), json!([{"riser": 0, "limbs": 1, "fit": "true"}])),
                "out_of_range",
                "pairs[0].limbs",
            ),
            (
                with(json!({"name": "a"}), json!([{"riser": 0, "limbs": 0, "fit": "snug"}])),
                "out_of_range",
                "pairs[0].fit",
            ),
            (
                json!({"risers": vec![json!({"name": "r", "riser_in": 25}); 51], "limbs": vec![json!({"name": "l"}); 50]}),
                "too_many",
                "limbs",
            ),
            (json!({"risers": [], "limbs": [], "draw_length_in": -28}), "out_of_range", "draw_length_in"),
        ] {
            let e = run(&input).expect_err("wrong input");
            assert_eq!((e.code, e.field.as_deref()), (code, Some(field)), "{input}");
        }
        assert_eq!(run(&json!({"risers": [], "limbs": []})), Ok(json!({"combinations": []})));
    }
}
