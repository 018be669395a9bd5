//! Routes of access: founding, inviting, joining, renewing, shutting out, roles.

use super::{Shared, head, rendered, reply};
use crate::{error::ServerError, listen::blocking};
use serde::{Deserialize, Serialize};
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
        .then(|head: super::Head, stream| {
            rendered(async move {
                let body = head.body(stream, head.service.config.small_bytes).await?;
                let admitted = blocking(move || head.service.found(body.json()?, head.peer)).await?;
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
        .then(|head: super::Head, stream| {
            rendered(async move {
                let body = head.body(stream, head.service.config.small_bytes).await?;
                let admitted = blocking(move || head.service.join(body.json()?, head.peer)).await?;
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
        .then(|team: String, head: super::Head, stream| {
            rendered(async move {
                let who = head.session(&team).await?;
                let body = head.body(stream, head.service.config.small_bytes).await?;
                let invite = blocking(move || head.service.invite(who, &body.json()?)).await?;
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
        .then(|team: String, head: super::Head, stream| {
            rendered(async move {
                let who = head.session(&team).await?;
                let body = head.body(stream, head.service.config.small_bytes).await?;
                let admitted = blocking(move || head.service.renew(who, body.json()?)).await?;
                reply::json(StatusCode::CREATED, &admitted)
            })
        })
        .boxed()
}

pub fn devices(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "devices")
        .and(warp::get())
        .and(head(shared))
        .then(|team: String, head: super::Head| {
            rendered(async move {
                let who = head.session(&team).await?;
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
        .then(|team: String, device: String, head: super::Head| {
            rendered(async move {
                let who = head.session(&team).await?;
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
        .then(|team: String, person: String, head: super::Head, stream| {
            rendered(async move {
                let who = head.session(&team).await?;
                let body = head.body(stream, head.service.config.small_bytes).await?;
                blocking(move || {
                    let GiveRole { role } = body.json()?;
                    head.service.give_role(who, &person, role)
                })
                .await?;
                Ok::<_, ServerError>(reply::nothing())
            })
        })
        .boxed()
}
