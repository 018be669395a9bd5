//! Records as a file: handed over with no network, and what a phone that lost its store goes on from.

use super::{Ask, Card, Desk, card::VERSION, read};
use crate::{
    ModelError,
    id::ThingId,
    journal,
    kind::Person,
    name,
    replica::{Memory, Replica, Store as _},
};
use serde::Deserialize;
use serde_json::{Value, json};

/// Returns everything as the text of a bundle.
pub(super) fn bundle(desk: &mut Desk, _: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let entries = desk.entries()?;
    let (count, team) = (entries.len(), desk.card()?.team);
    let bytes = journal::write_bundle(team, entries)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| ModelError::new("bad_record", "the records cannot be written as text"))?;
    let day = ask.moment()?.day();
    Ok(
        json!({"text": text, "entries": count, "name": format!("{}-{day}.sheaf", file_name(&desk.card()?.team_name))}),
    )
}

/// Hands everything to the page to be kept anew: its store was emptied while the model held the records.
pub(super) fn whole(desk: &mut Desk, _: &Value, _: &Ask) -> Result<Value, ModelError> {
    let entries = desk.entries()?;
    desk.keep(&entries)?;
    desk.altered = true;
    Ok(json!({"entries": entries.len()}))
}

/// Takes a bundle of the same team in; with no team open, says whose records it holds.
pub(super) fn unbundle(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Given {
        text: String,
    }
    let given: Given = read(input)?;
    let (team, entries) = journal::read_bundle(given.text.as_bytes())?;
    if desk.card.is_none() {
        let mut replica = Replica::new(Memory::default());
        replica.absorb(entries)?;
        return Ok(json!({"team": team, "people": people(replica.store())?}));
    }
    let card = desk.card()?;
    if let Some(team) = team.filter(|team| *team != card.team) {
        let message = format!(
            "the file holds the records of another team ({}), not those of {}; records of another team are taken in by \
             joining it",
            team.short(),
            card.team_name
        );
        return Err(ModelError::new("other_team", message));
    }
    let replica = desk.replica.as_mut().ok_or_else(super::not_open)?;
    let absorbed = replica.absorb(entries.clone())?;
    // Of what the file holds, what is here now goes to the page; the page passes over what it has.
    let here = |e: &crate::log::Entry| {
        desk.store().and_then(|s| s.header_hash(e.device, e.seq)).ok().flatten() == Some(e.header_hash())
    };
    let kept: Vec<_> = entries.into_iter().filter(here).collect();
    if absorbed.kept > 0 {
        desk.keep(&kept)?;
    }
    Ok(json!({"kept": absorbed.kept, "known": absorbed.known, "refused": absorbed.refused.len()}))
}

/// Goes on from a bundle on a phone that holds nothing, as one of the people in it, with a device of its own.
pub(super) fn start_from(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Given {
        text: String,
        person: ThingId,
        device_name: String,
        team_name: String,
    }
    let given: Given = read(input)?;
    if desk.card.is_some() {
        return Err(ModelError::new("open_already", "this phone holds a team's records already"));
    }
    let (team, entries) = journal::read_bundle(given.text.as_bytes())?;
    let team = team.ok_or_else(|| ModelError::new("empty_bundle", "the file holds no records").at("text"))?;
    let device_name = name::read("a device", &given.device_name).map_err(|e| e.at("device_name"))?;
    let team_name = name::read("a team", &given.team_name).map_err(|e| e.at("team_name"))?;
    let mut replica = Replica::new(Memory::default());
    replica.absorb(entries)?;
    if replica.store().thing("person", given.person)?.is_none() {
        return Err(ModelError::new("unknown_person", "the file does not know that person").at("person"));
    }
    let (device, person) = (ask.device_id(), given.person);
    let card =
        Card { version: VERSION, team, team_name, device, device_name, person, server: None, carry: None };
    *desk = Desk { replica: Some(replica), card: Some(card), altered: true, ..Desk::default() };
    let entries = desk.entries()?;
    desk.keep(&entries)?;
    Ok(json!({"entries": entries.len()}))
}

fn people(store: &Memory) -> Result<Vec<Value>, ModelError> {
    let mut people = Vec::new();
    store.visit("person", None, &mut |thing| {
        let known = thing.read::<Person>().unwrap_or_default();
        if !known.retired {
            people.push(json!({"id": thing.id, "name": known.name}));
        }
    })?;
    Ok(people)
}

fn file_name(team: &str) -> String {
    let plain = |c: char| if c.is_alphanumeric() { c } else { '-' };
    team.chars().map(plain).collect()
}
