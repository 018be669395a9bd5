//! Marks: noted, fitted, asked for, printed, grown stale.

use crate::harness::alone::begun;
use serde_json::{Value, json};
use sheaf_model::rng::{Rng, Seed};

type Sheaf<'a> = &'a dyn Fn(&[&str]) -> (u8, String, String);

/// Returns a text with its line breaks taken out.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Sight marks of an arrow of 57 m/s, a pin 850 mm before an eye 100 mm above the arrow, to a tenth of a mm: from a
/// program of its own (scipy DOP853), see tests/reference/scripts/marks.py.
const NOTED: [(&str, &str); 6] =
    [("12m", "25.7"), ("18m", "31.3"), ("30m", "45.6"), ("40m", "58.7"), ("50m", "72.5"), ("60m", "86.9")];

fn note(sheaf: Sheaf<'_>) {
    for (distance, mark) in NOTED {
        let (code, out, err) = sheaf(&["mark", "elm", distance, mark]);
        assert_eq!(code, 0, "{err}");
        assert!(out.starts_with(&format!("Kept: {mark} at ")), "{out}");
    }
}

fn json_of(sheaf: Sheaf<'_>, words: &[&str]) -> Value {
    let (code, out, err) = sheaf(&[words, &["--json"]].concat());
    assert_eq!(code, 0, "{err}");
    serde_json::from_str(&out).expect("JSON")
}

#[test]
fn marks_are_told_for_any_distance_in_between_and_a_little_beyond() {
    let (_folder, sheaf) = begun();
    assert!(sheaf(&["marks", "elm"]).1.contains("No marks noted yet"));
    note(&sheaf);
    let told = json_of(
        &sheaf,
        &["marks", "elm", "--speed", "57m/s", "--distance", "45m", "--distance", "69m", "--distance", "80m"],
    );
    let set = &told["sets"][0];
    assert_eq!(
        (&set["what"], &set["stale"], &set["figures"]["curve"]),
        (&json!("sight"), &Value::Null, &json!("trajectory"))
    );
    let asked: Vec<(f64, &Value)> = set["asked"]
        .as_array()
        .expect("rows")
        .iter()
        .map(|r| (r["value"].as_f64().unwrap_or(0.0), &r["note"]))
        .collect();
    // The same program says 65.55 at 45 m and 100.24 at 69 m.
    assert!((asked[0].0 - 65.55).abs() < 0.1 && asked[0].1.is_null(), "{asked:?}");
    assert!((asked[1].0 - 100.24).abs() < 0.3 && *asked[1].1 == json!("beyond your marks"), "{asked:?}");
    assert_eq!((asked[2].0, asked[2].1), (0.0, &json!("too far beyond your marks for a figure")));
    let (_, out, _) = sheaf(&["marks", "elm", "--imperial", "--every", "10yd"]);
    let out = flat(&out);
    assert!(
        out.contains("Ash: sight marks") && out.contains("40 yd") && out.contains("not a chronograph"),
        "{out}"
    );
    assert!(out.contains("common practice, no source") && out.contains("from memory"), "{out}");
}

#[test]
fn a_mark_that_no_fit_bears_out_is_marked_on_the_card() {
    let (folder, sheaf) = begun();
    for (distance, mark) in [("18m", "3.41"), ("30m", "5.45"), ("50m", "8.30")] {
        assert_eq!(sheaf(&["mark", "elm", distance, mark, "--at", "2025-09-30 10:00"]).0, 0);
    }
    let told = json_of(&sheaf, &["marks", "elm", "--distance", "30m", "--distance", "40m"]);
    let asked = &told["sets"][0]["asked"];
    assert_eq!(
        (&asked[0]["range"], &asked[0]["note"]),
        (&Value::Null, &json!("found once, range not known"))
    );
    assert_eq!(
        (&asked[1]["range"], &asked[1]["note"]),
        (&json!("5.45 to 8.30"), &json!("by the marks beside it"))
    );
    let card = folder.path().join("card.svg");
    assert_eq!(sheaf(&["marks", "elm", "--strip", card.to_str().expect("a path")]).0, 0);
    let text = std::fs::read_to_string(card).expect("a card");
    assert!(text.contains(" ~</text>") && text.contains(">5.45</text>") && text.contains("no fit"), "{text}");
    // Both days in full, however long their month is.
    assert!(
        text.contains(">newest mark 30 September<") && text.contains(">printed 31 March 2026<"),
        "{text}"
    );
    assert!(!text.contains('\u{2026}'), "{text}");
}

#[test]
fn where_a_mark_may_not_hold_the_backstop_is_told_of() {
    let (_folder, sheaf) = begun();
    for (distance, mark) in &NOTED[..3] {
        assert_eq!(sheaf(&["mark", "elm", distance, mark]).0, 0);
    }
    let told = |sheaf: Sheaf<'_>| flat(&sheaf(&["marks", "elm"]).2);
    let few = told(&sheaf);
    assert!(!few.contains("backstop"), "between marks that were found: {few}");
    for (distance, mark) in &NOTED[3..] {
        assert_eq!(sheaf(&["mark", "elm", distance, mark]).0, 0);
    }
    let beyond = told(&sheaf);
    assert!(beyond.contains("safe backstop") && beyond.contains("rules of the range"), "{beyond}");
}

#[test]
fn a_mark_that_is_noted_is_set_beside_the_others() {
    let (_folder, sheaf) = begun();
    note(&sheaf);
    let (_, out, _) = sheaf(&["mark", "elm", "45m", "68.5"]);
    let out = flat(&out);
    assert!(out.contains("Your 6 other marks expected 65.") && out.contains("Yours lies outside"), "{out}");
    let told = flat(&sheaf(&["marks", "elm", "--speed", "57m/s"]).1);
    assert!(told.contains("Your 45 m mark stands ") && told.contains("shoot it again"), "{told}");
    let few = flat(&sheaf(&["mark", "elm", "20yd", "--crawl", "2.4cm"]).1);
    assert_eq!(few, "Kept: crawl 24 mm at 20 yd.");
    assert!(flat(&sheaf(&["marks", "elm", "--what", "crawl"]).1).contains("a curve needs more"));
}

#[test]
fn a_speed_of_the_records_is_used_while_it_was_measured_with_the_same_setup() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "brace_height=215", "--at", "2026-03-01 09:00"]).0, 0);
    note(&sheaf);
    let (code, _, err) = sheaf(&["speed", "elm", "57m/s"]);
    assert_eq!(code, 0, "{err}");
    let told = json_of(&sheaf, &["marks", "elm"]);
    let speed = &told["sets"][0]["figures"]["speed"];
    assert!(
        (speed["value_m_s"].as_f64().expect("a speed") - 57.0).abs() < 0.01 && speed["known"] == true,
        "{speed}"
    );
    assert!(flat(&sheaf(&["marks", "elm"]).1).contains("Arrow speed 57 m/s, as measured"));
    // Marks of a lower brace height are not those of that speed.
    assert_eq!(sheaf(&["change", "elm", "brace_height=210"]).0, 0);
    note(&sheaf);
    assert_eq!(json_of(&sheaf, &["marks", "elm"])["sets"][0]["figures"]["speed"]["known"], false);
}

/// Shoots six ends of six arrows at 30 m over two days, so high on average.
fn ends(sheaf: Sheaf<'_>, rng: &mut Rng, days: [&str; 2], high: f64) {
    for day in days {
        for hour in 9..13 {
            let when = format!("{day}T{hour:02}:30:00Z");
            let arrows: Vec<String> = (0..6)
                .map(|_| format!("{:.1},{:.1}", 20.0 * rng.normal(), 20.0 * rng.normal() + high))
                .collect();
            let mut words = vec!["shoot", "elm", "30m", "--face", "wa_80", "--at", &when, "--"];
            words.extend(arrows.iter().map(String::as_str));
            let (code, _, err) = sheaf(&words);
            assert_eq!(code, 0, "{err}");
        }
    }
}

#[test]
fn marks_grow_stale_with_a_change_of_brace_height_and_the_groups_say_by_how_much() {
    let (folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "brace_height=215", "--at", "2026-03-01 09:00"]).0, 0);
    for (distance, mark) in NOTED {
        assert_eq!(sheaf(&["mark", "elm", distance, mark, "--at", "2026-03-01 10:00"]).0, 0);
    }
    let mut rng = Rng::new(Seed(11));
    ends(&sheaf, &mut rng, ["2026-03-02", "2026-03-03"], 0.0);
    assert!(!sheaf(&["marks", "elm"]).1.contains("STALE"));
    assert_eq!(sheaf(&["change", "elm", "brace_height=221", "--at", "2026-03-03 18:00"]).0, 0);
    let told = flat(&sheaf(&["marks", "elm"]).1);
    assert!(told.contains("STALE: since then brace height 215 to 221 mm"), "{told}");
    assert!(json_of(&sheaf, &["marks", "elm"])["cautions"].to_string().contains("safe backstop"));
    // Marks that no longer hold are found anew from the nearest on, not at the farthest butt.
    assert!(told.contains("begin at 12 m or nearer") && told.contains("work outwards"), "{told}");
    assert!(!told.contains("expect the sight") && told.contains("are those of the old setup"), "{told}");
    ends(&sheaf, &mut rng, ["2026-03-04", "2026-03-05"], -45.0);
    let told = flat(&sheaf(&["marks", "elm", "--speed", "57m/s"]).1);
    // 45 mm at 30 m are 1.5 mrad, and 850 mm from eye to pin make 1.3 mm of that.
    assert!(told.contains("moved your groups") && told.contains("mm low at 30 m (95 %: "), "{told}");
    let (_, reads) = told.split_once("At 30 m expect the sight to read ").expect(&told);
    let word = |i: usize| reads.split_whitespace().nth(i).and_then(|n| n.parse::<f64>().ok());
    let (now, before) = word(0).zip(word(3)).expect("two readings");
    assert!((0.9..=1.7).contains(&(now - before)) && (before - 45.6).abs() < 0.2, "{now} {before}");
    assert!(!told.contains(" up by ") && !told.contains("70 m anew"), "{told}");
    let card = folder.path().join("card.svg");
    let card = card.to_str().expect("a path");
    assert_eq!(sheaf(&["marks", "elm", "--strip", card]).0, 0);
    let text = std::fs::read_to_string(card).expect("a card");
    assert!(text.contains("STALE") && text.contains("below are of the old"), "{text}");
    // Marks of the new setup are a family of their own; the old ones stand below them.
    assert_eq!(sheaf(&["mark", "elm", "30m", "46.6", "--at", "2026-03-06 10:00"]).0, 0);
    let told = json_of(&sheaf, &["marks", "elm"]);
    let set = &told["sets"][0];
    assert_eq!((set["marks"].as_array().map(Vec::len), &set["stale"]), (Some(1), &Value::Null));
    let older = set["older"][0].as_str().expect("the older ones");
    assert!(older.starts_with("12 m 25.7, ") && older.ends_with("brace height 215 to 221 mm"), "{older}");
}

#[test]
fn a_card_is_printed_at_its_true_size_and_no_file_is_lost() {
    let (folder, sheaf) = begun();
    note(&sheaf);
    let path = |name: &str| folder.path().join(name).to_str().expect("a path").to_owned();
    let (card, page) = (path("card.svg"), path("card.html"));
    assert_eq!(sheaf(&["marks", "elm", "--strip", &card, "--unit", "1mm"]).0, 0);
    let text = std::fs::read_to_string(&card).expect("a card");
    assert!(text.starts_with("<svg ") && text.contains("width=\"46mm\""), "{text}");
    for words in ["true scale", ">elm<", ">45.6<"] {
        assert!(text.contains(words) && !text.contains("STALE"), "{words}: {text}");
    }
    // The rungs of 30 m and 40 m stand 13.2 mm apart, as their marks do.
    let rungs = text.split("<line ").filter(|line| line.contains("x2=\"10\""));
    let place = |line: &str| line.split("y1=\"").nth(1)?.split('"').next()?.parse::<f64>().ok();
    let rungs: Vec<f64> = rungs.filter_map(place).collect();
    assert!(rungs.len() > 8, "{rungs:?}");
    let apart = |wanted: f64| rungs.iter().any(|a| rungs.iter().any(|b| (b - a - wanted).abs() < 0.12));
    assert!(apart(13.16) && apart(13.8), "{rungs:?}");
    let (code, _, err) = sheaf(&["marks", "elm", "--strip", &card]);
    assert!(code == 1 && flat(&err).contains("is there already"), "{err}");
    assert_eq!(sheaf(&["marks", "elm", "--strip", &card, "--replace", "--unit", "1mm"]).0, 0);
    assert_eq!(sheaf(&["marks", "elm", "--strip", &page]).0, 0);
    assert!(std::fs::read_to_string(&page).expect("a page").contains("@page"));
    let (code, _, err) = sheaf(&["marks", "elm", "--strip", &path("card.pdf")]);
    assert!(code == 1 && err.contains("neither .svg nor .html"), "{err}");
}

#[test]
fn what_is_no_mark_is_said() {
    let (_folder, sheaf) = begun();
    for (words, says) in [
        (vec!["mark", "oak", "30m", "4"], "no bow called"),
        (vec!["mark", "elm", "30", "4"], "its unit is missing"),
        (vec!["mark", "elm", "-30m", "4"], "above 0"),
        (vec!["mark", "elm", "4.2", "30m"], "its unit is missing"),
        (vec!["mark", "elm", "30m"], "the mark is missing"),
        (vec!["mark", "elm", "30m", "4.2", "--crawl", "24mm"], "more than one was given"),
        (vec!["mark", "elm", "30m", "--crawl", "24mm", "--gap", "-300mm"], "more than one was given"),
        (vec!["mark", "elm", "30m", "--crawl", "24cm"], "did you mean 24 mm?"),
        (vec!["mark", "elm", "30m", "--crawl", "-4mm"], "between 0 and 150 mm"),
        (vec!["mark", "elm", "30m", "4.2mm"], "has a unit where none belongs"),
        (vec!["mark", "elm", "30mm", "4.2"], "given in m, yd or ft"),
        (vec!["marks", "elm", "--distance", "-5m"], "above 0"),
        (vec!["marks", "elm", "--speed", "900fps"], "from 20 to 130"),
    ] {
        if words[1] == "elm" && words[0] == "marks" && words[2] == "--speed" {
            note(&sheaf);
        }
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && flat(&err).contains(says), "{words:?}: {code} {err}");
    }
    assert!(
        flat(&sheaf(&["marks", "elm", "--what", "gap", "--strip", "x.svg"]).2).contains("no marks to print")
    );
    let (code, _, err) = sheaf(&["mark", "elm", "30m", "--gap", "-300mm"]);
    assert_eq!(code, 0, "{err}");
    assert_eq!(json_of(&sheaf, &["marks", "elm", "--what", "gap"])["sets"][0]["marks"][0]["mark"], "-300 mm");
}

#[test]
fn what_groups_say_of_marks_comes_from_one_distance() {
    let (folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "brace_height=218", "--at", "2026-03-01 10:00"]).0, 0);
    note(&sheaf);
    // Slower arrows: 60 mm lower at 30 m and 200 mm at 50 m, which is 2 mrad and 4 mrad and no one angle.
    let mut rows = "at,bow,distance_m,face,end,x1_mm,y1_mm,x2_mm,y2_mm,x3_mm,y3_mm\n".to_owned();
    let spread = [-18.0, 7.0, 12.0, -9.0, 15.0, -4.0, 3.0, -11.0];
    for end in 0..40 {
        let (distance, low) = if end % 2 == 0 { (30, 60.0) } else { (50, 200.0) };
        let drop = if end < 20 { 0.0 } else { low };
        let of = |i: usize| spread[(end * 3 + i * 2) % 8] + 0.7 * spread[(end + i) % 8] - drop;
        let (hour, minute) = (8 + end / 10, end % 10 * 6);
        let heights = [of(0), of(1), of(2)].map(|mm| format!("{mm:.0}"));
        let [a, b, c] = heights;
        rows.push_str(&format!(
            "2026-04-05T{hour:02}:{minute:02}:00Z,elm,{distance},wa_122,{end},0,{a},10,{b},-10,{c}\n"
        ));
    }
    let file = folder.path().join("ends.csv");
    std::fs::write(&file, rows).expect("a file");
    assert_eq!(sheaf(&["import", file.to_str().expect("a path")]).0, 0);
    assert_eq!(sheaf(&["change", "elm", "brace_height=224", "--at", "2026-04-05 09:57"]).0, 0);
    let low = |text: &str| -> f64 {
        let (before, _) = text.split_once(" mm low").expect(text);
        before.rsplit(' ').next().expect("a number").parse().expect("a number")
    };
    let all = flat(&sheaf(&["effects", "elm"]).1);
    assert!(all.contains("judged together, as angles"), "{all}");
    assert!(low(&all) > 75.0, "both distances as one angle, told at one of them: {all}");
    let alone = flat(&sheaf(&["effects", "elm", "--distance", "30m"]).1);
    assert!((low(&alone) - 60.0).abs() < 12.0 && !alone.contains("as angles"), "{alone}");
    let marks = flat(&sheaf(&["marks", "elm"]).1);
    let (_, told) = marks.split_once("moved your groups: ").expect(&marks);
    let distance = if told.contains("low at 30 m") { 60.0 } else { 200.0 };
    assert!((low(told) - distance).abs() < 15.0, "{told}");
}

#[test]
fn marks_are_stale_once_the_limbs_that_they_were_found_with_went_to_another_bow() {
    let (_folder, sheaf) = begun();
    for words in [
        &["add", "bow", "oak"][..],
        &["add", "part", "long 36", "--what", "limbs"],
        &["change", "elm", "limbs=long 36", "--at", "2026-03-01 09:00"],
    ] {
        assert_eq!(sheaf(words).0, 0, "{words:?}");
    }
    for (distance, mark) in [("18m", "2.0"), ("30m", "3.5"), ("40m", "4.9"), ("50m", "6.3"), ("60m", "7.9")] {
        assert_eq!(sheaf(&["mark", "elm", distance, mark, "--at", "2026-03-01 13:00"]).0, 0);
    }
    let stale = || json_of(&sheaf, &["marks", "elm"])["sets"][0]["stale"].clone();
    assert_eq!(stale(), Value::Null);
    assert_eq!(sheaf(&["change", "oak", "limbs=long 36", "--at", "2026-03-05 08:00"]).0, 0);
    assert_eq!(stale(), "since then the limbs went to oak on 5 March 2026");
    assert_eq!(sheaf(&["change", "elm", "limbs=long 36", "--at", "2026-03-06 08:00"]).0, 0);
    assert_eq!(stale(), Value::Null);
}
