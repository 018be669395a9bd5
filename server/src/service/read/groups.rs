//! The groups of a bow: as records, or a row an arrow.

use super::{
    AsTable, Table,
    setups::{UnplacedRow, unplaced_rows},
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use serde::Serialize;
use sheaf_model::{id::ThingId, kind::Group, timeline::Timeline};

/// The groups of a bow in order of time.
#[derive(Debug, Serialize)]
pub struct Groups {
    bow: ThingId,
    name: Option<String>,
    groups: Vec<GroupRow>,
    unplaced: Vec<UnplacedRow>,
}

#[derive(Debug, Serialize)]
struct GroupRow {
    id: ThingId,
    archer_name: Option<String>,
    arrows_name: Option<String>,
    #[serde(flatten)]
    group: Group,
}

impl Service {
    /// Returns the groups of a bow; retired ones are left out.
    pub fn groups(&self, who: Session, bow: &str) -> Result<Groups, ServerError> {
        let (view, names) = self.named_view(who)?;
        let (bow, record) = self.bow(&view, bow)?;
        let timeline = Timeline::read(&view, bow)?;
        let rows = timeline.groups().map(|(item, group)| GroupRow {
            id: item.id,
            archer_name: names.of(group.archer),
            arrows_name: names.of(group.arrows),
            group: group.clone(),
        });
        let groups = rows.collect();
        Ok(Groups { bow, name: record.name, groups, unplaced: unplaced_rows(&timeline) })
    }
}

impl AsTable for Groups {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            "group",
            "at",
            "archer",
            "session",
            "end",
            "distance_m",
            "face",
            "arrows",
            "arrow",
            "number",
            "x_mm",
            "y_mm",
            "found",
            "flyer",
            "bare",
            "sight",
            "note",
        ]);
        for row in &self.groups {
            for index in 0..row.group.points_mm.as_ref().map_or(0, Vec::len) {
                table.rows.push(arrow(row, index));
            }
        }
        table
    }
}

fn arrow(row: &GroupRow, index: usize) -> Vec<String> {
    let group = &row.group;
    let point = group.points_mm.as_ref().and_then(|p| p.get(index).copied()).flatten();
    let number = group.arrow_numbers.as_ref().and_then(|n| n.get(index)).and_then(Option::as_deref);
    let face = group.face.as_ref().map(|f| f.get().trim_matches('"'));
    vec![
        row.id.to_string(),
        typed(group.at.as_deref()),
        typed(row.archer_name.as_deref()),
        typed(group.session.as_deref()),
        typed(group.end.as_deref()),
        cell(group.distance_m),
        typed(face),
        typed(row.arrows_name.as_deref()),
        (index + 1).to_string(),
        typed(number),
        cell(point.map(|[x, _]| x)),
        cell(point.map(|[_, y]| y)),
        point.is_some().to_string(),
        group.is_flyer(index).to_string(),
        group.is_bare(index).to_string(),
        typed(group.sight.as_deref()),
        typed(group.note.as_deref()),
    ]
}
