//! Reading a request's body: never more than is allowed, never for ever, packed or not.

use super::Head;
use crate::error::ServerError;
use bytes::Buf;
use flate2::read::GzDecoder;
use futures_util::{Stream, StreamExt};
use serde::de::DeserializeOwned;
use std::{
    io::{self, ErrorKind, Read},
    pin::pin,
    sync::{
        Arc,
        atomic::{AtomicUsize, Ordering},
    },
    time::Duration,
};
use warp::http::header;

/// How many bytes are unpacked at a time.
const CHUNK: usize = 64 << 10;

/// Memory for bodies, shared by all connections.
#[derive(Debug, Clone)]
pub struct Budget {
    left: Arc<AtomicUsize>,
}

/// Memory that a body takes, packed, unpacked and read; given back when it is dropped, which is to be when the
/// request is answered.
#[derive(Debug)]
pub struct Taken {
    budget: Budget,
    bytes: usize,
}

impl Budget {
    /// Makes a budget of so many bytes.
    pub fn new(bytes: usize) -> Self {
        Self { left: Arc::new(AtomicUsize::new(bytes)) }
    }

    fn begin(&self) -> Taken {
        Taken { budget: self.clone(), bytes: 0 }
    }
}

impl Taken {
    fn grow(&mut self, bytes: usize) -> Result<(), ServerError> {
        let left = &self.budget.left;
        let took = left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |left| left.checked_sub(bytes));
        if took.is_err() {
            let detail = "Too many large requests at this moment; nothing is lost, try again in a moment.";
            return Err(ServerError::refuse(503, "busy", "Too busy", detail).retry_after(5));
        }
        self.bytes += bytes;
        Ok(())
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
    taken: Taken,
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
            Ok(read) => read.map(|(bytes, taken)| Self { bytes, packed, most, taken }),
            Err(_) => Err(ServerError::refuse(
                408,
                "slow_body",
                "The request took too long",
                format!("The body did not arrive within {} seconds; send less at a time.", time.as_secs()),
            )),
        }
    }

    /// Returns the unpacked bytes, and the memory that they take.
    fn unpack(mut self) -> Result<(Vec<u8>, Taken), ServerError> {
        if !self.packed {
            return Ok((self.bytes, self.taken));
        }
        let (mut bytes, mut chunk) = (Vec::new(), vec![0; CHUNK]);
        let mut packed = GzDecoder::new(&self.bytes[..]);
        loop {
            let len = match packed.read(&mut chunk) {
                Ok(0) => return Ok((bytes, self.taken)),
                Ok(len) => len,
                Err(e) if e.kind() == ErrorKind::Interrupted => continue,
                Err(e) => return Err(bad_gzip(&e)),
            };
            if bytes.len() + len > self.most {
                return Err(too_large(self.most));
            }
            self.taken.grow(len)?;
            bytes.extend_from_slice(&chunk[..len]);
        }
    }

    /// Reads the body as JSON of a shape; the memory that it takes is to be held until the answer is made.
    pub fn json<T: DeserializeOwned>(self) -> Result<(T, Taken), ServerError> {
        let (bytes, taken) = self.unpack()?;
        let read = serde_json::from_slice(&bytes).map_err(|e| {
            ServerError::refuse(
                400,
                "bad_json",
                "The body cannot be read",
                format!("The body is not the JSON that this address takes: {e}. GET /v1/openapi.json describes it."),
            )
        })?;
        Ok((read, taken))
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
    let mut taken = budget.begin();
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
        taken.grow(len)?;
        while chunk.has_remaining() {
            let part = chunk.chunk();
            bytes.extend_from_slice(part);
            let len = part.len();
            chunk.advance(len);
        }
    }
    Ok((bytes, taken))
}

fn bad_gzip(e: &io::Error) -> ServerError {
    ServerError::refuse(
        400,
        "bad_gzip",
        "The body cannot be unpacked",
        format!("The body says it is gzip and cannot be unpacked: {e}."),
    )
}

fn too_large(most: usize) -> ServerError {
    ServerError::refuse(
        413,
        "too_large",
        "The request is too large",
        format!("This address takes at most {most} bytes, packed or unpacked; send less at a time."),
    )
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use flate2::{Compression, write::GzEncoder};
    use std::io::Write as _;

    const ROOM: usize = 300_000;

    /// A body of a few hundred bytes that unpacks to 200,000.
    fn small_and_large(budget: &Budget) -> Body {
        let mut out = GzEncoder::new(Vec::new(), Compression::best());
        out.write_all(format!("\"{}\"", "x".repeat(199_998)).as_bytes()).unwrap();
        Body { bytes: out.finish().unwrap(), packed: true, most: 1 << 20, taken: budget.begin() }
    }

    #[test]
    fn unpacked_bytes_count_until_the_request_is_answered() {
        let budget = Budget::new(ROOM);
        let left = || budget.left.load(Ordering::SeqCst);
        let (text, held) = small_and_large(&budget).json::<String>().unwrap();
        assert_eq!((text.len(), left()), (199_998, ROOM - 200_000));
        let Err(ServerError::Refused(second)) = small_and_large(&budget).json::<String>() else {
            panic!("there is no room for a second one");
        };
        assert_eq!((second.status, second.code, second.retry_after_s), (503, "busy", Some(5)));
        assert_eq!(left(), ROOM - 200_000, "what a refused one took is given back");
        drop(held);
        assert_eq!(left(), ROOM);
        small_and_large(&budget).json::<String>().unwrap();
    }
}
