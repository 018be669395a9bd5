//! The setups of a bow: what was on it between one change and the next.

use super::{
    AsTable, Names, Table,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use serde::Serialize;
use serde_json::Value;
use sheaf_model::{
    id::ThingId,
    kind::SETTINGS,
    timeline::{Altered, Setup, Timeline},
};
use std::collections::BTreeMap;

/// The setups of a bow, oldest first.
#[derive(Debug, Serialize)]
pub struct Setups {
    bow: ThingId,
    name: Option<String>,
    setups: Vec<SetupRow>,
    unplaced: Vec<UnplacedRow>,
}

#[derive(Debug, Serialize)]
struct SetupRow {
    change: Option<ThingId>,
    at: Option<String>,
    altered: Vec<AlteredRow>,
    settings: BTreeMap<String, SettingRow>,
    groups: usize,
    arrows: usize,
}

#[derive(Debug, Serialize)]
struct AlteredRow {
    setting: String,
    before: Option<Value>,
    after: Value,
    before_name: String,
    after_name: String,
}

#[derive(Debug, Serialize)]
struct SettingRow {
    value: Value,
    name: String,
    change: ThingId,
    at: String,
}

/// A record that has no place in the timeline.
#[derive(Debug, Serialize)]
pub struct UnplacedRow {
    id: ThingId,
    kind: String,
    why: String,
}

impl Service {
    /// Returns the setups of a bow.
    pub fn setups(&self, who: Session, bow: &str) -> Result<Setups, ServerError> {
        let (view, names) = self.named_view(who)?;
        let (bow, record) = self.bow(&view, bow)?;
        let timeline = Timeline::read(&view, bow)?;
        let setups = timeline.stretches().into_iter().map(|stretch| SetupRow {
            change: stretch.change,
            at: stretch.at.map(|at| at.rfc3339()),
            altered: altered_rows(&stretch.altered, &names),
            settings: setting_rows(&stretch.setup, &names),
            groups: stretch.groups.len(),
            arrows: stretch.arrows,
        });
        let setups = setups.collect();
        Ok(Setups { bow, name: record.name, setups, unplaced: unplaced_rows(&timeline) })
    }
}

/// Returns what a change altered, with names.
fn altered_rows(altered: &[Altered], names: &Names) -> Vec<AlteredRow> {
    let row = |a: &Altered| AlteredRow {
        setting: a.setting.clone(),
        before: a.before.clone(),
        after: a.after.clone(),
        before_name: a.before.as_ref().map(|v| names.word(v)).unwrap_or_default(),
        after_name: names.word(&a.after),
    };
    altered.iter().map(row).collect()
}

/// Returns what was altered in one line.
fn altered_line(rows: &[AlteredRow]) -> String {
    let said = rows.iter().map(|a| match a.before {
        Some(_) => format!("{}: {} to {}", a.setting, a.before_name, a.after_name),
        None => format!("{}: {}", a.setting, a.after_name),
    });
    said.collect::<Vec<_>>().join("; ")
}

/// Returns the records of a bow that have no place in its timeline.
pub fn unplaced_rows(timeline: &Timeline) -> Vec<UnplacedRow> {
    let rows = timeline.unplaced.iter();
    rows.map(|u| UnplacedRow { id: u.id, kind: u.kind.clone(), why: u.why.clone() }).collect()
}

fn setting_rows(setup: &Setup, names: &Names) -> BTreeMap<String, SettingRow> {
    let row = |(setting, set): (&String, &sheaf_model::timeline::Set)| {
        let (value, name) = (set.value.clone(), names.word(&set.value));
        (setting.clone(), SettingRow { value, name, change: set.change, at: set.at.rfc3339() })
    };
    setup.iter().map(row).collect()
}

impl AsTable for Setups {
    fn table(&self) -> Table {
        let used = |setting: &str| self.setups.iter().any(|s| s.settings.contains_key(setting));
        let known: Vec<&str> = SETTINGS.iter().map(|s| s.field).collect();
        let mut settings: Vec<&str> = known.iter().copied().filter(|s| used(s)).collect();
        let others = self.setups.iter().flat_map(|s| s.settings.keys().map(String::as_str));
        let mut others: Vec<&str> = others.filter(|s| !known.contains(s)).collect();
        others.sort_unstable();
        others.dedup();
        settings.append(&mut others);
        let columns = [&["change", "at", "altered", "groups", "arrows"][..], &settings].concat();
        let mut table = Table::new(&columns);
        for row in &self.setups {
            let mut cells = vec![
                cell(row.change),
                cell(row.at.as_ref()),
                typed(Some(&altered_line(&row.altered))),
                row.groups.to_string(),
                row.arrows.to_string(),
            ];
            cells.extend(settings.iter().map(|s| {
                let set = row.settings.get(*s);
                match set.map(|set| &set.value) {
                    Some(Value::Number(number)) => number.to_string(),
                    _ => typed(set.map(|set| set.name.as_str())),
                }
            }));
            table.rows.push(cells);
        }
        table
    }
}
