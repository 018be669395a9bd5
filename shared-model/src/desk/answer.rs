//! What the changes of a bow did: the verdicts of one archer, the one that is looked at in pictures.

use super::{Ask, Desk, given::known, read};
use crate::{
    ModelError,
    id::ThingId,
    records::{NAMED, name_of, names},
    timeline::{Asked, Season, Timeline},
    verdict::{
        ArcherVerdict, Judged, Units, bow_verdict, figures, known_season, look_note, pictured, upper_first,
    },
};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

#[derive(Deserialize)]
struct Question {
    bow: ThingId,
    archer: Option<ThingId>,
    change: Option<String>,
    #[serde(default)]
    units: Units,
    /// Which look at the last change this is while its data grew, as the page counts them by `look`.
    looks: Option<usize>,
}

/// Answers for every change of a bow what it did, newest first.
pub(super) fn answer(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let question: Question = read(input)?;
    let shot = Shot::read(desk, question.bow, question.archer)?;
    let found = bow_verdict(desk.store()?, question.bow, shot.archer, &Asked::default(), question.units)?;
    let verdict = found.archers.iter().find(|a| a.archer == shot.archer);
    let (name, archers) = (shot.archer_name(), shot.archers_json());
    let archer = json!({"id": shot.archer, "name": name});
    let Some(verdict) = verdict else {
        let remarks = [format!("No groups with {} yet.", shot.bow_name)];
        return Ok(json!({"archer": archer, "answers": [], "shown": null, "first": [], "remarks": remarks,
            "archers": archers, "look": null}));
    };
    let answers: Vec<Value> = verdict.verdicts.iter().rev().map(told).collect();
    let shown = shown(verdict, &question, &shot.season)?;
    Ok(json!({
        "archer": archer,
        "answers": answers,
        "shown": shown,
        "first": verdict.first.iter().map(|words| whole(words)).collect::<Vec<_>>(),
        "remarks": remarks(verdict, &question),
        "archers": archers,
        "look": look(verdict, question.bow),
    }))
}

/// Returns what a change did as the page lists it.
pub(super) fn told(judged: &Judged) -> Value {
    json!({
        "change": judged.effect.changes.last(),
        "what": judged.what,
        "day": judged.day,
        "word": figures::location(judged.effect.location),
        "head": judged.head,
        "sentence": judged.sentence,
        "next": judged.next,
    })
}

/// Returns the verdict that is looked at, with its pictures: the one asked for, or the newest with groups on both sides.
fn shown(verdict: &ArcherVerdict, question: &Question, season: &Season) -> Result<Value, ModelError> {
    let both = |judged: &&Judged| judged.effect.ends_before > 0 && judged.effect.ends_after > 0;
    let judged = match &question.change {
        None => verdict.verdicts.iter().rev().find(both),
        Some(asked) => Some(judged(verdict, asked)?),
    };
    let Some(judged) = judged else { return Ok(Value::Null) };
    let mut shown = told(judged);
    let pictures = pictured(verdict, judged, season, question.units);
    for (name, value) in json!(pictures).as_object().into_iter().flatten() {
        shown[name.as_str()] = value.clone();
    }
    Ok(shown)
}

/// Returns the verdict on a change.
pub(super) fn judged<'a>(verdict: &'a ArcherVerdict, change: &str) -> Result<&'a Judged, ModelError> {
    let asked = |judged: &&Judged| judged.effect.changes.iter().any(|id| id == change);
    verdict.verdicts.iter().find(asked).ok_or_else(|| {
        let message = "this change has no answer: nothing was shot before it, or it was undone before the next arrow; \
                       pick another one";
        ModelError::new("no_answer", message).at("change")
    })
}

fn remarks(verdict: &ArcherVerdict, question: &Question) -> Vec<String> {
    let mut remarks = verdict.remarks.clone();
    if verdict.verdicts.is_empty() {
        remarks.push("no change since the first arrow".into());
    }
    if let Some(sigma) = verdict.season.sigma_mrad {
        let sd = question.units.length(sigma * verdict.distance_m);
        let at = question.units.distance(verdict.distance_m);
        remarks.push(format!("spread of an arrow about its end: {sd} at {at} (SD on one axis)"));
    }
    remarks.extend(question.looks.and_then(|looks| look_note(looks, "a plan")));
    remarks.iter().map(|words| whole(words)).collect()
}

/// Returns words as a sentence of their own; a command of the command line in brackets is left out of it.
fn whole(words: &str) -> String {
    let mut text = upper_first(words);
    if let Some(from) = text.find(" (`")
        && let Some(long) = text[from..].find("`)")
    {
        text.replace_range(from..from + long + 2, "");
    }
    text + "."
}

/// Returns by what the page counts its looks: they begin anew with another last change, and count when `groups` grew.
fn look(verdict: &ArcherVerdict, bow: ThingId) -> Value {
    let last = verdict.verdicts.last().and_then(|judged| judged.effect.changes.last());
    last.map_or(Value::Null, |last| {
        let who = verdict.archer.map_or_else(String::new, |id| id.to_string());
        json!({"question": format!("{bow} {who}"), "change": last, "groups": verdict.groups})
    })
}

/// What one archer shot with a bow.
pub(super) struct Shot {
    /// Who; none where the groups do not say.
    pub archer: Option<ThingId>,
    /// What the bow is called.
    pub bow_name: String,
    /// What was shot.
    pub season: Season,
    archers: Vec<Option<ThingId>>,
    names: BTreeMap<ThingId, String>,
}

impl Shot {
    /// Reads what was shot with a bow by the archer who is asked about; else by the user; else by who shot it first.
    pub fn read(desk: &Desk, bow: ThingId, asked: Option<ThingId>) -> Result<Self, ModelError> {
        let (store, me) = (desk.store()?, desk.card()?.person);
        known(store, "bow", bow)?;
        let names = names(store, NAMED)?;
        let timeline = Timeline::read(store, bow)?;
        let archers = timeline.archers();
        let own = archers.contains(&Some(me)).then_some(Some(me));
        let archer = asked.map(Some).or(own).or(archers.first().copied()).unwrap_or(Some(me));
        let season = known_season(store, &timeline, archer)?;
        let bow_name = name_of(&names, bow);
        Ok(Self { archer, bow_name, season, archers, names })
    }

    /// Returns what the archer is called.
    pub fn archer_name(&self) -> String {
        self.archer.map_or_else(|| "someone".into(), |id| name_of(&self.names, id))
    }

    fn archers_json(&self) -> Vec<Value> {
        let one = |id: &ThingId| json!({"id": id, "name": name_of(&self.names, *id)});
        self.archers.iter().flatten().map(one).collect()
    }
}

#[cfg(test)]
mod tests;
