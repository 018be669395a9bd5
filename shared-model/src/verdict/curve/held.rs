//! The draw curves of a bow as they are kept, and whether they are still those of the bow as it is.

use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Curve, Person, same_value},
    log::Stamp,
    moment::Moment,
    records::Here,
    replica::Store,
    rig::{
        arrow::{ftlbf, kinetic_energy_j},
        force_draw::DrawCurve,
    },
    timeline::{Altered, Setup, Timeline, What},
    verdict::{
        altered::{altered, name_and_unit},
        moved::gone_words,
    },
};
use std::collections::BTreeMap;

/// The settings on which a draw curve depends; on the first of them, [`OF_WEIGHT`], a draw weight as well.
const FORCE: [&str; 7] = [
    "riser",
    "limbs",
    "limb_bolt_top_turns",
    "limb_bolt_bottom_turns",
    "string",
    "string_twists",
    "brace_height_mm",
];

/// On so many of the settings a draw weight depends that was noted as one figure: a brace height that is set anew moves it by
/// less than a scale shows.
const OF_WEIGHT: usize = 5;

/// A draw longer, and a weight larger, than any bow's.
const MOST_DRAW_IN: f64 = 60.0;
const MOST_LBF: f64 = 300.0;

/// A draw curve that is kept.
#[derive(Debug, Clone)]
pub(crate) struct Held {
    /// Which record.
    pub id: ThingId,
    /// When it was measured.
    pub at: Moment,
    stamp: Stamp,
    /// The points measured, draw in inches and weight in lbf.
    pub points: Vec<[f64; 2]>,
    /// The draw without weight that was added, inches.
    pub added_in: Option<f64>,
    /// The curve through all of them.
    pub curve: DrawCurve,
    /// The remark that its record holds.
    pub note: Option<String>,
    /// What was altered since on which the curve depends, in words.
    pub changed: Vec<String>,
    /// What was noted since for the first time, so that nobody knows what it was then.
    pub noted_since: Vec<String>,
}

impl Held {
    /// Returns whether the curve is of the bow as it is now.
    pub fn is_valid(&self) -> bool {
        self.changed.is_empty()
    }

    /// Returns whether the curve begins where there is no weight.
    pub fn begins_at_rest(&self) -> bool {
        self.added_in.is_some() || self.points.first().is_some_and(|[_, lbf]| *lbf == 0.0)
    }

    /// Returns whether an arrow would take along more than can be stored up to a draw: before the first draw measured the bow
    /// pulls no more than there. Nothing is said of draws outside what was measured.
    pub fn cannot_give(&self, draw_in: f64, mass_gr: f64, fps: f64) -> bool {
        let Some(stored) = self.curve.stored_to_ftlbf(draw_in) else { return false };
        let [first, _] = self.curve.span_in();
        let before = self.curve.at(first).map_or(0.0, |[lbf, _]| lbf * first / 12.0);
        ftlbf(kinetic_energy_j(mass_gr, fps)) > stored + if self.begins_at_rest() { 0.0 } else { before }
    }

    /// Returns the last draw measured, inches.
    pub fn last_in(&self) -> f64 {
        self.curve.span_in()[1]
    }
}

/// Returns the draw curves of a bow in use, the latest first, and why others cannot be read; `now` is what is on it.
pub(crate) fn held<S: Store>(
    store: &S,
    timeline: &Timeline,
    now: &Here,
    names: &BTreeMap<ThingId, String>,
) -> Result<(Vec<Held>, Vec<String>), S::Error> {
    let (mut found, mut unread) = (Vec::new(), Vec::new());
    store.visit("curve", Some(timeline.bow), &mut |thing| {
        let read = kind::read::<Curve>(thing).and_then(|record| {
            let stamp = thing.born();
            if record.retired {
                return Ok(None);
            }
            let (at, curve, points) = read_curve(&record)?;
            Ok(stamp.map(|stamp| (record, at, curve, points, stamp)))
        });
        match read {
            Ok(Some((record, at, curve, points, stamp))) => {
                let (mut changed, noted_since) =
                    since(&FORCE, &timeline.setup_at(at.unix_ms()), &now.setup, names);
                changed.extend(went(now, at, names));
                found.push(Held {
                    id: thing.id,
                    at,
                    stamp,
                    points,
                    added_in: record.no_weight_draw_in,
                    curve,
                    note: record.note,
                    changed,
                    noted_since,
                });
            }
            Ok(None) => {}
            Err(e) => unread.push(format!("the curve {} cannot be read: {}", thing.id.short(), e.message)),
        }
    })?;
    found.sort_by_key(|one| std::cmp::Reverse((one.at.unix_ms(), one.stamp)));
    Ok((found, unread))
}

/// Reads moment, curve and measured points of a record.
fn read_curve(record: &Curve) -> Result<(Moment, DrawCurve, Vec<[f64; 2]>), ModelError> {
    let missing = |what: &str| ModelError::new("missing_field", format!("it has no {what}"));
    let at = Moment::read(record.at.as_deref().ok_or_else(|| missing("moment"))?)?;
    let draw = record.draw_in.as_deref().ok_or_else(|| missing("draws"))?;
    let weight = record.weight_lbf.as_deref().ok_or_else(|| missing("weights"))?;
    // What came from elsewhere may hold anything.
    let odd = |most: f64| move |value: &f64| !(0.0..=most).contains(value);
    if draw.iter().chain(&record.no_weight_draw_in).any(odd(MOST_DRAW_IN)) || weight.iter().any(odd(MOST_LBF))
    {
        return Err(ModelError::new("out_of_range", "it holds draws or weights that no bow has"));
    }
    let measured = DrawCurve::new(draw, weight)?;
    let points = draw.iter().copied().zip(weight.iter().copied()).map(|(d, w)| [d, w]).collect();
    let Some(rest) = record.no_weight_draw_in else { return Ok((at, measured, points)) };
    let all = |first: f64, more: &[f64]| [&[first], more].concat();
    Ok((at, DrawCurve::new(&all(rest, draw), &all(0.0, weight))?, points))
}

/// Returns in words what is otherwise now than it was, and what is noted now and was not then.
fn since(
    settings: &[&str],
    then: &Setup,
    now: &Setup,
    names: &BTreeMap<ThingId, String>,
) -> (Vec<String>, Vec<String>) {
    let (mut changed, mut noted) = (Vec::new(), Vec::new());
    for &setting in settings {
        let Some(set) = now.get(setting) else { continue };
        match then.get(setting) {
            None => noted.push(name_and_unit(setting).0),
            Some(was) if same_value(&was.value, &set.value) => {}
            Some(was) => {
                let step = Altered {
                    setting: setting.to_owned(),
                    before: Some(was.value.clone()),
                    after: set.value.clone(),
                };
                changed.push(altered(&step, &|id| names.get(&id).cloned()));
            }
        }
    }
    (changed, noted)
}

/// Returns in words what of a bow went to another one after a moment, as far as a draw curve depends on it.
fn went(now: &Here, at: Moment, names: &BTreeMap<ThingId, String>) -> Vec<String> {
    let gone = FORCE.iter().filter_map(|setting| Some((setting, now.gone.get(*setting)?)));
    let later = gone.filter(|(_, gone)| gone.at.unix_ms() > at.unix_ms());
    later.map(|(setting, gone)| format!("the {setting} {}", gone_words(gone, names))).collect()
}

/// Returns in words what was altered on a bow since a moment, as far as a draw curve depends on it, and what of it went.
pub(crate) fn altered_since(
    timeline: &Timeline,
    now: &Here,
    at: Moment,
    names: &BTreeMap<ThingId, String>,
) -> Vec<String> {
    let mut changed = otherwise(&timeline.setup_at(at.unix_ms()), &now.setup, names);
    changed.extend(went(now, at, names));
    changed
}

/// Returns in words on what two setups differ, as far as a draw curve depends on it.
pub(crate) fn otherwise(one: &Setup, other: &Setup, names: &BTreeMap<ThingId, String>) -> Vec<String> {
    since(&FORCE, one, other, names).0
}

/// Returns in words what was altered between two setups that makes a bow heavier or lighter.
pub(crate) fn weight_since(then: &Setup, now: &Setup, names: &BTreeMap<ThingId, String>) -> Vec<String> {
    since(&FORCE[..OF_WEIGHT], then, now, names).0
}

/// Who draws a bow, and how far.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Drawer {
    /// The archer.
    pub id: ThingId,
    /// The archer's name.
    pub name: String,
    /// The draw length, inches; none where it is not noted.
    pub draw_in: Option<f64>,
}

impl Drawer {
    /// Reads an archer.
    pub fn read<S: Store>(
        store: &S,
        id: ThingId,
        names: &BTreeMap<ThingId, String>,
    ) -> Result<Self, S::Error> {
        let person: Option<Person> = store.thing("person", id)?.and_then(|thing| kind::read(&thing).ok());
        let name = crate::named::name_of(names, id);
        Ok(Self { id, name, draw_in: person.as_ref().and_then(own_draw_in) })
    }

    /// Returns who shot a bow last and has a draw length noted, or `me` where nobody has.
    pub fn of_bow<S: Store>(
        store: &S,
        timeline: &Timeline,
        me: ThingId,
        names: &BTreeMap<ThingId, String>,
    ) -> Result<Self, S::Error> {
        let mut seen = Vec::new();
        for item in timeline.items.iter().rev() {
            let What::Group(group) = &item.what else { continue };
            let Some(id) = group.archer.filter(|id| !seen.contains(id)) else { continue };
            seen.push(id);
            let drawer = Self::read(store, id, names)?;
            if drawer.draw_in.is_some() {
                return Ok(drawer);
            }
        }
        Self::read(store, seen.first().copied().unwrap_or(me), names)
    }
}

/// Returns a person's draw length by the AMO measure: as noted, or from the length to the grip's pivot point.
pub(crate) fn own_draw_in(person: &Person) -> Option<f64> {
    person.draw_in().filter(|draw| (1.0..=60.0).contains(draw))
}
