//! A plan in words: what it promises, what to shoot next, and what it says so far.

use super::{
    altered::{name_and_unit, quantity},
    bow::{name_of, names},
    sentence::{beside, list, percent, ratio_bounds, ratio_words, shift_bounds},
    units::Units,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Group, Plan},
    moment::Moment,
    replica::Store,
    stats::plan_verdict::{PlanVerdict, PlannedEnd, Promise, Word, plan_verdict},
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
}

/// Returns the state of a plan.
///
/// # Errors
/// Those of the store; `bad_plan` when the record lacks what a plan needs.
pub fn plan_state<S: Store>(
    store: &S,
    id: ThingId,
    plan: &Plan,
    units: Units,
) -> Result<PlanState, S::Error> {
    let (bow, distance_m, promise) = readable(plan)?;
    let ends = ends_under(store, id, bow)?;
    let figures = plan_verdict(&promise, &ends);
    let names = names(store)?;
    let words = |settings: &BTreeMap<String, Value>| settings_words(settings, &names);
    let next = figures.next.and_then(|place| {
        let (setup, settings) = plan.setup(place)?;
        Some(NextEnd { place, setup, settings: settings.clone(), words: words(settings) })
    });
    let empty = BTreeMap::new();
    let [a, b] = [&plan.a, &plan.b].map(|side| words(side.as_ref().unwrap_or(&empty)));
    let who = plan.archer.map_or_else(String::new, |id| format!(", {}", name_of(&names, id)));
    let head = format!("{}{who} at {}: A is {a}; B is {b}", name_of(&names, bow), units.distance(distance_m));
    Ok(PlanState {
        plan: id,
        promise: promise_words(plan, &figures, head, units),
        verdict: verdict_words(&figures, &promise, distance_m, units),
        next,
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

fn ends_under<S: Store>(store: &S, plan: ThingId, bow: ThingId) -> Result<Vec<PlannedEnd>, S::Error> {
    let mut ends = Vec::new();
    store.visit("group", Some(bow), &mut |thing| {
        let group = kind::read::<Group>(thing).ok().filter(|g| g.plan == Some(plan) && !g.retired);
        ends.extend(group.as_ref().and_then(end_of));
    })?;
    Ok(ends)
}

fn settings_words(settings: &BTreeMap<String, Value>, names: &BTreeMap<ThingId, String>) -> String {
    let name = |id: ThingId| names.get(&id).cloned();
    let one = |(field, value): (&String, &Value)| {
        let (called, unit) = name_and_unit(field);
        format!("{called} {} {unit}", quantity(value, &name)).trim_end().to_owned()
    };
    list(&settings.iter().map(one).collect::<Vec<_>>())
}

/// Returns an end shot under the plan; its session is the day, its name and the sight's, since a block has to
/// be shot in one go with the sight left alone.
fn end_of(group: &Group) -> Option<PlannedEnd> {
    let distance = group.distance_m.filter(|d| d.is_finite() && *d > 0.0)?;
    let day = Moment::read(group.at.as_ref()?).ok()?.day();
    let points = group.counted_mm();
    (!points.is_empty()).then(|| PlannedEnd {
        place: group.plan_place.unwrap_or(u32::MAX) as usize,
        session: format!("{day} {:?} {:?}", group.session, group.sight),
        points_mrad: points.iter().map(|p| p.map(|v| v / distance)).collect(),
    })
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

fn verdict_words(figures: &PlanVerdict, promise: &Promise, distance_m: f64, units: Units) -> Vec<String> {
    let mut all = Vec::new();
    let blocks = format!("{} of {} blocks", figures.blocks, figures.blocks_planned);
    let Some(shift) = figures.shift_mrad else {
        all.push(format!("Shot so far: {} ends, {blocks}; a verdict needs two blocks.", figures.ends));
        return all;
    };
    let confidence = 1.0 - promise.alpha;
    let bounds = figures.shift_interval_mrad.map(|b| shift_bounds(b, distance_m, confidence, units));
    let word = match figures.place {
        Word::Changed => "the groups moved",
        Word::Held => "no movement of the size looked for",
        Word::Unsettled => "not settled whether the groups moved",
    };
    let place = beside(shift.map(|v| v * distance_m), units);
    all.push(format!("{blocks}: {word}; B lies {place} of A ({}).", at_any_look(bounds)));
    all.extend(spread_words(figures, confidence));
    if figures.blocks_split > 0 {
        all.push(format!(
            "Left out: {} blocks whose ends were shot on different days or with the sight moved.",
            figures.blocks_split
        ));
    }
    match (figures.next, figures.may_stop) {
        (None, _) => all.push("The plan is shot to its end.".into()),
        (_, true) => all.push("What the plan looks for is settled: you may stop.".into()),
        _ => {}
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
