//! Beginning a team of one, opening what is kept, and where the replica stands.

use super::{Ask, Card, Desk, card::VERSION, joining::own_name, read};
use crate::{
    ModelError,
    kind::{Person, draft},
    log::{Entry, Have},
    name,
    replica::{Memory, Replica, Store as _},
};
use serde::Deserialize;
use serde_json::{Value, json};

/// Opens the replica of a card, empty; its entries follow by [`load`].
pub(super) fn open(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Kept {
        card: Card,
        #[serde(default)]
        have: Have,
    }
    let Kept { card, have } = read(input)?;
    if card.version > VERSION {
        let message = format!("the card has version {}; this page reads {VERSION}: update it", card.version);
        return Err(ModelError::new("newer_version", message).at("card.version"));
    }
    *desk =
        Desk { replica: Some(Replica::new(Memory::default())), card: Some(card), have, ..Desk::default() };
    Ok(Value::Null)
}

/// Takes in entries that the page kept, a line each.
pub(super) fn load(desk: &mut Desk, lines: &str) -> Result<Value, ModelError> {
    let unread = |e| ModelError::new("bad_entry", format!("a kept entry cannot be read: {e}"));
    let entries: Vec<Entry> = lines
        .lines()
        .filter(|line| !line.is_empty())
        .map(|line| serde_json::from_str(line).map_err(unread))
        .collect::<Result<_, _>>()?;
    let replica = desk.replica.as_mut().ok_or_else(super::not_open)?;
    let absorbed = replica.absorb(entries)?;
    let refused = absorbed.refused.iter();
    let refused: Vec<Value> =
        refused.map(|r| json!({"device": r.device, "seq": r.seq, "why": format!("{:?}", r.why)})).collect();
    Ok(json!({"kept": absorbed.kept, "known": absorbed.known, "refused": refused}))
}

/// Begins a team of one.
pub(super) fn start(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        person: String,
        device_name: String,
        team_name: Option<String>,
    }
    let asked: Asked = read(input)?;
    let me = own_name(&asked.person)?;
    let device_name = name::read("a device", &asked.device_name).map_err(|e| e.at("device_name"))?;
    let team_name = match asked.team_name.filter(|typed| !typed.trim().is_empty()) {
        Some(typed) => name::read("a team", &typed).map_err(|e| e.at("team_name"))?,
        None => me.clone(),
    };
    let (team, device, person) = (ask.team_id(), ask.device_id(), ask.thing_id());
    let card =
        Card { version: VERSION, team, team_name, device, device_name, person, server: None, carry: None };
    *desk = Desk {
        replica: Some(Replica::new(Memory::default())),
        card: Some(card),
        altered: true,
        ..Desk::default()
    };
    let record = Person { name: Some(me), ..Person::default() };
    desk.write(ask, vec![draft(person, &record)?])?;
    Ok(json!({"person": person}))
}

/// Says where the replica stands.
pub(super) fn status(desk: &mut Desk, _: &Value, _: &Ask) -> Result<Value, ModelError> {
    let unsent = desk.unsent()?;
    let replica = desk.replica.as_mut().ok_or_else(super::not_open)?;
    let entries = replica.store().vector().total();
    let digest = replica.store_mut().digest()?;
    let card = desk.card()?;
    let thing = desk.store()?.thing("person", card.person)?;
    let me = thing.and_then(|t| t.read::<Person>().ok()).and_then(|p| p.name);
    Ok(json!({
        "team": card.team, "team_name": card.team_name, "device": card.device, "device_name": card.device_name,
        "person": card.person, "person_name": me, "role": card.server.as_ref().map(|s| s.role),
        "on_server": card.server.is_some(), "carrying": card.carry.is_some(),
        "entries": entries, "unsent": unsent, "digest": digest,
    }))
}

impl Desk {
    /// Returns how many entries are here and not yet on the server.
    pub(super) fn unsent(&self) -> Result<u64, ModelError> {
        let store = self.store()?;
        let there = |device| self.have.get(&device).map_or(0, |mark| mark.0);
        Ok(store.vector().iter().map(|(device, head)| head.seq.saturating_sub(there(device))).sum())
    }
}
