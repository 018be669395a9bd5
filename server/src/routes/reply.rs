//! Replies: JSON, packing, and the headers that every one of them has.

use crate::error::ServerError;
use bytes::Bytes;
use flate2::{Compression, write::GzEncoder};
use http_body_util::BodyExt;
use serde::Serialize;
use std::io::Write;
use warp::{
    http::{HeaderMap, HeaderValue, StatusCode, header},
    reply::Response,
};

/// Replies below this size are not worth packing.
const WORTH_PACKING: usize = 1024;

/// What a browser may do with an answer: nothing that loads, runs or frames anything.
const POLICY: &str = "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'";
/// What of the device a page made of an answer may use: nothing.
const PERMISSIONS: &str = "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()";

/// Renders a value as JSON.
pub fn json<T: Serialize>(status: StatusCode, value: &T) -> Result<Response, ServerError> {
    let text = serde_json::to_vec(value)
        .map_err(|e| ServerError::Task(format!("a reply cannot be written: {e}")))?;
    Ok(typed(status, "application/json", text))
}

/// Makes a reply of a media type.
pub fn typed(status: StatusCode, media_type: &'static str, bytes: Vec<u8>) -> Response {
    let mut reply = Response::new(bytes.into());
    *reply.status_mut() = status;
    reply.headers_mut().insert(header::CONTENT_TYPE, HeaderValue::from_static(media_type));
    reply
}

/// Returns an empty reply.
pub fn nothing() -> Response {
    let mut reply = Response::new(Bytes::new().into());
    *reply.status_mut() = StatusCode::NO_CONTENT;
    reply
}

/// Returns whether the asker reads gzip.
pub fn accepts_gzip(headers: &HeaderMap) -> bool {
    let listed = headers.get_all(header::ACCEPT_ENCODING).iter().filter_map(|v| v.to_str().ok());
    listed.flat_map(|list| list.split(',')).any(|item| {
        let mut parts = item.split(';').map(str::trim);
        let name = parts.next().unwrap_or_default();
        let refused =
            parts.any(|p| matches!(p.replace(' ', "").as_str(), "q=0" | "q=0.0" | "q=0.00" | "q=0.000"));
        !refused && (name.eq_ignore_ascii_case("gzip") || name == "*")
    })
}

/// Packs a reply for who reads gzip, and takes the body off the answer to HEAD.
pub async fn finish(reply: Response, packs: bool, head_only: bool) -> Response {
    let live = reply
        .headers()
        .get(header::CONTENT_TYPE)
        .is_some_and(|t| t.as_bytes().starts_with(b"text/event-stream"));
    if live && !head_only {
        return reply;
    }
    let (mut parts, body) = reply.into_parts();
    if live {
        return Response::from_parts(parts, Bytes::new().into());
    }
    let mut bytes = match body.collect().await {
        Ok(collected) => collected.to_bytes(),
        Err(e) => return super::problem::render(&ServerError::Task(format!("a reply broke off: {e}"))),
    };
    parts.headers.insert(header::VARY, HeaderValue::from_static("accept, accept-encoding"));
    if packs && bytes.len() >= WORTH_PACKING {
        let plain = bytes.clone();
        let packed = tokio::task::spawn_blocking(move || pack(&plain)).await;
        if let Ok(Ok(packed)) = packed {
            bytes = packed.into();
            parts.headers.insert(header::CONTENT_ENCODING, HeaderValue::from_static("gzip"));
        }
    }
    if head_only {
        parts.headers.insert(header::CONTENT_LENGTH, HeaderValue::from(bytes.len()));
        bytes = Bytes::new();
    }
    Response::from_parts(parts, bytes.into())
}

fn pack(plain: &[u8]) -> std::io::Result<Vec<u8>> {
    let mut out = GzEncoder::new(Vec::with_capacity(plain.len() / 4), Compression::fast());
    out.write_all(plain)?;
    out.finish()
}

/// Adds what every reply has.
pub fn dress(mut reply: Response, id: &str, secure: bool) -> Response {
    let headers = reply.headers_mut();
    for (name, value) in [
        ("cache-control", "no-store"),
        ("content-security-policy", POLICY),
        ("cross-origin-resource-policy", "same-origin"),
        ("permissions-policy", PERMISSIONS),
        ("referrer-policy", "no-referrer"),
        ("x-content-type-options", "nosniff"),
        ("x-frame-options", "DENY"),
    ] {
        headers.insert(name, HeaderValue::from_static(value));
    }
    if secure {
        // Said over plain HTTP it would be ignored, and could lock out who reaches the service without TLS.
        headers.insert(header::STRICT_TRANSPORT_SECURITY, HeaderValue::from_static("max-age=31536000"));
    }
    if let Ok(id) = HeaderValue::from_str(id) {
        headers.insert("x-request-id", id);
    }
    reply
}
