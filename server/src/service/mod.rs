//! What the service does, without HTTP: who may come in, the exchange of entries, reads for people.

mod exchange;
mod guess;
mod people;
mod read;

pub use guess::Guesses;
pub use read::AsTable;

use crate::{
    clock::Clock,
    config::Config,
    error::ServerError,
    founding::founding_key,
    metrics::Metrics,
    secret::{Code, same, token_hash},
    store::{Event, Store, View},
};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    wire::Role,
};
use std::sync::Arc;
use tokio::sync::broadcast;

/// The service over an open store.
pub struct Service {
    /// How it runs.
    pub config: Config,
    /// Its wall clock.
    pub clock: Clock,
    /// Its store.
    pub store: Arc<Store>,
    /// What it counts of itself.
    pub metrics: Arc<Metrics>,
    key: Hash,
    guesses: Guesses,
}

/// A device that showed its token.
#[derive(Debug, Clone, Copy)]
pub struct Session {
    /// The team it belongs to.
    pub team: TeamId,
    /// The device.
    pub device: DeviceId,
    /// The person it acts for.
    pub person: ThingId,
    /// The role of that person.
    pub role: Role,
}

impl Service {
    /// Opens the service of a data folder.
    pub fn open(config: Config, clock: Clock) -> Result<Self, ServerError> {
        let metrics = Arc::new(Metrics::new());
        let store = Arc::new(Store::open(&config, metrics.clone())?);
        let key: Code = founding_key(&config.data)?;
        let guesses = Guesses::new(config.guesses, config.guess_window);
        Ok(Self { config, clock, store, metrics, key: key.hash(), guesses })
    }

    /// Returns whose token it is, whatever the team.
    pub fn known(&self, token: &str) -> Result<Session, ServerError> {
        let index = self.store.index();
        let (team, device) = index
            .token(&token_hash(token))?
            .ok_or_else(|| no_token("Nobody came in here with this token"))?;
        let missing = || ServerError::Index(format!("device {device} has a token and no row"));
        let row = index.device(team, device)?.ok_or_else(missing)?;
        if row.shut_ms.is_some() {
            return Err(shut());
        }
        let role = index.role(team, row.person)?.ok_or_else(missing)?;
        Ok(Session { team, device, person: row.person, role })
    }

    /// Returns whether the device of a session is still in.
    pub fn is_in(&self, who: Session) -> Result<bool, ServerError> {
        let row = self.store.index().device(who.team, who.device)?;
        Ok(row.is_some_and(|row| row.shut_ms.is_none()))
    }

    /// Returns whether a text is the founding key of this service.
    pub fn is_key(&self, text: &str) -> bool {
        Code::read(text).is_some_and(|key| same(&key.hash(), &self.key))
    }

    /// Returns the logs and the state of the session's team. A device that was shut out since it showed its token, for
    /// example while its body came in, sees nothing.
    pub fn view(&self, who: Session) -> Result<View, ServerError> {
        if !self.is_in(who)? {
            return Err(shut());
        }
        self.store.view(who.team)
    }

    /// Returns everything that happens from now on, in all teams.
    pub fn listen(&self) -> broadcast::Receiver<Event> {
        self.store.listen()
    }
}

impl Session {
    /// Checks that the session is of a team; of another it sees as little as of none.
    pub fn of(self, team: &str) -> Result<Self, ServerError> {
        match team.parse::<TeamId>() {
            Ok(named) if named == self.team => Ok(self),
            _ => Err(unknown_team(team)),
        }
    }
}

/// Says that a token is missing.
pub fn tokenless() -> ServerError {
    no_token("This needs the token of a device")
}

/// Says that something is for who runs the service.
pub fn for_its_keeper() -> ServerError {
    ServerError::refuse(
        401,
        "no_key",
        "For who runs the service",
        "This is told to programs on the service's own machine that ask it without a proxy, and to who sends the \
         founding key as `Authorization: Bearer KEY`; `sheafd key` prints it.",
    )
}

fn no_token(what: &str) -> ServerError {
    ServerError::refuse(
        401,
        "no_token",
        "No valid token",
        format!(
            "{what}. Send `Authorization: Bearer TOKEN` with the token that founding or joining gave this device."
        ),
    )
}

/// Says that a device was shut out.
pub fn shut() -> ServerError {
    ServerError::refuse(
        403,
        "shut",
        "This device was shut out",
        "A keeper of the team shut this device out. What it holds stays on it; ask a keeper for an invite to come in \
         again with a new device id.",
    )
}

fn unknown_team(team: &str) -> ServerError {
    let shown: String = team.chars().take(40).collect();
    ServerError::refuse(
        404,
        "unknown_team",
        "Unknown team",
        format!("There is no team `{shown}` that this token may see; check the address."),
    )
}
