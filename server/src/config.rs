//! Everything that can be set about the service, with its default, in one place.

use crate::listen::Tls;
use std::{path::PathBuf, time::Duration};

/// The limits that can be set by name.
const LIMITS: [&str; 16] = [
    "exchange_bytes",
    "exchange_entries",
    "compute_bytes",
    "bodies_bytes",
    "connections",
    "address_connections",
    "device_requests",
    "address_requests",
    "stranger_requests",
    "page_requests",
    "request_window_s",
    "streams",
    "computations",
    "header_timeout_s",
    "body_timeout_s",
    "write_timeout_s",
];

/// How the service runs.
#[derive(Debug, Clone)]
pub struct Config {
    /// The folder that holds journal, index, lock and founding key.
    pub data: PathBuf,
    /// Certificate and key, where the service speaks TLS itself.
    pub tls: Option<Tls>,
    /// Whether the page for phones is served beside the interface.
    pub page: bool,
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
    /// The most entries of an exchange.
    pub exchange_entries: usize,
    /// The most connections at one time.
    pub connections: usize,
    /// The most connections of an address at one time; a proxy on this machine may have all.
    pub address_connections: usize,
    /// How many requests a device may send in [`Config::request_window`], and at once.
    pub device_requests: u32,
    /// How many requests an address may send in [`Config::request_window`], and at once; programs on this machine are
    /// not counted by address.
    pub address_requests: u32,
    /// How many of them may come without the token of a device.
    pub stranger_requests: u32,
    /// How many files of the page an address may fetch in [`Config::request_window`], and at once; they count as none of
    /// the requests above.
    pub page_requests: u32,
    /// In which time as many requests may come as is said above.
    pub request_window: Duration,
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
            page: true,
            segment_bytes: 64 << 20,
            exchange_bytes: 8 << 20,
            compute_bytes: 4 << 20,
            small_bytes: 64 << 10,
            bodies_bytes: 256 << 20,
            exchange_entries: sheaf_model::wire::MOST_ENTRIES,
            connections: 1024,
            address_connections: 256,
            device_requests: 1200,
            address_requests: 6000,
            stranger_requests: 240,
            page_requests: 6000,
            request_window: Duration::from_secs(60),
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

    /// Sets a limit by its name; the error says which there are.
    pub fn set_limit(&mut self, name: &str, to: u64) -> Result<(), String> {
        if to == 0 || to > 1 << 40 {
            return Err(format!("the limit {name} is a number from 1 to {}, and not {to}", 1_u64 << 40));
        }
        let (size, count) =
            (usize::try_from(to).unwrap_or(usize::MAX), u32::try_from(to).unwrap_or(u32::MAX));
        match name {
            "exchange_bytes" => self.exchange_bytes = size,
            "exchange_entries" => self.exchange_entries = size,
            "compute_bytes" => self.compute_bytes = size,
            "bodies_bytes" => self.bodies_bytes = size,
            "connections" => self.connections = size,
            "address_connections" => self.address_connections = size,
            "device_requests" => self.device_requests = count,
            "address_requests" => self.address_requests = count,
            "stranger_requests" => self.stranger_requests = count,
            "page_requests" => self.page_requests = count,
            "request_window_s" => self.request_window = Duration::from_secs(to),
            "streams" => self.streams = size,
            "computations" => self.computations = size,
            "header_timeout_s" => self.header_timeout = Duration::from_secs(to),
            "body_timeout_s" => self.body_timeout = Duration::from_secs(to),
            "write_timeout_s" => self.write_timeout = Duration::from_secs(to),
            _ => return Err(format!("there is no limit `{name}`; there are {}", LIMITS.join(", "))),
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn every_limit_that_is_named_can_be_set() {
        let mut config = Config::new("unused");
        for name in LIMITS {
            let before = format!("{config:?}");
            config.set_limit(name, 77).unwrap();
            assert_ne!(format!("{config:?}"), before, "{name}");
        }
        assert!(config.set_limit("connections", 0).is_err());
        let told = config.set_limit("connection", 5).unwrap_err();
        assert!(told.contains("no limit `connection`") && told.contains("address_connections"), "{told}");
    }
}
