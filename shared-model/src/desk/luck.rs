//! What luck alone does with the ends of a change.

use super::{
    Ask, Desk,
    answer::{Shot, judged},
    read,
};
use crate::{
    ModelError,
    id::ThingId,
    timeline::Asked,
    verdict::{self, Units, bow_verdict},
};
use serde::Deserialize;
use serde_json::{Value, json};

/// As many deals as are told apart as dots, and as people count: so many in a hundred.
const USUAL: usize = 100;
/// The most that a picture holds.
const MOST: usize = 500;

/// Deals the ends before and after a change again.
pub(super) fn luck(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Question {
        bow: ThingId,
        archer: Option<ThingId>,
        change: String,
        deals: Option<usize>,
        #[serde(default)]
        units: Units,
    }
    let question: Question = read(input)?;
    let most = question.deals.unwrap_or(USUAL);
    if !(20..=MOST).contains(&most) {
        let message = format!("{most} deals; ask for 20 to {MOST}");
        return Err(ModelError::new("out_of_range", message).at("deals"));
    }
    let shot = Shot::read(desk, question.bow, question.archer)?;
    let found = bow_verdict(desk.store()?, question.bow, shot.archer, &Asked::default(), question.units)?;
    let archer = found.archers.iter().find(|a| a.archer == shot.archer).ok_or_else(|| {
        ModelError::new("no_groups", format!("no groups with {} yet; shoot an end first", shot.bow_name))
    })?;
    let judged = judged(archer, &question.change)?;
    let told = verdict::luck(archer, judged, &shot.season, most, question.units, ask.seed())?;
    Ok(json!(told))
}
