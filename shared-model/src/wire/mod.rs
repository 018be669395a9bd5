//! What travels over HTTP: requests and replies of version 1, JSON with a unit in every name.

mod reply;

pub use reply::{Newer, read_reply};

use crate::{
    id::{DeviceId, TeamId, ThingId},
    log::{Entry, Hash, Have},
};
use serde::{Deserialize, Serialize};

/// The most entries that a service takes in an exchange unless it says otherwise; pages are far smaller.
pub const MOST_ENTRIES: usize = 5 * crate::replica::PAGE_ENTRIES;

/// What a person may do in a team.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Role {
    /// Reads everything, writes notes and plans.
    Coach,
    /// Reads and writes every record.
    Archer,
    /// Also manages people, invites and devices.
    Keeper,
}

impl Role {
    /// Returns what people call it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Coach => "coach",
            Self::Archer => "archer",
            Self::Keeper => "keeper",
        }
    }

    /// Says whether someone in this role may write a record: coaches write notes, plans and who they are themselves.
    #[must_use]
    pub fn may_write(self, kind: &str, id: ThingId, person: ThingId) -> bool {
        self != Self::Coach || matches!(kind, "note" | "plan") || (kind == "person" && id == person)
    }
}

/// `POST /v1/teams/{team}/exchange`.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct ExchangeRequest {
    /// The device that asks.
    pub device: DeviceId,
    /// Its wall clock, milliseconds since 1970.
    pub clock_ms: u64,
    /// How far each log has come there.
    pub have: Have,
    /// Entries that the other side lacked when last heard of.
    #[serde(default)]
    pub entries: Vec<Entry>,
}

/// The answer to an exchange.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct ExchangeReply {
    /// The server's wall clock, milliseconds since 1970.
    pub clock_ms: u64,
    /// How far each log has come on the server, the entries of this request included.
    pub have: Have,
    /// Entries that the asker lacks.
    pub entries: Vec<Entry>,
    /// Whether there are more of them.
    pub more: bool,
    /// The digest of the server's state.
    pub digest: Hash,
    /// Entries that were not kept, with the reason.
    #[serde(default)]
    pub refused: Vec<RefusedEntry>,
    /// How many entries of this request were new and are kept; older services do not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub kept: Option<usize>,
    /// What the asker may do now; older services do not say.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub role: Option<Role>,
}

/// An entry that was not kept.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RefusedEntry {
    /// Whose log.
    pub device: DeviceId,
    /// Which entry of it.
    pub seq: u64,
    /// `early`, `fork`, `role`, or the code of what is malformed.
    pub code: String,
    /// The reason in words.
    pub message: String,
}

/// `POST /v1/teams`: a team moves onto a server.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct FoundRequest {
    /// The team's id, chosen by its founder's device.
    pub team: TeamId,
    /// The team's name.
    pub name: String,
    /// The founder's device and person.
    pub device: DeviceId,
    /// What to call the device.
    pub device_name: String,
    /// The founder, who becomes the first keeper.
    pub person: ThingId,
    /// The server's founding key.
    pub key: String,
}

/// `POST /v1/teams/{team}/invites`, by a keeper.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct InviteRequest {
    /// The role that the invited person gets: an archer's when left out. Who is in the team already keeps the role that
    /// the person has, so that none other may be asked for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub role: Option<Role>,
    /// The person, when one who is known already gets another device.
    #[serde(default)]
    pub person: Option<ThingId>,
    /// How long the invite can be used, seconds; 1 to 604,800, a day when left out.
    #[serde(default)]
    pub valid_s: Option<u64>,
}

/// The answer to an invite request.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct InviteReply {
    /// The code to pass on; it works once.
    pub code: String,
    /// When it stops working, milliseconds since 1970.
    pub expires_ms: u64,
    /// The role with which it lets in.
    pub role: Role,
}

/// `POST /v1/join`: a device comes in with an invite.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct JoinRequest {
    /// The code of the invite.
    pub code: String,
    /// The new device.
    pub device: DeviceId,
    /// What to call the device.
    pub device_name: String,
    /// The person to become, when the invite names none.
    pub person: ThingId,
}

/// The answer to founding, joining or renewing: the device is in.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Admitted {
    /// The team.
    pub team: TeamId,
    /// Its name.
    pub name: String,
    /// The device that is in.
    pub device: DeviceId,
    /// The person it acts for.
    pub person: ThingId,
    /// The role of that person.
    pub role: Role,
    /// The secret that the device shows from now on; the server keeps only its hash.
    pub token: String,
}

/// `POST /v1/teams/{team}/devices`: a device whose log forked asks to go on under a new id.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct RenewRequest {
    /// The new device id.
    pub device: DeviceId,
    /// What to call it.
    pub device_name: String,
}

/// A device of the team, as a keeper sees it in `GET /v1/teams/{team}/devices`.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct DeviceInfo {
    /// The device.
    pub device: DeviceId,
    /// What it is called.
    pub name: String,
    /// The person it acts for.
    pub person: ThingId,
    /// The role of that person.
    pub role: Role,
    /// When it came in, milliseconds since 1970.
    pub since_ms: u64,
    /// When it was shut out, if it was.
    pub shut_ms: Option<u64>,
    /// The id from which it went on, if its log forked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from: Option<DeviceId>,
}

/// An RFC 9457 problem document.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// `about:blank` or a path that names the kind of problem, for example `/problems/fork`.
    #[serde(rename = "type")]
    pub kind: String,
    /// The kind of problem in a few words.
    pub title: String,
    /// The HTTP status.
    pub status: u16,
    /// What happened, to what, and what to do.
    pub detail: String,
    /// A stable word for programs.
    pub code: String,
    /// The field of the request that is wrong, where one is.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub field: Option<String>,
    /// Which occurrence: the number of the request, as `urn:uuid:…`, under which the log speaks of it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instance: Option<String>,
}
