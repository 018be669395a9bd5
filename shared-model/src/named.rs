//! Things by the names that people give them.

use crate::{id::ThingId, merge::Thing, name, replica::Store};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The kinds that people call by name, in the order in which a name is looked up.
pub const NAMED: &[&str] = &["bow", "arrows", "part", "person", "baseline", "plan", "session"];

/// A thing with its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// What kind of thing.
    pub kind: &'static str,
    /// Which one.
    pub id: ThingId,
    /// Its name; empty when it has none yet.
    pub name: String,
    /// Whether it is out of use.
    pub retired: bool,
}

/// What a name that was typed stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Called {
    /// Nothing.
    Nobody,
    /// One thing.
    One(Named),
    /// Several, so that more has to be typed.
    Several(Vec<Named>),
}

#[derive(Deserialize)]
struct NameOnly {
    name: Option<String>,
    #[serde(default)]
    retired: bool,
}

/// Returns the things of a named kind.
///
/// # Errors
/// Those of the store.
pub fn all<S: Store>(store: &S, kind: &'static str) -> Result<Vec<Named>, S::Error> {
    let mut found = Vec::new();
    store.visit(kind, None, &mut |thing| found.extend(named(kind, thing)))?;
    Ok(found)
}

/// Returns a thing with its name; nothing where it cannot be read.
pub fn named(kind: &'static str, thing: &Thing) -> Option<Named> {
    let NameOnly { name: given, retired } = thing.read().ok()?;
    // A name from elsewhere may hold what would steer a terminal.
    let unseen = |c: char| c.is_control() || name::is_hidden(c);
    let name = given.unwrap_or_default().replace(unseen, " ");
    Some(Named { kind, id: thing.id, name, retired })
}

/// Returns the names of all things of some kinds, for showing.
///
/// # Errors
/// Those of the store.
pub fn names<S: Store>(store: &S, kinds: &[&'static str]) -> Result<BTreeMap<ThingId, String>, S::Error> {
    let mut names = BTreeMap::new();
    for kind in kinds {
        for thing in all(store, kind)? {
            let name = if thing.name.is_empty() { thing.id.short() } else { thing.name };
            names.insert(thing.id, name);
        }
    }
    Ok(names)
}

/// Returns the name of a thing, or the end of its id.
pub fn name_of(names: &BTreeMap<ThingId, String>, id: ThingId) -> String {
    names.get(&id).cloned().unwrap_or_else(|| id.short())
}

/// Returns what a text stands for among named things: those in use go before the others, whole names before beginnings.
pub fn called(named: &[Named], text: &str) -> Called {
    let wanted = name::key(text);
    let exact = |n: &&Named| name::key(&n.name) == wanted;
    let begins = |n: &&Named| name::key(&n.name).starts_with(&wanted);
    let in_use = |n: &&Named| !n.retired;
    let tries: [Vec<&Named>; 3] = [
        named.iter().filter(in_use).filter(exact).collect(),
        named.iter().filter(exact).collect(),
        if wanted.is_empty() { Vec::new() } else { named.iter().filter(in_use).filter(begins).collect() },
    ];
    match tries.iter().find(|t| !t.is_empty()).map(Vec::as_slice) {
        None => Called::Nobody,
        Some([one]) => Called::One((*one).clone()),
        Some(several) => Called::Several(several.iter().map(|n| (*n).clone()).collect()),
    }
}

/// Returns the thing in use beside `own` that has a name already.
pub fn taken<'a>(named: &'a [Named], wanted: &str, own: Option<ThingId>) -> Option<&'a Named> {
    let same = |n: &&Named| !n.retired && Some(n.id) != own && name::key(&n.name) == name::key(wanted);
    named.iter().find(same)
}
