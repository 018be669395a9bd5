//! `sheaf differences`: what two people wrote without seeing each other.

use crate::{CliError, Env, fields, lookup, store::Home, when};
use serde::Serialize;
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind,
    merge::{Assigned, Thing},
    replica::Store,
};

/// A field of a thing with rival values; the first stands.
#[derive(Debug, Clone, Serialize)]
pub struct Difference {
    /// What kind of thing.
    pub kind: String,
    /// Which one.
    pub id: ThingId,
    /// The field.
    pub field: String,
    /// The values.
    pub values: Vec<Rival>,
}

/// A value that someone wrote.
#[derive(Debug, Clone, Serialize)]
pub struct Rival {
    /// The value.
    pub value: Value,
    /// By whom.
    pub by: ThingId,
    /// When by the clock of its device, milliseconds since 1970.
    pub at_ms: u64,
    /// Whether it is the one that stands.
    pub stands: bool,
}

/// Lists every difference that nobody has settled.
pub fn run(env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let found = all(&home)?;
    let names = lookup::names(&home, lookup::NAMED)?;
    let name = |id: ThingId| names.get(&id).cloned().unwrap_or_else(|| id.short());
    if env.json {
        let list: Vec<Value> = found
            .iter()
            .map(|d| json!({"kind": d.kind, "id": d.id, "name": name(d.id), "field": d.field, "values": d.values}))
            .collect();
        return env.print_json(&list);
    }
    if found.is_empty() {
        writeln!(env.out, "No differences to settle.")?;
        return Ok(());
    }
    for difference in found {
        writeln!(env.out, "{} {}, {}:", difference.kind, name(difference.id), difference.field)?;
        for (n, rival) in difference.values.iter().enumerate() {
            let value = fields::shown(&difference.field, &rival.value, &names);
            let stands = if rival.stands { "  <- stands" } else { "" };
            let at = when::of_ms(rival.at_ms, env)?;
            writeln!(env.out, "  {}  {value}  by {}, {at}{stands}", n + 1, name(rival.by))?;
        }
        let handle = difference.id.short();
        writeln!(env.out, "  settle it: sheaf settle {handle} {} --keep 1", difference.field)?;
    }
    Ok(())
}

/// Returns every difference of a replica.
pub fn all(home: &Home) -> Result<Vec<Difference>, CliError> {
    let mut found = Vec::new();
    for kind in kind::NAMES {
        home.store().visit_rewritten(kind, &mut |thing| found.extend(of_thing(thing)))?;
    }
    Ok(found)
}

/// Returns the differences of one thing.
pub fn of_thing(thing: &Thing) -> Vec<Difference> {
    if thing.parts().nth(1).is_none() {
        return Vec::new();
    }
    let rival = |a: &Assigned<'_>, stands| Rival {
        value: serde_json::from_str(a.value.get()).unwrap_or(Value::Null),
        by: a.author,
        at_ms: a.stamp.tick.ms(),
        stands,
    };
    let open = thing.fields().into_iter().filter(|(_, field)| !field.others.is_empty());
    open.map(|(name, field)| Difference {
        kind: thing.kind.clone(),
        id: thing.id,
        field: name,
        values: std::iter::once(rival(&field.now, true))
            .chain(field.others.iter().map(|a| rival(a, false)))
            .collect(),
    })
    .collect()
}
