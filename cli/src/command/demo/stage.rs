//! The stage of the demo: a throw-away folder, the real service on a free port, homes for the devices.

use crate::{CliError, Env};
use jiff::tz::TimeZone;
use std::{
    env, fs,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
    time::{Duration, Instant},
};

/// How long the service may take to come up.
const PATIENCE: Duration = Duration::from_secs(20);

/// A folder with a running service; both go when it is dropped, unless they are kept.
pub struct Stage {
    folder: PathBuf,
    service: Child,
    /// The address of the service.
    pub url: String,
    keep: bool,
}

impl Stage {
    /// Starts the service over a new folder.
    pub fn open(env: &mut Env<'_>) -> Result<Self, CliError> {
        let program = service(env)?;
        let folder = env::temp_dir().join(format!("sheaf-demo-{}", env.thing_id()));
        fs::create_dir_all(&folder).map_err(|e| CliError::file("make the folder", &folder, &e))?;
        let (port_file, log) = (folder.join("address"), folder.join("sheafd.log"));
        let log = fs::File::create(&log).map_err(|e| CliError::file("write", &log, &e))?;
        let service = Command::new(&program)
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(folder.join("server"))
            .arg("--port-file")
            .arg(&port_file)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(log)
            .spawn()
            .map_err(|e| CliError::file("start", &program, &e))?;
        let mut stage = Self { folder, service, url: String::new(), keep: false };
        stage.url = format!("http://{}", stage.wait_for(&port_file)?);
        Ok(stage)
    }

    /// Returns the home of a device.
    pub fn home(&self, device: &str) -> PathBuf {
        self.folder.join(device)
    }

    /// Returns the folder of everything.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// Leaves folder and service behind from now on; until then whatever fails takes both down.
    pub fn keep(&mut self) {
        self.keep = true;
    }

    /// Returns the number of the service's process.
    pub fn process(&self) -> u32 {
        self.service.id()
    }

    /// Returns the service's founding key.
    pub fn key(&self) -> Result<String, CliError> {
        let path = self.folder.join("server/founding-key");
        fs::read_to_string(&path)
            .map(|key| key.trim().to_owned())
            .map_err(|e| CliError::file("read", &path, &e))
    }

    fn wait_for(&mut self, port_file: &Path) -> Result<String, CliError> {
        let began = Instant::now();
        loop {
            if let Ok(address) = fs::read_to_string(port_file)
                && !address.trim().is_empty()
            {
                return Ok(address.trim().to_owned());
            }
            let ended = self.service.try_wait().ok().flatten();
            if ended.is_some() || began.elapsed() > PATIENCE {
                let log = fs::read_to_string(self.folder.join("sheafd.log")).unwrap_or_default();
                return Err(CliError::input("the service did not come up")
                    .hint(log.lines().last().unwrap_or("its log is empty").to_owned()));
            }
            thread::sleep(Duration::from_millis(10));
        }
    }
}

impl Drop for Stage {
    fn drop(&mut self) {
        if self.keep {
            return;
        }
        // The folder goes with the service, so there is nothing that a slower end would save.
        let _ = self.service.kill();
        let _ = self.service.wait();
        let _ = fs::remove_dir_all(&self.folder);
    }
}

/// Returns the service's program beside this one; when cargo runs this, it is built first.
fn service(env: &mut Env<'_>) -> Result<PathBuf, CliError> {
    let here =
        env::current_exe().map_err(|e| CliError::input(format!("this program cannot find itself: {e}")))?;
    let folder = here.parent().map(Path::to_owned).unwrap_or_default();
    let program = folder.join(format!("sheafd{}", env::consts::EXE_SUFFIX));
    if let (Some(cargo), Some(source)) = (env::var_os("CARGO"), env::var_os("CARGO_MANIFEST_DIR")) {
        env.remark("Building the service beside this program ...")?;
        let mut build = Command::new(cargo);
        build.args(["build", "--package", "sheaf-server", "--bin", "sheafd"]).current_dir(source);
        build.arg("--target-dir").arg(folder.parent().unwrap_or(&folder));
        if folder.ends_with("release") {
            build.arg("--release");
        }
        let built = build.status().map_err(|e| CliError::input(format!("cargo cannot be run: {e}")))?;
        if !built.success() {
            return Err(
                CliError::input("the service could not be built").hint("cargo says above what is wrong")
            );
        }
    }
    if program.exists() {
        return Ok(program);
    }
    Err(CliError::input(format!("there is no sheafd beside this program ({})", folder.display()))
        .hint("in the source tree run `cargo demo`, which builds both"))
}

/// Runs a command line as a user of a device would at a moment, and returns what it answers.
pub fn sheaf(env: &mut Env<'_>, home: &Path, now_ms: u64, words: &[&str]) -> Result<String, CliError> {
    let (mut out, mut err) = (Vec::new(), Vec::new());
    let clock = move || now_ms;
    let mut device = Env {
        out: &mut out,
        err: &mut err,
        input: &mut std::io::empty(),
        clock: &clock,
        zone: TimeZone::UTC,
        entropy: &mut *env.entropy,
        home: home.to_owned(),
        device_name: "demo".into(),
        colour: env.colour,
        width: env.width,
        terminal: false,
        interactive: false,
        json: false,
    };
    let all = std::iter::once("sheaf").chain(words.iter().copied());
    match crate::run(all.map(std::ffi::OsString::from), &mut device) {
        0 => Ok(String::from_utf8_lossy(&out).into_owned()),
        code => Err(CliError::input(format!(
            "`sheaf {}` ended with {code}: {}",
            words.join(" "),
            String::from_utf8_lossy(&err).trim()
        ))),
    }
}
