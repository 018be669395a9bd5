//! Each limit from both sides.

use super::*;

fn maker(part: &str) -> PartLimits {
    PartLimits { part: part.into(), ..PartLimits::default() }
}

#[track_caller]
fn check(facts: &Facts, expect: &[(&str, Severity)]) -> Vec<Finding> {
    let found = beyond(facts);
    let told: Vec<_> = found.iter().map(|f| (f.code, f.severity)).collect();
    assert_eq!(told, expect, "{found:?}");
    found
}

#[test]
fn what_is_on_the_limit_is_within_it() {
    let riser = PartLimits {
        least_bolt_turns: Some(0.5),
        most_bolt_turns: Some(4.0),
        most_weight_lbf: Some(40.0),
        least_weight_lbf: Some(40.0),
        least_brace_mm: Some(210.0),
        most_brace_mm: Some(210.0),
        least_arrow_gr: Some(280.0),
        least_grains_per_pound: Some(7.0),
        most_draw_in: Some(30.0),
        ..maker("riser")
    };
    let facts = Facts {
        limb_bolt_top_turns: Some(4.0),
        limb_bolt_bottom_turns: Some(0.5),
        limb_lateral_top_mm: Some(-3.0),
        brace_height_mm: Some(210.0),
        weight_lbf: Some([40.0, 40.0]),
        shot_weight_lbf: Some(38.0),
        draw_length_in: Some(30.0),
        arrow_gr: Some(280.0),
        parts: vec![riser],
        ..Facts::default()
    };
    check(&facts, &[]);
    check(&Facts::default(), &[]);
}

#[test]
fn a_bolt_beyond_the_makers_range_says_whose_and_by_how_much() {
    let parts = vec![
        PartLimits { most_bolt_turns: Some(4.0), ..maker("riser") },
        PartLimits { least_bolt_turns: Some(1.0), ..maker("limbs") },
    ];
    let facts = Facts {
        limb_bolt_top_turns: Some(5.0),
        limb_bolt_bottom_turns: Some(0.25),
        parts,
        ..Facts::default()
    };
    let found = check(&facts, &[("bolt_out", Severity::Stop), ("bolt_in", Severity::Stop)]);
    assert_eq!(
        found[0].words,
        "The top limb bolt is 5 turns out, 1 turn beyond the 4 turns that the maker of the riser allows."
    );
    assert!(found[1].words.contains("0.75 turns less than the 1 turn that the maker of the limbs"));
    assert!(found[0].touched_by("limb_bolt_top_turns") && found[0].touched_by("limbs"));
    assert!(!found[0].touched_by("sight"));
}

#[test]
fn a_weight_that_is_only_expected_asks_for_the_scale() {
    let parts = vec![PartLimits { most_weight_lbf: Some(40.0), ..maker("limbs") }];
    let facts = |low: f64, high: f64| Facts {
        weight_lbf: Some([low, high]),
        parts: parts.clone(),
        ..Facts::default()
    };
    let found = check(&facts(38.0, 42.0), &[("weight_above", Severity::Look)]);
    assert!(found[0].words.contains("measure it"), "{}", found[0].words);
    check(&facts(41.0, 43.0), &[("weight_above", Severity::Stop)]);
    let found = check(&facts(42.0, 42.0), &[("weight_above", Severity::Stop)]);
    assert_eq!(
        found[0].words,
        "42 lbf on the fingers: 2 lbf above the 40 lbf that the maker of the limbs allows."
    );
}

#[test]
fn the_common_floor_counts_only_where_no_maker_says() {
    let mut facts = Facts { arrow_gr: Some(190.0), weight_lbf: Some([40.0; 2]), ..Facts::default() };
    let found = check(&facts, &[("grains_few", Severity::Stop)]);
    assert!(found[0].words.contains("4.8 grains") && found[0].words.contains("common practice, no source"));
    facts.weight_lbf = Some([36.0, 40.0]);
    check(&facts, &[("grains_few", Severity::Look)]);
    facts.parts = vec![PartLimits { least_arrow_gr: Some(150.0), ..maker("limbs") }];
    check(&facts, &[]);
    facts.parts = vec![PartLimits { least_grains_per_pound: Some(8.0), ..maker("limbs") }];
    let found = check(&facts, &[("grains_few", Severity::Stop)]);
    assert_eq!(found[0].whose, "the maker of the limbs");
}

#[test]
fn a_weight_above_what_was_shot_is_a_step_or_far() {
    let at = |weight: f64, shot: f64| Facts {
        weight_lbf: Some([weight; 2]),
        shot_weight_lbf: Some(shot),
        archer: Some("Ash".into()),
        ..Facts::default()
    };
    check(&at(38.0, 36.0), &[]);
    check(&at(38.5, 36.0), &[("weight_step", Severity::Look)]);
    check(&at(39.7, 36.0), &[("weight_far", Severity::Stop)]); // more than a tenth
    check(&at(50.0, 46.0), &[("weight_step", Severity::Look)]); // 4 lbf and 8.7 %
    check(&at(50.2, 46.0), &[("weight_far", Severity::Stop)]);
    check(&at(20.0, 36.0), &[]);
    let found = check(&at(44.0, 38.0), &[("weight_far", Severity::Stop)]);
    assert!(found[0].words.starts_with("44 lbf on the fingers: 6 lbf (16 %) above the 38 lbf"));
    assert!(found[0].words.contains("Ash") && found[0].words.contains("qualified coach"));
}

#[test]
fn a_crooked_limb_and_a_knocked_shaft_are_to_be_looked_at() {
    let facts = Facts { limb_lateral_bottom_mm: Some(-3.5), carbon: true, missed: 2, ..Facts::default() };
    let found = check(&facts, &[("string_aside", Severity::Look), ("carbon_missed", Severity::Look)]);
    assert!(found[0].words.contains("3.5 mm to the left of the middle of the lower limb"));
    check(&Facts { carbon: false, missed: 2, ..Facts::default() }, &[]);
}

#[test]
fn a_least_of_another_part_counts_beside_the_floor() {
    let string = PartLimits { least_arrow_gr: Some(150.0), ..maker("string") };
    let mut facts = Facts { arrow_gr: Some(190.0), weight_lbf: Some([40.0; 2]), ..Facts::default() };
    facts.parts = vec![string];
    let found = check(&facts, &[("grains_few", Severity::Stop)]);
    assert_eq!(found[0].whose, PRACTICE);
    facts.parts[0].least_arrow_gr = Some(200.0);
    check(&facts, &[("arrow_light", Severity::Stop), ("grains_few", Severity::Stop)]);
}

#[test]
fn what_is_beyond_a_limit_does_not_read_as_the_limit() {
    // 199.9 / 40 = 4.9975.
    let facts = Facts { arrow_gr: Some(199.9), weight_lbf: Some([40.0; 2]), ..Facts::default() };
    let found = check(&facts, &[("grains_few", Severity::Stop)]);
    assert!(found[0].words.contains("4.998 grains for each pound, fewer than the 5 "), "{}", found[0].words);
    let parts = vec![PartLimits { most_weight_lbf: Some(40.0), ..maker("limbs") }];
    let facts = Facts { weight_lbf: Some([40.001; 2]), parts, ..Facts::default() };
    let found = check(&facts, &[("weight_above", Severity::Stop)]);
    assert!(found[0].words.starts_with("40.001 lbf on the fingers: 0.001 lbf above the 40 lbf"));
}

#[test]
fn a_small_step_of_a_light_bow_is_not_far() {
    let at = |weight: f64, shot: f64| Facts {
        weight_lbf: Some([weight; 2]),
        shot_weight_lbf: Some(shot),
        ..Facts::default()
    };
    check(&at(16.9, 15.0), &[]); // 12.7 %, and less than a step
    let found = check(&at(17.1, 15.0), &[("weight_far", Severity::Stop)]);
    assert!(found[0].words.contains("no more than 2 lbf a step"), "{}", found[0].words);
}

#[test]
fn a_draw_is_said_to_be_that_of_whom_it_was_noted_of() {
    let parts = vec![PartLimits { most_draw_in: Some(28.0), ..maker("limbs") }];
    let (archer, drawer) = (Some("Ash".to_owned()), Some("Birch".to_owned()));
    let facts = Facts { draw_length_in: Some(29.0), archer, drawer, parts, ..Facts::default() };
    let found = check(&facts, &[("draw_above", Severity::Stop)]);
    assert!(found[0].words.starts_with("Birch's draw of 29 in is 1 in longer"), "{}", found[0].words);
}
