//! What the service counts of itself, in the text format of OpenMetrics: how much goes on, never who does what.
//!
//! Every label has few values: routes of the table, words of the code, classes of a status. None holds an id, a
//! name or anything that a request brought along.

mod labels;

use crate::store::Pushed;
use labels::{Build, By, ByReason, ByResult, Request};
use prometheus_client::{
    encoding::text,
    metrics::{
        counter::Counter,
        family::Family,
        gauge::Gauge,
        histogram::{Histogram, exponential_buckets},
        info::Info,
    },
    registry::{Registry, Unit},
};
use std::{
    sync::atomic::AtomicU64,
    time::{Duration, SystemTime, UNIX_EPOCH},
};

/// The media type of [`Metrics::text`].
pub const MEDIA_TYPE: &str = "application/openmetrics-text; version=1.0.0; charset=utf-8";

/// What the names begin with.
const PREFIX: &str = "sheafd";

/// A histogram for every set of labels.
type Times<L> = Family<L, Histogram, fn() -> Histogram>;

/// What is counted.
pub struct Metrics {
    registry: Registry,
    requests: Times<Request>,
    refusals: Family<By, Counter>,
    exchanges: Family<ByResult, Counter>,
    kept: Counter,
    known: Counter,
    refused: Family<ByReason, Counter>,
    flushes: Histogram,
    batches: Histogram,
    connections: Gauge,
    turned_away: Counter,
    streams: Gauge,
    holds: Holds,
}

/// What is looked up when somebody asks.
#[derive(Default)]
struct Holds {
    journal: Gauge,
    index: Gauge,
    teams: Gauge,
    devices: Gauge,
}

/// How much the service holds.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Census {
    /// Bytes of all segments of the journal.
    pub journal_bytes: u64,
    /// Bytes of the index on the disk.
    pub index_bytes: u64,
    /// Teams.
    pub teams: usize,
    /// Devices that are in, without those that were shut out.
    pub devices: usize,
}

/// Something that is open and counted until it is dropped.
#[derive(Debug)]
pub struct Open(Gauge);

impl Drop for Open {
    fn drop(&mut self) {
        self.0.dec();
    }
}

/// How an exchange ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Exchanged {
    /// It was answered.
    Answered,
    /// It was refused: its sender can do something about it.
    Refused,
    /// The service failed.
    Failed,
}

impl Metrics {
    /// Begins to count.
    pub fn new() -> Self {
        let mut metrics = Self {
            registry: Registry::default(),
            requests: Family::new_with_constructor(request_times),
            refusals: Family::default(),
            exchanges: Family::default(),
            kept: Counter::default(),
            known: Counter::default(),
            refused: Family::default(),
            flushes: Histogram::new(exponential_buckets(0.000_25, 2.0, 14)),
            batches: Histogram::new(exponential_buckets(1.0, 4.0, 8)),
            connections: Gauge::default(),
            turned_away: Counter::default(),
            streams: Gauge::default(),
            holds: Holds::default(),
        };
        metrics.name_counters();
        metrics.name_gauges();
        metrics
    }

    fn name_counters(&mut self) {
        let registry = self.registry.sub_registry_with_prefix(PREFIX);
        registry.register_with_unit(
            "request_duration",
            "Time from the head of a request to the head of its answer",
            Unit::Seconds,
            self.requests.clone(),
        );
        registry.register(
            "refusals",
            "Problem documents that were sent, by their code",
            self.refusals.clone(),
        );
        registry.register("exchanges", "Exchanges, by how they ended", self.exchanges.clone());
        registry.register("entries_kept", "Entries that were new and are on the disk", self.kept.clone());
        registry.register("entries_known", "Entries that were sent and there already", self.known.clone());
        registry.register("entries_refused", "Entries that were not kept, by why", self.refused.clone());
        registry.register_with_unit(
            "flush_duration",
            "Time that the disk takes to sync a batch of the journal",
            Unit::Seconds,
            self.flushes.clone(),
        );
        registry.register("batch_lines", "Lines of a batch of the journal", self.batches.clone());
        registry.register(
            "connections_turned_away",
            "Connections closed at once, since their address has as many as it may",
            self.turned_away.clone(),
        );
    }

    fn name_gauges(&mut self) {
        let holds = &self.holds;
        let registry = self.registry.sub_registry_with_prefix(PREFIX);
        registry.register("connections", "Connections that are open", self.connections.clone());
        registry.register("streams", "Live streams that devices listen to", self.streams.clone());
        registry.register("teams", "Teams that are on the service", holds.teams.clone());
        registry.register("devices", "Devices that are in and not shut out", holds.devices.clone());
        let bytes = || Unit::Bytes;
        registry.register_with_unit(
            "journal_size",
            "Segments of the journal",
            bytes(),
            holds.journal.clone(),
        );
        registry.register_with_unit("index_size", "The index on the disk", bytes(), holds.index.clone());
        let started = Gauge::<f64, AtomicU64>::default();
        started.set(SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |since| since.as_secs_f64()));
        registry.register("build", "What was built", Info::new(Build { version: env!("CARGO_PKG_VERSION") }));
        // The name under which every program tells this.
        self.registry.register_with_unit(
            "process_start_time",
            "When the service began, since 1970",
            Unit::Seconds,
            started,
        );
    }

    /// Counts an answer: its route's method and pattern, none where no route takes it.
    pub fn answered(&self, route: Option<(&'static str, &'static str)>, status: u16, took: Duration) {
        let (method, route) = route.unwrap_or(("none", "none"));
        let status = ["other", "1xx", "2xx", "3xx", "4xx", "5xx"].get(usize::from(status / 100));
        let labels = Request { method, route, status: status.unwrap_or(&"other") };
        self.requests.get_or_create(&labels).observe(took.as_secs_f64());
    }

    /// Counts a problem document. Codes are words of the code, so there are only so many of them.
    pub fn refused(&self, code: &'static str) {
        self.refusals.get_or_create(&By { code }).inc();
    }

    /// Counts an exchange.
    pub fn exchanged(&self, how: Exchanged) {
        let result = match how {
            Exchanged::Answered => "answered",
            Exchanged::Refused => "refused",
            Exchanged::Failed => "failed",
        };
        self.exchanges.get_or_create(&ByResult { result }).inc();
    }

    /// Counts what became of the entries of a request.
    pub fn pushed(&self, pushed: &Pushed) {
        self.kept.inc_by(pushed.kept as u64);
        self.known.inc_by(pushed.known as u64);
        for (_, _, reason) in &pushed.refused {
            self.refused.get_or_create(&ByReason { reason: reason.code }).inc();
        }
    }

    /// Counts a batch of the journal.
    pub fn flushed(&self, lines: usize, took: Duration) {
        self.flushes.observe(took.as_secs_f64());
        self.batches.observe(lines as f64);
    }

    /// Counts a connection as open until what is returned is dropped.
    pub fn connection(&self) -> Open {
        self.connections.inc();
        Open(self.connections.clone())
    }

    /// Counts a connection that was closed at once.
    pub fn turned_away(&self) {
        self.turned_away.inc();
    }

    /// Counts a live stream as open until what is returned is dropped.
    pub fn stream(&self) -> Open {
        self.streams.inc();
        Open(self.streams.clone())
    }

    /// Writes everything as text, with how much the service holds now.
    pub fn text(&self, now: Census) -> String {
        let set = |gauge: &Gauge, to: u64| gauge.set(i64::try_from(to).unwrap_or(i64::MAX));
        set(&self.holds.journal, now.journal_bytes);
        set(&self.holds.index, now.index_bytes);
        set(&self.holds.teams, now.teams as u64);
        set(&self.holds.devices, now.devices as u64);
        let mut out = String::new();
        text::encode(&mut out, &self.registry).expect("a string takes everything that is written to it");
        out
    }
}

/// From a millisecond to half a minute.
fn request_times() -> Histogram {
    Histogram::new(exponential_buckets(0.001, 2.0, 16))
}
