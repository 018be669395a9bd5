//! The rules of the house, as far as a program can see them: what may be named where, how long a file may
//! be, what a method's page must say.

use std::{
    fs,
    path::{Path, PathBuf},
};

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Returns every Rust file below a folder with its path from the top and its text.
fn sources(folder: &str) -> Vec<(String, String)> {
    files(folder, "rs")
}

/// Returns every file with that ending below a folder with its path from the top and its text.
fn files(folder: &str, ending: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut open = vec![top().join(folder)];
    while let Some(here) = open.pop() {
        for entry in fs::read_dir(&here).expect("a folder of the project can be read") {
            let path = entry.expect("a folder entry can be read").path();
            if path.is_dir() {
                open.push(path);
            } else if path.extension().is_some_and(|e| e == ending) {
                let text = fs::read_to_string(&path).expect("a source is text");
                let name = path.strip_prefix(top()).expect("it lies below the top").display().to_string();
                found.push((name, text));
            }
        }
    }
    found.sort();
    assert!(!found.is_empty(), "there are sources below {folder}");
    found
}

/// Returns the code of a file without comments and without its tests.
fn code(text: &str) -> String {
    let tests = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    let lines = text[..tests].lines().filter(|line| !line.trim_start().starts_with("//"));
    lines.collect::<Vec<_>>().join("\n")
}

fn is_test(name: &str) -> bool {
    name.ends_with("tests.rs") || name.ends_with("laws.rs") || name.contains("/tests/")
}

/// Checks that a word stands only in files whose path begins with one of these.
#[track_caller]
fn only_in(word: &str, folders: &[&str], allowed: &[&str]) {
    for folder in folders {
        for (name, text) in sources(folder) {
            let free = allowed.iter().any(|a| name.starts_with(a));
            assert!(
                free || is_test(&name) || !code(&text).contains(word),
                "`{word}` stands in {name}; it belongs in {allowed:?}"
            );
        }
    }
}

#[test]
fn each_library_is_named_in_its_own_place() {
    let all = ["shared-model/src", "server/src", "cli/src"];
    only_in("sled::", &all, &["server/src/index"]);
    only_in("warp::", &all, &["server/src/lib.rs", "server/src/routes"]);
    only_in("clap::", &all, &["cli/src/args", "server/src/args.rs"]);
    only_in("prometheus_client", &all, &["server/src/metrics"]);
    only_in("reqwest::", &all, &["cli/src/remote"]);
    only_in("rustls::", &all, &["cli/src/remote", "server/src/listen"]);
    only_in("sheaf_server", &["cli/src", "shared-model/src"], &[]);
    only_in("sheaf_cli", &["server/src", "shared-model/src"], &[]);
}

#[test]
fn the_model_is_pure() {
    for word in [
        "HashMap",
        "HashSet",
        "std::fs",
        "std::env",
        "std::net",
        "SystemTime",
        "Instant::now",
        "Timestamp::now",
        "println!",
    ] {
        only_in(word, &["shared-model/src"], &[]);
    }
    for call in [
        ".ln()",
        ".exp()",
        ".sin()",
        ".cos()",
        ".tan()",
        ".powf(",
        ".hypot(",
        ".atan2(",
        ".log10()",
        ".ln_1p()",
        ".exp_m1()",
        ".cbrt()",
    ] {
        only_in(call, &["shared-model/src"], &[]);
    }
}

#[test]
fn every_method_says_what_it_is() {
    // Files of a method in several parts whose page stands in another of them, and tables of methods.
    let no_method = [
        "dial/gather.rs",
        "dial/input.rs",
        "dial/output.rs",
        "dial/prepare.rs",
        "effects/input.rs",
        "expected_round/archer.rs",
        "effects/output.rs",
        "effects/prepare.rs",
        "effects/tight.rs",
        "effects/words.rs",
        "group/figures.rs",
        "group/mrad.rs",
        "marks/input.rs",
        "marks/output.rs",
        "mixed/columns.rs",
        "mixed/reduced.rs",
        "stats/mod.rs",
        "stats/shots.rs",
        "special/mod.rs",
    ];
    for (name, text) in sources("shared-model/src/stats") {
        if is_test(&name) || no_method.iter().any(|part| name.ends_with(part)) {
            continue;
        }
        let parts = ["# Formula", "# Units", "# Source", "# Limits"];
        let missing: Vec<_> = parts.iter().filter(|p| !text.contains(&format!("//! {p}"))).collect();
        assert!(missing.is_empty(), "{name} lacks {missing:?}");
    }
}

#[test]
fn files_are_short_enough_to_read() {
    for folder in ["shared-model/src", "server/src", "cli/src", "tests"] {
        for (name, text) in sources(folder) {
            let lines = text.lines().count()
                - text.find("#[cfg(test)]\nmod tests {").map_or(0, |at| text[at..].lines().count());
            let excused = text.lines().take(12).any(|l| l.contains("Longer than 400 lines because"));
            assert!(
                lines <= 400 || excused,
                "{name} has {lines} lines without its tests; split it by concern"
            );
        }
    }
}

/// Returns the functions of a file outside its tests that have more than 40 lines, signature and braces included.
fn long_functions(text: &str) -> Vec<(String, usize)> {
    let tests = text.find("#[cfg(test)]\nmod tests {").unwrap_or(text.len());
    let lines: Vec<&str> = text[..tests].lines().collect();
    let mut found = Vec::new();
    for (from, line) in lines.iter().enumerate() {
        let indent = line.len() - line.trim_start().len();
        let Some((before, after)) = line.split_once("fn ") else { continue };
        let words = ["pub", "async", "const", "unsafe", "pub(super)", "pub(crate)", "pub(in"];
        let head = before.split_whitespace().all(|w| words.contains(&w) || w.starts_with("crate::"));
        let end = format!("{}}}", " ".repeat(indent));
        let length = lines[from..].iter().position(|l| *l == end).map_or(0, |n| n + 1);
        if head && !line.ends_with(';') && !line.ends_with('}') && length > 40 {
            found.push((after.split(['(', '<']).next().unwrap_or_default().to_owned(), length));
        }
    }
    found
}

#[test]
fn functions_are_short_enough_to_read() {
    // Lists of fields, of matches and of checks that read better in one piece.
    let excused = [
        "access.rs::act",
        "command/mod.rs::run",
        "committer.rs::keep",
        "effects/mod.rs::blank",
        "effects/words.rs::write_shift",
        "group/mod.rs::group",
        "information.rs::add_session",
        "likelihood.rs::slopes",
        "listen.rs::run",
        "mixed/mod.rs::check",
        "mixed/mod.rs::reduce",
        "table/header.rs::split",
        "table/sheet.rs::read",
        "verdict/plot.rs::group_plot",
    ];
    for folder in ["shared-model/src", "server/src", "cli/src"] {
        for (name, text) in sources(folder).into_iter().filter(|(name, _)| !is_test(name)) {
            for (function, lines) in long_functions(&text) {
                let place = format!("{name}::{function}");
                assert!(excused.iter().any(|e| place.ends_with(e)), "{place} has {lines} lines; split it");
            }
        }
    }
    assert_eq!(long_functions(&format!("fn long() {{\n{}}}\n", "    x();\n".repeat(39))).len(), 1);
    assert_eq!(long_functions(&format!("fn short() {{\n{}}}\n", "    x();\n".repeat(38))).len(), 0);
}

#[test]
fn the_page_holds_no_formula_and_writes_no_markup() {
    for (name, text) in files("server/web/js", "js") {
        assert!(text.lines().count() <= 400, "{name} is longer than 400 lines");
        let lines = text.lines().filter(|line| !line.trim_start().starts_with(['*', '/']));
        let code = lines.collect::<Vec<_>>().join("\n");
        for word in [
            "innerHTML",
            "outerHTML",
            "insertAdjacentHTML",
            "document.write",
            "eval(",
            "new Function",
            "style:",
        ] {
            assert!(
                !code.contains(word),
                "`{word}` stands in {name}: names come from elsewhere, and the policy forbids it"
            );
        }
        // Where a thumb is on a face is the page's own; what it comes to is the model's.
        let geometry = name.starts_with("server/web/js/place/");
        for word in [
            "Math.sqrt",
            "Math.hypot",
            "Math.atan",
            "Math.sin",
            "Math.cos",
            "Math.exp",
            "Math.log",
            "Math.pow",
        ] {
            assert!(geometry || !code.contains(word), "`{word}` stands in {name}: figures are the model's");
        }
    }
}

#[test]
fn the_top_level_is_the_agreed_one() {
    let agreed = [
        "Cargo.toml",
        "Cargo.lock",
        "README.md",
        "DEVELOPERS.md",
        "CHANGELOG.md",
        "LICENSE-MIT",
        "LICENSE-APACHE",
        "server",
        "cli",
        "shared-model",
        "tests",
        "deploy",
        "target",
    ];
    for entry in fs::read_dir(top()).expect("the top can be read") {
        let name = entry.expect("a folder entry can be read").file_name().to_string_lossy().into_owned();
        assert!(
            name.starts_with('.') || agreed.contains(&name.as_str()),
            "`{name}` does not belong at the top"
        );
    }
}
