//! Coming into a team, or bringing one onto the server, with what was recorded before.

use super::{Ask, Card, Carry, Desk, Server, card::VERSION, read, replies};
use crate::{
    ModelError,
    kind::{self, Person},
    log::{Entry, Have},
    name,
    replica::{Draft, Memory, Replica, Store as _},
    wire::{Admitted, FoundRequest, JoinRequest, Role},
};
use serde::Deserialize;
use serde_json::{Value, json};

/// Returns the request with which this device comes into a team by an invite.
pub(super) fn join(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        code: String,
        device_name: String,
        me: Option<String>,
        /// Whether the phone, which the server does not know any more, comes into its team again.
        #[serde(default)]
        again: bool,
    }
    let asked: Asked = read(input)?;
    if let Some(card) = desk.card.as_ref().filter(|card| card.server.is_some() && !asked.again) {
        let message = format!("this phone is in the team {} on this server already", card.team_name);
        return Err(ModelError::new("joined_already", message));
    }
    if let Some(me) = &asked.me {
        own_name(me)?;
    }
    let person = desk.card.as_ref().map_or_else(|| ask.thing_id(), |card| card.person);
    let device_name = name::read("a device", &asked.device_name).map_err(|e| e.at("device_name"))?;
    let request =
        JoinRequest { code: asked.code.trim().to_owned(), device: ask.device_id(), device_name, person };
    Ok(json!({"body": replies::text(&request)?}))
}

/// Settles in the team that the server let this device into; what was recorded before comes along by [`carry`], a
/// coach's once another role is given. A phone that comes into its team again goes on under the new id.
pub(super) fn joined(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Told {
        reply: String,
        device_name: String,
    }
    let told: Told = read(input)?;
    let admitted: Admitted = replies::parse(&told.reply)?;
    if desk.card.as_ref().is_some_and(|card| card.server.is_some()) {
        return again(desk, admitted, ask);
    }
    let before = desk.card.take();
    let card = Card {
        version: VERSION,
        team: admitted.team,
        team_name: admitted.name,
        device: admitted.device,
        device_name: told.device_name,
        person: admitted.person,
        server: Some(Server { token: admitted.token, role: admitted.role }),
        carry: before.map(|old| Carry { team: old.team, person: old.person }),
    };
    let carry = card.carry.clone();
    *desk = Desk {
        replica: Some(Replica::new(Memory::default())),
        card: Some(card),
        altered: true,
        ..Desk::default()
    };
    Ok(json!({"carry": carry, "role": admitted.role}))
}

/// Comes into the same team again, under the id with which the server let this device in.
fn again(desk: &mut Desk, admitted: Admitted, ask: &Ask) -> Result<Value, ModelError> {
    let card = desk.card()?;
    if card.team != admitted.team {
        let message = format!(
            "the invite is of the team {}, and this phone holds the records of {}: make a file of these first, then use \
             another phone or browser for the other team",
            admitted.name, card.team_name
        );
        return Err(ModelError::new("other_team", message));
    }
    let (role, common) = (admitted.role, desk.have.get(&card.device).map_or(0, |mark| mark.0));
    let moved = desk.go_on_as(admitted, common, ask)?;
    Ok(json!({"carry": null, "role": role, "moved": moved}))
}

/// Writes what was recorded before the team was joined into its records, once, and who this person is.
pub(super) fn carry(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        #[serde(default)]
        entries: Vec<String>,
        me: Option<String>,
    }
    let asked: Asked = read(input)?;
    let mut drafts = Vec::new();
    let coach = desk.card()?.server.as_ref().is_some_and(|server| server.role == Role::Coach);
    if let Some(Carry { person, .. }) = desk.card()?.carry.clone().filter(|_| !coach) {
        let mut entries: Vec<Entry> =
            asked.entries.iter().map(|text| replies::parse(text)).collect::<Result<_, _>>()?;
        entries.sort_by_key(Entry::full_stamp);
        let new = desk.card()?.person;
        let pair = (person != new).then_some((person, new));
        // With another person's id the old person's own record is that of someone the team knows already.
        let kept = entries.iter().filter(|e| pair.is_none() || e.id != person);
        drafts = kept.map(|e| Draft::again(e, pair)).collect::<Result<Vec<_>, _>>()?;
    }
    let carried = drafts.len();
    let person = desk.card()?.person;
    let known = desk.store()?.thing("person", person)?.is_some() || drafts.iter().any(|d| d.id == person);
    if let Some(me) = asked.me.filter(|_| !known) {
        let record = Person { name: Some(free_name(desk, &own_name(&me)?)?), ..Person::default() };
        drafts.push(kind::draft(person, &record)?);
    }
    if !drafts.is_empty() {
        desk.write(ask, drafts)?;
    }
    if let Some(card) = desk.card.as_mut().filter(|_| !coach) {
        card.carry = None;
    }
    desk.altered = true;
    Ok(json!({"carried": carried}))
}

/// Returns the request with which the team moves onto the server; `key` is the server's founding key.
pub(super) fn found(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        key: String,
    }
    let asked: Asked = read(input)?;
    let card = desk.card()?;
    if card.server.is_some() {
        let message = format!("the team {} is on this server already", card.team_name);
        return Err(ModelError::new("joined_already", message));
    }
    let request = FoundRequest {
        team: card.team,
        name: card.team_name.clone(),
        device: card.device,
        device_name: card.device_name.clone(),
        person: card.person,
        key: asked.key.trim().to_owned(),
    };
    Ok(json!({"body": replies::text(&request)?}))
}

/// Takes the answer of the server on which the team is now.
pub(super) fn founded(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Told {
        reply: String,
    }
    let told: Told = read(input)?;
    let admitted: Admitted = replies::parse(&told.reply)?;
    let card = desk.card.as_mut().ok_or_else(super::not_open)?;
    card.server = Some(Server { token: admitted.token, role: admitted.role });
    desk.have = Have::new();
    desk.altered = true;
    Ok(json!({"role": admitted.role}))
}

/// Returns the name of the person who writes here, as it is kept.
pub(super) fn own_name(typed: &str) -> Result<String, ModelError> {
    let name = name::read("a person", typed).map_err(|e| e.at("person"))?;
    name::check_unambiguous("person", &name).map_err(|e| e.at("person"))?;
    Ok(name)
}

/// Returns a name, with the first number behind it under which nobody is known where it is taken.
fn free_name(desk: &Desk, name: &str) -> Result<String, ModelError> {
    let mut taken = Vec::new();
    desk.store()?.visit("person", None, &mut |thing| {
        let known = thing.read::<Person>().ok().and_then(|p| p.name);
        taken.extend(known.map(|name| name::key(&name)));
    })?;
    let numbered = (2..).map(|n: u32| format!("{name} {n}"));
    let free =
        std::iter::once(name.to_owned()).chain(numbered).find(|name| !taken.contains(&name::key(name)));
    Ok(free.unwrap_or_else(|| name.to_owned()))
}
