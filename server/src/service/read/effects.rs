//! What the changes of a bow did to the groups, archer by archer, and the team's figures for a coach.

use super::{
    AsTable, Table,
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
};
use sheaf_model::{
    timeline::Asked,
    verdict::{ArcherVerdict, BowVerdict, Judged, Report, Row, Units, bow_verdict, figures, report},
};

impl Service {
    /// Returns the verdict on a bow's changes.
    pub fn effects(&self, who: Session, bow: &str) -> Result<BowVerdict, ServerError> {
        let view = self.view(who)?;
        let (bow, _) = self.bow(&view, bow)?;
        bow_verdict(&view, bow, None, &Asked::default(), Units::Metric).map_err(unanswerable)
    }

    /// Returns the team's figures for a coach.
    pub fn report(&self, who: Session) -> Result<Report, ServerError> {
        let view = self.view(who)?;
        let now_ms = i64::try_from(self.clock.now_ms()).unwrap_or(i64::MAX);
        report(&view, &Asked::default(), Units::Metric, now_ms).map_err(unanswerable)
    }
}

/// Records that the statistics cannot use are the asker's to mend, not the service's.
pub(super) fn unanswerable(e: ServerError) -> ServerError {
    let ServerError::Model(e) = e else { return e };
    let refusal = ServerError::refuse(422, e.code, "The records cannot be judged", e.message);
    match e.field {
        Some(field) => refusal.at(field),
        None => refusal,
    }
}

impl AsTable for BowVerdict {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            "bow",
            "archer",
            "at",
            "change",
            "where",
            "tight",
            "shift_x_mrad",
            "shift_y_mrad",
            "shift_x_low_mrad",
            "shift_x_high_mrad",
            "shift_y_low_mrad",
            "shift_y_high_mrad",
            "shift_p_adjusted",
            "sd_ratio",
            "sd_ratio_low",
            "sd_ratio_high",
            "points_per_arrow",
            "points_per_arrow_low",
            "points_per_arrow_high",
            "ends_before",
            "ends_after",
            "arrows_before",
            "arrows_after",
            "detectable_shift_mrad",
            "ends_to_settle",
            "verdict",
        ]);
        for archer in &self.archers {
            table.rows.extend(archer.verdicts.iter().map(|judged| verdict_row(self, archer, judged)));
        }
        table
    }
}

fn verdict_row(bow: &BowVerdict, archer: &ArcherVerdict, judged: &Judged) -> Vec<String> {
    let effect = &judged.effect;
    let side = |of: Option<[[f64; 2]; 2]>, axis: usize, end: usize| cell(of.map(|i| i[axis][end]));
    vec![
        typed(Some(&bow.name)),
        typed(Some(&archer.name)),
        effect.at.rfc3339(),
        typed(Some(&judged.what)),
        figures::location(effect.location).to_owned(),
        figures::tightness(effect.tight).to_owned(),
        cell(effect.shift_mrad.map(|s| s[0])),
        cell(effect.shift_mrad.map(|s| s[1])),
        side(effect.shift_interval_mrad, 0, 0),
        side(effect.shift_interval_mrad, 0, 1),
        side(effect.shift_interval_mrad, 1, 0),
        side(effect.shift_interval_mrad, 1, 1),
        cell(effect.shift_p_adjusted),
        cell(effect.sd_ratio),
        cell(effect.sd_ratio_interval.map(|i| i[0])),
        cell(effect.sd_ratio_interval.map(|i| i[1])),
        cell(effect.points_per_arrow),
        cell(effect.points_per_arrow_interval.map(|i| i[0])),
        cell(effect.points_per_arrow_interval.map(|i| i[1])),
        effect.ends_before.to_string(),
        effect.ends_after.to_string(),
        effect.arrows_before.to_string(),
        effect.arrows_after.to_string(),
        cell(effect.detectable_shift_mrad),
        cell(effect.ends_to_settle),
        typed(Some(&judged.sentence)),
    ]
}

impl AsTable for Report {
    fn table(&self) -> Table {
        let mut table = Table::new(&[
            "archer",
            "bow",
            "groups",
            "arrows",
            "last_day",
            "distance_m",
            "sd_mm",
            "sd_mrad",
            "mpi_x_mm",
            "mpi_y_mm",
            "latest_arrows",
            "points_per_arrow",
            "face",
            "last_verdict",
            "look",
        ]);
        table.rows.extend(self.rows.iter().map(report_row));
        table
    }
}

fn report_row(row: &Row) -> Vec<String> {
    vec![
        typed(Some(&row.archer_name)),
        typed(Some(&row.bow_name)),
        row.groups.to_string(),
        row.arrows.to_string(),
        row.latest.last_day.clone(),
        row.latest.distance_m.to_string(),
        cell(row.latest.sd_mm),
        cell(row.latest.sd_mrad),
        row.latest.mpi_mm[0].to_string(),
        row.latest.mpi_mm[1].to_string(),
        row.latest.latest_arrows.to_string(),
        cell(row.latest.points_per_arrow),
        typed(row.latest.face.as_deref()),
        typed(row.last_verdict.as_deref()),
        typed(Some(&row.look.iter().map(ToString::to_string).collect::<Vec<_>>().join("; "))),
    ]
}
