//! `limits` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    kind::FITS,
    rig::limits::{Facts, Finding, PartLimits, Severity, beyond},
};
use serde::Serialize;

pub(super) const HELP: &str = "\
Input
  any of these, and no other
  limb_bolt_top_turns, limb_bolt_bottom_turns  out from fully in
  limb_lateral_top_mm, limb_lateral_bottom_mm  string beside the middle of the limb
  brace_height_mm        string to the deepest part of the grip
  draw_weight_lbf        on the fingers, or draw_weight_range_lbf: [least, most]
  draw_length_in         of the archer, by the AMO measure
  shot_weight_lbf        the most that the archer has shot
  archer                 who that is
  fit                    how the limbs sit on the riser: tight, true or loose
  bow_length_in          that riser and limbs make
  string_for_in          length of the bow that the string is for
  arrow_gr               mass of an arrow
  arrow_length_in        length of the shortest arrow
  carbon                 whether carbon is in the shaft
  missed                 arrows of the set that missed when it was shot last
  parts                  the makers' limits: [{part, least_bolt_turns, most_bolt_turns,
                         least_weight_lbf, most_weight_lbf, most_draw_in, least_brace_mm,
                         most_brace_mm, least_arrow_gr, least_grains_per_pound}]
Output
  findings  what lies beyond a limit: [{code, setting, figure, limit, beyond, unit, whose,
            severity (stop or look), words, caution}], what stops first
  stop      whether one of them says not to shoot before it is put right
Units
  as the names say; figure, limit and beyond in unit
Source
  The makers' limits as given. Where riser and limbs have none for arrows, 5 grains a pound; a draw
  weight more than 2 lbf above what was shot, far from 4 lbf or a tenth on; 3 mm beside a limb; a
  string for a bow more than 0.5 in off, which stops from 1 in on; pairs that are not true: common
  practice, no source. An arrow shorter than the draw length less 1.75 in: AMO Standards, Field
  Publication FP-3 (2000).
  The makers, the rules of the club and a qualified coach come before anything said here.
";

/// What is read; another name is refused, since a limit that is not read would seem kept.
const FIELDS: [&str; 18] = [
    "limb_bolt_top_turns",
    "limb_bolt_bottom_turns",
    "limb_lateral_top_mm",
    "limb_lateral_bottom_mm",
    "brace_height_mm",
    "draw_weight_lbf",
    "draw_weight_range_lbf",
    "draw_length_in",
    "shot_weight_lbf",
    "archer",
    "fit",
    "bow_length_in",
    "string_for_in",
    "arrow_gr",
    "arrow_length_in",
    "carbon",
    "missed",
    "parts",
];
const PART: [&str; 10] = [
    "part",
    "least_bolt_turns",
    "most_bolt_turns",
    "least_weight_lbf",
    "most_weight_lbf",
    "most_draw_in",
    "least_brace_mm",
    "most_brace_mm",
    "least_arrow_gr",
    "least_grains_per_pound",
];

/// What is answered.
#[derive(Serialize)]
struct Found {
    findings: Vec<Finding>,
    stop: bool,
}

pub(super) fn run(input: &serde_json::Value) -> Result<serde_json::Value, ModelError> {
    let root = Field::root(input)?;
    root.only(&FIELDS)?;
    let number = |name: &str, low, high| within(&root, name, low, high);
    let mut facts = Facts {
        limb_bolt_top_turns: number("limb_bolt_top_turns", -100.0, 100.0)?,
        limb_bolt_bottom_turns: number("limb_bolt_bottom_turns", -100.0, 100.0)?,
        limb_lateral_top_mm: number("limb_lateral_top_mm", -100.0, 100.0)?,
        limb_lateral_bottom_mm: number("limb_lateral_bottom_mm", -100.0, 100.0)?,
        brace_height_mm: number("brace_height_mm", 1.0, 1000.0)?,
        weight_lbf: weight(&root)?,
        draw_length_in: number("draw_length_in", 1.0, 60.0)?,
        shot_weight_lbf: number("shot_weight_lbf", 0.1, 200.0)?,
        archer: root.find("archer").map(|name| name.text().map(str::to_owned)).transpose()?,
        fit: root.find("fit").map(|f| fit(&f)).transpose()?,
        bow_length_in: number("bow_length_in", 40.0, 90.0)?,
        string_for_in: number("string_for_in", 40.0, 90.0)?,
        arrow_gr: number("arrow_gr", 1.0, 3000.0)?,
        arrow_length_in: number("arrow_length_in", 1.0, 60.0)?,
        out_shot: Vec::new(),
        drawer: None,
        carbon: root.find("carbon").map_or(Ok(false), |f| match f.raw().as_bool() {
            Some(yes) => Ok(yes),
            None => Err(f.wrong("wrong_type", "has to be true or false")),
        })?,
        missed: root.find("missed").map_or(Ok(0), |f| f.count())? as u64,
        parts: Vec::new(),
    };
    if let Some(parts) = root.find("parts") {
        facts.parts = parts.list()?.iter().map(part).collect::<Result<_, _>>()?;
    }
    let findings = beyond(&facts);
    let stop = findings.iter().any(|finding| finding.severity == Severity::Stop);
    write::output(&Found { findings, stop })
}

fn fit(field: &Field<'_>) -> Result<String, ModelError> {
    let word = field.text()?;
    if FITS.contains(&word) {
        return Ok(word.to_owned());
    }
    Err(field.wrong("out_of_range", format_args!("is none of {}", FITS.join(", "))))
}

fn within(of: &Field<'_>, name: &str, low: f64, high: f64) -> Result<Option<f64>, ModelError> {
    of.find(name).map(|field| field.number_within(low, high)).transpose()
}

fn weight(root: &Field<'_>) -> Result<Option<[f64; 2]>, ModelError> {
    if let Some(measured) = within(root, "draw_weight_lbf", 0.1, 200.0)? {
        return match root.find("draw_weight_range_lbf") {
            Some(range) => {
                Err(range.wrong("given_twice", "stands beside draw_weight_lbf; give one of the two"))
            }
            None => Ok(Some([measured; 2])),
        };
    }
    let Some(range) = root.find("draw_weight_range_lbf") else { return Ok(None) };
    let ends =
        range.list()?.iter().map(|end| end.number_within(0.1, 200.0)).collect::<Result<Vec<_>, _>>()?;
    match ends[..] {
        [low, high] if low <= high => Ok(Some([low, high])),
        _ => Err(range.wrong("out_of_range", "has to be the least and the most weight, in this order")),
    }
}

fn part(of: &Field<'_>) -> Result<PartLimits, ModelError> {
    let number = |name: &str, low, high| within(of, name, low, high);
    of.only(&PART)?;
    Ok(PartLimits {
        part: of.need("part")?.text()?.chars().take(60).collect(),
        least_bolt_turns: number("least_bolt_turns", -100.0, 100.0)?,
        most_bolt_turns: number("most_bolt_turns", -100.0, 100.0)?,
        least_weight_lbf: number("least_weight_lbf", 0.1, 200.0)?,
        most_weight_lbf: number("most_weight_lbf", 0.1, 200.0)?,
        most_draw_in: number("most_draw_in", 1.0, 60.0)?,
        least_brace_mm: number("least_brace_mm", 1.0, 1000.0)?,
        most_brace_mm: number("most_brace_mm", 1.0, 1000.0)?,
        least_arrow_gr: number("least_arrow_gr", 1.0, 3000.0)?,
        least_grains_per_pound: number("least_grains_per_pound", 0.1, 100.0)?,
    })
}
