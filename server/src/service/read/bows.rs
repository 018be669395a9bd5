//! The bows of a team.

use super::{
    AsTable, Table,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use serde::Serialize;
use sheaf_model::{
    id::ThingId,
    kind::{self, Bow, Kind},
    replica::Store as _,
};

/// The bows of a team, in order of their ids.
#[derive(Debug, Serialize)]
pub struct Bows {
    /// The bows.
    pub bows: Vec<BowRow>,
}

/// A bow.
#[derive(Debug, Serialize)]
pub struct BowRow {
    id: ThingId,
    #[serde(flatten)]
    bow: Bow,
}

impl Service {
    /// Returns the bows of the session's team, retired ones included.
    pub fn bows(&self, who: Session) -> Result<Bows, ServerError> {
        let mut bows = Vec::new();
        self.view(who)?.visit(Bow::NAME, None, &mut |thing| {
            bows.extend(kind::read(thing).ok().map(|bow| BowRow { id: thing.id, bow }));
        })?;
        Ok(Bows { bows })
    }
}

impl AsTable for Bows {
    fn table(&self) -> Table {
        let mut table = Table::new(&["id", "name", "riser_in", "note", "retired"]);
        for BowRow { id, bow } in &self.bows {
            table.rows.push(vec![
                id.to_string(),
                typed(bow.name.as_deref()),
                cell(bow.riser_in),
                typed(bow.note.as_deref()),
                bow.retired.to_string(),
            ]);
        }
        table
    }
}
