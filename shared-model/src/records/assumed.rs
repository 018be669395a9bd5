//! What a group takes over from the ones before when it is not said.

use super::{Named, all};
use crate::{
    id::ThingId,
    kind::{self, Group},
    replica::Store,
};

/// How many of the latest groups are looked at for one of a person.
const LOOKED_AT_FIRST: usize = 50;
/// How many of the latest groups are looked at for one of the same bow, archer or distance.
const LOOKED_BACK: usize = 300;

/// The face that is usual.
#[derive(Debug, Clone, PartialEq)]
pub struct Usual {
    /// Its code.
    pub code: String,
    /// The distance in m from which it is taken, where nothing was shot at the one that is asked about.
    pub from_m: Option<f64>,
}

/// Returns the latest group in use, of that person where there is one.
///
/// # Errors
/// Those of the store.
pub fn last_group<S: Store>(store: &S, person: ThingId) -> Result<Option<Group>, S::Error> {
    let (mut own, mut latest, mut seen) = (None, None, 0);
    store.visit_back("group", &mut |thing| {
        seen += 1;
        if let Some(group) = kind::read::<Group>(thing).ok().filter(|group| !group.retired) {
            if group.archer == Some(person) {
                own = Some(group);
            } else {
                latest.get_or_insert(group);
            }
        }
        own.is_none() && seen < LOOKED_AT_FIRST
    })?;
    Ok(own.or(latest))
}

/// Returns the group in use that was recorded last of those that are wanted, among the latest ones.
///
/// # Errors
/// Those of the store.
fn latest_group<S: Store>(store: &S, wanted: &dyn Fn(&Group) -> bool) -> Result<Option<Group>, S::Error> {
    let (mut found, mut seen) = (None, 0);
    store.visit_back("group", &mut |thing| {
        seen += 1;
        found = kind::read::<Group>(thing).ok().filter(|group| !group.retired && wanted(group));
        found.is_none() && seen < LOOKED_BACK
    })?;
    Ok(found)
}

/// Returns the thing of a kind that was used `last`, or the only one in use.
///
/// # Errors
/// Those of the store.
pub fn last_or_only<S: Store>(
    store: &S,
    kind: &'static str,
    last: Option<ThingId>,
) -> Result<Option<Named>, S::Error> {
    let in_use: Vec<Named> = all(store, kind)?.into_iter().filter(|n| !n.retired).collect();
    let only = if in_use.len() == 1 { in_use.first() } else { None };
    Ok(in_use.iter().find(|n| Some(n.id) == last).or(only).cloned())
}

/// Returns the face that an archer last shot at a distance; where nothing was shot there yet, that of the `last` group,
/// with the distance at which it was shot. `walks` says that a walk-back is shot.
///
/// # Errors
/// Those of the store.
pub fn usual_face<S: Store>(
    store: &S,
    (archer, distance_m, walks): (ThingId, f64, bool),
    last: &Group,
) -> Result<Option<Usual>, S::Error> {
    let there = |g: &Group| g.archer == Some(archer) && g.distance_m == Some(distance_m);
    // A walk-back is shot at one face from everywhere, and says nothing of the face that is usual at a distance.
    let walks_on = walks && last.is_walk_back();
    let usual = |g: &Group| there(g) && !g.is_walk_back() && g.face_code().is_some();
    let here = if walks_on { None } else { latest_group(store, &usual)? };
    let guessed = if walks_on || here.is_some() { None } else { last.distance_m };
    let code = here.as_ref().unwrap_or(last).face_code();
    Ok(code.map(|code| Usual { code, from_m: guessed.filter(|from| *from != distance_m) }))
}

/// Returns the arrow set of the archer's latest group with a bow, or that of the group before.
///
/// # Errors
/// Those of the store.
pub fn last_arrows<S: Store>(
    store: &S,
    (bow, archer): (ThingId, ThingId),
    last: &Group,
) -> Result<Option<ThingId>, S::Error> {
    if (last.bow, last.archer) == (Some(bow), Some(archer)) {
        return Ok(last.arrows);
    }
    let with_it = latest_group(store, &|g| (g.bow, g.archer) == (Some(bow), Some(archer)))?;
    Ok(with_it.map_or(last.arrows, |group| group.arrows))
}

/// Returns the name for where the sight stood in the latest group of that bow, archer and distance: it holds until
/// another is given.
///
/// # Errors
/// Those of the store.
pub fn last_sight<S: Store>(
    store: &S,
    (bow, archer, distance_m): (ThingId, ThingId, f64),
) -> Result<Option<String>, S::Error> {
    let same = |g: &Group| (g.bow, g.archer, g.distance_m) == (Some(bow), Some(archer), Some(distance_m));
    // A walk-back is shot off the mark on purpose.
    Ok(latest_group(store, &|g| same(g) && !g.is_walk_back())?.and_then(|group| group.sight))
}
