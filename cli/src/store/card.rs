//! `replica.json`: whose replica this is. It names the journal folder, so that replacing this one file
//! moves a replica to another journal in one step.

use super::files;
use crate::CliError;
use serde::{Deserialize, Serialize};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    replica::Writer,
    wire::Role,
};
use std::{
    fs,
    path::{Component, Path, PathBuf},
};

/// The version of the file.
const VERSION: u32 = 1;

/// Whose replica this is, and how it reaches its team's server.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Card {
    /// Version of the file: 1.
    pub version: u32,
    /// The team.
    pub team: TeamId,
    /// What it is called.
    pub team_name: String,
    /// The log that this replica writes.
    pub device: DeviceId,
    /// What the device is called.
    pub device_name: String,
    /// The person who writes.
    pub person: ThingId,
    /// The folder of the journal, within the home.
    pub journal: String,
    /// The server, once the team is on one.
    #[serde(default)]
    pub server: Option<Server>,
    /// What was recorded before this team was joined and is still to be written into its records.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub carry: Option<Carry>,
}

/// A journal of another team whose records come along.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Carry {
    /// The folder of the journal, within the home.
    pub journal: String,
    /// The team whose records it holds.
    pub team: TeamId,
    /// The person who wrote them.
    pub person: ThingId,
}

/// The server of a team, and what this device shows it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Server {
    /// Its address, for example `https://sheaf.example`.
    pub url: String,
    /// The device's secret.
    pub token: String,
    /// What the person may do.
    pub role: Role,
    /// The certificate that the server is trusted by, in PEM, beside those that the system knows.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ca: Option<String>,
}

impl Card {
    /// Makes the card of a replica that is on no server yet.
    pub fn new(
        team: TeamId,
        team_name: String,
        device: DeviceId,
        device_name: String,
        person: ThingId,
        journal: String,
    ) -> Self {
        Self {
            version: VERSION,
            team,
            team_name,
            device,
            device_name,
            person,
            journal,
            server: None,
            carry: None,
        }
    }

    /// Returns whose log is written, and who writes.
    pub fn writer(&self) -> Writer {
        Writer { device: self.device, author: self.person }
    }

    /// Returns whether a home holds a replica.
    pub fn is_in(home: &Path) -> bool {
        home.join(NAME).exists()
    }

    /// Reads the card of a home.
    pub fn read(home: &Path) -> Result<Self, CliError> {
        let path = home.join(NAME);
        let text = fs::read(&path).map_err(|e| match e.kind() {
            std::io::ErrorKind::NotFound if !journals_in(home).is_empty() => card_lost(home),
            std::io::ErrorKind::NotFound => {
                CliError::input(format!("there is no team in {} yet", home.display())).hint(
                    "begin with `sheaf start TEAM --me NAME`, or come into one with `sheaf join URL CODE --me NAME`",
                )
            }
            _ => CliError::file("read", &path, &e),
        })?;
        let card: Self = serde_json::from_slice(&text).map_err(|e| {
            CliError::input(format!("{} cannot be read: {e}", path.display()))
                .hint("it was altered outside of Sheaf; the records beside it are untouched")
        })?;
        if card.version > VERSION {
            let message =
                format!("{} has version {}; this build reads {VERSION}", path.display(), card.version);
            return Err(CliError::input(message).hint("update sheaf"));
        }
        let carried = card.carry.iter().map(|carry| &carry.journal);
        if let Some(odd) = carried.chain([&card.journal]).find(|journal| !is_within(journal)) {
            let message = format!("{} names a journal outside of its folder: `{odd}`", path.display());
            return Err(CliError::input(message)
                .hint("it was altered outside of Sheaf; the records beside it are untouched"));
        }
        Ok(card)
    }

    /// Writes the card durably, in one step.
    pub fn write(&self, home: &Path) -> Result<(), CliError> {
        self.write_as(home, NAME)
    }

    /// Writes the card durably under another name, to be kept aside.
    pub fn write_as(&self, home: &Path, name: &str) -> Result<(), CliError> {
        let text = serde_json::to_vec_pretty(self)
            .map_err(|e| CliError::bug(format!("the replica's card cannot be written: {e}")))?;
        files::replace(&home.join(name), &text)
    }
}

/// Returns whether a name is that of a folder within the home: a card from elsewhere may name any folder of the disk.
fn is_within(journal: &str) -> bool {
    let mut parts = Path::new(journal).components();
    matches!((parts.next(), parts.next()), (Some(Component::Normal(_)), None))
}

/// Returns the names of the journal folders in a home that hold more than the first batch: what a start or a join
/// writes before there is a card, and which a power cut may leave alone there, is nobody's record yet.
pub fn journals_in(home: &Path) -> Vec<String> {
    let files = |folder: &Path| fs::read_dir(folder).into_iter().flatten().flatten().map(|e| e.path());
    let batches = |file: PathBuf| {
        let bytes = fs::read(file).unwrap_or_default();
        let lines = bytes.split(|b| *b == b'\n');
        lines.filter(|line| line.windows(BATCH.len()).any(|part| part == BATCH)).count()
    };
    let name =
        |path: &Path| path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let mut found: Vec<String> = files(home)
        .filter(|path| path.is_dir() && name(path).starts_with("journal-"))
        .filter(|path| files(path).map(batches).sum::<usize>() > 1)
        .map(|path| name(&path))
        .collect();
    found.sort();
    found
}

/// How a line begins that opens a batch, after its checksum.
const BATCH: &[u8] = b"{\"batch\":";

/// Says that a home is a team's already.
pub fn card_there(home: &Path, card: &Card) -> CliError {
    CliError::input(format!("{} holds the team {} already", home.display(), card.team_name))
        .hint("for another team name another folder with --home DIR")
}

/// Says that a home has its records and has lost the file that says whose they are.
pub fn card_lost(home: &Path) -> CliError {
    let message = format!(
        "{} holds records ({}), but {NAME}, which says whose they are, is not there",
        home.display(),
        journals_in(home).join(", ")
    );
    CliError::input(message).hint(format!(
        "put {NAME} back from a copy of the folder; to begin anew name another folder with --home DIR"
    ))
}

/// The name of the file.
pub const NAME: &str = "replica.json";
