//! The sessions that `sheaf list sessions` lists: groups of one archer under one name, or of one day.

use crate::{
    CliError, Env,
    args::List,
    lookup,
    render::{self, Side, Table},
    store::Home,
    when,
};
use serde::Serialize;
use sheaf_model::{
    id::ThingId,
    kind::{self, Group},
    replica::Store,
};
use std::collections::{BTreeMap, BTreeSet};

/// What one archer shot in a session.
#[derive(Debug, Clone, Serialize)]
struct Session {
    session: String,
    archer: Option<ThingId>,
    bows: BTreeSet<ThingId>,
    /// Whether it has a name of its own; else it is a day.
    named: bool,
    first: String,
    last: String,
    groups: usize,
    arrows: usize,
    retired: usize,
}

/// Prints the latest sessions, oldest first.
pub fn run(home: &Home, args: &List, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut all = all(home, args)?;
    let most = if args.last == 0 { usize::MAX } else { args.last };
    let more = all.len() > most;
    let latest = all.split_off(all.len().saturating_sub(most));
    if env.json {
        return env.print_json(&latest);
    }
    if latest.is_empty() {
        return Ok(writeln!(
            env.out,
            "None yet: a session is a day, or what `sheaf shoot --session NAME` names."
        )?);
    }
    print(&latest, home, env)?;
    if more {
        env.remark(format!("The latest {}, oldest first; `--last 0` lists all.", args.last))?;
    }
    Ok(())
}

/// Returns the sessions of the groups that are wanted, in order of their first groups.
fn all(home: &Home, args: &List) -> Result<Vec<Session>, CliError> {
    let bow = args.bow.as_deref().map(|bow| lookup::find(home, "bow", bow)).transpose()?.map(|b| b.id);
    let archer = lookup::archer(home, args.archer.as_deref())?;
    let mut found: BTreeMap<(String, Option<ThingId>), Session> = BTreeMap::new();
    home.store().visit("group", bow, &mut |thing| {
        let Ok(group) = kind::read::<Group>(thing) else { return };
        if (group.retired && !args.all) || (archer.is_some() && group.archer != archer) {
            return;
        }
        let Some(at) = group.at.clone() else { return };
        let name = group.session.clone().unwrap_or_else(|| at.chars().take(10).collect());
        let session = found.entry((name.clone(), group.archer)).or_insert_with(|| Session {
            session: name,
            archer: group.archer,
            bows: BTreeSet::new(),
            named: group.session.is_some(),
            first: at.clone(),
            last: at.clone(),
            groups: 0,
            arrows: 0,
            retired: 0,
        });
        session.bows.extend(group.bow);
        session.groups += 1;
        session.arrows += group.points_mm.as_ref().map_or(0, Vec::len);
        session.retired += usize::from(group.retired);
        if when::unix_ms(Some(&at)) < when::unix_ms(Some(&session.first)) {
            session.first.clone_from(&at);
        }
        if when::unix_ms(Some(&at)) > when::unix_ms(Some(&session.last)) {
            session.last = at;
        }
    })?;
    let mut all: Vec<Session> = found.into_values().collect();
    all.sort_by_key(|s| when::unix_ms(Some(&s.first)));
    Ok(all)
}

fn print(sessions: &[Session], home: &Home, env: &mut Env<'_>) -> Result<(), CliError> {
    let names = lookup::names(home, lookup::NAMED)?;
    let name = |id: &ThingId| names.get(id).cloned().unwrap_or_else(|| id.short());
    let heads = [
        ("session", Side::Left),
        ("archer", Side::Left),
        ("bows", Side::Left),
        ("from", Side::Left),
        ("to", Side::Left),
        ("groups", Side::Right),
        ("arrows", Side::Right),
    ];
    let mut table = Table::new(&heads);
    for s in sessions {
        table.row([
            s.session.clone(),
            s.archer.as_ref().map(name).unwrap_or_default(),
            s.bows.iter().map(name).collect::<Vec<_>>().join(", "),
            when::shown(Some(&s.first)),
            when::shown(Some(&s.last)),
            render::thousands(s.groups as u64),
            render::thousands(s.arrows as u64),
        ]);
    }
    Ok(table.print(env)?)
}
