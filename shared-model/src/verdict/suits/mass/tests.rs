#![allow(clippy::unwrap_used)]
use super::*;

fn on(weight_lbf: Option<[f64; 2]>, mass: Option<f64>, riser: Option<Part>, limbs: Option<Part>) -> SetOnBow {
    SetOnBow {
        bow: ThingId::from_bytes([7; 16]),
        name: "elm".into(),
        lightest: mass.map(|mass| (Some(3), mass)),
        room: None,
        speeds: Speeds::default(),
        said: Vec::new(),
        weight_lbf,
        makers: [riser.map(|part| ("riser", part)), limbs.map(|part| ("limbs", part))]
            .into_iter()
            .flatten()
            .collect(),
        wanted: Vec::new(),
    }
}

fn gr(least: f64) -> Option<Part> {
    Some(Part { least_arrow_gr: Some(least), ..Part::default() })
}

fn gpp(least: f64) -> Option<Part> {
    Some(Part { least_grains_per_pound: Some(least), ..Part::default() })
}

#[test]
fn the_makers_come_before_the_common_floor() {
    for (weight, mass, riser, limbs, expect) in [
        // 330 / 40 = 8.25 grains a pound.
        (Some([40.0, 40.0]), Some(330.0), None, None, ByMass::Suits),
        (Some([70.0, 70.0]), Some(330.0), None, None, ByMass::TooLight),
        (Some([60.0, 70.0]), Some(330.0), None, None, ByMass::CannotTell),
        (None, Some(330.0), None, None, ByMass::CannotTell),
        (Some([40.0, 40.0]), None, None, None, ByMass::CannotTell),
        (None, Some(330.0), gr(300.0), None, ByMass::Suits),
        (Some([40.0, 40.0]), Some(330.0), gr(300.0), gr(331.0), ByMass::TooLight),
        // By the floor it would do; the maker says otherwise.
        (Some([40.0, 40.0]), Some(330.0), None, gpp(9.0), ByMass::TooLight),
        (Some([38.0, 42.0]), Some(330.0), None, gpp(8.0), ByMass::CannotTell),
        (Some([70.0, 70.0]), Some(330.0), None, gpp(4.0), ByMass::Suits),
    ] {
        let (by, said) = on(weight, mass, riser, limbs).by_mass();
        assert_eq!(by, expect, "{weight:?} {mass:?} {said:?}");
        assert!(mass.is_none() || said.iter().all(|s| s.caution == Some(caution::LIGHT_ARROWS)));
    }
}

#[test]
fn where_only_the_least_weight_is_known_nothing_is_heavy_enough() {
    let (by, said) = on(Some([40.0, f64::INFINITY]), Some(330.0), None, None).by_mass();
    assert_eq!(by, ByMass::CannotTell);
    assert!(said[0].words.starts_with("At most 8.2 grains for each pound"), "{}", said[0].words);
    assert!(said[0].words.contains("the common floor of 5. No maker's limit"), "{}", said[0].words);
    assert_eq!(on(Some([70.0, f64::INFINITY]), Some(330.0), None, None).by_mass().0, ByMass::TooLight);
}

#[test]
fn another_part_counts_beside_the_floor_and_does_not_switch_it_off() {
    let by = |mass: f64, part: Option<Part>| {
        let mut on = on(Some([40.0, 40.0]), Some(mass), None, None);
        on.makers.push(("string", part.unwrap()));
        on.by_mass()
    };
    // 190 / 40 = 4.75 grains a pound: above what the string's maker asks for, below the floor.
    assert_eq!(by(190.0, gr(150.0)).0, ByMass::TooLight);
    assert_eq!(by(330.0, gr(150.0)).0, ByMass::Suits);
    assert_eq!(by(330.0, gpp(9.0)).0, ByMass::TooLight, "8.25 are fewer than 9");
    let mut both = on(Some([40.0, 40.0]), Some(330.0), gr(300.0), None);
    both.makers.push(("string", gr(340.0).unwrap()));
    assert_eq!(both.by_mass().0, ByMass::TooLight);
}

#[test]
fn what_is_below_a_limit_does_not_read_as_the_limit() {
    // 199.9 / 40 = 4.9975 grains a pound.
    let (by, said) = on(Some([40.0, 40.0]), Some(199.9), None, None).by_mass();
    assert_eq!(by, ByMass::TooLight);
    assert!(said[0].words.starts_with("4.998 grains"), "{}", said[0].words);
    let (by, said) = on(None, Some(299.99), gr(300.0), None).by_mass();
    assert_eq!(by, ByMass::TooLight);
    assert!(said[0].words.contains("weighs 299.99 gr"), "{}", said[0].words);
    // What a computer rounds is no difference: 0.1 + 0.2 is more than 0.3 by 6e-17.
    let (by, _) = on(Some([0.1 + 0.2; 2]), Some(1.5), None, None).by_mass();
    assert_eq!(by, ByMass::Suits);
}

#[test]
fn the_floor_says_that_it_has_no_source_and_that_it_is_all_there_is() {
    let (_, said) = on(Some([40.0, 40.0]), Some(330.0), None, None).by_mass();
    assert_eq!(said[0].source, "common practice, no source");
    assert!(
        said[0].words.starts_with("8.2 grains for each pound with the lightest arrow, shaft 3"),
        "{}",
        said[0].words
    );
    assert!(said[0].words.contains("all there is to go by"));
    let (_, said) = on(Some([40.0, 40.0]), Some(330.0), gr(300.0), None).by_mass();
    assert!(said.iter().any(|s| s.words.starts_with("Of the limbs no such limit is noted")));
}
