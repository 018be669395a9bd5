//! The accept loop: connections are capped, handshakes, heads, bodies and unread replies have their time, and a
//! shutdown lets requests in flight finish.

use crate::{
    clock::Clock,
    config::Config,
    error::ServerError,
    routes::{self, Peer},
    service::Service,
};
use hyper::{server::conn::http1, service::service_fn};
use hyper_util::{
    rt::{TokioIo, TokioTimer},
    server::graceful::{GracefulShutdown, Watcher},
};
use socket::Socket;
use std::{convert::Infallible, future::Future, pin::pin, sync::Arc, time::Duration};
use tokio::{
    io::{AsyncRead, AsyncWrite},
    net::{TcpListener, TcpStream},
    sync::{OwnedSemaphorePermit, Semaphore, watch},
};

mod socket;
mod tls;

pub use tls::Tls;

/// The most bytes of the head of a request.
const HEAD: usize = 64 << 10;

/// The service, open and ready to run.
pub struct Server {
    service: Arc<Service>,
}

impl Server {
    /// Opens the service of a data folder.
    pub async fn open(config: Config, clock: Clock) -> Result<Self, ServerError> {
        let service = blocking(move || Service::open(config, clock)).await?;
        Ok(Self { service: Arc::new(service) })
    }

    /// Serves until `shutdown` is done, then lets requests in flight finish.
    pub async fn run(
        self,
        listener: TcpListener,
        shutdown: impl Future<Output = ()>,
    ) -> Result<(), ServerError> {
        let (stopping, stop) = watch::channel(false);
        let api = routes::Api::new(self.service.clone(), stop.clone());
        let places = Arc::new(Semaphore::new(self.service.config.connections));
        let graceful = GracefulShutdown::new();
        let mut shutdown = pin!(shutdown);
        loop {
            let place = tokio::select! {
                place = places.clone().acquire_owned() => place,
                () = &mut shutdown => break,
            };
            let Ok(place) = place else { break };
            let accepted = tokio::select! {
                accepted = listener.accept() => accepted,
                () = &mut shutdown => break,
            };
            match accepted {
                Ok((stream, address)) => {
                    let (peer, watcher) = (Peer(address.ip()), graceful.watcher());
                    connection(&api, watcher, stop.clone(), stream, peer, place);
                }
                Err(e) => {
                    // Too many open files and the like pass; an accept loop that gives up does not.
                    tracing::warn!(error = %e, "a connection could not be accepted");
                    tokio::time::sleep(Duration::from_millis(50)).await;
                }
            }
        }
        drop(listener);
        tracing::info!("stopping: requests in flight may finish");
        stopping.send_replace(true);
        let deadline = self.service.config.shutdown_deadline;
        if tokio::time::timeout(deadline, graceful.shutdown()).await.is_err() {
            tracing::warn!("some requests were still in flight at the deadline and are cut off");
        }
        let service = self.service;
        blocking(move || service.store.close()).await
    }
}

/// Serves a connection in a task of its own, in which also the handshake is waited for.
fn connection(
    api: &routes::Api,
    watcher: Watcher,
    stop: watch::Receiver<bool>,
    stream: TcpStream,
    peer: Peer,
    place: OwnedSemaphorePermit,
) {
    let config = &api.service().config;
    stream.set_nodelay(true).ok();
    let socket = Socket::new(stream, config.write_timeout, place);
    let (api, patience) = (api.clone(), config.header_timeout);
    match config.tls.clone() {
        None => drop(tokio::spawn(talk(api, socket, peer, watcher))),
        Some(tls) => drop(tokio::spawn(async move {
            if let Some(secured) = tls.welcome(socket, patience, stop).await {
                talk(api, secured, peer, watcher).await;
            }
        })),
    }
}

/// Answers the requests of a connection until it ends.
async fn talk<S>(api: routes::Api, stream: S, peer: Peer, watcher: Watcher)
where
    S: AsyncRead + AsyncWrite + Unpin + Send + 'static,
{
    let header_timeout = api.service().config.header_timeout;
    let service = service_fn(move |request| {
        let api = api.clone();
        async move { Ok::<_, Infallible>(api.answer(request, peer).await) }
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(header_timeout)
        .max_buf_size(HEAD.max(8192))
        .serve_connection(TokioIo::new(stream), service);
    if let Err(e) = watcher.watch(connection).await {
        tracing::debug!(error = %e, "a connection ended early");
    }
}

/// Runs what waits for the disk or computes where it holds nobody up.
pub(crate) async fn blocking<T: Send + 'static>(
    work: impl FnOnce() -> Result<T, ServerError> + Send + 'static,
) -> Result<T, ServerError> {
    let done = tokio::task::spawn_blocking(work).await;
    done.unwrap_or_else(|e| Err(ServerError::Task(e.to_string())))
}
