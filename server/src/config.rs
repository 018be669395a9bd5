//! Everything that can be set about the service, with its default, in one place.

use crate::listen::Tls;
use std::{path::PathBuf, time::Duration};

/// How the service runs.
#[derive(Debug, Clone)]
pub struct Config {
    /// The folder that holds journal, index, lock and founding key.
    pub data: PathBuf,
    /// Certificate and key, where the service speaks TLS itself.
    pub tls: Option<Tls>,
    /// Bytes after which a journal segment is closed and the next begun.
    pub segment_bytes: u64,
    /// The most bytes of an exchange, packed and unpacked.
    pub exchange_bytes: usize,
    /// The most bytes of a request to the compute door, packed and unpacked.
    pub compute_bytes: usize,
    /// The most bytes of any other request.
    pub small_bytes: usize,
    /// The most bytes of request bodies held at one time, over all connections.
    pub bodies_bytes: usize,
    /// The most connections at one time.
    pub connections: usize,
    /// The most live streams of events that a device may listen to at one time.
    pub streams: usize,
    /// The most computations of the compute door at one time, over all connections.
    pub computations: usize,
    /// How long a client may take over the handshake of TLS, over the head of a request, or stay idle between two.
    pub header_timeout: Duration,
    /// How long a client may take over the body of a request.
    pub body_timeout: Duration,
    /// How long a client may leave a reply unread.
    pub write_timeout: Duration,
    /// How often a live stream of events says that it is still there.
    pub keep_alive: Duration,
    /// How long requests in flight may go on once the service is told to stop.
    pub shutdown_deadline: Duration,
    /// How many wrong codes an address may send in [`Config::guess_window`].
    pub guesses: u32,
    /// How long wrong codes are held against an address.
    pub guess_window: Duration,
}

impl Config {
    /// Returns the defaults over a data folder.
    pub fn new(data: impl Into<PathBuf>) -> Self {
        Self {
            data: data.into(),
            tls: None,
            segment_bytes: 64 << 20,
            exchange_bytes: 8 << 20,
            compute_bytes: 4 << 20,
            small_bytes: 64 << 10,
            bodies_bytes: 256 << 20,
            connections: 1024,
            streams: 8,
            computations: 4,
            header_timeout: Duration::from_secs(10),
            body_timeout: Duration::from_secs(120),
            write_timeout: Duration::from_secs(60),
            keep_alive: Duration::from_secs(15),
            shutdown_deadline: Duration::from_secs(10),
            guesses: 10,
            guess_window: Duration::from_secs(600),
        }
    }
}
