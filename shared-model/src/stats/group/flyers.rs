//! Flyers: arrows that lie farther from their group than chance puts them.
//!
//! # Formula
//! Of m arrows each is set against the m − 1 others. From ten arrows on the others have a shape of their
//! own, and the chance that a given one of m normal arrows lies so far out is w^{(m − 3)/2},
//! w = |A without it| / |A|, A the scatter about the mean. Below ten the others are taken for round and the
//! chance is w^{m − 2}, w = tr(A without it) / tr(A). The chance times m has to be 0.05 at most. The
//! farthest is taken out and the rest asked again, up to a quarter of the group, 50 at most (the further
//! steps at 0.01 below 24 arrows, which keeps the rate); the last arrow that fails makes itself and all
//! before it flyers, so that two flyers do not hide each other.
//! # Units
//! None.
//! # Source
//! Citations from memory. Wilks, "Multivariate statistical outliers", Sankhya A 25 (1963) 407; taken out one by one: Caroni and
//! Prescott, Applied Statistics 41 (1992) 355, after Rosner, Technometrics 25 (1983) 165. Round: the F test
//! of one arrow against the pooled radial variance of the others.
//! # Limits
//! From five arrows on. A group without flyers has one flagged in about one of twenty (4.9 to 5.8 % in 20,000
//! simulated groups of 5 to 72 arrows); a group of fewer than ten arrows is taken for round, so twice as tall
//! as wide has one in 8.5 to 11.2 % and three times as tall in 13 to 17 %. Never drops an arrow: people decide.

use super::Point;

/// The chance with which a group without flyers has one flagged.
pub(super) const FALSE_ALARM: f64 = 0.05;
const LEAST: usize = 5;
const SHAPE_FROM: usize = 10;
/// From here on the later steps hardly raise the rate of false alarms; below they are held to this level.
const FREE_STEPS_FROM: usize = 24;
const LATER_STEPS: f64 = 0.01;
const MOST: usize = 50;

/// Returns the indices of the flyers in order, or nothing when the group is too small or has no spread
/// across itself.
pub(super) fn flyers(points: &[Point]) -> Option<Vec<usize>> {
    if points.len() < LEAST {
        return None;
    }
    let shaped = points.len() >= SHAPE_FROM;
    let mut left: Vec<usize> = (0..points.len()).collect();
    let mut out = Vec::new();
    let mut flagged = 0;
    let steps = (points.len() / 4).clamp(1, MOST);
    for step in 0..steps {
        let m = left.len() as f64;
        let (place, kept) = farthest(points, &left, shaped)?;
        let chance = if shaped { libm::pow(kept, (m - 3.0) / 2.0) } else { libm::pow(kept, m - 2.0) };
        out.push(left.swap_remove(place));
        let level = if step == 0 || points.len() >= FREE_STEPS_FROM { FALSE_ALARM } else { LATER_STEPS };
        if chance * m <= level {
            flagged = out.len();
        }
    }
    out.truncate(flagged);
    out.sort_unstable();
    Some(out)
}

/// Returns where in `left` the farthest arrow is, and what share of the scatter (of its determinant, or of
/// its trace for a round group) stays without it.
fn farthest(points: &[Point], left: &[usize], shaped: bool) -> Option<(usize, f64)> {
    let m = left.len() as f64;
    let mean = |axis: usize| left.iter().map(|&i| points[i][axis]).sum::<f64>() / m;
    let centre = [mean(0), mean(1)];
    let away = |i: usize| [points[i][0] - centre[0], points[i][1] - centre[1]];
    let [mut xx, mut xy, mut yy] = [0.0; 3];
    for &i in left {
        let [dx, dy] = away(i);
        xx += dx * dx;
        xy += dx * dy;
        yy += dy * dy;
    }
    let det = xx * yy - xy * xy;
    if xx + yy <= 0.0 || (shaped && det <= 1e-12 * (xx + yy) * (xx + yy)) {
        return None;
    }
    let squared = |i: usize| {
        let [dx, dy] = away(i);
        if shaped {
            (yy * dx * dx - 2.0 * xy * dx * dy + xx * dy * dy) / det
        } else {
            (dx * dx + dy * dy) / (xx + yy)
        }
    };
    let distances = left.iter().map(|&i| squared(i));
    let (place, most) = distances.enumerate().max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((place, (1.0 - most * m / (m - 1.0)).max(0.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::{Rng, Seed};

    fn normal_group(rng: &mut Rng, n: usize, tall: f64) -> Vec<Point> {
        (0..n).map(|_| [rng.normal(), tall * rng.normal()]).collect()
    }

    fn alarms(n: usize, tall: f64, groups: u32) -> f64 {
        let mut rng = Rng::new(Seed(41));
        let flagged =
            (0..groups).filter(|_| flyers(&normal_group(&mut rng, n, tall)).is_some_and(|f| !f.is_empty()));
        flagged.count() as f64 / f64::from(groups)
    }

    #[test]
    fn groups_without_flyers_have_one_flagged_in_about_one_of_twenty() {
        for (n, tall) in [(5, 1.0), (6, 1.0), (9, 1.0), (10, 1.0), (12, 3.0)] {
            let rate = alarms(n, tall, 4000);
            assert!(rate > 0.04 && rate < 0.062, "{n} arrows, {tall} as tall: {rate}");
        }
        let many = alarms(36, 2.0, 1000);
        assert!(many > 0.03 && many < 0.07, "{many}");
        let tall = alarms(6, 2.0, 4000);
        assert!(tall > 0.06 && tall < 0.12, "{tall}");
    }

    #[test]
    fn an_arrow_far_away_is_found_and_two_do_not_hide_each_other() {
        let mut rng = Rng::new(Seed(5));
        let mut six = normal_group(&mut rng, 6, 1.0);
        six[2] = [9.0, -9.0];
        assert_eq!(flyers(&six), Some(vec![2]));
        let mut dozen = normal_group(&mut rng, 12, 1.5);
        dozen[0] = [14.0, 14.0];
        dozen[7] = [14.5, 13.0];
        assert_eq!(flyers(&dozen), Some(vec![0, 7]));
    }

    #[test]
    fn too_few_arrows_and_arrows_on_a_line_tell_nothing() {
        assert_eq!(flyers(&[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [90.0, 90.0]]), None);
        let line: Vec<Point> = (0..12).map(|i| [f64::from(i), 2.0 * f64::from(i)]).collect();
        assert_eq!(flyers(&line), None);
        assert_eq!(flyers(&[[1.0, 1.0]; 6]), None);
    }
}
