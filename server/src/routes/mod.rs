//! The HTTP side: a table of routes, what every answer has in common, and the routes themselves.

mod body;
mod compute;
mod events;
mod exchange;
mod meta;
mod openapi;
mod origin;
mod page;
mod people;
mod places;
mod problem;
mod read;
mod reply;
mod table;

use crate::{
    config::Config,
    error::ServerError,
    listen::blocking,
    pace::{Pace, network},
    service::{Service, Session, tokenless},
};
use body::{Body, Budget};
use bytes::Buf;
use futures_util::Stream;
use hyper::body::Incoming;
use origin::Origin;
use places::Places;
use problem::{Code, REQUEST};
use sheaf_model::id::{DeviceId, TeamId};
use std::{convert::Infallible, future::Future, net::IpAddr, sync::Arc, time::Instant};
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
    paces: Paces,
}

/// How many requests may come from whom.
struct Paces {
    devices: Pace<(TeamId, DeviceId)>,
    addresses: Pace<IpAddr>,
    strangers: Pace<IpAddr>,
    pages: Pace<IpAddr>,
}

/// Who asks.
#[derive(Clone)]
struct Caller {
    origin: Origin,
    session: Arc<Result<Session, ServerError>>,
}

/// What a handler may know of a request beside its path and body.
#[derive(Clone)]
pub struct Head {
    /// The service.
    pub service: Arc<Service>,
    headers: HeaderMap,
    caller: Caller,
    budget: Budget,
    places: Places,
    stop: watch::Receiver<bool>,
}

impl Api {
    /// Makes the routes of a service; `stop` turns true when it is told to stop.
    pub fn new(service: Arc<Service>, stop: watch::Receiver<bool>) -> Self {
        let budget = Budget::new(service.config.bodies_bytes);
        let places = Places::new(&service.config, service.metrics.clone());
        let paces = Paces::new(&service.config);
        let shared = Arc::new(Shared { service, budget, places, stop, paces });
        let routes = all(&shared);
        Self { shared, routes }
    }

    /// Returns the service.
    pub fn service(&self) -> &Service {
        &self.shared.service
    }

    /// Answers a request: number, log line, security headers, packing.
    pub async fn answer(&self, request: Request<Incoming>, peer: Peer) -> Response {
        let origin = Origin::of(peer.0, request.headers());
        let id = origin.request_id(request.headers()).unwrap_or_else(request_id);
        let route = table::find(request.method(), request.uri().path());
        let span =
            tracing::info_span!("request", id, method = %request.method(), path = request.uri().path());
        let started = Instant::now();
        let answer = async {
            let reply = self.route(request, origin).await;
            let ms = started.elapsed().as_millis() as u64;
            tracing::info!(status = reply.status().as_u16(), ms, "answered");
            reply
        };
        let reply = REQUEST.scope(id.clone(), answer).instrument(span).await;
        let metrics = &self.shared.service.metrics;
        metrics.answered(route, reply.status().as_u16(), started.elapsed());
        if let Some(Code(code)) = reply.extensions().get() {
            metrics.refused(code);
        }
        reply::dress(reply, &id, origin.secure || self.shared.service.config.tls.is_some())
    }

    async fn route(&self, mut request: Request<Incoming>, origin: Origin) -> Response {
        let asked_head = request.method() == Method::HEAD;
        if asked_head {
            *request.method_mut() = Method::GET;
        }
        let path = request.uri().path().to_owned();
        let packs = reply::accepts_gzip(request.headers());
        let caller = match table::of_the_page(&path) {
            true => self.reader(origin),
            false => self.caller(origin, request.headers()).await,
        };
        let reply = match caller {
            Err(refused) => problem::render(&refused),
            Ok(caller) => {
                request.extensions_mut().insert(caller);
                let service =
                    hyper_util::service::TowerToHyperService::new(warp::service(self.routes.clone()));
                match hyper::service::Service::call(&service, request).await {
                    Ok(reply) => table::with_allow(reply, &path),
                    Err(never) => match never {},
                }
            }
        };
        reply::finish(reply, packs, asked_head).await
    }

    /// Lets whoever asks for a file of the page do so at a pace of its own: a first visit fetches all files at once, and
    /// everybody at a range may share one address, which is not to be shut out of the interface for that.
    fn reader(&self, origin: Origin) -> Result<Caller, ServerError> {
        if !origin.direct {
            self.shared.paces.pages.take(network(origin.address), "Your address, for files of the page,")?;
        }
        Ok(Caller { origin, session: Arc::new(Err(tokenless())) })
    }

    /// Finds out who asks, and refuses who asks too often.
    async fn caller(&self, origin: Origin, headers: &HeaderMap) -> Result<Caller, ServerError> {
        let Shared { service, paces, .. } = &*self.shared;
        let sender = network(origin.address);
        if !origin.direct {
            paces.addresses.take(sender, "Your address")?;
        }
        let session = match token(headers) {
            None => Err(tokenless()),
            Some(token) => {
                let service = service.clone();
                blocking(move || service.known(&token)).await
            }
        };
        match &session {
            Ok(who) => paces.devices.take((who.team, who.device), "This device")?,
            Err(_) if origin.direct => {}
            Err(_) => paces.strangers.take(sender, "Your address, without the token of a device,")?,
        }
        Ok(Caller { origin, session: Arc::new(session) })
    }
}

impl Paces {
    fn new(config: &Config) -> Self {
        let window = config.request_window;
        Self {
            devices: Pace::new(config.device_requests, window),
            addresses: Pace::new(config.address_requests, window),
            strangers: Pace::new(config.stranger_requests, window),
            pages: Pace::new(config.page_requests, window),
        }
    }
}

/// Returns every route of the service: method, and path with parameters in braces.
pub fn routes() -> impl Iterator<Item = (&'static str, &'static str)> {
    ROUTES.iter().map(|route| (route.method, route.path))
}

fn request_id() -> String {
    match crate::secret::random::<16>() {
        Ok(bytes) => uuid::Builder::from_random_bytes(bytes).into_uuid().to_string(),
        Err(_) => uuid::Uuid::nil().to_string(),
    }
}

/// Returns the token that was sent.
fn token(headers: &HeaderMap) -> Option<String> {
    let (scheme, token) = headers.get(header::AUTHORIZATION)?.to_str().ok()?.split_once(' ')?;
    scheme.eq_ignore_ascii_case("bearer").then(|| token.trim().to_owned())
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
    warp::header::headers_cloned().and(warp::ext::get::<Caller>()).map(move |headers, caller| Head {
        service: shared.service.clone(),
        headers,
        caller,
        budget: shared.budget.clone(),
        places: shared.places.clone(),
        stop: shared.stop.clone(),
    })
}

impl Head {
    /// Returns the text of a header.
    pub fn text(&self, name: &HeaderName) -> Option<&str> {
        self.headers.get(name).and_then(|v| v.to_str().ok())
    }

    /// Returns the address of who asks.
    pub fn address(&self) -> IpAddr {
        self.caller.origin.address
    }

    /// Returns the session of the token that was sent, for a team.
    pub fn session(&self, team: &str) -> Result<Session, ServerError> {
        self.known()?.of(team)
    }

    /// Returns the session of the token that was sent, whatever its team.
    pub fn known(&self) -> Result<Session, ServerError> {
        self.caller.session.as_ref().as_ref().copied().map_err(ServerError::again)
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
