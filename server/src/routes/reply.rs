//! Replies: JSON, packing, and the headers that every one of them has.

use super::page::OfThePage;
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

/// What the page may do: load, run and ask only what is of its own origin, and run WebAssembly. Pictures that a person
/// picks have addresses of the kinds `blob:` and `data:`.
const PAGE_POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' \
                           blob: data:; connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; \
                           form-action 'none'; frame-ancestors 'none'";
/// What of the device the page may use: the camera for a picture of the target, and a screen that stays on.
const PAGE_PERMISSIONS: &str = "camera=(self), display-capture=(), geolocation=(), microphone=(), payment=(), \
                                screen-wake-lock=(self), usb=()";

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
    let page = parts.extensions.get::<OfThePage>().is_some();
    let varies = if page { "accept-encoding" } else { "accept, accept-encoding" };
    parts.headers.insert(header::VARY, HeaderValue::from_static(varies));
    if packs && !page && bytes.len() >= WORTH_PACKING {
        let plain = bytes.clone();
        let packed = tokio::task::spawn_blocking(move || pack(&plain, Compression::fast())).await;
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

/// Packs bytes with gzip.
pub fn pack(plain: &[u8], how: Compression) -> std::io::Result<Vec<u8>> {
    let mut out = GzEncoder::new(Vec::with_capacity(plain.len() / 4), how);
    out.write_all(plain)?;
    out.finish()
}

/// Adds what every reply has.
pub fn dress(mut reply: Response, id: &str, secure: bool) -> Response {
    let (kept, policy, permissions) = match reply.extensions().get::<OfThePage>() {
        // A browser may keep a file of the page, and asks each time whether it is still the same.
        Some(_) => ("no-cache", PAGE_POLICY, PAGE_PERMISSIONS),
        None => ("no-store", POLICY, PERMISSIONS),
    };
    let headers = reply.headers_mut();
    for (name, value) in [
        ("cache-control", kept),
        ("content-security-policy", policy),
        ("cross-origin-resource-policy", "same-origin"),
        ("permissions-policy", permissions),
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
