//! `sheaf plan`: two setups compared by a fair order, with a verdict that may be looked at after every end.

use crate::{
    CliError, Env,
    args::{Plan as Args, PlanNew, PlanWhat, PlanWhich},
    lookup, planned,
    render::{self, Tone},
    setting_pair,
    store::Home,
    when,
    words::quoted,
};
use serde_json::{Value, json};
use sheaf_model::{
    kind::{self, Plan},
    name,
    notation::{Length, distance_m, length_mm},
    records::{PlanTerms, check_setups, design, last_distance_m},
    stats::plan::Wanted,
    timeline::{Setup, Timeline},
    verdict::{PlanState, Units, design_cost, plan_state},
};
use std::collections::BTreeMap;

/// Makes a plan, says its next end, or what it says so far.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    match &args.what {
        PlanWhat::New(new) => make(new, env),
        PlanWhat::Next(which) => next(which, env),
        PlanWhat::Show(which) => show(which, env),
    }
}

fn make(args: &PlanNew, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let mut record = draft(&home, args, env)?;
    let wanted = wanted(&home, args, &record)?;
    let id = env.thing_id();
    let design = design(&mut record, id, &wanted, None)?;
    if !args.dry_run {
        lookup::new_name(&home, "plan", &args.name, None)?;
        home.record(env, vec![kind::draft(id, &record)?])?;
    }
    if env.json {
        return env.print_json(&json!({"plan": (!args.dry_run).then_some(id), "design": design}));
    }
    let state = plan_state(home.store(), id, &record, Units::Metric, None)?;
    let kept = if args.dry_run { "Nothing is kept" } else { "Kept" };
    render::say(env, Tone::Strong, &format!("{kept}: plan {}", args.name))?;
    let mut said = state.promise.clone();
    said.push(design_cost(&design));
    if !args.dry_run {
        said.push(next_words(&state, &args.name));
    }
    Ok(render::sentences(env, &said)?)
}

fn draft(home: &Home, args: &PlanNew, env: &mut Env<'_>) -> Result<Plan, CliError> {
    let bow = lookup::find(home, "bow", &args.bow)?;
    let archer = match &args.archer {
        Some(name) => lookup::find(home, "person", name)?.id,
        None => home.card().person,
    };
    let (a, b) = (settings(home, &args.a, env)?, settings(home, &args.b, env)?);
    check_setups(&a, &b).map_err(|e| {
        CliError::from(e)
            .hint("give each setting in both with its value, so that it is clear what to put back")
    })?;
    let distance = match &args.distance {
        Some(typed) => distance_m(typed)?,
        None => last_distance(home, bow.id)?.ok_or_else(|| {
            CliError::input("how far will it be shot?").hint("give it with --distance, like 30m or 20yd")
        })?,
    };
    check(args, distance)?;
    let ratio = args.spread.map(|percent| 1.0 + percent / 100.0);
    if ratio.is_some_and(|r| !(0.05..=20.0).contains(&r) || r == 1.0) {
        return Err(CliError::input("--spread is a change in percent, like -20 for a fifth smaller"));
    }
    Ok(Plan {
        name: Some(name::read("the plan", &args.name)?),
        bow: Some(bow.id),
        archer: Some(archer),
        at: Some(when::now(env)?),
        a: Some(a),
        b: Some(b),
        distance_m: Some(distance),
        arrows_per_end: Some(args.arrows_per_end),
        alpha: Some(args.alpha),
        shift_mm: args.shift.as_deref().map(|typed| length_mm(typed, Length::Mm)).transpose()?,
        sd_ratio: ratio,
        ..Plan::default()
    })
}

/// Checks what was asked for, in the words in which it was typed.
fn check(args: &PlanNew, distance: f64) -> Result<(), CliError> {
    kind::check_distance(distance)?;
    if let Some(typed) = &args.shift
        && length_mm(typed, Length::Mm)? <= 0.0
    {
        return Err(CliError::input(format!("--shift {typed} is no shift to be found")).hint(
            "give how far the groups have to move to matter, in whichever direction: above 0, like 15mm",
        ));
    }
    let within = |option: &str, value: f64, low: f64, high: f64| {
        if (low..=high).contains(&value) {
            return Ok(());
        }
        Err(CliError::input(format!("{option} {value:?} is not between {low} and {high}"))
            .hint(format!("leave {option} out for the usual value")))
    };
    within("--alpha", args.alpha, 1e-6, 0.5)?;
    within("--power", args.power, args.alpha, 0.999)
}

fn settings(home: &Home, pairs: &[String], env: &mut Env<'_>) -> Result<BTreeMap<String, Value>, CliError> {
    let nothing = Setup::new();
    let mut settings = BTreeMap::new();
    for pair in pairs {
        let (field, value) = setting_pair::read(home, &nothing, pair, env)?;
        if settings.insert(field.clone(), value).is_some() {
            return Err(CliError::input(format!("{field} is given twice for one setup")));
        }
    }
    Ok(settings)
}

fn last_distance(home: &Home, bow: sheaf_model::id::ThingId) -> Result<Option<f64>, CliError> {
    Ok(last_distance_m(&Timeline::read(home.store(), bow)?))
}

/// Reads how the archer varies from what was shot with the bow.
fn wanted(home: &Home, args: &PlanNew, record: &Plan) -> Result<Wanted, CliError> {
    let few = |message: String| {
        CliError::input(message).hint(
            "a plan is made from the archer's own variation; --archer NAME plans for another person than you",
        )
    };
    let bow = record.bow.ok_or_else(|| few("the plan names no bow".into()))?;
    let season = Timeline::read(home.store(), bow)?.season(record.archer);
    let terms = PlanTerms {
        shift_mm: record.shift_mm,
        sd_ratio: record.sd_ratio,
        distance_m: record.distance_m.unwrap_or(1.0),
        arrows_per_end: args.arrows_per_end,
        power: args.power,
        alpha: args.alpha,
        minutes_per_end: args.minutes_per_end,
        minutes_per_change: args.minutes_per_change,
    };
    terms.wanted(&season).map_err(|e| few(e.message))
}

fn next(which: &PlanWhich, env: &mut Env<'_>) -> Result<(), CliError> {
    let (home, name, state) = state(which, env)?;
    if env.json {
        let mut next = json!(state.next);
        if let Some(end) = &state.next {
            next["plan"] = json!(name);
            next["end"] = json!(end.place + 1);
        }
        return env.print_json(&next);
    }
    let mut said = vec![next_words(&state, &name)];
    if let Some(end) = &state.next {
        said.extend(planned::to_change_now(&home, state.plan, end)?);
    }
    Ok(render::sentences(env, &said)?)
}

fn next_words(state: &PlanState, name: &str) -> String {
    match &state.next {
        Some(end) => format!(
            "Next in the plan {name}{}: {}. Record it with `sheaf shoot --plan {}`.",
            if end.anew { ", its block anew since it was begun on another day" } else { "" },
            end.told(state.figures.ends_planned),
            quoted(name)
        ),
        None => format!("The plan {name} is shot to its end."),
    }
}

fn show(which: &PlanWhich, env: &mut Env<'_>) -> Result<(), CliError> {
    let (_, name, state) = state(which, env)?;
    if env.json {
        return env.print_json(&state);
    }
    render::say(env, Tone::Strong, &format!("Plan {name}"))?;
    let mut said = state.promise.clone();
    said.extend_from_slice(&state.verdict);
    if state.next.is_some() {
        said.push(next_words(&state, &name));
    }
    Ok(render::sentences(env, &said)?)
}

fn state(which: &PlanWhich, env: &mut Env<'_>) -> Result<(Home, String, PlanState), CliError> {
    let home = Home::open(env)?;
    let (id, plan) = planned::find(&home, which.name.as_deref())?;
    let units = lookup::units(&which.scale);
    // The moment begins with its day, which is how a session's name begins.
    let today = when::now(env)?.chars().take_while(|c| *c != 'T').collect::<String>();
    let state = plan_state(home.store(), id, &plan, units, Some(&today))?;
    Ok((home, plan.name.unwrap_or_default(), state))
}
