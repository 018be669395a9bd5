//! The arrow sets of a team, with what is noted of single arrows.

use super::{AsTable, Table};
use crate::{
    error::ServerError,
    service::{Service, Session},
    store::View,
};
use serde::Serialize;
use sheaf_model::{
    id::ThingId,
    kind::{self, Arrows, Kind},
    replica::Store as _,
    table::{SHAFT_COLUMNS, shaft_rows},
};
use std::collections::BTreeMap;

/// The arrow sets of a team, in order of their ids.
#[derive(Debug, Serialize)]
pub struct Sets {
    /// The sets.
    pub arrows: Vec<SetRow>,
}

/// An arrow set: its own fields, and its arrows by number.
#[derive(Debug, Serialize)]
pub struct SetRow {
    id: ThingId,
    #[serde(flatten)]
    set: Arrows,
    shafts: BTreeMap<u32, ShaftFields>,
}

#[derive(Debug, Default, Serialize)]
struct ShaftFields {
    #[serde(skip_serializing_if = "Option::is_none")]
    mass_gr: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pile_gr: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    length_in: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    balance_from_nock_in: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    spine: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    nock: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fletching: Option<String>,
    bare: bool,
    out: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    note: Option<String>,
}

impl Service {
    /// Returns the arrow sets of the session's team, retired ones included.
    pub fn arrow_sets(&self, who: Session) -> Result<Sets, ServerError> {
        let mut arrows = Vec::new();
        self.view(who)?.visit(Arrows::NAME, None, &mut |thing| {
            arrows.extend(kind::read(thing).ok().map(|set| row(thing.id, set)));
        })?;
        Ok(Sets { arrows })
    }

    /// Returns one arrow set, by its id or its name.
    pub fn arrow_set(&self, who: Session, asked: &str) -> Result<SetRow, ServerError> {
        let view = self.view(who)?;
        let (id, set) = found(&view, asked)?;
        Ok(row(id, set))
    }
}

/// Finds an arrow set by its id or its name.
fn found(view: &View, asked: &str) -> Result<(ThingId, Arrows), ServerError> {
    if let Ok(id) = asked.parse::<ThingId>()
        && let Some(thing) = view.thing(Arrows::NAME, id)?
    {
        return Ok((id, kind::read(&thing)?));
    }
    let (mut found, mut names) = (None, Vec::new());
    view.visit(Arrows::NAME, None, &mut |thing| {
        let Ok(set) = kind::read::<Arrows>(thing) else { return };
        if let Some(name) = set.name.clone().filter(|_| !set.retired) {
            if found.is_none() && name.to_lowercase() == asked.to_lowercase() {
                found = Some((thing.id, set));
            }
            names.push(name);
        }
    })?;
    found.ok_or_else(|| unknown(asked, names))
}

fn unknown(asked: &str, mut names: Vec<String>) -> ServerError {
    let shown: String = asked.chars().take(40).collect();
    names.sort_by_key(|name| strsim::damerau_levenshtein(&name.to_lowercase(), &shown.to_lowercase()));
    names.truncate(5);
    let near = if names.is_empty() {
        "The team has no arrow sets yet.".to_owned()
    } else {
        format!("The nearest are: {}.", names.join(", "))
    };
    let detail = format!("The team has no arrow set `{shown}`. {near}");
    ServerError::refuse(404, "unknown_arrows", "Unknown arrow set", detail)
}

/// Returns a set with its arrows by number; what this build does not know of them stays among its own fields.
fn row(id: ThingId, mut set: Arrows) -> SetRow {
    let shafts = set.shafts().into_iter().map(|(number, shaft)| {
        let fields = ShaftFields {
            mass_gr: shaft.mass_gr,
            pile_gr: shaft.pile_gr,
            length_in: shaft.length_in,
            balance_from_nock_in: shaft.balance_from_nock_in,
            spine: shaft.spine,
            nock: shaft.nock,
            fletching: shaft.fletching,
            bare: shaft.bare,
            out: shaft.out,
            note: shaft.note,
        };
        (number, fields)
    });
    let shafts = shafts.collect();
    set.rest.retain(|name, _| {
        kind::shaft_of(name).is_none_or(|(_, field)| kind::fields_of("shaft").all(|known| known != field))
    });
    SetRow { id, set, shafts }
}

impl SetRow {
    /// Returns the rows of a table, as the record had them.
    fn rows(&self) -> Vec<Vec<String>> {
        let mut set = self.set.clone();
        for (number, shaft) in &self.shafts {
            let Ok(serde_json::Value::Object(fields)) = serde_json::to_value(shaft) else { continue };
            set.rest
                .extend(fields.into_iter().map(|(field, value)| (kind::shaft_name(*number, &field), value)));
        }
        shaft_rows(self.id, &set)
    }
}

impl AsTable for Sets {
    fn table(&self) -> Table {
        let mut table = Table::new(&SHAFT_COLUMNS);
        table.rows.extend(self.arrows.iter().flat_map(SetRow::rows));
        table
    }
}

impl AsTable for SetRow {
    fn table(&self) -> Table {
        let mut table = Table::new(&SHAFT_COLUMNS);
        table.rows.extend(self.rows());
        table
    }
}
