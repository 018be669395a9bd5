//! The rebuild sheet of a bow: how it is put back as it was.

use super::{AsTable, Table, table::typed};
use crate::{
    error::ServerError,
    service::{Service, Session},
    store::View,
};
use serde::Serialize;
use sheaf_model::{
    id::ThingId,
    records::{Called, baseline_called, baselines},
    verdict::{RebuildAsked, RebuildSheet, Units, rebuild_sheet},
};

/// A rebuild sheet.
#[derive(Debug, Serialize)]
pub struct Rebuild {
    baseline: Option<ThingId>,
    #[serde(flatten)]
    sheet: RebuildSheet,
}

impl Service {
    /// Returns the sheet of a bow: as a baseline has it, or as it was last noted.
    pub fn rebuild(
        &self,
        who: Session,
        bow: &str,
        baseline: Option<&str>,
        units: Units,
    ) -> Result<Rebuild, ServerError> {
        let view = self.view(who)?;
        let (bow, _) = self.bow(&view, bow)?;
        let baseline = baseline.map(|asked| baseline_of(&view, bow, asked)).transpose()?;
        // Nobody's clock on the wall is known here.
        let asked =
            RebuildAsked { bow, baseline, typed: &[], units, offset_min: 0, me: Some(who.person), at: None };
        Ok(Rebuild { baseline, sheet: rebuild_sheet(&view, &asked)? })
    }
}

/// Finds a baseline of a bow by its id or its name.
fn baseline_of(view: &View, bow: ThingId, asked: &str) -> Result<ThingId, ServerError> {
    let all = baselines(view, bow)?;
    if let Some(found) = asked.parse().ok().and_then(|id: ThingId| all.iter().find(|b| b.id == id)) {
        return Ok(found.id);
    }
    let shown: String = asked.chars().take(40).collect();
    match baseline_called(view, bow, asked)? {
        Called::One(found) => Ok(found.id),
        Called::Nobody => {
            let names: Vec<&str> = all.iter().map(|b| b.name.as_str()).take(20).collect();
            let there = if names.is_empty() {
                "It has none yet.".into()
            } else {
                format!("It has: {}.", names.join(", "))
            };
            let detail = format!("The bow has no baseline `{shown}`. {there}");
            Err(ServerError::refuse(404, "unknown_baseline", "Unknown baseline", detail))
        }
        Called::Several(_) => {
            let detail = format!("`{shown}` can mean several baselines of this bow; ask by the id.");
            Err(ServerError::refuse(404, "ambiguous", "Several are called so", detail))
        }
    }
}

impl AsTable for Rebuild {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            "order",
            "setting",
            "name",
            "unit",
            "as_it_was",
            "also",
            "tolerance",
            "tolerance_source",
            "how",
            "moves",
        ]);
        let rows = self.sheet.rows.iter().enumerate();
        table.rows.extend(rows.map(|(i, row)| {
            vec![
                (i + 1).to_string(),
                typed(Some(&row.setting)),
                typed(Some(&row.name)),
                row.unit.to_owned(),
                typed(Some(&row.target)),
                typed(row.also.as_deref()),
                row.tolerance.clone(),
                row.tolerance_source.to_owned(),
                row.how.to_owned(),
                row.disturbs.clone(),
            ]
        }));
        table
    }
}
