//! Founding, inviting, joining, renewing, shutting out, roles.

use super::{Service, Session};
use crate::{
    act::Act,
    error::ServerError,
    index::{DeviceRow, Index, InviteRow},
    secret::{Code, new_token, same, token_hash},
};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    wire::{Admitted, DeviceInfo, FoundRequest, InviteReply, InviteRequest, JoinRequest, RenewRequest, Role},
};
use std::{
    collections::BTreeSet,
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
};

/// The longest that an invite can be used, and what it is when nobody says, seconds.
const VALID_S: (u64, u64) = (604_800, 86_400);
/// The most bytes of a name.
const NAME: usize = 200;

impl Service {
    /// Moves a team onto this service; its founder is a keeper. Asked again by the founder's device with the
    /// same key it gives that device a new token and changes nothing else, so that an answer that got lost does
    /// no harm.
    pub fn found(&self, ask: FoundRequest, from: IpAddr) -> Result<Admitted, ServerError> {
        let now_ms = self.clock.now_ms();
        self.guesses.check(from, now_ms)?;
        if Code::read(&ask.key).is_none_or(|key| !same(&key.hash(), &self.key)) {
            self.guesses.wrong(from, now_ms);
            return Err(wrong_key());
        }
        let (name, device_name) = (name("name", &ask.name)?, name("device_name", &ask.device_name)?);
        let FoundRequest { team, device, person, .. } = ask;
        let (token, hash) = fresh()?;
        self.store.act(move |index| {
            if let Some(known) = index.team(team)? {
                let row = index.device(team, device)?.filter(|_| known.founder == device);
                if row.is_none_or(|row| row.person != person || row.shut_ms.is_some()) {
                    return Err(team_known(team));
                }
            }
            Ok(Act::Founded { team, name, device, device_name, person, token: hash, at_ms: now_ms })
        })?;
        let index = self.store.index();
        let name = index.team(team)?.map(|row| row.name).unwrap_or_default();
        let role = index.role(team, person)?.ok_or_else(|| team_known(team))?;
        Ok(Admitted { team, name, device, person, role, token })
    }

    /// Makes an invite.
    pub fn invite(&self, who: Session, ask: &InviteRequest) -> Result<InviteReply, ServerError> {
        keeper(who)?;
        let (longest, usual) = VALID_S;
        let valid_s = ask.valid_s.unwrap_or(usual);
        if valid_s == 0 || valid_s > longest {
            return Err(bad(
                "valid_s",
                format!("An invite is valid for 1 to {longest} seconds, and not for {valid_s}."),
            ));
        }
        let code = Code::random()?;
        let now_ms = self.clock.now_ms();
        let expires_ms = now_ms.saturating_add(valid_s * 1000);
        let (asked, person, invite) = (ask.role, ask.person, code.hash());
        let Session { team, device: by, .. } = who;
        let given = Arc::new(Mutex::new(asked.unwrap_or(Role::Archer)));
        let said = Arc::clone(&given);
        self.store.act(move |index| {
            keeper_still(index, who)?;
            let role = invited_role(index, team, person, asked)?;
            *said.lock().unwrap_or_else(PoisonError::into_inner) = role;
            Ok(Act::Invited { team, invite, role, person, expires_ms, by, at_ms: now_ms })
        })?;
        let role = *given.lock().unwrap_or_else(PoisonError::into_inner);
        Ok(InviteReply { code: code.show(), expires_ms, role })
    }

    /// Lets a device in that has an invite, which is used up.
    pub fn join(&self, ask: JoinRequest, from: IpAddr) -> Result<Admitted, ServerError> {
        let now_ms = self.clock.now_ms();
        self.guesses.check(from, now_ms)?;
        let Some(code) = Code::read(&ask.code) else {
            self.guesses.wrong(from, now_ms);
            return Err(bad("code", "This is no invite code: it has seven groups of four letters and digits, and one of them is mistyped.".to_owned()));
        };
        let device_name = name("device_name", &ask.device_name)?;
        let (token, hash) = fresh()?;
        let said = Arc::new(Mutex::new(None));
        let hear = said.clone();
        let done = self.store.act(move |index| {
            let (invite, role, person) = decide_join(index, &code, &ask, now_ms)?;
            let team = invite.team;
            let name = index.team(team)?.map(|t| t.name).unwrap_or_default();
            *hear.lock().unwrap_or_else(PoisonError::into_inner) =
                Some(Admitted { team, name, device: ask.device, person, role, token });
            Ok(Act::Joined {
                team,
                invite: code.hash(),
                device: ask.device,
                device_name,
                person,
                role,
                token: hash,
                at_ms: now_ms,
            })
        });
        if let Err(ServerError::Refused(refusal)) = &done
            && refusal.code == "bad_invite"
        {
            self.guesses.wrong(from, now_ms);
        }
        done?;
        let admitted = said.lock().unwrap_or_else(PoisonError::into_inner).take();
        admitted.ok_or_else(|| ServerError::Task("a device came in and nobody knows how".into()))
    }

    /// Lets a device whose log forked go on under a new id; the old id keeps its token.
    pub fn renew(&self, who: Session, ask: RenewRequest) -> Result<Admitted, ServerError> {
        let device_name = name("device_name", &ask.device_name)?;
        let (token, hash) = fresh()?;
        let (Session { team, device: old, person, role }, device) = (who, ask.device);
        let at_ms = self.clock.now_ms();
        self.store.act(move |index| {
            if index.device(team, old)?.is_none_or(|row| row.shut_ms.is_some()) {
                return Err(super::shut());
            }
            if index.device(team, device)?.is_some() || index.vector(team)?.seq(device) > 0 {
                return Err(device_known(device));
            }
            Ok(Act::Renewed { team, old, device, device_name, token: hash, at_ms })
        })?;
        let name = self.store.index().team(team)?.map(|t| t.name).unwrap_or_default();
        Ok(Admitted { team, name, device, person, role, token })
    }

    /// Returns the devices of the team.
    pub fn devices(&self, who: Session) -> Result<Vec<DeviceInfo>, ServerError> {
        keeper(who)?;
        let index = self.store.index();
        let mut found = Vec::new();
        for (device, row) in index.devices(who.team)? {
            let role = index.role(who.team, row.person)?.unwrap_or(Role::Coach);
            let DeviceRow { name, person, since_ms, shut_ms, from, .. } = row;
            found.push(DeviceInfo { device, name, person, role, since_ms, shut_ms, from });
        }
        Ok(found)
    }

    /// Shuts a device out at once, with every id that it went on from or under: whoever holds it may hold those.
    pub fn shut(&self, who: Session, device: &str) -> Result<(), ServerError> {
        keeper(who)?;
        let team = who.team;
        let unknown = unknown("unknown_device", "device", device);
        let Ok(device) = device.parse::<DeviceId>() else { return Err(unknown) };
        let at_ms = self.clock.now_ms();
        self.store.acts(move |index| {
            keeper_still(index, who)?;
            if index.device(team, device)?.is_none() {
                return Err(unknown);
            }
            let out = same_hands(&index.devices(team)?, device);
            if device != who.device && out.contains(&who.device) {
                return Err(own_id(device));
            }
            let others = keepers(index, team)?.into_iter().any(|(other, _)| !out.contains(&other));
            if !out.is_empty() && !others {
                return Err(last_keeper("this is the last device of a keeper"));
            }
            Ok(out.into_iter().map(|device| Act::Shut { team, device, by: who.device, at_ms }).collect())
        })
    }

    /// Gives a person a role.
    pub fn give_role(&self, who: Session, person: &str, role: Role) -> Result<(), ServerError> {
        keeper(who)?;
        let team = who.team;
        let unknown = unknown("unknown_person", "person", person);
        let Ok(person) = person.parse::<ThingId>() else { return Err(unknown) };
        let at_ms = self.clock.now_ms();
        self.store.act(move |index| {
            keeper_still(index, who)?;
            if index.role(team, person)?.is_none() && index.thing(team, "person", person)?.is_none() {
                return Err(unknown);
            }
            let others = keepers(index, team)?.into_iter().any(|(_, keeper)| keeper != person);
            if role != Role::Keeper && !others {
                return Err(last_keeper("this person is the last keeper with a device"));
            }
            Ok(Act::RoleGiven { team, person, role, by: who.device, at_ms })
        })
    }
}

/// Returns the role with which an invite lets in: that of the person where the team knows one.
fn invited_role(
    index: &Index,
    team: TeamId,
    person: Option<ThingId>,
    asked: Option<Role>,
) -> Result<Role, ServerError> {
    let known = person.map(|person| index.role(team, person)).transpose()?.flatten();
    match (known, asked) {
        (Some(known), Some(asked)) if known != asked => {
            let detail = format!(
                "That person is in the team with the role of {} already, and every device of the person has it; leave \
                 the role out, or give the person another role first.",
                known.word()
            );
            Err(ServerError::refuse(409, "role_known", "The person has another role", detail).at("role"))
        }
        (known, asked) => Ok(known.or(asked).unwrap_or(Role::Archer)),
    }
}

/// Decides who comes in with an invite, in which role.
fn decide_join(
    index: &Index,
    code: &Code,
    ask: &JoinRequest,
    now_ms: u64,
) -> Result<(InviteRow, Role, ThingId), ServerError> {
    let Some(invite) = index.invite(&code.hash())? else {
        return Err(bad_invite("Nobody made this invite here"));
    };
    if invite.used {
        return Err(bad_invite("This invite was used already, and each works once"));
    }
    if now_ms >= invite.expires_ms {
        return Err(bad_invite("This invite has expired"));
    }
    // Whoever was shut out or is no keeper any more may have handed out invites that are still open.
    let maker = index.device(invite.team, invite.by)?.filter(|row| row.shut_ms.is_none());
    let keeps = maker.map(|row| index.role(invite.team, row.person)).transpose()?.flatten();
    if keeps != Some(Role::Keeper) {
        return Err(bad_invite("Who made this invite keeps the team no more"));
    }
    let person = invite.person.unwrap_or(ask.person);
    let role = index.role(invite.team, person)?;
    if invite.person.is_none() && role.is_some() {
        let detail = "That person is in the team already; ask a keeper for an invite that names the person.";
        return Err(ServerError::refuse(409, "person_known", "The person is in the team already", detail)
            .at("person"));
    }
    // A device that comes in again, after its first answer got lost, must belong to whom the invite names.
    let known = index.device(invite.team, ask.device)?;
    if known.is_some_and(|row| invite.person != Some(row.person)) {
        return Err(device_known(ask.device));
    }
    let role = role.unwrap_or(invite.role);
    Ok((invite, role, person))
}

/// Returns the devices through which the team can still be kept, with their people.
fn keepers(index: &Index, team: TeamId) -> Result<Vec<(DeviceId, ThingId)>, ServerError> {
    let roles = index.people(team)?;
    let keeps = |person| roles.iter().any(|(p, role)| *p == person && *role == Role::Keeper);
    let devices = index.devices(team)?.into_iter();
    let open = devices.filter(|(_, row)| row.shut_ms.is_none() && keeps(row.person));
    Ok(open.map(|(device, row)| (device, row.person)).collect())
}

/// Returns the ids still in of the device that has an id: its log may have forked, and it went on under others.
fn same_hands(devices: &[(DeviceId, DeviceRow)], device: DeviceId) -> BTreeSet<DeviceId> {
    let mut same = BTreeSet::from([device]);
    loop {
        let before = same.len();
        for (id, row) in devices {
            if let Some(from) = row.from.filter(|from| same.contains(from) || same.contains(id)) {
                same.extend([from, *id]);
            }
        }
        if same.len() == before {
            break;
        }
    }
    let open = |id: &DeviceId| devices.iter().any(|(other, row)| other == id && row.shut_ms.is_none());
    same.into_iter().filter(open).collect()
}

fn keeper(who: Session) -> Result<(), ServerError> {
    if who.role == Role::Keeper {
        return Ok(());
    }
    let detail = "People, invites and devices are managed by the keepers of the team; ask one of them.";
    Err(ServerError::refuse(403, "role", "This needs a keeper", detail))
}

/// Looks again at the moment of the act, since another keeper may have been faster.
fn keeper_still(index: &Index, who: Session) -> Result<(), ServerError> {
    if index.device(who.team, who.device)?.is_none_or(|row| row.shut_ms.is_some()) {
        return Err(super::shut());
    }
    match index.role(who.team, who.person)? {
        Some(role) => keeper(Session { role, ..who }),
        None => Err(super::shut()),
    }
}

fn fresh() -> Result<(String, Hash), ServerError> {
    let token = new_token()?;
    let hash = token_hash(&token);
    Ok((token, hash))
}

fn name(field: &str, text: &str) -> Result<String, ServerError> {
    let text = text.trim();
    if text.is_empty() || text.len() > NAME || text.chars().any(char::is_control) {
        return Err(bad(field, format!("A name is one line of 1 to {NAME} bytes.")));
    }
    Ok(text.to_owned())
}

fn bad(field: &str, detail: String) -> ServerError {
    ServerError::refuse(422, "bad_value", "A value cannot be used", detail).at(field)
}

fn bad_invite(what: &str) -> ServerError {
    let detail = format!("{what}; ask a keeper of the team for a new one.");
    ServerError::refuse(403, "bad_invite", "The invite does not work", detail).at("code")
}

fn wrong_key() -> ServerError {
    let detail = "The founding key is wrong. Who runs the service reads it with `sheafd key`.";
    ServerError::refuse(403, "wrong_key", "Wrong founding key", detail).at("key")
}

fn team_known(team: TeamId) -> ServerError {
    let detail = format!("Team {team} is on this service already; ask one of its keepers for an invite.");
    ServerError::refuse(409, "team_known", "The team is here already", detail).at("team")
}

fn device_known(device: DeviceId) -> ServerError {
    let detail = format!("Device {device} is known in this team already; take a new device id.");
    ServerError::refuse(409, "device_known", "The device is known already", detail).at("device")
}

fn own_id(device: DeviceId) -> ServerError {
    let detail = format!(
        "Device {device} is another id of the device that asks, and all ids of a device are shut out together; it does no \
         harm. Shut the device out under its own id, or from another one, if that is what is meant."
    );
    ServerError::refuse(409, "own_device", "That would shut out who asks", detail).at("device")
}

fn last_keeper(what: &str) -> ServerError {
    let detail =
        format!("The team would be left without anyone to manage it: {what}. Make another keeper first.");
    ServerError::refuse(409, "last_keeper", "The last keeper stays", detail)
}

fn unknown(code: &'static str, what: &str, text: &str) -> ServerError {
    let shown: String = text.chars().take(40).collect();
    ServerError::refuse(404, code, "Not found", format!("The team has no {what} `{shown}`."))
}
