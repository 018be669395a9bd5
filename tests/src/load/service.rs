//! The real program of the service in a process of its own, watched through `/proc`.

use super::{Plan, link::Link};
use hyper::Method;
use std::{
    fs,
    net::SocketAddr,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};

/// How long the service may take to come up over the largest store.
const PATIENCE: Duration = Duration::from_secs(600);

/// A running service; killed when it is dropped.
pub struct Service {
    child: Child,
    /// Where it listens.
    pub address: SocketAddr,
    /// From its start until its health was answered.
    pub start: Duration,
}

impl Service {
    /// Starts the service over a data folder and waits until it answers.
    pub async fn start(plan: &Plan, data: &Path) -> Self {
        let port_file = data.with_extension("address");
        fs::remove_file(&port_file).ok();
        let mut command = Command::new(&plan.sheafd);
        command.args(["serve", "--listen", "127.0.0.1:0", "--port-file"]).arg(&port_file);
        // A device of this run asks far more often than one in a hand.
        command.args(["--limit", "device_requests=1000000000", "--limit", "stranger_requests=1000000000"]);
        command.arg("--data").arg(data).env_remove("SHEAFD_LOG").env("SHEAFD_LOG_FILTER", "warn");
        let began = Instant::now();
        let mut child = command.stdout(Stdio::null()).spawn().expect("sheafd starts");
        let address = loop {
            let written = fs::read_to_string(&port_file).ok();
            if let Some(address) = written.and_then(|text| text.trim().parse().ok()) {
                break address;
            }
            assert!(child.try_wait().expect("its state").is_none(), "sheafd ended; see what it said above");
            assert!(began.elapsed() < PATIENCE, "sheafd does not come up");
            tokio::time::sleep(Duration::from_millis(1)).await;
        };
        let mut link = Link::open(address).await.expect("it listens");
        let (status, _) =
            link.send(Method::GET, "/v1/health", "", Vec::new()).await.expect("it says how it is");
        assert_eq!(status, 200, "the service is well");
        Self { child, address, start: began.elapsed() }
    }

    /// Returns what memory the service takes now, and the most that it took, in KiB.
    pub fn memory(&self) -> Memory {
        Memory::of(self.child.id()).expect("the service runs")
    }

    /// Returns the processor time that the service took, s.
    pub fn cpu_s(&self) -> f64 {
        cpu_s(&self.child.id().to_string())
    }

    /// Stops the service in good order and returns how long that took.
    pub fn stop(mut self) -> Duration {
        let began = Instant::now();
        let asked = Command::new("kill").arg(self.child.id().to_string()).status().expect("kill runs");
        assert!(asked.success(), "the service can be told to stop");
        let ended = self.child.wait().expect("it ends");
        assert!(ended.success(), "the service ended with {ended}");
        began.elapsed()
    }

    /// Ends the service as a crash would.
    pub fn kill(mut self) {
        self.child.kill().expect("it can be killed");
        self.child.wait().expect("it ends");
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

/// Memory of a process, KiB.
#[derive(Debug, Clone, Copy, Default)]
pub struct Memory {
    /// What it holds now.
    pub now_kib: u64,
    /// The most that it held.
    pub most_kib: u64,
}

impl Memory {
    fn of(pid: u32) -> Option<Self> {
        let status = fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
        let row = |name: &str| {
            let line = status.lines().find_map(|line| line.strip_prefix(name))?;
            line.trim().trim_end_matches(" kB").parse().ok()
        };
        Some(Self { now_kib: row("VmRSS:")?, most_kib: row("VmHWM:")? })
    }
}

/// Returns the processor time of a process in user and system, s; `self` names this one.
pub fn cpu_s(pid: &str) -> f64 {
    let stat = fs::read_to_string(format!("/proc/{pid}/stat")).expect("the process runs");
    let rest = stat.rsplit(')').next().unwrap_or_default();
    // Fields 14 and 15 of proc(5), in hundredths of a second on Linux.
    let ticks: f64 = rest.split_whitespace().skip(11).take(2).filter_map(|t| t.parse::<f64>().ok()).sum();
    ticks / 100.0
}

/// What `sheafd check` came to.
#[derive(Debug)]
pub struct Checked {
    /// Whether all was sound.
    pub sound: bool,
    /// The entries that it found.
    pub entries: u64,
    /// How long it took.
    pub took: Duration,
    /// The most memory it held, KiB, as seen every few milliseconds.
    pub most_kib: u64,
}

/// Runs `sheafd check` over a data folder that no service holds.
pub fn check(plan: &Plan, data: &Path) -> Checked {
    let out: PathBuf = data.with_extension("check.json");
    let file = fs::File::create(&out).expect("a file for what it says");
    let began = Instant::now();
    let mut command = Command::new(&plan.sheafd);
    command.args(["check", "--json", "--data"]).arg(data).stdout(file);
    let mut child = command.spawn().expect("sheafd starts");
    let mut most_kib = 0;
    while child.try_wait().expect("its state").is_none() {
        most_kib = most_kib.max(Memory::of(child.id()).unwrap_or_default().most_kib);
        std::thread::sleep(Duration::from_millis(5));
    }
    let took = began.elapsed();
    let said = fs::read(&out).expect("it said something");
    let report: serde_json::Value = serde_json::from_slice(&said).expect("JSON");
    Checked {
        sound: report["sound"] == true,
        entries: report["entries"].as_u64().unwrap_or_default(),
        took,
        most_kib,
    }
}
