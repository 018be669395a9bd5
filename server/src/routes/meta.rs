//! Routes about the service itself.

use super::{Shared, rendered, reply};
use serde_json::json;
use std::sync::Arc;
use warp::{Filter, filters::BoxedFilter, http::StatusCode, reply::Response};

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

pub fn openapi(_: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "openapi.json")
        .and(warp::get())
        .then(|| rendered(async { reply::json(StatusCode::OK, &super::openapi::document()) }))
        .boxed()
}
