//! What an archer asks of a season: is today different, what will a round score, and does B differ from A.

use crate::harness::alone::begun;
use serde_json::Value;
use sheaf_model::rng::{Rng, Seed};
use std::fmt::Write as _;

/// Writes a season of nine days of six ends as CSV: the last day 80 mm to the right, and one arrow far off.
fn season() -> String {
    let mut rng = Rng::new(Seed(5));
    let mut csv = String::from("at,bow,distance_m,face,end");
    (1..=6).for_each(|i| write!(csv, ",x{i}_mm,y{i}_mm").expect("text takes it"));
    for day in 1..=9 {
        for end in 0..6 {
            write!(csv, "\n2026-05-0{day}T1{end}:00:00Z,elm,30,wa_80,{day}-{end}").expect("text takes it");
            for arrow in 0..6 {
                let off = if day == 9 { 80.0 } else { 0.0 };
                let far = if (day, end, arrow) == (3, 2, 4) { -700.0 } else { 0.0 };
                let (x, y) = (off + far + 30.0 * rng.normal(), 30.0 * rng.normal());
                write!(csv, ",{x:.1},{y:.1}").expect("text takes it");
            }
        }
    }
    csv
}

/// Returns a text without its line breaks.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[track_caller]
fn json(answer: (u8, String, String)) -> Value {
    assert_eq!(answer.0, 0, "{}", answer.2);
    serde_json::from_str(&answer.1).expect("JSON")
}

#[test]
fn a_season_answers_what_an_archer_asks() {
    let (folder, sheaf) = begun();
    let file = folder.path().join("season.csv");
    std::fs::write(&file, season()).expect("it can be written");
    assert_eq!(sheaf(&["import", file.to_str().expect("text")]).0, 0);
    let day = json(sheaf(&["today", "elm", "--json"]));
    assert_eq!(
        (&day[0]["figures"]["mean"], &day[0]["figures"]["session"]),
        (&"different".into(), &"2026-05-09".into())
    );
    let told = sheaf(&["today", "elm"]).1;
    assert!(told.contains("the mean is different from other days"), "{told}");
    let round = json(sheaf(&["expect", "elm", "--part", "36@30m:wa_80", "--json"]));
    let figures = &round[0]["figures"];
    let number = |value: &Value| value.as_f64().expect("a number");
    let [low, high] = [0, 1].map(|i| number(&figures["points_interval"][i]));
    assert!(
        low < number(&figures["points"]) && number(&figures["points"]) < high && high <= 360.0,
        "{figures}"
    );
    let told = |words: &[&str]| plain(&sheaf(words).1);
    let expected = told(&["expect", "elm", "--part", "36@30m:wa_80"]);
    let far = "1 arrow lies far off the others of its end and counts as it stands; without it";
    assert!(expected.contains(&format!("{far}: about ")), "{expected}");
    let today = told(&["today", "elm"]);
    assert!(today.contains(&format!("{far} the words would be the same.")), "{today}");
    let slip = sheaf(&["expect", "elm", "--part", "36@30m"]);
    assert!(slip.0 == 1 && slip.2.contains("36@50m:wa_80"), "{}", slip.2);
    assert_eq!(sheaf(&["change", "elm", "plunger=2", "--at", "2026-05-05T12:30:00Z"]).0, 0);
    let told = sheaf(&["effects", "elm"]).1;
    assert!(told.contains("1 arrow lies far off the others of its end"), "{told}");
    assert!(!told.contains("look 2"), "{told}");
    assert_eq!(sheaf(&["shoot", "elm", "30m", "1,1", "2,2", "--face", "wa_80"]).0, 0);
    assert!(sheaf(&["effects", "elm"]).1.contains("look 2 at the last change"));
    let effects = json(sheaf(&["effects", "elm", "--json"]));
    assert_eq!(effects["archers"][0]["far_off"].as_array().map(Vec::len), Some(1));
}

#[test]
fn misses_and_flyers_are_counted_in_what_a_round_scores() {
    let (_folder, sheaf) = begun();
    for day in 1..=4 {
        for hour in [10, 11] {
            let at = format!("2026-05-0{day}T{hour}:00:00Z");
            let end =
                ["shoot", "elm", "18m", "X@12", "10@3", "10@6", "M", "M", "1@3!", "--face", "wa_40", "--at"];
            assert_eq!(sheaf(&[&end[..], &[at.as_str()]].concat()).0, 0);
        }
        let at = format!("2026-05-0{day}T12:00:00Z");
        assert_eq!(sheaf(&["shoot", "elm", "18m", "M", "M", "M", "--face", "wa_40", "--at", &at]).0, 0);
    }
    let round = json(sheaf(&["expect", "elm", "--part", "60@18m:wa_40", "--json"]));
    let figures = &round[0]["figures"];
    assert_eq!(
        (&figures["misses"], &figures["flyers"], &figures["arrows"]),
        (&28.into(), &8.into(), &24.into())
    );
    // 24 arrows of nearly ten points, 28 of none and 8 of one, in 60.
    let [low, high] = [0, 1].map(|i| figures["points_interval"][i].as_f64().expect("a number"));
    let points = figures["points"].as_f64().expect("a number");
    assert!((points - 247.0).abs() < 3.0 && low > 100.0 && high < 400.0, "{figures}");
    let told = plain(&sheaf(&["expect", "elm", "--part", "60@18m:wa_40"]).1);
    assert!(told.contains("lately 28 misses and 8 flyers beside 24 other"), "{told}");
    let report = json(sheaf(&["report", "--json"]));
    let row = &report["rows"][0];
    assert!((row["points_per_arrow"].as_f64().expect("a number") - 247.0 / 60.0).abs() < 0.05, "{row}");
    assert!(row["look"].to_string().contains("28 of the latest 60 arrows missed"), "{row}");
}

#[test]
fn a_verdict_that_hangs_on_the_flyers_says_so() {
    let (folder, sheaf) = begun();
    let mut rng = Rng::new(Seed(8));
    let mut csv = String::from("at,bow,distance_m,face,end,arrow,x_mm,y_mm,flyer\n");
    for (n, day) in (0..16).map(|n| (n, 1 + n / 8)) {
        for arrow in 1..=4 {
            // The second half of each day is shot after a change; each of its ends has a flyer far right.
            let flyer = n % 8 >= 4 && arrow == 4;
            let x = 20.0 * rng.normal() + if flyer { 600.0 } else { 0.0 };
            let (at, yes) =
                (format!("2026-05-0{day}T12:{:02}:00Z", 5 + 5 * (n % 8)), if flyer { "yes" } else { "" });
            csv += &format!("{at},elm,30,wa_122,{n},{arrow},{x:.1},{:.1},{yes}\n", 20.0 * rng.normal());
        }
    }
    let file = folder.path().join("flyers.csv");
    std::fs::write(&file, csv).expect("it can be written");
    let import = sheaf(&["import", file.to_str().expect("text")]);
    assert_eq!(import.0, 0, "{}", import.2);
    for (day, turns) in [(1, "2.25"), (2, "2")] {
        let at = format!("2026-05-0{day}T12:22:00Z");
        assert_eq!(sheaf(&["change", "elm", &format!("plunger={turns}"), "--at", &at]).0, 0);
    }
    assert_eq!(sheaf(&["change", "elm", "plunger=2", "--at", "2026-05-01T20:00:00Z"]).0, 0);
    let told = sheaf(&["effects", "elm"]).1;
    assert!(told.contains("With all flyers counted it would say: "), "{told}");
    assert!(told.contains("8 of 64 arrows are marked as flyers and left out"), "{told}");
}

#[test]
fn a_plan_is_shot_in_its_order_and_says_when_it_is_settled() {
    let (folder, sheaf) = begun();
    let few = sheaf(&[
        "plan",
        "new",
        "stiffer",
        "elm",
        "--a",
        "plunger=2",
        "--b",
        "plunger=2.5",
        "--shift",
        "60mm",
    ]);
    assert!(few.0 == 1 && few.2.contains("--distance"), "{}", few.2);
    let file = folder.path().join("season.csv");
    std::fs::write(&file, season()).expect("it can be written");
    assert_eq!(sheaf(&["import", file.to_str().expect("text")]).0, 0);
    let new = [
        "plan",
        "new",
        "stiffer",
        "elm",
        "--a",
        "plunger=2",
        "--b",
        "plunger=2.5",
        "--shift",
        "60mm",
        "--json",
    ];
    let design = json(sheaf(&new))["design"].clone();
    let order = design["order"].as_str().expect("an order").to_owned();
    let wrong = sheaf(&["shoot", "elm", "30m", "--plan", "stiffer", "1,1", "2,2"]);
    assert!(wrong.0 == 1 && wrong.2.contains("`sheaf change elm plunger_turns="), "{}", wrong.2);
    let mut rng = Rng::new(Seed(8));
    for (place, setup) in order.chars().enumerate() {
        let next = json(sheaf(&["plan", "next", "--json"]));
        assert_eq!(
            (&next["place"], next["setup"].as_str()),
            (&place.into(), Some(setup.to_string().as_str()))
        );
        let turns = format!("plunger={}", if setup == 'A' { 2.0 } else { 2.5 });
        assert_eq!(sheaf(&["change", "elm", &turns]).0, 0);
        let right = if setup == 'A' { 0.0 } else { 120.0 };
        let shots: Vec<String> = (0..6)
            .map(|_| format!("{:.0},{:.0}", right + 30.0 * rng.normal(), 30.0 * rng.normal()))
            .collect();
        let mut words = vec!["shoot", "elm", "30m", "--plan", "stiffer", "--face", "wa_80"];
        words.extend(shots.iter().map(String::as_str));
        let (code, _, err) = sheaf(&words);
        assert_eq!(code, 0, "{err}");
    }
    let state = json(sheaf(&["plan", "show", "--json"]));
    assert_eq!((&state["figures"]["place"], &state["next"]), (&"changed".into(), &Value::Null));
    let told = sheaf(&["plan", "show", "stiffer"]).1;
    assert!(told.contains("the groups moved") && told.contains("shot to its end"), "{told}");
    let over = sheaf(&["shoot", "elm", "30m", "--plan", "stiffer", "1,1"]);
    assert!(over.0 == 1 && over.2.contains("every end of this plan is shot"), "{}", over.2);
}

#[test]
fn a_block_is_shot_in_one_go_with_the_setup_that_the_plan_asks_for() {
    let (folder, sheaf) = begun();
    let file = folder.path().join("season.csv");
    std::fs::write(&file, season()).expect("it can be written");
    assert_eq!(sheaf(&["import", file.to_str().expect("text")]).0, 0);
    let new =
        ["plan", "new", "p", "elm", "--a", "plunger=2", "--b", "plunger=2.5", "--shift", "60mm", "--json"];
    let design = json(sheaf(&[&new[..], &["--distance", "30m"]].concat()))["design"].clone();
    let order = design["order"].as_str().expect("an order").to_owned();
    let turns = |place: usize| if &order[place..=place] == "A" { "plunger=2" } else { "plunger=2.5" };
    let shoot = |place: usize, day: &str, more: &[&str]| {
        let at = |minute: usize| format!("2026-06-{day}T10:{:02}:00Z", 4 * place + minute);
        assert_eq!(sheaf(&["change", "elm", turns(place), "--at", &at(0)]).0, 0);
        let late = at(1);
        let words = ["shoot", "elm", "30m", "--plan", "p", "--face", "wa_80", "--at", &late];
        sheaf(&[&words[..], more].concat())
    };
    let points = ["1,1", "20,-9", "-14,30", "3,8", "11,-21", "-7,2"];
    for place in 0..2 {
        let kept = shoot(place, "01", &points);
        assert_eq!(kept.0, 0, "{}", kept.2);
        assert!(plain(&kept.1).contains(&format!(
            "It is end {} of {} of the plan p",
            place + 1,
            order.len()
        )));
    }
    // The next day the block begins anew, and says so.
    let kept = plain(&shoot(0, "02", &points).1);
    assert!(kept.contains("end 1 of") && kept.contains("begins anew"), "{kept}");
    let few = plain(&shoot(1, "02", &["1,1", "2,2"]).1);
    assert!(few.contains("It counts with 2 arrows; the plan has ends of 6 arrows"), "{few}");
    // Nothing but misses is no end of a plan; nor is one with the setup of another time.
    let none = shoot(2, "02", &["M", "M"]);
    assert!(none.0 == 1 && plain(&none.2).contains("no arrow of this end counts"), "{}", none.2);
    let early = sheaf(
        &[&["shoot", "elm", "30m", "--plan", "p", "--at", "2026-05-20T10:00:00Z"], &points[..]].concat(),
    );
    assert!(
        early.0 == 1 && plain(&early.2).contains("not noted to be set up so at that time"),
        "{}",
        early.2
    );
    // Other arrows in the midst of a block spoil it.
    assert_eq!(sheaf(&["add", "arrows", "red", "--count", "6"]).0, 0);
    let other = shoot(2, "02", &[&points[..], &["--arrows", "red"]].concat());
    assert!(other.0 == 1 || plain(&other.1).contains("begins anew"), "{}", other.1);
    let told = plain(&sheaf(&["plan", "show", "p"]).1);
    assert!(told.contains("0 of") && told.contains("Left out: "), "{told}");
    assert_eq!(sheaf(&["retire", "p"]).0, 0);
    let gone = shoot(3, "03", &points);
    assert!(gone.0 == 1 && plain(&gone.2).contains("out of use"), "{}", gone.2);
}

#[test]
fn the_name_of_a_sight_holds_at_its_distance_until_another_is_given() {
    let (_folder, sheaf) = begun();
    let sight = |words: &[&str]| {
        let mut all = vec!["shoot", "elm"];
        all.extend(words);
        all.extend(["--face", "wa_80"]);
        let (code, _, err) = sheaf(&all);
        assert_eq!(code, 0, "{err}");
        json(sheaf(&["show", "last", "--json"]))["fields"]["sight"].as_str().map(str::to_owned)
    };
    assert_eq!(sight(&["30m", "1,1"]), None);
    assert_eq!(sight(&["30m", "1,1", "--sight", "two left"]).as_deref(), Some("two left"));
    assert_eq!(sight(&["50m", "1,1"]), None, "another distance has a mark of its own");
    assert_eq!(sight(&["30m", "1,1"]).as_deref(), Some("two left"));
    assert_eq!(sight(&["30m", "1,1", "--sight", ""]), None);
    assert_eq!(sight(&["30m", "1,1"]), None);
}
