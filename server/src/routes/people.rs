//! Routes of access: founding, inviting, joining, renewing, shutting out, roles.

use super::{Head, Shared, head, rendered, reply};
use crate::{error::ServerError, listen::blocking};
use bytes::Buf;
use futures_util::Stream;
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use sheaf_model::wire::{DeviceInfo, Role};
use std::sync::Arc;
use warp::{Filter, filters::BoxedFilter, http::StatusCode, reply::Response};

/// The devices of a team.
#[derive(Serialize)]
struct Devices {
    devices: Vec<DeviceInfo>,
}

/// A role to give.
#[derive(Deserialize)]
struct GiveRole {
    role: Role,
}

pub fn found(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams")
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|head: Head, stream| {
            rendered(async move {
                let admitted =
                    asked(head, stream, |head, ask| head.service.found(ask, head.address())).await?;
                reply::json(StatusCode::CREATED, &admitted)
            })
        })
        .boxed()
}

pub fn join(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "join")
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|head: Head, stream| {
            rendered(async move {
                let admitted =
                    asked(head, stream, |head, ask| head.service.join(ask, head.address())).await?;
                reply::json(StatusCode::CREATED, &admitted)
            })
        })
        .boxed()
}

pub fn invite(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "invites")
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|team: String, head: Head, stream| {
            rendered(async move {
                let who = head.session(&team)?;
                let invite = asked(head, stream, move |head, ask| head.service.invite(who, &ask)).await?;
                reply::json(StatusCode::CREATED, &invite)
            })
        })
        .boxed()
}

pub fn renew(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "devices")
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|team: String, head: Head, stream| {
            rendered(async move {
                let who = head.session(&team)?;
                let admitted = asked(head, stream, move |head, ask| head.service.renew(who, ask)).await?;
                reply::json(StatusCode::CREATED, &admitted)
            })
        })
        .boxed()
}

pub fn devices(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "devices")
        .and(warp::get())
        .and(head(shared))
        .then(|team: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                let devices = blocking(move || head.service.devices(who)).await?;
                reply::json(StatusCode::OK, &Devices { devices })
            })
        })
        .boxed()
}

pub fn shut(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "devices" / String)
        .and(warp::delete())
        .and(head(shared))
        .then(|team: String, device: String, head: Head| {
            rendered(async move {
                let who = head.session(&team)?;
                blocking(move || head.service.shut(who, &device)).await?;
                Ok::<_, ServerError>(reply::nothing())
            })
        })
        .boxed()
}

pub fn role(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "people" / String / "role")
        .and(warp::put())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|team: String, person: String, head: Head, stream| {
            rendered(async move {
                let who = head.session(&team)?;
                asked(head, stream, move |head, GiveRole { role }| {
                    head.service.give_role(who, &person, role)
                })
                .await?;
                Ok::<_, ServerError>(reply::nothing())
            })
        })
        .boxed()
}

/// Reads the body of a small request and does what it asks; the memory of the body is held until that is done.
async fn asked<S, B, T, R>(
    head: Head,
    stream: S,
    work: impl FnOnce(&Head, T) -> Result<R, ServerError> + Send + 'static,
) -> Result<R, ServerError>
where
    S: Stream<Item = Result<B, warp::Error>>,
    B: Buf,
    T: DeserializeOwned,
    R: Send + 'static,
{
    let body = head.body(stream, head.service.config.small_bytes).await?;
    blocking(move || {
        let (ask, _held) = body.json()?;
        work(&head, ask)
    })
    .await
}
