//! The home of a replica: its card, its journal, and the lock that lets one process write at a time.

mod card;
mod files;
mod local;
mod looks;
mod peer;
mod segments;
mod snapshot;

pub use card::{Card, Carry, Server, card_lost, card_there, journals_in};
pub use files::{make_folder, replace_derived, spare, sync_folder, sync_into_place, write_out};
pub use local::Local;
pub use peer::{forget_server, read_server_have, write_server_have};

use crate::{CliError, Env};
use sheaf_model::{
    id::{DeviceId, TeamId},
    log::{Entry, adopt},
    replica::{Absorbed, Draft, Replica, Store as _},
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
        if card.server.is_none() && local.vector().total() == 0 {
            // A home begins with the name of its person; one without a server has nowhere to get it back from.
            return Err(nothing_read(&env.home.join(&card.journal)));
        }
        local.keep_snapshot(false);
        Ok(Self { folder: env.home.clone(), card, replica: Replica::new(local) })
    }

    /// Makes a home with its first records; `card.journal` must name a folder that does not exist.
    pub fn make(folder: &Path, card: Card, drafts: Vec<Draft>, now_ms: u64) -> Result<Self, CliError> {
        let _lock = lock(folder)?;
        // Asked once more: another command may have begun a team here since.
        if Card::is_in(folder) {
            return Err(card_there(folder, &Card::read(folder)?));
        }
        let journal = folder.join(&card.journal);
        files::make_folder(&journal)?;
        let local = Local::open(journal, card.team)?;
        let mut home = Self { folder: folder.to_owned(), card, replica: Replica::new(local) };
        home.under_lock(|replica, card| replica.append(card.writer(), drafts, now_ms))?;
        files::sync_folder(folder)?;
        files::sync_into_place(folder)?;
        // The card comes last: with it the home begins to exist.
        home.card.write(folder)?;
        Ok(home)
    }

    /// Returns whose replica it is.
    pub fn card(&self) -> &Card {
        &self.card
    }

    /// Returns what this device's person may do, once the team is on a server.
    pub fn role(&self) -> Option<Role> {
        self.card.server.as_ref().map(|server| server.role)
    }

    /// Returns the store, to read.
    pub fn store(&self) -> &Local {
        self.replica.store()
    }

    /// Notes a look at a verdict, and returns which one it is while the data of its last change grew.
    pub fn looked(&self, question: &str, last_change: &str, groups: usize) -> usize {
        looks::note(&self.folder, question, last_change, groups)
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

    /// Alters the card as it is on the disk now.
    pub fn alter_card(&mut self, alter: impl FnOnce(&mut Card)) -> Result<(), CliError> {
        let _lock = lock(&self.folder)?;
        self.turn_to_card()?;
        let mut card = self.card.clone();
        alter(&mut card);
        card.write(&self.folder)?;
        self.card = card;
        Ok(())
    }

    /// Goes on in a new journal under another device id, in one step: entries that are `lacking` elsewhere are written
    /// again as drafts, all others are kept as they are. Returns how many were written again.
    pub fn move_to(
        &mut self,
        device: DeviceId,
        server: Server,
        lacking: &dyn Fn(&Entry) -> bool,
        draft_of: &dyn Fn(&Entry) -> Result<Draft, CliError>,
        now_ms: u64,
    ) -> Result<usize, CliError> {
        let _lock = lock(&self.folder)?;
        self.stay_and_catch_up()?;
        let mut card = self.card.clone();
        (card.device, card.server, card.journal) = (device, Some(server), new_journal(&self.folder));
        let (again, keep): (Vec<Entry>, Vec<Entry>) = self.entries()?.into_iter().partition(lacking);
        let drafts = again.iter().map(draft_of).collect::<Result<Vec<_>, _>>()?;
        let replica = self.journal_of(&card, keep, drafts, now_ms)?;
        // The card comes last: until it names the new journal, nothing has happened.
        card.write(&self.folder)?;
        (self.card, self.replica) = (card, replica);
        Ok(again.len())
    }

    /// Goes on in a new journal in which the entries of another device's log after `common` are a log of their own, in
    /// one step. Returns how many these are.
    pub fn adopt(&mut self, forked: DeviceId, common: u64) -> Result<usize, CliError> {
        let _lock = lock(&self.folder)?;
        self.stay_and_catch_up()?;
        let lacking = |entry: &Entry| entry.device == forked && entry.seq > common;
        let (parted, mut all): (Vec<Entry>, Vec<Entry>) = self.entries()?.into_iter().partition(lacking);
        all.extend(adopt(&all, &parted)?);
        let mut card = self.card.clone();
        card.journal = new_journal(&self.folder);
        let replica = self.journal_of(&card, all, Vec::new(), 0)?;
        card.write(&self.folder)?;
        (self.card, self.replica) = (card, replica);
        Ok(parted.len())
    }

    /// Takes in what another process recorded up to here; one that moved the replica on is an error.
    fn stay_and_catch_up(&mut self) -> Result<(), CliError> {
        if self.turn_to_card()? {
            return Err(CliError::refused("another command has moved this replica on in the meantime")
                .hint("sync again; nothing is lost"));
        }
        self.replica.store_mut().catch_up()
    }

    /// Makes the new journal that a card names, with these entries and then these drafts.
    fn journal_of(
        &self,
        card: &Card,
        keep: Vec<Entry>,
        drafts: Vec<Draft>,
        now_ms: u64,
    ) -> Result<Replica<Local>, CliError> {
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
        if !drafts.is_empty() {
            replica.append(card.writer(), drafts, now_ms)?;
        }
        replica.store_mut().end();
        replica.store_mut().keep_snapshot(true);
        files::sync_folder(&self.folder)?;
        Ok(replica)
    }

    /// Returns all entries, each log in order.
    pub fn entries(&self) -> Result<Vec<Entry>, CliError> {
        all_of(self.store())
    }

    /// Returns all entries of a journal of this home, each log in order.
    pub fn entries_of(&self, journal: &str, team: TeamId) -> Result<Vec<Entry>, CliError> {
        all_of(&Local::open(self.folder.join(journal), team)?)
    }

    /// Returns the digest of the state.
    pub fn digest(&mut self) -> Result<sheaf_model::log::Hash, CliError> {
        self.replica.store_mut().digest()
    }

    fn locked<T>(
        &mut self,
        work: impl FnOnce(&mut Replica<Local>, &Card) -> Result<T, CliError>,
    ) -> Result<T, CliError> {
        let _lock = lock(&self.folder)?;
        self.turn_to_card()?;
        self.under_lock(work)
    }

    /// Takes the card as it is on the disk now, and goes on with the journal that it names; returns whether another
    /// process has moved the replica to another journal in the meantime.
    fn turn_to_card(&mut self) -> Result<bool, CliError> {
        let card = Card::read(&self.folder)?;
        let moved = (card.device, &card.journal) != (self.card.device, &self.card.journal);
        if moved {
            self.replica = Replica::new(Local::open(self.folder.join(&card.journal), card.team)?);
        }
        self.card = card;
        Ok(moved)
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
        let role = self.role().unwrap_or(Role::Keeper);
        match drafts.iter().find(|d| !role.may_write(&d.kind, d.id, self.card.person)) {
            Some(draft) => Err(CliError::refused(format!(
                "this device belongs to a coach of {}, who reads everything and writes notes and plans, but no {}",
                self.card.team_name, draft.kind
            ))
            .hint("ask a keeper for `sheaf role NAME archer`")),
            None => Ok(()),
        }
    }
}

/// Says why a journal holds no record: it is gone, or something has written over its lines.
fn nothing_read(journal: &Path) -> CliError {
    let first = journal.join("00000001.journal");
    let bytes = std::fs::read(&first).unwrap_or_default();
    if bytes.is_empty() {
        return CliError::input(format!("the records in {} are gone", journal.display())).hint(
            "put the folder back from a copy of it; to begin anew name another folder with --home DIR",
        );
    }
    let why = if bytes.windows(2).any(|two| two == b"\r\n") {
        "its lines end in CR LF, as an editor or a transfer in text mode writes them, where they ended in LF"
    } else {
        "none of its lines passes its checksum"
    };
    CliError::input(format!("the records in {} cannot be read: {why}", first.display()))
        .hint("put the file back from a copy of it; it was left as it is")
}

fn all_of(local: &Local) -> Result<Vec<Entry>, CliError> {
    let mut entries = Vec::new();
    let devices: Vec<DeviceId> = local.vector().iter().map(|(device, _)| device).collect();
    for device in devices {
        local.log(device, 0, &mut |entry| {
            entries.push(entry);
            true
        })?;
    }
    Ok(entries)
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use sheaf_model::{
        id::ThingId,
        kind::{Bow, draft},
    };

    const NOW_MS: u64 = 1_775_000_000_000;

    fn home(folder: &Path) -> Home {
        let id = |n| ThingId::new(NOW_MS, [n; 10]);
        let (team, device) = (TeamId::new(NOW_MS, [1; 10]), DeviceId::new(NOW_MS, [2; 10]));
        let card = Card::new(team, "Pair".into(), device, "test".into(), id(3), new_journal(folder));
        Home::make(folder, card, vec![bow(4)], NOW_MS).unwrap()
    }

    fn bow(n: u8) -> Draft {
        draft(ThingId::new(NOW_MS, [n; 10]), &Bow::default()).unwrap()
    }

    fn server() -> Server {
        Server { url: "http://sheaf.example".into(), token: "t".into(), role: Role::Archer, ca: None }
    }

    fn again(entry: &Entry) -> Result<Draft, CliError> {
        Ok(Draft { kind: entry.kind.clone(), id: entry.id, set: Default::default(), settles: false })
    }

    #[test]
    fn what_another_process_recorded_comes_along_to_a_new_journal() {
        let folder = tempfile::tempdir().unwrap();
        let mut first = home(folder.path());
        let (old, new) = (first.card().device, DeviceId::new(NOW_MS, [9; 10]));
        let second = Card::read(folder.path()).unwrap();
        let local = Local::open(folder.path().join(&second.journal), second.team).unwrap();
        let mut second =
            Home { folder: folder.path().to_owned(), card: second, replica: Replica::new(local) };
        second.locked(|replica, card| replica.append(card.writer(), vec![bow(5)], NOW_MS + 1)).unwrap();
        let lacking = |e: &Entry| e.device == old && e.seq > 1;
        assert_eq!(first.move_to(new, server(), &lacking, &again, NOW_MS + 2).unwrap(), 1);
        assert_eq!(first.store().state().ids("bow").count(), 2);
        // The other one goes on where the first has moved to, and what it alters of the card keeps the rest of it.
        second.locked(|replica, card| replica.append(card.writer(), vec![bow(6)], NOW_MS + 3)).unwrap();
        second.alter_card(|card| card.team_name = "Trio".into()).unwrap();
        let card = Card::read(folder.path()).unwrap();
        assert_eq!((card.device, card.server, card.team_name.as_str()), (new, Some(server()), "Trio"));
        assert_eq!(second.store().state().ids("bow").count(), 3);
        let moved = second.move_to(old, server(), &lacking, &again, NOW_MS + 4);
        assert!(moved.is_ok(), "it knows of the move");
        let late = first.move_to(new, server(), &lacking, &again, NOW_MS + 5);
        assert!(matches!(late, Err(CliError::Refused(_))), "it does not");
    }
}
