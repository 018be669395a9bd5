//! `sheaf change`: what was altered on a bow.

use crate::{
    CliError, Env,
    args::Change as Args,
    command::timeline::{altered_json, altered_words},
    fields, lookup,
    render::{self, Side, Table},
    store::Home,
    when,
};
use serde_json::{Value, json};
use sheaf_model::{
    kind::{self, Change, SETTINGS},
    notation::{bare, unit_of},
    timeline::{Altered, Moment, Setup, Timeline},
};

/// Records a change, and says what each setting was before.
pub fn run(args: &Args, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(bow) = args.bow.as_ref().filter(|_| !args.settings) else { return settings(env) };
    let mut home = Home::open(env)?;
    let bow = lookup::find(&home, "bow", bow)?;
    if args.values.is_empty() {
        return Err(CliError::input("what was altered?")
            .hint("write it like plunger_turns=+1/4; `sheaf change --settings` lists the settings"));
    }
    let at = match &args.at {
        Some(typed) => {
            let at = when::read(typed, env)?;
            when::remark_if_ahead(&at, env)?;
            at
        }
        None => when::now(env)?,
    };
    let setup = Timeline::read(home.store(), bow.id)?.setup_at(Moment::read(&at)?.unix_ms());
    let mut change = Change {
        bow: Some(bow.id),
        at: Some(at.clone()),
        by: Some(home.card().person),
        note: args.note.clone(),
        ..Change::default()
    };
    let mut altered = Vec::new();
    for pair in &args.values {
        let (field, value) = read(&home, &setup, pair, env)?;
        if altered.iter().any(|a: &Altered| a.setting == field) {
            return Err(CliError::input(format!("{field} is given twice")).hint(
                "a change holds one value of a setting; write two changes with --at when both were shot",
            ));
        }
        let before = setup.get(&field).map(|s| s.value.clone());
        change.set(&field, value.clone());
        altered.push(Altered { setting: field, before, after: value });
    }
    let id = env.thing_id();
    home.record(env, vec![kind::draft(id, &change)?])?;
    let cautions = cautions(&altered);
    if env.json {
        let altered: Vec<Value> = altered.iter().map(altered_json).collect();
        return env.print_json(
            &json!({"change": id, "bow": bow.id, "at": at, "altered": altered, "cautions": cautions}),
        );
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    let words: Vec<String> = altered.iter().map(|a| altered_words(a, &names)).collect();
    writeln!(env.out, "Kept: {}, {}: {}.", bow.name, when::shown(Some(&at)), words.join(", "))?;
    for caution in cautions {
        env.remark(caution)?;
    }
    Ok(())
}

fn settings(env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        let list: Vec<Value> = SETTINGS
            .iter()
            .map(|s| json!({"setting": s.field, "name": s.name, "unit": s.unit, "about": s.about}))
            .collect();
        return env.print_json(&list);
    }
    let mut table = Table::new(&[("setting", Side::Left), ("unit", Side::Left), ("what it is", Side::Left)]);
    for s in SETTINGS {
        table.row([s.field.to_owned(), s.unit.to_owned(), s.about.to_owned()]);
    }
    Ok(table.print(env)?)
}

/// Reads `setting=value`; a value with a sign is relative to the setup, `==` takes the sign as part of it.
fn read(home: &Home, setup: &Setup, pair: &str, env: &mut Env<'_>) -> Result<(String, Value), CliError> {
    let (name, typed) = pair.split_once('=').ok_or_else(|| {
        CliError::input(format!("`{pair}` is no setting with a value"))
            .hint("write it like plunger_turns=+1/4")
    })?;
    let (absolute, typed) = match typed.strip_prefix('=') {
        Some(rest) => (true, rest.trim()),
        None => (false, typed.trim()),
    };
    if typed.is_empty() {
        return Err(CliError::input(format!("`{pair}` gives no value")));
    }
    let (field, unit) = match kind::setting_meant(name, kind::is_numeric(typed)) {
        Some(known) => (known.field.to_owned(), known.unit),
        None => own_setting(name, env)?,
    };
    let relative = !absolute && !unit.is_empty() && typed.starts_with(['+', '-', '\u{2212}']);
    if !relative {
        let value = fields::read_setting(home, &field, typed)?;
        return Ok((field, value));
    }
    let number = kind::read_setting(&field, typed)?;
    let before = setup.get(&field).and_then(|s| s.value.as_f64()).ok_or_else(|| {
        let (bare, sum) = (bare(&field), render::number(number, 3));
        CliError::input(format!(
            "what {field} was before is not noted, so {typed} has nothing to be added to"
        ))
        .hint(format!(
            "write what it is now, like {bare}=2.25, or {bare}=={sum} when {sum} is the value itself"
        ))
    })?;
    // To a tenth of a thousandth, so that a quarter turn eight times is two turns.
    let after = json!(((before + number) * 1e4).round() / 1e4);
    kind::check_setting(&field, &after)?;
    Ok((field, after))
}

/// A setting that Sheaf does not know: taken when its name says its unit.
fn own_setting(name: &str, env: &mut Env<'_>) -> Result<(String, &'static str), CliError> {
    let field = name.trim().to_lowercase().replace(['-', ' '], "_");
    let known = SETTINGS.iter().flat_map(|s| [s.field, s.name]);
    let near = lookup::nearest(&field, known);
    let fits = field.starts_with(|c: char| c.is_ascii_lowercase())
        && field.len() <= 56
        && field.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
    let unit = unit_of(&field);
    if unit.is_empty() || !fits {
        let near = if near.is_empty() { SETTINGS.iter().map(|s| s.field).collect() } else { near };
        return Err(CliError::input(format!("there is no setting `{name}`")).hint(format!(
            "the nearest are {}; a setting of your own ends in its unit, like button_mm or dial_turns",
            near.join(", ")
        )));
    }
    let near =
        if near.is_empty() { String::new() } else { format!(" (known and near: {})", near.join(", ")) };
    env.remark(format!("`{field}` is a setting of your own{near}."))?;
    Ok((field, unit))
}

/// Returns what to take care of, where a change can hurt someone.
fn cautions(altered: &[Altered]) -> Vec<&'static str> {
    let touched = |fields: &[&str]| altered.iter().any(|a| fields.contains(&a.setting.as_str()));
    let mut cautions = Vec::new();
    if touched(&["limb_bolt_top_turns", "limb_bolt_bottom_turns", "draw_weight_lbf"]) {
        cautions.push(
            "Care: never turn limb bolts out beyond the maker's limit, nor draw a weight you cannot control; when \
             unsure, stop and ask a qualified coach.",
        );
    }
    if touched(&["limbs", "string", "brace_height_mm", "string_twists"]) {
        cautions.push(
            "Care: check that limbs and string are seated and whole before you draw, keep to the maker's brace \
             height, and never let go of the string without an arrow on it.",
        );
    }
    if touched(&["arrows"]) {
        cautions.push("Care: arrows lighter than the bow's maker allows, or damaged ones, can hurt you and break the bow.");
    }
    cautions
}
