//! `sheaf list`: the things of a kind.

use crate::{
    CliError, Env,
    args::{List, Listed},
    command::sessions,
    lookup, notes,
    render::{self, Side, Table},
    store::Home,
    when,
    words::{distance_words, shown},
};
use serde::Deserialize;
use serde_json::{Value, json};
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind::{self, Arrows},
    merge::Thing,
    moment::Moment,
    records::{named_field, shaft_words},
    replica::Store,
};
use std::collections::BTreeMap;

/// Lists the latest things of a kind, oldest first.
pub fn run(args: &List, env: &mut Env<'_>) -> Result<(), CliError> {
    let kind = match args.what {
        Listed::Kind(kind) => kind.name(),
        Listed::Faces => return faces(env),
    };
    let home = Home::open(env)?;
    if kind == "session" {
        return sessions::run(&home, args, env);
    }
    let (things, more) = latest(&home, kind, args)?;
    if env.json {
        let list: Vec<Value> = things.iter().map(as_json).collect();
        return env.print_json(&list);
    }
    if things.is_empty() {
        writeln!(env.out, "None yet.")?;
        return Ok(());
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    table(kind, &things, &names).print(env)?;
    if more {
        env.remark(format!("The latest {}, oldest first; `--last 0` lists all.", args.last))?;
    }
    Ok(())
}

fn faces(env: &mut Env<'_>) -> Result<(), CliError> {
    let all = Face::codes().map(Face::by_code).collect::<Result<Vec<_>, _>>()?;
    let diameter = |face: &Face| 2.0 * face.scoring_outer_radius_mm();
    if env.json {
        let face = |f: &Face| {
            json!({"code": f.code(), "name": f.name(), "diameter_mm": diameter(f),
                "inner_ten": f.inner10_radius_mm().is_some()})
        };
        return env.print_json(&all.iter().map(face).collect::<Vec<Value>>());
    }
    let mut table =
        Table::new(&[("code", Side::Left), ("what it is", Side::Left), ("rings to, mm", Side::Right)]);
    for face in &all {
        let code = face.code().unwrap_or_default();
        table.row([code.to_owned(), face.name().to_owned(), render::number(diameter(face), 1)]);
    }
    Ok(table.print(env)?)
}

/// What is looked at before a thing is listed.
#[derive(Deserialize)]
struct Row {
    at: Option<String>,
    archer: Option<ThingId>,
    by: Option<ThingId>,
    #[serde(default)]
    retired: bool,
}

/// Returns the latest things of a kind that are wanted, by when they happened; those without a time by when they were
/// recorded.
fn latest(home: &Home, kind: &str, args: &List) -> Result<(Vec<Thing>, bool), CliError> {
    let bow = args.bow.as_deref().map(|bow| lookup::find(home, "bow", bow)).transpose()?.map(|b| b.id);
    let archer = lookup::archer(home, args.archer.as_deref())?;
    let most = if args.last == 0 { usize::MAX } else { args.last };
    let mut found: Vec<(i64, ThingId)> = Vec::new();
    home.store().visit(kind, bow, &mut |thing| {
        // What cannot be read as a whole is listed all the same.
        let row = thing.read::<Row>().ok();
        let whose = row.as_ref().and_then(|r| r.archer.or(r.by));
        let retired = row.as_ref().is_some_and(|r| r.retired);
        if (args.all || !retired) && (archer.is_none() || archer == whose) {
            let at = row.and_then(|r| Moment::read(&r.at?).ok());
            found.push((at.map_or(i64::MIN, |at| at.unix_ms()), thing.id));
        }
    })?;
    found.sort();
    let more = found.len() > most;
    let latest = found.split_off(found.len().saturating_sub(most));
    let mut things = Vec::new();
    for (_, id) in latest {
        things.extend(home.store().thing(kind, id)?);
    }
    Ok((things, more))
}

fn is_retired(thing: &Thing) -> bool {
    thing.fields().get("retired").is_some_and(|f| f.now.value.get() == "true")
}

/// Returns a thing as JSON: kind, id, name, retired and all fields.
pub fn as_json(thing: &Thing) -> Value {
    let fields: BTreeMap<String, Value> = values(thing);
    let name = fields.get("name").cloned().unwrap_or(Value::Null);
    json!({"kind": thing.kind, "id": thing.id, "name": name, "retired": is_retired(thing), "fields": fields})
}

/// Returns the values of a thing's fields.
pub fn values(thing: &Thing) -> BTreeMap<String, Value> {
    let read = |text: &str| serde_json::from_str(text).unwrap_or(Value::Null);
    thing.fields().into_iter().map(|(name, f)| (name, read(f.now.value.get()))).collect()
}

fn table(kind: &str, things: &[Thing], names: &BTreeMap<ThingId, String>) -> Table {
    match kind {
        "group" => groups(things, names),
        "change" => changes(things, names),
        "note" => noted(things, names),
        _ => others(kind, things, names),
    }
}

fn groups(things: &[Thing], names: &BTreeMap<ThingId, String>) -> Table {
    let heads = [
        ("when", Side::Left),
        ("bow", Side::Left),
        ("archer", Side::Left),
        ("distance", Side::Right),
        ("face", Side::Left),
        ("arrows", Side::Right),
        ("", Side::Left),
        ("id", Side::Left),
    ];
    let mut table = Table::new(&heads);
    for thing in things {
        let v = values(thing);
        let cell = |name: &str| v.get(name).map(|value| shown(value, names)).unwrap_or_default();
        let distance = v.get("distance_m").and_then(Value::as_f64);
        table.row([
            when::shown(v.get("at").and_then(Value::as_str)),
            cell("bow"),
            cell("archer"),
            distance.map(distance_words).unwrap_or_default(),
            cell("face"),
            v.get("points_mm").and_then(Value::as_array).map_or(0, Vec::len).to_string(),
            retired(thing),
            thing.id.short(),
        ]);
    }
    table
}

fn changes(things: &[Thing], names: &BTreeMap<ThingId, String>) -> Table {
    let heads = [
        ("when", Side::Left),
        ("bow", Side::Left),
        ("altered", Side::Left),
        ("", Side::Left),
        ("id", Side::Left),
    ];
    let mut table = Table::new(&heads);
    for thing in things {
        let v = values(thing);
        let set = |(name, value): (&String, &Value)| {
            let value = Some(value).filter(|v| !v.is_null())?;
            Some(format!("{}={}", name.strip_prefix("set.")?, shown(value, names)))
        };
        table.row([
            when::shown(v.get("at").and_then(Value::as_str)),
            v.get("bow").map(|value| shown(value, names)).unwrap_or_default(),
            v.iter().filter_map(set).collect::<Vec<String>>().join(" "),
            retired(thing),
            thing.id.short(),
        ]);
    }
    table
}

fn noted(things: &[Thing], names: &BTreeMap<ThingId, String>) -> Table {
    let heads = [
        ("when", Side::Left),
        ("by", Side::Left),
        ("about", Side::Left),
        ("note", Side::Left),
        ("", Side::Left),
        ("id", Side::Left),
    ];
    let mut table = Table::new(&heads);
    for thing in things {
        let v = values(thing);
        let name = |id: ThingId| names.get(&id).cloned().unwrap_or_else(|| id.short());
        let about = v.get("about").and_then(|id| id.as_str()?.parse().ok()).map(name);
        table.row([
            when::shown(v.get("at").and_then(Value::as_str)),
            notes::author(thing).map(name).unwrap_or_default(),
            about.unwrap_or_default(),
            v.get("text").map(render::plain).unwrap_or_default(),
            retired(thing),
            thing.id.short(),
        ]);
    }
    table
}

/// What the list says of a plan; `sheaf plan show` says the rest.
const PLAN_SHOWN: [&str; 5] = ["bow", "archer", "distance_m", "shift_mm", "sd_ratio"];

/// Up to how many fields of single arrows the list spells out; `sheaf shafts` has them all.
const FEW_SHAFTS: usize = 4;

fn named_words(field: &str, value: &Value, names: &BTreeMap<ThingId, String>) -> String {
    let (name, value) = named_field(field, value, names);
    format!("{name} {value}")
}

fn others(kind: &str, things: &[Thing], names: &BTreeMap<ThingId, String>) -> Table {
    let heads = [("name", Side::Left), ("what is known", Side::Left), ("", Side::Left), ("id", Side::Left)];
    let mut table = Table::new(&heads);
    for thing in things {
        let v = values(thing);
        let few = v.keys().filter(|field| kind::shaft_of(field).is_some()).count() <= FEW_SHAFTS;
        let set = (kind == "arrows" && !few).then(|| kind::read::<Arrows>(thing).ok()).flatten();
        let many = set.and_then(|set| shaft_words(&set));
        let rest: Vec<String> = v
            .iter()
            .filter(|(field, _)| !matches!(field.as_str(), "name" | "text" | "retired"))
            .filter(|(field, _)| kind != "plan" || PLAN_SHOWN.contains(&field.as_str()))
            .filter(|(field, _)| few || kind::shaft_of(field).is_none())
            .map(|(field, value)| match kind::shaft_of(field) {
                Some(_) => named_words(field, value, names),
                None => format!("{field} {}", shown(value, names)),
            })
            .chain(many)
            .collect();
        table.row([
            v.get("name").or_else(|| v.get("text")).map(render::plain).unwrap_or_default(),
            rest.join(", "),
            retired(thing),
            thing.id.short(),
        ]);
    }
    table
}

fn retired(thing: &Thing) -> String {
    if is_retired(thing) { "retired".into() } else { String::new() }
}
