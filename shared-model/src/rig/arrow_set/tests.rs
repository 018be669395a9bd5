#![allow(clippy::unwrap_used)]
use super::*;
use proptest::prelude::*;

fn masses(values: &[f64]) -> Vec<(u32, f64)> {
    (1..).zip(values.iter().copied()).collect()
}

const MEAN: MeanArrow =
    MeanArrow { mass_gr: 330.0, speed_fps: 190.0, diameter_mm: 5.5, cd: 2.0, air_density_kg_m3: 1.225 };

#[test]
fn the_scatter_of_a_set_by_hand() {
    // 2, 4, 4, 4, 5, 5, 7, 9: mean 5, squares 32, over 7.
    let found = scatter(&[2.0, 4.0, 4.0, 4.0, 5.0, 5.0, 7.0, 9.0]).unwrap();
    assert_eq!((found.n, found.mean, found.least, found.most, found.range), (8, 5.0, 2.0, 9.0, 7.0));
    assert!((found.sd.unwrap() - (32.0_f64 / 7.0).sqrt()).abs() < 1e-12);
    assert_eq!(scatter(&[3.0]).unwrap().sd, None);
    assert_eq!(scatter(&[]), None);
}

#[test]
fn the_step_of_the_scale_is_seen_in_grains_and_in_grams() {
    assert_eq!(scale_step_gr(&[330.8, 331.2, 329.9]), Some(0.1));
    assert_eq!(scale_step_gr(&[330.0, 331.5, 329.0]), Some(0.5));
    let grams = [21.4, 21.5, 21.45].map(|g| g / 0.064_798_91);
    assert!((scale_step_gr(&grams).unwrap() - 0.05 / 0.064_798_91).abs() < 1e-9);
    assert_eq!(scale_step_gr(&[330.8, 331.2]), None);
    assert_eq!(scale_step_gr(&[330.123, 331.277, 329.981]), None);
}

#[test]
fn an_arrow_is_outlying_only_beyond_what_the_scale_can_show() {
    let set = masses(&[330.0, 330.1, 330.0, 330.2, 330.1, 334.0]);
    assert_eq!(outlying(&set, 0.1), [6]);
    assert!(outlying(&set, 2.0).is_empty(), "a scale of 2 gr cannot say so");
    assert!(outlying(&masses(&[330.0, 330.0, 330.0, 330.0, 330.1]), 0.1).is_empty());
    assert!(outlying(&masses(&[330.0, 330.0, 400.0]), 0.1).is_empty());
}

#[test]
fn the_mean_arrow_is_that_of_those_that_are_not_outlying() {
    let (mean, far) = mean_of_near(&masses(&[330.0, 330.2, 330.1, 330.3, 352.0])).unwrap();
    assert!((mean - 330.15).abs() < 1e-9 && far == [5], "{mean} {far:?}");
    // Of three none can be far from the others.
    assert!((mean_of_near(&masses(&[330.0, 330.0, 360.0])).unwrap().0 - 340.0).abs() < 1e-9);
    assert_eq!(mean_of_near(&[]), None);
}

#[test]
fn a_length_is_odd_beside_that_of_most() {
    assert_eq!(odd_lengths(&masses(&[28.75, 28.75, 27.0, 28.75])), Some((28.75, vec![3])));
    // A quarter of an inch is alike, as little as a computer rounds more.
    assert_eq!(odd_lengths(&masses(&[28.75, 28.5, 28.75])), Some((28.75, vec![])));
    assert_eq!(odd_lengths(&masses(&[28.75, 28.49, 28.75])), Some((28.75, vec![2])));
    // Of as many short as long ones the short ones are odd.
    assert_eq!(odd_lengths(&masses(&[27.0, 28.75])), Some((28.75, vec![1])));
    assert_eq!(odd_lengths(&[]), None);
}

#[test]
fn windows_and_pairs_of_a_small_set() {
    let set = masses(&[330.8, 336.0, 331.2, 330.9, 331.0]);
    let best = nearest_in_mass(&set, 4).unwrap();
    assert_eq!(best.numbers, [1, 4, 5, 3]);
    assert!((best.range_gr - 0.4).abs() < 1e-9);
    assert_eq!(nearest_in_mass(&set, 6), None);
    assert_eq!(nearest_in_mass(&set, 0), None);
    let found = pairs(&set);
    assert_eq!((found.pairs, found.alone), (vec![[1, 4], [5, 3]], Some(2)));
    assert_eq!(pairs(&[]), Pairs::default());
}

#[test]
fn a_heavier_arrow_lands_lower_by_what_a_parabola_says() {
    // Without air, level again at x: y' - 0 = x tan a - x tan a (m'/m), since v² m is the same.
    let vacuum = MeanArrow { air_density_kg_m3: 0.0, ..MEAN };
    let angle = vacuum.level_angle_deg(30.0).unwrap().unwrap();
    let expect = -1e3 * 30.0 * angle.to_radians().tan() * (333.0 / 330.0 - 1.0);
    let got = vacuum.height_mm(333.0, 30.0).unwrap().unwrap();
    assert!((got - expect).abs() < 1e-5, "{got} and {expect}");
    let v = 190.0 * 0.3048;
    assert!(((2.0 * angle.to_radians()).sin() - 9.806_65 * 30.0 / (v * v)).abs() < 1e-9);
}

#[test]
fn a_distance_out_of_reach_is_nothing_and_a_wrong_one_an_error() {
    assert_eq!(MEAN.height_mm(333.0, 900.0), Ok(None));
    for (mass, distance) in [(333.0, 0.0), (333.0, f64::NAN), (1e9, 30.0)] {
        assert_eq!(MEAN.height_mm(mass, distance).unwrap_err().code, "out_of_range", "{mass} {distance}");
    }
}

/// Every way to take some of a list.
fn subsets(set: &[(u32, f64)], keep: usize) -> Vec<Vec<f64>> {
    (0_u32..1 << set.len())
        .filter(|bits| bits.count_ones() as usize == keep)
        .map(|bits| (0..set.len()).filter(|i| bits >> i & 1 == 1).map(|i| set[i].1).collect())
        .collect()
}

/// The least summed difference of all ways to pair a list of even length.
fn least_summed(set: &[f64]) -> f64 {
    let Some((first, rest)) = set.split_first() else { return 0.0 };
    let with = |i: usize| {
        let mut left = rest.to_vec();
        let other = left.remove(i);
        (first - other).abs() + least_summed(&left)
    };
    (0..rest.len()).map(with).fold(f64::INFINITY, f64::min)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(80))]

    #[test]
    fn no_other_choice_has_a_smaller_range(values in prop::collection::vec(3200u32..3400, 1..11), keep in 1usize..11) {
        let set = masses(&values.iter().map(|v| f64::from(*v) / 10.0).collect::<Vec<_>>());
        let range = |chosen: &Vec<f64>| scatter(chosen).unwrap().range;
        let least = subsets(&set, keep).iter().map(range).fold(f64::INFINITY, f64::min);
        match nearest_in_mass(&set, keep) {
            Some(best) => {
                prop_assert!((best.range_gr - least).abs() < 1e-9);
                prop_assert_eq!(best.numbers.len(), keep);
            }
            None => prop_assert!(keep > set.len()),
        }
    }

    #[test]
    fn no_other_pairing_has_a_smaller_sum(values in prop::collection::vec(3200u32..3400, 0..9)) {
        let values: Vec<f64> = values.into_iter().map(|v| f64::from(v) / 10.0).collect();
        let found = pairs(&masses(&values));
        let least = if values.len().is_multiple_of(2) {
            least_summed(&values)
        } else {
            let without = |i: usize| {
                let mut left = values.clone();
                left.remove(i);
                least_summed(&left)
            };
            (0..values.len()).map(without).fold(f64::INFINITY, f64::min)
        };
        prop_assert!((found.summed_gr - least).abs() < 1e-6, "{} and {least}", found.summed_gr);
        let mut all: Vec<u32> = found.pairs.iter().flatten().copied().chain(found.alone).collect();
        all.sort_unstable();
        prop_assert_eq!(all, (1..=values.len() as u32).collect::<Vec<_>>());
    }

    #[test]
    fn heavier_is_lower(mass in 250.0..500.0f64, more in 0.5..20.0f64, speed in 130.0..240.0f64, distance in 5.0..70.0f64) {
        let mean = MeanArrow { mass_gr: mass, speed_fps: speed, ..MEAN };
        if let Some(height) = mean.height_mm(mass + more, distance).unwrap() {
            prop_assert!(height < 0.0);
        }
    }
}
