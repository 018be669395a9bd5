//! The HTTP side: a table of routes, what every answer has in common, and the routes themselves.

mod body;
mod compute;
mod events;
mod exchange;
mod meta;
mod openapi;
mod people;
mod places;
mod problem;
mod read;
mod reply;
mod table;

use crate::{
    error::ServerError,
    listen::blocking,
    service::{Service, Session},
};
use body::{Body, Budget};
use bytes::Buf;
use futures_util::Stream;
use hyper::body::Incoming;
use places::Places;
use problem::REQUEST;
use std::{convert::Infallible, future::Future, net::IpAddr, sync::Arc};
use table::ROUTES;
use tokio::sync::watch;
use tracing::Instrument;
use warp::{
    Filter, Rejection,
    filters::BoxedFilter,
    http::{HeaderMap, HeaderName, Method, Request, header},
    reply::Response,
};

/// Where a request comes from.
#[derive(Debug, Clone, Copy)]
pub struct Peer(pub IpAddr);

/// What the routes share.
#[derive(Clone)]
pub struct Api {
    shared: Arc<Shared>,
    routes: BoxedFilter<(Response,)>,
}

struct Shared {
    service: Arc<Service>,
    budget: Budget,
    places: Places,
    stop: watch::Receiver<bool>,
}

/// What a handler may know of a request beside its path and body.
#[derive(Clone)]
pub struct Head {
    /// The service.
    pub service: Arc<Service>,
    headers: HeaderMap,
    peer: IpAddr,
    budget: Budget,
    places: Places,
    stop: watch::Receiver<bool>,
}

impl Api {
    /// Makes the routes of a service; `stop` turns true when it is told to stop.
    pub fn new(service: Arc<Service>, stop: watch::Receiver<bool>) -> Self {
        let budget = Budget::new(service.config.bodies_bytes);
        let places = Places::new(&service.config);
        let shared = Arc::new(Shared { service, budget, places, stop });
        let routes = all(&shared);
        Self { shared, routes }
    }

    /// Returns the service.
    pub fn service(&self) -> &Service {
        &self.shared.service
    }

    /// Answers a request: number, log line, security headers, packing.
    pub async fn answer(&self, request: Request<Incoming>, peer: Peer) -> Response {
        let id = request_id();
        let span =
            tracing::info_span!("request", id, method = %request.method(), path = request.uri().path());
        let started = std::time::Instant::now();
        let answer = async {
            let reply = self.route(request, peer).await;
            tracing::info!(
                status = reply.status().as_u16(),
                ms = started.elapsed().as_millis() as u64,
                "answered"
            );
            reply
        };
        let reply = REQUEST.scope(id.clone(), answer).instrument(span).await;
        reply::dress(reply, &id)
    }

    async fn route(&self, mut request: Request<Incoming>, peer: Peer) -> Response {
        let asked_head = request.method() == Method::HEAD;
        if asked_head {
            *request.method_mut() = Method::GET;
        }
        let path = request.uri().path().to_owned();
        let packs = reply::accepts_gzip(request.headers());
        request.extensions_mut().insert(peer);
        let service = hyper_util::service::TowerToHyperService::new(warp::service(self.routes.clone()));
        let reply = match hyper::service::Service::call(&service, request).await {
            Ok(reply) => reply,
            Err(never) => match never {},
        };
        let reply = table::with_allow(reply, &path);
        reply::finish(reply, packs, asked_head).await
    }
}

fn request_id() -> String {
    match crate::secret::random::<16>() {
        Ok(bytes) => uuid::Builder::from_random_bytes(bytes).into_uuid().to_string(),
        Err(_) => uuid::Uuid::nil().to_string(),
    }
}

fn all(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    let mut routes = ROUTES.iter().map(|route| (route.filter)(shared));
    let first = routes.next().expect("the table of routes is not empty");
    routes
        .fold(first, |all, next| all.or(next).unify().boxed())
        .recover(|rejection: Rejection| async move { Ok::<_, Infallible>(problem::rejected(&rejection)) })
        .unify()
        .boxed()
}

/// Extracts what a handler may know of a request.
fn head(shared: &Arc<Shared>) -> impl Filter<Extract = (Head,), Error = Rejection> + Clone + use<> {
    let shared = shared.clone();
    warp::header::headers_cloned().and(warp::ext::get::<Peer>()).map(move |headers, Peer(peer)| Head {
        service: shared.service.clone(),
        peer: client(peer, &headers),
        headers,
        budget: shared.budget.clone(),
        places: shared.places.clone(),
        stop: shared.stop.clone(),
    })
}

/// Returns whom a request is from: behind a proxy on this machine, whom the proxy names.
fn client(peer: IpAddr, headers: &HeaderMap) -> IpAddr {
    let named = headers.get("x-forwarded-for").and_then(|v| v.to_str().ok());
    let last = named.and_then(|list| list.rsplit(',').next()).and_then(|last| last.trim().parse().ok());
    last.filter(|_| peer.to_canonical().is_loopback()).unwrap_or(peer)
}

impl Head {
    /// Returns the text of a header.
    pub fn text(&self, name: &HeaderName) -> Option<&str> {
        self.headers.get(name).and_then(|v| v.to_str().ok())
    }

    /// Returns the session of the token that was sent, for a team.
    pub async fn session(&self, team: &str) -> Result<Session, ServerError> {
        let (service, token, team) = (self.service.clone(), self.token(), team.to_owned());
        blocking(move || service.session(token.as_deref(), &team)).await
    }

    /// Returns the session of the token that was sent, whatever its team.
    pub async fn known(&self) -> Result<Session, ServerError> {
        let (service, token) = (self.service.clone(), self.token());
        blocking(move || service.known(token.as_deref())).await
    }

    fn token(&self) -> Option<String> {
        let (scheme, token) = self.text(&header::AUTHORIZATION)?.split_once(' ')?;
        scheme.eq_ignore_ascii_case("bearer").then(|| token.trim().to_owned())
    }

    /// Reads the body of the request.
    async fn body<S, B>(&self, stream: S, most: usize) -> Result<Body, ServerError>
    where
        S: Stream<Item = Result<B, warp::Error>>,
        B: Buf,
    {
        Body::read(self, stream, most, self.service.config.body_timeout, &self.budget).await
    }
}

/// Renders what a handler returns.
async fn rendered(handler: impl Future<Output = Result<Response, ServerError>>) -> Response {
    handler.await.unwrap_or_else(|e| problem::render(&e))
}
