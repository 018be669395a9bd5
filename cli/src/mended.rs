//! What is put right of a group and of a change: arrows typed anew, settings by their names.

use crate::{CliError, Env, setting_pair, store::Home};
use serde_json::{Value, json};
use sheaf_model::{
    face::Face,
    kind::{self, Group},
    merge::Thing,
    notation::{Length, shots, unit_of},
    records::{held, setup_before},
    timeline::Setup,
};

pub use sheaf_model::records::{arrows_of, mended_words as told};

/// A field with its new value; `Null` takes it out.
pub type Mended = (String, Value);

/// Reads the arrows of a group anew, on the face that it has or is given with them.
pub fn arrows(before: Option<&Thing>, face: Option<&Value>, typed: &str) -> Result<Vec<Mended>, CliError> {
    let group = before.map(kind::read::<Group>).transpose()?.unwrap_or_default();
    let face = match face.and_then(Value::as_str) {
        Some(code) => Some(Face::by_code(code)?),
        None => group.face(),
    };
    let face = face.ok_or_else(|| {
        CliError::input("the group has no face on which rings could be read")
            .hint("give it with them, like face=wa_80 shots=\"9@1 8@4\"")
    })?;
    let read = shots(typed, &face, Length::Mm)?;
    if read.is_empty() {
        return Err(CliError::input("shots: no arrow is given")
            .hint("write them like shots=\"9@1 8@4 M\"; `sheaf retire` takes the whole group out"));
    }
    let new = arrows_of(&read);
    let mut mended = vec![("points_mm".to_owned(), json!(new.points_mm))];
    // What was never noted and is not now needs no word.
    let mut mend = |field: &str, had: bool, value: Option<Value>| {
        if had || value.is_some() {
            mended.push((field.to_owned(), json!(value)));
        }
    };
    mend("arrow_numbers", group.arrow_numbers.is_some(), new.arrow_numbers.map(|v| json!(v)));
    mend("flyers", group.flyers.is_some(), new.flyers.map(|v| json!(v)));
    mend("bare", group.bare.is_some(), new.bare.map(|v| json!(v)));
    Ok(mended)
}

/// Whether a word stands for a setting and for no field of a change.
pub fn is_setting(name: &str, typed: &str) -> bool {
    let bare = name.strip_prefix("set.").unwrap_or(name);
    let known = kind::setting_meant(bare, kind::is_numeric(typed)).is_some();
    kind::field("change", name).is_none() && (known || !unit_of(&bare.to_lowercase()).is_empty())
}

/// Reads a setting of a change that is there, by the names that `sheaf change` knows; nothing behind the sign takes the
/// setting out of it.
pub fn setting(
    home: &Home,
    before: Option<&Thing>,
    pair: &str,
    env: &mut Env<'_>,
) -> Result<Mended, CliError> {
    let (name, typed) = pair.split_once('=').unwrap_or((pair, ""));
    if typed.trim().is_empty() {
        let there = before.map(held).unwrap_or_default();
        let meant = |numeric| kind::setting_meant(name, numeric).map(|s| s.field.to_owned());
        let own = name.trim().to_lowercase().replace(['-', ' '], "_");
        let fields = [meant(true), meant(false), Some(own)];
        let field = fields.into_iter().flatten().find(|field| there.contains(field));
        let field = field.ok_or_else(|| {
            CliError::input(format!("the change does not hold `{}`", name.trim()))
                .hint(format!("it holds: {}", there.join(", ")))
        })?;
        return Ok((format!("set.{field}"), Value::Null));
    }
    let setup = match before {
        Some(thing) => setup_before(home.store(), thing)?,
        None => Setup::new(),
    };
    let (field, value) = setting_pair::read(home, &setup, pair, env)?;
    Ok((format!("set.{field}"), value))
}

/// Returns every field of a kind that can be set, as it is typed.
pub fn can_be_set(kind: &str) -> Vec<&'static str> {
    let mut all: Vec<&str> = kind::fields_of(kind).collect();
    match kind {
        "group" => all.push("shots"),
        "change" => all.extend(kind::SETTINGS.iter().map(|s| s.field)),
        _ => {}
    }
    all
}
