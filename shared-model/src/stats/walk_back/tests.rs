#![allow(clippy::unwrap_used)]

use super::*;
use crate::{
    rng::{Rng, Seed},
    stats::shots::Shot,
};

/// Ends of four arrows; `drift` is where the sight sends them at a distance, mm.
fn shoot(
    rng: &mut Rng,
    distances: &[f64],
    ends: usize,
    end_sd: f64,
    drift: impl Fn(f64) -> f64,
) -> Vec<ShotGroup> {
    let mut groups = Vec::new();
    for d in distances.iter().flat_map(|d| std::iter::repeat_n(*d, ends)) {
        let off = end_sd * rng.normal();
        let shots = (0..4).map(|_| {
            let at_mm = [drift(d) + d * (off + rng.normal()), d * rng.normal()];
            Shot { at_mm, ..Shot::default() }
        });
        groups.push(ShotGroup { distance_m: d, shots: shots.collect(), ..ShotGroup::default() });
    }
    groups
}

const FIVE: [f64; 5] = [10.0, 20.0, 30.0, 40.0, 50.0];

fn rate(ends: usize, end_sd: f64, seed: u64, wanted: Drift, drift: impl Fn(f64) -> f64) -> f64 {
    let mut rng = Rng::new(Seed(seed));
    let found = (0..2000).filter(|_| {
        walk_back(&shoot(&mut rng, &FIVE, ends, end_sd, &drift), 0.95).unwrap().verdict == wanted
    });
    found.count() as f64 / 2000.0
}

#[test]
fn where_nothing_drifts_something_is_shown_in_at_most_six_of_a_hundred() {
    for (ends, end_sd) in [(1, 0.0), (2, 0.0), (2, 0.5), (3, 1.0)] {
        let quiet = rate(ends, end_sd, 41, Drift::NotShown, |_| 3.0);
        assert!(quiet >= 0.94, "{ends} ends, {end_sd} between them: {quiet}");
    }
}

#[test]
fn a_lean_is_seldom_taken_for_a_curve_and_a_curve_is_found() {
    assert!(rate(2, 0.3, 42, Drift::Curved, |d| 4.0 * d) <= 0.06);
    assert!(rate(2, 0.3, 43, Drift::Leaning, |d| 4.0 * d) >= 0.9);
    assert!(rate(2, 0.0, 44, Drift::Curved, |d| 0.15 * d * d) >= 0.8);
}

#[test]
fn slope_curvature_and_bend_are_those_of_the_parabola() {
    let groups: Vec<ShotGroup> = shoot(&mut Rng::new(Seed(45)), &[5.0, 12.0, 20.0, 33.0], 1, 0.0, |_| 0.0)
        .into_iter()
        .map(|mut group| {
            let d = group.distance_m;
            for (i, shot) in group.shots.iter_mut().enumerate() {
                shot.at_mm[0] = 7.0 - 2.0 * d + 0.25 * d * d + [1.0, -1.0, 2.0, -2.0][i];
            }
            group
        })
        .collect();
    let told = walk_back(&groups, 0.95).unwrap();
    assert!((told.curve.value - 0.25).abs() < 1e-12);
    assert!((told.bend_mm + 0.25 * 14.0 * 14.0).abs() < 1e-9, "{}", told.bend_mm);
    assert_eq!((told.verdict, told.side), (Drift::Curved, Some("left")));
    assert!(told.distances.iter().all(|l| (l.curved_mm - l.mean_mm).abs() < 1e-9));
    let p = told.curve_test.unwrap().p;
    assert!((p - told.curve.p.unwrap()).abs() < 1e-12, "F of one term is the square of its t");
}

#[test]
fn what_cannot_be_had_is_told() {
    let two = shoot(&mut Rng::new(Seed(46)), &[18.0, 30.0], 3, 0.0, |_| 0.0);
    assert_eq!(walk_back(&two, 0.95).unwrap_err().code, "too_few");
    let mut single = shoot(&mut Rng::new(Seed(47)), &[18.0, 30.0, 50.0], 1, 0.0, |d| d);
    single.iter_mut().for_each(|g| g.shots.truncate(1));
    let told = walk_back(&single, 0.95).unwrap();
    assert_eq!((told.sigma_mrad, told.verdict, told.curve_test), (None, Drift::NotShown, None));
    assert!(told.notes[0].starts_with("no noise"), "{:?}", told.notes);
}

#[test]
fn distances_that_differ_by_their_unit_alone_are_one() {
    let mut rng = Rng::new(Seed(3));
    let two = shoot(&mut rng, &[27.43, 27.432, 30.0, 30.001], 2, 0.0, |_| 0.0);
    assert_eq!(walk_back(&two, 0.95).unwrap_err().code, "too_few");
    let three = shoot(&mut rng, &[10.0, 27.43, 27.432, 50.0], 2, 0.0, |_| 0.0);
    let found = walk_back(&three, 0.95).unwrap();
    assert_eq!(found.distances.iter().map(|d| d.ends).collect::<Vec<_>>(), [2, 4, 2]);
}
