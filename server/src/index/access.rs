//! Who may come in: teams, devices, tokens, roles and invites, and what each act does to them.

use super::{Index, apply::Changes, codec::id_at, keys};
use crate::{act::Act, error::ServerError};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    wire::Role,
};

/// A team.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TeamRow {
    /// Its name.
    pub name: String,
    /// The device that founded it here.
    pub founder: DeviceId,
}

/// A device that was let in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct DeviceRow {
    /// What it is called.
    pub name: String,
    /// The person it acts for.
    pub person: ThingId,
    /// The fingerprint of its token.
    pub token: Hash,
    /// When it came in.
    pub since_ms: u64,
    /// When it was shut out, if it was.
    pub shut_ms: Option<u64>,
    /// The id from which it went on, if its log forked.
    pub from: Option<DeviceId>,
}

/// An invite.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InviteRow {
    /// The team.
    pub team: TeamId,
    /// The role that comes with it.
    pub role: Role,
    /// The person whose device it is for, when that is settled.
    pub person: Option<ThingId>,
    /// The device that made it.
    pub by: DeviceId,
    /// When it stops working.
    pub expires_ms: u64,
    /// Whether it was used.
    pub used: bool,
}

impl Index {
    /// Returns a team.
    pub fn team(&self, team: TeamId) -> Result<Option<TeamRow>, ServerError> {
        self.row(&keys::team(team))
    }

    /// Returns a device of a team.
    pub fn device(&self, team: TeamId, device: DeviceId) -> Result<Option<DeviceRow>, ServerError> {
        self.row(&keys::device(team, device))
    }

    /// Returns the devices of a team, in order of their ids.
    pub fn devices(&self, team: TeamId) -> Result<Vec<(DeviceId, DeviceRow)>, ServerError> {
        let mut found = Vec::new();
        for row in self.db.scan_prefix(keys::devices(team)) {
            let (key, value) = row?;
            found.push((DeviceId::from_bytes(id_at(&key, 17)?), read(&value)?));
        }
        Ok(found)
    }

    /// Returns whose token has a fingerprint.
    pub fn token(&self, hash: &Hash) -> Result<Option<(TeamId, DeviceId)>, ServerError> {
        let Some(value) = self.db.get(keys::token(hash))? else { return Ok(None) };
        Ok(Some((TeamId::from_bytes(id_at(&value, 0)?), DeviceId::from_bytes(id_at(&value, 16)?))))
    }

    /// Returns how many teams there are, and how many devices are in and not shut out.
    pub fn count(&self) -> Result<(usize, usize), ServerError> {
        let mut devices = 0;
        for row in self.db.scan_prefix(keys::all_devices()) {
            devices += usize::from(read::<DeviceRow>(&row?.1)?.shut_ms.is_none());
        }
        let mut teams = 0;
        for row in self.db.scan_prefix(keys::teams()) {
            row?;
            teams += 1;
        }
        Ok((teams, devices))
    }

    /// Returns the role of a person.
    pub fn role(&self, team: TeamId, person: ThingId) -> Result<Option<Role>, ServerError> {
        self.row(&keys::person(team, person))
    }

    /// Returns the people of a team who have a role.
    pub fn people(&self, team: TeamId) -> Result<Vec<(ThingId, Role)>, ServerError> {
        let mut found = Vec::new();
        for row in self.db.scan_prefix(keys::people(team)) {
            let (key, value) = row?;
            found.push((ThingId::from_bytes(id_at(&key, 17)?), read(&value)?));
        }
        Ok(found)
    }

    /// Returns an invite.
    pub fn invite(&self, hash: &Hash) -> Result<Option<InviteRow>, ServerError> {
        self.row(&keys::invite(hash))
    }

    fn row<T: DeserializeOwned>(&self, key: &[u8]) -> Result<Option<T>, ServerError> {
        self.db.get(key)?.map(|value| read(&value)).transpose()
    }
}

fn read<T: DeserializeOwned>(value: &[u8]) -> Result<T, ServerError> {
    serde_json::from_slice(value).map_err(|e| ServerError::Index(format!("a row of access: {e}")))
}

impl Changes<'_> {
    /// Does what an act says.
    pub fn act(&mut self, act: &Act) -> Result<(), ServerError> {
        match act {
            Act::Founded { team, name, device, device_name, person, token, at_ms } => {
                if let Some(row) = self.get_row::<DeviceRow>(&keys::device(*team, *device))? {
                    // Founded again after an answer that got lost: name, role and the rest stay as they are.
                    return self.new_token(*team, *device, row, *token);
                }
                self.put_row(keys::team(*team), &TeamRow { name: name.clone(), founder: *device })?;
                self.put_row(keys::person(*team, *person), &Role::Keeper)?;
                self.let_in(*team, *device, device_name, (*person, None), *token, *at_ms)
            }
            Act::Invited { team, invite, role, person, expires_ms, by, .. } => {
                let row = InviteRow {
                    team: *team,
                    role: *role,
                    person: *person,
                    by: *by,
                    expires_ms: *expires_ms,
                    used: false,
                };
                self.put_row(keys::invite(invite), &row)
            }
            Act::Joined { team, invite, device, device_name, person, role, token, at_ms } => {
                if let Some(row) = self.get_row::<InviteRow>(&keys::invite(invite))? {
                    self.put_row(keys::invite(invite), &InviteRow { used: true, ..row })?;
                }
                self.put_row(keys::person(*team, *person), role)?;
                self.let_in(*team, *device, device_name, (*person, None), *token, *at_ms)
            }
            Act::Renewed { team, old, device, device_name, token, at_ms } => {
                let Some(row) = self.get_row::<DeviceRow>(&keys::device(*team, *old))? else {
                    return Err(ServerError::Index(format!("device {old}, which was renewed, is not there")));
                };
                self.let_in(*team, *device, device_name, (row.person, Some(*old)), *token, *at_ms)
            }
            Act::Shut { team, device, at_ms, .. } => {
                let key = keys::device(*team, *device);
                match self.get_row::<DeviceRow>(&key)? {
                    Some(row) => self.put_row(key, &DeviceRow { shut_ms: Some(*at_ms), ..row }),
                    None => Ok(()),
                }
            }
            Act::RoleGiven { team, person, role, .. } => self.put_row(keys::person(*team, *person), role),
        }
    }

    fn let_in(
        &mut self,
        team: TeamId,
        device: DeviceId,
        name: &str,
        (person, from): (ThingId, Option<DeviceId>),
        token: Hash,
        since_ms: u64,
    ) -> Result<(), ServerError> {
        let before = self.get_row::<DeviceRow>(&keys::device(team, device))?;
        // A device that comes in again is in the same hands as before: it stays tied to the ids that it had.
        let from = from.or(before.as_ref().and_then(|before| before.from));
        let was = before.map_or(token, |before| before.token);
        let row = DeviceRow { name: name.to_owned(), person, token: was, since_ms, shut_ms: None, from };
        self.new_token(team, device, row, token)
    }

    /// Writes a device's row with a new token; the one it had is void.
    fn new_token(
        &mut self,
        team: TeamId,
        device: DeviceId,
        row: DeviceRow,
        token: Hash,
    ) -> Result<(), ServerError> {
        self.remove(keys::token(&row.token));
        self.put(keys::token(&token), [*team.as_bytes(), *device.as_bytes()].concat());
        self.put_row(keys::device(team, device), &DeviceRow { token, ..row })
    }

    fn get_row<T: DeserializeOwned>(&self, key: &[u8]) -> Result<Option<T>, ServerError> {
        self.get(key)?.map(|value| read(&value)).transpose()
    }

    fn put_row<T: Serialize>(&mut self, key: Vec<u8>, row: &T) -> Result<(), ServerError> {
        let value =
            serde_json::to_vec(row).map_err(|e| ServerError::Index(format!("a row of access: {e}")))?;
        self.put(key, value);
        Ok(())
    }
}
