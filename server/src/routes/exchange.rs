//! The route of the exchange.

use super::{Head, Shared, head, rendered, reply};
use crate::{error::ServerError, listen::blocking, metrics::Exchanged};
use bytes::Buf;
use futures_util::Stream;
use sheaf_model::wire::ExchangeRequest;
use std::sync::Arc;
use warp::{Filter, filters::BoxedFilter, http::StatusCode, reply::Response};

pub fn exchange(shared: &Arc<Shared>) -> BoxedFilter<(Response,)> {
    warp::path!("v1" / "teams" / String / "exchange")
        .and(warp::post())
        .and(head(shared))
        .and(warp::body::stream())
        .then(|team: String, head: Head, stream| {
            rendered(async move {
                let metrics = head.service.metrics.clone();
                let done = take_and_give(&team, head, stream).await;
                metrics.exchanged(match &done {
                    Ok(_) => Exchanged::Answered,
                    Err(e) if e.refusal().status < 500 => Exchanged::Refused,
                    Err(_) => Exchanged::Failed,
                });
                done
            })
        })
        .boxed()
}

async fn take_and_give<S, B>(team: &str, head: Head, stream: S) -> Result<Response, ServerError>
where
    S: Stream<Item = Result<B, warp::Error>>,
    B: Buf,
{
    let who = head.session(team)?;
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
    tracing::debug!(kept = pushed.kept, known = pushed.known, refused = pushed.refused.len(), "exchanged");
    blocking(move || {
        let answer = head.service.answer_exchange(who, have, pushed)?;
        reply::json(StatusCode::OK, &answer)
    })
    .await
}
