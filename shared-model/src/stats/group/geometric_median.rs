//! Geometric median: the point with the smallest sum of distances to all arrows.
//!
//! # Formula
//! min over m of Σ |pᵢ − m|. An arrow is the median when the unit vectors from it to the others sum to no
//! more than the number of arrows on its spot. Otherwise: Newton's step, halved until it makes the sum
//! smaller, Weiszfeld's weighted mean (which never makes the sum larger) where none does.
//! # Units
//! mm.
//! # Source
//! Weiszfeld, Tohoku Mathematical Journal 43 (1937) 355; the condition at an arrow: Kuhn, Mathematical
//! Programming 4 (1973) 98; the step away from one: Vardi and Zhang, Proceedings of the National Academy of
//! Sciences 97 (2000) 1423.
//! # Limits
//! From one arrow on. Half of the arrows may be flyers before it breaks down. Arrows on a line have the
//! median along the line, the midpoint of the middle two when their number is even.

use super::{Point, moments::Moments};

/// Returns the geometric median of a group, given its hull and moments.
pub(super) fn geometric_median(points: &[Point], hull: &[Point], moments: &Moments) -> Point {
    if let Some([a, b]) = line(hull) {
        return median_on_line(points, a, b);
    }
    let scale = moments.mean_radius;
    let mut at = moments.mpi;
    let mut tried: Option<Point> = None;
    for _ in 0..500 {
        let pull = Pull::at(points, at);
        if tried != Some(pull.nearest) {
            tried = Some(pull.nearest);
            let there = Pull::at(points, pull.nearest);
            if there.strength() <= there.here {
                return pull.nearest;
            }
        }
        if pull.here > 0.0 {
            at = pull.away(at);
            continue;
        }
        let next = pull.newton(at).map_or_else(|| pull.weiszfeld(), |full| descend(points, &pull, at, full));
        let step = distance(next, at);
        at = next;
        if step <= 1e-13 * scale {
            break;
        }
    }
    // The sum is convex: where its gradient is nothing, it is least.
    let pull = Pull::at(points, at);
    if pull.here == 0.0 && pull.strength() <= 1e-9 * points.len() as f64 {
        at
    } else {
        polish(points, at, scale)
    }
}

/// Tries eight directions with ever smaller steps, and moves where the sum gets smaller: next to an arrow, where
/// the sum has a corner, the steps above may stop short.
fn polish(points: &[Point], mut at: Point, scale: f64) -> Point {
    const AROUND: [Point; 8] = [
        [1.0, 0.0],
        [-1.0, 0.0],
        [0.0, 1.0],
        [0.0, -1.0],
        [0.7, 0.7],
        [0.7, -0.7],
        [-0.7, 0.7],
        [-0.7, -0.7],
    ];
    let sum = |at: Point| points.iter().map(|p| distance(*p, at)).sum::<f64>();
    let (mut least, mut step) = (sum(at), 0.1 * scale);
    while step > 1e-9 * scale {
        let tries = AROUND.map(|d| [at[0] + step * d[0], at[1] + step * d[1]]);
        match tries.into_iter().map(|next| (sum(next), next)).min_by(|a, b| a.0.total_cmp(&b.0)) {
            Some((smaller, next)) if smaller < least * (1.0 - 1e-14) => (least, at) = (smaller, next),
            _ => step *= 0.5,
        }
    }
    at
}

/// Returns the part of Newton's step that makes the sum smaller, halved until it does; Weiszfeld's mean where
/// none does. Where the sum drowns in rounding the gradient decides.
fn descend(points: &[Point], pull: &Pull, at: Point, full: Point) -> Point {
    let mut part = 1.0;
    for _ in 0..30 {
        let next = [at[0] + part * (full[0] - at[0]), at[1] + part * (full[1] - at[1])];
        let there = Pull::at(points, next);
        let level = there.sum <= pull.sum * (1.0 + 1e-15);
        if there.sum < pull.sum * (1.0 - 1e-14) || (level && there.strength() < pull.strength()) {
            return next;
        }
        part *= 0.5;
    }
    pull.weiszfeld()
}

/// How all arrows together pull at a point.
struct Pull {
    /// Sum of the distances to all arrows.
    sum: f64,
    /// Sum of the unit vectors to the arrows elsewhere: minus the gradient.
    force: Point,
    /// Second derivatives of the sum of distances: xx, xy, yy.
    curve: [f64; 3],
    /// Sum of p/d and of 1/d over the arrows elsewhere.
    weighted: Point,
    weight: f64,
    /// How many arrows lie on the point itself.
    here: f64,
    nearest: Point,
}

impl Pull {
    fn at(points: &[Point], at: Point) -> Self {
        let mut pull = Self {
            sum: 0.0,
            force: [0.0; 2],
            curve: [0.0; 3],
            weighted: [0.0; 2],
            weight: 0.0,
            here: 0.0,
            nearest: at,
        };
        let mut least = f64::INFINITY;
        for p in points {
            let [dx, dy] = [p[0] - at[0], p[1] - at[1]];
            let d = libm::hypot(dx, dy);
            pull.sum += d;
            if d < least {
                (least, pull.nearest) = (d, *p);
            }
            if d == 0.0 {
                pull.here += 1.0;
                continue;
            }
            let [ux, uy] = [dx / d, dy / d];
            pull.force = [pull.force[0] + ux, pull.force[1] + uy];
            pull.curve[0] += uy * uy / d;
            pull.curve[1] -= ux * uy / d;
            pull.curve[2] += ux * ux / d;
            pull.weighted = [pull.weighted[0] + p[0] / d, pull.weighted[1] + p[1] / d];
            pull.weight += 1.0 / d;
        }
        pull
    }

    fn strength(&self) -> f64 {
        libm::hypot(self.force[0], self.force[1])
    }

    fn weiszfeld(&self) -> Point {
        [self.weighted[0] / self.weight, self.weighted[1] / self.weight]
    }

    /// Returns Vardi and Zhang's step from a point on which arrows lie.
    fn away(&self, at: Point) -> Point {
        let part = (self.here / self.strength()).min(1.0);
        let free = self.weiszfeld();
        [(1.0 - part) * free[0] + part * at[0], (1.0 - part) * free[1] + part * at[1]]
    }

    fn newton(&self, at: Point) -> Option<Point> {
        let [xx, xy, yy] = self.curve;
        let det = xx * yy - xy * xy;
        let step = [
            (yy * self.force[0] - xy * self.force[1]) / det,
            (xx * self.force[1] - xy * self.force[0]) / det,
        ];
        (step[0].is_finite() && step[1].is_finite()).then_some([at[0] + step[0], at[1] + step[1]])
    }
}

/// Returns the ends of the line on which all arrows lie, to rounding, or nothing.
fn line(hull: &[Point]) -> Option<[Point; 2]> {
    let (a, b) = hull
        .iter()
        .flat_map(|p| [(hull[0], *p)])
        .max_by(|l, r| distance(l.0, l.1).total_cmp(&distance(r.0, r.1)))?;
    let length = distance(a, b);
    let size = hull.iter().flatten().fold(length, |most, x| most.max(x.abs()));
    let off = |p: &Point| ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])).abs();
    hull.iter().all(|p| off(p) <= 1e-13 * size * length).then_some([a, b])
}

fn median_on_line(points: &[Point], a: Point, b: Point) -> Point {
    let along = |p: &Point| (p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1]);
    let mut sorted = points.to_vec();
    sorted.sort_by(|p, q| along(p).total_cmp(&along(q)));
    let (low, high) = (sorted[(sorted.len() - 1) / 2], sorted[sorted.len() / 2]);
    [low[0] + (high[0] - low[0]) / 2.0, low[1] + (high[1] - low[1]) / 2.0]
}

fn distance(a: Point, b: Point) -> f64 {
    libm::hypot(a[0] - b[0], a[1] - b[1])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::group::{hull::corners, moments::moments};
    use proptest::prelude::*;

    fn median(points: &[Point]) -> Point {
        geometric_median(points, &corners(points), &moments(points))
    }

    fn sum(points: &[Point], at: Point) -> f64 {
        points.iter().map(|p| distance(*p, at)).sum()
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2_000, failure_persistence: None, ..ProptestConfig::default() })]
        #[test]
        fn no_point_nearby_has_a_smaller_sum(
            points in prop::collection::vec((-30i32..30, -30i32..30), 1..25),
            scale in 1e-3..10.0f64,
        ) {
            let points: Vec<Point> =
                points.into_iter().map(|(x, y)| [f64::from(x) * scale, f64::from(y) * scale]).collect();
            let at = median(&points);
            let least = sum(&points, at);
            for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0), (0.7, 0.7), (-0.7, 0.7)] {
                for step in [1e-5, 1e-2, 1.0] {
                    let other = sum(&points, [at[0] + step * scale * dx, at[1] + step * scale * dy]);
                    prop_assert!(other >= least * (1.0 - 1e-9), "{:?} {} {}", at, least, other);
                }
            }
        }
    }

    #[test]
    fn close_to_an_arrow_the_least_sum_is_found_too() {
        // Newton's whole step overshoots here.
        let points: Vec<Point> =
            [(9.0, 26.0), (20.0, -12.0), (8.0, 28.0), (23.0, -3.0)].map(|(x, y)| [x, y]).to_vec();
        let at = median(&points);
        let least = [[0.5, 0.0], [-0.5, 0.0], [0.0, 0.5], [0.0, -0.5], [0.01, 0.0], [0.0, -0.01]];
        for step in least {
            assert!(sum(&points, at) <= sum(&points, [at[0] + step[0], at[1] + step[1]]), "{at:?} {step:?}");
        }
    }

    #[test]
    fn arrows_on_a_line_have_the_middle_as_median() {
        let slanted: Vec<Point> = [0.0, 1.0, 7.0, 9.0].map(|t| [3.3 * t, 0.7 * t + 0.1]).to_vec();
        let at = median(&slanted);
        assert!(distance(at, [3.3 * 4.0, 0.7 * 4.0 + 0.1]) < 1e-12, "{at:?}");
        assert_eq!(median(&[[4.0, 4.0]]), [4.0, 4.0]);
        assert_eq!(median(&[[1.0, 1.0], [1.0, 1.0], [9.0, 1.0]]), [1.0, 1.0]);
    }

    #[test]
    fn half_of_the_arrows_on_one_spot_hold_it() {
        assert_eq!(
            median(&[[0.0, 0.0], [0.0, 0.0], [0.0, 0.0], [5.0, 9.0], [-30.0, 2.0], [8.0, -4.0]]),
            [0.0, 0.0]
        );
    }
}
