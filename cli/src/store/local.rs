//! The local store: a journal and a snapshot of its fold, behind the model's storage trait.

use super::{
    segments::{Place, Placed, Position, Segments},
    snapshot::{self, Places},
};
use crate::CliError;
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::{Entry, Hash, Head, Vector},
    merge::Thing,
    replica::{State, Store},
};
use std::path::PathBuf;

/// A snapshot is written anew when more entries than this have come after it ...
const TAIL: u64 = 256;
/// ... and more than one in this many of all entries.
const TAIL_SHARE: u64 = 50;

/// A journal on disk with the state folded from it.
pub struct Local {
    team: TeamId,
    segments: Segments,
    position: Position,
    vector: Vector,
    places: Places,
    state: State,
    /// Entries that are folded in but not in the snapshot.
    tail: u64,
    /// Whether this process may write: it holds the lock and has caught up.
    writing: bool,
}

impl Local {
    /// Opens the journal in a folder, from its snapshot where there is one.
    pub fn open(folder: PathBuf, team: TeamId) -> Result<Self, CliError> {
        let mut local = Self::blank(folder, team);
        if let Some(found) = snapshot::read(local.segments.folder(), team) {
            local.position = found.position;
            local.vector = found.vector;
            local.places = found.places;
            local.state = found.state;
            if !local.fits_journal() {
                local = Self::blank(local.segments.folder().to_owned(), team);
            }
        }
        local.catch_up()?;
        Ok(local)
    }

    fn blank(folder: PathBuf, team: TeamId) -> Self {
        Self {
            team,
            segments: Segments::new(folder),
            position: Position::START,
            vector: Vector::default(),
            places: Places::new(),
            state: State::default(),
            tail: 0,
            writing: false,
        }
    }

    /// Folds in what has been appended since, by whichever process.
    pub fn catch_up(&mut self) -> Result<(), CliError> {
        let mut position = self.position;
        let segments = Segments::new(self.segments.folder().to_owned());
        segments.read_on(&mut position, &mut |placed| self.fold(placed))?;
        self.position = position;
        Ok(())
    }

    /// Begins writing, under the lock that the caller holds: catches up and cuts a torn tail.
    pub fn begin(&mut self) -> Result<(), CliError> {
        self.catch_up()?;
        self.segments.cut(self.position)?;
        self.writing = true;
        Ok(())
    }

    /// Ends writing, before the caller lets go of the lock.
    pub fn end(&mut self) {
        self.writing = false;
    }

    /// Writes the snapshot anew when enough has come after it, or when `always`.
    ///
    /// It only makes later commands fast, so a disk that cannot take it is no error.
    pub fn keep_snapshot(&mut self, always: bool) {
        let due = self.tail > TAIL && self.tail > self.vector.total() / TAIL_SHARE;
        if self.tail == 0 || !(due || always) {
            return;
        }
        let folder = self.segments.folder();
        if snapshot::write(folder, self.team, self.position, &self.vector, &self.places, &self.state).is_ok()
        {
            self.tail = 0;
        }
    }

    /// Returns the state.
    pub fn state(&self) -> &State {
        &self.state
    }

    fn fold(&mut self, (team, entry, place): Placed) -> Result<(), CliError> {
        if team != self.team {
            let message =
                format!("the journal in {} holds another team's records", self.segments.folder().display());
            return Err(CliError::input(message));
        }
        let seq = self.vector.seq(entry.device) + 1;
        if entry.seq != seq {
            let message = format!(
                "the journal in {} has entry {} of device {} where {seq} belongs",
                self.segments.folder().display(),
                entry.seq,
                entry.device
            );
            return Err(
                CliError::input(message).hint("keep a copy of the folder and join again into a new home")
            );
        }
        let head = Head { seq, hash: entry.header_hash(), tick: entry.stamp };
        self.state.join(&entry)?;
        self.places.entry(entry.device).or_default().push(place);
        self.vector.restore(entry.device, head);
        self.tail += 1;
        Ok(())
    }

    /// Returns whether the last entry that the snapshot knows is where it says.
    fn fits_journal(&self) -> bool {
        let latest = self.places.iter().filter_map(|(device, log)| Some((*device, log.last()?)));
        let Some((device, place)) = latest.max_by_key(|(_, place)| (place.segment, place.at)) else {
            return true;
        };
        let head = self.vector.head(device).map(|h| h.hash);
        self.segments.read_at(*place).is_ok_and(|entry| Some(entry.header_hash()) == head)
    }

    fn place(&self, device: DeviceId, seq: u64) -> Option<Place> {
        let index = usize::try_from(seq.checked_sub(1)?).ok()?;
        self.places.get(&device)?.get(index).copied()
    }
}

impl Store for Local {
    type Error = CliError;

    fn vector(&self) -> &Vector {
        &self.vector
    }

    fn header_hash(&self, device: DeviceId, seq: u64) -> Result<Option<Hash>, CliError> {
        if let Some(head) = self.vector.head(device).filter(|h| h.seq == seq) {
            return Ok(Some(head.hash));
        }
        self.place(device, seq).map(|p| Ok(self.segments.read_at(p)?.header_hash())).transpose()
    }

    fn log(&self, device: DeviceId, after: u64, take: &mut dyn FnMut(Entry) -> bool) -> Result<(), CliError> {
        let skip = usize::try_from(after).unwrap_or(usize::MAX);
        for place in self.places.get(&device).into_iter().flatten().skip(skip) {
            if !take(self.segments.read_at(*place)?) {
                break;
            }
        }
        Ok(())
    }

    fn commit(&mut self, entries: Vec<Entry>, vector: Vector) -> Result<(), CliError> {
        if !self.writing {
            return Err(CliError::bug("the journal was to be written without its lock"));
        }
        let places = self.segments.append(&mut self.position, self.team, &entries).inspect_err(|_| {
            // Whether the disk holds part of the batch is unknown: nothing more is written
            // until the next begin has read what is there.
            self.writing = false;
        })?;
        for (entry, place) in entries.into_iter().zip(places) {
            self.fold((self.team, Box::new(entry), place))?;
        }
        debug_assert_eq!(self.vector, vector, "the fold and the admission agree");
        self.vector = vector;
        Ok(())
    }

    fn thing(&self, kind: &str, id: ThingId) -> Result<Option<Thing>, CliError> {
        Ok(self.state.thing(kind, id)?)
    }

    fn visit(&self, kind: &str, bow: Option<ThingId>, see: &mut dyn FnMut(&Thing)) -> Result<(), CliError> {
        Ok(self.state.visit(kind, bow, see)?)
    }

    fn visit_back(&self, kind: &str, see: &mut dyn FnMut(&Thing) -> bool) -> Result<(), CliError> {
        Ok(self.state.visit_back(kind, see)?)
    }

    fn visit_rewritten(&self, kind: &str, see: &mut dyn FnMut(&Thing)) -> Result<(), CliError> {
        Ok(self.state.visit_rewritten(kind, see)?)
    }

    fn digest(&mut self) -> Result<Hash, CliError> {
        Ok(self.state.digest())
    }
}
