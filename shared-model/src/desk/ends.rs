//! The ends that were shot, the newest first, and the sessions that they make.

use super::{Ask, Desk, given::Given, look::total};
use crate::{
    ModelError,
    face::Face,
    id::ThingId,
    kind::{self, Group},
    moment::Moment,
    notation::distance_words,
    records::{self, name_of, shots_of},
    replica::Store as _,
    verdict::{count, list},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// How many ends are listed unless it is said.
const USUAL: usize = 60;

/// An end with what it scored.
struct End {
    id: ThingId,
    at: Option<Moment>,
    group: Group,
    rings: Vec<String>,
    total: Option<u64>,
}

/// Lists ends.
pub(super) fn ends(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let (bow, archer) = (given.thing("bow", "bow")?, given.thing("archer", "person")?);
    let (day, limit) = (given.text("day")?, given.count("limit")?.unwrap_or(USUAL));
    let mut found: Vec<(Option<Moment>, ThingId, Group)> = Vec::new();
    desk.store()?.visit("group", bow, &mut |thing| {
        let Ok(group) = kind::read::<Group>(thing) else { return };
        let at = group.at.as_deref().and_then(|at| Moment::read(at).ok());
        let on_day = day.is_none() || at.map(|at| at.day()) == day;
        if !group.retired && (archer.is_none() || group.archer == archer) && on_day {
            found.push((at, thing.id, group));
        }
    })?;
    found.sort_by_key(|(at, id, _)| std::cmp::Reverse((at.map_or(i64::MIN, |at| at.unix_ms()), *id)));
    let more = found.len() > limit;
    found.truncate(limit);
    let mut shafts = BTreeMap::new();
    let mut ends = Vec::with_capacity(found.len());
    for (at, id, group) in found {
        let shaft_mm = match (group.arrows, group.arrows.and_then(|set| shafts.get(&set))) {
            (_, Some(mm)) => *mm,
            (set, None) => records::shaft_mm(desk.store()?, set)?,
        };
        shafts.extend(group.arrows.map(|set| (set, shaft_mm)));
        ends.push(End::of(at, id, group, shaft_mm));
    }
    let names = records::names(desk.store()?, records::NAMED)?;
    Ok(json!({
        "ends": ends.iter().map(|end| end.json(&names)).collect::<Vec<Value>>(),
        "sessions": sessions(&ends, &names),
        "more": more,
    }))
}

impl End {
    fn of(at: Option<Moment>, id: ThingId, group: Group, shaft_mm: f64) -> Self {
        let face = group.face();
        let rings = face.as_ref().map_or(Vec::new(), |face| records::scores(&group, face, shaft_mm));
        let total = face.as_ref().map(|face| total(&shots_of(&group), face, shaft_mm));
        Self { id, at, group, rings, total }
    }

    fn json(&self, names: &BTreeMap<ThingId, String>) -> Value {
        let group = &self.group;
        let name = |id: Option<ThingId>| id.map(|id| name_of(names, id));
        let face = group.face();
        json!({
            "id": self.id,
            "at": group.at,
            "day": self.at.map(|at| at.day()),
            "time": self.at.map(|at| time(&at)),
            "bow": group.bow,
            "bow_name": name(group.bow),
            "archer": group.archer,
            "archer_name": name(group.archer),
            "arrows": group.arrows,
            "distance_m": group.distance_m,
            "distance_words": group.distance_m.map(distance_words),
            "face": face,
            "face_name": face.as_ref().map(Face::name),
            "session": group.session,
            "sight": group.sight,
            "plan": group.plan,
            "total": self.total,
            "rings": self.rings,
            "words": self.words(),
            "points_mm": group.points_mm,
            "numbers": group.arrow_numbers,
            "flyers": group.flyers.clone().unwrap_or_default(),
            "bare": group.bare.clone().unwrap_or_default(),
            "note": group.note,
        })
    }

    fn arrows(&self) -> usize {
        self.group.points_mm.as_ref().map_or(0, Vec::len)
    }

    fn words(&self) -> String {
        let arrows = count(self.arrows(), "arrow");
        let points = self.total.map_or(String::new(), |n| format!(", {}", count(n as usize, "point")));
        let rings = if self.rings.is_empty() { String::new() } else { format!(": {}", self.rings.join(" ")) };
        format!("{arrows}{points}{rings}")
    }
}

/// Returns the time of day on the wall there.
pub(super) fn time(at: &Moment) -> String {
    at.day_and_time().split_once(' ').map_or_else(String::new, |(_, time)| time.to_owned())
}

/// Returns the sessions of ends, in the order of the ends: one archer's of a day, or of the name that it has.
fn sessions(ends: &[End], names: &BTreeMap<ThingId, String>) -> Vec<Value> {
    let key = |end: &End| {
        let day = end.at.map(|at| at.day());
        (end.group.archer, day, end.group.session.clone())
    };
    let mut order = Vec::new();
    for end in ends {
        let key = key(end);
        if !order.contains(&key) {
            order.push(key);
        }
    }
    let session = |wanted: &(Option<ThingId>, Option<String>, Option<String>)| {
        let own: Vec<&End> = ends.iter().filter(|end| key(end) == *wanted).collect();
        let (archer, day, name) = wanted;
        let mut from: Vec<String> = Vec::new();
        for words in own.iter().filter_map(|end| end.group.distance_m.map(distance_words)) {
            if !from.contains(&words) {
                from.push(words);
            }
        }
        let head = [name.clone(), day.clone(), archer.map(|id| name_of(names, id))];
        let head = head.into_iter().flatten().collect::<Vec<_>>().join(", ");
        let arrows = own.iter().map(|end| end.arrows()).sum();
        let words =
            format!("{head}: {}, {} at {}", count(own.len(), "end"), count(arrows, "arrow"), list(&from));
        let total: Option<u64> = own.iter().map(|end| end.total).sum();
        json!({"words": words, "total": total, "ends": own.len(), "arrows": arrows, "day": day, "name": name,
            "archer": archer, "ids": own.iter().map(|end| end.id).collect::<Vec<_>>()})
    };
    order.iter().map(session).collect()
}
