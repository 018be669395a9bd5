//! Draw curves and speeds: noted as they are typed, and what they say.

use super::{
    Ask, Desk,
    given::{Given, need, text_of, wrong},
    to_json,
};
use crate::{
    ModelError,
    id::ThingId,
    kind,
    records::{Measured, draw_in, new_curve, new_speed},
    replica::Store as _,
    verdict::{CurveAsked, curve_sheet},
};
use serde_json::{Value, json};

/// The most draws that are asked for at once.
const MOST_ASKED: usize = 100;

/// Says what the latest draw curve of a bow says.
pub(super) fn curve(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let asked = CurveAsked {
        at_in: asked_in(given.value("at"))?,
        archer: given.thing("archer", "person")?,
        arrows: given.thing("arrows", "arrows")?,
        beside: given.thing("beside", "bow")?,
        ..CurveAsked::new(desk.card()?.person, given.units()?)
    };
    to_json(&curve_sheet(desk.store()?, bow, &asked)?)
}

/// Reads the draws that are asked for: one, or a list of them.
fn asked_in(at: Option<&Value>) -> Result<Vec<f64>, ModelError> {
    let all = match at {
        None => return Ok(Vec::new()),
        Some(Value::Array(all)) if all.len() <= MOST_ASKED => all.as_slice(),
        Some(Value::Array(all)) => {
            return Err(wrong("at", format!("{} draws are too many at once", all.len())));
        }
        Some(one) => std::slice::from_ref(one),
    };
    let typed = all.iter().map(|one| text_of(one, "at")).collect::<Result<Vec<_>, _>>()?;
    typed.into_iter().flatten().map(|typed| draw_in(&typed)).collect()
}

/// Keeps a draw curve; sent twice under one id it is kept once.
pub(super) fn note_curve(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("curve", id)?.is_some() {
        return Ok(again(id));
    }
    let bow = given.needed("bow", "bow")?;
    let points = points(given.value("points"))?;
    let from_brace = match given.text("from")?.as_deref() {
        None => false,
        Some("brace") => true,
        Some(_) => {
            return Err(wrong("from", "the point without weight is added from the `brace` height".into()));
        }
    };
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let note = given.remark("note")?;
    let measured = new_curve(desk.store()?, bow, &points, from_brace, at, note)?;
    keep(desk, ask, id, measured)
}

/// Keeps the speed of an arrow; sent twice under one id it is kept once.
pub(super) fn note_speed(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("speed", id)?.is_some() {
        return Ok(again(id));
    }
    let bow = given.needed("bow", "bow")?;
    let typed = need(given.text("speed")?, "speed", "the speed")?;
    let archer = given.thing("archer", "person")?.unwrap_or(desk.card()?.person);
    let of = (Some(archer), given.thing("arrows", "arrows")?);
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let note = given.remark("note")?;
    let measured = new_speed(desk.store()?, bow, &typed, of, at, note)?;
    keep(desk, ask, id, measured)
}

fn points(typed: Option<&Value>) -> Result<Vec<[String; 2]>, ModelError> {
    let Some(Value::Array(all)) = typed else {
        return Err(wrong("points", "the points have to be a list of {draw, weight}".into()));
    };
    let one = |(i, point): (usize, &Value)| {
        let part = |name: &str| {
            let value = point.get(name).unwrap_or(&Value::Null);
            text_of(value, &format!("points[{i}].{name}")).map(Option::unwrap_or_default)
        };
        Ok([part("draw")?, part("weight")?])
    };
    all.iter().enumerate().map(one).collect()
}

pub(super) fn again(id: ThingId) -> Value {
    json!({"id": id, "words": ["This was kept already."], "cautions": []})
}

/// Writes what was measured, and says so.
pub(super) fn keep<K: kind::Kind>(
    desk: &mut Desk,
    ask: &Ask,
    id: ThingId,
    measured: Measured<K>,
) -> Result<Value, ModelError> {
    desk.write(ask, vec![kind::draft(id, &measured.record)?])?;
    let mut words = measured.words;
    if let Some(first) = words.first_mut() {
        first.insert_str(0, "Kept: ");
    }
    Ok(json!({"id": id, "words": words, "cautions": measured.warnings}))
}
