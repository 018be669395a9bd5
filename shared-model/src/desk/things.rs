//! People, bows, parts, arrow sets and whatever else was recorded: listed, added, set.

use super::{
    Ask, Desk,
    given::{Given, kind_word, need, text_of, wrong},
    mend::{known_kind, write},
    raw,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Form, Kind as _, Part},
    merge::Thing,
    moment::Moment,
    name,
    records::{self, Named, field_shown, shaft_words, taken},
    replica::{Draft, Store as _},
    verdict::name_and_unit,
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The kinds that are added by name.
const ADDED: [&str; 4] = ["person", "bow", "part", "arrows"];

/// Lists the fields of a kind that can be typed; those of some sorts of part name these.
pub(super) fn fields(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let kind = known_kind(&need(given.text("kind")?, "kind", "the kind")?)?;
    let field = |(_, field, form): &(&str, &str, Form)| {
        let (name, unit) = name_and_unit(field);
        let mut told = json!({"field": field, "name": name, "unit": unit, "form": form_word(*form)});
        match form {
            Form::Choice(words) => told["choices"] = json!(words),
            Form::Link(of) => told["of"] = json!(of),
            Form::Number(least, most) => told["range"] = json!([least, most]),
            Form::Count(most) => told["range"] = json!([1, most]),
            _ => {}
        }
        if kind == Part::NAME {
            told["limit"] = json!(kind::is_makers_limit(field));
            told["sorts"] = json!(kind::sorts_of(field));
        }
        told
    };
    let all = kind::FIELDS.iter().filter(|(of, ..)| *of == kind).map(field);
    Ok(json!({"fields": all.collect::<Vec<Value>>()}))
}

fn form_word(form: Form) -> &'static str {
    match form {
        Form::Text => "text",
        Form::Count(_) => "count",
        Form::Number(..) => "number",
        Form::Choice(_) => "choice",
        Form::Moment => "moment",
        Form::Link(_) => "link",
        Form::Face => "face",
    }
}

/// Lists the things of a kind.
pub(super) fn things(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let kind = known_kind(&need(given.text("kind")?, "kind", "the kind")?)?;
    let all = given.flag("all")?;
    let names = records::names(desk.store()?, records::NAMED)?;
    let mut found: Vec<(String, Value)> = Vec::new();
    desk.store()?.visit(kind, None, &mut |thing| {
        let named = records::named(kind, thing);
        let named = named.unwrap_or(Named { kind, id: thing.id, name: String::new(), retired: false });
        if all || !named.retired {
            found.push((name::key(&named.name), thing_json(thing, &named, &names)));
        }
    })?;
    found.sort_by(|a, b| a.0.cmp(&b.0));
    Ok(json!({"things": found.into_iter().map(|(_, thing)| thing).collect::<Vec<Value>>()}))
}

fn thing_json(thing: &Thing, named: &Named, names: &BTreeMap<ThingId, String>) -> Value {
    let read = |text: &str| serde_json::from_str(text).unwrap_or(Value::Null);
    let fields: BTreeMap<String, Value> =
        thing.fields().into_iter().map(|(name, f)| (name, read(f.now.value.get()))).collect();
    let told = kind::fields_of(named.kind).filter(|field| *field != "name");
    let told = told.filter_map(|field| Some((field, fields.get(field).filter(|value| !value.is_null())?)));
    let words = told.map(|(field, value)| {
        let (name, unit) = name_and_unit(field);
        format!("{name} {} {unit}", field_shown(field, value, names)).trim_end().to_owned()
    });
    let shafts =
        (named.kind == "arrows").then(|| kind::read(thing).ok().and_then(|set| shaft_words(&set))).flatten();
    let words = words.chain(shafts).collect::<Vec<_>>().join(", ");
    json!({"id": named.id, "name": named.name, "retired": named.retired, "words": words, "fields": fields})
}

/// Records a new thing under a name that no other of its kind has.
pub(super) fn add(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let kind = known_kind(&need(given.text("kind")?, "kind", "the kind")?)?;
    if !ADDED.contains(&kind) {
        return Err(wrong("kind", format!("{} is not added by name", name::with_article(kind))));
    }
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if let Some(there) = desk.store()?.thing(kind, id)? {
        // Sent twice: it is here already.
        let named = records::named(kind, &there);
        return Ok(json!({"id": id, "name": named.map(|n| n.name)}));
    }
    let mut values = desk.typed_fields(kind, None, given.value("fields"), ask)?;
    values.retain(|_, value| !value.is_null());
    let name = need(values.get("name").cloned(), "name", "the name")?;
    if kind == "part" {
        need(values.get("what"), "what", "what kind of part it is")?;
    }
    let draft = drafted(kind, id, &values)?;
    records::check_draft(None, &draft)?;
    desk.write(ask, vec![draft])?;
    Ok(json!({"id": id, "name": name}))
}

/// Records new values of fields; an empty one is noted no more.
pub(super) fn set(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let kind = known_kind(&need(given.text("kind")?, "kind", "the kind")?)?;
    let id = need(given.id("id")?, "id", "the record")?;
    let thing = need(desk.store()?.thing(kind, id)?, "id", &format!("the {}", kind_word(kind)))?;
    let values = desk.typed_fields(kind, Some(&thing), given.value("fields"), ask)?;
    let words = write(desk, &thing, values, ask)?;
    Ok(json!({"words": words}))
}

impl Desk {
    /// Reads fields as they were typed.
    fn typed_fields(
        &self,
        kind: &'static str,
        before: Option<&Thing>,
        typed: Option<&Value>,
        ask: &Ask,
    ) -> Result<BTreeMap<String, Value>, ModelError> {
        let mut values = BTreeMap::new();
        let typed = match typed {
            None => return Ok(values),
            Some(Value::Object(typed)) => typed,
            Some(_) => return Err(wrong("fields", "fields are names with their values".into())),
        };
        for (typed_name, value) in typed {
            if let Some(change) =
                before.filter(|_| kind == "change" && kind::field(kind, typed_name).is_none())
            {
                let (field, value) = self.typed_setting(change, typed_name, value)?;
                values.insert(field, value);
                continue;
            }
            let (field, form) = kind::field(kind, typed_name).ok_or_else(|| {
                let all: Vec<&str> = kind::fields_of(kind).collect();
                let message =
                    format!("{} has no such field; it has {}", name::with_article(kind), all.join(", "));
                ModelError::new("unknown_field", message).at(typed_name)
            })?;
            values.insert(field.to_owned(), self.typed_value((kind, field, form), before, value, ask)?);
        }
        Ok(values)
    }

    /// Reads the value of a field as it was typed; null where it is empty.
    pub(super) fn typed_value(
        &self,
        (kind, field, form): (&'static str, &'static str, Form),
        before: Option<&Thing>,
        value: &Value,
        ask: &Ask,
    ) -> Result<Value, ModelError> {
        let Some(typed) = text_of(value, field)? else {
            return match field {
                "name" => Err(wrong(field, "the name is empty".into())),
                _ => Ok(Value::Null),
            };
        };
        match (field, form) {
            ("name", _) => Ok(json!(self.new_name(kind, &typed, before.map(|thing| thing.id))?)),
            (_, Form::Moment) => {
                Ok(json!(Moment::typed(&typed, &ask.moment()?).map_err(|e| e.at(field))?.rfc3339()))
            }
            (_, Form::Link(of)) => {
                let value = json!(self.find(of, &typed, field)?);
                records::check_sort(self.store()?, field, &value)?;
                Ok(value)
            }
            _ => kind::value(field, form, &typed),
        }
    }

    /// Returns the name of a new thing, or a new name of `own`, as it is kept: no other of its kind has it, and it is
    /// not read as something else.
    pub(super) fn new_name(
        &self,
        kind: &'static str,
        typed: &str,
        own: Option<ThingId>,
    ) -> Result<String, ModelError> {
        let wanted = name::read(&name::with_article(kind), typed)?;
        name::check_unambiguous(kind, &wanted)?;
        match taken(&records::beside(self.store()?, kind, own)?, &wanted, own) {
            None => Ok(wanted),
            Some(other) => {
                let message = format!(
                    "there is {} called {} already; take another name",
                    name::with_article(kind),
                    other.name
                );
                Err(ModelError::new("taken_name", message).at("name"))
            }
        }
    }
}

/// Drafts a thing from its values.
pub(super) fn drafted(
    kind: &str,
    id: ThingId,
    values: &BTreeMap<String, Value>,
) -> Result<Draft, ModelError> {
    let set = values.iter().map(|(field, value)| raw(field, value).map(|raw| (field.clone(), raw)));
    Ok(Draft { kind: kind.into(), id, set: set.collect::<Result<_, _>>()?, settles: false })
}
