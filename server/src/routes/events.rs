//! The live stream of a team's commits, as server-sent events.

use super::{Head, Shared, head, places, rendered};
use crate::{
    error::ServerError,
    listen::blocking,
    service::{Service, Session},
    store::{Event, Kept},
};
use futures_util::{Stream, stream};
use serde::Serialize;
use sheaf_model::{id::ThingId, log::Hash, replica::Store as _};
use std::{convert::Infallible, sync::Arc};
use tokio::sync::{
    broadcast::{self, error::RecvError},
    watch,
};
use warp::{
    Filter, Reply,
    filters::BoxedFilter,
    reply::Response,
    sse::{self, Event as Message},
};

/// What an event says.
#[derive(Debug, Serialize)]
struct Told {
    /// How many entries the team has.
    entries: u64,
    /// How many of them this commit added.
    added: usize,
    /// The digest of the state.
    digest: Hash,
    /// The bows that something belongs to which changed.
    bows: Vec<ThingId>,
}

pub fn events(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "events")
        .and(warp::get())
        .and(head(shared))
        .then(|team: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                let place = head.places.stream(who)?;
                // Listening begins before the state is read, so that no commit and no shutting out falls between the two.
                let heard = head.service.listen();
                let service = head.service.clone();
                let first = blocking(move || {
                    let view = service.view(who)?;
                    let entries = view.vector().total();
                    Ok(message("state", &Told { entries, added: 0, digest: view.root(), bows: Vec::new() }))
                })
                .await?;
                let every = head.service.config.keep_alive;
                let Head { service, stop, .. } = head;
                let listener = Listener { who, service, heard, stop, first: Some(first), _place: place };
                let alive = sse::keep_alive().interval(every).text("here").stream(messages(listener));
                Ok::<_, ServerError>(sse::reply(alive).into_response())
            })
        })
        .boxed()
}

struct Listener {
    who: Session,
    service: Arc<Service>,
    heard: broadcast::Receiver<Event>,
    stop: watch::Receiver<bool>,
    first: Option<Message>,
    _place: places::Stream,
}

fn messages(listener: Listener) -> impl Stream<Item = Result<Message, Infallible>> {
    stream::unfold(listener, |mut listener| async move {
        let message = listener.next().await?;
        Some((Ok(message), listener))
    })
}

impl Listener {
    /// Waits for the next message; none when the service stops or the device was shut out.
    async fn next(&mut self) -> Option<Message> {
        if let Some(first) = self.first.take() {
            return Some(first);
        }
        loop {
            let event = tokio::select! {
                event = self.heard.recv() => event,
                _ = self.stop.wait_for(|stop| *stop) => return None,
            };
            match event {
                Ok(Event::Kept(kept)) if kept.team == self.who.team => return Some(told(&kept)),
                Ok(Event::Shut(team, device)) if (team, device) == (self.who.team, self.who.device) => {
                    return None;
                }
                Ok(_) => {}
                // Too slow to hear everything: the client asks for the state instead.
                // That this device was shut out may be among what it did not hear.
                Err(RecvError::Lagged(_)) if !self.is_in().await => return None,
                Err(RecvError::Lagged(_)) => return Some(Message::default().event("missed").data("{}")),
                Err(RecvError::Closed) => return None,
            }
        }
    }
}

impl Listener {
    async fn is_in(&self) -> bool {
        let (service, who) = (self.service.clone(), self.who);
        blocking(move || service.is_in(who)).await.unwrap_or(false)
    }
}

fn told(kept: &Kept) -> Message {
    let Kept { added, total, digest, bows, .. } = kept;
    message("commit", &Told { entries: *total, added: *added, digest: *digest, bows: bows.clone() })
}

fn message(name: &str, told: &Told) -> Message {
    let text = serde_json::to_string(told).unwrap_or_default();
    Message::default().event(name).id(told.entries.to_string()).data(text)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{act::Act, clock::Clock, config::Config, founding::known_founding_key};
    use sheaf_model::{
        id::{DeviceId, TeamId},
        wire::{FoundRequest, Role},
    };

    #[tokio::test]
    async fn a_device_that_missed_being_shut_out_hears_no_more() {
        let folder = tempfile::TempDir::new().unwrap();
        let service = Arc::new(Service::open(Config::new(folder.path()), Clock::System).unwrap());
        let who = Session {
            team: TeamId::new(1, [1; 10]),
            device: DeviceId::new(1, [2; 10]),
            person: ThingId::new(1, [3; 10]),
            role: Role::Keeper,
        };
        let Session { team, device, person, .. } = who;
        let key = known_founding_key(folder.path()).unwrap().unwrap().show();
        let (name, device_name) = ("Pair".to_owned(), "phone".to_owned());
        let ask = FoundRequest { team, name, device, device_name, person, key };
        let shut_out = Act::Shut { team, device, by: device, at_ms: 1 };
        let at_work = service.clone();
        let listener = blocking(move || {
            at_work.found(ask, [127, 0, 0, 1].into())?;
            let _place = places::Places::new(&at_work.config, at_work.metrics.clone()).stream(who)?;
            at_work.store.act(move |_| Ok(shut_out))?;
            let (sender, heard) = broadcast::channel(1);
            sender.send(Event::Shut(team, device)).unwrap();
            sender.send(Event::Shut(team, DeviceId::new(1, [4; 10]))).unwrap();
            let (_, stop) = watch::channel(false);
            Ok(Listener { who, service: at_work, heard, stop, first: None, _place })
        });
        assert!(
            listener.await.unwrap().next().await.is_none(),
            "a stream of a device that was shut out ends"
        );
    }
}
