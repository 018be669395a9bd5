//! `sheaf settle`: one value for a field that has rivals.

use crate::{
    CliError, Env,
    args::Settle,
    command::differences::{of_thing, shown},
    fields::{self, Form},
    lookup,
    store::Home,
    when,
};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::replica::{Draft, Store};
use std::collections::BTreeMap;

/// Records the value that replaces all rivals.
pub fn run(args: &Settle, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut home = Home::open(env)?;
    let thing = lookup::find_any(&home, &args.name)?;
    let stored = home.store().thing(thing.kind, thing.id)?;
    let open = stored.as_ref().map(of_thing).unwrap_or_default();
    let Some(difference) =
        open.iter().find(|d| d.field == args.field || fields::bare(&d.field) == args.field)
    else {
        let fields: Vec<&str> = open.iter().map(|d| d.field.as_str()).collect();
        let error = CliError::input(format!("there is no difference about `{}` to settle there", args.field));
        return Err(match fields.is_empty() {
            true => error.hint("`sheaf differences` lists what there is"),
            false => error.hint(format!("there is one about {}", fields.join(", "))),
        });
    };
    let value = chosen(
        args,
        &difference.field,
        &difference.values.iter().map(|v| &v.value).collect::<Vec<_>>(),
        &home,
        env,
    )?;
    let raw = to_raw_value(&value).map_err(|e| CliError::bug(format!("the value cannot be written: {e}")))?;
    let set = BTreeMap::from([(difference.field.clone(), raw)]);
    home.record(env, vec![Draft { kind: thing.kind.into(), id: thing.id, set, settles: true }])?;
    if env.json {
        return env.print_json(
            &json!({"kind": thing.kind, "id": thing.id, "field": difference.field, "value": value}),
        );
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    writeln!(
        env.out,
        "Kept: {} is {} now; the other values stay in the history.",
        difference.field,
        shown(&value, &names)
    )?;
    Ok(())
}

fn chosen(
    args: &Settle,
    field: &str,
    values: &[&Value],
    home: &Home,
    env: &Env<'_>,
) -> Result<Value, CliError> {
    if let Some(n) = args.keep {
        let value = n.checked_sub(1).and_then(|i| values.get(i));
        return value.map(|v| (*v).clone()).ok_or_else(|| {
            CliError::input(format!("there is no value number {n}; there are {}", values.len()))
                .hint("`sheaf differences` numbers them")
        });
    }
    let typed = args.value.as_deref().unwrap_or_default();
    let kind = fields::FIELDS.iter().find(|(_, name, _)| *name == field);
    match kind.map(|(_, name, form)| (*name, *form)) {
        Some((_, Form::Moment)) => Ok(json!(when::read(typed, env)?)),
        Some((_, Form::Link(of))) => Ok(json!(lookup::find(home, of, typed)?.id)),
        Some((name, form)) => fields::value(name, form, typed),
        // A field that this build does not know by name, such as a setting: a number where it reads as one.
        None => {
            Ok(fields::measure(typed, fields::unit_of(field)).map_or_else(|_| json!(typed), |n| json!(n)))
        }
    }
}
