//! What wears on a bow: arrows seen by each part, and the reminders.

use super::{
    AsTable, Table,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use sheaf_model::verdict::{WearSheet, wear_sheet};

impl Service {
    /// Returns what wears on a bow.
    pub fn wear(&self, who: Session, bow: &str) -> Result<WearSheet, ServerError> {
        let view = self.view(who)?;
        let (bow, _) = self.bow(&view, bow)?;
        wear_sheet(&view, Some(bow))
    }
}

impl AsTable for WearSheet {
    fn table(&self) -> Table {
        let columns =
            ["setting", "name", "id", "since", "arrows", "placed", "practice", "remind_at_arrows", "bows"];
        let mut table = Table::new(&columns);
        for row in &self.rows {
            table.rows.push(vec![
                row.setting.clone(),
                typed(Some(&row.name)),
                cell(row.id),
                row.since_day.clone(),
                row.arrows.to_string(),
                row.placed.to_string(),
                row.practice.to_string(),
                cell(row.remind_at),
                typed(Some(&row.bows.join(", "))),
            ]);
        }
        table
    }
}
