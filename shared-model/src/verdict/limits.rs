//! What of a bow lies beyond a limit, from what the records know of it, of who draws it and of what it shoots.

mod fields;
mod weight;

use super::{
    bow::names,
    bow_sheet::shortest,
    curve::{Drawer, held, own_draw_in},
    pairs::fit_of,
    wear::{misses_on_last_day, timelines},
};
use crate::{
    id::ThingId,
    kind::{self, Arrows, Group},
    named::name_of,
    records::Here,
    replica::Store,
    rig::{
        caution,
        limits::{BEARING, Facts, Finding, PartLimits, Severity, beyond},
        weight::{MARKED_ON_IN, Marked},
        whereabouts::{gone, whereabouts},
    },
    stats::fit::{BEYOND_PIVOT_IN, bow_length_in},
    timeline::{Timeline, What},
};
use fields::Fields;
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use weight::most_shot;
pub(super) use weight::{Noted, by_curve, expected, measured, noted, shares};

/// Draws that differ by no more than this are the same to a weight that was read on a scale, in.
const SAME_DRAW_IN: f64 = 0.25;
/// The settings that name parts whose makers may set limits.
pub(super) const PARTS: &[&str] =
    &["riser", "limbs", "string", "rest", "plunger", "grip", "sight", "stabiliser"];

/// For whom a bow is judged.
#[derive(Debug, Clone, Copy)]
pub(super) enum For {
    /// This archer.
    Archer(ThingId),
    /// Whoever shot it last; this one where nobody has.
    Last(Option<ThingId>),
}

/// Returns what of a bow as it is now lies beyond a limit; `me` draws it where nobody has shot it yet.
///
/// # Errors
/// Those of the store.
pub fn limits_of<S: Store>(store: &S, bow: ThingId, me: Option<ThingId>) -> Result<Vec<Finding>, S::Error> {
    limits_with(store, &timelines(store)?, bow, For::Last(me), &BTreeMap::new())
}

/// Returns what lies beyond a limit and can come of what was just altered: it is said once, with the change.
///
/// # Errors
/// Those of the store.
pub fn limits_after<S: Store, N: AsRef<str>>(
    store: &S,
    bow: ThingId,
    me: Option<ThingId>,
    altered: &[N],
) -> Result<Vec<Finding>, S::Error> {
    let mut found = limits_of(store, bow, me)?;
    found.retain(|finding| {
        finding.code != "carbon_missed" && altered.iter().any(|s| finding.touched_by(s.as_ref()))
    });
    Ok(found)
}

/// Returns which of the values measured anew lie beyond a limit.
///
/// # Errors
/// Those of the store.
pub fn limits_measured<S: Store>(
    store: &S,
    bow: ThingId,
    measured: &BTreeMap<String, Value>,
) -> Result<Vec<Finding>, S::Error> {
    if measured.is_empty() {
        return Ok(Vec::new());
    }
    let mut found = limits_with(store, &timelines(store)?, bow, For::Last(None), measured)?;
    found.retain(|finding| measured.contains_key(finding.setting) && finding.code != "carbon_missed");
    Ok(found)
}

/// Returns what is to be said of a group that was just kept: what stops, with the first group that its archer shoots with
/// the bow as it is since the last change; what a miss can have done to carbon shafts, with the first one of a day; and, with
/// every group, that arrows out of use were shot.
///
/// # Errors
/// Those of the store.
pub fn limits_when_shot<S: Store>(store: &S, bow: ThingId, group: ThingId) -> Result<Vec<Finding>, S::Error> {
    let timeline = Timeline::read(store, bow)?;
    let Some(place) = timeline.items.iter().position(|item| item.id == group) else { return Ok(Vec::new()) };
    let What::Group(shot) = &timeline.items[place].what else { return Ok(Vec::new()) };
    let later = timeline.items[place + 1..].iter().any(|item| matches!(item.what, What::Change(_)));
    let (first_since, first_miss) = firsts(&timeline, place, shot);
    let out = beyond(&Facts { out_shot: out_shot(store, shot)?, ..Facts::default() });
    if later || !(first_since || first_miss) {
        return Ok(out);
    }
    let who = shot.archer.map_or(For::Last(None), For::Archer);
    let mut found = limits_with(store, &timelines(store)?, bow, who, &BTreeMap::new())?;
    found.retain(|finding| match finding.code {
        "carbon_missed" => first_miss,
        _ => first_since && finding.severity == Severity::Stop,
    });
    found.extend(out);
    Ok(found)
}

/// Returns what stops of a bow as it is now, for an archer who shot it: what is said with a count of arrows.
///
/// # Errors
/// Those of the store.
pub fn limits_when_counted<S: Store>(
    store: &S,
    bow: ThingId,
    archer: ThingId,
) -> Result<Vec<Finding>, S::Error> {
    let mut found = limits_with(store, &timelines(store)?, bow, For::Archer(archer), &BTreeMap::new())?;
    found.retain(|finding| finding.severity == Severity::Stop);
    Ok(found)
}

/// Returns which arrows of a group are noted as out of use, with the remarks that say why.
fn out_shot<S: Store>(store: &S, shot: &Group) -> Result<Vec<(u32, Option<String>)>, S::Error> {
    let Some(set) = shot.arrows.map(|set| store.thing("arrows", set)).transpose()?.flatten() else {
        return Ok(Vec::new());
    };
    let set: Arrows = kind::read(&set).unwrap_or_default();
    let numbers = shot.arrow_numbers.iter().flatten().flatten().filter_map(|typed| typed.trim().parse().ok());
    let shot: BTreeSet<u32> = numbers.collect();
    let out = set.shafts().into_iter().filter(|(number, shaft)| shaft.out && shot.contains(number));
    Ok(out.map(|(number, shaft)| (number, shaft.note)).collect())
}

/// Returns whether a group is its archer's first since the last change, and the first of its day with a miss of its set.
fn firsts(timeline: &Timeline, place: usize, shot: &Group) -> (bool, bool) {
    let missed = |group: &Group| group.points_mm.iter().flatten().any(Option::is_none);
    let before = || timeline.items[..place].iter().rev();
    let groups = before().map_while(|item| match &item.what {
        What::Change(_) => None,
        What::Group(group) => Some(group),
    });
    let first_since = groups.into_iter().all(|other| other.archer != shot.archer);
    let day = timeline.items[place].at.day();
    let of_day = before().take_while(|item| item.at.day() == day);
    let mut of_day =
        of_day.filter_map(|item| if let What::Group(group) = &item.what { Some(group) } else { None });
    let first_miss = missed(shot) && !of_day.any(|other| other.arrows == shot.arrows && missed(other));
    (first_since, first_miss)
}

/// Returns what lies beyond a limit with some settings as they were measured anew.
pub(super) fn limits_with<S: Store>(
    store: &S,
    all: &[Timeline],
    bow: ThingId,
    whom: For,
    anew: &BTreeMap<String, Value>,
) -> Result<Vec<Finding>, S::Error> {
    let Some(timeline) = all.iter().find(|timeline| timeline.bow == bow) else { return Ok(Vec::new()) };
    let setup = timeline.setup_now();
    let gone = gone(&whereabouts(all), bow, &setup);
    let here = Here::without(setup, gone);
    let value =
        |setting: &str| anew.get(setting).or_else(|| here.setup.get(setting).map(|set| &set.value)).cloned();
    let number = |setting: &str| in_range(setting, value(setting).as_ref());
    let thing =
        |setting: &str| -> Option<ThingId> { value(setting).and_then(|value| value.as_str()?.parse().ok()) };
    let mut facts = measures(&number);
    let marked = makers(store, bow, &thing, &mut facts)?;
    facts.fit = match thing("limbs") {
        Some(limbs) => fit_of(store, bow, thing("riser"), limbs)?,
        None => None,
    };
    let names = names(store)?;
    who(store, (timeline, all), &names, whom, &mut facts)?;
    let on_scale = anew.get("draw_weight_lbf").and_then(|value| in_range("draw_weight_lbf", Some(value)));
    facts.weight_lbf = match on_scale {
        Some(lbf) => Some([lbf, lbf]),
        None => weight(store, (timeline, &here), &names, &facts, marked)?,
    };
    if let Some(set) = thing("arrows") {
        arrows(store, all, set, &mut facts)?;
    }
    Ok(beyond(&facts))
}

/// Returns what was measured of the bow itself.
fn measures(number: &dyn Fn(&str) -> Option<f64>) -> Facts {
    Facts {
        limb_bolt_top_turns: number("limb_bolt_top_turns"),
        limb_bolt_bottom_turns: number("limb_bolt_bottom_turns"),
        limb_lateral_top_mm: number("limb_lateral_top_mm"),
        limb_lateral_bottom_mm: number("limb_lateral_bottom_mm"),
        brace_height_mm: number("brace_height_mm"),
        ..Facts::default()
    }
}

/// Returns the weight on the fingers from least to most, lbf: as it was measured, else as it is to be expected from what is
/// marked on the limbs.
fn weight<S: Store>(
    store: &S,
    (timeline, here): (&Timeline, &Here),
    names: &BTreeMap<ThingId, String>,
    facts: &Facts,
    marked: Option<(Marked, f64)>,
) -> Result<Option<[f64; 2]>, S::Error> {
    let (curves, _) = held(store, timeline, here, names)?;
    let noted = noted(timeline, &here.gone, names);
    if let Some(lbf) = measured(&curves, noted.as_ref(), facts.draw_length_in) {
        let by_scale = facts.draw_length_in.and_then(|draw| by_curve(&curves, draw)).is_none();
        let other = noted.filter(|_| by_scale).map(|noted| at_draw(store, &noted, facts)).transpose()?;
        return Ok(Some(other.unwrap_or([lbf, lbf])));
    }
    let bearing = facts.parts.iter().filter(|part| BEARING.contains(&part.part.as_str()));
    let ranges: Vec<_> = bearing.map(|part| [part.least_bolt_turns, part.most_bolt_turns]).collect();
    let (bolts, _) = shares([facts.limb_bolt_top_turns, facts.limb_bolt_bottom_turns], &ranges);
    Ok(expected(marked, facts.draw_length_in, bolts))
}

/// Returns the weight that was noted, as it is to be expected at the draw that is asked about: it was read at the draw of who
/// noted it.
fn at_draw<S: Store>(store: &S, noted: &Noted, facts: &Facts) -> Result<[f64; 2], S::Error> {
    let person = noted.by.map(|by| store.thing("person", by)).transpose()?.flatten();
    let read_at = person.and_then(|person| kind::read(&person).ok()).as_ref().and_then(own_draw_in);
    let other = read_at.zip(facts.draw_length_in).filter(|(then, now)| (then - now).abs() > SAME_DRAW_IN);
    let rule = |(then, now)| {
        Marked { draw_in: then, ..Marked::usual(noted.lbf) }.range_lbf(now, MARKED_ON_IN, [0.0, 0.0])
    };
    Ok(other.and_then(rule).unwrap_or([noted.lbf; 2]))
}

/// Adds the makers' limits of the parts on the bow, and returns what is marked on the limbs with the length of the riser.
fn makers<S: Store>(
    store: &S,
    bow: ThingId,
    thing: &dyn Fn(&str) -> Option<ThingId>,
    facts: &mut Facts,
) -> Result<Option<(Marked, f64)>, S::Error> {
    let riser = store.thing("bow", bow)?.and_then(|thing| Fields::of("bow", &thing).number("riser_in"));
    let (mut marked, mut built_on, mut class) = (None, riser, None);
    for setting in PARTS {
        let Some(part) = thing(setting).map(|id| store.thing("part", id)).transpose()?.flatten() else {
            continue;
        };
        let fields = Fields::of("part", &part);
        match *setting {
            "riser" => built_on = fields.number("length_in").or(riser),
            "limbs" => (marked, class) = (fields.marked(), fields.limb_length()),
            "string" => facts.string_for_in = fields.number("length_in"),
            _ => {}
        }
        let limits = fields.limits(setting);
        if limits != (PartLimits { part: (*setting).to_owned(), ..PartLimits::default() }) {
            facts.parts.push(limits);
        }
    }
    facts.bow_length_in =
        built_on.zip(class).and_then(|(riser, class)| bow_length_in(riser, class).ok().flatten());
    Ok(marked.zip(built_on))
}

/// Returns a setting's number where it is one that a bow can have.
fn in_range(setting: &str, value: Option<&Value>) -> Option<f64> {
    let value = value.filter(|value| kind::check_setting(setting, value).is_ok())?;
    value.as_f64().filter(|number| number.is_finite())
}

/// Adds for whom the bow is judged, the most weight that this archer has shot, and how far the bow is drawn: by this archer,
/// else by whoever shot it last and has a draw length noted.
fn who<S: Store>(
    store: &S,
    (timeline, all): (&Timeline, &[Timeline]),
    names: &BTreeMap<ThingId, String>,
    whom: For,
    facts: &mut Facts,
) -> Result<(), S::Error> {
    let last = || timeline.groups().filter_map(|(_, group)| group.archer).last();
    let archer = match whom {
        For::Archer(archer) => Some(archer),
        For::Last(me) => last().or(me),
    };
    let Some(archer) = archer else { return Ok(()) };
    let Some(person) = store.thing("person", archer)? else { return Ok(()) };
    let fields = Fields::of("person", &person);
    let pivot = fields.number("pivot_draw_in").map(|inches| inches + BEYOND_PIVOT_IN);
    let own = fields.number("draw_length_in").or(pivot);
    let drawer = Drawer::of_bow(store, timeline, archer, names)?;
    facts.draw_length_in = own.or(drawer.draw_in);
    facts.drawer = (own.is_none() && drawer.id != archer).then_some(drawer.name);
    facts.archer = Some(name_of(names, archer));
    let most = all.iter().filter_map(|one| most_shot(one, archer, one.bow == timeline.bow));
    facts.shot_weight_lbf = most.max_by(f64::total_cmp);
    Ok(())
}

/// Adds what is known of the arrow set: the lightest of its arrows, what they are made of, and what missed last.
fn arrows<S: Store>(store: &S, all: &[Timeline], set: ThingId, facts: &mut Facts) -> Result<(), S::Error> {
    let Some(thing) = store.thing("arrows", set)? else { return Ok(()) };
    let fields = Fields::of("arrows", &thing);
    facts.arrow_gr = fields.lightest_gr();
    facts.arrow_length_in =
        shortest(&kind::read(&thing).unwrap_or_default()).map(|shortest| shortest.length_in);
    facts.carbon = fields.text("material").is_some_and(|m| m.contains("carbon"));
    facts.missed = misses_on_last_day(all, set);
    Ok(())
}

/// Returns what is said with a change: what lies beyond a limit now, then what to take care of at what was altered.
pub fn cautions_with<N: AsRef<str>>(found: &[Finding], altered: &[N]) -> Vec<String> {
    let mut said: Vec<String> = found.iter().map(Finding::said).collect();
    let general = caution::of_settings(altered);
    said.extend(
        caution::once(general.into_iter().chain(found.iter().map(|one| one.caution)))
            .into_iter()
            .map(str::to_owned),
    );
    said
}
