//! What the next end is shot with: what was chosen, and the rest as the last time.

use super::{
    Ask, Desk,
    given::Given,
    look::{face_json, total},
    planning,
};
use crate::{
    ModelError,
    face::Face,
    id::ThingId,
    kind::{self, Group, Plan},
    moment::Moment,
    notation::distance_words,
    records::{self, Named, last_arrows, last_group, last_or_only, last_sight, shots_of, usual_face},
    replica::{Memory, Store as _},
    verdict::count,
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// How many of the latest groups are looked at for what was shot today and from where.
const LOOKED_BACK: usize = 300;
/// The distances that target rounds are shot from, m (World Archery, Book 2).
const USUAL_M: [f64; 8] = [18.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0, 90.0];
/// Of how many of the latest ends the usual number of arrows is taken.
const USUAL_OF: usize = 8;
/// Arrows of an end where nothing says otherwise (common practice, no source).
const USUAL_ARROWS: usize = 6;

/// What an end is shot with.
pub(super) struct Frame {
    pub archer: ThingId,
    pub bow: Option<Named>,
    pub arrows: Option<Named>,
    pub distance_m: Option<f64>,
    pub face: Option<Face>,
    face_from_m: Option<f64>,
    pub sight: Option<String>,
    session: Option<String>,
    arrows_per_end: usize,
    assumed: Vec<String>,
}

/// Says what the next end is shot with.
pub(super) fn frame(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let store = desk.store()?;
    let now = ask.moment()?;
    let plan = match given.thing("plan", "plan")? {
        Some(id) => store.thing("plan", id)?.map(|t| kind::read::<Plan>(&t)).transpose()?.map(|p| (id, p)),
        None => None,
    };
    let (mut frame, latest) = Frame::read(desk, given, plan.as_ref().map(|(_, plan)| plan))?;
    let today = Today::of(store, &latest, &frame, &now)?;
    frame.session.clone_from(&today.session);
    let names = records::names(store, records::NAMED)?;
    let (bow, arrows) = (frame.bow.as_ref(), frame.arrows.as_ref());
    let named = |n: &Named| json!({"id": n.id, "name": n.name});
    let set = records::arrow_set(store, arrows.map(|n| n.id))?.unwrap_or_default();
    let plan = plan.map(|(id, plan)| planning::state(store, id, &plan, &frame, &now)).transpose()?;
    Ok(json!({
        "bow": bow.map(named),
        "archer": {"id": frame.archer, "name": records::name_of(&names, frame.archer)},
        "arrows": arrows.map(|n| json!({"id": n.id, "name": n.name, "count": set.count})),
        "distance_m": frame.distance_m,
        "distance_words": frame.distance_m.map(distance_words),
        "face": frame.face.as_ref().map(face_json),
        "face_guessed_from_m": frame.face_from_m,
        "sight": frame.sight,
        "session": frame.session,
        "shaft_mm": set.shaft_diameter_mm.unwrap_or(0.0),
        "arrows_per_end": frame.arrows_per_end,
        "end_number": today.ends + 1,
        "session_words": today.words(),
        "assumed": frame.assumed,
        "choices": choices(store, &latest)?,
        "plan": plan,
    }))
}

impl Frame {
    /// Reads what was chosen and takes over the rest; returns the latest groups as well, the latest first.
    fn read(desk: &Desk, given: Given<'_>, plan: Option<&Plan>) -> Result<(Self, Vec<Group>), ModelError> {
        let store = desk.store()?;
        let archer = given.thing("archer", "person")?.or(plan.and_then(|p| p.archer));
        let archer = archer.unwrap_or(desk.card()?.person);
        let last = last_group(store, archer)?.unwrap_or_default();
        let mut assumed = Vec::new();
        let bow = given.thing("bow", "bow")?.or(plan.and_then(|p| p.bow));
        let bow = chosen(store, "bow", bow, last.bow, &mut assumed)?;
        let planned_m = plan.and_then(|p| p.distance_m);
        let distance_m = given.distance_m("distance_m")?.or(planned_m).or_else(|| {
            assumed.extend(last.distance_m.map(distance_words));
            last.distance_m
        });
        let typed_sight = given.text("sight")?;
        let walks = Group { sight: typed_sight.clone(), ..Group::default() }.is_walk_back();
        let place = distance_m.map(|m| (archer, m, walks));
        let (face, face_from_m) = face_of(store, given, place, &last, &mut assumed)?;
        let with = bow.as_ref().map(|bow| (bow.id, archer));
        let latest = latest(store)?;
        let arrows = arrows_of(store, given, with, &last, &latest, &mut assumed)?;
        let sight = match (typed_sight, with.zip(distance_m)) {
            (Some(sight), _) => Some(sight),
            (None, Some(_)) if given.empty("sight") => None,
            (None, Some(((bow, archer), m))) => {
                last_sight(store, (bow, archer, m))?.inspect(|label| assumed.push(format!("sight {label}")))
            }
            (None, None) => None,
        };
        let planned = plan.and_then(|p| p.arrows_per_end).map(|n| n as usize);
        let arrows_per_end = planned.or_else(|| before_arrows(&latest, with)).unwrap_or(USUAL_ARROWS);
        #[rustfmt::skip]
        let frame = Self {
            archer, bow, arrows, distance_m, face, face_from_m, sight, session: None, arrows_per_end, assumed,
        };
        Ok((frame, latest))
    }

    /// Returns a group shot with it at a moment, without arrows.
    pub fn group(&self, at: &Moment) -> Group {
        Group {
            bow: self.bow.as_ref().map(|n| n.id),
            archer: Some(self.archer),
            arrows: self.arrows.as_ref().map(|n| n.id),
            at: Some(at.rfc3339()),
            session: self.session.clone(),
            distance_m: self.distance_m,
            sight: self.sight.clone(),
            ..Group::default()
        }
    }
}

/// Returns how many arrows the archer's latest end with the bow had.
fn before_arrows(latest: &[Group], with: Option<(ThingId, ThingId)>) -> Option<usize> {
    let alike = latest.iter().filter(|group| shot_with(group, with));
    usual_arrows(alike.filter_map(|group| group.points_mm.as_ref().map(Vec::len)))
}

/// Says whether a group is of that bow and archer.
fn shot_with(group: &Group, with: Option<(ThingId, ThingId)>) -> bool {
    with.is_some_and(|(bow, archer)| (group.bow, group.archer) == (Some(bow), Some(archer)))
}

/// Returns how many arrows most of the ends shot last had, the latest first; one end alone may have been cut short.
pub(super) fn usual_arrows(latest: impl Iterator<Item = usize>) -> Option<usize> {
    let mut times: BTreeMap<usize, usize> = BTreeMap::new();
    for arrows in latest.take(USUAL_OF) {
        *times.entry(arrows).or_default() += 1;
    }
    times.into_iter().max_by_key(|(arrows, times)| (*times, *arrows)).map(|(arrows, _)| arrows)
}

/// Returns the arrow set that was chosen, or that of the time before; who shot this bow with no set noted has none assumed,
/// however many there are in the team.
fn arrows_of(
    store: &Memory,
    given: Given<'_>,
    with: Option<(ThingId, ThingId)>,
    last: &Group,
    latest: &[Group],
    assumed: &mut Vec<String>,
) -> Result<Option<Named>, ModelError> {
    let before = with.map_or(Ok(last.arrows), |with| last_arrows(store, with, last))?;
    let unnoted = before.is_none() && latest.iter().any(|group| shot_with(group, with));
    if given.empty("arrows") || (unnoted && !given.has("arrows")) {
        return Ok(None);
    }
    chosen(store, "arrows", given.thing("arrows", "arrows")?, before, assumed)
}

/// Returns the thing that was chosen, that of the time before, or the only one in use.
fn chosen(
    store: &Memory,
    kind: &'static str,
    chosen: Option<ThingId>,
    last: Option<ThingId>,
    assumed: &mut Vec<String>,
) -> Result<Option<Named>, ModelError> {
    if let Some(id) = chosen {
        return Ok(records::all(store, kind)?.into_iter().find(|n| n.id == id));
    }
    let found = last_or_only(store, kind, last)?;
    assumed.extend(found.as_ref().map(|n| n.name.clone()));
    Ok(found)
}

fn face_of(
    store: &Memory,
    given: Given<'_>,
    place: Option<(ThingId, f64, bool)>,
    last: &Group,
    assumed: &mut Vec<String>,
) -> Result<(Option<Face>, Option<f64>), ModelError> {
    if let Some(face) = given.face("face")? {
        return Ok((Some(face), None));
    }
    let usual = match place {
        Some(place) => usual_face(store, place, last)?,
        None => None,
    };
    let (code, from_m) = usual.map_or((last.face_code(), None), |u| (Some(u.code), u.from_m));
    // A face that a later build wrote is not known here, and has to be chosen.
    let face = code.and_then(|code| Face::by_code(&code).ok());
    assumed.extend(face.as_ref().and_then(Face::code).map(str::to_owned));
    Ok((face, from_m))
}

fn latest(store: &Memory) -> Result<Vec<Group>, ModelError> {
    let (mut found, mut seen) = (Vec::new(), 0);
    store.visit_back("group", &mut |thing| {
        seen += 1;
        found.extend(kind::read::<Group>(thing).ok().filter(|group| !group.retired));
        seen < LOOKED_BACK
    })?;
    Ok(found)
}

/// What the archer shot so far in the session under way: today's, with the name of its latest group.
struct Today {
    session: Option<String>,
    ends: usize,
    arrows: usize,
    points: Option<u64>,
    distance_words: Option<String>,
}

impl Today {
    fn of(store: &Memory, latest: &[Group], frame: &Frame, now: &Moment) -> Result<Self, ModelError> {
        let day = now.day();
        let today = |g: &&Group| {
            let at = g.at.as_deref().and_then(|at| Moment::read(at).ok());
            g.archer == Some(frame.archer) && at.is_some_and(|at| at.day() == day)
        };
        let session = latest.iter().find(today).and_then(|g| g.session.clone());
        let bow = frame.bow.as_ref().map(|n| n.id);
        let alike: Vec<&Group> = latest
            .iter()
            .filter(today)
            .filter(|g| g.session == session && g.bow == bow && g.distance_m == frame.distance_m)
            .collect();
        let shots = |g: &&Group| g.points_mm.as_ref().map_or(0, Vec::len);
        let mut points = Some(0);
        for group in &alike {
            let shaft_mm = records::shaft_mm(store, group.arrows)?;
            let scored = group.face().map(|face| total(&shots_of(group), &face, shaft_mm));
            points = points.zip(scored).map(|(sum, scored)| sum + scored);
        }
        Ok(Self {
            session,
            ends: alike.len(),
            arrows: alike.iter().map(shots).sum(),
            points,
            distance_words: frame.distance_m.map(distance_words),
        })
    }

    fn words(&self) -> String {
        let head = self.session.clone().unwrap_or_else(|| "Today".into());
        let at = self.distance_words.as_ref().map_or(String::new(), |at| format!(" at {at}"));
        if self.ends == 0 {
            return format!("{head}: the first end{at}");
        }
        let points = self.points.map_or(String::new(), |n| format!(", {}", count(n as usize, "point")));
        format!("{head}: {}, {}{points}{at}", count(self.ends, "end"), count(self.arrows, "arrow"))
    }
}

/// Returns what can be chosen: things in use, distances with the latest ones first, faces.
fn choices(store: &Memory, latest: &[Group]) -> Result<Value, ModelError> {
    let in_use = |kind| -> Result<Vec<Named>, ModelError> {
        Ok(records::all(store, kind)?.into_iter().filter(|n| !n.retired).collect())
    };
    let named = |n: &Named| json!({"id": n.id, "name": n.name});
    let mut arrows = Vec::new();
    for set in in_use("arrows")? {
        let count = records::arrow_set(store, Some(set.id))?.and_then(|s| s.count);
        arrows.push(json!({"id": set.id, "name": set.name, "count": count}));
    }
    let mut distances: Vec<f64> = Vec::new();
    for m in latest.iter().filter_map(|g| g.distance_m).chain(USUAL_M) {
        if !distances.contains(&m) {
            distances.push(m);
        }
    }
    let mut faces = Vec::new();
    for code in Face::codes() {
        faces.push(json!({"code": code, "name": Face::by_code(code)?.name()}));
    }
    Ok(json!({
        "bows": in_use("bow")?.iter().map(named).collect::<Vec<Value>>(),
        "archers": in_use("person")?.iter().map(named).collect::<Vec<Value>>(),
        "arrows": arrows,
        "distances": distances.iter().map(|m| json!({"m": m, "words": distance_words(*m)})).collect::<Vec<_>>(),
        "faces": faces,
    }))
}
