//! What the changes of a bow did to the groups, archer by archer, and the same for all bows of a team.

use super::{
    AsTable, Names, Table,
    setups::{AlteredRow, UnplacedRow, altered_line, altered_rows, unplaced_rows},
    table::{cell, typed},
};
use crate::{
    error::ServerError,
    service::{Service, Session},
    store::View,
};
use serde::Serialize;
use sheaf_model::{
    ModelError,
    face::Face,
    id::ThingId,
    kind::{self, Arrows, Bow, Kind},
    replica::Store as _,
    stats::effects::{self, Effect, Effects, EffectsInput},
    timeline::{Season, Timeline},
};

/// The effects of a bow's changes.
#[derive(Debug, Serialize)]
pub struct BowEffects {
    bow: ThingId,
    name: Option<String>,
    archers: Vec<ArcherEffects>,
    unplaced: Vec<UnplacedRow>,
}

/// The effects as one archer's groups show them.
#[derive(Debug, Serialize)]
struct ArcherEffects {
    archer: Option<ThingId>,
    archer_name: Option<String>,
    groups: usize,
    arrows: usize,
    bare_left_out: usize,
    lost_left_out: usize,
    unusable_groups: Vec<ThingId>,
    changes: Vec<ChangeRow>,
    effects: Option<Effects>,
    problem: Option<Unclear>,
}

#[derive(Debug, Serialize)]
struct ChangeRow {
    id: String,
    at: String,
    altered: Vec<AlteredRow>,
}

/// Why nothing can be said.
#[derive(Debug, Serialize)]
struct Unclear {
    code: &'static str,
    message: String,
}

/// The effects of all bows of a team that are in use.
#[derive(Debug, Serialize)]
pub struct Report {
    team: String,
    bows: Vec<BowEffects>,
}

impl Service {
    /// Returns the effects of a bow's changes.
    pub fn effects(&self, who: Session, bow: &str) -> Result<BowEffects, ServerError> {
        let (view, names) = self.named_view(who)?;
        let (bow, record) = self.bow(&view, bow)?;
        bow_effects(&view, &names, bow, record.name)
    }

    /// Returns the effects of the changes of every bow in use.
    pub fn report(&self, who: Session) -> Result<Report, ServerError> {
        let (view, names) = self.named_view(who)?;
        let mut bows = Vec::new();
        view.visit(Bow::NAME, None, &mut |thing| {
            if let Ok(bow) = kind::read::<Bow>(thing)
                && !bow.retired
            {
                bows.push((thing.id, bow.name));
            }
        })?;
        let bows = bows.into_iter().map(|(id, name)| bow_effects(&view, &names, id, name));
        let bows = bows.collect::<Result<_, ServerError>>()?;
        let team = self.store.index().team(who.team)?.map(|t| t.name).unwrap_or_default();
        Ok(Report { team, bows })
    }
}

fn bow_effects(
    view: &View,
    names: &Names,
    bow: ThingId,
    name: Option<String>,
) -> Result<BowEffects, ServerError> {
    let timeline = Timeline::read(view, bow)?;
    let mut archers = Vec::new();
    for archer in timeline.archers() {
        let season = timeline.season(archer);
        let arrows = season.arrows().map(|set| view.thing(Arrows::NAME, set)).transpose()?.flatten();
        let shaft = arrows.and_then(|thing| kind::read::<Arrows>(&thing).ok()?.shaft_diameter_mm);
        archers.push(archer_effects(archer, &season, shaft, names));
    }
    Ok(BowEffects { bow, name, archers, unplaced: unplaced_rows(&timeline) })
}

fn archer_effects(
    archer: Option<ThingId>,
    season: &Season,
    shaft_mm: Option<f64>,
    names: &Names,
) -> ArcherEffects {
    let asked = input(season, shaft_mm).and_then(|input| effects::effects(&input));
    let (effects, problem) = match asked {
        Ok(effects) => (Some(effects), None),
        Err(ModelError { code, message, .. }) => (None, Some(Unclear { code, message })),
    };
    let change = |c: &sheaf_model::timeline::SeasonChange| ChangeRow {
        id: c.id.clone(),
        at: c.at.rfc3339(),
        altered: altered_rows(&c.altered, names),
    };
    ArcherEffects {
        archer,
        archer_name: names.of(archer),
        groups: season.groups.len(),
        arrows: season.groups.iter().map(|g| g.points_mm.len()).sum(),
        bare_left_out: season.bare,
        lost_left_out: season.lost,
        unusable_groups: season.unusable.clone(),
        changes: season.changes.iter().map(change).collect(),
        effects,
        problem,
    }
}

/// Turns a season into the question that the statistics answer.
fn input(season: &Season, shaft_mm: Option<f64>) -> Result<EffectsInput, ModelError> {
    let face = season.face().and_then(|text| serde_json::from_str(text).ok());
    let changes = season.changes.iter().map(|c| effects::Change { id: c.id.clone(), at: c.at.rfc3339() });
    let groups = season.groups.iter().map(|g| effects::Group {
        at: g.at.rfc3339(),
        session: Some(g.session.clone()),
        end: Some(g.end.clone()),
        distance_m: g.distance_m,
        points_mm: g.points_mm.clone(),
        flyers: g.flyers.clone(),
        sight: Some(g.sight.clone()),
        sight_offset_mrad: g.sight_offset_mrad,
    });
    Ok(EffectsInput {
        face: face.map(|value| Face::from_json(&value, "face")).transpose()?,
        shaft_diameter_mm: shaft_mm.unwrap_or(0.0),
        changes: changes.collect(),
        groups: groups.collect(),
        ..EffectsInput::default()
    })
}

/// The headings of a table of effects.
const COLUMNS: &[&str] = &[
    "bow",
    "archer",
    "at",
    "altered",
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
    "notes",
];

impl AsTable for BowEffects {
    fn table(&self) -> Table {
        let mut table = Table::new(COLUMNS);
        for archer in &self.archers {
            let rows = archer.effects.iter().flat_map(|e| &e.effects);
            table.rows.extend(rows.map(|effect| row(self, archer, effect)));
        }
        table
    }
}

impl AsTable for Report {
    fn table(&self) -> Table {
        let mut table = Table::new(COLUMNS);
        table.rows.extend(self.bows.iter().flat_map(|bow| bow.table().rows));
        table
    }
}

fn row(bow: &BowEffects, archer: &ArcherEffects, effect: &Effect) -> Vec<String> {
    let changes = archer.changes.iter().filter(|c| effect.changes.contains(&c.id));
    let altered: Vec<AlteredRow> = changes.flat_map(|c| c.altered.clone()).collect();
    let word = |value: serde_json::Result<serde_json::Value>| match value {
        Ok(serde_json::Value::String(word)) => word,
        _ => String::new(),
    };
    let side = |of: Option<[[f64; 2]; 2]>, axis: usize, end: usize| cell(of.map(|i| i[axis][end]));
    vec![
        typed(bow.name.as_deref()),
        typed(archer.archer_name.as_deref()),
        effect.at.clone(),
        typed(Some(&altered_line(&altered))),
        word(serde_json::to_value(effect.location)),
        word(serde_json::to_value(effect.tight)),
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
        typed(Some(&effect.notes.join(" "))),
    ]
}
