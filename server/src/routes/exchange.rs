//! The route of the exchange.

use super::{Shared, head, rendered, reply};
use crate::listen::blocking;
use sheaf_model::wire::ExchangeRequest;
use std::sync::Arc;
use warp::{Filter, filters::BoxedFilter, http::StatusCode, reply::Response};

pub fn exchange(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "exchange")
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|team: String, head: super::Head, stream| {
            rendered(async move {
                let who = head.session(&team).await?;
                let body = head.body(stream, head.service.config.exchange_bytes).await?;
                let service = head.service.clone();
                let (ask, _held) = blocking(move || {
                    let (ask, held) = body.json::<ExchangeRequest>()?;
                    service.check_exchange(who, &ask)?;
                    Ok((ask, held))
                })
                .await?;
                let ExchangeRequest { have, entries, .. } = ask;
                let pushed = head.service.push(who, entries).await?;
                tracing::debug!(
                    kept = pushed.kept,
                    known = pushed.known,
                    refused = pushed.refused.len(),
                    "exchanged"
                );
                blocking(move || {
                    let answer = head.service.answer_exchange(who, have, pushed)?;
                    reply::json(StatusCode::OK, &answer)
                })
                .await
            })
        })
        .boxed()
}
