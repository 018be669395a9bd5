//! The marks of a bow: the mark of any distance, set by set.

use super::{
    AsTable, Table,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use sheaf_model::verdict::{BowMarks, MarksAsked, bow_marks};

impl Service {
    /// Returns the marks of a bow.
    pub fn marks(&self, who: Session, bow: &str) -> Result<BowMarks, ServerError> {
        let view = self.view(who)?;
        let (bow, _) = self.bow(&view, bow)?;
        let asked = MarksAsked { day: String::new(), ..MarksAsked::default() };
        bow_marks(&view, bow, &asked).map_err(super::effects::unanswerable)
    }
}

impl AsTable for BowMarks {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            "bow",
            "archer",
            "arrows",
            "what",
            "distance_m",
            "mark",
            "low",
            "high",
            "place",
            "stale",
        ]);
        for set in &self.sets {
            for at in set.figures.table.iter().filter(|at| at.value.is_some()) {
                table.rows.push(vec![
                    typed(Some(&self.name)),
                    typed(Some(&set.archer_name)),
                    typed(set.arrows_name.as_deref()),
                    set.what.word().to_owned(),
                    at.distance_m.to_string(),
                    cell(at.value),
                    cell(at.interval.map(|i| i[0])),
                    cell(at.interval.map(|i| i[1])),
                    at.place.word().to_owned(),
                    typed(set.stale.as_deref()),
                ]);
            }
        }
        table
    }
}
