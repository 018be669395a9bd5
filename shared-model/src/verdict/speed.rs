//! The speeds that were measured with a bow: who drew for them, and whether they still say something of the bow as it is.

use super::{
    arrow_set::mean_mass_gr,
    bow::{day_words, names},
    curve::{Drawer, Held, altered_since, held, otherwise},
    sentence::list,
    units::trimmed,
};
use crate::{
    id::ThingId,
    kind::{self, Arrows, Speed},
    log::Stamp,
    moment::Moment,
    named::name_of,
    records::{Here, arrow_set, setup_here},
    replica::Store,
    timeline::Timeline,
};
use std::collections::BTreeMap;

/// Speeds that an arrow can have, ft/s (only slips lie outside).
const SPEEDS_FPS: std::ops::RangeInclusive<f64> = 1.0..=650.0;
/// Masses that an arrow can have, grains.
const MASSES_GR: std::ops::RangeInclusive<f64> = 1.0..=3000.0;

/// A speed as it was noted.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Shot {
    /// When, where that is noted.
    pub at: Option<Moment>,
    stamp: Option<Stamp>,
    /// Speed of the arrow, ft/s.
    pub fps: f64,
    /// Who drew.
    pub archer: Option<ThingId>,
    /// Of which set.
    pub arrows: Option<ThingId>,
}

impl Shot {
    fn at_ms(&self) -> i64 {
        self.at.map_or(i64::MIN, |at| at.unix_ms())
    }

    /// Returns the day on which it was measured, in words.
    pub fn day(&self) -> Option<String> {
        self.at.map(|at| day_words(&at.day()))
    }
}

/// Returns the speeds that were measured with a bow, of one arrow set where that is asked for, the latest first.
pub(super) fn shots<S: Store>(
    store: &S,
    bow: ThingId,
    arrows: Option<ThingId>,
) -> Result<Vec<Shot>, S::Error> {
    let mut found: Vec<Shot> = Vec::new();
    store.visit("speed", Some(bow), &mut |thing| {
        let Ok(speed) = kind::read::<Speed>(thing) else { return };
        let wanted = !speed.retired && speed.bow == Some(bow) && (arrows.is_none() || speed.arrows == arrows);
        let Some(fps) = speed.speed_fps.filter(|fps| wanted && SPEEDS_FPS.contains(fps)) else { return };
        let at = speed.at.as_deref().and_then(|at| Moment::read(at).ok());
        found.push(Shot { at, stamp: thing.born(), fps, archer: speed.archer, arrows: speed.arrows });
    })?;
    found.sort_by_key(|shot| std::cmp::Reverse((shot.at_ms(), shot.stamp)));
    Ok(found)
}

/// Returns the mass of a set's mean arrow, grains.
pub(super) fn mass_gr<S: Store>(store: &S, set: Option<ThingId>) -> Result<Option<f64>, S::Error> {
    let set = arrow_set(store, set)?.map(Arrows::measured);
    Ok(set.as_ref().and_then(mean_mass_gr).filter(|gr| MASSES_GR.contains(gr)))
}

/// A speed by which energy and flight of a set are told.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct SpeedOf {
    /// Speed of the arrow, ft/s.
    pub speed_fps: f64,
    /// When, milliseconds since 1970; the earliest where it is not noted.
    pub at_ms: i64,
    /// The day in words.
    pub day: Option<String>,
    /// Who drew.
    pub archer: Option<ThingId>,
    /// The same with the draw, in a clause.
    pub drawn: String,
}

/// The speed of a set from a bow that counts, and what is said of the latest where that does not.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Speeds {
    /// The latest that can be of the bow as it is.
    pub counts: Option<SpeedOf>,
    /// Why the latest does not count.
    pub unused: Option<String>,
}

/// Returns the speed of a set from a bow: one that was measured with other limbs on, or that is more than the draw curve can
/// give, is said and does not count.
pub(super) fn speeds<S: Store>(store: &S, bow: ThingId, set: ThingId) -> Result<Speeds, S::Error> {
    let shots = shots(store, bow, Some(set))?;
    let mut told = Speeds::default();
    if shots.is_empty() {
        return Ok(told);
    }
    let of = OfBow::read(store, bow)?;
    for shot in shots {
        let drawn = of.drawn(&shot)?;
        let Some(why) = of.why_not(&shot)? else {
            told.counts = Some(SpeedOf {
                speed_fps: shot.fps,
                at_ms: shot.at_ms(),
                day: shot.day(),
                archer: shot.archer,
                drawn,
            });
            return Ok(told);
        };
        told.unused = told.unused.or_else(|| {
            let (fps, bow) = (trimmed(shot.fps, 1), name_of(&of.names, bow));
            let day = shot.day().map_or_else(String::new, |day| format!(", measured {day}"));
            let drawn = if drawn.is_empty() && !day.is_empty() { "," } else { &drawn };
            Some(format!("{fps} ft/s from {bow}{day}{drawn} is not used: {why}."))
        });
    }
    Ok(told)
}

/// Says why a speed that is to be noted cannot be by the draw curve.
pub(crate) fn speed_beyond<S: Store>(
    store: &S,
    bow: ThingId,
    (archer, arrows): (Option<ThingId>, Option<ThingId>),
    at: Moment,
    fps: f64,
) -> Result<Option<String>, S::Error> {
    OfBow::read(store, bow)?.beyond(&Shot { at: Some(at), stamp: None, fps, archer, arrows })
}

/// A bow while its speeds are held against what it is now and what it was measured to store.
struct OfBow<'a, S> {
    store: &'a S,
    timeline: Timeline,
    now: Here,
    curves: Vec<Held>,
    names: BTreeMap<ThingId, String>,
}

impl<'a, S: Store> OfBow<'a, S> {
    fn read(store: &'a S, bow: ThingId) -> Result<Self, S::Error> {
        let (timeline, now, names) = (Timeline::read(store, bow)?, setup_here(store, bow)?, names(store)?);
        let (curves, _) = held(store, &timeline, &now, &names)?;
        Ok(Self { store, timeline, now, curves, names })
    }

    /// Returns who drew and how far, in a clause; nothing where that is not noted.
    fn drawn(&self, shot: &Shot) -> Result<String, S::Error> {
        let Some(archer) = shot.archer else { return Ok(String::new()) };
        let drawer = Drawer::read(self.store, archer, &self.names)?;
        let at = drawer.draw_in.map_or_else(String::new, |draw| format!(" at {} in", trimmed(draw, 2)));
        Ok(format!(", drawn by {}{at},", drawer.name))
    }

    /// Returns why a speed says nothing of the bow as it is.
    fn why_not(&self, shot: &Shot) -> Result<Option<String>, S::Error> {
        let changed = match shot.at {
            Some(at) => altered_since(&self.timeline, &self.now, at, &self.names),
            None => Vec::new(),
        };
        if !changed.is_empty() {
            return Ok(Some(format!(
                "the bow was set up otherwise then, {}; measure it again",
                list(&changed)
            )));
        }
        self.beyond(shot)
    }

    /// Returns why a speed cannot be by the draw curve of the bow as it was then.
    fn beyond(&self, shot: &Shot) -> Result<Option<String>, S::Error> {
        let (Some(at), Some(archer)) = (shot.at, shot.archer) else { return Ok(None) };
        let drawer = Drawer::read(self.store, archer, &self.names)?;
        let (Some(draw), Some(mass)) = (drawer.draw_in, mass_gr(self.store, shot.arrows)?) else {
            return Ok(None);
        };
        let then = self.timeline.setup_at(at.unix_ms());
        let same =
            |one: &&Held| otherwise(&self.timeline.setup_at(one.at.unix_ms()), &then, &self.names).is_empty();
        let curve = self.curves.iter().find(same);
        Ok(curve.filter(|curve| curve.cannot_give(draw, mass, shot.fps)).map(|_| {
            format!(
                "that is more energy than the draw curve stores up to {}'s draw of {} in, which cannot be; check speed, mass, \
                 draw length and curve",
                drawer.name,
                trimmed(draw, 2)
            )
        }))
    }
}
