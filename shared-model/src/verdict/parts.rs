//! Every part with what is known of it, its maker's limits, the bow that it is on and those that it was on before.

use super::{
    bow::{day_words, names},
    part_words::{known_words, limit_words},
    units::Units,
};
use crate::{
    id::ThingId,
    kind::{self, Kind as _, Part, WHAT},
    name,
    named::name_of,
    replica::Store,
    rig::whereabouts::{Spell, Way, Whereabouts, whereabouts},
    timeline::Timeline,
};
use serde::Serialize;
use std::collections::BTreeMap;

/// The parts of a team.
#[derive(Debug, Clone, Serialize)]
pub struct Parts {
    /// One a part, sort by sort, then by name.
    pub parts: Vec<PartRow>,
    /// Whose word the limits are, where any are noted.
    pub source: &'static str,
}

/// A part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PartRow {
    /// Which one.
    pub id: ThingId,
    /// Its name.
    pub name: String,
    /// What it is; none where that is not noted.
    pub what: Option<String>,
    /// Whether it is out of use.
    pub retired: bool,
    /// What is known of it, in words; empty where that is nothing.
    pub known: String,
    /// Its maker's limits in words; none where no limit is noted.
    pub limits: Option<String>,
    /// The bow that it is on.
    pub on: Option<ThingId>,
    /// The name of that bow.
    pub on_name: Option<String>,
    /// Since which day it is there.
    pub since: Option<String>,
    /// Where it is, in words.
    pub place: String,
    /// The bows that it was on, the first first, where it is now among them.
    pub history: Vec<SpellRow>,
    /// The remark that its record holds.
    pub note: Option<String>,
}

/// A time that a part was on a bow.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpellRow {
    /// The bow.
    pub bow: ThingId,
    /// The name of that bow.
    pub bow_name: String,
    /// As what.
    pub setting: String,
    /// From when, RFC 3339.
    pub since: String,
    /// Until when; none as long as it is there.
    pub until: Option<String>,
    /// The same in words, with how it ended.
    pub words: String,
}

/// Returns the parts of a team, or those of one sort; `all` takes in those that are out of use and on no bow.
///
/// # Errors
/// Those of the store.
pub fn parts<S: Store>(store: &S, what: Option<&str>, all: bool, units: Units) -> Result<Parts, S::Error> {
    let told = Told { found: whereabouts(&Timeline::changes_of_all(store)?), names: names(store)?, units };
    let mut rows = Vec::new();
    store.visit(Part::NAME, None, &mut |thing| {
        let part = kind::read::<Part>(thing).unwrap_or_default();
        let of_sort = what.is_none_or(|what| part.what.as_deref() == Some(what));
        let wanted = of_sort && (all || !part.retired || told.on(thing.id).is_some());
        rows.extend(wanted.then(|| told.row(thing.id, part)));
    })?;
    rows.sort_by_key(|row| {
        let sort = WHAT.iter().position(|what| row.what.as_deref() == Some(what)).unwrap_or(WHAT.len());
        (sort, name::key(&row.name), row.id)
    });
    Ok(Parts { parts: rows, source: "the maker's limits are as whoever noted the part wrote them" })
}

struct Told {
    found: Whereabouts,
    names: BTreeMap<ThingId, String>,
    units: Units,
}

impl Told {
    /// Returns where a part is on a bow now.
    fn on(&self, id: ThingId) -> Option<&Spell> {
        self.found.get(&id)?.last().filter(|spell| spell.end.is_none())
    }

    fn row(&self, id: ThingId, part: Part) -> PartRow {
        let spells = self.found.get(&id).map(Vec::as_slice).unwrap_or_default();
        let now = self.on(id);
        PartRow {
            id,
            name: name_of(&self.names, id),
            known: known_words(&part, self.units).join(", "),
            limits: limit_words(&part, self.units),
            on: now.map(|spell| spell.bow),
            on_name: now.map(|spell| name_of(&self.names, spell.bow)),
            since: now.map(|spell| spell.since.day()),
            place: self.place(spells),
            history: spells.iter().map(|spell| self.spell_row(spell)).collect(),
            what: part.what,
            retired: part.retired,
            note: part.note,
        }
    }

    /// Says where a part is, or where it was last.
    fn place(&self, spells: &[Spell]) -> String {
        match spells.last() {
            None => "on no bow yet".into(),
            Some(last) if last.end.is_none() => self.spell_words(last),
            Some(last) => format!("on no bow; {}", self.spell_words(last)),
        }
    }

    fn spell_row(&self, spell: &Spell) -> SpellRow {
        SpellRow {
            bow: spell.bow,
            bow_name: name_of(&self.names, spell.bow),
            setting: spell.setting.clone(),
            since: spell.since.rfc3339(),
            until: spell.end.as_ref().map(|end| end.at.rfc3339()),
            words: self.spell_words(spell),
        }
    }

    fn spell_words(&self, spell: &Spell) -> String {
        let (bow, since) = (name_of(&self.names, spell.bow), day_words(&spell.since.day()));
        let Some(end) = &spell.end else { return format!("on {bow} since {since}") };
        let until = day_words(&end.at.day());
        let span = if until == since { format!("on {since}") } else { format!("from {since} to {until}") };
        let why = match &end.by {
            Way::Moved(to) if *to == spell.bow => String::new(),
            Way::Moved(to) => format!(", then on {}", name_of(&self.names, *to)),
            Way::Replaced(value) => {
                let other = super::quantity(value, &|id| self.names.get(&id).cloned());
                format!(", until {other} came in its place")
            }
        };
        format!("on {bow} {span}{why}")
    }
}
