//! Convex hull: its area and perimeter, and the extreme spread (the largest distance between two arrows).
//!
//! # Formula
//! Andrew's monotone chain; area by the shoelace sum about the first corner; perimeter as the sum of the
//! sides; extreme spread as the largest distance between antipodal corners.
//! # Units
//! Points in mm; mm and mm².
//! # Source
//! Andrew, Information Processing Letters 9 (1979) 216. Shamos, Computational Geometry (thesis, Yale, 1978)
//! and Preparata and Shamos, Computational Geometry (1985), section 4.2.3 (antipodal pairs). Extreme spread:
//! Grubbs, Statistical Measures of Accuracy for Riflemen and Missile Engineers (1964).
//! # Limits
//! From one arrow on (all 0). n log n. A hull that is a line has twice its length as perimeter. Extreme
//! spread grows with the number of arrows, so compare it only between groups of equal size.

use super::Point;

/// Returns the corners of the hull, counter-clockwise from the leftmost, without repeats and without
/// points inside a side; one corner for one spot, two for a line.
pub(super) fn corners(points: &[Point]) -> Vec<Point> {
    // Adding 0 makes -0 into 0, which sort apart otherwise.
    let mut sorted: Vec<Point> = points.iter().map(|p| [p[0] + 0.0, p[1] + 0.0]).collect();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut hull = chain(sorted.iter());
    let upper = chain(sorted.iter().rev());
    hull.pop();
    hull.extend(&upper[..upper.len() - 1]);
    hull
}

/// Returns one side of the hull, from the first point to the last.
fn chain<'a>(points: impl Iterator<Item = &'a Point>) -> Vec<Point> {
    let mut side: Vec<Point> = Vec::new();
    for p in points {
        while side.len() >= 2 && turn(side[side.len() - 2], side[side.len() - 1], *p) <= 0.0 {
            side.pop();
        }
        side.push(*p);
    }
    side
}

/// Returns twice the area of the triangle a, b, c: above 0 when it turns left.
fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// Returns the area of a hull.
pub(super) fn area(hull: &[Point]) -> f64 {
    let fan = hull.windows(2).skip(1).map(|side| turn(hull[0], side[0], side[1]));
    fan.sum::<f64>().max(0.0) / 2.0
}

/// Returns the perimeter of a hull.
pub(super) fn perimeter(hull: &[Point]) -> f64 {
    (0..hull.len()).map(|i| distance(hull[i], hull[(i + 1) % hull.len()])).sum()
}

/// Returns the largest distance between two corners of a hull.
pub(super) fn extreme_spread(hull: &[Point]) -> f64 {
    let h = hull.len();
    if h < 3 {
        return hull.first().zip(hull.last()).map_or(0.0, |(a, b)| distance(*a, *b));
    }
    let mut far = 1;
    let mut widest = 0.0_f64;
    for i in 0..h {
        let (a, b) = (hull[i], hull[(i + 1) % h]);
        // The corner farthest from this side moves on, never back, as the side goes round; a tie with
        // the next corner (parallel sides) has to try both.
        for _ in 0..h {
            widest = widest.max(distance(a, hull[far])).max(distance(b, hull[far]));
            let next = (far + 1) % h;
            if turn(a, b, hull[next]) < turn(a, b, hull[far]) {
                break;
            }
            far = next;
        }
    }
    widest
}

fn distance(a: Point, b: Point) -> f64 {
    libm::hypot(a[0] - b[0], a[1] - b[1])
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn points() -> impl Strategy<Value = Vec<Point>> {
        let coarse = (-4i32..5, -4i32..5).prop_map(|(x, y)| [f64::from(x), f64::from(y)]);
        let fine = (-300.0..300.0f64, -300.0..300.0f64).prop_map(|(x, y)| [x, y]);
        prop_oneof![prop::collection::vec(coarse, 1..40), prop::collection::vec(fine, 1..40)]
    }

    proptest! {
        #[test]
        fn no_two_arrows_are_farther_apart_and_none_lies_outside(points in points()) {
            let hull = corners(&points);
            let pairs = points.iter().flat_map(|a| points.iter().map(|b| distance(*a, *b)));
            prop_assert!((extreme_spread(&hull) - pairs.fold(0.0, f64::max)).abs() < 1e-9);
            for i in 0..hull.len().saturating_sub(1) {
                let (a, b) = (hull[i], hull[(i + 1) % hull.len()]);
                prop_assert!(points.iter().all(|p| turn(a, b, *p) >= -1e-9));
            }
        }
    }

    #[test]
    fn a_square_with_a_point_on_a_side_has_four_corners() {
        let hull =
            corners(&[[0.0, 0.0], [2.0, 0.0], [1.0, 0.0], [2.0, 2.0], [0.0, 2.0], [-0.0, 1.0], [1.0, 1.0]]);
        assert_eq!(hull, [[0.0, 0.0], [2.0, 0.0], [2.0, 2.0], [0.0, 2.0]]);
        assert_eq!((area(&hull), perimeter(&hull)), (4.0, 8.0));
    }

    #[test]
    fn a_line_and_a_spot_have_no_area() {
        let line = corners(&[[0.0, 0.0], [3.0, 4.0], [1.5, 2.0]]);
        assert_eq!((area(&line), perimeter(&line), extreme_spread(&line)), (0.0, 10.0, 5.0));
        let spot = corners(&[[1.0, 1.0], [1.0, 1.0]]);
        assert_eq!((area(&spot), perimeter(&spot), extreme_spread(&spot)), (0.0, 0.0, 0.0));
    }
}
