//! Plans as groups are shot under them: which one, which end comes next, and whether the bow is set up for it.

use crate::{CliError, lookup, store::Home, words::quoted};
use serde_json::Value;
use sheaf_model::{
    id::ThingId,
    kind::{self, Group, Plan},
    records::{self, NotNext, open_settings},
    replica::Store,
    timeline::Timeline,
    verdict::NextEnd,
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

/// Marks a group that is about to be kept as the next end of a plan, the bow set up as the plan says.
pub fn tick(home: &Home, name: &str, group: &mut Group) -> Result<(Plan, NextEnd), CliError> {
    let (id, plan) = find(home, Some(name))?;
    match records::tick(home.store(), (id, &plan), group)? {
        Ok(end) => Ok((plan, end)),
        Err(why) => {
            let error = CliError::from(why.told());
            Err(error.hint(match &why {
                NotNext::OtherBow => "leave out --plan, or name its bow".to_owned(),
                NotNext::Retired(name) => format!("`sheaf restore {}` brings it back", quoted(name)),
                NotNext::AllShot => "`sheaf plan show` says what it found".to_owned(),
                NotNext::NotSetUp(_, open) => to_change(home, plan.bow, open)?,
                NotNext::NoArrow(_) => "record it without --plan, and shoot the end again".to_owned(),
                NotNext::OtherDistance(_) => "give that distance, or leave out --plan".to_owned(),
                NotNext::OtherArcher => "name the archer with --archer, or leave out --plan".to_owned(),
            }))
        }
    }
}

/// Returns what to alter on the bow now before the next end; nothing when it is set up.
pub fn to_change_now(home: &Home, plan: ThingId, end: &NextEnd) -> Result<Option<String>, CliError> {
    let thing = home.store().thing("plan", plan)?;
    let Some(bow) = thing.map(|t| kind::read::<Plan>(&t)).transpose()?.and_then(|p| p.bow) else {
        return Ok(None);
    };
    let open = open_settings(&Timeline::read(home.store(), bow)?.setup_now(), end);
    if open.is_empty() { Ok(None) } else { to_change(home, Some(bow), &open).map(Some) }
}

/// Says how what is open is noted.
fn to_change(home: &Home, bow: Option<ThingId>, open: &[(String, Value)]) -> Result<String, CliError> {
    let names = lookup::names(home, lookup::NAMED)?;
    let word = |value: &Value| match value.as_str() {
        Some(text) => quoted(
            text.parse().ok().and_then(|id: ThingId| names.get(&id).cloned()).as_deref().unwrap_or(text),
        ),
        None if value.as_f64().is_some_and(|v| v < 0.0) => format!("={value}"),
        None => value.to_string(),
    };
    let open: Vec<String> = open.iter().map(|(field, value)| format!("{field}={}", word(value))).collect();
    let bow = bow.and_then(|bow| names.get(&bow).cloned()).unwrap_or_default();
    Ok(format!("Change the bow first and note it: `sheaf change {} {}`.", quoted(&bow), open.join(" ")))
}
