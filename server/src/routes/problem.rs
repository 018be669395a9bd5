//! Problem documents (RFC 9457): every error of the service reads the same.

use crate::error::{Refusal, ServerError};
use sheaf_model::wire::Problem;
use warp::{
    Rejection,
    http::{HeaderValue, StatusCode, header},
    reply::Response,
};

tokio::task_local! {
    /// The number of the request that is being answered.
    pub static REQUEST: String;
}

/// The code of a problem document, kept beside the answer.
#[derive(Debug, Clone, Copy)]
pub struct Code(pub &'static str);

/// Renders an error as a problem document, and logs what its sender is not told.
pub fn render(error: &ServerError) -> Response {
    let refusal = error.refusal();
    if refusal.status >= 500 {
        tracing::error!(error = %error, status = refusal.status, "a request failed");
    }
    document(&refusal)
}

fn document(refusal: &Refusal) -> Response {
    let instance = REQUEST.try_with(|id| format!("urn:uuid:{id}")).ok();
    let problem = Problem {
        kind: format!("/problems/{}", refusal.code.replace('_', "-")),
        title: refusal.title.to_owned(),
        status: refusal.status,
        detail: refusal.detail.clone(),
        code: refusal.code.to_owned(),
        field: refusal.field.clone(),
        instance,
    };
    let text = serde_json::to_string(&problem).unwrap_or_default();
    let mut reply = Response::new(text.into());
    *reply.status_mut() = StatusCode::from_u16(refusal.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
    reply.extensions_mut().insert(Code(refusal.code));
    let headers = reply.headers_mut();
    headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("application/problem+json"));
    if refusal.status == 401 {
        headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer realm=\"sheaf\""));
    }
    if let Some(seconds) = refusal.retry_after_s {
        headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
    }
    reply
}

/// Turns what no route took into a problem document.
pub fn rejected(rejection: &Rejection) -> Response {
    render(&if rejection.find::<warp::reject::MethodNotAllowed>().is_some() {
        ServerError::refuse(
            405,
            "method_not_allowed",
            "Method not allowed",
            "This address does not take this method; the `Allow` header names those it takes.",
        )
    } else if rejection.is_not_found() {
        ServerError::refuse(
            404,
            "unknown_route",
            "No such address",
            "There is nothing at this address; GET /v1/openapi.json describes what there is.",
        )
    } else {
        tracing::debug!(?rejection, "no route took a request");
        ServerError::refuse(
            400,
            "bad_request",
            "The request cannot be read",
            "No address takes a request of this form; GET /v1/openapi.json describes what each takes.",
        )
    })
}
