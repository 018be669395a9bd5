#![allow(clippy::unwrap_used)]
use super::*;
use crate::moment::Moment;
use crate::rng::{Rng, Seed};
use crate::stats::effects::Group;

/// Makes a season of ends of four arrows, an hour apart, from (session, settings) an end.
fn season(ends: &[(usize, &[(&str, f64)])]) -> DialInput {
    let mut rng = Rng::new(Seed(5));
    let groups = ends.iter().enumerate().map(|(i, (session, settings))| DialGroup {
        group: Group {
            at: at(i),
            session: Some(session.to_string()),
            end: None,
            distance_m: 30.0,
            points_mm: (0..4).map(|_| [0, 1].map(|_| 30.0 * rng.normal())).collect(),
            flyers: Vec::new(),
            sight: None,
            sight_offset_mrad: None,
        },
        settings: settings.iter().map(|(name, value)| ((*name).to_owned(), Some(*value))).collect(),
    });
    DialInput {
        dial: "plunger_turns".into(),
        confidence: 0.95,
        noise: Noise::BySpread,
        changes: Vec::new(),
        groups: groups.collect(),
    }
}

fn at(hour: usize) -> Moment {
    Moment::read(&format!("2026-04-{:02}T{:02}:00:00Z", 1 + hour / 24, hour % 24)).unwrap()
}

/// Ends that go through values of the plunger, four a session, with the brace height that `brace` gives.
fn with_brace(brace: fn(usize, f64) -> f64) -> DialInput {
    let values = [2.0, 2.5, 3.0];
    let settings: Vec<[(&str, f64); 2]> = (0..24)
        .map(|i| {
            let v = values[i % 3];
            [("plunger_turns", v), ("brace_height_mm", brace(i, v))]
        })
        .collect();
    let ends: Vec<(usize, &[(&str, f64)])> =
        settings.iter().enumerate().map(|(i, s)| (i / 4, s.as_slice())).collect();
    season(&ends)
}

/// Adds to every point mrad right for each unit of a setting.
fn push(input: &mut DialInput, name: &str, mrad: f64) {
    for group in &mut input.groups {
        let by = 30.0 * mrad * group.settings[name].unwrap();
        group.group.points_mm.iter_mut().for_each(|p| p[0] += by);
    }
}

#[test]
fn settings_that_moved_together_are_named_with_what_would_separate_them() {
    let found = dial(&with_brace(|_, v| 200.0 + 8.0 * v)).unwrap();
    assert_eq!(found.inseparable_from, ["brace_height_mm"]);
    assert_eq!(found.shift_mrad_per_unit, None);
    assert_eq!(found.spread.inseparable_from, ["brace_height_mm"]);
    assert_eq!((found.spread.best, found.spread.sd_ratio_per_unit), (Best::NoneShown, None));
    let separate = found.separate_by.unwrap();
    assert_eq!((separate.dial_at, separate.left_at["brace_height_mm"]), (2.0, 224.0));
    let told = "shoot plunger_turns at 2 with brace_height_mm left at 224";
    assert!(found.notes.iter().any(|n| n.contains(told)), "{:?}", found.notes);
}

#[test]
fn what_is_shot_as_it_said_separates_them() {
    let mut input = with_brace(|_, v| 200.0 + 8.0 * v);
    let separate = dial(&input).unwrap().separate_by.unwrap();
    for hour in 24..28 {
        let mut more = input.groups[hour - 4].clone();
        more.group.at = at(hour);
        more.settings.insert("plunger_turns".into(), Some(separate.dial_at));
        more.settings.insert("brace_height_mm".into(), Some(separate.left_at["brace_height_mm"]));
        input.groups.push(more);
    }
    let found = dial(&input).unwrap();
    assert!(found.shift_mrad_per_unit.is_some() && found.inseparable_from.is_empty(), "{:?}", found.notes);
}

#[test]
fn another_dial_is_a_line_of_its_own() {
    let mut input = with_brace(|i, _| 210.0 + (i % 4) as f64);
    let before = dial(&input).unwrap();
    assert_eq!(before.linear_with, ["brace_height_mm"]);
    push(&mut input, "brace_height_mm", 0.7);
    let after = dial(&input).unwrap();
    let slope = |d: &Dial| d.shift_mrad_per_unit.unwrap()[0];
    assert!((slope(&before) - slope(&after)).abs() < 1e-9, "a shift by the brace is none by the plunger");
    push(&mut input, "plunger_turns", -0.4);
    assert!((slope(&dial(&input).unwrap()) - slope(&before) + 0.4).abs() < 1e-9);
}

#[test]
fn a_change_of_something_else_is_a_step_and_one_of_a_dial_is_none() {
    let mut input = with_brace(|i, _| 210.0 + (i % 4) as f64);
    let change = |id: &str, hour, set: &[&str]| DialChange {
        id: id.into(),
        at: at(hour),
        set: set.iter().map(|s| (*s).to_owned()).collect(),
    };
    input.changes = vec![
        change("string", 11, &["string"]),
        change("turn", 13, &["plunger_turns"]),
        change("both", 13, &["plunger_turns", "brace_height_mm"]),
        change("unsaid", 19, &[]),
        change("first", 0, &["string"]),
    ];
    let before = dial(&input).unwrap();
    assert_eq!(before.steps, [["string"], ["unsaid"]]);
    for group in &mut input.groups[11..] {
        group.group.points_mm.iter_mut().for_each(|p| p[0] += 50.0);
    }
    let after = dial(&input).unwrap();
    assert!((before.shift_mrad_per_unit.unwrap()[0] - after.shift_mrad_per_unit.unwrap()[0]).abs() < 1e-9);
    for (a, b) in before.values.iter().zip(&after.values) {
        let off = (b.mean_mm[0] - a.mean_mm[0]) - (after.values[0].mean_mm[0] - before.values[0].mean_mm[0]);
        assert!(off.abs() < 1e-6, "the step is taken out of the means: {off}");
    }
}

#[test]
fn a_setting_of_two_values_or_one_that_is_not_always_known_is_a_step() {
    let mut input = with_brace(|i, _| if i < 13 { 215.0 } else { 218.0 });
    let before = dial(&input).unwrap();
    assert!(before.linear_with.is_empty());
    push(&mut input, "brace_height_mm", 0.7);
    let after = dial(&input).unwrap();
    assert!((before.shift_mrad_per_unit.unwrap()[0] - after.shift_mrad_per_unit.unwrap()[0]).abs() < 1e-9);
    let mut input = with_brace(|i, _| 210.0 + (i % 4) as f64);
    input.groups[7].settings.insert("brace_height_mm".into(), None);
    assert!(dial(&input).unwrap().linear_with.is_empty());
}

#[test]
fn values_that_each_fill_a_session_of_their_own_need_more_sessions_than_columns() {
    let by_session = |per: usize| {
        let settings: Vec<[(&str, f64); 1]> =
            (0..24).map(|i| [("plunger_turns", 2.0 + (i / per % 3) as f64)]).collect();
        let ends: Vec<(usize, &[(&str, f64)])> =
            settings.iter().enumerate().map(|(i, s)| (i / per, s.as_slice())).collect();
        let mut input = season(&ends);
        input.groups[16..].iter_mut().for_each(|g| g.group.sight = Some("moved".into()));
        dial(&input).unwrap()
    };
    let three = by_session(8);
    assert_eq!((three.inseparable_from.as_slice(), three.shift_p_joint), (&["session".to_owned()][..], None));
    assert!(three.notes.iter().any(|n| n.contains("two values in one session")), "{:?}", three.notes);
    let eight = by_session(3);
    assert!(eight.inseparable_from.is_empty() && eight.shift_p_joint.is_some(), "{:?}", eight.notes);
}

#[test]
fn a_sight_moved_with_every_turn_hides_the_turn() {
    let mut input = with_brace(|_, _| 215.0);
    for group in &mut input.groups {
        group.group.sight = group.settings["plunger_turns"].map(|v| format!("at {v}"));
    }
    let found = dial(&input).unwrap();
    assert_eq!(found.inseparable_from, ["sight at 2.5", "sight at 3"]);
    assert!(found.spread.inseparable_from.is_empty() && found.spread.curvature_p.is_some());
    assert_eq!(found.separate_by.unwrap().left_alone, ["sight at 2.5", "sight at 3"]);
}

#[test]
fn the_answer_goes_with_the_unit_of_the_dial() {
    let input = with_brace(|_, _| 215.0);
    let mut coarse = input.clone();
    for group in &mut coarse.groups {
        let v = group.settings["plunger_turns"].unwrap();
        group.settings.insert("plunger_turns".into(), Some(4.0 * v + 100.0));
    }
    let (a, b) = (dial(&input).unwrap(), dial(&coarse).unwrap());
    let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9 * (1.0 + a.abs()), "{a} {b}");
    close(a.shift_mrad_per_unit.unwrap()[0], 4.0 * b.shift_mrad_per_unit.unwrap()[0]);
    close(a.shift_p_joint.unwrap(), b.shift_p_joint.unwrap());
    close(a.spread.curvature_log_sd_per_unit2.unwrap(), 16.0 * b.spread.curvature_log_sd_per_unit2.unwrap());
    close(a.straightness.unwrap().p_joint, b.straightness.unwrap().p_joint);
}

#[test]
fn groups_without_a_known_value_are_left_out_and_said() {
    let mut input = with_brace(|_, _| 215.0);
    input.groups[3].settings.insert("plunger_turns".into(), None);
    input.groups[4].settings.remove("plunger_turns");
    let found = dial(&input).unwrap();
    assert_eq!(found.values.iter().map(|v| v.ends).sum::<usize>(), 22);
    assert!(found.notes.iter().any(|n| n.contains("2 left out")), "{:?}", found.notes);
}

#[test]
fn what_is_wrong_is_said_where_it_is() {
    let mut few = with_brace(|_, _| 215.0);
    few.groups.retain(|g| g.settings["plunger_turns"] != Some(3.0));
    let e = dial(&few).unwrap_err();
    assert!(e.code == "too_few_values" && e.message.contains("2 and 2.5 only"), "{e}");
    let mut none = few.clone();
    none.dial = "tiller_mm".into();
    assert_eq!(dial(&none).unwrap_err().code, "no_groups");
    let mut far = few;
    far.groups[1].settings.insert("tiller_mm".into(), Some(1e7));
    assert_eq!(dial(&far).unwrap_err().field.as_deref(), Some("groups[1].settings.tiller_mm"));
}

#[test]
fn values_that_read_the_same_are_one() {
    let near: [&[(&str, f64)]; 3] =
        [&[("plunger_turns", 1.999_999)], &[("plunger_turns", 2.0)], &[("plunger_turns", 2.000_4)]];
    let ends: Vec<(usize, &[(&str, f64)])> = (0..12).map(|i| (i / 4, near[i % 3])).collect();
    let e = dial(&season(&ends)).unwrap_err();
    assert!(e.code == "too_few_values" && e.message.contains("shot at 2 only"), "{e}");
}
