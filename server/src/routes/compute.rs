//! The compute door over HTTP.

use super::{Shared, head, rendered, reply};
use crate::{error::ServerError, listen::blocking};
use serde::Serialize;
use serde_json::Value;
use sheaf_model::{ModelError, door};
use std::sync::Arc;
use warp::{Filter, filters::BoxedFilter, http::StatusCode, reply::Response};

/// The methods of the door.
#[derive(Serialize)]
struct Methods {
    methods: Vec<Method>,
}

/// A method of the door.
#[derive(Serialize)]
struct Method {
    name: &'static str,
    summary: &'static str,
    help: &'static str,
}

pub fn methods(_: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "compute")
        .and(warp::get())
        .then(|| {
            rendered(async {
                let of = |m: &door::Method| Method { name: m.name, summary: m.summary, help: m.help };
                reply::json(StatusCode::OK, &Methods { methods: door::METHODS.iter().map(of).collect() })
            })
        })
        .boxed()
}

pub fn compute(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "compute" / String)
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|method: String, head: super::Head, stream| {
            rendered(async move {
                head.known()?;
                door::method(&method).map_err(unusable)?;
                let body = head.body(stream, head.service.config.compute_bytes).await?;
                let place = head.places.computation()?;
                blocking(move || {
                    let _place = place;
                    let (input, _held): (Value, _) = body.json()?;
                    let output = door::compute(&method, &input).map_err(unusable)?;
                    reply::json(StatusCode::OK, &output)
                })
                .await
            })
        })
        .boxed()
}

fn unusable(e: ModelError) -> ServerError {
    let (status, title) = match e.code {
        "unknown_method" => (404, "Unknown method"),
        _ => (422, "The input cannot be used"),
    };
    let refusal = ServerError::refuse(status, e.code, title, e.message);
    match e.field {
        Some(field) => refusal.at(field),
        None => refusal,
    }
}
