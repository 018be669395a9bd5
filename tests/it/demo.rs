//! The main job with one command: the real service, two devices offline from each other, one state, verdicts.

use crate::harness::programs::program;
use std::process::Command;

#[test]
fn the_demo_plays_the_whole_job_and_its_truth_is_found() {
    let sheaf = program("sheaf");
    let folder = tempfile::tempdir().expect("a folder for the test");
    let output = Command::new(sheaf)
        .arg("demo")
        .env_remove("CARGO")
        .env("TMPDIR", folder.path())
        .env("NO_COLOR", "1")
        .output()
        .expect("sheaf runs");
    let text = String::from_utf8(output.stdout).expect("text");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    for says in [
        "invented",
        "All three hold the same state, digest",
        "Quarter turn on the plunger",
        "What the coach sees",
        "Begin with tiller: 3 mm too much.",
        "sight marks with blue twelve",
    ] {
        assert!(text.contains(says), "the demo does not say `{says}`:\n{text}");
    }
    // The shift that is built in is found, and the spread that the string took away.
    assert!(text.contains("groups moved") && text.contains("left (95 %"), "{text}");
    assert!(text.contains("% smaller (95 %"), "{text}");
    let wide: Vec<&str> = text.lines().filter(|l| l.chars().count() > 80).collect();
    assert!(wide.is_empty(), "wider than 80 columns: {wide:#?}");
    assert_eq!(std::fs::read_dir(folder.path()).expect("a folder").count(), 0, "nothing is left behind");
}
