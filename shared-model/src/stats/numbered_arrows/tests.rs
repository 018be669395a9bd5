#![allow(clippy::unwrap_used)]

use super::*;
use crate::{
    rng::{Rng, Seed},
    stats::shots::Shot,
};

/// A season of one set: ends of so many arrows, drawn from the set without repetition.
struct Season {
    arrows: usize,
    per_end: usize,
    ends: usize,
    /// Where an arrow strikes beside the others, mrad.
    apart: Option<(usize, [f64; 2])>,
    /// Every how manyeth arrow flies off.
    flyer_in: usize,
}

impl Season {
    fn shoot(&self, rng: &mut Rng) -> Vec<ShotGroup> {
        let mut groups = Vec::new();
        let mut shot = 0;
        let flies = rng.below(self.flyer_in.max(1) as u64) as usize;
        for _ in 0..self.ends {
            let mut left: Vec<usize> = (0..self.arrows).collect();
            let middle = [rng.normal(), rng.normal()];
            let mut shots = Vec::new();
            for _ in 0..self.per_end {
                let arrow = left.remove(rng.below(left.len() as u64) as usize);
                let mut at = middle.map(|m| m + rng.normal());
                if let Some((_, offset)) = self.apart.filter(|(odd, _)| *odd == arrow) {
                    at = [at[0] + offset[0], at[1] + offset[1]];
                }
                if self.flyer_in > 0 && shot % self.flyer_in == flies {
                    at = at.map(|v| v + 8.0 * rng.normal());
                }
                shot += 1;
                let number = Some((arrow + 1).to_string());
                shots.push(Shot { at_mm: at.map(|v| v * 30.0), number, ..Shot::default() });
            }
            groups.push(ShotGroup { distance_m: 30.0, shots, ..ShotGroup::default() });
        }
        groups
    }

    /// Returns in how many of so many seasons an arrow is called apart that is not, and in how many the one that is.
    fn rates(&self, seasons: usize, seed: u64) -> [f64; 2] {
        let mut rng = Rng::new(Seed(seed));
        let mut found = [0.0; 2];
        for _ in 0..seasons {
            let told = numbered_arrows(&self.shoot(&mut rng), 0.95).unwrap();
            let odd = self.apart.map(|(odd, _)| (odd + 1).to_string());
            let apart = |a: &&Numbered| a.verdict == Apart::Apart;
            let (right, wrong): (Vec<&Numbered>, Vec<&Numbered>) =
                told.arrows.iter().filter(apart).partition(|a| Some(&a.number) == odd.as_ref());
            found[0] += f64::from(u8::from(!wrong.is_empty()));
            found[1] += f64::from(u8::from(!right.is_empty()));
        }
        found.map(|n| n / seasons as f64)
    }
}

const SIX: Season = Season { arrows: 6, per_end: 6, ends: 10, apart: None, flyer_in: 0 };

#[test]
fn where_no_arrow_is_apart_one_is_called_so_in_at_most_six_of_a_hundred_seasons() {
    for flyer_in in [0, 60] {
        for (arrows, per_end, ends) in [(6, 6, 10), (6, 3, 20), (12, 6, 20), (12, 12, 10), (6, 6, 40)] {
            let season = Season { arrows, per_end, ends, flyer_in, apart: None };
            let [wrong, _] = season.rates(2000, 11);
            assert!(wrong <= 0.06, "{arrows} arrows, {per_end} an end, a flyer in {flyer_in}: {wrong}");
        }
    }
}

#[test]
fn an_arrow_that_is_apart_is_found_and_takes_no_good_one_along() {
    for (flyer_in, least) in [(0, 0.9), (60, 0.75)] {
        let season = Season { apart: Some((2, [2.0, -1.5])), ends: 15, flyer_in, ..SIX };
        let [wrong, right] = season.rates(2000, 12);
        assert!(wrong <= 0.06 && right >= least, "a flyer in {flyer_in}: {wrong} wrong, {right} found");
    }
    let season = Season { apart: Some((2, [8.0, 0.0])), ends: 40, ..SIX };
    let [wrong, right] = season.rates(2000, 13);
    assert!(wrong <= 0.06 && right == 1.0, "{wrong} wrong, {right} found");
}

#[test]
fn one_flyer_alone_makes_no_arrow_apart() {
    let mut groups = Season { ends: 6, ..SIX }.shoot(&mut Rng::new(Seed(3)));
    let before = numbered_arrows(&groups, 0.95).unwrap();
    groups[2].shots[0].at_mm = [9e4, 9e4];
    let told = numbered_arrows(&groups, 0.95).unwrap();
    assert!(told.arrows.iter().all(|a| a.verdict == Apart::NotShown), "{told:?}");
    assert_ne!(before.arrows, told.arrows);
}

#[test]
fn bare_shafts_and_flyers_by_word_stay_out_and_distances_are_angles() {
    let mut groups = Season { ends: 8, ..SIX }.shoot(&mut Rng::new(Seed(4)));
    let plain = numbered_arrows(&groups, 0.95).unwrap();
    for (i, group) in groups.iter_mut().enumerate() {
        let odd = Shot { at_mm: [5e3, 0.0], number: Some("1".into()), flyer: i % 2 == 0, bare: i % 2 == 1 };
        group.shots.push(odd);
    }
    for shot in &mut groups[0].shots {
        shot.at_mm = shot.at_mm.map(|v| v * 2.0);
    }
    groups[0].distance_m = 60.0;
    let told = numbered_arrows(&groups, 0.95).unwrap();
    assert_eq!((told.flyers, told.bare, told.distance_m), (4, 4, 30.0));
    for (a, b) in plain.arrows.iter().zip(&told.arrows) {
        assert!((a.p.unwrap() - b.p.unwrap()).abs() < 1e-12, "{}", a.number);
    }
}

#[test]
fn so_many_further_ends_find_the_suspect() {
    let mut rng = Rng::new(Seed(21));
    let season = Season { apart: Some((0, [1.1, 0.6])), ends: 8, ..SIX };
    let mut suspects = 0;
    for _ in 0..40 {
        let told = numbered_arrows(&season.shoot(&mut rng), 0.95).unwrap();
        for arrow in told.arrows.iter().filter(|a| a.suspect) {
            suspects += 1;
            assert!(arrow.more_ends.is_some_and(|n| (1..=200).contains(&n)), "{arrow:?}");
            assert!(arrow.p.unwrap() < 0.05 && arrow.p_adjusted.unwrap() >= 0.05);
        }
        assert!(told.arrows.iter().all(|a| a.suspect || a.more_ends.is_none()));
    }
    assert!(suspects > 5, "{suspects}");
}

#[test]
fn too_few_ends_or_others_leave_an_arrow_unjudged_with_the_reason() {
    let groups = Season { ends: 3, ..SIX }.shoot(&mut Rng::new(Seed(5)));
    let told = numbered_arrows(&groups, 0.95).unwrap();
    assert_eq!(told.judged, 0);
    assert!(told.arrows[0].notes[0].contains("4 ends") && told.arrows[0].ellipse_mm.is_some());
    let pairs = Season { per_end: 2, ..SIX }.shoot(&mut Rng::new(Seed(6)));
    assert_eq!(numbered_arrows(&pairs, 0.95).unwrap_err().code, "too_few");
    let shot = |n: usize| Shot { number: Some(n.to_string()), ..Shot::default() };
    let crowd = ShotGroup { distance_m: 9.0, shots: (0..501).map(shot).collect(), ..ShotGroup::default() };
    assert_eq!(numbered_arrows(&[crowd], 0.95).unwrap_err().code, "too_many");
}
