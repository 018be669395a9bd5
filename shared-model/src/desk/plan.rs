//! Plans: what so many ends would show, a plan made, and where it stands.

use super::{
    Ask, Desk,
    answer::Shot,
    frame::usual_arrows,
    given::{Given, known, need},
    planning::{alterations, end_words},
    read, to_json,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Plan},
    records::{self, PlanTerms, check_setups, design, last_distance_m, open_settings},
    replica::Store as _,
    timeline::{Setup, Timeline},
    verdict::{PlanState, Units, design_cost, offer, plan_state},
};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The steps to which a smallest movement is rounded where none is asked for: a round number of mm, of 1/20 in.
const STEP_MM: [f64; 2] = [5.0, 1.27];
/// The smallest movements that one can step through, mm and 1/20 in and more, for people who count in mm and in inches.
const LADDER_MM: [f64; 19] = [
    2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0, 40.0, 50.0, 60.0, 80.0, 100.0, 150.0,
    200.0,
];
const LADDER_IN: [f64; 14] = [0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.75, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0];
/// The most ends of each setup: 200 blocks of four.
const MOST_ENDS_EACH: usize = 400;

/// Says what so many ends would show.
pub(super) fn plan_offer(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Question {
        bow: ThingId,
        archer: Option<ThingId>,
        smallest_mm: Option<f64>,
        #[serde(default)]
        units: Units,
    }
    let asked: Question = read(input)?;
    let shot = Shot::read(desk, asked.bow, asked.archer)?;
    let mut terms = terms(desk, asked.bow)?;
    let arrow_mm = || {
        let wanted = PlanTerms { shift_mm: Some(1.0), ..terms }.wanted(&shot.season)?;
        Ok::<f64, ModelError>(0.5 * (wanted.sd_arrow_mrad[0] + wanted.sd_arrow_mrad[1]) * terms.distance_m)
    };
    let smallest_mm = match asked.smallest_mm {
        Some(mm) => smallest(mm)?,
        // Half the spread of an arrow, as the verdicts have it.
        None => {
            let step = STEP_MM[usize::from(asked.units == Units::Imperial)];
            ((0.5 * arrow_mm()? / step).round() * step).max(step)
        }
    };
    terms.shift_mm = Some(smallest_mm);
    let wanted = terms.wanted(&shot.season)?;
    let mut told = to_json(&offer(&wanted, smallest_mm, terms.distance_m, asked.units, ask.seed())?)?;
    told["ladder_mm"] = match asked.units {
        Units::Metric => json!(LADDER_MM),
        Units::Imperial => json!(LADDER_IN.map(|inches| inches * 25.4)),
    };
    Ok(told)
}

/// Makes a plan.
pub(super) fn plan_new(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let units = given.units()?;
    let typed = need(given.text("name")?, "name", "the name of the plan")?;
    let called = desk.new_name("plan", &typed, None)?;
    let [a, b] = [desk.setup_given(input, "a")?, desk.setup_given(input, "b")?];
    check_setups(&a, &b)?;
    let blocks = given.count("ends_each")?.map(blocks).transpose()?;
    let mm = need(input.get("smallest_mm").and_then(Value::as_f64), "smallest_mm", "the smallest movement")?;
    let shot = Shot::read(desk, bow, given.thing("archer", "person")?)?;
    let terms = PlanTerms { shift_mm: Some(smallest(mm)?), ..terms(desk, bow)? };
    let wanted = terms.wanted(&shot.season)?;
    let id = ask.thing_id();
    let mut record = Plan {
        name: Some(called.clone()),
        bow: Some(bow),
        archer: shot.archer,
        at: Some(ask.moment()?.rfc3339()),
        a: Some(a),
        b: Some(b),
        distance_m: Some(terms.distance_m),
        arrows_per_end: Some(terms.arrows_per_end),
        alpha: Some(terms.alpha),
        shift_mm: terms.shift_mm,
        ..Plan::default()
    };
    let made = design(&mut record, id, &wanted, blocks)?;
    let state = plan_state(desk.store()?, id, &record, units, None)?;
    desk.write(ask, vec![kind::draft(id, &record)?])?;
    let mut words = vec![format!("Kept: plan {called}.")];
    words.extend(state.promise.iter().cloned());
    words.push(design_cost(&made));
    Ok(json!({"plan": id, "words": words}))
}

/// Lists the plans in use, the newest first.
pub(super) fn plans(desk: &mut Desk, _: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let store = desk.store()?;
    let names = records::names(store, records::NAMED)?;
    let today = ask.moment()?.day();
    let mut plans = Vec::new();
    for id in store.state().ids("plan").rev() {
        let Some(thing) = store.thing("plan", id)? else { continue };
        let plan: Plan = match kind::read(&thing) {
            Ok(plan) => plan,
            Err(e) => {
                let name = id.short();
                plans.push(json!({"id": id, "name": name, "words": e.message, "bow": null, "open": false}));
                continue;
            }
        };
        if plan.retired {
            continue;
        }
        let bow = plan.bow.map_or_else(String::new, |bow| format!("{}: ", records::name_of(&names, bow)));
        let state = plan_state(store, id, &plan, Units::Metric, Some(&today));
        let open = state.as_ref().is_ok_and(|state| state.next.is_some());
        let words = match state {
            Ok(state) if state.next.is_none() => format!("{bow}shot to its end"),
            Ok(state) => {
                format!("{bow}{} of {} ends shot", shot_ends(&state), state.figures.ends_planned)
            }
            Err(e) => e.message,
        };
        let name = plan.name.unwrap_or_else(|| id.short());
        plans.push(json!({"id": id, "name": name, "words": words, "bow": plan.bow, "archer": plan.archer, "open": open}));
    }
    Ok(json!({"plans": plans}))
}

/// Says what a plan promises, what it says so far, and what comes next.
pub(super) fn plan(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.needed("plan", "plan")?;
    let (store, now) = (desk.store()?, ask.moment()?);
    let thing = need(store.thing("plan", id)?, "plan", "the plan")?;
    let plan: Plan = kind::read(&thing)?;
    let state = plan_state(store, id, &plan, given.units()?, Some(&now.day()))?;
    let of = state.figures.ends_planned;
    let mut told = json!({
        "id": id, "name": plan.name, "bow": plan.bow, "archer": plan.archer,
        "promise": state.promise, "verdict": state.verdict,
        "next": null, "left": of - shot_ends(&state).min(of), "of": of, "set_up": true, "change": [],
        "may_stop": state.figures.may_stop,
    });
    if let Some((end, bow)) = state.next.as_ref().zip(plan.bow) {
        let open = open_settings(&Timeline::read(store, bow)?.setup_at(now.unix_ms()), end);
        let names = records::names(store, records::NAMED)?;
        let words = end_words(end, of);
        told["next"] = json!({"end": end.place + 1, "setup": end.setup, "anew": end.anew, "words": words});
        told["set_up"] = json!(open.is_empty());
        told["change"] = json!(alterations(&open, &names));
    }
    Ok(told)
}

/// Returns how many ends of the plan need not be shot again.
fn shot_ends(state: &PlanState) -> usize {
    state.next.as_ref().map_or(state.figures.ends_planned, |end| end.place)
}

/// Returns what is usual, at the distance of the end shot last and with as many arrows as most of the latest ends.
fn terms(desk: &Desk, bow: ThingId) -> Result<PlanTerms, ModelError> {
    known(desk.store()?, "bow", bow)?;
    let timeline = Timeline::read(desk.store()?, bow)?;
    let usual = PlanTerms::default();
    let far = last_distance_m(&timeline).filter(|m| kind::check_distance(*m).is_ok());
    let distance_m = far.ok_or_else(|| {
        let message = "nothing was shot with this bow yet, so nobody knows from how far: shoot two sessions of a few ends \
                       first";
        ModelError::new("too_few", message).at("bow")
    })?;
    let shot: Vec<usize> =
        timeline.groups().filter_map(|(_, group)| group.points_mm.as_ref().map(Vec::len)).collect();
    let last = usual_arrows(shot.into_iter().rev()).unwrap_or(0);
    let arrows = u32::try_from(last).unwrap_or(0);
    let arrows_per_end = if (2..=500).contains(&arrows) { arrows } else { usual.arrows_per_end };
    Ok(PlanTerms { distance_m, arrows_per_end, ..usual })
}

/// Checks the smallest movement that is looked for.
fn smallest(mm: f64) -> Result<f64, ModelError> {
    if (0.1..=5000.0).contains(&mm) {
        return Ok(mm);
    }
    let message = format!("{mm} mm is no movement to be found; give one from 0.1 to 5000 mm");
    Err(ModelError::new("out_of_range", message).at("smallest_mm"))
}

/// Returns the blocks of so many ends of each setup.
fn blocks(ends_each: usize) -> Result<usize, ModelError> {
    if ends_each.is_multiple_of(2) && (4..=MOST_ENDS_EACH).contains(&ends_each) {
        return Ok(ends_each / 2);
    }
    let message = format!(
        "{ends_each} ends of each setup; a plan has blocks of two and two, so give an even number from 4 to {MOST_ENDS_EACH}"
    );
    Err(ModelError::new("out_of_range", message).at("ends_each"))
}

impl Desk {
    /// Reads the settings of one side of a plan.
    fn setup_given(&self, input: &Value, side: &str) -> Result<BTreeMap<String, Value>, ModelError> {
        let typed = input.get(side).and_then(Value::as_object).filter(|typed| !typed.is_empty());
        let typed = need(typed, side, "the settings of this side")?;
        let mut settings = BTreeMap::new();
        for (setting, to) in typed {
            let pair = json!({"setting": setting, "to": to});
            let place = format!("{side}.{setting}");
            let (field, value) =
                self.setting(&Setup::new(), &pair, &place).map_err(|e| e.at(place.clone()))?;
            if settings.insert(field, value).is_some() {
                let message = format!("{setting} is given twice for one setup");
                return Err(ModelError::new("bad_plan", message).at(place));
            }
        }
        Ok(settings)
    }
}

#[cfg(test)]
mod tests;
