//! The real programs, built once per run of the tests with the profile that the tests have.

use std::{path::PathBuf, process::Command, sync::OnceLock};

/// Returns the path of a program of the workspace, `sheaf` or `sheafd`, freshly built.
pub fn program(name: &str) -> PathBuf {
    static FOLDER: OnceLock<PathBuf> = OnceLock::new();
    FOLDER.get_or_init(build).join(name)
}

fn build() -> PathBuf {
    let here = std::env::current_exe().expect("a test has a path");
    let folder =
        here.parent().and_then(|deps| deps.parent()).expect("tests lie in target/PROFILE/deps").to_owned();
    let mut cargo = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()));
    cargo.args(["build", "--quiet", "--bins", "-p", "sheaf-cli", "-p", "sheaf-server"]);
    // What cargo tells a test of its own package would have build scripts run again, and their crates with them.
    let own = |name: &str| name.starts_with("CARGO_PKG_") || name.starts_with("CARGO_MANIFEST_");
    for (name, _) in std::env::vars_os().filter(|(name, _)| name.to_str().is_some_and(own)) {
        cargo.env_remove(name);
    }
    cargo.current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/.."));
    cargo.arg("--target-dir").arg(folder.parent().expect("a profile lies in the target folder"));
    if folder.ends_with("release") {
        cargo.arg("--release");
    }
    assert!(cargo.status().expect("cargo runs").success(), "the programs could not be built");
    folder
}
