//! `sheaf settle`: one value for a field that has rivals.

use crate::{
    CliError, Env,
    args::Settle,
    fields,
    lookup::{self, Named},
    store::Home,
    words::shown,
};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::{
    kind,
    notation::{bare, quantity, unit_of},
    records::{Difference, check_draft, differences_of},
    replica::{Draft, Store},
    verdict::name_and_unit,
};
use std::collections::BTreeMap;

/// Records the value that replaces all rivals.
pub fn run(args: &Settle, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let thing = lookup::find_any(&home, &args.name)?;
    let stored = home.store().thing(thing.kind, thing.id)?;
    let open = stored.as_ref().map(differences_of).unwrap_or_default();
    let Some(difference) = open
        .iter()
        .find(|d| d.field == args.field || bare(&d.field) == args.field || words(&d.field) == args.field)
    else {
        let fields: Vec<&str> = open.iter().map(|d| d.field.as_str()).collect();
        let error = CliError::input(format!("there is no difference about `{}` to settle there", args.field));
        return Err(match fields.is_empty() {
            true => error.hint("`sheaf differences` lists what there is"),
            false => error.hint(format!("there is one about {}", fields.join(", "))),
        });
    };
    let value = match args.keep {
        Some(n) => kept(n, difference)?,
        None => given(&home, &thing, &difference.field, args.value.as_deref().unwrap_or_default(), env)?,
    };
    let raw = to_raw_value(&value).map_err(|e| CliError::bug(format!("the value cannot be written: {e}")))?;
    let set = BTreeMap::from([(difference.field.clone(), raw)]);
    let draft = Draft { kind: thing.kind.into(), id: thing.id, set, settles: true };
    check_draft(stored.as_ref(), &draft)?;
    home.record(env, vec![draft])?;
    if env.json {
        return env.print_json(
            &json!({"kind": thing.kind, "id": thing.id, "field": difference.field, "value": value}),
        );
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    let (field, shown) = match kind::shaft_of(&difference.field) {
        Some(_) => fields::named_field(&difference.field, &value, &names),
        None => (difference.field.clone(), shown(&value, &names)),
    };
    writeln!(env.out, "Kept: {field} is {shown} now; the other values stay in the history.")?;
    Ok(())
}

/// Returns what a field is called in words.
fn words(field: &str) -> String {
    name_and_unit(field).0
}

/// Returns one of the values that there are.
fn kept(n: usize, difference: &Difference) -> Result<Value, CliError> {
    let value = n.checked_sub(1).and_then(|i| difference.values.get(i));
    value.map(|v| v.value.clone()).ok_or_else(|| {
        CliError::input(format!("there is no value number {n}; there are {}", difference.values.len()))
            .hint("`sheaf differences` numbers them")
    })
}

/// Reads another value, in the way in which the field is set otherwise.
fn given(home: &Home, thing: &Named, field: &str, typed: &str, env: &Env<'_>) -> Result<Value, CliError> {
    let known = kind::fields_of(thing.kind).any(|name| name == field);
    if known || (thing.kind == "change" && field.starts_with("set.")) {
        return fields::read_value(home, thing.kind, Some(thing.id), field, typed, env);
    }
    if let Some((number, (of, form))) =
        kind::shaft_of(field).and_then(|(number, of)| Some((number, kind::shaft_field(of)?)))
    {
        return Ok(kind::shaft_value(number, of, form, typed)?);
    }
    if field == "retired" {
        return match typed.trim().to_lowercase().as_str() {
            "yes" | "true" => Ok(json!(true)),
            "no" | "false" => Ok(json!(false)),
            _ => Err(CliError::input(format!("{field}: `{typed}` is neither yes nor no"))),
        };
    }
    // A field that this build has no words for: a number where it reads as one.
    Ok(quantity(typed, unit_of(field)).map_or_else(|_| json!(typed), |n| json!(n)))
}
