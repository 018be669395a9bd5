//! `sheaf set`: fields of something that was recorded.

use crate::{
    CliError, Env,
    args::Set,
    fields, lookup,
    mended::{self, Mended},
    store::Home,
    when,
};
use serde_json::{Value, json, value::to_raw_value};
use sheaf_model::{
    kind::{self, Arrows},
    merge::Thing,
    records::read_shafts,
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
    let read = Pairs { kind, thing: &thing, before: before.as_ref() }.read(&home, &args.fields, env)?;
    let (mut set, mut said) = (BTreeMap::new(), Vec::new());
    for (field, value) in read {
        let was = old.get(&field).map_or(Value::Null, |f| json!(f.now.value));
        let raw =
            to_raw_value(&value).map_err(|e| CliError::bug(format!("{field} cannot be written: {e}")))?;
        if set.insert(field.clone(), raw).is_some() {
            return Err(CliError::input(format!("{field} is given twice")).hint("write it once"));
        }
        said.push((field, was, value));
    }
    let draft = Draft { kind: kind.into(), id: thing.id, set, settles: false };
    fields::check_draft(before.as_ref(), &draft)?;
    home.record(env, vec![draft])?;
    let mend = format!("sheaf set {kind} {} at=\"2026-04-12 10:30\"", thing.id.short());
    remark_on_moments(&said, &mend, env)?;
    if env.json {
        let fields: Vec<Value> =
            said.iter().map(|(f, b, a)| json!({"field": f, "before": b, "after": a})).collect();
        return env.print_json(&json!({"kind": kind, "id": thing.id, "fields": fields}));
    }
    let names = lookup::names(&home, lookup::NAMED)?;
    for (field, was, value) in &said {
        writeln!(env.out, "Kept: {}", mended::told(field, was, value, &names))?;
    }
    let has = |name: &str| said.iter().any(|(field, ..)| field == name);
    if kind == "group" && has("face") && !has("points_mm") {
        remark_on_face(&thing.id.short(), env)?;
    }
    Ok(())
}

fn remark_on_face(id: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    env.remark(format!(
        "The arrows stay where they are in mm. Where they were typed as rings of the other face, enter them anew: \
         `sheaf set group {id} shots=\"9@1 8@4\"`."
    ))
}

/// What is set of which thing.
struct Pairs<'a> {
    kind: &'static str,
    thing: &'a lookup::Named,
    before: Option<&'a Thing>,
}

impl Pairs<'_> {
    /// Reads pairs of field and value; the arrows of a group come last, since a face may be given with them.
    fn read(&self, home: &Home, pairs: &[String], env: &mut Env<'_>) -> Result<Vec<Mended>, CliError> {
        let (mut read, mut shots) = (Vec::new(), None);
        for pair in pairs {
            let (name, typed) = pair.split_once('=').ok_or_else(|| {
                CliError::input(format!("`{pair}` is no field with a value")).hint("write it like mass=330gr")
            })?;
            let name = name.trim();
            match self.kind {
                "group" if name.eq_ignore_ascii_case("shots") => {
                    if shots.replace(typed).is_some() {
                        return Err(CliError::input("shots is given twice").hint("write all arrows in one"));
                    }
                }
                "change" if mended::is_setting(name, typed) => {
                    let pair = format!("{}={typed}", name.strip_prefix("set.").unwrap_or(name));
                    read.push(mended::setting(home, self.before, &pair, env)?);
                }
                "arrows" if kind::shaft_of(name).is_some() => read.extend(self.shaft(name, typed)?),
                _ => {
                    let (field, _) = fields::field(self.kind, name)?;
                    let value = fields::read_value(home, self.kind, Some(self.thing.id), field, typed, env)?;
                    read.push((field.to_owned(), value));
                }
            }
        }
        if let Some(typed) = shots {
            let face = read.iter().find(|(field, _)| field == "face").map(|(_, value)| value);
            let arrows = mended::arrows(self.before, face, typed)?;
            read.extend(arrows);
        }
        Ok(read)
    }
}

impl Pairs<'_> {
    /// Reads a field of one arrow of a set, as `sheaf shaft` does.
    fn shaft(&self, name: &str, typed: &str) -> Result<Vec<Mended>, CliError> {
        let record = self.before.map(kind::read::<Arrows>).transpose()?.unwrap_or_default();
        let Some((number, field)) = kind::shaft_of(name) else { return Ok(Vec::new()) };
        Ok(read_shafts(&record, &[number.to_string(), format!("{field}={typed}")])?.into_iter().collect())
    }
}

/// Remarks on a new moment that is yet to come.
fn remark_on_moments(said: &[(String, Value, Value)], mend: &str, env: &mut Env<'_>) -> Result<(), CliError> {
    for at in said.iter().filter(|(field, ..)| *field == "at").filter_map(|(_, _, value)| value.as_str()) {
        when::remark_if_ahead(at, mend, env)?;
    }
    Ok(())
}
