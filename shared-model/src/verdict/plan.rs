//! A plan in words: what it promises, what to shoot next, and what it says so far.

use super::{
    altered::{name_and_unit, quantity},
    bow::names,
    sentence::{beside, list, percent, ratio_bounds, ratio_words, shift_bounds},
    units::{Units, count},
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{Group, Plan, same_value},
    moment::Moment,
    named::name_of,
    replica::Store,
    stats::plan_verdict::{PlanVerdict, PlannedEnd, Promise, Word, plan_verdict},
    timeline::{Setup, Timeline},
};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// The state of a plan.
#[derive(Debug, Clone, Serialize)]
pub struct PlanState {
    /// The plan.
    pub plan: ThingId,
    /// What it promises, in a sentence or two.
    pub promise: Vec<String>,
    /// What it says so far.
    pub verdict: Vec<String>,
    /// What to shoot next; nothing when all was shot.
    pub next: Option<NextEnd>,
    /// Ends that count for nothing, since the bow was noted to be set up otherwise than the plan says.
    pub ends_off_plan: usize,
    /// The figures.
    pub figures: PlanVerdict,
}

/// The next end of a plan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextEnd {
    /// Its place in the order, from 0.
    pub place: usize,
    /// The setup: A or B.
    pub setup: char,
    /// Its settings.
    pub settings: BTreeMap<String, Value>,
    /// The settings in words.
    pub words: String,
    /// Whether it begins its block anew.
    pub anew: bool,
}

impl NextEnd {
    /// Returns which end it is and how the bow is to be set up for it: `end 3 of 12, setup B: plunger 2.5 turns`.
    pub fn told(&self, of: usize) -> String {
        format!("end {} of {of}, setup {}: {}", self.place + 1, self.setup, self.words)
    }
}

/// Returns the state of a plan; `now` is the session under way as [`block_session`] has it, or its day.
///
/// # Errors
/// Those of the store; `bad_plan` when the record lacks what a plan needs.
pub fn plan_state<S: Store>(
    store: &S,
    id: ThingId,
    plan: &Plan,
    units: Units,
    now: Option<&str>,
) -> Result<PlanState, S::Error> {
    let (bow, distance_m, promise) = readable(plan)?;
    let shot = Shot::of(&Timeline::read(store, bow)?, id, plan);
    let figures = plan_verdict(&promise, &shot.ends, now);
    let names = names(store)?;
    let words = |settings: &BTreeMap<String, Value>| settings_words(settings, &names);
    let next = figures.next.and_then(|place| {
        let (setup, settings) = plan.setup(place)?;
        let words = words(settings);
        Some(NextEnd { place, setup, settings: settings.clone(), words, anew: figures.anew })
    });
    let empty = BTreeMap::new();
    let [a, b] = [&plan.a, &plan.b].map(|side| words(side.as_ref().unwrap_or(&empty)));
    let who = plan.archer.map_or_else(String::new, |id| format!(", {}", name_of(&names, id)));
    let head = format!("{}{who} at {}: A is {a}; B is {b}", name_of(&names, bow), units.distance(distance_m));
    Ok(PlanState {
        plan: id,
        promise: promise_words(plan, &figures, head, units),
        verdict: verdict_words(&figures, &promise, &shot, distance_m, units),
        next,
        ends_off_plan: shot.off_plan,
        figures,
    })
}

/// Returns bow and distance of a plan, and what it promises.
fn readable(plan: &Plan) -> Result<(ThingId, f64, Promise), ModelError> {
    let whole = |order: &&String| {
        !order.is_empty() && order.len().is_multiple_of(4) && order.bytes().all(|b| b == b'A' || b == b'B')
    };
    let distance = plan.distance_m.filter(|d| d.is_finite() && *d > 0.0);
    let (Some(bow), Some(order), Some(distance_m)) = (plan.bow, plan.order.as_ref().filter(whole), distance)
    else {
        let message = "this plan does not say bow, order and distance; make a new one";
        return Err(ModelError::new("bad_plan", message));
    };
    let promise = Promise {
        order: order.clone(),
        alpha: plan.alpha.filter(|a| (1e-6..=0.5).contains(a)).unwrap_or(0.05),
        shift_mrad: plan.shift_mm.map(|mm| mm / distance_m),
        sd_ratio: plan.sd_ratio,
    };
    Ok((bow, distance_m, promise))
}

/// What was shot under a plan.
struct Shot {
    /// By time.
    ends: Vec<PlannedEnd>,
    /// Ends shot with another setup than the plan's.
    off_plan: usize,
    /// Ends of which no arrow counts.
    empty: usize,
}

impl Shot {
    fn of(timeline: &Timeline, id: ThingId, plan: &Plan) -> Self {
        let mut found = Self { ends: Vec::new(), off_plan: 0, empty: 0 };
        let first = first_values(timeline);
        for (item, group) in timeline.groups().filter(|(_, group)| group.plan == Some(id)) {
            let setup = timeline.setup_of(item.id).unwrap_or_default();
            let place = group.plan_place.unwrap_or(u32::MAX) as usize;
            let Some((_, settings)) = plan.setup(place) else { continue };
            let distance = group.distance_m.filter(|d| d.is_finite() && *d > 0.0);
            let points = group.counted_mm();
            match distance {
                _ if !is_set_up(&setup, settings) => found.off_plan += 1,
                Some(distance) if !points.is_empty() => found.ends.push(PlannedEnd {
                    place,
                    session: session(group, &item.at, &setup, &first, plan),
                    points_mrad: points.iter().map(|p| p.map(|v| v / distance)).collect(),
                }),
                _ => found.empty += 1,
            }
        }
        found
    }
}

/// Says whether a bow is noted to be set up as an end of a plan asks.
fn is_set_up(setup: &Setup, settings: &BTreeMap<String, Value>) -> bool {
    settings.iter().all(|(field, value)| setup.get(field).is_some_and(|set| same_value(&set.value, value)))
}

/// Returns what a group has to share with the others of its block to be compared with them: day, session, sight,
/// arrows, and whatever is on the bow beside the plan's own settings.
///
/// # Errors
/// When the group does not say when it was shot.
pub fn block_session(timeline: &Timeline, group: &Group, plan: &Plan) -> Result<String, ModelError> {
    let missing = || ModelError::new("missing_field", "the group does not say when it was shot").at("at");
    let at = Moment::read(group.at.as_ref().ok_or_else(missing)?)?;
    Ok(session(group, &at, &timeline.setup_at(at.unix_ms()), &first_values(timeline), plan))
}

fn session(
    group: &Group,
    at: &Moment,
    setup: &Setup,
    first: &BTreeMap<String, Value>,
    plan: &Plan,
) -> String {
    let planned = |field: &str| {
        [&plan.a, &plan.b].iter().any(|side| side.as_ref().is_some_and(|s| s.contains_key(field)))
    };
    // A setting that was noted later for the first time is taken to have been so before.
    let beside: BTreeMap<&str, &Value> = first
        .iter()
        .filter(|(field, _)| !planned(field) && field.as_str() != "arrows")
        .map(|(field, value)| (field.as_str(), setup.get(field).map_or(value, |set| &set.value)))
        .collect();
    let noted = setup.get("arrows").and_then(|set| set.value.as_str()?.parse::<ThingId>().ok());
    let arrows = if planned("arrows") { None } else { group.arrows.or(noted) };
    let beside = serde_json::to_string(&beside).unwrap_or_default();
    format!("{} {:?} {:?} {arrows:?} {beside}", at.day(), group.session, group.sight)
}

fn first_values(timeline: &Timeline) -> BTreeMap<String, Value> {
    let mut first = BTreeMap::new();
    for (_, change) in timeline.changes() {
        for (field, value) in change.settings() {
            first.entry(field.to_owned()).or_insert_with(|| value.clone());
        }
    }
    first
}

fn settings_words(settings: &BTreeMap<String, Value>, names: &BTreeMap<ThingId, String>) -> String {
    let name = |id: ThingId| names.get(&id).cloned();
    let one = |(field, value): (&String, &Value)| {
        let (called, unit) = name_and_unit(field);
        format!("{called} {} {unit}", quantity(value, &name)).trim_end().to_owned()
    };
    list(&settings.iter().map(one).collect::<Vec<_>>())
}

fn promise_words(plan: &Plan, figures: &PlanVerdict, head: String, units: Units) -> Vec<String> {
    let shift = plan.shift_mm.zip(plan.power_shift).map(|(mm, power)| {
        format!("a shift of {} shows with a chance of {}", units.length(mm), percent(power))
    });
    let spread = plan.sd_ratio.zip(plan.power_spread).map(|(ratio, power)| {
        format!("a spread {} shows with a chance of {}", ratio_words(ratio), percent(power))
    });
    let both: Vec<String> = shift.into_iter().chain(spread).collect();
    let arrows = plan.arrows_per_end.map_or_else(String::new, |n| format!(" of {n} arrows"));
    let mut all = vec![format!("{head}.")];
    all.push(format!(
        "{} ends{arrows} in blocks of four, each block in one session with the sight left alone: {}.",
        figures.ends_planned,
        list(&both)
    ));
    all
}

fn verdict_words(
    figures: &PlanVerdict,
    promise: &Promise,
    shot: &Shot,
    distance_m: f64,
    units: Units,
) -> Vec<String> {
    let mut all = compared(figures, promise, distance_m, units);
    all.extend(left_out(figures, shot));
    match (figures.next, figures.may_stop) {
        (None, _) => all.push("The plan is shot to its end.".into()),
        (_, true) => all.push("What the plan looks for is settled: you may stop.".into()),
        _ => {}
    }
    all
}

fn compared(figures: &PlanVerdict, promise: &Promise, distance_m: f64, units: Units) -> Vec<String> {
    let blocks = match figures.blocks.checked_sub(figures.blocks_planned) {
        Some(more) if more > 0 => format!("{} blocks, {more} more than planned", figures.blocks),
        _ => format!("{} of {} blocks", figures.blocks, figures.blocks_planned),
    };
    let Some(shift) = figures.shift_mrad else {
        let ends = count(figures.ends, "end");
        return vec![format!("Shot so far: {ends}, {blocks}; a verdict needs two blocks.")];
    };
    let confidence = 1.0 - promise.alpha;
    let bounds = figures.shift_interval_mrad.map(|b| shift_bounds(b, distance_m, confidence, units));
    let word = match figures.place {
        Word::Changed => "the groups moved",
        Word::Held => "no movement of the size looked for",
        Word::Unsettled => "not settled whether the groups moved",
    };
    let place = beside(shift.map(|v| v * distance_m), units);
    let mut all = vec![format!("{blocks}: {word}; B lies {place} of A ({}).", at_any_look(bounds))];
    all.extend(spread_words(figures, confidence));
    all
}

/// Returns what counts for nothing, and why.
fn left_out(figures: &PlanVerdict, shot: &Shot) -> Vec<String> {
    let mut all = Vec::new();
    // The ends of the block that is being shot are not left out.
    let under_way = if figures.anew { 0 } else { figures.next.map_or(0, |place| place % 4) };
    let waiting = figures.ends_waiting.saturating_sub(under_way);
    if waiting > 0 {
        all.push(format!(
            "Left out: {}, since the four ends of a block count only when they are shot on one day with nothing altered \
             but what the plan says, sight and arrows included.",
            count(waiting, "end")
        ));
    }
    if shot.off_plan > 0 {
        all.push(format!(
            "Left out: {}, shot while the bow was not noted to be set up as the plan says.",
            count(shot.off_plan, "end")
        ));
    }
    if shot.empty > 0 {
        all.push(format!("Left out: {} with no arrow that counts.", count(shot.empty, "end")));
    }
    all
}

fn spread_words(figures: &PlanVerdict, confidence: f64) -> Option<String> {
    let than = ratio_words(figures.sd_ratio?);
    let bounds = figures.sd_ratio_interval.map(|b| ratio_bounds(b, confidence));
    let word = match figures.spread {
        Word::Changed => "The spread changed",
        Word::Held => "No change of the spread of the size looked for",
        Word::Unsettled => "Not settled whether the spread changed",
    };
    Some(format!("{word}; B's is {than} than A's ({}).", at_any_look(bounds)))
}

fn at_any_look(bounds: Option<String>) -> String {
    bounds.map_or_else(|| "no bounds yet".to_owned(), |bounds| format!("at any look {bounds}"))
}
