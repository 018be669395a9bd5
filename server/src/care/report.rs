//! What a check found, for people and for programs.

use serde::Serialize;
use sheaf_model::{id::TeamId, log::Hash};
use std::fmt;

/// The most troubles that are told one by one.
const MOST: usize = 100;

/// What a check of a data folder found.
#[derive(Debug, Default, Serialize)]
pub struct Report {
    /// Whether nothing is wrong.
    pub sound: bool,
    /// Segments of the journal.
    pub segments: usize,
    /// Entries in it.
    pub entries: u64,
    /// Acts of access in it.
    pub acts: u64,
    /// How the index stands to the journal: `agrees`, `behind`, `missing`, `older`, `disagrees`,
    /// `unusable` or `not_compared`.
    pub index: &'static str,
    /// The teams, where the journal is sound and no service runs over it.
    pub teams: Vec<TeamReport>,
    /// What is worth knowing and is no trouble.
    pub remarks: Vec<String>,
    /// What is wrong.
    pub troubles: Vec<Trouble>,
    /// How many more troubles there are than are told.
    pub more_troubles: usize,
}

/// A team and the state that its entries give.
#[derive(Debug, Serialize)]
pub struct TeamReport {
    /// The team.
    pub team: TeamId,
    /// Its name.
    pub name: String,
    /// How many logs its devices wrote.
    pub logs: usize,
    /// How many entries they hold.
    pub entries: u64,
    /// The digest of the state.
    pub digest: Hash,
}

/// Something that is wrong.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Trouble {
    /// The file or folder, from the data folder on.
    pub file: String,
    /// The byte at which it begins, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<u64>,
    /// What is wrong.
    pub what: String,
    /// What to do.
    pub todo: &'static str,
}

impl Report {
    /// Adds a trouble.
    pub fn trouble(&mut self, trouble: Trouble) {
        if self.troubles.len() < MOST {
            self.troubles.push(trouble);
        } else {
            self.more_troubles += 1;
        }
    }
}

impl fmt::Display for TeamReport {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { team, name, logs, entries, digest } = self;
        let of = if *logs == 1 { "log" } else { "logs" };
        write!(f, "team {name} ({team}): {entries} entries in {logs} {of}, digest {digest}")
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.file)?;
        if let Some(at) = self.at {
            write!(f, " at byte {at}")?;
        }
        write!(f, ": {}. {}", self.what, self.todo)
    }
}

impl fmt::Display for Report {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(
            f,
            "journal: {} entries and {} acts of access in {} {}",
            self.entries,
            self.acts,
            self.segments,
            if self.segments == 1 { "segment" } else { "segments" }
        )?;
        writeln!(f, "index: {}", self.index.replace('_', " "))?;
        self.teams.iter().try_for_each(|team| writeln!(f, "{team}"))?;
        self.remarks.iter().try_for_each(|remark| writeln!(f, "note: {remark}"))?;
        self.troubles.iter().try_for_each(|trouble| writeln!(f, "trouble: {trouble}"))?;
        match self.troubles.len() + self.more_troubles {
            0 => write!(f, "sound"),
            1 => write!(f, "1 trouble"),
            all if self.more_troubles == 0 => write!(f, "{all} troubles"),
            all => write!(f, "{all} troubles, of which the first {} are told", self.troubles.len()),
        }
    }
}
