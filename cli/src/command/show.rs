//! `sheaf show`: everything about one thing.

use crate::{
    CliError, Env,
    args::Show,
    command::list,
    fields, lookup, notes, picture,
    render::{self, Side, Table},
    scoring,
    store::Home,
    when,
    words::{middle, shown},
};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{self, Group, SETTINGS},
    merge::{Assigned, Thing},
    records::{Difference, Here, differences_of, setup_here},
    replica::Store,
    stats::group::group as figures_of,
    timeline::Setup,
    verdict::{Units, gone_words, limits_of, name_and_unit, parts, unit_beside, upper_first},
};
use std::collections::BTreeMap;

/// Shows the fields of a thing; of a bow also its setup, of a group also its figures.
pub fn run(args: &Show, env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let named = lookup::find_meant(&home, &args.meant)?;
    let thing = home.store().thing(named.kind, named.id)?;
    let thing =
        thing.ok_or_else(|| CliError::bug(format!("{} {} is listed but not there", named.kind, named.id)))?;
    let differences = differences_of(&thing);
    let notes = notes::all(&home, &|note| note.about == Some(named.id))?;
    let here = if named.kind == "bow" { Some(setup_here(home.store(), named.id)?) } else { None };
    if env.json {
        let mut answer = as_json(&thing, here.as_ref(), args.history);
        (answer["differences"], answer["notes"]) = (json!(differences), json!(notes));
        return env.print_json(&answer);
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    print_fields(&thing, &names, env)?;
    if let Some(here) = &here {
        print_setup(here, &names, env)?;
        let beyond = limits_of(home.store(), named.id, Some(home.card().person))?;
        beyond.iter().try_for_each(|one| env.remark(one.said()))?;
    }
    if named.kind == "part" {
        print_place(&home, named.id, env)?;
    }
    if named.kind == "group" {
        let group = kind::read::<Group>(&thing)?;
        print_group(&home, &group, env)?;
        if !args.history {
            writeln!(env.out, "{}", picture::group(&group, group.face().as_ref(), env))?;
        }
    }
    notes::print(&notes, &names, env)?;
    if args.history {
        print_history(&thing, &names, env)?;
    }
    remark_differences(&differences, &names, env)
}

/// Says which fields two people wrote differently.
fn remark_differences(
    differences: &[Difference],
    names: &BTreeMap<ThingId, String>,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    for d in differences {
        let (field, _) = fields::named_field(&d.field, &Value::Null, names);
        env.remark(format!("{field} was written differently by two people: `sheaf differences`."))?;
    }
    Ok(())
}

fn as_json(thing: &Thing, here: Option<&Here>, with_history: bool) -> Value {
    let mut answer = list::as_json(thing);
    if with_history {
        answer["history"] = history(thing);
    }
    if let Some(here) = here {
        let values = here.setup.iter().map(|(setting, set)| (setting.clone(), set.value.clone()));
        answer["setup"] = values.collect::<serde_json::Map<_, _>>().into();
        let gone = here.gone.iter().map(|(setting, gone)| {
            (setting.clone(), json!({"part": gone.part, "to": gone.to, "at": gone.at.rfc3339()}))
        });
        answer["gone"] = gone.collect::<serde_json::Map<_, _>>().into();
    }
    answer
}

fn print_setup(here: &Here, names: &BTreeMap<ThingId, String>, env: &mut Env<'_>) -> Result<(), CliError> {
    match (here.setup.is_empty(), here.gone.is_empty()) {
        (true, true) => writeln!(env.out, "\nIts setup has not been noted yet; `sheaf change` notes it.")?,
        (true, false) => writeln!(env.out, "\nNothing is noted on it now.")?,
        (false, _) => {
            writeln!(env.out, "\nOn it now:")?;
            setup_table(&here.setup, names).print(env)?;
        }
    }
    print_gone(here, names, env)
}

/// Says which parts of a setup are on another bow now.
fn print_gone(here: &Here, names: &BTreeMap<ThingId, String>, env: &mut Env<'_>) -> Result<(), CliError> {
    for (setting, gone) in &here.gone {
        let part = names.get(&gone.part).cloned().unwrap_or_else(|| gone.part.short());
        let words = format!("Not on it any more: {part} ({setting}) {}.", gone_words(gone, names));
        writeln!(env.out, "{}", render::fitted(&render::tame(&words), env.width))?;
    }
    Ok(())
}

/// Says what the maker of a part allows, and where the part is.
fn print_place(home: &Home, part: ThingId, env: &mut Env<'_>) -> Result<(), CliError> {
    let found = parts(home.store(), None, true, Units::Metric)?.parts;
    for row in found.iter().filter(|row| row.id == part) {
        for words in row.limits.iter().chain([&row.place]) {
            let words = format!("{}.", upper_first(words));
            writeln!(env.out, "{}", render::fitted(&render::tame(&words), env.width))?;
        }
    }
    Ok(())
}

/// Returns a setup as a table, in the order in which the trade sets a bow up.
fn setup_table(setup: &Setup, names: &BTreeMap<ThingId, String>) -> Table {
    let mut table = Table::new(&[
        ("setting", Side::Left),
        ("value", Side::Right),
        ("", Side::Left),
        ("since", Side::Left),
    ]);
    let place = |field: &str| SETTINGS.iter().position(|s| s.field == field).unwrap_or(SETTINGS.len());
    let mut fields: Vec<&String> = setup.keys().collect();
    fields.sort_by_key(|field| (place(field), (*field).clone()));
    for field in fields {
        let set = &setup[field];
        let (name, unit) = name_and_unit(field);
        // A part and its adjustment can have one name: the plunger, and the turns of its spring.
        let twin = unit.is_empty() && SETTINGS.iter().any(|s| s.name == name && !s.unit.is_empty());
        let name = if twin { format!("{name} part") } else { name };
        let value = match set.value.as_f64() {
            Some(number) => render::number(number, 3),
            None => shown(&set.value, names),
        };
        table.row([name, value, unit_beside(unit, &set.value).to_owned(), set.at.day()]);
    }
    table
}

fn print_fields(thing: &Thing, names: &BTreeMap<ThingId, String>, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut table = Table::new(&[(&thing.kind, Side::Left), (&thing.id.to_string(), Side::Left)]);
    for (field, value) in list::values(thing) {
        if value.is_null() {
            continue;
        }
        let (field, text) = fields::named_field(&field, &value, names);
        table.row([field, text]);
    }
    Ok(table.print(env)?)
}

/// Prints where a group lies, how wide it is and what it scored.
pub fn print_group(home: &Home, group: &Group, env: &mut Env<'_>) -> Result<(), CliError> {
    let struck = group.counted_mm();
    if let Some(face) = group.face() {
        let scores = scoring::scores(group, &face, scoring::shaft_mm(home, group.arrows)?);
        writeln!(env.out, "\nScores {}", scores.join(" "))?;
    }
    if struck.is_empty() {
        return Ok(());
    }
    let figures = figures_of(&struck, group.distance_m, 0.95)?;
    writeln!(env.out, "{}", middle(figures.mpi_mm, struck.len()))?;
    if struck.len() > 1 {
        writeln!(
            env.out,
            "Mean radius {} mm, extreme spread {} mm",
            render::number(figures.mean_radius_mm, 1),
            render::number(figures.extreme_spread_mm, 1)
        )?;
    }
    Ok(())
}

fn history(thing: &Thing) -> Value {
    let mut all = serde_json::Map::new();
    for field in thing.fields().into_keys() {
        let said: Vec<Value> = thing
            .history(&field)
            .into_iter()
            .map(|a| json!({"value": a.value, "by": a.author, "at_ms": a.stamp.tick.ms()}))
            .collect();
        all.insert(field, said.into());
    }
    all.into()
}

/// Prints everything that was written of a thing, the latest first, whichever field it is about.
fn print_history(
    thing: &Thing,
    names: &BTreeMap<ThingId, String>,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let written: Vec<String> = thing.fields().into_keys().collect();
    let mut all: Vec<(&str, Assigned<'_>)> = Vec::new();
    for field in &written {
        all.extend(thing.history(field).into_iter().map(|said| (field.as_str(), said)));
    }
    all.sort_by(|(a, one), (b, other)| other.stamp.cmp(&one.stamp).then(a.cmp(b)));
    let heads = [("written", Side::Left), ("by", Side::Left), ("field", Side::Left), ("value", Side::Left)];
    let mut table = Table::new(&heads);
    for (field, said) in all {
        let value = serde_json::from_str(said.value.get()).unwrap_or(Value::Null);
        let by = names.get(&said.author).cloned().unwrap_or_else(|| said.author.short());
        let at = when::of_ms(said.stamp.tick.ms(), env)?;
        let (field, value) = fields::named_field(field, &value, names);
        table.row([at, by, field, value]);
    }
    writeln!(env.out, "\nWhat was written, latest first:")?;
    Ok(table.print(env)?)
}
