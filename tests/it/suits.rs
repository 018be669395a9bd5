//! One arrow set held against several bows.

use crate::harness::alone::begun;
use serde_json::Value;

type Sheaf<'a> = &'a dyn Fn(&[&str]) -> (u8, String, String);

#[track_caller]
fn ok(sheaf: Sheaf<'_>, words: &[&str]) -> String {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {out}{err}");
    out
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Two bows at about one weight, and a set that was weighed.
fn two_bows(sheaf: Sheaf<'_>) {
    ok(sheaf, &["add", "bow", "oak", "--riser", "21in"]);
    ok(sheaf, &["set", "person", "Ash", "bow_arm=left", "draw_length=28in"]);
    ok(sheaf, &["add", "arrows", "blue", "--count", "3", "--shaft-diameter", "5.5mm", "--length", "28.5in"]);
    ok(sheaf, &["shaft", "blue", "mass=330.8,331.2,329.9"]);
    ok(sheaf, &["change", "elm", "arrows=blue", "draw_weight=38lbf"]);
    ok(sheaf, &["change", "oak", "arrows=blue", "draw_weight=40lbf"]);
}

#[test]
fn a_set_suits_both_bows_by_mass_until_a_maker_says_otherwise() {
    let (_folder, sheaf) = begun();
    two_bows(&sheaf);
    let out = ok(&sheaf, &["suits", "blue"]);
    let floor = "Blue suits both elm and oak by mass; of elm and oak that is by the common floor alone: ask the makers.";
    assert!(flat(&out).starts_with(floor), "{out}");
    let words = flat(&out);
    // The lightest, 329.9 gr, on 38 and on 40 lbf.
    assert!(
        words.contains("8.7 grains for each pound with the lightest arrow, shaft 3 with 329.9 gr"),
        "{out}"
    );
    assert!(words.contains("8.2 grains for each pound with the lightest arrow"), "{out}");
    assert!(words.contains("common floor of 5") && words.contains("common practice, no source"), "{out}");
    assert!(words.contains("only bare shafts and groups tell"), "{out}");
    let (_, _, err) = sheaf(&["suits", "blue"]);
    assert!(flat(&err).contains("Care: An arrow lighter than the makers"), "{err}");
    ok(&sheaf, &["add", "part", "field limbs", "--what", "limbs"]);
    ok(&sheaf, &["set", "part", "field limbs", "least_grains_per_pound=9"]);
    ok(&sheaf, &["change", "oak", "limbs=field limbs", "draw_weight=40lbf"]);
    let out = flat(&ok(&sheaf, &["suits", "blue", "--bows", "elm,oak"]));
    assert!(
        out.starts_with("Stop. Do not shoot blue from oak: too light for it; blue suits elm by mass; of elm that is by the common floor alone"),
        "{out}"
    );
    assert!(
        out.contains("The maker of the limbs asks for at least 9 grains for each pound; there are "),
        "{out}"
    );
    let told: Value = serde_json::from_str(&ok(&sheaf, &["suits", "blue", "--json"])).expect("JSON");
    assert_eq!(
        (&told["bows"][0]["by_mass"], &told["bows"][1]["by_mass"]),
        (&"suits".into(), &"too_light".into())
    );
    assert_eq!(sheaf(&["suits", "blue", "--bows", "yew"]).0, 1);
}

#[test]
fn arrows_that_are_too_short_are_told_so_first() {
    let (_folder, sheaf) = begun();
    two_bows(&sheaf);
    ok(&sheaf, &["shaft", "blue", "2", "length=26in"]);
    let out = flat(&ok(&sheaf, &["suits", "blue", "--bows", "elm"]));
    assert!(
        out.starts_with("Stop. Do not shoot shaft 2 of blue from elm: too short for the draw, Ash's 28 in;"),
        "{out}"
    );
    assert!(out.contains("by mass it is heavy enough for elm") && !out.contains("blue suits"), "{out}");
    assert!(
        out.contains("Shaft 2, 26 in long") && out.contains("behind the grip. Do not shoot it."),
        "{out}"
    );
    // 28 in are 26.25 in to the grip: less is left than the inch that is usual.
    ok(&sheaf, &["shaft", "blue", "2", "length=26.5in"]);
    let out = flat(&ok(&sheaf, &["suits", "blue", "--bows", "elm"]));
    assert!(
        out.starts_with("Shaft 2 of blue is short for elm: at Ash's draw no more than 0.25 in are left"),
        "{out}"
    );
    assert!(!out.contains("suits elm") && out.contains("Shaft 2, 26.5 in long: at Ash's draw"), "{out}");
    // One that is out of use is no danger.
    ok(&sheaf, &["shaft", "blue", "2", "out=yes"]);
    let out = ok(&sheaf, &["suits", "blue", "--bows", "elm"]);
    assert!(!out.contains("short") && out.contains("Blue suits elm by mass"), "{out}");
}

#[test]
fn a_speed_is_that_of_who_drew_and_of_the_bow_as_it_was() {
    let (_folder, sheaf) = begun();
    two_bows(&sheaf);
    ok(&sheaf, &["add", "part", "long 36", "--what", "limbs"]);
    ok(&sheaf, &["add", "part", "long 30", "--what", "limbs"]);
    ok(&sheaf, &["change", "elm", "limbs=long 36", "draw_weight=38lbf"]);
    ok(&sheaf, &["curve", "elm", "9=0", "28=38"]);
    ok(&sheaf, &["speed", "elm", "190fps", "--arrows", "blue"]);
    let suits = || flat(&ok(&sheaf, &["suits", "blue", "--bows", "elm"]));
    assert!(suits().contains("190 ft/s (57.9 m/s), drawn by Ash at 28 in, 26.5 ft·lbf"), "{}", suits());
    // 38 lbf over 19 in store 30.1 ft·lbf; 330.6 gr at 260 ft/s would be 49.6.
    ok(&sheaf, &["speed", "elm", "260fps", "--arrows", "blue"]);
    let shafts = || flat(&ok(&sheaf, &["shafts", "blue"]));
    for out in [suits(), shafts()] {
        assert!(
            out.contains("260 ft/s from elm") && out.contains("is not used: that is more energy"),
            "{out}"
        );
        assert!(out.contains("190 ft/s (57.9 m/s), drawn by Ash"), "the one before counts: {out}");
    }
    assert!(shafts().contains("190 ft/s measured with elm"), "{}", shafts());
    ok(&sheaf, &["change", "elm", "limbs=long 30", "draw_weight=32lbf"]);
    for out in [suits(), shafts()] {
        assert!(
            out.contains(
                "is not used: the bow was set up otherwise then, limbs long 36 to long 30; measure it again"
            ),
            "{out}"
        );
        assert!(!out.contains("190 ft/s (57.9 m/s)") && !out.contains("land beside the mean"), "{out}");
    }
}

#[test]
fn a_noted_weight_is_contradicted_only_where_the_curve_has_it_at_nobodys_draw() {
    let (_folder, sheaf) = begun();
    two_bows(&sheaf);
    ok(&sheaf, &["add", "person", "Tarn"]);
    ok(&sheaf, &["set", "person", "Tarn", "draw_length=26in"]);
    // 2 lbf an inch: 38 lbf at Ash's 28 in, who noted 38, and 34 at Tarn's 26.
    ok(&sheaf, &["curve", "elm", "9=0", "28=38"]);
    let suits = || flat(&ok(&sheaf, &["suits", "blue", "--bows", "elm"]));
    assert!(suits().contains("38 lbf on the fingers, as measured. (noted by Ash"), "{}", suits());
    ok(&sheaf, &["change", "elm", "draw_weight=37.5lbf"]);
    ok(
        &sheaf,
        &[
            "shoot", "elm", "18m", "--face", "wa_80", "--arrows", "blue", "--archer", "Tarn", "1,1", "2,2",
            "3,1",
        ],
    );
    let out = suits();
    assert!(out.contains("34 lbf at Tarn's draw of 26 in, by the draw curve"), "{out}");
    assert!(
        out.contains("37.5 lbf is noted, which by the curve is the weight at Ash's draw of 28 in."),
        "{out}"
    );
    // 329.9 gr on 34 lbf, by the curve, though 37.5 was noted later.
    assert!(!out.contains("not what the curve says") && out.contains("9.7 grains for each pound"), "{out}");
    ok(&sheaf, &["change", "elm", "draw_weight=41lbf"]);
    assert!(suits().contains("That is not what the curve says: measure again."), "{}", suits());
}

#[test]
fn a_curve_that_ends_short_of_the_draw_is_a_floor() {
    let (_folder, sheaf) = begun();
    two_bows(&sheaf);
    ok(&sheaf, &["add", "bow", "gorse", "--riser", "25in"]);
    ok(&sheaf, &["add", "part", "long 36", "--what", "limbs", "--marked-weight", "36"]);
    ok(&sheaf, &["change", "gorse", "limbs=long 36"]);
    // 36 lbf at 28 in on a 25 in riser: 34.2 to 37.8 by the bolts.
    let suits = || flat(&ok(&sheaf, &["suits", "blue", "--bows", "gorse"]));
    assert!(suits().contains("34.2 to 37.8 lbf to be expected"), "{}", suits());
    ok(&sheaf, &["curve", "gorse", "12=5", "27.5=36.94"]);
    let out = suits();
    assert!(
        out.contains("measured to 27.5 in, with 36.9 lbf there; measure on to Ash's draw of 28 in"),
        "{out}"
    );
    assert!(
        out.contains("36.9 to 37.8 lbf to be expected") && out.contains("not below the 36.9 lbf"),
        "{out}"
    );
    // 329.9 gr over 37.8 and 36.94 lbf.
    assert!(out.contains("8.7 to 8.9 grains for each pound with the lightest"), "{out}");
    ok(&sheaf, &["curve", "gorse", "12=5", "27.5=39"]);
    let out = suits();
    assert!(out.contains("mark and measurement contradict. At least 39 lbf"), "{out}");
    assert!(out.contains("At most 8.5 grains for each pound") && out.contains("cannot be told yet"), "{out}");
}

#[test]
fn bare_shafts_are_told_for_the_bow_from_which_they_land_apart() {
    let (_folder, sheaf) = begun();
    two_bows(&sheaf);
    let drawn = |seed: usize| ((seed * 7919 + seed * seed * 104_729) % 4001) as f64 / 200.0 - 10.0;
    for (bow, aside) in [("elm", 0.0), ("oak", 60.0)] {
        for end in 0..8 {
            let mut shots: Vec<String> = (0..4)
                .map(|i| format!("{:.1},{:.1}", drawn(9 * end + i), drawn(300 + 9 * end + i)))
                .collect();
            shots.push(format!("{:.1},{:.1}b", drawn(9 * end + 5) + aside, drawn(300 + 9 * end + 5)));
            let mut words = vec!["shoot", bow, "18m", "--face", "wa_80", "--arrows", "blue"];
            words.extend(shots.iter().map(String::as_str));
            ok(&sheaf, &words);
        }
    }
    let out = flat(&ok(&sheaf, &["suits", "blue"]));
    assert!(out.contains("on oak Ash's bare shafts land") && out.contains("mm right (95 %:"), "{out}");
    assert!(
        out.contains("the shafts are weak for this bow, or the plunger is, common practice, no source"),
        "{out}"
    );
    assert!(!out.contains("on elm Ash's bare shafts land"), "{out}");
}
