//! The committer: one thread that gathers what waits, appends it, syncs once, applies it to the index and
//! only then answers.

use super::{Event, Kept, Shelf, admit::Gate, hold};
use crate::{
    act::Act,
    error::ServerError,
    index::Index,
    journal::{Journal, Place},
};
use sheaf_model::{
    id::{DeviceId, TeamId},
    journal::Line,
    log::{Entry, Vector},
};
use std::{
    collections::BTreeMap,
    panic::{AssertUnwindSafe, catch_unwind},
    sync::{Arc, mpsc},
};
use tokio::sync::oneshot;

/// The most requests that are committed together.
const MOST_REQUESTS: usize = 512;
/// The bytes of bodies at which a commit is full.
const MOST_BYTES: usize = 16 << 20;

/// Decides on acts that belong together, seeing what is so at that moment.
pub type Decide = Box<dyn FnOnce(&Index) -> Result<Vec<Act>, ServerError> + Send>;
type Answer<T> = oneshot::Sender<Result<T, ServerError>>;

/// What the committer is asked to do.
pub enum Job {
    /// To keep entries.
    Push(Push),
    /// To do acts of access.
    Acts(Decide, Answer<()>),
    /// To say whether it could write now, with the index level.
    Look(Answer<()>),
}

/// Entries that a device offers.
pub struct Push {
    /// The team.
    pub team: TeamId,
    /// The device that hands them over; nobody when the service itself does.
    pub by: Option<DeviceId>,
    /// The entries.
    pub entries: Vec<Entry>,
    /// Whom to answer.
    pub reply: Answer<Pushed>,
}

/// What became of entries that were offered.
#[derive(Debug, Default)]
pub struct Pushed {
    /// How many were new and are kept.
    pub kept: usize,
    /// How many were there already.
    pub known: usize,
    /// Those that are not kept: device, number, reason.
    pub refused: Vec<(DeviceId, u64, Reason)>,
}

/// Why an entry is not kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// A stable word for programs.
    pub code: &'static str,
    /// The reason in words.
    pub message: String,
}

/// The one that writes.
pub struct Committer {
    journal: Journal,
    shelf: Arc<Shelf>,
    /// Where the line that was written last since the start stands.
    last: Option<Place>,
}

impl Committer {
    /// Makes a committer.
    pub fn new(journal: Journal, shelf: Arc<Shelf>) -> Self {
        Self { journal, shelf, last: None }
    }

    /// Works until nobody can send a job any more.
    pub fn run(mut self, queue: &mpsc::Receiver<Job>) {
        while let Ok(first) = queue.recv() {
            let (mut pushes, mut looks) = (Vec::new(), Vec::new());
            let mut bytes = 0;
            let mut next = Some(first);
            while let Some(job) = next.take() {
                match job {
                    Job::Push(push) => {
                        bytes += size(&push.entries);
                        pushes.push(push);
                    }
                    Job::Look(reply) => looks.push(reply),
                    Job::Acts(decide, reply) => {
                        self.guarded(|committer| committer.pushes(std::mem::take(&mut pushes)));
                        bytes = 0;
                        self.guarded(|committer| committer.acts(decide, reply));
                    }
                }
                if pushes.len() + looks.len() < MOST_REQUESTS && bytes < MOST_BYTES {
                    next = queue.try_recv().ok();
                }
            }
            self.guarded(|committer| committer.pushes(pushes));
            self.guarded(|committer| looks.into_iter().for_each(|reply| drop(reply.send(committer.look()))));
        }
    }

    /// Does a piece of work; one that gives up stops all writing, since nobody knows how far it came.
    fn guarded(&mut self, work: impl FnOnce(&mut Self)) {
        if catch_unwind(AssertUnwindSafe(|| work(self))).is_err() {
            self.stop("the committer failed".into());
        }
    }

    fn stop(&self, why: String) {
        tracing::error!(why, "writing has stopped until a restart");
        self.shelf.stopped.set(why).ok();
    }

    /// Says whether it could write now, and whether the index has all that was written.
    fn look(&self) -> Result<(), ServerError> {
        if let Some(why) = self.shelf.stopped.get() {
            return Err(ServerError::Stopped(why.clone()));
        }
        self.journal.check()?;
        let applied = self.shelf.index.last()?;
        match self.last.is_some() && applied != self.last {
            true => Err(ServerError::Index("it lacks lines of the journal".into())),
            false => Ok(()),
        }
    }

    fn pushes(&mut self, pushes: Vec<Push>) {
        if pushes.is_empty() {
            return;
        }
        let mut gate = Gate::new(&self.shelf);
        let mut answers = Vec::with_capacity(pushes.len());
        for Push { team, by, entries, reply } in pushes {
            answers.push((reply, gate.admit(team, by, entries)));
        }
        let (lines, vectors) = gate.finish();
        match self.keep(lines, vectors) {
            Ok(()) => {
                answers.iter().filter_map(|(_, answer)| answer.as_ref().ok()).for_each(|pushed| {
                    self.shelf.metrics.pushed(pushed);
                });
                answers.into_iter().for_each(|(reply, answer)| drop(reply.send(answer)));
            }
            Err(why) => {
                for (reply, _) in answers {
                    reply.send(Err(ServerError::Stopped(why.clone()))).ok();
                }
            }
        }
    }

    fn acts(&mut self, decide: Decide, reply: Answer<()>) {
        let done = decide(&self.shelf.index).and_then(|acts| {
            let lines = acts.iter().map(Act::line).collect::<Result<_, _>>()?;
            self.keep(lines, BTreeMap::new()).map_err(ServerError::Stopped)?;
            for act in acts {
                if let Act::Shut { team, device, .. } = act {
                    self.shelf.events.send(Event::Shut(team, device)).ok();
                }
            }
            Ok(())
        });
        reply.send(done).ok();
    }

    /// Makes lines durable, then visible. A failure stops all writing and is returned in words.
    fn keep(&mut self, lines: Vec<Line>, vectors: BTreeMap<TeamId, Vector>) -> Result<(), String> {
        if let Some(why) = self.shelf.stopped.get() {
            return Err(why.clone());
        }
        if lines.is_empty() {
            return Ok(());
        }
        let count = lines.len();
        let kept = self.journal.append(lines).and_then(|placed| {
            self.shelf.metrics.flushed(count, self.journal.synced_in());
            self.last = placed.last().map(|placed| placed.place);
            let teams: Vec<_> = vectors.into_iter().map(|(id, v)| (id, self.shelf.team(id), v)).collect();
            let mut held: Vec<_> = teams.iter().map(|(_, team, _)| hold(team)).collect();
            let mut touched = self.shelf.index.apply(&placed)?;
            let mut events = Vec::new();
            for ((id, _, vector), team) in teams.iter().zip(&mut held) {
                let Some(touched) = touched.remove(id) else { continue };
                if let Some(digest) = &mut team.digest {
                    touched.things.iter().for_each(|(kind, thing, hash)| digest.put(kind, *thing, *hash));
                }
                team.vector = Some(Arc::new(vector.clone()));
                if self.shelf.events.receiver_count() > 0 {
                    events.push(Kept {
                        team: *id,
                        added: touched.entries,
                        total: vector.total(),
                        digest: team.digest(&self.shelf.index, *id)?,
                        bows: touched.bows.into_iter().collect(),
                    });
                }
            }
            Ok(events)
        });
        match kept {
            Ok(events) => {
                events.into_iter().for_each(|e| drop(self.shelf.events.send(Event::Kept(Arc::new(e)))));
                Ok(())
            }
            Err(e) => {
                let why = self.journal.stopped().map_or_else(|| e.to_string(), str::to_owned);
                self.stop(why.clone());
                Err(why)
            }
        }
    }
}

fn size(entries: &[Entry]) -> usize {
    entries.iter().map(|e| 400 + e.body.as_ref().map_or(0, |b| b.get().len())).sum()
}
