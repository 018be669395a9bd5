//! What happened to a bow, the newest first, and notes about it.

use super::{
    Ask, Desk,
    ends::time,
    given::{Given, need, wrong},
    look::{CONFIDENCE, middle_words, total},
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Change, Group, Note, Practice},
    moment::Moment,
    notation::distance_words,
    records::{self, author, name_of, notes, shots_of},
    replica::{Memory, Store as _},
    stats::group::group as figures_of,
    timeline::{Altered, Timeline, What},
    verdict::{Units, altered as altered_words, count, practice_words},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// How many items are listed unless it is said.
const USUAL: usize = 30;

/// Something that happened, with its place in the order.
struct Placed {
    at: Moment,
    id: ThingId,
    what: Kept,
}

/// What happened.
enum Kept {
    Change(Change),
    Group(Box<Group>),
    Note(String, Option<ThingId>),
    Practice(Practice),
}

/// Lists what happened to a bow.
pub(super) fn timeline(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let (limit, before) = (given.count("limit")?.unwrap_or(USUAL), given.text("before")?);
    let units = given.units()?;
    let store = desk.store()?;
    let timeline = Timeline::read(store, bow)?;
    let mut unplaced: Vec<Value> =
        timeline.unplaced.iter().map(|u| json!({"kind": u.kind, "id": u.id, "why": u.why})).collect();
    let altered: BTreeMap<ThingId, Vec<Altered>> =
        timeline.stretches().into_iter().filter_map(|s| Some((s.change?, s.altered))).collect();
    let all = placed(store, timeline, &mut unplaced)?;
    let from = match before {
        None => 0,
        Some(typed) => after(&all, &typed)?,
    };
    let names = records::names(store, records::NAMED)?;
    let page = all.iter().skip(from).take(limit);
    let items = page.map(|item| item.json(store, &altered, &names, units)).collect::<Result<Vec<_>, _>>()?;
    let more = from.saturating_add(limit) < all.len();
    Ok(json!({"items": items, "more": more, "unplaced": unplaced}))
}

/// Returns everything that has a place, the newest first.
fn placed(store: &Memory, timeline: Timeline, unplaced: &mut Vec<Value>) -> Result<Vec<Placed>, ModelError> {
    let bow = timeline.bow;
    let mut all: Vec<Placed> = timeline
        .items
        .into_iter()
        .map(|item| {
            let what = match item.what {
                What::Change(change) => Kept::Change(change),
                What::Group(group) => Kept::Group(group),
            };
            Placed { at: item.at, id: item.id, what }
        })
        .collect();
    let counts = timeline.practice.into_iter();
    all.extend(counts.map(|one| Placed { at: one.at, id: one.id, what: Kept::Practice(one.practice) }));
    for note in notes(store, &|note| note.bow == Some(bow))? {
        match note.at.as_deref().and_then(|at| Moment::read(at).ok()) {
            Some(at) => all.push(Placed { at, id: note.id, what: Kept::Note(note.text, note.by) }),
            None => unplaced
                .push(json!({"kind": "note", "id": note.id, "why": "it does not say when it was written"})),
        }
    }
    // A stable order, so that those of one moment keep the one in which they were recorded.
    all.sort_by_key(|item| item.at.unix_ms());
    all.reverse();
    Ok(all)
}

/// Returns the place behind the item that was shown last, or from a moment back.
fn after(all: &[Placed], typed: &str) -> Result<usize, ModelError> {
    if let Ok(id) = typed.parse::<ThingId>() {
        let place = all.iter().position(|item| item.id == id);
        return place.map(|place| place + 1).ok_or_else(|| {
            wrong("before", "the item that was shown last is not in this timeline any more".into())
        });
    }
    let at = Moment::read(typed).map_err(|e| e.at("before"))?;
    Ok(all.partition_point(|item| item.at.unix_ms() >= at.unix_ms()))
}

impl Placed {
    fn json(
        &self,
        store: &Memory,
        altered: &BTreeMap<ThingId, Vec<Altered>>,
        names: &BTreeMap<ThingId, String>,
        units: Units,
    ) -> Result<Value, ModelError> {
        let (kind, words, by, note) = match &self.what {
            Kept::Change(change) => {
                let made = altered.get(&self.id).map(Vec::as_slice).unwrap_or_default();
                let all = made.iter().map(|a| altered_words(a, &|id| names.get(&id).cloned()));
                let mut words = all.collect::<Vec<_>>().join(", ");
                if let Some(baseline) = change.baseline {
                    words = format!("put back to {}: {words}", name_of(names, baseline));
                }
                ("change", words, self.changed_by(store, change)?, change.note.clone())
            }
            Kept::Group(group) => {
                ("group", group_words(store, group, units)?, group.archer, group.note.clone())
            }
            Kept::Note(text, by) => ("note", text.clone(), *by, None),
            Kept::Practice(practice) => {
                ("practice", practice_words(practice, names), practice.archer, practice.note.clone())
            }
        };
        let mut told = json!({
            "kind": kind, "id": self.id, "at": self.at.rfc3339(), "day": self.at.day(), "time": time(&self.at),
            "words": words, "by": by.map(|by| name_of(names, by)), "note": note,
        });
        if let Kept::Group(group) = &self.what {
            told["arrows"] = json!(group.points_mm.as_ref().map_or(0, Vec::len));
        }
        if let Kept::Practice(practice) = &self.what {
            told["count"] = json!(practice.count);
        }
        Ok(told)
    }

    /// Returns who made a change, or wrote it where it does not say.
    fn changed_by(&self, store: &Memory, change: &Change) -> Result<Option<ThingId>, ModelError> {
        match change.by {
            Some(by) => Ok(Some(by)),
            None => Ok(store.thing("change", self.id)?.as_ref().and_then(author)),
        }
    }
}

fn group_words(store: &Memory, group: &Group, units: Units) -> Result<String, ModelError> {
    let shots = shots_of(group);
    let mut words = count(shots.len(), "arrow");
    if let Some(m) = group.distance_m {
        words.push_str(&format!(" at {}", distance_words(m)));
    }
    if let Some(face) = group.face() {
        let points = total(&shots, &face, records::shaft_mm(store, group.arrows)?);
        words.push_str(&format!(", {}", count(points as usize, "point")));
    }
    // What cannot be measured, such as a group of an older build far off every face, is told without.
    if let Ok(figures) = figures_of(&group.counted_mm(), None, CONFIDENCE) {
        words.push_str(&format!("; {}", middle_words(&figures, units)[0]));
    }
    Ok(words)
}

/// Records a remark about a bow, an end or a person.
pub(super) fn note(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("note", id)?.is_some() {
        return Ok(json!({"note": id, "words": ["This note was kept already."]}));
    }
    let text = need(given.remark("text")?, "text", "the text of the note")?;
    let (bow, person) = (given.thing("bow", "bow")?, given.thing("person", "person")?);
    let group = given.id("group")?;
    let mut of_group = None;
    if let Some(group) = group {
        let thing = need(desk.store()?.thing("group", group)?, "group", "the end")?;
        of_group = kind::read::<Group>(&thing).ok().and_then(|group| group.bow);
    }
    let about = group.or(person).or(bow);
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let record = Note {
        about: Some(need(about, "bow", "what the note is about")?),
        bow: of_group.or(bow),
        text: Some(text),
        at: Some(at.rfc3339()),
        retired: false,
    };
    desk.write(ask, vec![kind::draft(id, &record)?])?;
    Ok(json!({"note": id, "words": ["Kept: the note."]}))
}
