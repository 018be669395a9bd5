//! `sheaf add`: people, bows, parts and arrow sets.

use crate::{
    CliError, Env,
    args::{Add, AddWhat},
    fields, lookup,
    store::Home,
};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::{replica::Draft, rig::fits::contradiction};
use std::collections::BTreeMap;

/// Records a new thing under a name that no other of its kind has.
pub fn run(args: &Add, env: &mut Env<'_>) -> Result<(), CliError> {
    let (kind, name, given) = typed(&args.what);
    let mut home = Home::open(env)?;
    let name = lookup::new_name(&home, kind, name, None)?;
    let mut values: BTreeMap<String, Value> = BTreeMap::from([("name".into(), json!(name))]);
    for (field, text) in given {
        let Some(text) = text else { continue };
        let (field, _) = fields::field(kind, field)?;
        values.insert(field.to_owned(), fields::read_value(&home, kind, None, field, text, env)?);
    }
    let id = env.thing_id();
    let mut set = BTreeMap::new();
    for (field, value) in &values {
        let raw =
            to_raw_value(value).map_err(|e| CliError::bug(format!("{field} cannot be written: {e}")))?;
        set.insert(field.clone(), raw);
    }
    let draft = Draft { kind: kind.into(), id, set, settles: false };
    fields::check_draft(None, &draft)?;
    home.record(env, vec![draft])?;
    if env.json {
        return env.print_json(&json!({"kind": kind, "id": id, "fields": values}));
    }
    writeln!(env.out, "Kept: {kind} {name}.")?;
    if let Some(words) = contradicting(&values) {
        env.remark(words)?;
    }
    if kind == "arrows" && !values.contains_key("shaft_diameter_mm") {
        env.remark("Its shaft diameter decides line cutters: `sheaf set arrows NAME shaft_diameter=5.5mm`.")?;
    }
    Ok(())
}

/// Says that the two measures of a person's draw contradict each other.
fn contradicting(values: &BTreeMap<String, Value>) -> Option<String> {
    let number = |field: &str| values.get(field).and_then(Value::as_f64);
    contradiction(number("draw_length_in")?, number("pivot_draw_in")?)
}

type Given<'a> = Vec<(&'static str, Option<&'a str>)>;

fn typed(what: &AddWhat) -> (&'static str, &str, Given<'_>) {
    match what {
        AddWhat::Person(p) => {
            let given = vec![
                ("bow_arm", p.bow_arm.as_deref()),
                ("hook", p.hook.as_deref()),
                ("draw_length", p.draw_length.as_deref()),
                ("pivot_draw", p.pivot_draw.as_deref()),
                ("note", p.note.as_deref()),
            ];
            ("person", &p.name, given)
        }
        AddWhat::Bow(b) => {
            let given = vec![
                ("riser", b.riser.as_deref()),
                ("discipline", b.discipline.as_deref()),
                ("note", b.note.as_deref()),
            ];
            ("bow", &b.name, given)
        }
        AddWhat::Part(p) => ("part", &p.name, p.given()),
        AddWhat::Arrows(a) => {
            let given = vec![
                ("count", a.count.as_deref()),
                ("shaft_diameter", a.shaft_diameter.as_deref()),
                ("spine", a.spine.as_deref()),
                ("length", a.length.as_deref()),
                ("mass", a.mass.as_deref()),
                ("pile", a.pile.as_deref()),
                ("note", a.note.as_deref()),
            ];
            ("arrows", &a.name, given)
        }
    }
}
