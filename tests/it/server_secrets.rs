//! No secret is ever logged: the real program logs all it can while every secret is used, and its log is searched.

use crate::harness::{
    programs::program,
    server::{Device, answer, client},
};
use serde_json::{Value, json};
use sheaf_model::wire::{Admitted, InviteReply};
use std::{
    fs::File,
    io::{BufRead, BufReader},
    path::Path,
    process::{Child, Command, Stdio},
};
use tempfile::TempDir;

/// A service that writes a log with everything in it.
struct Logged {
    child: Child,
    address: String,
}

impl Logged {
    fn start(folder: &Path, form: &str, log: &Path) -> Self {
        let mut child = Command::new(program("sheafd"))
            .args(["serve", "--listen", "127.0.0.1:0", "--log", form, "--data"])
            .arg(folder.join("data"))
            .arg("--port-file")
            .arg(folder.join("address"))
            .env("SHEAFD_LOG_FILTER", "trace")
            .stdout(Stdio::piped())
            .stderr(File::create(log).expect("a file"))
            .spawn()
            .expect("the program starts");
        let out = child.stdout.take().expect("its output");
        BufReader::new(out).read_line(&mut String::new()).expect("it says that it listens");
        let address = std::fs::read_to_string(folder.join("address")).expect("the port file");
        Self { child, address: address.trim().to_owned() }
    }

    fn send(
        &self,
        method: &str,
        path: &str,
        token: Option<&str>,
        body: Option<&Value>,
    ) -> crate::harness::server::Answer {
        let method = reqwest::Method::from_bytes(method.as_bytes()).expect("a method");
        let mut request = client().request(method, format!("http://{}{path}", self.address));
        if let Some(token) = token {
            request = request.bearer_auth(token);
        }
        if let Some(body) = body {
            request = request.header("content-type", "application/json").body(body.to_string());
        }
        answer(request.send().expect("an answer"))
    }

    fn stop(mut self) {
        let done = Command::new("kill").args(["-s", "TERM", &self.child.id().to_string()]).status();
        assert!(done.expect("kill runs").success());
        assert!(self.child.wait().expect("it ends").success());
    }
}

impl Drop for Logged {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

/// Uses every kind of secret, right and wrong, in every place where it may be put; returns all of them.
fn use_secrets(service: &Logged, key: &str) -> Vec<String> {
    let mut secrets = vec![key.to_owned()];
    let device = Device::new();
    let founding = device.found_request(key);
    let admitted: Admitted = service.send("POST", "/v1/teams", None, Some(&founding)).ok();
    let again: Admitted = service.send("POST", "/v1/teams", None, Some(&founding)).ok();
    secrets.extend([admitted.token, again.token.clone()]);
    let keeper = device.admitted(again);
    let team = format!("/v1/teams/{}", keeper.team);
    let token = Some(keeper.token.as_str());
    let invite = |valid: u64| -> String {
        let ask = json!({"role": "archer", "valid_s": valid});
        service.send("POST", &format!("{team}/invites"), token, Some(&ask)).ok::<InviteReply>().code
    };
    let (used, unused) = (invite(600), invite(600));
    let join = |code: &str| service.send("POST", "/v1/join", None, Some(&Device::new().join_request(code)));
    secrets.push(join(&used).ok::<Admitted>().token);
    join(&used).is_problem(403, "bad_invite");
    let mistyped = format!("{}7", &unused[..unused.len() - 1].replace('0', "1"));
    join(&mistyped);
    let renew = json!({"device": Device::new().writer.device, "device_name": "a phone"});
    let renewed: Admitted = service.send("POST", &format!("{team}/devices"), token, Some(&renew)).ok();
    secrets.push(renewed.token);
    let ask = json!({"device": keeper.writer.device, "clock_ms": 0, "have": {}});
    service.send("POST", &format!("{team}/exchange"), token, Some(&ask)).ok::<Value>();
    service.send("GET", "/v1/metrics", Some(key), None);
    // What is wrong may be nearly right, so it is kept out as well; and secrets may stand where they do not belong.
    let wrong = "d3JvbmcgdG9rZW4gdGhhdCBub2JvZHkgZXZlciBnb3Q";
    let wrong_key = "7777-7777-7777-7777-7777-7777-7777";
    service.send("GET", &format!("{team}/bows"), Some(wrong), None).is_problem(401, "no_token");
    service
        .send("POST", "/v1/teams", None, Some(&Device::new().found_request(wrong_key)))
        .is_problem(403, "wrong_key");
    for query in [format!("token={}", keeper.token), format!("key={key}"), format!("code={used}")] {
        service.send("GET", &format!("{team}/bows?{query}"), token, None).ok::<Value>();
        service.send("GET", &format!("/nowhere?{query}"), None, None).is_problem(404, "unknown_route");
    }
    // A value of the wrong shape is told to its sender, and to nobody else.
    let odd = json!({"team": key, "token": keeper.token});
    service.send("POST", "/v1/teams", None, Some(&odd)).is_problem(400, "bad_json");
    secrets.extend([used, unused, mistyped, wrong.into(), wrong_key.into(), keeper.token.clone()]);
    secrets
}

/// Returns every spelling of a secret that a log might have it in.
fn spellings(secret: &str) -> Vec<String> {
    let plain = secret.replace('-', "");
    let mut found = vec![secret.to_owned(), secret.to_lowercase(), secret.replace('-', " ")];
    found.extend([
        plain.clone(),
        plain.to_lowercase(),
        secret.replace('-', "%2D"),
        secret.replace('_', "%5F"),
    ]);
    let bytes =
        |join: &str, show: &dyn Fn(u8) -> String| secret.bytes().map(show).collect::<Vec<_>>().join(join);
    found.extend([
        bytes(", ", &|b| b.to_string()),
        bytes(",", &|b| b.to_string()),
        bytes("", &|b| format!("{b:02x}")),
    ]);
    found.push(bytes("", &|b| format!("\\x{b:02x}")));
    found
}

#[test]
fn no_secret_is_logged_whatever_the_log_is_told_to_show() {
    for form in ["text", "json"] {
        let folder = TempDir::new().expect("a folder");
        let log = folder.path().join("log");
        let service = Logged::start(folder.path(), form, &log);
        let key = std::fs::read_to_string(folder.path().join("data/founding-key")).expect("the key");
        let secrets = use_secrets(&service, key.trim());
        service.stop();
        let bytes = std::fs::read(&log).expect("the log");
        let said = String::from_utf8_lossy(&bytes);
        assert!(said.contains("TRACE"), "the log has everything in it");
        for path in ["/v1/join", "/nowhere", "/exchange", "/invites"] {
            assert!(said.contains(path), "{path} is in the log");
        }
        assert!(!said.contains("token=") && !said.contains("code="), "no query is logged");
        for secret in secrets {
            for spelling in spellings(&secret) {
                let line = said.lines().find(|line| line.contains(&spelling));
                assert_eq!(line, None, "{form}: a secret is in the log as {spelling}");
            }
        }
    }
}
