//! What a group takes over from the one before when it is not typed.

use crate::{
    CliError,
    lookup::{self, Named},
    render,
    store::Home,
};
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind::{self, Group},
    replica::Store,
};

/// How many of the latest groups are looked at for one of the same bow, archer and distance.
const LOOKED_BACK: usize = 300;

/// Returns the distance of the group before.
pub fn last_distance(last: &Group, assumed: &mut Vec<String>) -> Result<f64, CliError> {
    let distance_m = last.distance_m.ok_or_else(|| {
        CliError::input("how far was it?")
            .hint("write the distance with its unit after the bow, like 30m or 20yd")
    })?;
    assumed.push(format!("{} m", render::number(distance_m, 2)));
    Ok(distance_m)
}

/// Returns the latest group in use, of the person of this device where there is one.
pub fn last_group(home: &Home) -> Result<Option<Group>, CliError> {
    let state = home.store().state();
    let mut latest = None;
    for id in state.ids("group").rev().take(50) {
        let Some(group) = home.store().thing("group", id)?.and_then(|t| kind::read::<Group>(&t).ok()) else {
            continue;
        };
        if group.retired {
            continue;
        }
        if group.archer == Some(home.card().person) {
            return Ok(Some(group));
        }
        latest.get_or_insert(group);
    }
    Ok(latest)
}

/// Returns the bow of the group before, or the only one there is.
pub fn last_or_only_bow(
    home: &Home,
    last: Option<ThingId>,
    assumed: &mut Vec<String>,
) -> Result<Named, CliError> {
    let bows: Vec<Named> = lookup::all(home, "bow")?.into_iter().filter(|b| !b.retired).collect();
    let found =
        bows.iter().find(|b| Some(b.id) == last).or(if bows.len() == 1 { bows.first() } else { None });
    let found = found.ok_or_else(|| {
        CliError::input("which bow?").hint("name it first: sheaf shoot BOW 30m 9@4:30 X@12")
    })?;
    assumed.push(found.name.clone());
    Ok(found.clone())
}

/// Returns the face that was typed, or that of the group before.
pub fn face_of(
    typed: Option<&str>,
    last: &Group,
    assumed: &mut Vec<String>,
) -> Result<(String, Face), CliError> {
    let code = match (typed, last.face_code()) {
        (Some(code), _) => code.trim().to_lowercase(),
        (None, Some(code)) => {
            assumed.push(code.clone());
            code
        }
        (None, None) => {
            let codes: Vec<&str> = Face::codes().collect();
            return Err(CliError::input("which face?")
                .hint(format!("say it once with --face CODE; there are {}", codes.join(", "))));
        }
    };
    let face = Face::by_code(&code)?;
    Ok((code, face))
}

/// Returns the arrow set that was typed, that of the group before, or the only one there is.
pub fn arrows_of(
    home: &Home,
    typed: Option<&str>,
    last: Option<ThingId>,
    assumed: &mut Vec<String>,
) -> Result<Option<(ThingId, String)>, CliError> {
    let sets: Vec<Named> = lookup::all(home, "arrows")?.into_iter().filter(|a| !a.retired).collect();
    let set = match typed {
        Some(name) => Some(lookup::find(home, "arrows", name)?),
        None => {
            let found = sets.iter().find(|a| Some(a.id) == last).or(if sets.len() == 1 {
                sets.first()
            } else {
                None
            });
            assumed.extend(found.map(|a| a.name.clone()));
            found.cloned()
        }
    };
    Ok(set.map(|set| (set.id, set.name)))
}

/// Returns the name for where the sight stood in the latest group of that bow, archer and distance: it holds until
/// another is given.
pub fn last_sight(
    home: &Home,
    (bow, archer, distance_m): (ThingId, ThingId, f64),
    assumed: &mut Vec<String>,
) -> Result<Option<String>, CliError> {
    for id in home.store().state().ids("group").rev().take(LOOKED_BACK) {
        let Some(group) = home.store().thing("group", id)?.and_then(|t| kind::read::<Group>(&t).ok()) else {
            continue;
        };
        let same = (group.bow, group.archer, group.distance_m) == (Some(bow), Some(archer), Some(distance_m));
        // A walk-back is shot off the mark on purpose.
        if same && !group.retired && !group.is_walk_back() {
            assumed.extend(group.sight.as_ref().map(|label| format!("sight {label}")));
            return Ok(group.sight);
        }
    }
    Ok(None)
}
