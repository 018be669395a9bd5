//! Draw curves through the command line: noted, asked, laid over each other.

use crate::harness::alone::begun;
use serde_json::{Value, json};

type Sheaf = dyn Fn(&[&str]) -> (u8, String, String);

#[track_caller]
fn ok(sheaf: &Sheaf, words: &[&str]) -> String {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {err}");
    out
}

#[track_caller]
fn told(sheaf: &Sheaf, words: &[&str]) -> Value {
    serde_json::from_str(&ok(sheaf, &[words, &["--json"]].concat())).expect("JSON")
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Elm with limbs, brace height and a curve of a straight line: 2 lbf an inch from 10 in on.
fn straight(sheaf: &Sheaf) {
    ok(sheaf, &["set", "person", "Ash", "draw_length=27in"]);
    ok(sheaf, &["add", "part", "long 36", "--what", "limbs", "--marked-weight", "36"]);
    ok(sheaf, &["set", "part", "long 36", "most_draw=29in"]);
    // 209.55 mm are 8.25 in: the string rests at 10 in by the AMO measure.
    ok(sheaf, &["change", "elm", "limbs=long 36", "brace_height=209.55"]);
    let out = ok(sheaf, &["curve", "elm", "12=4", "18in=16", "24=28", "28=36", "--from", "brace"]);
    assert!(out.contains("4 points from 12 to 28 in"), "{out}");
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("No weight at 10 in was added, not measured") && out.contains("FP-3"), "{out}");
}

#[test]
fn a_straight_curve_says_what_a_straight_line_does() {
    let (_folder, sheaf) = begun();
    straight(&sheaf);
    let sheet = told(&sheaf, &["curve", "elm", "--draw", "20in,58.42cm"]);
    assert_eq!(sheet["points"][0]["added"], true);
    assert_eq!(sheet["points"].as_array().map(Vec::len), Some(5));
    let near = |value: &Value, want: f64| {
        let got = value.as_f64().expect("a number");
        assert!((got - want).abs() < 1e-9, "{got} and not {want}");
    };
    near(&sheet["asked"][0]["weight_lbf"], 20.0);
    near(&sheet["asked"][1]["weight_lbf"], 26.0); // 58.42 cm are 23 in
    let figures = &sheet["figures"];
    near(&figures["weight_lbf"], 34.0); // at Ash's 27 in
    near(&figures["stored_energy_ftlbf"], 17.0 * 17.0 / 12.0); // the triangle: 2 * 17^2 / 2 lbf in
    near(&figures["energy_per_pound"], 17.0 * 17.0 / 12.0 / 34.0);
    near(&figures["stacking"], 1.0);
    assert_eq!(figures["own_draw"], true);
    let (_, out, err) = sheaf(&["curve", "elm", "--plot"]);
    assert!(out.contains("34 lbf (15.4 kgf) on the fingers at Ash's draw of 27 in"), "{out}");
    assert!(out.contains("no stacking") && out.contains("common practice, no source"), "{out}");
    assert!(out.contains("added, not measured") && out.contains("o elm measured"), "{out}");
    assert!(err.contains("qualified coach"), "{err}");
    let stored = told(&sheaf, &["list", "curves"]);
    assert_eq!(
        stored[0]["fields"]["draw_in"],
        json!([12.0, 18.0, 24.0, 28.0]),
        "what was added is no measured point"
    );
}

#[test]
fn beyond_the_curve_nothing_is_said_but_where_it_ends() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["curve", "elm", "--draw", "28"]);
    assert!(code == 1 && err.contains("No draw curve of elm is noted yet"), "{err}");
    assert!(ok(&sheaf, &["curve", "elm"]).contains("No draw curve of elm"));
    straight(&sheaf);
    for (at, says) in [
        ("28.5in", "beyond 28 in (71.1 cm), the last draw that was measured"),
        ("28.5in", "Never draw past the maker's limit, 29 in"),
        ("9in", "lies before 10 in"),
        ("71", "did you mean 71 cm, which is 27.9528 in?"),
        ("wide", "no number"),
    ] {
        let (code, out, err) = sheaf(&["curve", "elm", "--draw", at]);
        let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(code == 1 && out.is_empty() && err.contains(says), "{at}: {err}");
    }
    ok(&sheaf, &["set", "person", "Ash", "draw_length=29in"]);
    let out = ok(&sheaf, &["curve", "elm"]);
    assert!(out.contains("the last draw measured"), "{out}");
    let out = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(out.contains("Ash's draw of 29 in (73.7 cm) lies outside what was measured"), "{out}");
}

#[test]
fn points_that_no_bow_has_are_refused_with_their_place_and_nothing_is_kept() {
    let (_folder, sheaf) = begun();
    for (points, says) in [
        (vec!["18=21", "26=33", "26=34"], "point 3: the draw of 26 in is given twice, as point 2"),
        (vec!["18=21", "28=38", "26=33"], "point 3: the draw of 26 in comes after 28 in"),
        (vec!["18=21", "71=38"], "point 2, draw_in: 71 is not between 5 and 37 in"),
        (vec!["18=40", "28=38"], "point 2: 38 lbf at 28 in is less than 40 lbf at 18 in"),
        (vec!["18=21", "28=-38"], "point 2, weight_lbf: -38 is not between"),
        (vec!["18=21", "28"], "`28` is no draw with its weight"),
        (vec!["18=21"], "two points or more"),
        (vec!["18=21", "28=38", "--from", "brace"], "brace height of this bow is not noted"),
    ] {
        let (code, _, err) = sheaf(&[&["curve", "elm"], &points[..]].concat());
        let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(code == 1 && err.contains(says), "{points:?}: {err}");
    }
    assert_eq!(told(&sheaf, &["list", "curves"]), json!([]));
    straight(&sheaf);
    let (code, _, err) = sheaf(&["curve", "elm", "20=21", "30=40"]);
    assert!(code == 0 && err.replace('\n', " ").contains("30 in is beyond 29 in, the longest draw"), "{err}");
    let (code, _, err) = sheaf(&["curve", "elm", "9.5=3", "28=40", "--from", "brace"]);
    assert!(code == 1 && err.contains("rests at 10 in"), "{err}");
    let (code, _, err) = sheaf(&["curve", "elm", "10=0", "20=0", "28=0"]);
    assert!(code == 1 && err.contains("no point has a weight"), "{err}");
}

#[test]
fn the_speed_of_an_arrow_with_its_mass_gives_the_efficiency() {
    let (_folder, sheaf) = begun();
    straight(&sheaf);
    ok(&sheaf, &["add", "arrows", "blue", "--count", "12"]);
    ok(&sheaf, &["speed", "elm", "150fps", "--arrows", "blue"]);
    assert!(ok(&sheaf, &["curve", "elm"]).contains("the mass of the arrow is not noted"));
    ok(&sheaf, &["set", "arrows", "blue", "mass=330gr"]);
    let figures = told(&sheaf, &["curve", "elm"])["figures"].clone();
    // NIST SP 811: 330 gr * 64.79891 mg, 150 ft/s * 0.3048 m, over 289/12 ft lbf * 1.3558179483314 J.
    let kinetic = 0.5 * 330.0 * 64.798_91e-6 * (150.0_f64 * 0.3048).powi(2);
    let share = kinetic / (289.0 / 12.0 * 1.355_817_948_331_4);
    assert!((figures["efficiency"].as_f64().expect("a share") - share).abs() < 1e-9, "{figures}");
    let out = flat(&ok(&sheaf, &["curve", "elm"]));
    assert!(
        out.contains("drawn by Ash at 27 in (68.6 cm): 16.5 ft·lbf (22.3 J) in the arrow, 68 % of the 24.1 ft·lbf (32.7 J) stored there."),
        "{out}"
    );
    let out = flat(&ok(&sheaf, &["speed", "elm", "300fps", "--arrows", "blue"]));
    assert!(
        out.contains("It is kept and not used: that is more energy than the draw curve stores up to Ash's draw of 27 in, which cannot be"),
        "{out}"
    );
    assert!(ok(&sheaf, &["curve", "elm"]).contains("That cannot be"));
    ok(&sheaf, &["change", "elm", "brace_height=215"]);
    ok(&sheaf, &["speed", "elm", "150fps", "--arrows", "blue"]);
    let out = ok(&sheaf, &["curve", "elm"]);
    assert!(out.contains("set up otherwise then: brace height 209.55 to 215 mm"), "{out}");
    assert!(out.contains("Measured before a change: brace height 209.55 to 215 mm"), "{out}");
    for (typed, says) in
        [("20", "between 65.6 and 426.6 ft/s"), ("fast", "no number"), ("150mm", "not given in ft/s")]
    {
        let (code, _, err) = sheaf(&["speed", "elm", typed]);
        assert!(code == 1 && err.contains(says), "{typed}: {err}");
    }
}

#[test]
fn a_share_is_of_what_is_stored_at_the_draw_of_who_drew() {
    let (_folder, sheaf) = begun();
    straight(&sheaf);
    ok(&sheaf, &["add", "arrows", "blue", "--count", "12", "--mass", "330gr"]);
    ok(&sheaf, &["speed", "elm", "150fps", "--arrows", "blue"]);
    ok(&sheaf, &["add", "person", "Tarn"]);
    ok(&sheaf, &["set", "person", "Tarn", "draw_length=25in"]);
    let ask = ["curve", "elm", "--archer", "Tarn"];
    let out = flat(&ok(&sheaf, &ask));
    // Ash's 27 in store 289/12 ft·lbf, Tarn's 25 in 225/12 = 18.75.
    assert!(out.contains("Stores 18.8 ft·lbf (25.4 J) up to 25 in"), "{out}");
    assert!(
        out.contains("drawn by Ash at 27 in (68.6 cm): 16.5 ft·lbf (22.3 J) in the arrow, 68 % of the 24.1 ft·lbf (32.7 J) stored there. No speed of Tarn's own was measured."),
        "{out}"
    );
    let figures = told(&sheaf, &ask)["figures"].clone();
    assert_eq!(figures["efficiency_draw_in"], 27.0);
    // With one of his own that one counts, though Ash's is later.
    ok(
        &sheaf,
        &["speed", "elm", "140fps", "--arrows", "blue", "--archer", "Tarn", "--at", "2020-01-01 10:00"],
    );
    let out = flat(&ok(&sheaf, &ask));
    assert!(!out.contains("No speed of") && !out.contains("150 ft/s"), "{out}");
}

#[test]
fn two_bows_are_laid_over_each_other() {
    let (folder, sheaf) = begun();
    straight(&sheaf);
    ok(&sheaf, &["add", "bow", "oak"]);
    let (code, _, err) = sheaf(&["curve", "elm", "--beside", "oak"]);
    assert!(code == 1 && err.contains("no draw curve of oak"), "{err}");
    ok(&sheaf, &["curve", "oak", "10=5", "28=32"]);
    let file = folder.path().join("both.svg");
    let file = file.to_str().expect("a path");
    let out = ok(&sheaf, &["curve", "elm", "--beside", "oak", "--plot", "--svg", file]);
    // Oak: 5 + 1.5 * 17 = 30.5 at 27 in; elm: 34.
    assert!(out.contains("pulls 3.5 lbf more") && out.contains("x oak measured"), "{out}");
    // Oak ends at 26.5 in now: at the draws asked for the two are compared where both were measured.
    ok(&sheaf, &["curve", "oak", "10=5", "26.5=29.75"]);
    assert!(flat(&ok(&sheaf, &["curve", "elm", "--beside", "oak"])).contains("cannot be compared at 27 in"));
    let out =
        flat(&ok(&sheaf, &["curve", "elm", "--beside", "oak", "--draw", "20in,26in,28in", "--imperial"]));
    assert!(out.contains("At 20 in: elm 20 lbf, oak 20 lbf; the same."), "{out}");
    assert!(out.contains("At 26 in: elm 32 lbf, oak 29 lbf; elm pulls 3 lbf more."), "{out}");
    assert!(
        out.contains("oak was measured from 10 in to 26.5 in, so the two cannot be compared at 28 in."),
        "{out}"
    );
    // Beyond the last draw measured nothing is said of what an inch more would gain.
    assert!(
        flat(&ok(&sheaf, &["curve", "elm"]))
            .contains("At 27 in (68.6 cm) it gains 2 lbf for each inch more.")
    );
    assert!(flat(&ok(&sheaf, &["curve", "oak"])).contains(
        "Up to 26.5 in (67.3 cm), the last draw measured, it gains 1.5 lbf for each inch at the end."
    ));
    let svg = std::fs::read_to_string(file).expect("the picture");
    let dashed = svg.split("<polyline").skip(1).filter(|line| line.contains("stroke-dasharray"));
    // The curve and its legend; the own draw is a line and no polyline.
    assert!(dashed.count() >= 2 && svg.contains(">oak<"), "{svg}");
    let (code, _, err) = sheaf(&["curve", "elm", "--svg", file]);
    assert!(code == 1 && err.contains("is there already"), "{err}");
    ok(&sheaf, &["curve", "elm", "--svg", file, "--replace"]);
    assert!(ok(&sheaf, &["curve", "oak"]).contains("counted from the first draw measured on"));
}

#[test]
fn the_bow_sheet_takes_the_weight_from_a_curve_that_still_holds() {
    let (_folder, sheaf) = begun();
    straight(&sheaf);
    ok(&sheaf, &["change", "elm", "brace_height=215"]);
    let rows = told(&sheaf, &["curve", "elm"]);
    assert_eq!(rows["curves"][0]["valid"], false);
    // Back as it was: the curve holds again.
    ok(&sheaf, &["change", "elm", "brace_height=209.55"]);
    assert_eq!(told(&sheaf, &["curve", "elm"])["curves"][0]["valid"], true);
    ok(&sheaf, &["curve", "elm", "12=4.5", "28=36.5", "--note", "another scale"]);
    let rows = told(&sheaf, &["curve", "elm"]);
    assert_eq!(rows["curves"].as_array().map(Vec::len), Some(2), "the latest first");
    assert_eq!(rows["curves"][0]["note"], "another scale");
}
