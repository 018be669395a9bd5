//! `sheaf timeline`: what happened to a bow, in order.

use crate::{
    CliError, Env,
    args::Timeline as Args,
    lookup, notes,
    render::{Side, Table},
    store::Home,
    words::{altered_json, altered_words},
};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    timeline::{Stretch, Timeline},
};
use std::collections::BTreeMap;

/// Shows the stretches between the changes of a bow.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let timeline = Timeline::read(home.store(), bow.id)?;
    let all = timeline.stretches();
    let skip = if args.last == 0 { 0 } else { all.len().saturating_sub(args.last) };
    let noted = notes::all(&home, &|note| note.bow == Some(bow.id))?;
    if env.json {
        let stretches: Vec<Value> = all[skip..].iter().map(as_json).collect();
        let unplaced: Vec<Value> =
            timeline.unplaced.iter().map(|u| json!({"kind": u.kind, "id": u.id, "why": u.why})).collect();
        return env.print_json(
            &json!({"bow": bow.id, "stretches": stretches, "unplaced": unplaced, "notes": noted}),
        );
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    writeln!(env.out, "{}", bow.name)?;
    let table = stretches(&all[skip..], &names);
    if table.is_empty() {
        writeln!(env.out, "Nothing has been recorded with it yet.")?;
    } else {
        table.print(env)?;
    }
    notes::print(&noted, &names, env)?;
    for unplaced in &timeline.unplaced {
        env.remark(format!("{} {} has no place: {}", unplaced.kind, unplaced.id.short(), unplaced.why))?;
    }
    Ok(())
}

fn stretches(all: &[Stretch], names: &BTreeMap<ThingId, String>) -> Table {
    let heads =
        [("from", Side::Left), ("altered", Side::Left), ("groups", Side::Right), ("arrows", Side::Right)];
    let mut table = Table::new(&heads);
    for stretch in all.iter().filter(|s| s.change.is_some() || !s.groups.is_empty()) {
        let from = stretch.at.map_or("the beginning".into(), |at| at.day_and_time());
        let altered: Vec<String> = stretch.altered.iter().map(|a| altered_words(a, names)).collect();
        table.row([from, altered.join(", "), stretch.groups.len().to_string(), stretch.arrows.to_string()]);
    }
    table
}

fn as_json(stretch: &Stretch) -> Value {
    json!({
        "change": stretch.change,
        "at": stretch.at.map(|at| at.rfc3339()),
        "altered": stretch.altered.iter().map(altered_json).collect::<Vec<_>>(),
        "groups": stretch.groups,
        "arrows": stretch.arrows,
    })
}
