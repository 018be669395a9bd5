//! What the programs write is for its owner alone, whatever the shell that starts them allows to others.

use crate::harness::{care, programs::program, team::Device};
use std::{
    fs,
    io::{BufRead, BufReader},
    os::unix::fs::PermissionsExt as _,
    path::Path,
    process::{Command, Output, Stdio},
};
use tempfile::TempDir;

/// Returns a command that runs a program as a shell does that keeps nothing from others.
fn careless(name: &str) -> Command {
    let mut shell = Command::new("sh");
    shell.args(["-c", "umask 000; exec \"$0\" \"$@\""]).arg(program(name));
    shell
}

fn sheaf(home: &Path, words: &[&str]) -> Output {
    let ran =
        careless("sheaf").arg("--home").arg(home).args(words).env("NO_COLOR", "1").output().expect("it runs");
    assert!(ran.status.success(), "{words:?}: {ran:?}");
    ran
}

/// Checks that nothing at and below a path can be got at by others, and returns how many things there are.
#[track_caller]
fn all_private(path: &Path) -> usize {
    let mode = fs::symlink_metadata(path).expect("it is there").permissions().mode() & 0o777;
    let allowed = if path.is_dir() { 0o700 } else { 0o600 };
    assert_eq!(mode & !allowed, 0, "{} has mode {mode:o}", path.display());
    let below = path.is_dir().then(|| fs::read_dir(path).expect("a folder")).into_iter().flatten();
    1 + below.map(|item| all_private(&item.expect("an item").path())).sum::<usize>()
}

#[test]
fn what_the_service_writes_is_for_its_user_alone() {
    let folder = TempDir::new().expect("a folder");
    let (data, port_file) = (folder.path().join("above/data"), folder.path().join("address"));
    let mut command = careless("sheafd");
    command
        .args(["serve", "--listen", "127.0.0.1:0", "--data"])
        .arg(&data)
        .arg("--port-file")
        .arg(&port_file);
    let mut service = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().expect("it starts");
    let out = service.stdout.take().expect("its output");
    BufReader::new(out).read_line(&mut String::new()).expect("it says that it listens");
    let url = format!("http://{}", fs::read_to_string(&port_file).expect("the port file").trim());
    let home = folder.path().join("home");
    let key = fs::read_to_string(data.join("founding-key")).expect("the key");
    sheaf(&home, &["start", "Pair", "--me", "Ash"]);
    sheaf(&home, &["connect", &url, "--key", key.trim()]);
    sheaf(&home, &["add", "bow", "elm"]);
    sheaf(&home, &["sync"]);
    let backup = folder.path().join("monday.backup");
    let sheafd = |words: &[&str], data: &Path, file: Option<&Path>| {
        let ran =
            careless("sheafd").args(words).arg("--data").arg(data).args(file).output().expect("it runs");
        assert!(ran.status.success(), "{words:?}: {ran:?}");
    };
    sheafd(&["backup"], &data, Some(&backup));
    service.kill().expect("it is killed");
    service.wait().expect("it ends");
    sheafd(&["rebuild"], &data, None);
    sheafd(&["check"], &data, None);
    let restored = folder.path().join("restored");
    sheafd(&["restore"], &restored, Some(&backup));
    assert!(all_private(&folder.path().join("above")) > 6, "journal, index, key, lock");
    assert!(all_private(&restored) > 4);
    assert_eq!(all_private(&backup), 1);
    // The home of a device too, with its token, its journal and what it derives.
    assert!(all_private(&home) > 4);
    assert!(care::files(&home).into_values().any(|bytes| bytes.windows(7).any(|part| part == b"\"token\"")));
}

#[test]
fn a_home_that_was_a_copy_or_joined_later_is_private_too() {
    let range = crate::harness::team::Range::open();
    let keeper = range.keeper("Ash");
    let home = range.path("Birch");
    sheaf(&home, &["start", "Alone", "--me", "Birch"]);
    sheaf(&home, &["add", "bow", "oak"]);
    let code = keeper.json(&["invite"]);
    // It keeps the card of the team it was in, and the old journal.
    sheaf(&home, &["join", &range.url(), code["code"].as_str().expect("a code"), "--me", "Birch"]);
    assert!(fs::exists(home.join("replica.json")).expect("it can be seen"));
    assert!(all_private(&home) > 6);
    assert!(Device::in_home(home).ok(&["list", "bows"]).contains("oak"));
}

#[test]
fn of_tokens_and_codes_the_service_keeps_nothing_that_could_be_shown() {
    let range = crate::harness::team::Range::open();
    let keeper = range.keeper("Ash");
    let partner = range.join(&keeper, "Birch", "archer");
    let unused = keeper.json(&["invite"])["code"].as_str().expect("a code").to_owned();
    let token = |device: &Device| {
        let card = fs::read_to_string(device.home().join("replica.json")).expect("the card");
        let card: serde_json::Value = serde_json::from_str(&card).expect("JSON");
        card["server"]["token"].as_str().expect("a token").to_owned()
    };
    let (data, backup) = (range.path("server"), range.path("kept/monday.backup"));
    fs::create_dir(range.path("kept")).expect("a folder");
    care::sheafd(&data, &["backup", backup.to_str().expect("text")]).ok();
    let key = fs::read_to_string(data.join("founding-key")).expect("the key").trim().to_owned();
    let secrets =
        [token(&keeper), token(&partner), unused.replace('-', ""), unused, key.replace('-', ""), key.clone()];
    let holds =
        |bytes: &[u8], secret: &str| bytes.windows(secret.len()).any(|part| part == secret.as_bytes());
    let mut kept = care::files(&data);
    kept.append(&mut care::files(&range.path("kept")));
    assert!(kept.values().any(|bytes| holds(bytes, "Pair")), "what was searched is the team's");
    for (path, bytes) in &kept {
        for secret in &secrets {
            let own = path.ends_with("founding-key") && *secret == key;
            assert!(own || !holds(bytes, secret), "{} holds a secret", path.display());
        }
    }
}
