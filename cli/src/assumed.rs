//! What a group takes over from the one before when it is not typed.

use crate::{
    CliError,
    lookup::{self, Named},
    store::Home,
    words::distance_words,
};
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind::{self, Group},
    replica::Store,
};

/// How many of the latest groups are looked at for one of the same bow, archer or distance.
const LOOKED_BACK: usize = 300;

/// Returns the distance of the group before.
pub fn last_distance(last: &Group, assumed: &mut Vec<String>) -> Result<f64, CliError> {
    let distance_m = last.distance_m.ok_or_else(|| {
        CliError::input("how far was it?")
            .hint("write the distance with its unit after the bow, like 30m or 20yd")
    })?;
    assumed.push(distance_words(distance_m));
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

/// Returns the face that was typed, or the one that the archer last shot at that distance; where nothing was shot there
/// yet, that of the group before, with the distance in m at which it was shot.
pub fn face_of(
    home: &Home,
    typed: Option<&str>,
    (archer, distance_m, walks): (ThingId, f64, bool),
    last: &Group,
    assumed: &mut Vec<String>,
) -> Result<(String, Face, Option<f64>), CliError> {
    if let Some(code) = typed.map(|code| code.trim().to_lowercase()) {
        return Ok((code.clone(), Face::by_code(&code)?, None));
    }
    let there = |g: &Group| g.archer == Some(archer) && g.distance_m == Some(distance_m);
    // A walk-back is shot at one face from everywhere, and says nothing of the face that is usual at a distance.
    let walks_on = walks && last.is_walk_back();
    let usual = |g: &Group| there(g) && !g.is_walk_back() && g.face_code().is_some();
    let here = if walks_on { None } else { latest(home, &usual)? };
    let guessed = if walks_on || here.is_some() { None } else { last.distance_m };
    let Some(code) = here.as_ref().unwrap_or(last).face_code() else {
        let codes: Vec<&str> = Face::codes().collect();
        return Err(CliError::input("which face?")
            .hint(format!("say it once with --face CODE; there are {}", codes.join(", "))));
    };
    let face = Face::by_code(&code)?;
    assumed.push(code.clone());
    Ok((code, face, guessed.filter(|from| *from != distance_m)))
}

/// Returns the arrow set of the archer's latest group with a bow, or that of the group before.
pub fn last_arrows(
    home: &Home,
    (bow, archer): (ThingId, ThingId),
    last: &Group,
) -> Result<Option<ThingId>, CliError> {
    if (last.bow, last.archer) == (Some(bow), Some(archer)) {
        return Ok(last.arrows);
    }
    let with_it = latest(home, &|g| (g.bow, g.archer) == (Some(bow), Some(archer)))?;
    Ok(with_it.map_or(last.arrows, |group| group.arrows))
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
    let same = |g: &Group| (g.bow, g.archer, g.distance_m) == (Some(bow), Some(archer), Some(distance_m));
    // A walk-back is shot off the mark on purpose.
    let sight = latest(home, &|g| same(g) && !g.is_walk_back())?.and_then(|group| group.sight);
    assumed.extend(sight.as_ref().map(|label| format!("sight {label}")));
    Ok(sight)
}

/// Returns the group in use that was recorded last of those that are wanted, among the latest ones.
fn latest(home: &Home, wanted: &dyn Fn(&Group) -> bool) -> Result<Option<Group>, CliError> {
    for id in home.store().state().ids("group").rev().take(LOOKED_BACK) {
        let group = home.store().thing("group", id)?.and_then(|t| kind::read::<Group>(&t).ok());
        if let Some(group) = group.filter(|g| !g.retired && wanted(g)) {
            return Ok(Some(group));
        }
    }
    Ok(None)
}
