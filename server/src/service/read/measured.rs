//! What was measured on a bow: its draw curves, and how the team's limbs sit on its riser.

use super::{
    AsTable, Table,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use sheaf_model::verdict::{CurveAsked, CurveSheet, Pairs, Units, curve_sheet, pairs};

impl Service {
    /// Returns what the latest draw curve of a bow says, and all of its curves.
    pub fn curves(&self, who: Session, bow: &str) -> Result<CurveSheet, ServerError> {
        let view = self.view(who)?;
        let (bow, _) = self.bow(&view, bow)?;
        curve_sheet(&view, bow, &CurveAsked::new(who.person, Units::Metric))
    }

    /// Returns how the team's limbs sit on the riser of a bow.
    pub fn pairs(&self, who: Session, bow: &str) -> Result<Pairs, ServerError> {
        let view = self.view(who)?;
        let (bow, _) = self.bow(&view, bow)?;
        pairs(&view, Some(bow))
    }
}

impl AsTable for CurveSheet {
    fn table(&self) -> Table {
        let mut table = Table::new(&["curve", "at", "as_now", "draw_in", "weight_lbf", "measured", "note"]);
        for one in &self.curves {
            let added = one.no_weight_draw_in.map(|draw| ([draw, 0.0], false));
            let points = added.into_iter().chain(one.points.iter().map(|point| (*point, true)));
            for ([draw, weight], measured) in points {
                table.rows.push(vec![
                    one.id.to_string(),
                    one.at.clone(),
                    one.valid.to_string(),
                    draw.to_string(),
                    weight.to_string(),
                    measured.to_string(),
                    typed(one.note.as_deref()),
                ]);
            }
        }
        table
    }
}

impl AsTable for Pairs {
    fn table(&self) -> Table {
        let settings = sheaf_model::rig::pair::SETTINGS;
        let columns = [
            &["bow_name", "riser_name", "limbs", "limbs_name", "on", "pair", "fit"][..],
            &settings,
            &["day", "by", "other_riser", "note"],
        ];
        let mut table = Table::new(&columns.concat());
        for row in &self.rows {
            let value = |name: &str| row.settings.iter().find(|one| one.setting == name).map(|one| one.value);
            let mut cells = vec![
                typed(row.bow_name.as_deref()),
                typed(Some(&row.riser_name)),
                row.limbs.to_string(),
                typed(Some(&row.limbs_name)),
                row.on.to_string(),
                cell(row.pair),
                typed(row.fit.as_deref()),
            ];
            cells.extend(settings.iter().map(|name| cell(value(name))));
            cells.extend([&row.day, &row.by, &row.other_riser, &row.note].map(|text| typed(text.as_deref())));
            table.rows.push(cells);
        }
        table
    }
}
