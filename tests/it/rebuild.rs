//! A bow is put back as it was.

use crate::harness::alone::begun;
use serde_json::{Value, json};

/// Runs a command line: exit code, answer, remarks.
type Sheaf<'a> = &'a dyn Fn(&[&str]) -> (u8, String, String);

#[test]
fn what_was_measured_stands_beside_what_was_noted() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "part", "red string", "--what", "string"]).0, 0);
    assert_eq!(
        sheaf(&["change", "elm", "brace_height=215", "tiller=4", "plunger=2", "string=red string"]).0,
        0
    );
    let (code, out, err) = sheaf(&["rebuild", "elm", "brace=212", "tiller==4.5", "string=Red String"]);
    assert_eq!(code, 0, "{err}");
    let flat = out.replace('\n', " ");
    assert!(
        flat.contains("3 of 4 measured, 1 off. Begin with brace height: 3 mm too little. It moves"),
        "{out}"
    );
    assert!(out.contains("brace height is off and it moves this"), "{out}");
    assert!(err.contains("without an arrow on it") && err.contains("qualified coach"), "{err}");
    let lines: Vec<&str> = out.lines().skip_while(|line| !line.starts_with("setting")).collect();
    let at = |word: &str| lines.iter().position(|line| line.starts_with(word));
    assert!(at("string") < at("brace height") && at("brace height") < at("tiller"), "{out}");
    let told: Value =
        serde_json::from_str(&sheaf(&["rebuild", "elm", "plunger=2 1/4", "--json"]).1).expect("JSON");
    let plunger = &told["rows"][3];
    assert_eq!(
        (&plunger["target"], &plunger["off"], &plunger["ok"]),
        (&json!("2 turns"), &json!("0.25 turns too much"), &json!(false))
    );
}

#[test]
fn what_cannot_be_measured_so_is_said() {
    let (_folder, sheaf) = begun();
    for (words, says) in [
        (vec!["rebuild", "oak"], "no bow called"),
        (vec!["rebuild", "elm", "brace"], "no setting with what it measures"),
        (vec!["rebuild", "elm", "brace="], "gives no value"),
        (vec!["rebuild", "elm", "wheel=3"], "no setting `wheel`"),
        (vec!["rebuild", "elm", "brace=8"], "between 100 and 350 mm"),
        (vec!["rebuild", "elm", "--baseline", "match"], "no baseline called"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{words:?}: {err}");
    }
    assert!(sheaf(&["rebuild", "elm"]).1.contains("Nothing of its setup is noted"));
}

/// A bow with a setup, and that setup as a baseline.
fn saved(sheaf: Sheaf<'_>) {
    for words in [
        &["add", "part", "red string", "--what", "string"][..],
        &["change", "elm", "brace_height=215", "tiller=4", "nocking=6", "plunger=2", "string=red string"],
        &["baseline", "save", "elm", "match"],
    ] {
        let (code, _, err) = sheaf(words);
        assert_eq!(code, 0, "{words:?}: {err}");
    }
}

#[test]
fn a_tiller_that_is_out_is_found_with_what_it_moves() {
    let (_folder, sheaf) = begun();
    saved(&sheaf);
    let (code, out, err) =
        sheaf(&["rebuild", "elm", "--baseline", "match", "brace=215", "tiller=7", "nocking=6"]);
    assert_eq!(code, 0, "{err}");
    let flat = out.replace("\n    ", " ").replace('\n', " ");
    assert!(flat.contains("3 of 5 measured, 1 off. Begin with tiller: 3 mm too much."), "{out}");
    assert!(
        flat.contains("It moves draw weight and nocking point: measure these again once it is right."),
        "{out}"
    );
    assert!(flat.contains("tiller is off and it moves this: put that right first"), "{out}");
    let (_, _, err) = sheaf(&["list", "changes", "--bow", "elm", "--json"]);
    assert_eq!(err, "");
    let setup = |sheaf: Sheaf<'_>| -> Value {
        serde_json::from_str(&sheaf(&["show", "elm", "--json"]).1).expect("JSON")
    };
    assert_eq!(setup(&sheaf)["setup"]["tiller_mm"], 4.0, "nothing is written unless that is asked for");
    let (code, out, err) =
        sheaf(&["rebuild", "elm", "--baseline", "match", "brace=215", "tiller=7", "--keep"]);
    assert!(
        code == 0 && out.contains("tiller 4 -> 7 mm.") && !out.contains("brace height 215 ->"),
        "{out}{err}"
    );
    assert_eq!(setup(&sheaf)["setup"]["tiller_mm"], 7.0);
    let told: Value =
        serde_json::from_str(&sheaf(&["rebuild", "elm", "tiller=7", "--keep", "--json"]).1).expect("JSON");
    assert_eq!(told["kept"], json!({"change": null, "altered": []}), "it is noted so already");
}

#[test]
fn what_is_no_part_of_the_records_is_not_kept_as_one() {
    let (_folder, sheaf) = begun();
    saved(&sheaf);
    for (words, says) in [
        (vec!["rebuild", "elm", "string=green string", "--keep"], "no part called `green string`"),
        (vec!["rebuild", "elm", "--keep"], "nothing was measured"),
        (vec!["rebuild", "elm", "tiller=5", "tiller_mm=6", "--keep"], "given twice"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{words:?}: {err}");
    }
    let (code, out, _) = sheaf(&["rebuild", "elm", "string=green string"]);
    assert!(code == 0 && out.contains("another one"), "to compare it need not be recorded: {out}");
    let (code, _, err) = sheaf(&["rebuild", "elm", "--at", "10:30"]);
    assert!(code == 1 && err.contains("--keep"), "a time is of what is kept: {code} {err}");
}

#[test]
fn inches_are_taken_and_told_where_that_is_asked_for() {
    let (_folder, sheaf) = begun();
    saved(&sheaf);
    let (code, out, err) = sheaf(&["rebuild", "elm", "--imperial", "brace=8 3/8", "tiller=4mm", "plunger=2"]);
    assert_eq!(code, 0, "{err}");
    // 215 mm are 8.46 in; 8 3/8 in are 212.725 mm: 2.275 mm, 0.09 in, too little.
    assert!(
        out.contains("8.46 in") && out.contains("0.09 in too little") && out.contains("2 turns"),
        "{out}"
    );
    let (code, _, err) = sheaf(&["rebuild", "elm", "--imperial", "brace=215"]);
    assert!(code == 1 && err.replace('\n', " ").contains("did you mean 215 mm"), "{err}");
}

/// Returns the dark modules of the code in a sheet, from the runs of its path.
fn modules(page: &str) -> Vec<Vec<bool>> {
    let code = &page[page.find("class=\"chart qr\"").expect("a code")..];
    let side: usize =
        code.split("viewBox=\"0 0 ").nth(1).and_then(|v| v.split(' ').next()?.parse().ok()).expect("a side");
    let path =
        code.split("class=\"qr-dark\"").nth(1).and_then(|d| d.split(" d=\"").nth(1)?.split('"').next());
    let mut dark = vec![vec![false; side]; side];
    for run in path.expect("a path").split('M').filter(|run| !run.is_empty()) {
        let numbers: Vec<usize> =
            run.split([' ', 'h', 'v']).take(3).map(|n| n.parse().expect("a number")).collect();
        dark[numbers[1]][numbers[0]..numbers[0] + numbers[2]].fill(true);
    }
    dark
}

/// Reads the code of a sheet with a reader that is not ours.
fn scanned(page: &str) -> String {
    const SCALE: usize = 4;
    let dark = modules(page);
    let side = dark.len() * SCALE;
    let grey = |x: usize, y: usize| if dark[y / SCALE][x / SCALE] { 0 } else { 255 };
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side, side, grey);
    let grids = image.detect_grids();
    assert_eq!(grids.len(), 1, "one code is seen");
    grids[0].decode().expect("it can be read").1
}

#[test]
fn a_sheet_is_printed_with_a_code_that_opens_the_bow() {
    let (folder, sheaf) = begun();
    saved(&sheaf);
    let file = |name: &str| folder.path().join(name).display().to_string();
    let print = |name: &str, more: &[&str]| {
        let file = file(name);
        let words = [&["rebuild", "elm", "--baseline", "match", "--print", &file][..], more].concat();
        sheaf(&words)
    };
    let text = |name: &str| std::fs::read_to_string(file(name)).expect("it was written");
    let (code, out, err) = print("sheet.html", &[]);
    assert!(code == 0 && err.contains("on no server yet") && out.is_empty(), "{out}{err}");
    let page = text("sheet.html");
    assert!(page.contains("This team is on no server yet, so there is no code to scan."));
    assert!(!page.contains("sheaf connect") && !page.contains("--link"), "paper takes no commands");
    let (code, _, err) = print("sheet.html", &[]);
    assert!(code == 1 && err.contains("is there already") && err.contains("--replace"), "{err}");
    let link = "https://range.example/#bow?bow=1";
    for (name, paper) in [("sheet.html", "a4"), ("sheet.svg", "a4"), ("letter.SVG", "letter")] {
        let (code, _, err) = print(name, &["--replace", "--link", link, "--paper", paper]);
        assert_eq!(code, 0, "{err}");
        assert_eq!(scanned(&text(name)), link);
        assert!(text(name).contains("elm as in match") && text(name).contains("215 mm"), "{name}");
    }
    assert!(text("letter.SVG").contains("width=\"215.9mm\" height=\"279.4mm\""));
    assert!(text("sheet.svg").contains("width=\"210mm\" height=\"297mm\""));
    for (name, more, says) in [
        ("sheet.pdf", &[][..], ".html"),
        ("sheet", &[], ".svg"),
        ("new.svg", &["--link", "javascript:alert(1)"], "is no link"),
        ("none/sheet.svg", &["--link", link], "cannot write"),
    ] {
        let (code, _, err) = print(name, more);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{name}: {err}");
    }
    let told: Value = serde_json::from_str(&print("json.svg", &["--json", "--link", link]).1).expect("JSON");
    assert_eq!(told["files"], json!([file("json.svg")]));
}

#[test]
fn the_code_opens_the_bow_on_the_teams_server() {
    use crate::harness::{alone::on_terminal, server::TestServer};
    let server = TestServer::start();
    let folder = tempfile::tempdir().expect("a folder");
    let home = folder.path().join("home");
    let file = folder.path().join("sheet.svg").display().to_string();
    for words in [
        &["start", "Pair", "--me", "Ash"][..],
        &["connect", &server.url(""), "--key", &server.key()],
        &["add", "bow", "elm"],
        &["change", "elm", "tiller=4"],
    ] {
        assert_eq!(on_terminal(&home, words).0, 0, "{words:?}");
    }
    let (code, _, err) = on_terminal(&home, &["rebuild", "elm", "--print", &file]);
    assert!(code == 0 && err.replace('\n', " ").contains("this machine only"), "{err}");
    let told: Value = serde_json::from_str(&on_terminal(&home, &["--json", "show", "elm"]).1).expect("JSON");
    let bow = told["id"].as_str().expect("an id");
    let page = std::fs::read_to_string(&file).expect("it was written");
    assert_eq!(scanned(&page), format!("{}/#bow?bow={bow}", server.url("")));
}

#[test]
fn what_one_page_does_not_hold_is_on_a_second_file() {
    let (folder, sheaf) = begun();
    let own: Vec<String> = (0..45).map(|n| format!("damper_number_{n}_mm={n}")).collect();
    let words: Vec<&str> = ["change", "elm"].into_iter().chain(own.iter().map(String::as_str)).collect();
    assert_eq!(sheaf(&words).0, 0);
    let file = folder.path().join("sheet.svg").display().to_string();
    let (code, _, err) = sheaf(&["rebuild", "elm", "--print", &file]);
    assert!(code == 0 && err.contains("sheet-2.svg"), "{err}");
    let second = std::fs::read_to_string(folder.path().join("sheet-2.svg")).expect("it was written");
    assert!(second.contains("page 2 of"), "{second}");
    std::fs::remove_file(&file).expect("it is there");
    let (code, _, err) = sheaf(&["rebuild", "elm", "--print", &file]);
    assert!(code == 1 && err.contains("sheet-2.svg is there already"), "{err}");
    assert!(!folder.path().join("sheet.svg").exists(), "all pages are written, or none");
}

#[test]
fn a_draw_weight_says_for_whose_draw_it_is_and_one_of_other_limbs_is_no_target() {
    let (folder, sheaf) = begun();
    for words in [
        &["set", "person", "Ash", "draw_length=27in"][..],
        &["add", "person", "Birch", "--draw-length", "28.5in"],
        &["add", "part", "medium 38", "--what", "limbs"],
        &["add", "part", "medium 30", "--what", "limbs"],
        &["change", "elm", "limbs=medium 38", "limb_bolt_top=2", "limb_bolt_bottom=2", "plunger=2"],
    ] {
        let (code, _, err) = sheaf(words);
        assert_eq!(code, 0, "{words:?}: {err}");
    }
    let kept = sheaf(&["change", "elm", "draw_weight=38lbf", "--json"]).1;
    let kept: Value = serde_json::from_str(&kept).expect("JSON");
    assert_eq!(sheaf(&["set", "change", kept["change"].as_str().expect("an id"), "by=Birch"]).0, 0);
    assert_eq!(sheaf(&["baseline", "save", "elm", "match"]).0, 0);
    let told = || sheaf(&["rebuild", "elm"]).1.split_whitespace().collect::<Vec<_>>().join(" ");
    let noted = "38 lbf was noted 31 March 2026 by Birch, who draws 28.5 in: at another draw length it is another weight.";
    assert!(told().contains(noted) && !told().contains("by the draw curve"), "{}", told());
    assert_eq!(sheaf(&["curve", "elm", "12=9.5", "20=21", "24=28", "27=34.5", "29=39"]).0, 0);
    assert!(told().contains("34.5 lbf at the 27 in of Ash by the draw curve of "), "{}", told());
    let paper = folder.path().join("sheet.html");
    assert_eq!(sheaf(&["rebuild", "elm", "--print", paper.to_str().expect("a path")]).0, 0);
    assert!(std::fs::read_to_string(paper).is_ok_and(|page| page.contains(noted)));
    assert_eq!(sheaf(&["change", "elm", "limbs=medium 30"]).0, 0);
    let other = sheaf(&["rebuild", "elm", "draw_weight=30", "--json"]).1;
    let other: Value = serde_json::from_str(&other).expect("JSON");
    let rows = other["rows"].as_array().expect("rows");
    let row = |setting: &str| rows.iter().find(|row| row["setting"] == setting).expect("a row");
    assert_eq!(
        (&row("draw_weight_lbf")["target"], &row("draw_weight_lbf")["ok"]),
        (&json!("measure again"), &Value::Null)
    );
    assert_eq!(row("plunger_turns")["first"], Value::Null, "it is off from nothing");
    assert!(told().contains("who draws 28.5 in, before these limbs came on: measure again."), "{}", told());
    // The setup that has its own limbs has its weight too, and the curve that was measured of it.
    let saved = sheaf(&["rebuild", "elm", "--baseline", "match"]).1;
    let saved = saved.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(saved.contains(noted) && saved.contains("34.5 lbf at the 27 in of Ash"), "{saved}");
}

#[test]
fn the_limits_of_the_makers_stand_in_the_rows_that_they_bound() {
    let (folder, sheaf) = begun();
    for words in [
        &["add", "part", "grey 25", "--what", "riser", "--least-bolt", "0", "--most-bolt", "5"][..],
        &["add", "part", "red", "--what", "string", "--least-brace", "205mm", "--most-brace", "225mm"],
        &["add", "part", "medium 38", "--what", "limbs", "--least-brace", "210mm", "--most-brace", "230mm"],
        &[
            "change",
            "elm",
            "riser=grey 25",
            "limbs=medium 38",
            "string=red",
            "limb_bolt_top=2",
            "brace_height=215",
        ],
    ] {
        let (code, _, err) = sheaf(words);
        assert_eq!(code, 0, "{words:?}: {err}");
    }
    let flat = |text: &str| text.split_whitespace().collect::<Vec<_>>().join(" ");
    let bolts = "The maker of grey 25 allows 0 to 5 turns, as it was noted.";
    let brace = "The maker of medium 38 allows 210 to 230 mm, as it was noted. The maker of red allows 205 to 225 mm, as it";
    let told = flat(&sheaf(&["rebuild", "elm"]).1);
    assert!(told.contains(&format!("top limb bolt: {bolts}")), "{told}");
    assert!(told.contains(&format!("brace height: {brace}")), "{told}");
    let inches = flat(&sheaf(&["rebuild", "elm", "--imperial"]).1);
    assert!(inches.contains("The maker of medium 38 allows 8.27 to 9.05 in"), "{inches}");
    for ending in ["html", "svg"] {
        let paper = folder.path().join(format!("sheet.{ending}"));
        assert_eq!(sheaf(&["rebuild", "elm", "--print", paper.to_str().expect("a path")]).0, 0);
        let page = std::fs::read_to_string(paper).expect("a sheet");
        assert!(page.contains("The maker of grey 25 allows 0"), "{page}");
        assert!(page.contains("The maker of medium 38 allows"), "{page}");
    }
}

#[test]
fn what_was_measured_earlier_is_held_against_what_was_noted_then() {
    let (_folder, sheaf) = begun();
    for (tiller, day) in [("5", "01"), ("8", "10")] {
        let words = ["change", "elm", &format!("tiller={tiller}"), "--at", &format!("2026-03-{day} 09:00")];
        assert_eq!(sheaf(&words).0, 0);
    }
    let rebuilt = |tiller: &str, day: &str| {
        let at = format!("2026-03-{day} 09:00");
        let (code, out, err) = sheaf(&["rebuild", "elm", &format!("tiller={tiller}"), "--keep", "--at", &at]);
        assert_eq!(code, 0, "{err}");
        out
    };
    let same = rebuilt("5", "03");
    assert!(same.contains("there is nothing to keep") && !same.contains("too little"), "{same}");
    let off = rebuilt("8", "05");
    assert!(off.contains("3 mm too much") && off.contains("tiller 5 -> 8 mm"), "{off}");
}
