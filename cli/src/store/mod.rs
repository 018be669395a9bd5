//! The home of a replica: its card, its journal, and the lock that lets one process write at a time.

mod card;
mod files;
mod local;
mod peer;
mod segments;
mod snapshot;

pub use card::{Card, Carry, Server};
pub use local::Local;
pub use peer::{forget_server, read_server_have, write_server_have};

use crate::{CliError, Env};
use sheaf_model::{
    log::Entry,
    replica::{Absorbed, Draft, Replica},
    wire::Role,
};
use std::{
    fs::File,
    path::{Path, PathBuf},
};

/// An opened home.
pub struct Home {
    folder: PathBuf,
    card: Card,
    replica: Replica<Local>,
}

impl Home {
    /// Opens the home that the environment names.
    pub fn open(env: &Env<'_>) -> Result<Self, CliError> {
        let card = Card::read(&env.home)?;
        let mut local = Local::open(env.home.join(&card.journal), card.team)?;
        if card.server.is_none() && sheaf_model::replica::Store::vector(&local).total() == 0 {
            // A home begins with the name of its person; one without a server has nowhere to get it back from.
            let journal = env.home.join(&card.journal);
            return Err(CliError::input(format!("the records in {} are gone", journal.display())).hint(
                "put the folder back from a copy of it; to begin anew name another folder with --home DIR",
            ));
        }
        local.keep_snapshot(false);
        Ok(Self { folder: env.home.clone(), card, replica: Replica::new(local) })
    }

    /// Makes a home with its first records; `card.journal` must name a folder that does not exist.
    pub fn make(folder: &Path, card: Card, drafts: Vec<Draft>, now_ms: u64) -> Result<Self, CliError> {
        let journal = folder.join(&card.journal);
        files::make_folder(&journal)?;
        let local = Local::open(journal, card.team)?;
        let mut home = Self { folder: folder.to_owned(), card, replica: Replica::new(local) };
        let _lock = lock(folder)?;
        home.under_lock(|replica, card| replica.append(card.writer(), drafts, now_ms))?;
        files::sync_folder(folder)?;
        // The card comes last: with it the home begins to exist.
        home.card.write(folder)?;
        Ok(home)
    }

    /// Returns whose replica it is.
    pub fn card(&self) -> &Card {
        &self.card
    }

    /// Returns the store, to read.
    pub fn store(&self) -> &Local {
        self.replica.store()
    }

    /// Returns the folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Returns the folder of the journal.
    pub fn journal(&self) -> PathBuf {
        self.folder.join(&self.card.journal)
    }

    /// Writes drafts to this device's log, all or none; they are on the disk when this returns.
    pub fn record(&mut self, env: &Env<'_>, drafts: Vec<Draft>) -> Result<Vec<Entry>, CliError> {
        self.may_write(&drafts)?;
        let now_ms = env.now_ms();
        self.locked(|replica, card| replica.append(card.writer(), drafts, now_ms))
    }

    /// Takes in entries from elsewhere; those that are kept are on the disk when this returns.
    pub fn absorb(&mut self, entries: Vec<Entry>) -> Result<Absorbed, CliError> {
        self.locked(|replica, _| replica.absorb(entries))
    }

    /// Replaces the card, and goes on with the journal that it names.
    pub fn turn_to(&mut self, card: Card) -> Result<(), CliError> {
        card.write(&self.folder)?;
        if card.journal != self.card.journal {
            self.replica = Replica::new(Local::open(self.folder.join(&card.journal), card.team)?);
        }
        self.card = card;
        Ok(())
    }

    /// Moves to a new journal that `card` names, with these entries and then these drafts, in one step.
    pub fn move_to(
        &mut self,
        card: Card,
        keep: Vec<Entry>,
        drafts: Vec<Draft>,
        now_ms: u64,
    ) -> Result<(), CliError> {
        let _lock = lock(&self.folder)?;
        let journal = self.folder.join(&card.journal);
        files::make_folder(&journal)?;
        let mut replica = Replica::new(Local::open(journal, card.team)?);
        replica.store_mut().begin()?;
        let absorbed = replica.absorb(keep)?;
        if let Some(refused) = absorbed.refused.first() {
            return Err(CliError::bug(format!(
                "entry {} of device {} does not fit its own log",
                refused.seq, refused.device
            )));
        }
        replica.append(card.writer(), drafts, now_ms)?;
        replica.store_mut().end();
        replica.store_mut().keep_snapshot(true);
        files::sync_folder(&self.folder)?;
        // The card comes last: until it names the new journal, nothing has happened.
        card.write(&self.folder)?;
        (self.card, self.replica) = (card, replica);
        Ok(())
    }

    /// Returns all entries of a journal, each log in order.
    pub fn entries_of(journal: &Path, team: sheaf_model::id::TeamId) -> Result<Vec<Entry>, CliError> {
        let local = Local::open(journal.to_owned(), team)?;
        let mut entries = Vec::new();
        let devices: Vec<_> = sheaf_model::replica::Store::vector(&local).iter().map(|(d, _)| d).collect();
        for device in devices {
            sheaf_model::replica::Store::log(&local, device, 0, &mut |entry| {
                entries.push(entry);
                true
            })?;
        }
        Ok(entries)
    }

    /// Returns the digest of the state.
    pub fn digest(&mut self) -> Result<sheaf_model::log::Hash, CliError> {
        sheaf_model::replica::Store::digest(self.replica.store_mut())
    }

    fn locked<T>(
        &mut self,
        work: impl FnOnce(&mut Replica<Local>, &Card) -> Result<T, CliError>,
    ) -> Result<T, CliError> {
        let _lock = lock(&self.folder)?;
        // Another process may have moved the replica to another journal in the meantime.
        let card = Card::read(&self.folder)?;
        if (card.device, &card.journal) != (self.card.device, &self.card.journal) {
            self.replica = Replica::new(Local::open(self.folder.join(&card.journal), card.team)?);
        }
        self.card = card;
        self.under_lock(work)
    }

    fn under_lock<T>(
        &mut self,
        work: impl FnOnce(&mut Replica<Local>, &Card) -> Result<T, CliError>,
    ) -> Result<T, CliError> {
        self.replica.store_mut().begin()?;
        let done = work(&mut self.replica, &self.card);
        self.replica.store_mut().end();
        self.replica.store_mut().keep_snapshot(false);
        done
    }

    fn may_write(&self, drafts: &[Draft]) -> Result<(), CliError> {
        let coach = self.card.server.as_ref().is_some_and(|s| s.role == Role::Coach);
        match drafts.iter().find(|d| coach && !matches!(d.kind.as_str(), "note" | "plan")) {
            Some(draft) => Err(CliError::refused(format!(
                "this device belongs to a coach of {}, who reads everything and writes notes and plans, but no {}",
                self.card.team_name, draft.kind
            ))
            .hint("ask a keeper for `sheaf role NAME archer`")),
            None => Ok(()),
        }
    }
}

/// Returns the name of a journal folder that a home does not hold yet.
pub fn new_journal(home: &Path) -> String {
    (1..).map(|n: u32| format!("journal-{n}")).find(|name| !home.join(name).exists()).unwrap_or_default()
}

/// Waits until no other process writes to this home; the lock is free again when the file is dropped.
pub fn lock(home: &Path) -> Result<File, CliError> {
    files::make_folder(home)?;
    let path = home.join("lock");
    let file = files::open_private(&path, false).map_err(|e| CliError::file("open", &path, &e))?;
    file.lock().map_err(|e| CliError::file("lock", &path, &e))?;
    Ok(file)
}
