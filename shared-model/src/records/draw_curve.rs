//! A draw curve and an arrow's speed as they are typed, checked, and made into records.

use super::{here::setup_here_at, name_of, names};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Curve, Form, Part, Speed},
    moment::Moment,
    replica::Store,
    rig::limits::{above, decimals_apart},
    stats::fit::BEYOND_PIVOT_IN,
    timeline::Setup,
    verdict::{decimal, speed_beyond},
};

/// Draw lengths that a bow has at the scale, in: from the string at rest to the longest (only slips lie outside).
const DRAWS: (f64, f64) = (5.0, 37.0);
/// Weights that a scale shows, lbf (only slips lie outside).
const WEIGHTS: (f64, f64) = (0.0, 100.0);
/// More points than anybody measures.
const MOST: usize = 200;
/// An inch in mm.
const INCH_MM: f64 = 25.4;

/// What was measured on a bow, ready to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured<K> {
    /// The record.
    pub record: K,
    /// What is said of it.
    pub words: Vec<String>,
    /// Where a maker's limit is passed, and the like.
    pub warnings: Vec<String>,
}

/// Splits a point as it is typed, `28=37.8`, into draw and weight.
///
/// # Errors
/// `bad_input` when there is no equals sign.
pub fn curve_pair(typed: &str) -> Result<[String; 2], ModelError> {
    let (draw, weight) = typed.split_once('=').ok_or_else(|| {
        let message = format!("`{typed}` is no draw with its weight; write it like 28=37.8 or 66cm=15kgf");
        ModelError::new("bad_input", message).at("points")
    })?;
    Ok([draw.trim().to_owned(), weight.trim().to_owned()])
}

/// Reads a draw that is asked for, as it was typed, in inches.
///
/// # Errors
/// Those of a quantity, at `at`.
pub fn draw_in(typed: &str) -> Result<f64, ModelError> {
    let value = kind::value("draw_in", Form::Number(DRAWS.0, DRAWS.1), typed).map_err(|e| e.at("at"))?;
    Ok(value.as_f64().unwrap_or_default())
}

/// Makes a draw curve of points as they were typed, draw and weight of each; with `from_brace` the draw without weight is
/// added, which follows from the brace height that the bow had then.
///
/// # Errors
/// Those of the store; `missing_field`, `bad_quantity` and `out_of_range` at `points[2].draw` or `points[2].weight`,
/// `too_few` at `points`, `not_noted` at `from`.
pub fn new_curve<S: Store>(
    store: &S,
    bow: ThingId,
    points: &[[String; 2]],
    from_brace: bool,
    at: Moment,
    note: Option<String>,
) -> Result<Measured<Curve>, S::Error> {
    let setup = setup_here_at(store, bow, at.unix_ms())?.setup;
    let read = read_points(points)?;
    let added = if from_brace { Some(no_weight_in(&setup, &read)?) } else { None };
    let words = curve_words(&read, added);
    let warnings = beyond_limits(store, &setup, read[read.len() - 1])?;
    let record = Curve {
        bow: Some(bow),
        at: Some(at.rfc3339()),
        draw_in: Some(read.iter().map(|p| p[0]).collect()),
        weight_lbf: Some(read.iter().map(|p| p[1]).collect()),
        no_weight_draw_in: added,
        note,
        retired: false,
    };
    Ok(Measured { record, words, warnings })
}

/// Says what was measured, what was added and what is not there.
fn curve_words(read: &[[f64; 2]], added: Option<f64>) -> Vec<String> {
    let [first, last] = [read[0], read[read.len() - 1]];
    let mut words = vec![format!(
        "{} points from {} to {} in, {} lbf at the last.",
        read.len(),
        decimal(first[0], 2),
        decimal(last[0], 2),
        decimal(last[1], 2)
    )];
    words.extend(added.map(|draw| {
        format!(
            "No weight at {} in was added, not measured: the brace height and {BEYOND_PIVOT_IN} in (AMO Standards, Field \
             Publication FP-3: both are measured to the grip's pivot point).",
            decimal(draw, 2)
        )
    }));
    if added.is_none() && first[1] > 0.0 {
        words.push(
            "There is no point without weight: energy is counted from the first draw measured on.".into(),
        );
    }
    words
}

/// Makes the record of an arrow's speed as it was typed.
///
/// # Errors
/// Those of the store, and those of a quantity, at `speed`.
pub fn new_speed<S: Store>(
    store: &S,
    bow: ThingId,
    typed: &str,
    of: (Option<ThingId>, Option<ThingId>),
    at: Moment,
    note: Option<String>,
) -> Result<Measured<Speed>, S::Error> {
    let (archer, arrows) = of;
    let (field, form) = kind::field("speed", "speed_fps").expect("a speed has its figure");
    let fps = kind::value(field, form, typed).map_err(|e| e.at("speed"))?.as_f64();
    let all = names(store, &["arrows", "person"])?;
    let who = archer.map_or_else(String::new, |id| format!(", drawn by {}", name_of(&all, id)));
    let what = arrows.map_or_else(
        || " of an arrow of no named set: its mass is not known, so nothing follows of efficiency".to_owned(),
        |id| format!(" with {}", name_of(&all, id)),
    );
    let mut words = vec![format!("{} ft/s{what}{who}.", fps.map_or_else(String::new, |fps| decimal(fps, 1)))];
    if let Some(fps) = fps {
        let why = speed_beyond(store, bow, of, at, fps)?;
        words.extend(why.map(|why| format!("It is kept and not used: {why}.")));
    }
    let record = Speed {
        bow: Some(bow),
        archer,
        arrows,
        at: Some(at.rfc3339()),
        speed_fps: fps,
        note,
        retired: false,
    };
    Ok(Measured { record, words, warnings: Vec::new() })
}

/// Reads points; an empty one is none.
fn read_points(typed: &[[String; 2]]) -> Result<Vec<[f64; 2]>, ModelError> {
    let wrong = |code, field: String, message: String| Err(ModelError::new(code, message).at(field));
    let mut read: Vec<(usize, [f64; 2])> = Vec::new();
    for (i, [draw, weight]) in typed.iter().enumerate() {
        if draw.trim().is_empty() && weight.trim().is_empty() {
            continue;
        }
        let place = |part: &str| format!("points[{i}].{part}");
        let number = |part: &str, name: &str, typed: &str, (least, most): (f64, f64)| {
            if typed.trim().is_empty() {
                let message = format!("point {}: the {part} is missing", i + 1);
                return Err(ModelError::new("missing_field", message).at(place(part)));
            }
            let told = |e: ModelError| {
                ModelError::new(e.code, format!("point {}, {}", i + 1, e.message)).at(place(part))
            };
            let value = kind::value(name, Form::Number(least, most), typed).map_err(told)?;
            Ok(value.as_f64().unwrap_or_default())
        };
        let point =
            [number("draw", "draw_in", draw, DRAWS)?, number("weight", "weight_lbf", weight, WEIGHTS)?];
        if let Some((before, last)) = read.last() {
            follows((*before, *last), (i, point))?;
        }
        read.push((i, point));
    }
    match read.len() {
        0 | 1 => wrong(
            "too_few",
            "points".into(),
            "a draw curve needs two points or more, each a draw and its weight, like 18=21 28=37.8".into(),
        ),
        _ if read.iter().all(|(_, [_, weight])| *weight == 0.0) => {
            let message = "no point has a weight: a draw curve needs one, like 28=37.8";
            wrong("out_of_range", "points".into(), message.into())
        }
        n if n > MOST => wrong("too_many", "points".into(), format!("{n} points are more than {MOST}")),
        _ => Ok(read.into_iter().map(|(_, point)| point).collect()),
    }
}

/// Checks that a point lies behind and not below the one before it.
fn follows((before, last): (usize, [f64; 2]), (i, point): (usize, [f64; 2])) -> Result<(), ModelError> {
    let [draw, weight] = point.map(|v| decimal(v, 3));
    let [last_draw, last_weight] = last.map(|v| decimal(v, 3));
    let (nth, nth_before) = (i + 1, before + 1);
    let wrong = |part: &str, message: String| {
        Err(ModelError::new("out_of_range", message).at(format!("points[{i}].{part}")))
    };
    if point[0] == last[0] {
        let message = format!(
            "point {nth}: the draw of {draw} in is given twice, as point {nth_before} as well; keep one, or their mean"
        );
        return wrong("draw", message);
    }
    if point[0] < last[0] {
        let message = format!(
            "point {nth}: the draw of {draw} in comes after {last_draw} in; write the draws rising, all in one unit or each \
             with its own (26in, 66cm)"
        );
        return wrong("draw", message);
    }
    if point[1] < last[1] {
        let message = format!(
            "point {nth}: {weight} lbf at {draw} in is less than {last_weight} lbf at {last_draw} in; recurves and longbows \
             pull harder the farther they are drawn: read the scale again, or write the unit (15kgf)"
        );
        return wrong("weight", message);
    }
    Ok(())
}

/// Returns the draw without weight by the brace height.
fn no_weight_in(setup: &Setup, read: &[[f64; 2]]) -> Result<f64, ModelError> {
    let brace = setup.get("brace_height_mm").and_then(|set| set.value.as_f64()).ok_or_else(|| {
        let message = "the brace height of this bow is not noted for that moment; measure it and note it, or leave the point \
                       without weight out";
        ModelError::new("not_noted", message).at("from")
    })?;
    let draw = libm::round((brace / INCH_MM + BEYOND_PIVOT_IN) * 1e4) / 1e4;
    let [first, weight] = read[0];
    if first <= draw {
        let message = format!(
            "by a brace height of {} mm the string rests at {} in, and the first draw measured is {} in with {} lbf: one of \
             them is off; draws are read to the grip's pivot point and {BEYOND_PIVOT_IN} in added",
            decimal(brace, 1),
            decimal(draw, 2),
            decimal(first, 2),
            decimal(weight, 2)
        );
        return Err(ModelError::new("out_of_range", message).at("points[0].draw"));
    }
    Ok(draw)
}

/// Says which limit of a maker the last point passes.
fn beyond_limits<S: Store>(
    store: &S,
    setup: &Setup,
    [draw, weight]: [f64; 2],
) -> Result<Vec<String>, S::Error> {
    let mut told = Vec::new();
    for setting in ["riser", "limbs"] {
        let Some(part) = part_on::<S>(store, setup, setting)? else { continue };
        let name = part.name.unwrap_or_else(|| setting.to_owned()).replace(char::is_control, " ");
        told.extend(above(draw, part.most_draw_in).map(|most| {
            let decimals = decimals_apart(draw, most, 2);
            format!(
                "Stop. {} in is beyond {} in, the longest draw that the maker of {name} allows: do not draw it so far again.",
                decimal(draw, decimals),
                decimal(most, decimals)
            )
        }));
        told.extend(above(weight, part.most_weight_lbf).map(|most| {
            let decimals = decimals_apart(weight, most, 1);
            format!(
                "Stop. {} lbf is beyond {} lbf, the most that the maker of {name} allows: leave the bow unstrung and ask the maker \
                 or a qualified coach.",
                decimal(weight, decimals),
                decimal(most, decimals)
            )
        }));
    }
    Ok(told)
}

/// Returns the part that a setting of a bow names, where it is one of the records.
pub(crate) fn part_on<S: Store>(store: &S, setup: &Setup, setting: &str) -> Result<Option<Part>, S::Error> {
    let Some(id) = setup.get(setting).and_then(|set| set.value.as_str()?.parse::<ThingId>().ok()) else {
        return Ok(None);
    };
    Ok(store.thing("part", id)?.and_then(|thing| kind::read(&thing).ok()))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn read(points: &[&str]) -> Result<Vec<[f64; 2]>, ModelError> {
        let pairs: Vec<[String; 2]> = points.iter().map(|p| curve_pair(p).unwrap()).collect();
        read_points(&pairs)
    }

    #[test]
    fn points_are_read_in_the_units_that_they_were_typed_in() {
        let found = read(&["10=6.5", "66cm=15kgf", "28 = 37,8 lbf"]).unwrap();
        // 66 / 2.54 = 25.98425197; 15 / 0.45359237 = 33.06933933 (NIST SP 811).
        assert_eq!(found, [[10.0, 6.5], [25.984_251_97, 33.069_339_33], [28.0, 37.8]]);
        assert!(curve_pair("28").is_err());
    }

    #[test]
    fn what_is_wrong_is_said_with_its_place() {
        for (points, field, says) in [
            (vec!["18=21", "71=38"], "points[1].draw", "did you mean 71 cm, which is 27.9528 in?"),
            (vec!["18=21", "18=22", "28=38"], "points[1].draw", "given twice, as point 1"),
            (vec!["18=21", "28=38", "26=33"], "points[2].draw", "26 in comes after 28 in"),
            (
                vec!["18=21", "26=33", "28=17"],
                "points[2].weight",
                "17 lbf at 28 in is less than 33 lbf at 26 in",
            ),
            (vec!["18=21", "28=-3"], "points[1].weight", "between 0 and 100 lbf"),
            (vec!["18=21", "28="], "points[1].weight", "the weight is missing"),
            (vec!["-18=21", "28=38"], "points[0].draw", "between 5 and 37 in"),
            (vec!["18=21", "28=nan"], "points[1].weight", "no number"),
            (vec!["18=21", "28in=38mm"], "points[1].weight", "not given in lbf"),
            (vec!["18=21"], "points", "two points or more"),
            (vec!["18=21", "="], "points", "two points or more"),
        ] {
            let e = read(&points).unwrap_err();
            assert_eq!(e.field.as_deref(), Some(field), "{points:?}: {}", e.message);
            assert!(e.message.contains(says), "{points:?}: {}", e.message);
        }
    }
}
