//! Acts of access: who may come in, as lines of the journal, so that the index can be thrown away.

use crate::error::ServerError;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use sheaf_model::{
    ModelError,
    id::{DeviceId, TeamId, ThingId},
    journal::Line,
    log::Hash,
    wire::Role,
};

/// An act of access. It says what is so from now on, so doing it twice changes nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "act", rename_all = "snake_case", deny_unknown_fields)]
pub enum Act {
    /// A team moved onto this service; its founder is a keeper.
    Founded {
        /// The team.
        team: TeamId,
        /// Its name.
        name: String,
        /// The founder's device.
        device: DeviceId,
        /// What it is called.
        device_name: String,
        /// The founder.
        person: ThingId,
        /// The fingerprint of the device's token.
        token: Hash,
        /// When, milliseconds since 1970.
        at_ms: u64,
    },
    /// A keeper invited someone.
    Invited {
        /// The team.
        team: TeamId,
        /// The fingerprint of the code.
        invite: Hash,
        /// The role that comes with it.
        role: Role,
        /// The person whose device it is for, when that is settled.
        person: Option<ThingId>,
        /// When it stops working.
        expires_ms: u64,
        /// By whose device.
        by: DeviceId,
        /// When.
        at_ms: u64,
    },
    /// A device came in with an invite, which is used up.
    Joined {
        /// The team.
        team: TeamId,
        /// The fingerprint of the code.
        invite: Hash,
        /// The device.
        device: DeviceId,
        /// What it is called.
        device_name: String,
        /// The person it acts for.
        person: ThingId,
        /// The role of that person from now on.
        role: Role,
        /// The fingerprint of the device's token.
        token: Hash,
        /// When.
        at_ms: u64,
    },
    /// A device whose log forked goes on under a new id.
    Renewed {
        /// The team.
        team: TeamId,
        /// The id it had.
        old: DeviceId,
        /// The id it has from now on.
        device: DeviceId,
        /// What it is called.
        device_name: String,
        /// The fingerprint of the new id's token.
        token: Hash,
        /// When.
        at_ms: u64,
    },
    /// A device was shut out.
    Shut {
        /// The team.
        team: TeamId,
        /// The device.
        device: DeviceId,
        /// By whose device.
        by: DeviceId,
        /// When.
        at_ms: u64,
    },
    /// A person was given a role.
    RoleGiven {
        /// The team.
        team: TeamId,
        /// The person.
        person: ThingId,
        /// The role.
        role: Role,
        /// By whose device.
        by: DeviceId,
        /// When.
        at_ms: u64,
    },
}

impl Act {
    /// Writes the act as a line of the journal.
    pub fn line(&self) -> Result<Line, ServerError> {
        let raw = serde_json::value::to_raw_value(self)
            .map_err(|e| ModelError::new("bad_act", format!("an act cannot be written: {e}")))?;
        Ok(Line::Act(raw))
    }

    /// Reads an act from a line of the journal.
    pub fn read(raw: &RawValue) -> Result<Self, ServerError> {
        let act = serde_json::from_str(raw.get()).map_err(|e| {
            let why = format!(
                "the journal holds an act that this build does not know ({e}); install a newer sheafd"
            );
            ModelError::new("newer_act", why)
        })?;
        Ok(act)
    }
}
