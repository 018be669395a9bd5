//! The live stream of a team's commits, as server-sent events.

use super::{Head, Shared, head, places, rendered};
use crate::{
    error::ServerError,
    listen::blocking,
    service::Session,
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
                    service.still_in(who)?;
                    let view = service.view(who)?;
                    let entries = view.vector().total();
                    Ok(message("state", &Told { entries, added: 0, digest: view.root(), bows: Vec::new() }))
                })
                .await?;
                let listener = Listener { who, heard, stop: head.stop, first: Some(first), _place: place };
                let every = head.service.config.keep_alive;
                let alive = sse::keep_alive().interval(every).text("here").stream(messages(listener));
                Ok::<_, ServerError>(sse::reply(alive).into_response())
            })
        })
        .boxed()
}

struct Listener {
    who: Session,
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
                Err(RecvError::Lagged(_)) => return Some(Message::default().event("missed").data("{}")),
                Err(RecvError::Closed) => return None,
            }
        }
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
