//! `sheaf timeline`: what happened to a bow, in order.

use crate::{
    CliError, Env,
    args::Timeline as Args,
    lookup, notes,
    render::{Side, Table, thousands},
    store::Home,
    words::{altered_json, altered_words},
};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    timeline::{Practiced, Stretch, Timeline},
};
use std::collections::BTreeMap;

/// Shows the stretches between the changes of a bow.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", &args.bow)?;
    let timeline = Timeline::read(home.store(), bow.id)?;
    let all = timeline.stretches();
    let counted = counted(&timeline, &all);
    let skip = if args.last == 0 { 0 } else { all.len().saturating_sub(args.last) };
    let noted = notes::all(&home, &|note| note.bow == Some(bow.id))?;
    if env.json {
        let stretches: Vec<Value> =
            all[skip..].iter().zip(&counted[skip..]).map(|(s, n)| as_json(s, *n)).collect();
        let unplaced: Vec<Value> =
            timeline.unplaced.iter().map(|u| json!({"kind": u.kind, "id": u.id, "why": u.why})).collect();
        let practice: Vec<Value> = timeline.practice.iter().map(count_json).collect();
        return env.print_json(&json!({
            "bow": bow.id, "stretches": stretches, "practice": practice, "unplaced": unplaced, "notes": noted,
        }));
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    writeln!(env.out, "{}", bow.name)?;
    let table = stretches(&all[skip..], &counted[skip..], &names);
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

/// Returns how many arrows were counted only in each stretch.
fn counted(timeline: &Timeline, all: &[Stretch]) -> Vec<u64> {
    let mut counted = vec![0u64; all.len()];
    for count in &timeline.practice {
        let began = |s: &Stretch| s.at.is_none_or(|at| at.unix_ms() <= count.at.unix_ms());
        let place = all.partition_point(began).saturating_sub(1);
        if let Some(sum) = counted.get_mut(place) {
            *sum = sum.saturating_add(u64::from(count.arrows));
        }
    }
    counted
}

fn stretches(all: &[Stretch], counted: &[u64], names: &BTreeMap<ThingId, String>) -> Table {
    let heads = [
        ("from", Side::Left),
        ("altered", Side::Left),
        ("groups", Side::Right),
        ("arrows", Side::Right),
        ("counted only", Side::Right),
    ];
    let mut table = Table::new(&heads);
    let said = |(s, n): &(&Stretch, &u64)| s.change.is_some() || !s.groups.is_empty() || **n > 0;
    for (stretch, n) in all.iter().zip(counted).filter(said) {
        let only = if *n == 0 { String::new() } else { thousands(*n) };
        let from = stretch.at.map_or("the beginning".into(), |at| at.day_and_time());
        let altered: Vec<String> = stretch.altered.iter().map(|a| altered_words(a, names)).collect();
        let (groups, arrows) = (stretch.groups.len().to_string(), stretch.arrows.to_string());
        table.row([from, altered.join(", "), groups, arrows, only]);
    }
    table
}

fn count_json(count: &Practiced) -> Value {
    json!({
        "id": count.id, "at": count.at.rfc3339(), "archer": count.practice.archer, "arrows": count.practice.arrows,
        "count": count.arrows, "note": count.practice.note,
    })
}

fn as_json(stretch: &Stretch, counted: u64) -> Value {
    json!({
        "change": stretch.change,
        "at": stretch.at.map(|at| at.rfc3339()),
        "altered": stretch.altered.iter().map(altered_json).collect::<Vec<_>>(),
        "groups": stretch.groups,
        "arrows": stretch.arrows,
        "practice": counted,
    })
}
