//! What can be typed about the team, its people and its server.

use clap::{Args as Group, ValueEnum};
use std::path::PathBuf;

/// `sheaf start`
#[derive(Debug, Group)]
pub struct Start {
    /// What the team is called
    pub team: String,
    /// Your name
    #[arg(long, value_name = "NAME")]
    pub me: String,
    /// What this device is called; the machine's name when left out
    #[arg(long, value_name = "NAME")]
    pub device: Option<String>,
}

/// `sheaf connect`
#[derive(Debug, Group)]
pub struct Connect {
    /// Address of the server
    pub url: String,
    /// The server's own certificate, or that of who issued it, where no authority that the system knows did; kept
    #[arg(long, value_name = "FILE")]
    pub ca: Option<PathBuf>,
    /// The server's founding key, for a team that is on no server yet
    #[arg(long)]
    pub key: Option<String>,
}

/// `sheaf join`
#[derive(Debug, Group)]
pub struct Join {
    /// Address of the server
    pub url: String,
    /// The code of the invite
    pub code: String,
    /// The server's own certificate, or that of who issued it, where no authority that the system knows did; kept
    #[arg(long, value_name = "FILE")]
    pub ca: Option<PathBuf>,
    /// Your name; not needed when the invite is for a person the team knows
    #[arg(long, value_name = "NAME")]
    pub me: Option<String>,
    /// What this device is called; the machine's name when left out
    #[arg(long, value_name = "NAME")]
    pub device: Option<String>,
}

/// A role, as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum RoleArg {
    /// Reads everything, writes notes and plans
    Coach,
    /// Reads and writes every record
    Archer,
    /// Also manages people, invites and devices
    Keeper,
}

impl RoleArg {
    /// Returns the role.
    pub fn role(self) -> sheaf_model::wire::Role {
        match self {
            Self::Coach => sheaf_model::wire::Role::Coach,
            Self::Archer => sheaf_model::wire::Role::Archer,
            Self::Keeper => sheaf_model::wire::Role::Keeper,
        }
    }
}

/// `sheaf invite`
#[derive(Debug, Group)]
pub struct Invite {
    /// The role of whoever comes in: archer when left out; a person the team knows keeps the role it has
    #[arg(long)]
    pub role: Option<RoleArg>,
    /// A person the team knows already, who gets another device
    #[arg(long = "for", value_name = "PERSON")]
    pub person: Option<String>,
    /// How many hours the invite can be used
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u64).range(1..=168))]
    pub hours: u64,
    /// Print no QR code of the link; there is one on a terminal only
    #[arg(long)]
    pub no_qr: bool,
}

/// `sheaf shut`
#[derive(Debug, Group)]
pub struct Shut {
    /// The device, by name or id
    pub device: String,
}

/// `sheaf role`
#[derive(Debug, Group)]
pub struct GiveRole {
    /// The person
    pub person: String,
    /// The role from now on
    pub role: RoleArg,
}

/// `sheaf sync`
#[derive(Debug, Group)]
pub struct Sync {
    /// Say nothing but what needs attention
    #[arg(long, short)]
    pub quiet: bool,
    /// Also say how much went over the network, and the digest of the records
    #[arg(long, short, conflicts_with = "quiet")]
    pub verbose: bool,
}

/// `sheaf shift-times`
#[derive(Debug, Group)]
pub struct ShiftTimes {
    /// Only say what would be shifted
    #[arg(long)]
    pub dry_run: bool,
}

/// `sheaf demo`
#[derive(Debug, Group)]
pub struct Demo {
    /// Leave the service running and say how to reach and stop it
    #[arg(long)]
    pub keep: bool,
    /// Where the simulation starts
    #[arg(long, default_value_t = 7)]
    pub seed: u64,
}
