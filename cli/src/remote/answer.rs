//! An answer of the network: read to its end within bounds, unpacked, and looked at.

use super::LONGEST;
use flate2::read::GzDecoder;
use reqwest::{blocking::Response, header};
use serde_json::value::RawValue;
use sheaf_model::wire::Problem;
use std::{
    io::{self, Read},
    time::Instant,
};

/// The most bytes of an answer, unpacked.
const MOST: u64 = 64 * 1024 * 1024;

/// An answer with its body unpacked.
pub struct Answer {
    /// The HTTP status.
    pub status: u16,
    /// Where it sends on to.
    pub sends_on: Option<String>,
    /// The body.
    pub body: Vec<u8>,
    /// How many bytes came over the network.
    pub bytes: u64,
    /// After how many seconds to come again, where it says so.
    pub retry_after_s: Option<u64>,
}

impl Answer {
    /// Reads an answer to its end.
    pub fn take(response: Response) -> io::Result<Self> {
        let status = response.status().as_u16();
        let place = response.headers().get(header::LOCATION).filter(|_| response.status().is_redirection());
        let sends_on =
            place.and_then(|place| Some(response.url().join(place.to_str().ok()?).ok()?.to_string()));
        let packed =
            response.headers().get(header::CONTENT_ENCODING).is_some_and(|v| v.as_bytes() == b"gzip");
        let later = response.headers().get(header::RETRY_AFTER).and_then(|v| v.to_str().ok());
        let retry_after_s = later.and_then(|seconds| seconds.parse().ok());
        let begun = Instant::now();
        let raw = read_until(&mut response.take(MOST), &|| begun.elapsed() > LONGEST)?;
        let bytes = raw.len() as u64;
        if !packed {
            return Ok(Self { status, sends_on, body: raw, bytes, retry_after_s });
        }
        let mut body = Vec::new();
        GzDecoder::new(raw.as_slice()).take(MOST).read_to_end(&mut body)?;
        Ok(Self { status, sends_on, body, bytes, retry_after_s })
    }

    /// Returns the problem document, when it is one.
    pub fn problem(&self) -> Option<Problem> {
        serde_json::from_slice(&self.body).ok()
    }

    /// Returns whether it is a page for people, as logins of networks and proxies send them.
    pub fn is_page(&self) -> bool {
        self.body.trim_ascii_start().starts_with(b"<")
    }

    /// Returns whether it is JSON of any shape.
    pub fn is_json(&self) -> bool {
        serde_json::from_slice::<&RawValue>(&self.body).is_ok()
    }
}

/// Reads an answer to its end, or until it is too late for more: a server that sends a byte now and then would hold
/// the reader for ever.
fn read_until(from: &mut impl Read, late: &dyn Fn() -> bool) -> io::Result<Vec<u8>> {
    let (mut all, mut part) = (Vec::new(), [0; 16 * 1024]);
    loop {
        match from.read(&mut part) {
            Ok(0) => return Ok(all),
            Ok(n) => all.extend_from_slice(&part[..n]),
            Err(e) if e.kind() == io::ErrorKind::Interrupted => {}
            Err(e) => return Err(e),
        }
        if late() {
            return Err(io::Error::new(
                io::ErrorKind::TimedOut,
                format!("it was not whole after {} s", LONGEST.as_secs()),
            ));
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn an_answer_that_never_ends_is_given_up() {
        let asked = std::cell::Cell::new(0);
        let late = || {
            asked.set(asked.get() + 1);
            asked.get() > 3
        };
        let e = read_until(&mut io::repeat(b' '), &late).unwrap_err();
        assert_eq!((e.kind(), asked.get()), (io::ErrorKind::TimedOut, 4));
        assert_eq!(read_until(&mut &b"whole"[..], &|| false).unwrap(), b"whole");
    }
}
