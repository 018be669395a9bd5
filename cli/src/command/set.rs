//! `sheaf set`: fields of something that was recorded.

use crate::{CliError, Env, args::Set, fields, lookup, render, store::Home, when};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::replica::{Draft, Store};
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
        let (name, typed) = pair.split_once('=').ok_or_else(|| {
            CliError::input(format!("`{pair}` is no field with a value")).hint("write it like mass=330gr")
        })?;
        let (field, _) = fields::field(kind, name)?;
        let value = fields::read_value(&home, kind, Some(thing.id), field, typed, env)?;
        if set.contains_key(field) {
            return Err(CliError::input(format!("{field} is given twice"))
                .hint("a field holds one value; leave out the one that is wrong"));
        }
        let was = old.get(field).map_or(Value::Null, |f| json!(f.now.value));
        let raw =
            to_raw_value(&value).map_err(|e| CliError::bug(format!("{field} cannot be written: {e}")))?;
        set.insert(field.to_owned(), raw);
        said.push((field, was, value));
    }
    let draft = Draft { kind: kind.into(), id: thing.id, set, settles: false };
    fields::check_draft(before.as_ref(), &draft)?;
    home.record(env, vec![draft])?;
    remark_on_moments(&said, env)?;
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

/// Remarks on a new moment that is yet to come.
fn remark_on_moments(said: &[(&'static str, Value, Value)], env: &mut Env<'_>) -> Result<(), CliError> {
    for at in said.iter().filter(|(field, ..)| *field == "at").filter_map(|(_, _, value)| value.as_str()) {
        when::remark_if_ahead(at, env)?;
    }
    Ok(())
}
