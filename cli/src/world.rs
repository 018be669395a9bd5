//! The real world: terminal, clock, entropy and home of the process.

use crate::Env;
use jiff::tz::TimeZone;
use std::{
    env,
    ffi::OsString,
    io::{self, BufWriter, IsTerminal, Write},
    path::PathBuf,
    process::ExitCode,
    time::{SystemTime, UNIX_EPOCH},
};

/// Runs a command line against the real terminal, clock and home.
pub fn run_in_the_world(args: impl Iterator<Item = OsString>) -> ExitCode {
    let mut out = BufWriter::new(io::stdout().lock());
    let mut err = io::stderr().lock();
    let mut input = io::stdin().lock();
    let mut entropy = |bytes: &mut [u8]| {
        getrandom::fill(bytes).expect("the system gives random bytes; without them no id can be made");
    };
    let clock = || {
        let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
        u64::try_from(since.as_millis()).unwrap_or(u64::MAX)
    };
    let mut world = Env {
        out: &mut out,
        err: &mut err,
        input: &mut input,
        clock: &clock,
        zone: TimeZone::system(),
        entropy: &mut entropy,
        home: home(),
        device_name: device_name(),
        colour: io::stdout().is_terminal() && env::var_os("NO_COLOR").is_none_or(|v| v.is_empty()),
        width: width(),
        terminal: io::stdout().is_terminal(),
        interactive: io::stdin().is_terminal(),
        json: false,
    };
    let code = crate::run(args, &mut world);
    // Whoever read the output may have gone; there is nobody left to tell.
    let _ = out.flush();
    ExitCode::from(code)
}

fn home() -> PathBuf {
    let of = |name: &str| env::var_os(name).filter(|v| !v.is_empty()).map(PathBuf::from);
    of("SHEAF_HOME")
        .or_else(|| of("XDG_DATA_HOME").map(|data| data.join("sheaf")))
        .or_else(|| of("HOME").map(|home| home.join(".local/share/sheaf")))
        .unwrap_or_else(|| PathBuf::from("sheaf-home"))
}

fn device_name() -> String {
    let name = std::fs::read_to_string("/etc/hostname").unwrap_or_default();
    let name = env::var("HOSTNAME").ok().filter(|n| !n.is_empty()).unwrap_or(name);
    let name = name.trim();
    if name.is_empty() { "this device".into() } else { name.into() }
}

fn width() -> usize {
    terminal_size::terminal_size().map_or(80, |(w, _)| usize::from(w.0)).max(40)
}
