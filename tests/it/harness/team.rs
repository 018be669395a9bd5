//! Devices of a team as real processes around a real service that can be stopped, killed and started again.

use super::programs::program;
use serde_json::Value;
use sheaf_model::{
    log::Have,
    wire::{ExchangeReply, ExchangeRequest},
};
use std::{
    fs,
    path::{Path, PathBuf},
    process::{Child, Command, Output, Stdio},
    thread,
    time::{Duration, Instant},
};
use tempfile::TempDir;

/// A folder with a service and the homes of devices.
pub struct Range {
    folder: TempDir,
    service: Option<Child>,
    address: String,
}

/// A device: the `sheaf` program over a home of its own.
pub struct Device {
    home: PathBuf,
}

impl Range {
    /// Starts a service over a new folder.
    pub fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder can be made");
        let mut range = Self { folder, service: None, address: "127.0.0.1:0".into() };
        range.start();
        range
    }

    /// Starts the service, on the address that it had before.
    pub fn start(&mut self) {
        // The programs are built on the first call, which is no part of the patience.
        let sheafd = program("sheafd");
        let port_file = self.path("address");
        let began = Instant::now();
        loop {
            let _ = fs::remove_file(&port_file);
            let mut command = Command::new(&sheafd);
            command.args(["serve", "--listen", &self.address, "--data"]).arg(self.path("server"));
            command.arg("--port-file").arg(&port_file).stdout(Stdio::null()).stderr(Stdio::null());
            self.service = Some(command.spawn().expect("sheafd starts"));
            while began.elapsed() < Duration::from_secs(30) {
                if let Some(address) = fs::read_to_string(&port_file).ok().filter(|a| !a.trim().is_empty()) {
                    self.address = address.trim().to_owned();
                    return;
                }
                let ended = self.service.as_mut().is_none_or(|s| s.try_wait().is_ok_and(|e| e.is_some()));
                if ended {
                    break;
                }
                thread::sleep(Duration::from_millis(5));
            }
            assert!(began.elapsed() < Duration::from_secs(30), "sheafd does not come up");
        }
    }

    /// Kills the service at once.
    pub fn kill(&mut self) {
        if let Some(mut service) = self.service.take() {
            service.kill().expect("it can be killed");
            service.wait().expect("it ends");
        }
    }

    /// Stops the service and starts it on another address, as one that moves.
    pub fn move_away(&mut self) {
        self.kill();
        self.address = "127.0.0.1:0".into();
        self.start();
    }

    /// Returns a path in the folder.
    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Returns the address of the service.
    pub fn url(&self) -> String {
        format!("http://{}", self.address)
    }

    /// Returns the device with a home of that name.
    pub fn device(&self, name: &str) -> Device {
        Device { home: self.path(name) }
    }

    /// Makes the team with its keeper's device, on the service.
    pub fn keeper(&self, name: &str) -> Device {
        let device = self.device(name);
        device.ok(&["start", "Pair", "--me", name]);
        let key = fs::read_to_string(self.path("server/founding-key")).expect("the founding key is there");
        device.ok(&["connect", &self.url(), "--key", key.trim()]);
        device
    }

    /// Lets another device in.
    pub fn join(&self, keeper: &Device, name: &str, role: &str) -> Device {
        let code = keeper.json(&["invite", "--role", role]);
        let device = self.device(name);
        device.ok(&["join", &self.url(), code["code"].as_str().expect("a code"), "--me", name]);
        device
    }
}

impl Drop for Range {
    fn drop(&mut self) {
        self.kill();
    }
}

impl Device {
    /// Names a device by its home.
    pub fn in_home(home: PathBuf) -> Self {
        Self { home }
    }

    /// Returns the home.
    pub fn home(&self) -> &Path {
        &self.home
    }

    /// Returns the command, not yet run.
    pub fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(program("sheaf"));
        command
            .arg("--home")
            .arg(&self.home)
            .args(words)
            .env("NO_COLOR", "1")
            .env("TZ", "UTC")
            .stdin(Stdio::null());
        command
    }

    /// Runs a command.
    pub fn run(&self, words: &[&str]) -> Output {
        self.command(words).output().expect("sheaf runs")
    }

    /// Runs a command that has to succeed, and returns what it printed.
    #[track_caller]
    pub fn ok(&self, words: &[&str]) -> String {
        let output = self.run(words);
        let err = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "sheaf {words:?} ended with {}: {err}", output.status);
        String::from_utf8(output.stdout).expect("text")
    }

    /// Runs a command with `--json` that has to succeed.
    #[track_caller]
    pub fn json(&self, words: &[&str]) -> Value {
        let words: Vec<&str> = words.iter().copied().chain(["--json"]).collect();
        serde_json::from_str(&self.ok(&words)).expect("JSON")
    }

    /// Runs a command that has to fail with an exit code, and returns what it said.
    #[track_caller]
    pub fn fails(&self, code: i32, words: &[&str]) -> String {
        let output = self.run(words);
        let err = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(code), "sheaf {words:?}: {err}");
        assert!(output.stdout.is_empty(), "an error leaves standard output empty: {words:?}");
        assert!(!err.trim().is_empty(), "an error says something: {words:?}");
        err
    }

    /// Syncs and returns the report.
    #[track_caller]
    pub fn sync(&self) -> Value {
        self.json(&["sync"])
    }

    /// Returns how far each log has come on the service, asked as this device without sending anything.
    #[track_caller]
    pub fn marks(&self, have: &Have) -> Have {
        let card = self.card();
        let ask = ExchangeRequest {
            device: card["device"].as_str().expect("a device").parse().expect("an id"),
            clock_ms: super::server::T0,
            have: have.clone(),
            entries: Vec::new(),
        };
        let server = |part: &str| card["server"][part].as_str().expect("it has a server").to_owned();
        let team = card["team"].as_str().expect("a team");
        let request = super::server::client()
            .post(format!("{}/v1/teams/{team}/exchange", server("url")))
            .bearer_auth(server("token"))
            .header("content-type", "application/json")
            .body(serde_json::to_string(&ask).expect("JSON"));
        super::server::answer(request.send().expect("an answer")).ok::<ExchangeReply>().have
    }

    fn card(&self) -> Value {
        let card = fs::read_to_string(self.home.join("replica.json")).expect("the home has a card");
        serde_json::from_str(&card).expect("JSON")
    }

    /// Brings in entries of an invented device, as many as wanted, by a bundle.
    #[track_caller]
    pub fn fill(&self, entries: usize, salt: u8) {
        let card = self.card();
        let team = card["team"].as_str().expect("a team").parse().expect("an id");
        let bundle = self.home.join(format!("fill-{salt}.sheaf"));
        let bytes =
            sheaf_model::journal::write_bundle(team, super::team::notes(entries, salt)).expect("a bundle");
        fs::write(&bundle, bytes).expect("it can be written");
        self.ok(&["bundle", "in", bundle.to_str().expect("text")]);
    }
}

/// Returns the log of an invented device with so many notes.
pub fn notes(count: usize, salt: u8) -> Vec<sheaf_model::log::Entry> {
    use sheaf_model::{
        id::{DeviceId, ThingId},
        kind::{Note, draft},
        replica::{Memory, Replica, Writer},
    };
    let at = 1_775_000_000_000;
    let id = |n: usize| {
        let mut bytes = [salt; 10];
        bytes[2..10].copy_from_slice(&(n as u64).to_be_bytes());
        ThingId::new(at, bytes)
    };
    let drafts = (0..count).map(|n| {
        draft(id(n + 1), &Note { text: Some(format!("remark {n}")), ..Note::default() }).expect("a draft")
    });
    let writer = Writer { device: DeviceId::new(at, [salt; 10]), author: id(0) };
    Replica::new(Memory::default()).append(writer, drafts.collect(), at).expect("they are appended")
}
