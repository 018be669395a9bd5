//! The published and computed check values, through the library, the command line and the service alike.

use crate::harness::{programs::program, server::TestServer};
use serde_json::Value;
use sheaf_model::door::{METHODS, compute};
use sheaf_tests::cases::{self, Case};
use std::{
    collections::BTreeSet,
    io::Write,
    process::{Command, Stdio},
};

/// The methods of this release; a case for each is there.
const RELEASED: [&str; 9] = [
    "adjust-p",
    "dial",
    "effects",
    "expected-score",
    "face-score",
    "fit",
    "group",
    "mixed",
    "scatter-regression",
];

fn known() -> Vec<&'static str> {
    METHODS.iter().map(|m| m.name).collect()
}

#[test]
fn the_library_answers_every_case_of_its_methods() {
    let all = cases::all();
    let tally = cases::run(&all, &known(), |method, input| compute(method, input).map_err(|e| e.message));
    println!("{} cases agree; methods not there yet: {:?}", tally.passes(), tally.skipped);
    assert!(tally.failed.is_empty(), "{} cases differ:\n{}", tally.failed.len(), tally.failed.join("\n"));
    assert_eq!(tally.passes() + tally.skipped.values().sum::<usize>(), all.len());
}

#[test]
fn every_case_has_a_name_of_its_own_and_says_where_it_comes_from() {
    let all = cases::all();
    let names: BTreeSet<_> = all.iter().map(|case| &case.id).collect();
    assert_eq!(names.len(), all.len());
    for case in &all {
        assert!(!case.source.is_empty(), "{}", case.id);
        assert!(case.expect_error || case.expect.is_object(), "{} expects nothing", case.id);
    }
}

#[test]
fn every_method_of_the_release_is_there_and_checked() {
    let names: Vec<&str> = known();
    for method in RELEASED {
        assert!(names.contains(&method), "`{method}` is missing");
        assert!(cases::all().iter().any(|case| case.method == method), "`{method}` has no case");
    }
}

#[track_caller]
fn all_agree(answers: impl Fn(&str, &Value) -> Result<Value, String>) {
    let all: Vec<Case> = cases::all();
    let tally = cases::run(&all, &known(), answers);
    assert!(tally.failed.is_empty(), "{} cases differ:\n{}", tally.failed.len(), tally.failed.join("\n"));
    assert!(tally.passes() >= 80, "only {} cases ran", tally.passes());
}

/// Runs `sheaf compute` with an input, and returns exit code, output and error.
fn sheaf_compute(method: &str, input: &str) -> (i32, String, String) {
    let mut child = Command::new(program("sheaf"))
        .args(["compute", method])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("sheaf starts");
    // A method that is not there is refused before the input is read.
    let _ = child.stdin.take().expect("its input").write_all(input.as_bytes());
    let done = child.wait_with_output().expect("it ends");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (done.status.code().unwrap_or(-1), text(done.stdout), text(done.stderr))
}

#[test]
fn the_command_line_answers_every_case() {
    all_agree(|method, input| match sheaf_compute(method, &input.to_string()) {
        (0, out, _) => serde_json::from_str(&out).map_err(|e| e.to_string()),
        (code, out, err) => {
            assert!(
                code == 1 && out.is_empty(),
                "an error is exit 1 with nothing on standard output: {code} {out}"
            );
            Err(err)
        }
    });
}

#[test]
fn the_service_answers_every_case() {
    let server = TestServer::start();
    let device = server.found();
    all_agree(|method, input| {
        let answer = server.call("POST", &format!("/v1/compute/{method}"), Some(&device.token), Some(input));
        match answer.status {
            200 => Ok(answer.body),
            422 => Err(answer.body.to_string()),
            other => panic!("{method}: status {other}"),
        }
    });
}

#[test]
fn wrong_input_at_the_command_line_is_told_and_never_half_answered() {
    for (method, input, says) in [
        ("group", "", "JSON"),
        ("group", "{\"points_mm\": [[1, NaN]]}", "JSON"),
        ("group", "{}", "points_mm"),
        ("group", "{\"points_mm\": [[1]]}", "points_mm[0]"),
        ("group", "{\"points_mm\": [[1e999, 0]]}", "JSON"),
        ("grupp", "{}", "group"),
        ("fit", "[]", "object"),
        (
            "effects",
            "{\"changes\": [], \"groups\": [{\"at\": \"today\", \"distance_m\": 30, \"points_mm\": [[1, 2]]}]}",
            "groups[0].at",
        ),
        (
            "effects",
            "{\"changes\": [], \"groups\": [{\"at\": \"2026-04-04T09:30:00Z\", \"distance_m\": 0, \"points_mm\": [[1, 2]]}]}",
            "groups[0].distance_m",
        ),
    ] {
        let (code, out, err) = sheaf_compute(method, input);
        assert!(code == 1 && out.is_empty(), "{method} {input}: {code} {out}");
        assert!(err.contains(says), "{method} {input}: {err}");
    }
    let deep = "[".repeat(100_000);
    let (code, out, _) = sheaf_compute("group", &deep);
    assert!(code == 1 && out.is_empty());
}
