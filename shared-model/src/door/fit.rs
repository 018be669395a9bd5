//! `fit` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    kind::{DISCIPLINES, Hook},
    rig::fits::{FROM_MEMORY, PRACTICE, brace_mm, contradiction, lengths, risers, rule_words, tiller_mm},
    stats::fit::{
        LimbLength, STANDARD, bow_length_in, draw_length_in, limb_length, nearest_edge_in, string_length_in,
    },
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  any of these
  draw_length_in  draw length by the AMO measure, 10 to 40
  pivot_draw_in   nocking point to the pivot point of the grip, 8.25 to 38.25; used where
                  draw_length_in is not given: it is 1.75 in longer
  riser_in        riser length, 9 to 31
  limb_length     short, medium or long; stands before what the draw length says
  longbow         true where the limbs are longbow limbs
  hook            split_finger or three_under
  discipline      target, field, 3d or hunting: its risers come first
Output
  what follows from them
  draw_length_in    that the rest is for, null when none is known
  limb_length       short, medium, long, or between: the rule says nothing from 26 to 26.5 in
  rule              what the rule of the limbs says of the draw, with its edges, or null
  off_edge_in       how far the draw lies from the nearest edge of the rule, or null
  bow_length_in     from riser and limbs, null when either is not known
  string_length_in  string to start from, measured braced as the AMO bow length is
  brace_mm          brace heights to start from, least and most, or null
  tiller_mm         tillers to start from by the hook, least and most, or null
  risers            the trade's risers: {riser_in, disciplines, of_discipline, bows, source}, bows a
                    list of {limb_length, bow_length_in, string_length_in}
  notes             what the rules leave open, and measures that contradict each other
  sources           whose word each is, by the name of the output
Units
  inches; brace height and tiller in mm
Source
  limb and bow lengths: common practice, no source; string and draw length: AMO Standards, Field
  Publication FP-3 (2000); brace height, tiller and the 27 in riser: from memory, common practice,
  no source. What the makers of riser, limbs and string say comes first.
";

#[derive(serde::Serialize)]
struct Output {
    draw_length_in: Option<f64>,
    limb_length: Option<LimbLength>,
    rule: Option<String>,
    off_edge_in: Option<f64>,
    bow_length_in: Option<f64>,
    string_length_in: Option<f64>,
    brace_mm: Option<[f64; 2]>,
    tiller_mm: Option<[f64; 2]>,
    risers: Vec<Riser>,
    notes: Vec<String>,
    sources: Sources,
}

#[derive(serde::Serialize)]
struct Riser {
    riser_in: f64,
    disciplines: &'static [&'static str],
    of_discipline: bool,
    bows: Vec<Bow>,
    source: &'static str,
}

#[derive(serde::Serialize)]
struct Bow {
    limb_length: LimbLength,
    bow_length_in: f64,
    string_length_in: f64,
}

/// Whose word each output is.
#[derive(serde::Serialize)]
struct Sources {
    draw_length_in: &'static str,
    limb_length: &'static str,
    bow_length_in: &'static str,
    string_length_in: &'static str,
    brace_mm: &'static str,
    tiller_mm: &'static str,
}

const SOURCES: Sources = Sources {
    draw_length_in: STANDARD,
    limb_length: PRACTICE,
    bow_length_in: PRACTICE,
    string_length_in: STANDARD,
    brace_mm: FROM_MEMORY,
    tiller_mm: FROM_MEMORY,
};

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let number = |name: &str| root.find(name).map(|f| f.number()).transpose();
    let [riser, typed, pivot] = [number("riser_in")?, number("draw_length_in")?, number("pivot_draw_in")?];
    let named = root.find("limb_length").map(|f| limb_word(&f)).transpose()?;
    let hook = root.find("hook").map(|f| hook_word(&f)).transpose()?;
    let discipline = root.find("discipline").map(|f| discipline(&f)).transpose()?;
    if ![riser, typed, pivot].iter().any(Option::is_some)
        && named.is_none()
        && hook.is_none()
        && discipline.is_none()
    {
        let message = "Nothing to fit: give draw_length_in, pivot_draw_in, riser_in or limb_length.";
        return Err(ModelError::new("missing_field", message).at("draw_length_in"));
    }
    let by_pivot = pivot.map(draw_length_in).transpose()?;
    let draw = typed.or(by_pivot);
    let from_draw = draw.map(limb_length).transpose()?;
    let limbs = named.or(from_draw);
    // A riser alone is checked too, though nothing follows from it.
    let bow = riser.map(|r| bow_length_in(r, limbs.unwrap_or(LimbLength::Between))).transpose()?.flatten();
    let longbow = root.find("longbow").is_some_and(|f| f.raw().as_bool() == Some(true));
    let mut notes = notes(riser, named, from_draw);
    notes.extend(typed.zip(pivot).and_then(|(draw, pivot)| contradiction(draw, pivot)));
    write::output(&Output {
        draw_length_in: draw,
        limb_length: limbs,
        rule: draw.map(rule_words).transpose()?,
        off_edge_in: draw.map(|draw| (draw - nearest_edge_in(draw)).abs()),
        bow_length_in: bow,
        string_length_in: bow.map(string_length_in),
        brace_mm: bow.and_then(|bow| brace_mm(bow, longbow)),
        tiller_mm: hook.map(tiller_mm),
        risers: table(discipline)?,
        notes,
        sources: SOURCES,
    })
}

/// Returns the trade's risers with the bows that they make.
fn table(discipline: Option<&str>) -> Result<Vec<Riser>, ModelError> {
    let mut rows = Vec::new();
    for riser in risers(discipline) {
        let bows = lengths(riser.riser_in)?.into_iter().map(|made| Bow {
            limb_length: made.limbs,
            bow_length_in: made.bow_in,
            string_length_in: made.string_in,
        });
        rows.push(Riser {
            riser_in: riser.riser_in,
            disciplines: riser.disciplines,
            of_discipline: discipline.is_some_and(|wanted| riser.disciplines.contains(&wanted)),
            bows: bows.collect(),
            source: riser.source,
        });
    }
    Ok(rows)
}

fn hook_word(field: &Field) -> Result<Hook, ModelError> {
    match field.text()? {
        "split_finger" => Ok(Hook::SplitFinger),
        "three_under" => Ok(Hook::ThreeUnder),
        other => {
            let shown: String = other.chars().take(30).collect();
            Err(field.wrong("out_of_range", format_args!("is '{shown}'; it is split_finger or three_under")))
        }
    }
}

fn discipline(field: &Field) -> Result<&'static str, ModelError> {
    let word = field.text()?;
    DISCIPLINES.iter().find(|known| **known == word).copied().ok_or_else(|| {
        let shown: String = word.chars().take(30).collect();
        field.wrong("out_of_range", format_args!("is '{shown}'; it is one of {}", DISCIPLINES.join(", ")))
    })
}

fn limb_word(field: &Field) -> Result<LimbLength, ModelError> {
    let word = field.text()?;
    let known = LimbLength::WORDS.iter().find(|(name, _)| *name == word);
    known.map(|(_, limbs)| *limbs).ok_or_else(|| {
        field.wrong("out_of_range", format_args!("is '{word}'; limbs are short, medium or long"))
    })
}

fn notes(riser: Option<f64>, named: Option<LimbLength>, from_draw: Option<LimbLength>) -> Vec<String> {
    let mut notes = Vec::new();
    let limbs = named.or(from_draw);
    if limbs == Some(LimbLength::Between) {
        notes.push(
            "A draw from 26 to below 26.5 in lies between short and medium limbs; try both.".to_owned(),
        );
    }
    if riser.is_none() && limbs.is_some_and(|l| l != LimbLength::Between) {
        notes.push("The bow length follows once riser_in is given.".to_owned());
    }
    if riser.is_some() && limbs.is_none() {
        notes.push("The bow length follows once limb_length or draw_length_in is given.".to_owned());
    }
    if let (Some(a), Some(b)) = (named, from_draw)
        && a != b
    {
        notes.push("The limbs named are not those that the rule gives for this draw length.".to_owned());
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn everything_follows_from_archer_and_riser() {
        let out = run(&json!({"draw_length_in": 28, "riser_in": 25})).expect("a fit");
        assert_eq!(
            [&out["limb_length"], &out["bow_length_in"], &out["string_length_in"], &out["notes"]],
            [&json!("medium"), &json!(68.0), &json!(65.0), &json!([])]
        );
        assert_eq!((&out["brace_mm"], &out["tiller_mm"]), (&json!([215.0, 225.0]), &Value::Null));
        assert_eq!(out["sources"]["brace_mm"], "from memory; common practice, no source");
    }

    #[test]
    fn the_draw_to_the_pivot_point_stands_in_for_the_draw_length() {
        let out = run(&json!({"pivot_draw_in": 26.25, "hook": "three_under"})).expect("a fit");
        assert_eq!((&out["draw_length_in"], &out["limb_length"]), (&json!(28.0), &json!("medium")));
        assert_eq!(out["tiller_mm"], json!([-3.0, 0.0]));
        let both = run(&json!({"draw_length_in": 28, "pivot_draw_in": 27})).expect("a fit");
        assert!(both["notes"].to_string().contains("0.75 in apart"), "{both}");
        let first = run(&json!({"discipline": "target"})).expect("a fit");
        assert_eq!(
            (&first["risers"][0]["riser_in"], &first["risers"][4]["riser_in"]),
            (&json!(21.0), &json!(15.0))
        );
    }

    #[test]
    fn what_does_not_follow_is_null_and_said() {
        let gap = run(&json!({"draw_length_in": 26.2, "riser_in": 25})).expect("a fit");
        assert_eq!((&gap["limb_length"], &gap["bow_length_in"]), (&json!("between"), &Value::Null));
        assert_eq!(gap["notes"].as_array().map(Vec::len), Some(1));
        let riser = run(&json!({"riser_in": 25})).expect("a fit");
        assert_eq!((&riser["limb_length"], riser["notes"].as_array().map(Vec::len)), (&Value::Null, Some(1)));
        let odd = run(&json!({"draw_length_in": 24, "limb_length": "long", "riser_in": 21})).expect("a fit");
        assert_eq!((&odd["bow_length_in"], odd["notes"].as_array().map(Vec::len)), (&json!(66.0), Some(1)));
    }

    #[test]
    fn what_is_wrong_is_said_where_it_is() {
        for (input, code, field) in [
            (json!({}), "missing_field", "draw_length_in"),
            (json!({"limb_length": "huge"}), "out_of_range", "limb_length"),
            (json!({"draw_length_in": "28"}), "wrong_type", "draw_length_in"),
            (json!({"draw_length_in": 280}), "out_of_range", "draw_length_in"),
            (json!({"riser_in": -1}), "out_of_range", "riser_in"),
            (json!({"pivot_draw_in": 70}), "out_of_range", "pivot_draw_in"),
            (json!({"hook": "thumb"}), "out_of_range", "hook"),
            (json!({"discipline": "clout"}), "out_of_range", "discipline"),
        ] {
            let e = run(&input).expect_err("wrong input");
            assert_eq!((e.code, e.field.as_deref()), (code, Some(field)), "{input}");
        }
    }
}
