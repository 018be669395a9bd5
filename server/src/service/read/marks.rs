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
            let row = |distance_m: f64, mark: Option<f64>, range: Option<[f64; 2]>, place: &str| {
                vec![
                    typed(Some(&self.name)),
                    typed(Some(&set.archer_name)),
                    typed(set.arrows_name.as_deref()),
                    set.what.word().to_owned(),
                    distance_m.to_string(),
                    cell(mark),
                    cell(range.map(|[low, _]| low)),
                    cell(range.map(|[_, high]| high)),
                    place.to_owned(),
                    typed(set.stale.as_deref()),
                ]
            };
            for at in set.figures.table.iter().filter(|at| at.value.is_some()) {
                table.rows.push(row(at.distance_m, at.value, at.interval, at.place.word()));
            }
            // Where nothing can be laid through the marks, they are what there is.
            if set.figures.table.iter().all(|at| at.value.is_none()) {
                let noted = set.marks.iter();
                table.rows.extend(noted.map(|mark| row(mark.distance_m, Some(mark.value), None, "noted")));
            }
        }
        table
    }
}
