//! The parts with where they are, and what fits an archer.

use super::{
    Ask, Desk,
    given::{Given, wrong},
    to_json,
};
use crate::{
    ModelError,
    kind::{self, Form, Kind as _, Part, WHAT},
    verdict::{self, FitsAsked},
};
use serde_json::Value;

/// Lists the parts, of one sort where one is asked for, those out of use too where `all` says so.
pub(super) fn parts(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let what = chosen(given, "what", WHAT)?;
    to_json(&verdict::parts(desk.store()?, what.as_deref(), given.flag("all")?, given.units()?)?)
}

/// Says what fits an archer: whoever asks where nobody is named.
pub(super) fn fits(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let person = given.thing("person", "person")?.map_or_else(|| desk.card().map(|card| card.person), Ok)?;
    let asked = FitsAsked {
        discipline: chosen(given, "discipline", kind::DISCIPLINES)?,
        weight_lbf: number(given, "weight_lbf", Part::NAME, "marked_weight_lbf")?,
        draw_in: number(given, "draw_length_in", "person", "draw_length_in")?,
    };
    to_json(&verdict::fits(desk.store()?, person, &asked, given.units()?)?)
}

fn chosen(given: Given, field: &str, words: &[&str]) -> Result<Option<String>, ModelError> {
    let Some(typed) = given.text(field)? else { return Ok(None) };
    let wanted = typed.to_lowercase();
    match words.iter().find(|word| **word == wanted) {
        Some(word) => Ok(Some((*word).to_owned())),
        None => Err(wrong(field, format!("choose one of {}", words.join(", ")))),
    }
}

/// Reads a number as it is read for a field of a record: with its unit where one is typed, and within its bounds.
fn number(given: Given, field: &str, kind: &str, like: &str) -> Result<Option<f64>, ModelError> {
    let Some(typed) = given.text(field)? else { return Ok(None) };
    let form = kind::field(kind, like).map_or(Form::Text, |(_, form)| form);
    Ok(kind::value(field, form, &typed)?.as_f64())
}
