//! The risers, limbs, strings and pairs of the records, as combinations are made of them.

use super::FitsAsked;
use crate::{
    id::ThingId,
    kind::{self, Bow, Kind as _, Pair, Part},
    moment::Moment,
    name,
    named::name_of,
    records::Here,
    replica::Store,
    rig::{
        combinations::{Limits, Own, OwnLimbs, OwnPair, OwnRiser, OwnString, OwnWeight, Sits},
        whereabouts::{Whereabouts, gone, whereabouts},
    },
    stats::fit::LimbLength,
    timeline::Timeline,
    verdict::{self, bow::names, curve::held, limits::by_curve, wear::timelines},
};
use std::collections::BTreeMap;

/// What there is, and which records it comes from: in the order of [`Own`].
pub(super) struct Found {
    pub own: Own,
    pub risers: Vec<RiserOf>,
    pub limbs: Vec<ThingId>,
    /// The bow that each part is on.
    pub on: BTreeMap<ThingId, ThingId>,
}

/// The records that a riser comes from: a bow, a part, or the part that is on the bow.
#[derive(Clone, Copy, PartialEq)]
pub(super) struct RiserOf {
    pub bow: Option<ThingId>,
    pub part: Option<ThingId>,
}

/// Returns what the records hold that is in use; what is wanted for more is added.
pub(super) fn found<S: Store>(
    store: &S,
    draw_in: Option<f64>,
    asked: &FitsAsked,
    wanted: &mut Vec<String>,
) -> Result<Found, S::Error> {
    let all = timelines(store)?;
    let places = whereabouts(&all);
    let on = now_on(&places);
    let parts = parts(store)?;
    let mut found = Found { own: Own::default(), risers: Vec::new(), limbs: Vec::new(), on };
    found.own.draw_in = draw_in;
    found.own.discipline.clone_from(&asked.discipline);
    found.own.wanted_lbf = asked.weight_lbf;
    found.risers(bows(store)?, &parts, wanted);
    for (id, part) in of_sort(&parts, "limbs") {
        let name = called(*id, part.name.as_ref());
        if part.limb_length.is_none() {
            wanted
                .push(format!("the length class of {name} (short, medium, long), for the length of the bow"));
        }
        if part.marked_weight_lbf.is_none() {
            wanted.push(format!("the weight marked on {name}, for the weight to be expected"));
        }
        found.limbs.push(*id);
        found.own.limbs.push(own_limbs(name, part));
    }
    if found.limbs.is_empty() {
        wanted.push("the pairs of limbs that there are, as parts: what they make then stands here".into());
    }
    found.own.strings = own_strings(&parts, &found, &names(store)?);
    found.own.pairs = pairs(store, &found)?;
    if let Some(draw) = draw_in {
        found.own.weights = weights(store, &found, (&all, &places), draw)?;
    }
    Ok(found)
}

fn own_strings(parts: &Parts, found: &Found, names: &BTreeMap<ThingId, String>) -> Vec<OwnString> {
    let one = |(id, part): &(ThingId, Part)| OwnString {
        name: called(*id, part.name.as_ref()),
        bow_in: part.length_in,
        on: found.on.get(id).map(|bow| name_of(names, *bow)),
        limits: limits(part),
    };
    of_sort(parts, "string").map(one).collect()
}

type Parts = Vec<(ThingId, Part)>;

fn of_sort<'a>(parts: &'a Parts, what: &'a str) -> impl Iterator<Item = &'a (ThingId, Part)> {
    parts.iter().filter(move |(_, part)| part.what.as_deref() == Some(what))
}

/// Returns the parts in use, by name.
fn parts<S: Store>(store: &S) -> Result<Parts, S::Error> {
    let mut all = Parts::new();
    store.visit(Part::NAME, None, &mut |thing| {
        all.extend(kind::read::<Part>(thing).ok().filter(|part| !part.retired).map(|part| (thing.id, part)));
    })?;
    all.sort_by_key(|(id, part)| (name::key(part.name.as_deref().unwrap_or_default()), *id));
    Ok(all)
}

/// Returns the bows in use, by name.
fn bows<S: Store>(store: &S) -> Result<Vec<(ThingId, Bow)>, S::Error> {
    let mut all = Vec::new();
    store.visit(Bow::NAME, None, &mut |thing| {
        all.extend(kind::read::<Bow>(thing).ok().filter(|bow| !bow.retired).map(|bow| (thing.id, bow)));
    })?;
    all.sort_by_key(|(id, bow)| (name::key(bow.name.as_deref().unwrap_or_default()), *id));
    Ok(all)
}

/// Returns the bow that each part is on now.
fn now_on(found: &Whereabouts) -> BTreeMap<ThingId, ThingId> {
    let last = found.iter().filter_map(|(part, spells)| Some((*part, spells.last()?)));
    last.filter(|(_, spell)| spell.end.is_none()).map(|(part, spell)| (part, spell.bow)).collect()
}

impl Found {
    /// Adds the risers of the bows, each with the part that it is where that is noted, then those that are on no bow.
    fn risers(&mut self, bows: Vec<(ThingId, Bow)>, parts: &Parts, wanted: &mut Vec<String>) {
        let mut used = Vec::new();
        for (bow, record) in bows {
            let part = of_sort(parts, "riser").find(|(id, _)| self.on.get(id) == Some(&bow));
            used.extend(part.map(|(id, _)| *id));
            let name = called(bow, record.name.as_ref());
            let Some(riser_in) = part.and_then(|(_, part)| part.length_in).or(record.riser_in) else {
                wanted.push(format!("the length of the riser of {name}, for the lengths of bow and string"));
                continue;
            };
            if part.is_none() && of_sort(parts, "riser").any(|(id, _)| !self.on.contains_key(id)) {
                wanted
                    .push(format!("which of the risers {name} is built on, so that none stands here twice"));
            }
            let limits = part.map(|(_, part)| limits(part)).unwrap_or_default();
            self.risers.push(RiserOf { bow: Some(bow), part: part.map(|(id, _)| *id) });
            self.own.risers.push(OwnRiser { name, riser_in, discipline: record.discipline, limits });
        }
        for (id, part) in of_sort(parts, "riser").filter(|(id, _)| !used.contains(id)) {
            let name = called(*id, part.name.as_ref());
            let Some(riser_in) = part.length_in else {
                wanted.push(format!("the length of the riser {name}, for the lengths of bow and string"));
                continue;
            };
            self.risers.push(RiserOf { bow: None, part: Some(*id) });
            self.own.risers.push(OwnRiser { name, riser_in, discipline: None, limits: limits(part) });
        }
    }
}

fn own_limbs(name: String, part: &Part) -> OwnLimbs {
    let class =
        |word: &String| LimbLength::WORDS.iter().find(|(known, _)| known == word).map(|(_, class)| *class);
    OwnLimbs {
        name,
        limb_length: part.limb_length.as_ref().and_then(class),
        longbow: part.limb_kind.as_deref() == Some("longbow"),
        marked_weight_lbf: part.marked_weight_lbf,
        marked_draw_in: part.marked_draw_in,
        marked_riser_in: part.marked_riser_in,
        limits: limits(part),
    }
}

fn limits(part: &Part) -> Limits {
    Limits {
        least_weight_lbf: part.least_weight_lbf,
        most_weight_lbf: part.most_weight_lbf,
        most_draw_in: part.most_draw_in,
        brace_mm: [part.least_brace_mm, part.most_brace_mm],
    }
}

/// Returns the pairs that were measured, in the order in which they were.
fn pairs<S: Store>(store: &S, found: &Found) -> Result<Vec<OwnPair>, S::Error> {
    let measured = verdict::pairs(store, None)?.rows;
    let beyond: Vec<ThingId> =
        measured.iter().filter(|row| !row.left_out.is_empty()).filter_map(|row| row.pair).collect();
    let mut all = Vec::new();
    store.visit(Pair::NAME, None, &mut |thing| {
        let Ok(pair) = kind::read::<Pair>(thing) else { return };
        let known =
            |word: &String| Sits::WORDS.iter().find(|(known, _)| known == word).map(|(_, sits)| *sits);
        let Some(sits) = pair.fit.as_ref().and_then(known).filter(|_| !pair.retired) else { return };
        let limbs = found.limbs.iter().position(|id| pair.limbs == Some(*id));
        // The riser itself where it is named; else the one that the bow is.
        let riser = found.risers.iter().position(|of| match pair.riser {
            Some(part) => of.part == Some(part),
            None => of.bow.is_some() && of.bow == pair.bow,
        });
        let at = pair.at.as_deref().and_then(|at| Moment::read(at).ok()).map(|at| at.unix_ms());
        let beyond = beyond.contains(&thing.id);
        let one = |(riser, limbs)| (at, thing.born(), OwnPair { riser, limbs, sits, beyond });
        all.extend(riser.zip(limbs).map(one));
    })?;
    all.sort_by_key(|(at, born, _)| (*at, *born));
    Ok(all.into_iter().map(|(_, _, pair)| pair).collect())
}

/// Returns the weights at a draw of the bows as they are set up now, where a draw curve of them still holds. What was noted
/// as one figure is left out: it is of one archer's draw.
fn weights<S: Store>(
    store: &S,
    found: &Found,
    (all, places): (&[Timeline], &Whereabouts),
    draw_in: f64,
) -> Result<Vec<OwnWeight>, S::Error> {
    let names = names(store)?;
    let mut weights = Vec::new();
    for (riser, of) in found.risers.iter().enumerate() {
        let Some(timeline) = all.iter().find(|timeline| Some(timeline.bow) == of.bow) else { continue };
        let on_it = |id: &ThingId| found.on.get(id) == Some(&timeline.bow);
        let Some(limbs) = found.limbs.iter().position(on_it) else { continue };
        let setup = timeline.setup_now();
        let gone = gone(places, timeline.bow, &setup);
        let (curves, _) = held(store, timeline, &Here::without(setup, gone), &names)?;
        weights.extend(by_curve(&curves, draw_in).map(|(_, lbf)| OwnWeight { riser, limbs, lbf }));
    }
    Ok(weights)
}

fn called(id: ThingId, name: Option<&String>) -> String {
    name.map_or_else(|| id.short(), |name| name.replace(char::is_control, " "))
}
