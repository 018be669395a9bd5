//! The parts of a team with where they are, and what fits an archer.

use super::{
    AsTable, Table,
    effects::unanswerable,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use sheaf_model::verdict::{self, CombinationRow, Fits, FitsAsked, PartRow, Parts, Units};

impl Service {
    /// Returns the parts of the session's team, those out of use among them.
    pub fn parts(&self, who: Session) -> Result<Parts, ServerError> {
        verdict::parts(&self.view(who)?, None, true, Units::Metric).map_err(unanswerable)
    }

    /// Returns what fits a person, and what the team's own parts make of it.
    pub fn fits(&self, who: Session, person: &str) -> Result<Fits, ServerError> {
        let view = self.view(who)?;
        let person = self.person(&view, person)?;
        verdict::fits(&view, person, &FitsAsked::default(), Units::Metric).map_err(unanswerable)
    }
}

impl AsTable for Parts {
    fn table(&self) -> Table {
        let mut table =
            Table::new(&["id", "name", "what", "known", "limits", "on", "since", "place", "retired"]);
        table.rows.extend(self.parts.iter().map(part_row));
        table
    }
}

fn part_row(row: &PartRow) -> Vec<String> {
    vec![
        row.id.to_string(),
        typed(Some(&row.name)),
        typed(row.what.as_deref()),
        typed(Some(&row.known)),
        typed(row.limits.as_deref()),
        typed(row.on_name.as_deref()),
        cell(row.since.as_ref()),
        typed(Some(&row.place)),
        row.retired.to_string(),
    ]
}

impl AsTable for Fits {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            "rank",
            "title",
            "riser_in",
            "bow_length_in",
            "least_weight_lbf",
            "most_weight_lbf",
            "weight_measured",
            "limits",
            "do_not_shoot",
            "on_now",
            "reasons",
            "cautions",
        ]);
        table.rows.extend(self.combinations.iter().map(combination_row));
        table
    }
}

fn combination_row(row: &CombinationRow) -> Vec<String> {
    let reasons = row.reasons.iter().map(|r| format!("{} ({})", r.words, r.source));
    vec![
        row.rank.to_string(),
        typed(Some(&row.title)),
        row.riser_in.to_string(),
        cell(row.bow_length_in),
        cell(row.weight_lbf.map(|weight| weight[0])),
        cell(row.weight_lbf.map(|weight| weight[1])),
        row.weight_measured.to_string(),
        row.limits.to_owned(),
        row.do_not_shoot.unwrap_or_default().to_owned(),
        row.on_now.to_string(),
        typed(Some(&reasons.collect::<Vec<_>>().join("; "))),
        row.cautions.join(" "),
    ]
}
