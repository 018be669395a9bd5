//! The smallest circle that holds every arrow.
//!
//! # Formula
//! Incremental: points join one by one; a point outside the circle so far lies on the new one, which is
//! then rebuilt from the points before it with one, then two, points held on the edge.
//! # Units
//! Points in mm; centre and radius in mm.
//! # Source
//! Welzl, "Smallest enclosing disks (balls and ellipsoids)", Lecture Notes in Computer Science 555 (1991)
//! 359; as loops: de Berg and others, Computational Geometry, 3rd ed. (2008), section 4.7.
//! # Limits
//! From one arrow on (radius 0). Expected time grows with the corners of the hull alone; the order of the
//! points is shuffled from a fixed seed, so the result follows from the points.

use super::Point;
use crate::rng::{Rng, Seed};

/// Returns centre and radius of the smallest circle about the corners of a hull.
pub(super) fn enclosing_circle(hull: &[Point]) -> (Point, f64) {
    let mut points = hull.to_vec();
    let mut rng = Rng::new(Seed(1991));
    for i in (1..points.len()).rev() {
        points.swap(i, rng.below(i as u64 + 1) as usize);
    }
    let mut circle = (points[0], 0.0);
    for i in 1..points.len() {
        if outside(circle, points[i]) {
            circle = with_one_on_the_edge(&points[..i], points[i]);
        }
    }
    circle
}

fn with_one_on_the_edge(points: &[Point], q: Point) -> (Point, f64) {
    let mut circle = (q, 0.0);
    for j in 0..points.len() {
        if outside(circle, points[j]) {
            circle = with_two_on_the_edge(&points[..j], points[j], q);
        }
    }
    circle
}

fn with_two_on_the_edge(points: &[Point], p: Point, q: Point) -> (Point, f64) {
    let centre = [(p[0] + q[0]) / 2.0, (p[1] + q[1]) / 2.0];
    let mut circle = (centre, distance(centre, p).max(distance(centre, q)));
    for r in points {
        if outside(circle, *r) {
            circle = through(p, q, *r).unwrap_or(circle);
        }
    }
    circle
}

/// Returns the circle through three points, unless they lie on a line.
fn through(a: Point, b: Point, c: Point) -> Option<(Point, f64)> {
    let [bx, by] = [b[0] - a[0], b[1] - a[1]];
    let [cx, cy] = [c[0] - a[0], c[1] - a[1]];
    let d = 2.0 * (bx * cy - by * cx);
    let (bb, cc) = (bx * bx + by * by, cx * cx + cy * cy);
    let [ux, uy] = [(cy * bb - by * cc) / d, (bx * cc - cx * bb) / d];
    let centre = [a[0] + ux, a[1] + uy];
    let radius = distance(centre, a).max(distance(centre, b)).max(distance(centre, c));
    radius.is_finite().then_some((centre, radius))
}

fn outside((centre, radius): (Point, f64), p: Point) -> bool {
    distance(centre, p) > radius * (1.0 + 1e-12)
}

fn distance(a: Point, b: Point) -> f64 {
    libm::hypot(a[0] - b[0], a[1] - b[1])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::group::hull::corners;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn it_holds_every_arrow_and_none_smaller_does(
            points in prop::collection::vec((-300.0..300.0f64, -300.0..300.0f64), 1..30)
        ) {
            let points: Vec<Point> = points.into_iter().map(|(x, y)| [x, y]).collect();
            let (centre, radius) = enclosing_circle(&corners(&points));
            prop_assert!(points.iter().all(|p| distance(*p, centre) <= radius * (1.0 + 1e-9)));
            // It is the smallest when no half-plane through its centre holds all points of its edge.
            let mut angles: Vec<f64> = points
                .iter()
                .filter(|p| distance(**p, centre) >= radius * (1.0 - 1e-9))
                .map(|p| libm::atan2(p[1] - centre[1], p[0] - centre[0]))
                .collect();
            angles.sort_by(f64::total_cmp);
            let turn = 2.0 * std::f64::consts::PI;
            let gaps = angles.windows(2).map(|w| w[1] - w[0]).chain([angles[0] + turn - angles[angles.len() - 1]]);
            let widest = gaps.fold(0.0, f64::max);
            prop_assert!(points.len() == 1 || widest <= std::f64::consts::PI + 1e-6, "{}", widest);
        }
    }

    #[test]
    fn many_corners_on_one_circle_are_no_trouble() {
        let ring: Vec<Point> = (0..20_000)
            .map(|i| f64::from(i) * std::f64::consts::TAU / 20_000.0)
            .map(|a| [5.0 + 100.0 * libm::cos(a), 100.0 * libm::sin(a)])
            .collect();
        let (centre, radius) = enclosing_circle(&corners(&ring));
        assert!(distance(centre, [5.0, 0.0]) < 1e-6 && (radius - 100.0).abs() < 1e-6);
    }
}
