//! `sheaf set`: fields of something that was recorded.

use crate::{
    CliError, Env,
    args::Set,
    fields::{self, Form},
    lookup, render,
    store::Home,
    when,
};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::{
    kind::Group,
    merge::Thing,
    replica::{Draft, Store},
};
use std::collections::BTreeMap;

/// Records new values of fields, and says what they were before.
pub fn run(args: &Set, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let kind = args.kind.name();
    let thing = lookup::find(&home, kind, &args.name)?;
    let before = home.store().thing(kind, thing.id)?;
    let old = before.as_ref().map(|t| t.fields()).unwrap_or_default();
    let (mut set, mut said) = (BTreeMap::new(), Vec::new());
    for pair in &args.fields {
        let (field, value) = read(&home, kind, pair, env)?;
        if let ("name", Value::String(name)) = (field, &value) {
            super::add::check_name(&home, kind, name, Some(thing.id))?;
        }
        let was = old.get(field).map_or(Value::Null, |f| json!(f.now.value));
        let raw =
            to_raw_value(&value).map_err(|e| CliError::bug(format!("{field} cannot be written: {e}")))?;
        set.insert(field.to_owned(), raw);
        said.push((field, was, value));
    }
    let draft = Draft { kind: kind.into(), id: thing.id, set, settles: false };
    if kind == "group" {
        check_group(before.as_ref(), &draft)?;
    }
    home.record(env, vec![draft])?;
    if env.json {
        let fields: Vec<Value> =
            said.iter().map(|(f, b, a)| json!({"field": f, "before": b, "after": a})).collect();
        return env.print_json(&json!({"kind": kind, "id": thing.id, "fields": fields}));
    }
    for (field, was, value) in said {
        writeln!(env.out, "Kept: {field} {} -> {}", render::plain(&was), render::plain(&value))?;
    }
    Ok(())
}

/// Reads `field=value` for a kind.
fn read(home: &Home, kind: &str, pair: &str, env: &Env<'_>) -> Result<(&'static str, Value), CliError> {
    let (name, typed) = pair.split_once('=').ok_or_else(|| {
        CliError::input(format!("`{pair}` is no field with a value")).hint("write it like mass=330gr")
    })?;
    let (field, form) = fields::field(kind, name)?;
    let value = match form {
        Form::Moment => json!(when::read(typed, env)?),
        Form::Link(of) => json!(lookup::find(home, of, typed)?.id),
        form => fields::value(field, form, typed)?,
    };
    Ok((field, value))
}

/// Checks a group as it will be.
fn check_group(before: Option<&Thing>, draft: &Draft) -> Result<(), CliError> {
    let Some(before) = before else { return Ok(()) };
    let mut values: BTreeMap<String, Value> =
        before.fields().into_iter().map(|(name, f)| (name, json!(f.now.value))).collect();
    values.extend(draft.set.iter().map(|(name, raw)| (name.clone(), json!(raw))));
    let group: Group = serde_json::from_value(json!(values))
        .map_err(|e| CliError::input(format!("the group cannot be read with that value: {e}")))?;
    Ok(group.check()?)
}
