//! The keeper's side of a service: data folders that are copied and harmed, and `sheafd` run over them.

use super::{
    programs::program,
    server::{Device, TestServer},
};
use serde_json::Value;
use sheaf_model::{
    kind::Bow,
    log::Hash,
    wire::{ExchangeReply, InviteReply, Role},
};
use std::{
    collections::BTreeMap,
    fs,
    path::{Path, PathBuf},
    process::Command,
    sync::Arc,
};
use tempfile::TempDir;

/// What a run of `sheafd` came to.
#[derive(Debug)]
pub struct Ran {
    /// Its exit code; none when a signal ended it.
    pub code: Option<i32>,
    /// What it printed.
    pub out: String,
    /// What it said.
    pub err: String,
}

/// Runs `sheafd` over a data folder to its end.
pub fn sheafd(data: &Path, words: &[&str]) -> Ran {
    let mut command = Command::new(program("sheafd"));
    command.args(words).arg("--data").arg(data).env_remove("SHEAFD_LOG").env_remove("SHEAFD_LOG_FILTER");
    let done = command.output().expect("sheafd runs");
    let text = |bytes| String::from_utf8(bytes).expect("text");
    Ran { code: done.status.code(), out: text(done.stdout), err: text(done.stderr) }
}

impl Ran {
    /// Checks that all went well and returns what was printed.
    #[track_caller]
    pub fn ok(self) -> String {
        assert_eq!(self.code, Some(0), "{self:?}");
        self.out
    }

    /// Checks that it ended with 1 and without giving up, and returns what was said.
    #[track_caller]
    pub fn refuses(self) -> String {
        assert_eq!(self.code, Some(1), "{self:?}");
        assert!(!self.err.contains("panicked"), "{}", self.err);
        self.err
    }
}

/// Checks a data folder with `--json`; the exit code has to fit what is said.
#[track_caller]
pub fn report(data: &Path) -> Value {
    let ran = sheafd(data, &["check", "--json"]);
    let report: Value = serde_json::from_str(&ran.out).unwrap_or_else(|e| panic!("{e}: {ran:?}"));
    let sound = report["sound"].as_bool().expect("it says whether all is sound");
    assert_eq!(ran.code, Some(i32::from(!sound)), "{ran:?}");
    assert_eq!(sound, report["troubles"].as_array().is_some_and(Vec::is_empty), "{report}");
    assert!(!ran.err.contains("panicked"), "{}", ran.err);
    report
}

/// Starts the service over a folder that it has to refuse, and returns what it says.
#[track_caller]
pub fn refused_start(data: &Path) -> String {
    sheafd(data, &["serve", "--listen", "127.0.0.1:0"]).refuses()
}

/// A service of two teams whose journal has several segments, stopped in good order.
pub struct Kept {
    /// Its data folder.
    pub folder: Arc<TempDir>,
    /// A keeper of each team.
    pub keepers: Vec<Device>,
    /// A device that was shut out.
    pub shut: Device,
    /// The code of an invite that nobody used.
    pub invite: String,
}

impl Kept {
    /// Makes one.
    pub fn new() -> Self {
        let folder = Arc::new(TempDir::new().expect("a folder"));
        let mut server = TestServer::start_over(folder.clone(), |config| config.segment_bytes = 9000);
        let mut first = server.found();
        let mut second = server.found();
        let mut archer = server.join(&first, Role::Archer);
        for n in 0..6 {
            first.notes(4);
            archer.keep(&Bow { name: Some(format!("bow {n}")), ..Bow::default() });
            second.notes(3);
            for device in [&mut first, &mut archer, &mut second] {
                device.sync(&server);
            }
        }
        first.sync(&server);
        let shut = server.join(&first, Role::Archer);
        first.call(&server, "DELETE", &format!("/devices/{}", shut.writer.device), None);
        let asked = serde_json::json!({"role": "coach"});
        let invite: InviteReply = first.call(&server, "POST", "/invites", Some(&asked)).ok();
        second.notes(2);
        second.sync(&server);
        server.stop();
        let kept = Self { folder, keepers: vec![first, second], shut, invite: invite.code };
        assert!(kept.segments().len() >= 3, "{:?}", kept.segments());
        kept
    }

    /// Returns the data folder.
    pub fn data(&self) -> &Path {
        self.folder.path()
    }

    /// Returns the segments of the journal.
    pub fn segments(&self) -> Vec<PathBuf> {
        segments(self.data())
    }

    /// Returns the digest of each team, as its keeper's device knows it.
    pub fn digests(&mut self) -> BTreeMap<String, Hash> {
        use sheaf_model::replica::Store as _;
        let of = |d: &mut Device| (d.team.to_string(), d.replica.store_mut().digest().expect("a digest"));
        self.keepers.iter_mut().map(of).collect()
    }

    /// Returns a copy of the data folder.
    pub fn copy(&self) -> TempDir {
        let to = TempDir::new().expect("a folder");
        copy(self.data(), to.path());
        to
    }

    /// Starts the service over a copy of the folder; every team must be as it was.
    #[track_caller]
    pub fn serves(&self, folder: TempDir) -> TestServer {
        let server = TestServer::start_over(Arc::new(folder), |_| {});
        self.are_as_before(&server);
        server
    }

    /// Asks a service for the state of every team; each must be as it was.
    #[track_caller]
    pub fn are_as_before(&self, server: &TestServer) {
        use sheaf_model::replica::Store as _;
        for keeper in &self.keepers {
            let reply: ExchangeReply = keeper.exchange(server, Vec::new()).ok();
            assert!(reply.entries.is_empty() && !reply.more, "{:?}", reply.entries);
            assert_eq!(reply.have, keeper.replica.store().vector().have());
        }
    }
}

/// Returns the segments of a data folder's journal in order.
pub fn segments(data: &Path) -> Vec<PathBuf> {
    files(&data.join("journal")).into_keys().collect()
}

/// Returns every file below a folder with its bytes.
pub fn files(folder: &Path) -> BTreeMap<PathBuf, Vec<u8>> {
    let mut found = BTreeMap::new();
    for item in fs::read_dir(folder).expect("a folder") {
        let path = item.expect("an item").path();
        if path.is_dir() {
            found.append(&mut files(&path));
        } else {
            let bytes = fs::read(&path).expect("a file");
            found.insert(path, bytes);
        }
    }
    found
}

/// Copies what is in a folder.
pub fn copy(from: &Path, to: &Path) {
    for (path, bytes) in files(from) {
        let to = to.join(path.strip_prefix(from).expect("it lies below"));
        fs::create_dir_all(to.parent().expect("a folder")).expect("a folder");
        fs::write(to, bytes).expect("a copy");
    }
}
