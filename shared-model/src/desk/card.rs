//! Whose replica this is, and how it reaches its team's server.

use crate::{
    id::{DeviceId, TeamId, ThingId},
    wire::Role,
};
use serde::{Deserialize, Serialize};

/// The version of the card.
pub const VERSION: u32 = 1;

/// The card of a replica.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Card {
    /// Version of the card: 1.
    pub version: u32,
    /// The team.
    pub team: TeamId,
    /// What it is called.
    pub team_name: String,
    /// The log that is written here.
    pub device: DeviceId,
    /// What the device is called.
    pub device_name: String,
    /// The person who writes.
    pub person: ThingId,
    /// The server, once the team is on one.
    #[serde(default)]
    pub server: Option<Server>,
    /// What was recorded before this team was joined and is still to be written into its records.
    #[serde(default)]
    pub carry: Option<Carry>,
}

/// What the device shows its server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Server {
    /// The device's secret.
    pub token: String,
    /// What the person may do.
    pub role: Role,
}

/// A team whose records come along into another.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Carry {
    /// The team whose records they are.
    pub team: TeamId,
    /// The person who wrote them.
    pub person: ThingId,
}
