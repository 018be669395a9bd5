//! Reads for people without a replica: bows, setups, groups, effects, the rebuild sheet, the report. Each answers as records
//! and as a table.

mod arrows;
mod bows;
mod effects;
mod groups;
mod marks;
mod measured;
mod parts;
mod rebuild;
mod setups;
mod table;
mod wear;

pub use table::{AsTable, Table};

use super::{Service, Session};
use crate::{error::ServerError, store::View};
use serde_json::Value;
use sheaf_model::{
    id::ThingId,
    kind::{self, Bow, Kind, Person},
    replica::Store as _,
};
use std::collections::BTreeMap;

/// What things are called.
#[derive(Debug, Default)]
pub struct Names(BTreeMap<ThingId, String>);

impl Names {
    /// Gathers the names of people, bows, parts and arrow sets.
    fn gather(view: &View) -> Result<Self, ServerError> {
        let mut names = Self::default();
        for kind in ["person", "bow", "part", "arrows"] {
            view.visit(kind, None, &mut |thing| {
                if let Ok(Some(name)) = thing.read::<Named>().map(|n| n.name) {
                    names.0.insert(thing.id, name);
                }
            })?;
        }
        Ok(names)
    }

    /// Returns what a thing is called.
    fn of(&self, id: Option<ThingId>) -> Option<String> {
        self.0.get(&id?).cloned()
    }

    /// Returns a value as people read it: a thing by its name, everything else as it is written.
    fn word(&self, value: &Value) -> String {
        match value {
            Value::String(text) => {
                text.parse().ok().and_then(|id| self.of(Some(id))).unwrap_or_else(|| text.clone())
            }
            Value::Null => String::new(),
            other => other.to_string(),
        }
    }
}

#[derive(serde::Deserialize)]
struct Named {
    name: Option<String>,
}

impl Service {
    /// Finds a bow by its id or its name.
    fn bow(&self, view: &View, asked: &str) -> Result<(ThingId, Bow), ServerError> {
        if let Ok(id) = asked.parse::<ThingId>()
            && let Some(thing) = view.thing(Bow::NAME, id)?
        {
            return Ok((id, kind::read(&thing)?));
        }
        let (mut found, mut names) = (None, Vec::new());
        view.visit(Bow::NAME, None, &mut |thing| {
            let Ok(bow) = kind::read::<Bow>(thing) else { return };
            if let Some(name) = bow.name.clone().filter(|_| !bow.retired) {
                if found.is_none() && name.to_lowercase() == asked.to_lowercase() {
                    found = Some((thing.id, bow));
                }
                names.push(name);
            }
        })?;
        found.ok_or_else(|| unknown_bow(asked, names))
    }

    /// Finds a person by the id or the name.
    fn person(&self, view: &View, asked: &str) -> Result<ThingId, ServerError> {
        if let Ok(id) = asked.parse::<ThingId>()
            && view.thing(Person::NAME, id)?.is_some()
        {
            return Ok(id);
        }
        let mut found = None;
        view.visit(Person::NAME, None, &mut |thing| {
            let Ok(person) = kind::read::<Person>(thing) else { return };
            let called =
                person.name.filter(|name| !person.retired && name.to_lowercase() == asked.to_lowercase());
            found = found.or(called.map(|_| thing.id));
        })?;
        found.ok_or_else(|| {
            let shown: String = asked.chars().take(40).collect();
            let detail =
                format!("The team has nobody called `{shown}` in its records; give the name or the id.");
            ServerError::refuse(404, "unknown_person", "Unknown person", detail)
        })
    }

    /// Returns what the session's team has, with the names of things.
    fn named_view(&self, who: Session) -> Result<(View, Names), ServerError> {
        let view = self.view(who)?;
        let names = Names::gather(&view)?;
        Ok((view, names))
    }
}

fn unknown_bow(asked: &str, mut names: Vec<String>) -> ServerError {
    let shown: String = asked.chars().take(40).collect();
    names.sort_by_key(|name| strsim::damerau_levenshtein(&name.to_lowercase(), &shown.to_lowercase()));
    names.truncate(5);
    let near = if names.is_empty() {
        "The team has no bows yet.".to_owned()
    } else {
        format!("The nearest are: {}.", names.join(", "))
    };
    ServerError::refuse(404, "unknown_bow", "Unknown bow", format!("The team has no bow `{shown}`. {near}"))
}
