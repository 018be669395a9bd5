//! The real `sheafd`, killed and started again over the same folder and on the same port.

use crate::simulation::failed;
use std::{
    fs,
    net::SocketAddr,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

/// How long a service may take to come up on a machine that has other work.
const PATIENCE: Duration = Duration::from_secs(60);

/// A service as a process.
pub struct Service {
    program: PathBuf,
    folder: PathBuf,
    child: Option<Child>,
    address: Option<SocketAddr>,
}

impl Service {
    /// Names a service over a folder; it is not started yet.
    pub fn new(program: &Path, folder: &Path) -> Self {
        Self { program: program.to_owned(), folder: folder.to_owned(), child: None, address: None }
    }

    /// Returns its data folder.
    pub fn data(&self) -> PathBuf {
        self.folder.join("data")
    }

    /// Starts the process, and does not wait for it.
    pub fn spawn(&mut self) -> Result<(), String> {
        let _ = fs::remove_file(self.port_file());
        let log = fs::File::options().create(true).append(true).open(self.folder.join("log"));
        let listen = self.address.map_or("127.0.0.1:0".to_owned(), |address| address.to_string());
        let mut command = Command::new(&self.program);
        command.args(["serve", "--listen", &listen, "--data"]).arg(self.data());
        command.arg("--port-file").arg(self.port_file()).stdout(Stdio::null());
        command.stderr(log.map_err(failed("the log"))?).env("SHEAFD_LOG_FILTER", "warn");
        self.child = Some(command.spawn().map_err(failed("sheafd starts"))?);
        Ok(())
    }

    /// Waits until it listens, and starts it again should it end before (its port may not be free yet).
    pub fn wait(&mut self) -> Result<SocketAddr, String> {
        let began = Instant::now();
        while began.elapsed() < PATIENCE {
            let said = fs::read_to_string(self.port_file()).unwrap_or_default();
            if let Ok(address) = said.trim().parse() {
                self.address = Some(address);
                return Ok(address);
            }
            let ended = self.child.as_mut().is_none_or(|child| child.try_wait().is_ok_and(|e| e.is_some()));
            if ended {
                self.spawn()?;
            }
            thread::sleep(Duration::from_millis(5));
        }
        Err(format!("sheafd does not come up; see {}", self.folder.join("log").display()))
    }

    /// Kills it at once; returns whether it was alive until then.
    pub fn kill(&mut self) -> Result<bool, String> {
        let Some(mut child) = self.child.take() else { return Ok(false) };
        let alive = child.try_wait().map_err(failed("sheafd"))?.is_none();
        child.kill().map_err(failed("a kill"))?;
        child.wait().map_err(failed("sheafd ends"))?;
        Ok(alive)
    }

    /// Throws the index away, which is derived.
    pub fn lose_index(&self) -> Result<(), String> {
        let index = self.data().join("index");
        if index.exists() { fs::remove_dir_all(index).map_err(failed("the index goes")) } else { Ok(()) }
    }

    /// Checks the folder with `sheafd check`, when the service is stopped.
    pub fn check(&self) -> Result<(), String> {
        let done = Command::new(&self.program).arg("check").arg("--data").arg(self.data()).output();
        let done = done.map_err(failed("sheafd check"))?;
        let said = String::from_utf8_lossy(&done.stdout) + String::from_utf8_lossy(&done.stderr);
        if done.status.success() { Ok(()) } else { Err(format!("sheafd check is not content: {said}")) }
    }

    /// Returns the key with which a team is founded.
    pub fn key(&self) -> Result<String, String> {
        let key = fs::read_to_string(self.data().join("founding-key")).map_err(failed("the founding key"))?;
        Ok(key.trim().to_owned())
    }

    fn port_file(&self) -> PathBuf {
        self.folder.join("address")
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        let _ = self.kill();
    }
}
