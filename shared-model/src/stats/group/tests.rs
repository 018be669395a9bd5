#![allow(clippy::unwrap_used)]

use super::*;
use crate::rng::{Rng, Seed};

fn close(got: f64, want: f64) {
    assert!((got - want).abs() <= 1e-12 * want.abs().max(1.0), "{got}, want {want}");
}

#[test]
fn one_arrow_has_a_place_and_nothing_more() {
    let f = group(&[[3.0, -4.0]], Some(18.0), 0.95).unwrap();
    assert_eq!(
        (f.mpi_mm, f.geometric_median_mm, f.enclosing_circle.centre_mm),
        ([3.0, -4.0], [3.0, -4.0], [3.0, -4.0])
    );
    assert_eq!((f.covariance_mm2, f.sd_mm, f.radial_sd_mm), (None, None, None));
    assert_eq!((f.principal, f.rayleigh, f.cep_normal_mm), Default::default());
    assert_eq!((f.mpi_ellipse, f.flyers.clone()), (MpiEllipse::default(), None));
    assert!(f.notes[0].contains("One arrow"), "{:?}", f.notes);
    close(f.mrad.unwrap().mpi_mrad[1], -4.0 / 18.0);
}

#[test]
fn two_arrows_have_a_spread_and_no_ellipse() {
    let f = group(&[[0.0, 0.0], [3.0, 4.0]], None, 0.95).unwrap();
    assert_eq!((f.extreme_spread_mm, f.hull_perimeter_mm, f.hull_area_mm2), (5.0, 10.0, 0.0));
    assert_eq!(f.geometric_median_mm, [1.5, 2.0]);
    close(f.principal.sd_major_mm.unwrap(), 5.0 / std::f64::consts::SQRT_2);
    assert!(f.principal.sd_minor_mm.unwrap() < 1e-12 && f.rayleigh.sigma_mm.is_some());
    assert_eq!((f.mpi_ellipse, f.mrad), (MpiEllipse::default(), None));
    assert!(f.notes[0].contains("needs three"), "{:?}", f.notes);
}

#[test]
fn arrows_on_one_spot_are_no_trouble() {
    let f = group(&[[7.5, -2.5]; 12], Some(30.0), 0.9).unwrap();
    assert_eq!((f.mpi_mm, f.sd_mm, f.extreme_spread_mm), ([7.5, -2.5], Some([0.0, 0.0]), 0.0));
    assert_eq!(
        (f.rayleigh.sigma_mm, f.cep_normal_mm.p95, f.mpi_ellipse.semi_major_mm),
        (Some(0.0), Some(0.0), Some(0.0))
    );
    assert_eq!((f.principal.angle_deg, f.mpi_ellipse.angle_deg), (None, None));
    assert_eq!(f.notes.len(), 2);
}

#[test]
fn an_upright_group_has_its_axis_at_plus_90() {
    for x in [0.0, -0.0, 1e-20] {
        let f = group(&[[x, -5.0], [-x, 0.0], [0.0, 9.0]], None, 0.95).unwrap();
        close(f.principal.angle_deg.unwrap(), 90.0);
    }
    let flat = group(&[[-5.0, 0.0], [5.0, -0.0]], None, 0.95).unwrap();
    assert_eq!(flat.principal.angle_deg.unwrap().to_string(), "0");
}

#[test]
fn a_wider_confidence_is_a_wider_interval() {
    let points = [[0.0, 0.0], [9.0, 1.0], [2.0, 7.0], [-4.0, -3.0]];
    let [narrow, wide] = [0.5, 0.99].map(|c| group(&points, None, c).unwrap());
    let width = |f: &GroupFigures| f.rayleigh.sigma_interval_mm.map(|[low, high]| high - low).unwrap();
    assert!(width(&wide) > 2.0 * width(&narrow));
    assert!(wide.mpi_ellipse.semi_major_mm > narrow.mpi_ellipse.semi_major_mm);
    assert_eq!(wide.sd_mm, narrow.sd_mm);
}

#[test]
fn what_cannot_be_a_group_is_refused_where_it_is_wrong() {
    let at = |points: &[Point], distance, confidence| {
        group(points, distance, confidence).unwrap_err().field.unwrap()
    };
    assert_eq!(at(&[], None, 0.95), "points_mm");
    assert_eq!(at(&[[0.0, 0.0], [f64::NAN, 0.0]], None, 0.95), "points_mm[1]");
    assert_eq!(at(&[[1e300, 0.0]], None, 0.95), "points_mm[0]");
    for distance in [0.0, -18.0, f64::NAN, f64::INFINITY] {
        assert_eq!(at(&[[0.0, 0.0]], Some(distance), 0.95), "distance_m");
    }
    for confidence in [0.0, 1.0, f64::NAN, 95.0] {
        assert_eq!(at(&[[0.0, 0.0]], None, confidence), "confidence");
    }
}

#[test]
fn many_thousand_arrows_of_a_known_normal_give_back_what_made_them() {
    let mut rng = Rng::new(Seed(11));
    let points: Vec<Point> = (0..50_000).map(|_| [4.0 + 10.0 * rng.normal(), 20.0 * rng.normal()]).collect();
    let f = group(&points, None, 0.95).unwrap();
    let about = |got: f64, want: f64| assert!((got / want - 1.0).abs() < 0.02, "{got}, want {want}");
    about(f.principal.sd_major_mm.unwrap(), 20.0);
    about(f.principal.sd_minor_mm.unwrap(), 10.0);
    about(f.rayleigh.sigma_mm.unwrap(), 250.0_f64.sqrt());
    let [low, high] = f.rayleigh.sigma_interval_mm.unwrap();
    assert!(low < f.rayleigh.sigma_mm.unwrap() && high > f.rayleigh.sigma_mm.unwrap() && high / low < 1.02);
    let inside = points
        .iter()
        .filter(|p| libm::hypot(p[0] - f.mpi_mm[0], p[1] - f.mpi_mm[1]) < f.cep_normal_mm.p90.unwrap());
    about(inside.count() as f64 / points.len() as f64, 0.9);
    assert!((f.geometric_median_mm[0] - 4.0).abs() < 0.5);
}

#[test]
fn figures_in_mrad_are_those_of_the_points_in_mrad() {
    let points = [[120.0, 35.0], [-48.0, 91.0], [3.0, -70.5], [66.0, 12.0], [-9.0, 24.0]];
    let mrad = serde_json::to_value(group(&points, Some(18.0), 0.95).unwrap().mrad).unwrap();
    let alone =
        serde_json::to_value(group(&points.map(|p| p.map(|x| x / 18.0)), None, 0.95).unwrap()).unwrap();
    let text = mrad.to_string();
    assert!(!text.contains("null") && !text.contains("_mm"), "{text}");
    compare(&mrad, &alone);
}

/// Compares every number of the one with that of the same name in the other.
#[track_caller]
fn compare(mrad: &serde_json::Value, mm: &serde_json::Value) {
    match mrad {
        serde_json::Value::Object(fields) => {
            for (name, value) in fields {
                compare(value, &mm[name.replace("_mrad", "_mm")]);
            }
        }
        serde_json::Value::Array(items) => items.iter().enumerate().for_each(|(i, v)| compare(v, &mm[i])),
        number => close(number.as_f64().unwrap(), mm.as_f64().unwrap()),
    }
}
