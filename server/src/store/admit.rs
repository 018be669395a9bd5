//! What may be kept of the entries that are offered: chains must hold, and roles must allow it.

use super::{
    Shelf,
    committer::{Pushed, Reason},
};
use crate::error::ServerError;
use sheaf_model::{
    id::{DeviceId, TeamId},
    journal::Line,
    log::{Admission, Entry, Hash, Vector},
    wire::Role,
};
use std::collections::{BTreeMap, btree_map};

/// Admits the entries of several requests, each seeing what those before it brought.
pub struct Gate<'a> {
    shelf: &'a Shelf,
    vectors: BTreeMap<TeamId, Vector>,
    fresh: BTreeMap<(TeamId, DeviceId, u64), Hash>,
    lines: Vec<Line>,
}

impl<'a> Gate<'a> {
    /// Makes a gate before what is stored.
    pub fn new(shelf: &'a Shelf) -> Self {
        Self { shelf, vectors: BTreeMap::new(), fresh: BTreeMap::new(), lines: Vec::new() }
    }

    /// Decides on the entries of one request. When the sender's own log forked, none of them is kept.
    pub fn admit(
        &mut self,
        team: TeamId,
        by: Option<DeviceId>,
        mut entries: Vec<Entry>,
    ) -> Result<Pushed, ServerError> {
        let mut vector = self.vector(team)?.clone();
        let mut roles = Roles::new(self.shelf, team, by)?;
        let mut done = Pushed::default();
        let mut kept: Vec<(Hash, Entry)> = Vec::new();
        let mut fresh: BTreeMap<(DeviceId, u64), Hash> = BTreeMap::new();
        entries.sort_by_key(|e| (e.device, e.seq));
        for entry in entries {
            let (device, seq) = (entry.device, entry.seq);
            if seq > vector.seq(device)
                && let Some(reason) = roles.refuse(&entry)?
            {
                done.refused.push((device, seq, reason));
                continue;
            }
            match self.offer(team, &mut vector, &fresh, &entry)? {
                Admission::Next => {
                    let hash = vector.head(device).map_or(Hash::NONE, |h| h.hash);
                    fresh.insert((device, seq), hash);
                    kept.push((hash, entry));
                }
                Admission::Known => done.known += 1,
                Admission::Fork if by == Some(device) => return Err(forked(device, seq)),
                why => done.refused.push((device, seq, reason_of(&why, device, seq))),
            }
        }
        done.kept = kept.len();
        for (hash, entry) in kept {
            self.fresh.insert((team, entry.device, entry.seq), hash);
            self.lines.push(Line::Entry(team, Box::new(entry)));
        }
        self.vectors.insert(team, vector);
        Ok(done)
    }

    /// Returns the lines to keep, and the heads of the logs once they are kept.
    pub fn finish(self) -> (Vec<Line>, BTreeMap<TeamId, Vector>) {
        (self.lines, self.vectors)
    }

    fn vector(&mut self, team: TeamId) -> Result<&Vector, ServerError> {
        match self.vectors.entry(team) {
            btree_map::Entry::Occupied(found) => Ok(found.into_mut()),
            btree_map::Entry::Vacant(slot) => Ok(slot.insert((*self.shelf.vector(team)?).clone())),
        }
    }

    fn offer(
        &self,
        team: TeamId,
        vector: &mut Vector,
        fresh: &BTreeMap<(DeviceId, u64), Hash>,
        entry: &Entry,
    ) -> Result<Admission, ServerError> {
        let mut failed = None;
        let found = vector.admit(entry, || {
            let recent = fresh.get(&(entry.device, entry.seq));
            let recent = recent.or_else(|| self.fresh.get(&(team, entry.device, entry.seq)));
            recent.copied().or_else(|| {
                let stored = self.shelf.index.header_hash(team, entry.device, entry.seq);
                stored.unwrap_or_else(|e| {
                    failed = Some(e);
                    None
                })
            })
        });
        failed.map_or(Ok(found), Err)
    }
}

/// Says that a log forked.
pub fn forked(device: DeviceId, seq: u64) -> ServerError {
    ServerError::refuse(
        409,
        "fork",
        "The log forked",
        format!(
            "The service already holds another entry {seq} of device {device}: this replica is a copy of another, or \
             was restored from an old one. Nothing of either is lost: take a new device id (POST \
             /v1/teams/{{team}}/devices) and write the entries that were not sent under it."
        ),
    )
}

/// Puts into words why an entry is not kept.
pub fn reason_of(why: &Admission, device: DeviceId, seq: u64) -> Reason {
    match why {
        Admission::Early => Reason {
            code: "early",
            message: format!(
                "entries of device {device} before number {seq} are missing here; send those first"
            ),
        },
        Admission::Fork => Reason {
            code: "fork",
            message: format!(
                "another entry {seq} of device {device} is kept here: that log forked, and its owner has to sync to go on under a new id"
            ),
        },
        Admission::Bad(e) => Reason { code: e.code, message: e.message.clone() },
        Admission::Next | Admission::Known => Reason { code: "known", message: "it is kept".into() },
    }
}

/// Who may write what.
struct Roles<'a> {
    shelf: &'a Shelf,
    team: TeamId,
    sender: Option<Role>,
    of: BTreeMap<DeviceId, Option<Role>>,
}

impl<'a> Roles<'a> {
    fn new(shelf: &'a Shelf, team: TeamId, by: Option<DeviceId>) -> Result<Self, ServerError> {
        let mut roles = Self { shelf, team, sender: None, of: BTreeMap::new() };
        if let Some(device) = by {
            let row = shelf.index.device(team, device)?;
            if row.as_ref().is_none_or(|row| row.shut_ms.is_some()) {
                return Err(crate::service::shut());
            }
            roles.sender = roles.role(device)?;
        }
        Ok(roles)
    }

    fn role(&mut self, device: DeviceId) -> Result<Option<Role>, ServerError> {
        if let Some(role) = self.of.get(&device) {
            return Ok(*role);
        }
        let role = match self.shelf.index.device(self.team, device)? {
            Some(row) => self.shelf.index.role(self.team, row.person)?,
            None => None,
        };
        self.of.insert(device, role);
        Ok(role)
    }

    /// Asks for the person of the device that wrote the entry, whoever the entry names as its author.
    fn may_write(&self, role: Role, entry: &Entry) -> Result<bool, ServerError> {
        let row = self.shelf.index.device(self.team, entry.device)?;
        Ok(row.is_some_and(|row| role.may_write(&entry.kind, entry.id, row.person)))
    }

    fn refuse(&mut self, entry: &Entry) -> Result<Option<Reason>, ServerError> {
        let role = self.role(entry.device)?;
        let message = match (role, self.sender) {
            (Some(Role::Coach), _) if !self.may_write(Role::Coach, entry)? => format!(
                "device {} belongs to a coach, who writes notes, plans and the coach's own name; a record of kind `{}` needs an archer or a keeper",
                entry.device, entry.kind
            ),
            (None, Some(Role::Coach)) => format!(
                "device {} never came in here, and its entries are taken from archers and keepers only",
                entry.device
            ),
            _ => return Ok(None),
        };
        Ok(Some(Reason { code: "role", message }))
    }
}
