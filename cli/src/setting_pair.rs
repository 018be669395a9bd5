//! Settings as they are typed: `plunger_turns=+1/4`, `limbs="long 36"`.

use crate::{CliError, Env, fields, lookup, render, store::Home};
use serde_json::Value;
use sheaf_model::{
    kind::{self, SETTINGS},
    notation::bare,
    records::{Meant, added, meant_setting},
    timeline::Setup,
};

/// Reads `setting=value`; a value with a sign is relative to the setup, `==` takes the sign as part of it.
pub fn read(home: &Home, setup: &Setup, pair: &str, env: &mut Env<'_>) -> Result<(String, Value), CliError> {
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
    let Meant { field, unit, own } =
        meant_setting(name, kind::is_numeric(typed)).ok_or_else(|| no_setting(name))?;
    if own {
        remark_on_own(&field, env)?;
    }
    let relative = !absolute && !unit.is_empty() && typed.starts_with(['+', '-', '\u{2212}']);
    if !relative {
        let value = fields::read_setting(home, &field, typed)?;
        return Ok((field, value));
    }
    let number = kind::read_setting(&field, typed)?;
    let after = added(setup, &field, number)?.ok_or_else(|| {
        let (bare, sum) = (bare(&field), render::number(number, 3));
        CliError::input(format!(
            "what {field} was before is not noted, so {typed} has nothing to be added to"
        ))
        .hint(format!(
            "write what it is now, like {bare}=2.25, or {bare}=={sum} when {sum} is the value itself"
        ))
    })?;
    Ok((field, after))
}

/// Returns the field of the numeric setting that is meant: a known one, or one of the bow's own.
pub fn numeric(typed: &str, setup: &Setup) -> Result<String, CliError> {
    let typed = typed.trim();
    let own = || setup.keys().find(|field| **field == typed || bare(field) == typed).cloned();
    let field = kind::setting_meant(typed, true).map(|known| known.field.to_owned()).or_else(own);
    let Some(field) = field else {
        let known = setup.keys().map(String::as_str).chain(SETTINGS.iter().flat_map(|s| [s.field, s.name]));
        let near = lookup::nearest(typed, known);
        let hint = match near.as_slice() {
            [] => "`sheaf change --settings` lists the settings".to_owned(),
            near => format!("the nearest are {}", near.join(", ")),
        };
        return Err(CliError::input(format!("there is no setting `{typed}`")).hint(hint));
    };
    if kind::unit_of_setting(&field).is_empty() {
        return Err(CliError::input(format!("{field} is a part or a name, not a number"))
            .hint("`sheaf effects` judges the change of a part; a dial is a setting with a unit"));
    }
    Ok(field)
}

/// Returns the known settings that look like a name.
fn near(name: &str) -> Vec<&str> {
    lookup::nearest(name, SETTINGS.iter().flat_map(|s| [s.field, s.name]))
}

/// Says that there is no such setting, and how one of the bow's own is named.
fn no_setting(name: &str) -> CliError {
    let field = name.trim().to_lowercase().replace(['-', ' '], "_");
    let near = near(&field);
    let near = if near.is_empty() { SETTINGS.iter().map(|s| s.field).collect() } else { near };
    CliError::input(format!("there is no setting `{name}`")).hint(format!(
        "the nearest are {}; a setting of your own ends in its unit, like button_mm or dial_turns",
        near.join(", ")
    ))
}

/// Says that Sheaf does not know a setting, which is taken since its name says its unit.
fn remark_on_own(field: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    let near = near(field);
    let near =
        if near.is_empty() { String::new() } else { format!(" (known and near: {})", near.join(", ")) };
    env.remark(format!("`{field}` is a setting of your own{near}."))
}
