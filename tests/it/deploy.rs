//! The examples below `deploy` name only flags, variables and pages that exist.

use crate::harness::programs::program;
use std::{collections::BTreeSet, fs, path::Path, path::PathBuf, process::Command};

fn deploy() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../deploy")
}

fn help(command: &str) -> String {
    let ran = Command::new(program("sheafd")).args([command, "--help"]).output().expect("it runs");
    assert!(ran.status.success(), "`sheafd {command}` is a command");
    String::from_utf8(ran.stdout).expect("text")
}

/// Returns the files of a folder below `deploy` with these endings.
fn files(endings: &[&str]) -> Vec<(String, String)> {
    let mut open = vec![deploy()];
    let mut found = Vec::new();
    while let Some(folder) = open.pop() {
        for item in fs::read_dir(folder).expect("a folder") {
            let path = item.expect("an item").path();
            let name = path.display().to_string();
            if path.is_dir() {
                open.push(path);
            } else if endings.iter().any(|ending| name.ends_with(ending)) {
                found.push((name, fs::read_to_string(&path).expect("text")));
            }
        }
    }
    assert!(!found.is_empty(), "there are files that end in {endings:?}");
    found
}

/// Returns the command lines of `sheafd` in a unit: the words behind the program's name.
fn commands(text: &str) -> Vec<Vec<String>> {
    let joined = text.replace("\\\n", " ");
    let line = |line: &str| {
        let words: Vec<&str> =
            line.split_whitespace().map(|w| w.trim_matches(['"', '\'', '`', '(', ')', ';'])).collect();
        let at = words.iter().position(|word| {
            let plain = word.rsplit(['=', '(']).next().unwrap_or_default();
            plain == "sheafd" || plain.ends_with("/sheafd")
        })?;
        Some(words[at + 1..].iter().map(ToString::to_string).collect())
    };
    joined.lines().filter(|line| line.starts_with("Exec")).filter_map(line).collect()
}

#[test]
fn every_flag_and_variable_of_the_units_exists() {
    let mut seen = BTreeSet::new();
    for (name, text) in files(&[".service", ".conf"]) {
        for words in
            commands(&text).into_iter().filter(|words| words.first().is_some_and(|w| !w.starts_with('-')))
        {
            let help = help(&words[0]);
            for flag in words.iter().filter_map(|word| word.strip_prefix("--")) {
                let flag = format!("--{}", flag.split('=').next().unwrap_or_default());
                assert!(
                    help.split_whitespace().any(|w| w == flag),
                    "{name}: `sheafd {}` has no {flag}",
                    words[0]
                );
                seen.insert(flag);
            }
        }
        let serve = help("serve");
        let variables = text.split(|c: char| !(c.is_ascii_uppercase() || c == '_'));
        for variable in variables.filter(|word| word.starts_with("SHEAFD_")) {
            let known =
                serve.contains(&format!("[env: {variable}=")) || serve.contains(&format!("{variable} says"));
            assert!(known, "{name}: `sheafd serve` reads no {variable}");
            seen.insert(variable.to_owned());
        }
    }
    for used in ["--data", "--listen", "SHEAFD_TLS_CERT"] {
        assert!(seen.contains(used), "the units use {used}: {seen:?}");
    }
}

#[test]
fn the_service_hears_where_the_proxies_look_for_it() {
    let serve = help("serve");
    for (name, text) in files(&["nginx.conf", "Caddyfile"]) {
        let usual = serve.contains("[default: 127.0.0.1:7433]") && text.contains("127.0.0.1:7433");
        assert!(usual, "{name} passes on to the address at which `sheafd serve` listens");
    }
}

#[test]
fn every_test_and_file_that_the_threats_page_names_exists() {
    let text = fs::read_to_string(deploy().join("THREATS.md")).expect("the page");
    let quoted: Vec<&str> = text.split('`').skip(1).step_by(2).collect();
    let top = deploy().join("..");
    let mut checked = (0, 0);
    for word in &quoted {
        if let Some((file, test)) = word.split_once("::") {
            let source = fs::read_to_string(top.join(file)).unwrap_or_else(|e| panic!("{file}: {e}"));
            assert!(source.contains(&format!("fn {test}(")), "{file} has no test {test}");
            checked.0 += 1;
        } else if word.ends_with(".rs") || word.ends_with(".toml") {
            assert!(top.join(word).exists(), "{word} does not exist");
            checked.1 += 1;
        }
    }
    assert!(checked.0 >= 20 && checked.1 >= 5, "{checked:?}");
}
