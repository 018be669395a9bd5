//! Routes about the service itself: whether it lives, whether it takes, what it counts.

use super::{Head, Shared, head, rendered, reply};
use crate::{
    error::ServerError,
    listen::blocking,
    metrics::MEDIA_TYPE,
    service::{Service, for_its_keeper},
};
use serde_json::json;
use std::{sync::Arc, time::Duration};
use warp::{Filter, filters::BoxedFilter, http::StatusCode, reply::Response};

/// How long the committer may take to say that it could write.
const PATIENCE: Duration = Duration::from_secs(5);

pub fn health(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    let service = shared.service.clone();
    warp::path!("v1" / "health")
        .and(warp::get())
        .then(move || {
            let service = service.clone();
            rendered(async move {
                let (status, word) = match service.store.stopped() {
                    None => (StatusCode::OK, "ok"),
                    Some(_) => (StatusCode::SERVICE_UNAVAILABLE, "stopped"),
                };
                let body = json!({
                    "status": word,
                    "version": env!("CARGO_PKG_VERSION"),
                    "clock_ms": service.clock.now_ms(),
                });
                reply::json(status, &body)
            })
        })
        .boxed()
}

pub fn ready(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "ready")
        .and(warp::get())
        .and(head(shared))
        .then(|head: Head| {
            rendered(async move {
                if *head.stop.borrow() {
                    return Err(unready("stopping", "It was told to stop; requests in flight may finish."));
                }
                could_write(&head.service).await?;
                reply::json(StatusCode::OK, &json!({"status": "ready"}))
            })
        })
        .boxed()
}

/// Checks that the journal can be written and the index is level with it. Anybody may ask, so files are not named.
async fn could_write(service: &Service) -> Result<(), ServerError> {
    let looked = match service.store.look() {
        Ok(answer) => match tokio::time::timeout(PATIENCE, answer).await {
            Ok(Ok(looked)) => looked,
            Ok(Err(_)) => return Err(unready("stopping", "It is stopping.")),
            Err(_) => return Err(unready("busy", "Its disk has not done what was asked of it for seconds.")),
        },
        Err(e) => Err(e),
    };
    looked.map_err(|e| {
        tracing::warn!(error = %e, "the service is not ready");
        match e {
            ServerError::Refused(_) => e,
            ServerError::Stopped(_) => unready("stopped", "It could not write to its disk, and stopped."),
            ServerError::Index(_) => unready("index", "Its index cannot be used; a restart makes it anew."),
            _ => unready("journal", "Its journal is not there, or cannot be written to."),
        }
    })
}

fn unready(code: &'static str, why: &str) -> ServerError {
    let detail = format!("The service takes nothing now. {why} Its log says more. What is kept stays kept.");
    ServerError::refuse(503, code, "Not ready", detail).retry_after(5)
}

pub fn metrics(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "metrics")
        .and(warp::get())
        .and(head(shared))
        .then(|head: Head| {
            rendered(async move {
                let key = super::token(&head.headers);
                if !head.caller.origin.local && !key.is_some_and(|key| head.service.is_key(&key)) {
                    return Err(for_its_keeper());
                }
                blocking(move || {
                    let service = &head.service;
                    let text = service.metrics.text(service.store.census()?);
                    Ok(reply::typed(StatusCode::OK, MEDIA_TYPE, text.into_bytes()))
                })
                .await
            })
        })
        .boxed()
}

pub fn openapi(_: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "openapi.json")
        .and(warp::get())
        .then(|| rendered(async { reply::json(StatusCode::OK, &super::openapi::document()) }))
        .boxed()
}
