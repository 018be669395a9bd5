#![allow(clippy::unwrap_used)]

use super::*;
use crate::{
    rng::{Rng, Seed},
    stats::shots::Shot,
};

fn shoot(rng: &mut Rng, ends: usize, kinds: [usize; 2], gap: [f64; 2], bare_sd: f64) -> Vec<ShotGroup> {
    let mut groups = Vec::new();
    for _ in 0..ends {
        let middle = [rng.normal(), rng.normal()];
        let shots = (0..kinds[0] + kinds[1]).map(|i| {
            let bare = i < kinds[0];
            let (sd, off) = if bare { (bare_sd, gap) } else { (1.0, [0.0; 2]) };
            let at_mm = [0, 1].map(|axis| 18.0 * (middle[axis] + off[axis] + sd * rng.normal()));
            Shot { at_mm, bare, ..Shot::default() }
        });
        groups.push(ShotGroup { distance_m: 18.0, shots: shots.collect(), ..ShotGroup::default() });
    }
    groups
}

fn asked(bow_arm: BowArm) -> Asked {
    Asked { bow_arm: Some(bow_arm), ..Asked::default() }
}

#[test]
fn where_there_is_no_difference_one_is_read_in_at_most_six_of_a_hundred() {
    for (ends, kinds, bare_sd) in [(3, [2, 4], 2.0), (6, [1, 3], 2.5), (1, [3, 3], 1.0), (2, [2, 4], 1.0)] {
        let mut rng = Rng::new(Seed(31));
        let read = |rng: &mut Rng| {
            let told =
                bare_shaft(&shoot(rng, ends, kinds, [0.0; 2], bare_sd), &Asked::default(), 0.95).unwrap();
            told.sideways.shown || told.up_down.shown
        };
        let rate = (0..2000).filter(|_| read(&mut rng)).count() as f64 / 2000.0;
        assert!(rate <= 0.06, "{ends} ends: {rate}");
    }
}

#[test]
fn the_reading_mirrors_with_the_bow_arm_and_stays_off_an_axis_that_is_not_shown() {
    let groups = shoot(&mut Rng::new(Seed(32)), 8, [2, 4], [-5.0, 0.0], 1.5);
    for (arm, sign) in [(BowArm::Left, Sign::Stiff), (BowArm::Right, Sign::Weak)] {
        let told = bare_shaft(&groups, &asked(arm), 0.95).unwrap();
        assert_eq!((told.sideways.side, told.sideways.reading), (Some("left"), Some(sign)));
        assert_eq!(told.up_down, Reading::default());
    }
    let unknown = bare_shaft(&groups, &Asked::default(), 0.95).unwrap();
    assert_eq!((unknown.sideways.shown, unknown.sideways.reading), (true, None));
    assert!(unknown.notes.iter().any(|n| n.contains("bow_arm")), "{:?}", unknown.notes);
    for (up, sign) in [(5.0, Sign::NockingPointLow), (-5.0, Sign::NockingPointHigh)] {
        let groups = shoot(&mut Rng::new(Seed(33)), 8, [2, 4], [6.0, up], 1.0);
        let told = bare_shaft(&groups, &asked(BowArm::Left), 0.95).unwrap();
        assert_eq!((told.sideways.reading, told.up_down.reading), (Some(Sign::Weak), Some(sign)));
    }
}

#[test]
fn a_dial_closes_what_is_shown_and_nothing_else() {
    let groups = shoot(&mut Rng::new(Seed(34)), 8, [2, 4], [-6.0, 0.0], 1.0);
    let dial = |shift| Dial { setting: "plunger_turns".into(), shift_per_unit_mrad: shift };
    let dials = vec![dial([2.0, 40.0]), dial([0.0, 3.0])];
    let told = bare_shaft(&groups, &Asked { dials, ..asked(BowArm::Left) }, 0.95).unwrap();
    let units = told.closing[0].units.unwrap();
    assert!((units + told.difference_mrad[0] / 2.0).abs() < 1e-12, "{units}");
    assert!(told.closing[0].left_over_mrad.unwrap()[0].abs() < 1e-12);
    assert_eq!(told.closing[1].units, None, "it does not move what is shown");
}

#[test]
fn one_bare_shaft_and_one_arrow_give_a_difference_without_interval() {
    let groups = shoot(&mut Rng::new(Seed(35)), 1, [1, 1], [9.0, 0.0], 1.0);
    let told = bare_shaft(&groups, &asked(BowArm::Left), 0.95).unwrap();
    assert_eq!((told.interval_mm, told.p, told.sideways.shown, told.df), (None, None, false, 0.0));
    assert!(told.notes[0].starts_with("no interval"));
    let none = shoot(&mut Rng::new(Seed(36)), 4, [0, 6], [0.0; 2], 1.0);
    assert_eq!(bare_shaft(&none, &Asked::default(), 0.95).unwrap_err().code, "too_few");
}
