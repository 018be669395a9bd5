//! `sheaf shaft`: what was measured of single arrows of a set.

use crate::{CliError, Env, args::Shaft, lookup, mended, store::Home, words::quoted};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::{
    ModelError,
    id::ThingId,
    kind::{self, Arrows, MOST_SHAFTS, same_value},
    records::read_shafts,
    replica::{Draft, Store},
    rig::caution,
};
use std::collections::BTreeMap;

/// Records what was measured, and says what it was before.
pub fn run(args: &Shaft, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let set = lookup::find(&home, "arrows", &args.set)?;
    let thing = home.store().thing("arrows", set.id)?;
    let record = thing.as_ref().map(kind::read::<Arrows>).transpose()?.unwrap_or_default();
    let read = read_shafts(&record, &args.words).map_err(|e| refused(e, &set.name, record.count))?;
    let old = thing.as_ref().map(|t| t.fields()).unwrap_or_default();
    let (mut values, mut said) = (BTreeMap::new(), Vec::new());
    for (field, value) in read {
        let was = old.get(&field).map_or(Value::Null, |f| json!(f.now.value));
        if same_value(&was, &value) {
            continue;
        }
        let raw =
            to_raw_value(&value).map_err(|e| CliError::bug(format!("{field} cannot be written: {e}")))?;
        values.insert(field.clone(), raw);
        said.push((field, was, value));
    }
    if !values.is_empty() {
        home.record(env, vec![Draft { kind: "arrows".into(), id: set.id, set: values, settles: false }])?;
    }
    told(&home, set.id, &said, env)
}

/// Says what to type instead.
fn refused(e: ModelError, set: &str, count: Option<u32>) -> CliError {
    let name = quoted(set);
    // The message begins with the arrow that the set does not have.
    let beyond =
        e.message.strip_prefix("shaft ").and_then(|rest| rest.split(':').next()?.parse::<u32>().ok());
    let hint = match (e.code, count, beyond) {
        ("no_such_shaft", Some(count), Some(number)) if (count + 1..=MOST_SHAFTS).contains(&number) => {
            format!("`sheaf set arrows {name} count={number}` says so, then type this again")
        }
        _ => format!(
            "write for example `sheaf shaft {name} 3 mass=331gr` or `sheaf shaft {name} \"mass=330,8; 331,2\"`; {set} has {} \
             arrows at most; `sheaf shaft --help` says how a row is typed",
            count.unwrap_or(MOST_SHAFTS)
        ),
    };
    CliError::from(e).hint(hint)
}

/// A field with what it was and what it is.
type Said = (String, Value, Value);

/// Says what was kept.
fn told(home: &Home, set: ThingId, said: &[Said], env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        let fields: Vec<Value> =
            said.iter().map(|(f, b, a)| json!({"field": f, "before": b, "after": a})).collect();
        return env.print_json(&json!({"set": set, "fields": fields}));
    }
    if said.is_empty() {
        return Ok(writeln!(env.out, "Nothing was altered: it was noted so before.")?);
    }
    let names = lookup::names(home, lookup::NAMED)?;
    let number = |field: &str| field.split('.').nth(1).and_then(|n| n.parse::<u32>().ok());
    let mut said: Vec<&Said> = said.iter().collect();
    said.sort_by_key(|(field, ..)| number(field));
    for (field, was, value) in &said {
        writeln!(env.out, "Kept: {}", mended::told(field, was, value, &names))?;
    }
    if said.iter().any(|(field, ..)| field.ends_with(".mass_gr")) {
        env.caution(caution::LIGHT_ARROWS)?;
    }
    Ok(())
}
