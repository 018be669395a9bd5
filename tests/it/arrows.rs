//! What the arrows of a bow tell: by number, bare against fletched, and over distances with one sight mark.

use crate::harness::alone::begun;
use serde_json::Value;

/// Returns a number from -20 to 20 that looks drawn at random.
fn scatter(seed: usize) -> f64 {
    ((seed * 7919 + seed * seed * 104_729) % 4001) as f64 / 100.0 - 20.0
}

#[test]
fn an_arrow_that_lands_apart_is_named_with_its_offset() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "blue", "--count", "6"]).0, 0);
    let (code, out, _) = sheaf(&["arrows", "elm"]);
    assert!(code == 0 && out.contains("No numbered arrows with elm yet"), "{out}");
    for end in 0..12 {
        let shots: Vec<String> = (0..6)
            .map(|arrow| {
                let (x, y) = (scatter(12 * end + arrow), scatter(500 + 12 * end + arrow));
                let apart = if arrow == 2 { 60.0 } else { 0.0 };
                format!("{}:{:.1},{:.1}", arrow + 1, x + apart, y)
            })
            .collect();
        let mut words = vec!["shoot", "elm", "30m", "--face", "wa_80", "--arrows", "blue"];
        words.extend(shots.iter().map(String::as_str));
        let (code, _, err) = sheaf(&words);
        assert_eq!(code, 0, "{err}");
    }
    for name in ["elm", "blue"] {
        let (code, out, err) = sheaf(&["arrows", name]);
        assert_eq!(code, 0, "{err}");
        assert!(out.contains("Ash, blue") && out.contains("One arrow keeps landing apart"), "{out}");
        assert!(out.contains("Arrow 3 lands") && out.contains("mm right"), "{out}");
        assert_eq!(out.lines().filter(|l| l.ends_with("not shown")).count(), 5, "{out}");
        assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    }
    let told: Value = serde_json::from_str(&sheaf(&["arrows", "elm", "--json"]).1).expect("JSON");
    assert_eq!(told["sets"][0]["set_name"], "blue");
    let arrow = &told["sets"][0]["figures"]["arrows"][2];
    assert_eq!((&arrow["number"], &arrow["verdict"]), (&"3".into(), &"apart".into()));
}

#[test]
fn bare_shafts_are_read_for_the_bow_arm_and_only_as_the_bow_was_last_set() {
    let (_folder, sheaf) = begun();
    let (code, out, _) = sheaf(&["bare", "elm"]);
    assert!(code == 0 && out.contains("holds both bare and fletched"), "{out}");
    let shoot = |end: usize, left: f64| {
        let fletched: Vec<String> = (0..4)
            .map(|i| format!("{:.1},{:.1}", scatter(6 * end + i), scatter(300 + 6 * end + i)))
            .collect();
        let bare =
            (4..6).map(|i| format!("{:.1},{:.1}b", scatter(6 * end + i) - left, scatter(300 + 6 * end + i)));
        let shots: Vec<String> = fletched.into_iter().chain(bare).collect();
        let mut words = vec!["shoot", "elm", "18m", "--face", "wa_80"];
        words.extend(shots.iter().map(String::as_str));
        let (code, _, err) = sheaf(&words);
        assert_eq!(code, 0, "{err}");
    };
    (0..4).for_each(|end| shoot(end, -90.0));
    assert_eq!(sheaf(&["change", "elm", "plunger=2"]).0, 0);
    (4..10).for_each(|end| shoot(end, 80.0));
    let (code, out, err) = sheaf(&["bare", "elm"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("over 6 ends") && out.contains("cannot be read"), "{out}");
    for (arm, acts) in [("left", "acts stiff"), ("right", "acts weak")] {
        assert_eq!(sheaf(&["set", "person", "Ash", &format!("bow_arm={arm}")]).0, 0);
        let out = sheaf(&["bare", "elm", "--dial", "plunger_turns=2,0"]).1;
        let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(acts) && flat.contains("common practice, no source"), "{out}");
        assert!(flat.contains("Up and down: no difference is shown."), "{out}");
        assert!(flat.contains("steady") && flat.contains("qualified coach"), "{out}");
        assert!(flat.contains("plunger_turns=+2"), "{out}");
        assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    }
    assert_eq!(sheaf(&["change", "elm", "plunger=3"]).0, 0);
    let told: Value = serde_json::from_str(&sheaf(&["bare", "elm", "--json"]).1).expect("JSON");
    assert_eq!(told["archers"][0]["changed_since"], true);
    assert_eq!(told["archers"][0]["figures"]["sideways"]["reading"], "weak");
    let (code, _, err) = sheaf(&["bare", "elm", "--dial", "plunger_turns=much"]);
    assert!(code == 1 && err.contains("SETTING=RIGHT,HIGH"), "{err}");
}

#[test]
fn a_walk_back_needs_one_sight_mark_and_tells_a_lean_from_a_curve() {
    let (_folder, sheaf) = begun();
    let shoot = |sight: &str, drift: &dyn Fn(f64) -> f64| {
        for (n, d) in [10.0, 20.0, 30.0, 40.0].into_iter().enumerate() {
            let shots: Vec<String> = (0..8)
                .map(|i| {
                    let aim = d / 40.0 * scatter(40 * n + i + sight.len());
                    format!("{:.1},{:.1}", drift(d) + aim, scatter(i))
                })
                .collect();
            let distance = format!("{d}m");
            for end in shots.chunks(4) {
                let mut words = vec!["shoot", "elm", &distance, "--face", "wa_122"];
                words.extend(end.iter().map(String::as_str));
                words.extend(["--sight", sight].into_iter().filter(|_| !sight.is_empty()));
                let (code, _, err) = sheaf(&words);
                assert_eq!(code, 0, "{err}");
            }
        }
    };
    shoot("", &|d| d);
    let (code, out, _) = sheaf(&["walkback", "elm"]);
    assert!(code == 0 && out.contains("No walk-back with elm yet"), "{out}");
    shoot("curve", &|d| 0.2 * d * d);
    shoot("line", &|d| 5.0 * d);
    for (sight, says) in [("line", "leans"), ("curve", "in a curve")] {
        let (code, out, err) = sheaf(&["walkback", "elm", "--sight", sight]);
        assert_eq!(code, 0, "{err}");
        let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(says) && flat.contains("common practice, no source"), "{out}");
        assert!(flat.contains("sight left at") && flat.contains("qualified coach"), "{out}");
        assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    }
    let told: Value = serde_json::from_str(&sheaf(&["walkback", "elm", "--json"]).1).expect("JSON");
    assert_eq!(told["archers"][0]["sight"], "line", "the last one");
    let figures = &told["archers"][0]["figures"];
    assert_eq!((&figures["verdict"], &figures["side"]), (&"leaning".into(), &"right".into()));
    assert_eq!(figures["distances"][3]["ends"], 2);
}

#[test]
fn an_arrow_number_is_read_alike_from_both_ways_in() {
    let (folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "blue", "--count", "12"]).0, 0);
    let shoot = |shots: &[&str]| {
        let words =
            [&["shoot", "elm", "30m", "--face", "wa_80", "--arrows", "blue"] as &[&str], shots].concat();
        sheaf(&words)
    };
    let file = folder.path().join("groups.csv");
    let import = |numbers: &[&str]| {
        let rows: Vec<String> =
            numbers.iter().zip(1..).map(|(n, x)| format!("2026-04-12,elm,blue,\"{n}\",{x},2\n")).collect();
        std::fs::write(&file, format!("date,bow,arrows,arrow,x_mm,y_mm\n{}", rows.concat())).expect("a file");
        let path = file.to_str().expect("a path of text");
        sheaf(&["import", path, "--distance", "30m", "--face", "wa_80"])
    };
    let (code, _, err) = shoot(&["3:9@1", "03:9@2"]);
    assert!(code == 1 && err.contains("arrow 3"), "{err}");
    for numbers in [&["3", "03"], &["3", "3.0"], &["3", "-1"], &["3", "3,3,-1,x"]] {
        let (code, _, err) = import(numbers);
        assert!(code == 1 && err.contains("number"), "{numbers:?}: {err}");
    }
    assert_eq!(sheaf(&["list", "groups", "--json"]).1.trim(), "[]");
    let (code, out, _) = shoot(&["0:9@1", "1001:9@2", "12:9@3", "4294967296:9@4"]);
    for n in ["0", "1001", "4294967296"] {
        assert!(code == 0 && out.contains(&format!("no arrow {n} by the records: the set has 12")), "{out}");
    }
    assert!(!out.contains("no arrow 12 "), "{out}");
    let (code, _, err) = import(&["012", "13"]);
    assert!(code == 0 && err.contains("no arrow 13 by the records") && !err.contains("arrow 12 "), "{err}");
    let kept = sheaf(&["show", "last"]).1;
    assert!(kept.contains("[\"12\",\"13\"]"), "{kept}");
}

#[test]
fn labels_are_as_long_as_names_at_most() {
    let (folder, sheaf) = begun();
    let long = "s".repeat(101);
    for option in ["--session", "--end", "--sight"] {
        let (code, _, err) = sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80", option, &long]);
        assert!(code == 1 && err.contains("at most 100 characters"), "{option}: {err}");
    }
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, format!("date,bow,session,x_mm,y_mm\n2026-04-12,elm,{long},1,2\n"))
        .expect("a file");
    let path = file.to_str().expect("a path of text");
    let (code, _, err) = sheaf(&["import", path, "--distance", "30m", "--face", "wa_80"]);
    assert!(code == 1 && err.contains("at most 100 characters"), "{err}");
}
