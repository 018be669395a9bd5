//! Values of fields as they are typed, where reading them takes a look at the records or at the clock.

use crate::{CliError, Env, lookup, mended, store::Home, when};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{self, Form},
    name,
    records::{check_sort, part_of_setting},
};

pub use sheaf_model::records::{check_draft, named_field};

/// Returns the field of a kind that is meant: its full name, or the name without its unit.
pub fn field(kind: &str, typed: &str) -> Result<(&'static str, Form), CliError> {
    kind::field(kind, typed).ok_or_else(|| {
        let all = mended::can_be_set(kind).join(", ");
        let near = lookup::nearest(typed.trim(), mended::can_be_set(kind).into_iter());
        let near =
            if near.is_empty() { String::new() } else { format!("the nearest are {}; ", near.join(", ")) };
        CliError::input(format!("{} has no field `{}`", name::with_article(kind), typed.trim()))
            .hint(format!("{near}it has: {all}"))
    })
}

/// What is described field by field, and by a name.
const OF_THINGS: [&str; 4] = ["person", "bow", "part", "arrows"];

/// Reads what was typed for a field of a thing, or of one that is to be made, and checks it as far as it goes alone.
pub fn read_value(
    home: &Home,
    kind: &'static str,
    own: Option<ThingId>,
    field: &str,
    typed: &str,
    env: &Env<'_>,
) -> Result<Value, CliError> {
    if let ("change", Some(setting)) = (kind, field.strip_prefix("set.")) {
        return read_setting(home, setting, typed);
    }
    let (field, form) = self::field(kind, field)?;
    // What somebody noted of a thing can be taken out again; what a record is made of cannot.
    if typed.trim().is_empty() && own.is_some() && field != "name" && OF_THINGS.contains(&kind) {
        return Ok(Value::Null);
    }
    let value = match form {
        Form::Moment => json!(when::read(typed, env)?),
        Form::Link(of) => {
            let value = json!(lookup::find(home, of, typed)?.id);
            check_sort(home.store(), field, &value)?;
            value
        }
        form => kind::value(field, form, typed)?,
    };
    match (field, &value) {
        ("name", Value::String(name)) => Ok(json!(lookup::new_name(home, kind, name, own)?)),
        _ => Ok(value),
    }
}

/// Reads a value of a setting that stands for itself: a part or an arrow set by its name, or a number.
pub fn read_setting(home: &Home, field: &str, typed: &str) -> Result<Value, CliError> {
    let value = if kind::unit_of_setting(field).is_empty() {
        part(home, field, typed.trim())?
    } else {
        json!(kind::read_setting(field, typed)?)
    };
    kind::check_setting(field, &value)?;
    Ok(value)
}

/// Reads a part or an arrow set by its name; where none is called so, the words stand for themselves, save for what has
/// to be recorded. A part of another sort is refused.
fn part(home: &Home, field: &str, typed: &str) -> Result<Value, CliError> {
    let (kind, known) = part_of_setting(field);
    let found = match known {
        true => Some(lookup::find(home, kind, typed)?),
        false => lookup::find_known(home, kind, typed)?,
    };
    let Some(found) = found else { return Ok(json!(typed)) };
    let value = json!(found.id);
    match check_sort(home.store(), field, &value) {
        Ok(()) => Ok(value),
        // The beginning of the name of another sort of part stands for itself where words may.
        Err(_) if !known && name::key(&found.name) != name::key(typed) => Ok(json!(typed)),
        Err(e) => Err(e.hint(format!(
            "`sheaf parts --what {field}` lists those that fit; `sheaf set part {} what=SORT` puts it right",
            found.id.short()
        ))),
    }
}
