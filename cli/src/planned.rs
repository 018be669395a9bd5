//! Plans as groups are shot under them: which one, which end comes next, and whether the bow is set up for it.

use crate::{CliError, lookup, store::Home, words::quoted};
use sheaf_model::{
    id::ThingId,
    kind::{self, Group, Plan},
    replica::Store,
    timeline::{Moment, Setup, Timeline},
    verdict::{NextEnd, Units, block_session, is_set_up, plan_state},
};

/// Returns the plan of that name, or the one that was made last.
pub fn find(home: &Home, name: Option<&str>) -> Result<(ThingId, Plan), CliError> {
    let id = match name {
        Some(name) => lookup::find(home, "plan", name)?.id,
        None => {
            lookup::all(home, "plan")?.iter().filter(|p| !p.retired).map(|p| p.id).max().ok_or_else(|| {
                CliError::input("there is no plan yet").hint("`sheaf plan new --help` shows how to make one")
            })?
        }
    };
    let thing = home.store().thing("plan", id)?;
    let thing = thing.ok_or_else(|| CliError::input("the plan is gone"))?;
    Ok((id, kind::read(&thing)?))
}

/// Returns the next end of a plan for a group that is about to be kept, the bow set up as the plan says.
pub fn next_end(home: &Home, name: &str, group: &Group) -> Result<(ThingId, Plan, NextEnd), CliError> {
    let (id, plan) = find(home, Some(name))?;
    let Some(bow) = plan.bow.filter(|bow| group.bow == Some(*bow)) else {
        return Err(CliError::input("this plan is for another bow").hint("leave out --plan, or name its bow"));
    };
    if plan.retired {
        return Err(CliError::input(format!("the plan {name} is out of use"))
            .hint(format!("`sheaf restore {}` brings it back", quoted(name))));
    }
    let timeline = Timeline::read(home.store(), bow)?;
    let now = block_session(&timeline, group, &plan)?;
    let state = plan_state(home.store(), id, &plan, Units::Metric, Some(&now))?;
    let end = state.next.ok_or_else(|| {
        CliError::input("every end of this plan is shot").hint("`sheaf plan show` says what it found")
    })?;
    let at = group.at.as_deref().map(Moment::read).transpose()?.map_or(i64::MAX, |at| at.unix_ms());
    if let Some(change) = to_change(home, bow, &end, &timeline.setup_at(at))? {
        return Err(CliError::input(format!(
            "end {} is for setup {}: {}, and the bow is not noted to be set up so at that time",
            end.place + 1,
            end.setup,
            end.words
        ))
        .hint(change));
    }
    if group.counted_mm().is_empty() {
        return Err(CliError::input(format!(
            "no arrow of this end counts, so it cannot be end {}",
            end.place + 1
        ))
        .hint("record it without --plan, and shoot the end again"));
    }
    Ok((id, plan, end))
}

/// Returns what to alter on the bow now before the next end; nothing when it is set up.
pub fn to_change_now(home: &Home, plan: ThingId, end: &NextEnd) -> Result<Option<String>, CliError> {
    let thing = home.store().thing("plan", plan)?;
    let Some(bow) = thing.map(|t| kind::read::<Plan>(&t)).transpose()?.and_then(|p| p.bow) else {
        return Ok(None);
    };
    to_change(home, bow, end, &Timeline::read(home.store(), bow)?.setup_now())
}

fn to_change(home: &Home, bow: ThingId, end: &NextEnd, setup: &Setup) -> Result<Option<String>, CliError> {
    if is_set_up(setup, &end.settings) {
        return Ok(None);
    }
    let names = lookup::names(home, lookup::NAMED)?;
    let word = |value: &serde_json::Value| match value.as_str() {
        Some(text) => quoted(
            text.parse().ok().and_then(|id: ThingId| names.get(&id).cloned()).as_deref().unwrap_or(text),
        ),
        None if value.as_f64().is_some_and(|v| v < 0.0) => format!("={value}"),
        None => value.to_string(),
    };
    let open: Vec<String> = end
        .settings
        .iter()
        .filter(|(field, value)| setup.get(*field).map(|s| &s.value) != Some(*value))
        .map(|(field, value)| format!("{field}={}", word(value)))
        .collect();
    let bow = names.get(&bow).cloned().unwrap_or_default();
    Ok(Some(format!("Change the bow first and note it: `sheaf change {} {}`.", quoted(&bow), open.join(" "))))
}
