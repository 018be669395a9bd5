//! The model for the page is checked in as WebAssembly; it has to be that of the sources beside it.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};
use tempfile::TempDir;

fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// Runs `server/web/build` of a tree; returns whether all was well, what it printed, and what it said.
fn build(tree: &Path, flag: &str) -> (bool, String, String) {
    let ran = Command::new("sh").arg(tree.join("server/web/build")).arg(flag).output().expect("a shell");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("text");
    (ran.status.success(), text(ran.stdout).trim().to_owned(), text(ran.stderr))
}

#[test]
fn the_model_of_the_page_is_that_of_its_sources() {
    let (sound, _, said) = build(&top(), "--check");
    assert!(sound, "{said}");
}

/// Copies a file or a folder of the project into another tree.
fn copy(name: &str, into: &Path) {
    let to = into.join(name).parent().expect("a folder").to_owned();
    fs::create_dir_all(&to).expect("it can be made");
    let copied = Command::new("cp").arg("-r").arg(top().join(name)).arg(&to).status().expect("cp");
    assert!(copied.success(), "{name}");
}

/// Writes a text anew.
fn alter(file: &Path, how: impl Fn(&str) -> String) {
    let text = fs::read_to_string(file).expect("text");
    let altered = how(&text);
    assert_ne!(altered, text, "{}", file.display());
    fs::write(file, altered).expect("it can be written");
}

#[test]
fn a_change_of_what_goes_into_the_model_is_noticed_and_of_nothing_else() {
    let folder = TempDir::new().expect("a folder");
    let tree = folder.path();
    for name in ["Cargo.toml", "Cargo.lock", "shared-model/Cargo.toml", "shared-model/src", "server/web/door"]
    {
        copy(name, tree);
    }
    copy("server/web/build", tree);
    let digest = || build(tree, "--digest").1;
    let first = digest();
    assert_eq!(first.len(), 64, "{first}");
    let same: [(&str, &str, &str); 5] = [
        (
            "shared-model/src/qr.rs",
            "mod tests {\n",
            "mod tests {\n    // Nothing of this goes into the file.\n",
        ),
        ("shared-model/src/door/laws.rs", "\n", "\n// A law.\n"),
        ("Cargo.toml", "\nclap = ", "\n# A library of the programs.\nclap = "),
        ("Cargo.toml", "[profile.dev]\n", "[profile.dev]\nincremental = true\n"),
        ("Cargo.lock", "name = \"clap\"\n", "name = \"clap\"\nnote = \"of the programs\"\n"),
    ];
    for (file, from, to) in same {
        alter(&tree.join(file), |text| text.replacen(from, to, 1));
        assert_eq!(digest(), first, "{file}: {to}");
    }
    let other = [
        ("shared-model/src/qr.rs", "MARGIN: usize = 4", "MARGIN: usize = 5"),
        ("server/web/door/src/lib.rs", "room.input.clear();", ""),
        ("shared-model/Cargo.toml", "[dependencies]\n", "[dependencies]\nbytes.workspace = true\n"),
        ("Cargo.toml", "opt-level = \"s\"", "opt-level = \"z\""),
        ("Cargo.toml", "libm = \"0.2\"", "libm = \"0.3\""),
        ("Cargo.lock", "name = \"libm\"\n", "name = \"libm\"\nnote = \"of the model\"\n"),
    ];
    let mut seen = vec![first];
    for (file, from, to) in other {
        alter(&tree.join(file), |text| text.replacen(from, to, 1));
        let now = digest();
        assert!(!seen.contains(&now), "{file}: {to}");
        seen.push(now);
    }
    fs::write(tree.join("shared-model/src/more.rs"), "//! More.\n").expect("it can be written");
    assert!(!seen.contains(&digest()), "a new file");
}

#[test]
fn a_file_that_is_not_the_one_that_was_built_is_noticed() {
    let folder = TempDir::new().expect("a folder");
    let tree = folder.path();
    for name in ["Cargo.toml", "Cargo.lock", "shared-model/Cargo.toml", "shared-model/src", "server/web/door"]
    {
        copy(name, tree);
    }
    copy("server/web/build", tree);
    let check = || build(tree, "--check");
    let (sound, _, said) = check();
    assert!(!sound && said.contains("there is no model yet"), "{said}");
    let web = tree.join("server/web");
    fs::write(web.join("model.wasm"), "abc").expect("it can be written");
    // What SHA-256 makes of `abc` is the first example of FIPS 180-2, appendix B.
    let abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    let noted = format!("sources  {}\nmodel    {abc}\ncompiler none\n", build(tree, "--digest").1);
    fs::write(web.join("model.sources"), noted).expect("it can be written");
    let (sound, _, said) = check();
    assert!(sound, "{said}");
    fs::write(web.join("model.wasm"), "abd").expect("it can be written");
    let (sound, _, said) = check();
    assert!(!sound && said.contains("not the file that model.sources tells of"), "{said}");
    fs::write(web.join("model.wasm"), "abc").expect("it can be written");
    alter(&tree.join("shared-model/src/qr.rs"), |text| {
        text.replacen("MARGIN: usize = 4", "MARGIN: usize = 5", 1)
    });
    let (sound, _, said) = check();
    assert!(!sound && said.contains("sources of the model were changed"), "{said}");
}
