//! Each kind of sentence, word for word. `UPDATE_GOLDEN=1 cargo test` rewrites what is expected.

use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    stats::effects::{Effect, Location, Tightness},
    timeline::{Altered, Moment, Season, SeasonChange},
    verdict::{Told, Units, changed, sentence},
};
use std::{env, fs, path::Path};

const LIMBS: [&str; 2] = ["01902f3a-7c1e-7d2b-9a55-0c6f1f2e3d4c", "01902f3a-7c1e-7d2b-9a55-0c6f1f2e3d4d"];

fn altered(setting: &str, before: Value, after: Value) -> Altered {
    Altered { setting: setting.into(), before: Some(before).filter(|b| !b.is_null()), after }
}

fn season() -> Season {
    let change = |id: &str, day: &str, altered: Vec<Altered>| SeasonChange {
        id: id.into(),
        at: Moment::read(&format!("2026-{day}T10:00:00+02:00")).expect("a moment"),
        altered,
    };
    let changes = vec![
        change("plunger", "04-12", vec![altered("plunger_turns", json!(2), json!(2.25))]),
        change("brace", "04-14", vec![altered("brace_height_mm", json!(215), json!(218.5))]),
        change("limbs", "05-01", vec![altered("limbs", json!(LIMBS[0]), json!(LIMBS[1]))]),
        change(
            "first",
            "03-01",
            vec![
                altered("tiller_mm", Value::Null, json!(4)),
                altered("plunger_turns", Value::Null, json!(1.5)),
                altered("rest", Value::Null, json!("magnetic")),
            ],
        ),
        change("back", "05-03", vec![altered("plunger_turns", json!(2.25), json!(1.2))]),
    ];
    Season { changes, ..Season::default() }
}

/// A change that did nothing that matters, with the figures of a good season.
fn effect(changes: &[&str]) -> Effect {
    Effect {
        changes: changes.iter().map(|c| (*c).to_owned()).collect(),
        at: Moment::read("2026-04-12T10:00:00+02:00").expect("a moment"),
        ends_before: 12,
        ends_after: 14,
        arrows_before: 72,
        arrows_after: 84,
        flyers_before: 0,
        flyers_after: 0,
        shift_mrad: Some([0.03, -0.02]),
        shift_se_mrad: Some([0.08, 0.08]),
        shift_df: Some([18.0, 20.0]),
        shift_interval_mrad: Some([[-0.13, 0.19], [-0.19, 0.15]]),
        shift_p: Some([0.7, 0.8]),
        shift_p_adjusted: Some(1.0),
        sd_ratio: Some(0.99),
        sd_ratio_interval: Some([0.93, 1.06]),
        spread_p: Some(0.8),
        spread_p_adjusted: Some(1.0),
        points_per_arrow: Some(0.01),
        points_per_arrow_interval: Some([-0.05, 0.07]),
        points_per_arrow_resighted: Some(0.01),
        points_per_arrow_resighted_interval: Some([-0.05, 0.07]),
        location: Location::Held,
        tight: Tightness::Held,
        detectable_shift_mrad: Some(0.37),
        ends_to_settle: None,
        inseparable_from: Vec::new(),
        notes: Vec::new(),
    }
}

fn moved() -> Effect {
    Effect {
        shift_mrad: Some([-0.467, 0.03]),
        shift_interval_mrad: Some([[-0.633, -0.3], [-0.2, 0.26]]),
        shift_p_adjusted: Some(0.0004),
        points_per_arrow: Some(-0.21),
        points_per_arrow_interval: Some([-0.4, -0.02]),
        location: Location::Moved,
        ..effect(&["plunger"])
    }
}

fn what(ids: &[String]) -> String {
    let name = |id: ThingId| {
        let index = LIMBS.iter().position(|text| id.to_string() == *text)?;
        Some(["medium 34", "long 36"][index].to_owned())
    };
    let season = season();
    let made: Vec<&SeasonChange> =
        ids.iter().filter_map(|id| season.changes.iter().find(|c| c.id == *id)).collect();
    changed(&made, &name)
}

fn words(effect: Effect, units: Units) -> String {
    let told = Told {
        what: &what(&effect.changes),
        day: "12 April 2026",
        distance_m: 30.0,
        matters_mrad: Some(0.3),
        sigma_mrad: Some(1.0),
        confidence: 0.95,
        units,
        change_name: &|id| what(&[id.to_owned()]),
    };
    format!("{}\n", sentence(&effect, &told))
}

#[track_caller]
fn check(name: &str, got: &str) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/verdict").join(format!("{name}.txt"));
    if env::var_os("UPDATE_GOLDEN").is_some() {
        fs::create_dir_all(path.parent().expect("it lies in a folder")).expect("the folder can be made");
        fs::write(&path, got).expect("the file can be written");
    }
    let expect = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    assert_eq!(got, expect, "{name}");
}

#[test]
fn moved_sentences() {
    check("moved", &words(moved(), Units::Metric));
    check("moved_imperial", &words(moved(), Units::Imperial));
    let both = Effect {
        shift_mrad: Some([0.4, 0.7]),
        shift_interval_mrad: Some([[0.1, 0.7], [0.35, 1.05]]),
        flyers_after: 1,
        ..moved()
    };
    check("moved_both_ways", &words(both, Units::Metric));
    let little = Effect { shift_interval_mrad: Some([[-0.633, -0.1], [-0.2, 0.26]]), ..moved() };
    check("moved_maybe_too_little", &words(little, Units::Metric));
    let less = Effect {
        shift_mrad: Some([-0.2, 0.03]),
        shift_interval_mrad: Some([[-0.28, -0.12], [-0.1, 0.16]]),
        points_per_arrow_interval: Some([-0.4, 0.1]),
        ..moved()
    };
    check("moved_too_little", &words(less, Units::Metric));
    let tighter = Effect {
        sd_ratio: Some(0.82),
        sd_ratio_interval: Some([0.74, 0.91]),
        tight: Tightness::Tighter,
        points_per_arrow_resighted: Some(0.31),
        points_per_arrow_resighted_interval: Some([0.12, 0.5]),
        flyers_before: 2,
        flyers_after: 1,
        ..moved()
    };
    check("moved_and_tighter", &words(tighter, Units::Metric));
}

#[test]
fn held_and_unsettled_sentences() {
    check("held", &words(effect(&["brace"]), Units::Metric));
    let wider = Effect {
        sd_ratio: Some(1.3),
        sd_ratio_interval: Some([1.15, 1.47]),
        tight: Tightness::Wider,
        points_per_arrow_resighted: Some(-0.32),
        points_per_arrow_resighted_interval: Some([-0.5, -0.1]),
        ..effect(&["limbs"])
    };
    check("held_and_wider", &words(wider, Units::Metric));
    let unsettled = Effect {
        shift_mrad: Some([0.1, -0.3]),
        shift_interval_mrad: Some([[-0.4, 0.6], [-0.8, 0.2]]),
        location: Location::Unsettled,
        tight: Tightness::Unsettled,
        ends_to_settle: Some(22),
        ..effect(&["back"])
    };
    check("unsettled", &words(unsettled.clone(), Units::Metric));
    let clear = Effect { shift_interval_mrad: Some([[-0.4, 0.6], [-0.58, -0.02]]), ..unsettled.clone() };
    check("unsettled_though_clear", &words(clear, Units::Metric));
    let never = Effect { shift_mrad: None, shift_interval_mrad: None, ends_to_settle: None, ..unsettled };
    check("unsettled_without_figures", &words(never, Units::Metric));
}

#[test]
fn inseparable_sentences() {
    let from = |from: &[&str]| Effect {
        location: Location::Inseparable,
        tight: Tightness::Inseparable,
        inseparable_from: from.iter().map(|f| (*f).to_owned()).collect(),
        ..effect(&["plunger"])
    };
    check("inseparable_from_session", &words(from(&["session"]), Units::Metric));
    check("inseparable_from_change", &words(from(&["brace"]), Units::Metric));
    check("inseparable_from_sight", &words(from(&["sight b at 30 m"]), Units::Metric));
    check("inseparable_from_both", &words(from(&["limbs", "sight b at 30 m"]), Units::Imperial));
    let before = Effect { ends_before: 0, arrows_before: 0, ..from(&[]) };
    check(
        "inseparable_none_before",
        &words(Effect { changes: vec!["first".into()], ..before }, Units::Metric),
    );
    let since = Effect { ends_after: 0, arrows_after: 0, ..from(&[]) };
    check("inseparable_none_since", &words(since, Units::Metric));
    let spread = Effect {
        tight: Tightness::Tighter,
        sd_ratio: Some(0.8),
        sd_ratio_interval: Some([0.7, 0.9]),
        ..from(&["session"])
    };
    check("inseparable_yet_tighter", &words(spread, Units::Metric));
}

#[test]
fn what_was_changed() {
    check("changed_together", &words(effect(&["plunger", "limbs"]), Units::Metric));
    check("changed_for_the_first_time", &words(effect(&["first"]), Units::Imperial));
    check("changed_unknown", &words(effect(&["arrows-7"]), Units::Metric));
}

#[test]
fn no_sentence_says_that_a_change_caused_anything() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("golden/verdict");
    for entry in fs::read_dir(folder).expect("the folder is there") {
        let text = fs::read_to_string(entry.expect("an entry").path()).expect("a text").to_lowercase();
        assert!(!text.contains("cause") && !text.contains("because"), "{text}");
    }
}
