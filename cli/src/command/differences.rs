//! `sheaf differences`: what two people wrote without seeing each other.

use crate::{CliError, Env, fields, lookup, render, store::Home, when};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    records::{Difference, differences},
    verdict::clashes,
};

/// Lists every difference that nobody has settled.
pub fn run(env: &mut Env<'_>) -> Result<(), CliError> {
    let home = Home::open(env)?;
    let (found, clashes) = (all(&home)?, clashes(home.store())?);
    let names = lookup::names(&home, lookup::NAMED)?;
    let name = |id: ThingId| names.get(&id).cloned().unwrap_or_else(|| id.short());
    if env.json {
        let clashes = clashes.iter().map(|c| {
            json!({"kind": "part", "id": c.part, "name": name(c.part), "field": "on", "on": c.on, "also": c.also,
                "words": c.words, "values": []})
        });
        let list: Vec<Value> = found
            .iter()
            .map(|d| json!({"kind": d.kind, "id": d.id, "name": name(d.id), "field": d.field, "values": d.values}))
            .chain(clashes)
            .collect();
        return env.print_json(&list);
    }
    for clash in &clashes {
        writeln!(env.out, "{}", render::fitted(&render::tame(&clash.words), env.width))?;
    }
    if found.is_empty() && clashes.is_empty() {
        writeln!(env.out, "No differences to settle.")?;
        return Ok(());
    }
    for difference in found {
        let (field, _) = fields::named_field(&difference.field, &Value::Null, &names);
        writeln!(env.out, "{} {}, {field}:", difference.kind, name(difference.id))?;
        for (n, rival) in difference.values.iter().enumerate() {
            let (_, value) = fields::named_field(&difference.field, &rival.value, &names);
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
    differences(home.store())
}
