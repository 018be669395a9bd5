//! The coach's look at the team, and at one archer.

use super::{Ask, Desk, answer::told, given::known, read, to_json};
use crate::{
    ModelError,
    chart::{Lie, LittleFace},
    id::ThingId,
    records::{NAMED, name_of, names},
    replica::Memory,
    timeline::Asked,
    verdict::{self, ArcherNow, SquadRow, Units, archer_now, bow_verdict, day_words, last_days},
    wire::Role,
};
use serde::Deserialize;
use serde_json::{Value, json};

/// Says who of the team needs the coach, and why.
pub(super) fn squad(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Wanted {
        #[serde(default)]
        units: Units,
    }
    let wanted: Wanted = read(input)?;
    let (store, card) = (desk.store()?, desk.card()?);
    // A coach who never shot is not missed.
    let coach = card.server.as_ref().filter(|server| server.role == Role::Coach).map(|_| card.person);
    let squad = verdict::squad(store, &Asked::default(), wanted.units, coach, ask.moment()?)?;
    let pictures: Vec<String> = squad.rows.iter().map(|row| picture(row, false)).collect();
    let mut answer = to_json(&squad)?;
    answer["team"] = json!(card.team_name);
    for (row, svg) in answer["rows"].as_array_mut().into_iter().flatten().zip(pictures) {
        row["svg"] = json!(svg);
    }
    Ok(answer)
}

/// Says how it stands with one archer.
pub(super) fn archer(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Wanted {
        person: Option<ThingId>,
        bow: Option<ThingId>,
        #[serde(default)]
        units: Units,
    }
    let wanted: Wanted = read(input)?;
    let (store, asked, units) = (desk.store()?, Asked::default(), wanted.units);
    for (kind, id) in [("person", wanted.person), ("bow", wanted.bow)] {
        if let Some(id) = id {
            known(store, kind, id)?;
        }
    }
    let now = archer_now(store, (wanted.person, wanted.bow), &asked, units, ask.moment()?)?;
    let bow = wanted.bow.or_else(|| now.bows.first().map(|bow| bow.id));
    let mut answer = heading(store, wanted.person, bow, &now)?;
    let (Some(bow), Some(row)) = (bow, now.row) else { return Ok(answer) };
    let days = last_days(store, bow, wanted.person, &asked, units)?;
    let days = days.into_iter().find(|d| d.archer == wanted.person);
    let verdict = bow_verdict(store, bow, wanted.person, &asked, units)?;
    let verdict = verdict.archers.into_iter().find(|v| v.archer == wanted.person);
    answer["sentences"] = json!(days.map(|d| d.sentences).unwrap_or_default());
    answer["latest"] = latest(&row, units);
    answer["picture"] = json!(picture(&row, true));
    answer["row"] = to_json(&row)?;
    if let Some(verdict) = verdict {
        answer["answers"] = verdict.verdicts.iter().rev().map(told).collect();
        (answer["first"], answer["remarks"]) = (json!(verdict.first), json!(verdict.remarks));
    }
    Ok(answer)
}

/// Returns who it is and with which bows, and the rest of the page empty.
fn heading(
    store: &Memory,
    person: Option<ThingId>,
    bow: Option<ThingId>,
    now: &ArcherNow,
) -> Result<Value, ModelError> {
    let names = names(store, NAMED)?;
    let name = person.map_or_else(|| "someone".into(), |id| name_of(&names, id));
    let picture = LittleFace { face: None, lie: None, label: "no arrow that counts yet" }.svg();
    Ok(json!({
        "person": person, "name": name, "bow": bow, "bow_name": bow.map(|id| name_of(&names, id)),
        "bows": to_json(&now.bows)?, "row": null, "latest": null, "picture": picture,
        "sentences": [], "first": [], "remarks": [], "answers": [],
    }))
}

/// Returns the figures of the latest ends, each with its words.
fn latest(said: &SquadRow, units: Units) -> Value {
    let (row, latest) = (&said.row, &said.row.latest);
    json!({
        "day": day_words(&latest.lie.at.day()),
        "distance_m": latest.distance_m,
        "distance_words": units.distance(latest.distance_m),
        "arrows": latest.latest_arrows,
        "flyers": latest.latest_flyers,
        "misses": latest.latest_misses,
        "sd_mm": latest.sd_mm,
        "spread_words": said.spread_beside(),
        "mpi_mm": latest.mpi_mm,
        "points_per_arrow": latest.points_per_arrow,
        "points_words": latest.points_per_arrow.map(|points| format!("{points:.2}")),
        "counted_words": said.counted_words(),
        "face": latest.lie.face.as_ref().map(crate::face::Face::name),
        "groups": row.groups,
        "all_arrows": row.arrows,
    })
}

fn picture(said: &SquadRow, with_arrows: bool) -> String {
    let (row, lie) = (&said.row, &said.row.latest.lie);
    let arrows_mm = if with_arrows { lie.points_mm.as_slice() } else { &[] };
    let label = said.label();
    LittleFace {
        face: lie.face.as_ref(),
        lie: Some(Lie { mean_mm: row.latest.mpi_mm, covariance_mm2: lie.covariance_mm2, arrows_mm }),
        label: &label,
    }
    .svg()
}

#[cfg(test)]
mod tests;
