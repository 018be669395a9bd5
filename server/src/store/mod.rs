//! The one place where the service meets its disk: a journal that is the truth, an index that makes reads
//! fast, and one committer that writes both.

mod admit;
mod committer;
mod view;

pub use admit::{forked, reason_of};
pub use committer::{Pushed, Reason};
pub use view::View;

use crate::{
    act::Act,
    config::Config,
    error::{ServerError, io},
    index::Index,
    journal::{Looked, Reader, make_folder},
    metrics::{Census, Metrics},
};
use committer::{Committer, Decide, Job, Push};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::{Entry, Hash, Vector},
    merge::Digest,
};
use std::{
    collections::BTreeMap,
    fs::{File, TryLockError},
    path::Path,
    sync::{Arc, Mutex, MutexGuard, OnceLock, PoisonError, mpsc},
    thread::JoinHandle,
};
use tokio::sync::{broadcast, oneshot};

/// How many jobs may wait for the committer.
const WAITING: usize = 4096;
/// How many events a slow listener may lag behind before it is told so.
const EVENTS: usize = 1024;

/// Journal, index and committer of a data folder.
pub struct Store {
    shelf: Arc<Shelf>,
    jobs: Mutex<Option<mpsc::SyncSender<Job>>>,
    thread: Mutex<Option<JoinHandle<()>>>,
    _lock: Lock,
}

/// What the committer and the readers share.
struct Shelf {
    index: Index,
    reader: Reader,
    teams: Mutex<BTreeMap<TeamId, Arc<Mutex<Team>>>>,
    events: broadcast::Sender<Event>,
    stopped: OnceLock<String>,
    metrics: Arc<Metrics>,
}

/// What is kept in memory of a team.
#[derive(Default)]
struct Team {
    vector: Option<Arc<Vector>>,
    digest: Option<Digest>,
}

/// Something that listeners want to know.
#[derive(Debug, Clone)]
pub enum Event {
    /// Entries were kept.
    Kept(Arc<Kept>),
    /// A device was shut out.
    Shut(TeamId, DeviceId),
}

/// A commit of a team.
#[derive(Debug, Clone)]
pub struct Kept {
    /// The team.
    pub team: TeamId,
    /// How many entries were added.
    pub added: usize,
    /// How many there are now.
    pub total: u64,
    /// The digest of the state.
    pub digest: Hash,
    /// The bows that something belongs to which changed.
    pub bows: Vec<ThingId>,
}

impl Store {
    /// Opens the store of a data folder; another process that holds it is an error.
    pub fn open(config: &Config, metrics: Arc<Metrics>) -> Result<Self, ServerError> {
        make_folder(&config.data)?;
        let lock = lock(&config.data)?;
        let dir = config.data.join("journal");
        crate::care::no_half_restore(&config.data)?;
        // The index is asked before a torn tail is cut off: it may show that the tail was whole.
        let looked = Looked::at(&dir)?;
        looked.sync()?;
        let reader = looked.reader();
        let index = Index::open(&config.data.join("index"), &reader)?;
        let journal = looked.open(config.segment_bytes)?;
        let shelf = Arc::new(Shelf {
            index,
            reader,
            teams: Mutex::default(),
            events: broadcast::channel(EVENTS).0,
            stopped: OnceLock::new(),
            metrics,
        });
        let (jobs, queue) = mpsc::sync_channel(WAITING);
        let committer = Committer::new(journal, shelf.clone());
        let thread = std::thread::Builder::new()
            .name("committer".into())
            .spawn(move || committer.run(&queue))
            .map_err(io("start the committer over", &config.data))?;
        Ok(Self { shelf, jobs: Mutex::new(Some(jobs)), thread: Mutex::new(Some(thread)), _lock: lock })
    }

    /// Returns the index.
    pub fn index(&self) -> &Index {
        &self.shelf.index
    }

    /// Returns a team's logs and state as they are at this moment.
    pub fn view(self: &Arc<Self>, team: TeamId) -> Result<View, ServerError> {
        let (vector, digest) = self.shelf.snapshot(team)?;
        Ok(View::new(self.clone(), team, vector, digest))
    }

    /// Returns everything that happens from now on.
    pub fn listen(&self) -> broadcast::Receiver<Event> {
        self.shelf.events.subscribe()
    }

    /// Returns why nothing is taken any more, if so.
    pub fn stopped(&self) -> Option<&str> {
        self.shelf.stopped.get().map(String::as_str)
    }

    /// Offers entries on behalf of a device; the answer comes when what is kept is on the disk.
    pub fn push(
        &self,
        team: TeamId,
        by: Option<DeviceId>,
        entries: Vec<Entry>,
    ) -> Result<oneshot::Receiver<Result<Pushed, ServerError>>, ServerError> {
        let (reply, answer) = oneshot::channel();
        self.send(Job::Push(Push { team, by, entries, reply }))?;
        Ok(answer)
    }

    /// Does an act that is decided on what is so at that moment; returns when it is on the disk.
    pub fn act(
        &self,
        decide: impl FnOnce(&Index) -> Result<Act, ServerError> + Send + 'static,
    ) -> Result<(), ServerError> {
        self.acts(|index| Ok(vec![decide(index)?]))
    }

    /// Does acts that belong together, in one batch of the journal; returns when all of them are on the disk.
    pub fn acts(
        &self,
        decide: impl FnOnce(&Index) -> Result<Vec<Act>, ServerError> + Send + 'static,
    ) -> Result<(), ServerError> {
        let (reply, answer) = oneshot::channel();
        let decide: Decide = Box::new(decide);
        self.send(Job::Acts(decide, reply))?;
        answer.blocking_recv().unwrap_or_else(|_| Err(gone()))
    }

    /// Asks the committer whether it could write now, with the index level; the answer comes once it has done what
    /// waits before.
    pub fn look(&self) -> Result<oneshot::Receiver<Result<(), ServerError>>, ServerError> {
        let (reply, answer) = oneshot::channel();
        self.send(Job::Look(reply))?;
        Ok(answer)
    }

    /// Returns how much is held.
    pub fn census(&self) -> Result<Census, ServerError> {
        let (teams, devices) = self.shelf.index.count()?;
        let index_bytes = self.shelf.index.bytes()?;
        Ok(Census { journal_bytes: self.shelf.reader.journal_bytes()?, index_bytes, teams, devices })
    }

    fn send(&self, job: Job) -> Result<(), ServerError> {
        if let Some(why) = self.stopped() {
            return Err(ServerError::Stopped(why.to_owned()));
        }
        let jobs = self.jobs.lock().unwrap_or_else(PoisonError::into_inner);
        match jobs.as_ref().ok_or_else(gone)?.try_send(job) {
            Ok(()) => Ok(()),
            Err(mpsc::TrySendError::Full(_)) => Err(ServerError::refuse(
                503,
                "busy",
                "Too busy",
                "Too many devices sync at this moment; nothing is lost, sync again in a moment.",
            )
            .retry_after(5)),
            Err(mpsc::TrySendError::Disconnected(_)) => Err(gone()),
        }
    }

    /// Lets the committer finish what waits, and writes the index to the disk.
    pub fn close(&self) -> Result<(), ServerError> {
        drop(self.jobs.lock().unwrap_or_else(PoisonError::into_inner).take());
        let thread = self.thread.lock().unwrap_or_else(PoisonError::into_inner).take();
        if thread.is_some_and(|thread| thread.join().is_err()) {
            return Err(ServerError::Task("the committer".into()));
        }
        self.shelf.index.flush()
    }
}

impl Drop for Store {
    fn drop(&mut self) {
        if let Err(e) = self.close() {
            tracing::error!(error = %e, "the store did not close cleanly; the next start catches up");
        }
    }
}

/// The committer is not there to answer.
fn gone() -> ServerError {
    ServerError::Stopped("the service is stopping".into())
}

/// The lock of a data folder, which is free again once this is dropped.
pub struct Lock(File);

impl Drop for Lock {
    fn drop(&mut self) {
        // Closing the file would do, but for a process that is being started right now and holds it a little longer.
        self.0.unlock().ok();
    }
}

/// Takes the lock of a data folder.
pub fn lock(data: &Path) -> Result<Lock, ServerError> {
    let path = data.join("lock");
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(io("open the lock", &path))?;
    match file.try_lock() {
        Ok(()) => Ok(Lock(file)),
        Err(TryLockError::WouldBlock) => Err(ServerError::Locked(data.to_owned())),
        Err(TryLockError::Error(e)) => Err(io("lock", path)(e)),
    }
}

impl Shelf {
    fn team(&self, team: TeamId) -> Arc<Mutex<Team>> {
        self.teams.lock().unwrap_or_else(PoisonError::into_inner).entry(team).or_default().clone()
    }

    /// Returns the heads of a team's logs.
    fn vector(&self, team: TeamId) -> Result<Arc<Vector>, ServerError> {
        let state = self.team(team);
        hold(&state).vector(&self.index, team)
    }

    /// Returns heads and digest of the same moment.
    fn snapshot(&self, team: TeamId) -> Result<(Arc<Vector>, Hash), ServerError> {
        let state = self.team(team);
        let mut state = hold(&state);
        Ok((state.vector(&self.index, team)?, state.digest(&self.index, team)?))
    }
}

impl Team {
    fn vector(&mut self, index: &Index, team: TeamId) -> Result<Arc<Vector>, ServerError> {
        if self.vector.is_none() {
            self.vector = Some(Arc::new(index.vector(team)?));
        }
        Ok(self.vector.clone().unwrap_or_default())
    }

    fn digest(&mut self, index: &Index, team: TeamId) -> Result<Hash, ServerError> {
        if self.digest.is_none() {
            self.digest = Some(index.digest(team)?);
        }
        Ok(self.digest.get_or_insert_default().root())
    }
}

fn hold(team: &Mutex<Team>) -> MutexGuard<'_, Team> {
    team.lock().unwrap_or_else(PoisonError::into_inner)
}
