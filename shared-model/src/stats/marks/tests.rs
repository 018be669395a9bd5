#![allow(clippy::unwrap_used)]
use super::*;
use crate::rng::{Rng, Seed};

fn question(what: MarkedOn, marks: &[(f64, f64)], speed_m_s: Option<f64>, at_m: &[f64]) -> MarksInput {
    MarksInput {
        what,
        marks: marks.iter().map(|(d, r)| Reading { distance_m: *d, reading: *r }).collect(),
        speed_m_s,
        flight: Flight::default(),
        resolution: None,
        confidence: 0.95,
        at_m: at_m.to_vec(),
    }
}

/// What a perfect archer would read: a pin 850 mm before the eye on a scale of mm.
fn truth(speed: f64, distance_m: f64) -> f64 {
    let launch = crate::rig::trajectory::Launch {
        speed_m_s: speed,
        launch_angle_deg: 0.0,
        mass_g: 20.0,
        diameter_mm: 5.5,
        cd: CD,
        air_density_kg_m3: 1.225,
    };
    3.0 + 850.0 * launch.tangent_to(distance_m, 0.1).unwrap()
}

#[test]
fn exact_marks_give_the_arrow_back() {
    let noted: Vec<(f64, f64)> = [6.0, 12.0, 18.0, 30.0, 50.0, 70.0].map(|d| (d, truth(57.0, d))).to_vec();
    let found = marks(&question(MarkedOn::Sight, &noted, None, &[43.0, 80.0, 80.1, 4.9])).unwrap();
    let speed = found.speed.unwrap();
    assert!((speed.value_m_s - 57.0).abs() < 0.05 && !speed.known, "{speed:?}");
    assert!((found.slope.unwrap() - 850.0).abs() < 2.0 && (found.zero.unwrap() - 3.0).abs() < 0.1);
    assert!((found.table[0].value.unwrap() - truth(57.0, 43.0)).abs() < 1e-3);
    let places: Vec<Place> = found.table.iter().map(|r| r.place).collect();
    assert_eq!(places, [Place::Between, Place::Beyond, Place::Outside, Place::Beyond]);
    assert!(found.table[2].value.is_none() && found.point_on.is_none());
    let known = marks(&question(MarkedOn::Sight, &noted, Some(57.0), &[43.0])).unwrap();
    assert!((known.slope.unwrap() - 850.0).abs() < 1e-2 && known.df == Some(4.0));
}

/// Counts how often the interval of the curve holds the true mark.
fn coverage(distances: &[f64], speed: Option<f64>, runs: u64) -> [usize; 2] {
    let at = [24.0, 43.0, 61.0];
    let (mut held, mut fits) = (0, 0);
    let mut rng = Rng::new(Seed(20_261));
    for _ in 0..runs {
        let mut read = |d: f64| libm::round((truth(56.0, d) + 0.15 * rng.normal()) * 10.0) / 10.0;
        let noted: Vec<(f64, f64)> = distances.iter().map(|d| (*d, read(*d))).collect();
        let input = question(MarkedOn::Sight, &noted, speed, &[]);
        let Ok(fit) = Fit::new(&input) else { continue };
        for d in at {
            let [value, se] = fit.at(d).unwrap();
            fits += 1;
            held += usize::from((value - truth(56.0, d)).abs() <= fit.t * se);
        }
    }
    [held, fits]
}

#[test]
fn the_band_holds_the_true_mark_as_often_as_it_says() {
    let distances = [10.0, 18.0, 30.0, 40.0, 50.0, 60.0, 70.0];
    for (speed, runs) in [(Some(56.0), 1000), (None, 400)] {
        let [held, fits] = coverage(&distances, speed, runs);
        assert!(fits as f64 > 0.97 * 3.0 * runs as f64, "{fits} of {runs}");
        let share = held as f64 / fits as f64;
        assert!((0.93..=0.97).contains(&share), "{speed:?}: {share}");
    }
}

#[test]
fn a_mark_that_was_misread_is_named_and_still_counts() {
    let mut noted: Vec<(f64, f64)> = [10.0, 18.0, 25.0, 30.0, 40.0, 50.0, 60.0, 70.0]
        .map(|d| (d, libm::round(truth(57.0, d) * 10.0) / 10.0))
        .to_vec();
    let clean = marks(&question(MarkedOn::Sight, &noted, None, &[45.0])).unwrap();
    assert!(clean.fitted.iter().all(|m| !m.suspect));
    noted[5].1 += 1.2;
    let found = marks(&question(MarkedOn::Sight, &noted, None, &[45.0])).unwrap();
    let named: Vec<f64> = found.fitted.iter().filter(|m| m.suspect).map(|m| m.distance_m).collect();
    assert_eq!(named, [50.0]);
    assert!((found.fitted[5].off.unwrap() - 1.2).abs() < 0.15, "{:?}", found.fitted[5]);
    let width = |m: &Marks| m.table[0].interval.map(|[low, high]| high - low).unwrap();
    assert!(width(&found) > 5.0 * width(&clean));
}

#[test]
fn no_mark_is_named_oftener_than_chance_allows() {
    let distances = [10.0, 18.0, 30.0, 40.0, 50.0, 60.0, 70.0];
    let mut rng = Rng::new(Seed(5));
    let runs = 1000;
    let mut named = 0;
    for _ in 0..runs {
        let noted: Vec<(f64, f64)> = distances
            .map(|d| (d, libm::round((truth(56.0, d) + 0.15 * rng.normal()) * 10.0) / 10.0))
            .to_vec();
        let found = marks(&question(MarkedOn::Sight, &noted, Some(56.0), &[])).unwrap();
        named += usize::from(found.fitted.iter().any(|m| m.suspect));
    }
    let share = f64::from(u32::try_from(named).unwrap()) / f64::from(runs);
    assert!((0.025..=0.06).contains(&share), "{share}");
}

#[test]
fn too_few_marks_are_joined_and_nothing_is_said_outside() {
    let noted = [(18.0, 2.1), (30.0, 3.25), (50.0, 6.0)];
    let found = marks(&question(MarkedOn::Sight, &noted, None, &[18.0, 40.0, 51.0])).unwrap();
    assert_eq!((found.curve, found.reach_m), (Curve::Monotone, Some([18.0, 50.0])));
    assert!(found.notes[0].contains("needs 4 sight marks"), "{:?}", found.notes);
    assert_eq!((found.table[0].value, found.table[0].interval), (Some(2.1), Some([2.1, 2.1])));
    assert_eq!(found.table[1].interval, Some([3.25, 6.0]));
    assert_eq!((found.table[2].place, found.table[2].value), (Place::Outside, None));
    let known = marks(&question(MarkedOn::Sight, &noted, Some(55.0), &[40.0])).unwrap();
    assert_eq!(known.curve, Curve::Trajectory);
    let one = marks(&question(MarkedOn::Sight, &noted[..1], None, &[18.0])).unwrap();
    assert_eq!((one.curve, one.table[0].place), (Curve::None, Place::NoCurve));
    assert_eq!(marks(&question(MarkedOn::Sight, &[], None, &[18.0])).unwrap().span_m, None);
}

#[test]
fn marks_that_turn_back_make_no_curve() {
    let noted = [(18.0, 2.1), (30.0, 3.25), (40.0, 3.0), (50.0, 2.0)];
    let found = marks(&question(MarkedOn::Sight, &noted, None, &[40.0])).unwrap();
    assert_eq!(found.curve, Curve::None, "{found:?}");
    assert!(found.notes[1].contains("from 30 m on"), "{:?}", found.notes);
}

/// Crawls of an eye 105 mm above the arrow whose point is 720 mm before it.
fn crawl(speed: f64, distance_m: f64) -> f64 {
    let launch = crate::rig::trajectory::Launch {
        speed_m_s: speed,
        launch_angle_deg: 0.0,
        mass_g: 20.0,
        diameter_mm: 5.5,
        cd: CD,
        air_density_kg_m3: 1.225,
    };
    let mut c = 0.0;
    for _ in 0..25 {
        c = 105.0 - 720.0 * launch.tangent_to(distance_m, (100.0 - c) / 1000.0).unwrap();
    }
    c
}

#[test]
fn crawls_find_their_point_on_distance() {
    let noted: Vec<(f64, f64)> =
        [8.0, 12.0, 18.0, 25.0, 32.0, 40.0].map(|d| (d, libm::round(crawl(50.0, d) * 10.0) / 10.0)).to_vec();
    assert!(noted[0].1 > noted[5].1 && noted[5].1 > 0.0, "{noted:?}");
    let found = marks(&question(MarkedOn::Crawl, &noted, Some(50.0), &[20.0, 47.9])).unwrap();
    assert!((found.slope.unwrap() + 720.0).abs() < 5.0, "{found:?}");
    assert!((found.table[0].value.unwrap() - crawl(50.0, 20.0)).abs() < 0.1);
    let mut zero = 30.0;
    while crawl(50.0, zero) > 0.0 {
        zero += 0.1;
    }
    let point = found.point_on.unwrap();
    match point.distance_m {
        Some(at) => {
            assert!((at - zero).abs() < 0.3, "{at} for {zero}");
            let [low, high] = point.interval_m;
            assert!(low.unwrap() < zero && high.is_none_or(|h| h > zero), "{point:?}");
        }
        None => assert!(zero > 48.0, "{point:?} for {zero}"),
    }
}

#[test]
fn gaps_are_below_before_the_point_on_distance_and_above_beyond() {
    let launch = crate::rig::trajectory::Launch {
        speed_m_s: 52.0,
        launch_angle_deg: 0.0,
        mass_g: 20.0,
        diameter_mm: 5.5,
        cd: CD,
        air_density_kg_m3: 1.225,
    };
    let theta = |d: f64| libm::atan(launch.tangent_to(d, 0.1).unwrap());
    let gap = |d: f64| 1000.0 * d * libm::tan(theta(d) - theta(45.0));
    let noted: Vec<(f64, f64)> =
        [12.0, 18.0, 25.0, 30.0, 50.0].map(|d| (d, libm::round(gap(d) / 10.0) * 10.0)).to_vec();
    assert!(noted[0].1 < 0.0 && noted[4].1 > 0.0);
    for speed in [None, Some(52.0)] {
        let found = marks(&question(MarkedOn::Gap, &noted, speed, &[40.0])).unwrap();
        assert_eq!(found.curve, Curve::Trajectory);
        let at = found.point_on.unwrap();
        assert!((at.distance_m.unwrap() - 45.0).abs() < 0.3, "{at:?}");
        assert!(at.interval_m[0].unwrap() < 45.1 && at.interval_m[1].unwrap() > 44.9, "{at:?}");
        assert!((found.table[0].value.unwrap() - gap(40.0)).abs() < 15.0);
    }
    let joined = marks(&question(MarkedOn::Gap, &noted[3..], None, &[40.0])).unwrap();
    assert_eq!(joined.curve, Curve::Monotone);
    assert_eq!(joined.point_on.unwrap().interval_m, [Some(30.0), Some(50.0)]);
}

#[test]
fn what_no_bow_does_is_refused_with_its_place() {
    let base = question(MarkedOn::Sight, &[(30.0, 3.0)], None, &[]);
    let field = |input: MarksInput| marks(&input).unwrap_err().field.unwrap();
    assert_eq!(field(MarksInput { speed_m_s: Some(200.0), ..base.clone() }), "speed_m_s");
    assert_eq!(field(question(MarkedOn::Sight, &[(-3.0, 3.0)], None, &[])), "marks[0].distance_m");
    assert_eq!(field(question(MarkedOn::Crawl, &[(3.0, -3.0)], None, &[])), "marks[0].reading");
    assert_eq!(field(question(MarkedOn::Gap, &[], None, &[f64::NAN])), "at_m[0]");
    assert_eq!(field(question(MarkedOn::Gap, &[(9.0, 1.0); 501], None, &[])), "marks");
}

#[test]
fn marks_read_in_parts_of_an_inch_have_that_step() {
    let step = |what, readings: &[f64]| {
        let noted: Vec<(f64, f64)> = readings.iter().zip(10..).map(|(r, d)| (f64::from(d), *r)).collect();
        question(what, &noted, None, &[]).resolution()
    };
    // An inch is 25.4 mm (NIST SP 811): 1/2, 1 1/4 and 2 in; -12, 3 and 8 in; 7/16 and 1 in; 7/8 and 2 in.
    assert_eq!(step(MarkedOn::Crawl, &[12.7, 31.75, 50.8]), 6.35);
    assert_eq!(step(MarkedOn::Gap, &[-304.8, 76.2, 203.2]), 25.4);
    assert_eq!(step(MarkedOn::Crawl, &[11.1125, 25.4]), 1.5875);
    assert_eq!(step(MarkedOn::Crawl, &[22.225, 50.8, 0.0]), 3.175);
    assert_eq!(step(MarkedOn::Crawl, &[12.7, 31.75, 24.0]), 0.01);
    assert_eq!((step(MarkedOn::Gap, &[-300.0, 254.0]), step(MarkedOn::Crawl, &[0.0])), (1.0, 1.0));
    assert_eq!(step(MarkedOn::Sight, &[12.7, 25.4]), 0.1, "the scale of a sight is its own");
}

#[test]
fn near_marks_that_turn_back_leave_the_farther_ones_their_curve() {
    // The angle is least near 57 √(2 × 0.1 / 9.81) = 8.1 m.
    let noted = [5.0, 10.0, 18.0].map(|d| (d, truth(57.0, d)));
    assert!(noted[0].1 > noted[1].1 && noted[1].1 < noted[2].1, "{noted:?}");
    let found = marks(&question(MarkedOn::Sight, &noted, None, &[7.0, 10.0, 14.0])).unwrap();
    assert_eq!((found.curve, found.span_m), (Curve::Monotone, Some([5.0, 18.0])));
    assert_eq!(found.reach_m, Some([10.0, 18.0]));
    assert!(found.notes[1].contains("nearer than about 10 m sight marks can turn back"), "{:?}", found.notes);
    assert_eq!((found.table[0].place, found.table[0].value), (Place::Outside, None));
    assert_eq!(found.table[1].value, Some(noted[1].1));
    assert!((found.table[2].value.unwrap() - truth(57.0, 14.0)).abs() < 1.0, "{:?}", found.table[2]);
    let odd = [(5.0, 9.0), (10.0, 3.0), (18.0, 4.0), (30.0, 2.0)];
    let found = marks(&question(MarkedOn::Sight, &odd, None, &[14.0])).unwrap();
    assert_eq!(found.curve, Curve::None);
    assert!(found.notes[2].contains("from 18 m on"), "{:?}", found.notes);
}

#[test]
fn a_fitted_speed_is_one_that_an_arrow_has() {
    let mut rng = Rng::new(Seed(44));
    let (mut fits, mut edges) = (0, 0);
    for run in 0..400 {
        let speed = if run % 2 == 0 { 118.0 + 0.05 * f64::from(run) } else { 21.0 + 0.01 * f64::from(run) };
        let distances: &[f64] =
            if run % 2 == 0 { &[10.0, 20.0, 35.0, 55.0, 80.0] } else { &[6.0, 9.0, 14.0, 20.0, 26.0] };
        let noted: Vec<(f64, f64)> =
            distances.iter().map(|d| (*d, truth(speed, *d) + 0.3 * rng.normal())).collect();
        match Fit::new(&question(MarkedOn::Sight, &noted, None, &[])) {
            Ok(fit) => {
                fits += 1;
                let found = libm::exp(fit.p.log_speed);
                assert!((SPEEDS_M_S[0] - 1e-9..=SPEEDS_M_S[1] + 1e-9).contains(&found), "{run}: {found}");
            }
            Err(_) => edges += 1,
        }
    }
    assert!(fits > 40 && edges > 40, "{fits} {edges}");
}
