//! Faces, what an end comes to while it is placed, and arrows as they are typed.

use super::{
    Ask, Desk,
    given::{Given, arrow, need},
};
use crate::{
    ModelError,
    chart::Ellipse,
    face::{Face, check_shaft},
    notation::{Length, Shot, shots, tenths_mm},
    records::arrows_of,
    stats::group::{GroupFigures, group as figures_of},
    verdict::{Units, count, directed},
};
use serde_json::{Value, json};

/// The confidence of the ellipse in which the middle lies.
pub(super) const CONFIDENCE: f64 = 0.95;

/// Lists the published faces.
pub(super) fn faces(_: &mut Desk, _: &Value, _: &Ask) -> Result<Value, ModelError> {
    let all = Face::codes().map(Face::by_code).collect::<Result<Vec<_>, _>>()?;
    Ok(json!({"faces": all.iter().map(face_json).collect::<Vec<Value>>()}))
}

/// Returns a face as the page draws it, the highest zone first.
pub(super) fn face_json(face: &Face) -> Value {
    let zone = |z: &crate::face::Zone| json!({"points": z.points, "outer_radius_mm": z.outer_radius_mm, "colour": z.colour.map(|c| c.word())});
    json!({
        "code": face.code(),
        "name": face.name(),
        "radius_mm": face.scoring_outer_radius_mm(),
        "zones": face.zones().iter().map(zone).collect::<Vec<Value>>(),
        "inner10_radius_mm": face.inner10_radius_mm(),
    })
}

/// Says what an end comes to: the ring of every arrow, the sum, where its middle lies.
pub(super) fn look(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let face = need(given.face("face")?, "face", "the face")?;
    let shaft_mm = given.value("shaft_mm").and_then(Value::as_f64).unwrap_or(0.0);
    check_shaft(shaft_mm).map_err(|e| e.at("shaft_mm"))?;
    let (distance_m, units) = (given.distance_m("distance_m")?, given.units()?);
    let mut shots = given.shots("arrows")?;
    // As they will be kept, so that the ring that is shown is the ring that is scored.
    shots.iter_mut().for_each(|shot| shot.at = shot.at.map(|p| p.map(tenths_mm)));
    let arrows: Vec<Value> = shots.iter().map(|shot| scored(shot, &face, shaft_mm)).collect();
    let total = total(&shots, &face, shaft_mm);
    let counted = arrows_of(&shots).counted_mm();
    let figures = match counted.is_empty() {
        true => None,
        false => Some(figures_of(&counted, distance_m, CONFIDENCE).map_err(|e| e.at("arrows"))?),
    };
    Ok(json!({
        "arrows": arrows,
        "total": total,
        "words": format!("{}, {}", count(shots.len(), "arrow"), count(total as usize, "point")),
        "figures": figures.map(|f| figures_json(&f, units)),
    }))
}

/// Reads arrows as they are typed.
pub(super) fn typed(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let face = need(given.face("face")?, "face", "the face")?;
    let mut read = shots(&given.text("text")?.unwrap_or_default(), &face, Length::Mm)
        .map_err(|e| ModelError { field: Some("text".into()), ..e })?;
    read.iter_mut().for_each(|shot| shot.at = shot.at.map(|p| p.map(tenths_mm)));
    Ok(json!({"arrows": read.iter().map(arrow).collect::<Vec<Value>>()}))
}

/// Returns the sum of what arrows score.
pub(super) fn total(shots: &[Shot], face: &Face, shaft_mm: f64) -> u64 {
    shots.iter().filter_map(|shot| shot.at).map(|at| u64::from(face.score(at, shaft_mm).points)).sum()
}

/// Returns where the middle of a group lies, and how wide it is, in words.
pub(super) fn middle_words(figures: &GroupFigures, units: Units) -> [String; 2] {
    let spread = match figures.n {
        1 => "one arrow has no spread".to_owned(),
        _ => format!("{} from the middle on average", units.length(figures.mean_radius_mm)),
    };
    [mpi_words(figures.mpi_mm, units), spread]
}

fn mpi_words([x, y]: [f64; 2], units: Units) -> String {
    let near = |mm: f64| units.number(mm.abs()) == "0";
    match (near(x), near(y)) {
        (true, true) => "in the middle".into(),
        (true, false) => directed(y, 1, units),
        (false, true) => directed(x, 0, units),
        (false, false) => format!("{}, {}", directed(x, 0, units), directed(y, 1, units)),
    }
}

fn scored(shot: &Shot, face: &Face, shaft_mm: f64) -> Value {
    let Some(at) = shot.at else {
        return json!({"ring": "M", "points": 0, "words": "missed, not found"});
    };
    let score = face.score(at, shaft_mm);
    json!({"ring": score.ring(), "points": score.points, "words": face.place_words(at, shaft_mm)})
}

fn figures_json(f: &GroupFigures, units: Units) -> Value {
    let [mpi_words, spread_words] = middle_words(f, units);
    json!({
        "n": f.n,
        "mpi_mm": f.mpi_mm,
        "mpi_words": mpi_words,
        "mean_radius_mm": f.mean_radius_mm,
        "sd_mm": f.sd_mm,
        "spread_words": spread_words,
        "ellipse": Ellipse::of_mean(f),
        "spread_ellipse": Ellipse::of_spread(f),
    })
}
