//! Reading a request's body: never more than is allowed, never for ever, packed or not.

use super::Head;
use crate::error::ServerError;
use bytes::Buf;
use flate2::read::GzDecoder;
use futures_util::{Stream, StreamExt};
use serde::de::DeserializeOwned;
use std::{
    io::{ErrorKind, Read},
    pin::pin,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};
use warp::http::header;

/// Memory for bodies, shared by all connections.
#[derive(Debug, Clone)]
pub struct Budget {
    left: Arc<AtomicUsize>,
}

/// Memory that a body takes; given back when it is dropped.
#[derive(Debug)]
struct Taken {
    budget: Budget,
    bytes: usize,
}

impl Budget {
    /// Makes a budget of so many bytes.
    pub fn new(bytes: usize) -> Self {
        Self { left: Arc::new(AtomicUsize::new(bytes)) }
    }

    fn take(&self, bytes: usize) -> bool {
        self.left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |left| left.checked_sub(bytes)).is_ok()
    }
}

impl Drop for Taken {
    fn drop(&mut self) {
        self.budget.left.fetch_add(self.bytes, Ordering::SeqCst);
    }
}

/// The body of a request as it came.
#[derive(Debug)]
pub struct Body {
    bytes: Vec<u8>,
    packed: bool,
    most: usize,
    _taken: Taken,
}

impl Body {
    /// Reads a body of at most `most` bytes.
    pub async fn read<S, B>(
        head: &Head,
        stream: S,
        most: usize,
        time: Duration,
        budget: &Budget,
    ) -> Result<Self, ServerError>
    where
        S: Stream<Item = Result<B, warp::Error>>,
        B: Buf,
    {
        let packed = check_head(head, most)?;
        match tokio::time::timeout(time, collect(stream, most, budget)).await {
            Ok(read) => read.map(|(bytes, taken)| Self { bytes, packed, most, _taken: taken }),
            Err(_) => Err(ServerError::refuse(
                408,
                "slow_body",
                "The request took too long",
                format!("The body did not arrive within {} seconds; send less at a time.", time.as_secs()),
            )),
        }
    }

    /// Returns the unpacked bytes.
    pub fn unpack(self) -> Result<Vec<u8>, ServerError> {
        if !self.packed {
            return Ok(self.bytes);
        }
        let mut bytes = Vec::new();
        let read = GzDecoder::new(&self.bytes[..]).take(self.most as u64 + 1).read_to_end(&mut bytes);
        if bytes.len() > self.most {
            return Err(too_large(self.most));
        }
        match read {
            Ok(_) => Ok(bytes),
            Err(e) if e.kind() == ErrorKind::OutOfMemory => Err(too_large(self.most)),
            Err(e) => Err(ServerError::refuse(
                400,
                "bad_gzip",
                "The body cannot be unpacked",
                format!("The body says it is gzip and cannot be unpacked: {e}."),
            )),
        }
    }

    /// Reads the body as JSON of a shape.
    pub fn json<T: DeserializeOwned>(self) -> Result<T, ServerError> {
        serde_json::from_slice(&self.unpack()?).map_err(|e| {
            ServerError::refuse(
                400,
                "bad_json",
                "The body cannot be read",
                format!("The body is not the JSON that this address takes: {e}. GET /v1/openapi.json describes it."),
            )
        })
    }
}

/// Checks what the head says of the body; returns whether it is packed.
fn check_head(head: &Head, most: usize) -> Result<bool, ServerError> {
    let unsupported = |detail: String| {
        Err(ServerError::refuse(415, "unsupported_media_type", "Unsupported media type", detail))
    };
    if let Some(kind) = head.text(&header::CONTENT_TYPE) {
        let kind = kind.split(';').next().unwrap_or_default().trim();
        if !kind.eq_ignore_ascii_case("application/json") {
            let shown: String = kind.chars().take(60).collect();
            return unsupported(format!("This address takes `application/json`, and not `{shown}`."));
        }
    }
    let packed = match head.text(&header::CONTENT_ENCODING).map(str::trim) {
        None => false,
        Some(coding) if coding.eq_ignore_ascii_case("identity") => false,
        Some(coding) if coding.eq_ignore_ascii_case("gzip") => true,
        Some(_) => return unsupported("Bodies come as they are or packed with `gzip`.".into()),
    };
    let length = head.text(&header::CONTENT_LENGTH).and_then(|l| l.parse::<u64>().ok());
    match length {
        Some(length) if length > most as u64 => Err(too_large(most)),
        _ => Ok(packed),
    }
}

async fn collect<S, B>(stream: S, most: usize, budget: &Budget) -> Result<(Vec<u8>, Taken), ServerError>
where
    S: Stream<Item = Result<B, warp::Error>>,
    B: Buf,
{
    let mut taken = Taken { budget: budget.clone(), bytes: 0 };
    let mut bytes = Vec::new();
    let mut stream = pin!(stream);
    while let Some(chunk) = stream.next().await {
        let mut chunk = chunk.map_err(|e| {
            ServerError::refuse(
                400,
                "cut_body",
                "The request was cut off",
                format!("The body did not arrive whole: {e}."),
            )
        })?;
        let len = chunk.remaining();
        if bytes.len() + len > most {
            return Err(too_large(most));
        }
        if !budget.take(len) {
            let detail = "Too many large requests at this moment; nothing is lost, try again in a moment.";
            return Err(ServerError::refuse(503, "busy", "Too busy", detail).retry_after(5));
        }
        taken.bytes += len;
        while chunk.has_remaining() {
            let part = chunk.chunk();
            bytes.extend_from_slice(part);
            let len = part.len();
            chunk.advance(len);
        }
    }
    Ok((bytes, taken))
}

fn too_large(most: usize) -> ServerError {
    ServerError::refuse(
        413,
        "too_large",
        "The request is too large",
        format!("This address takes at most {most} bytes, packed or unpacked; send less at a time."),
    )
}
