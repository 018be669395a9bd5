//! Compares two groups: did the mean point of impact move, and did the spread change?
//!
//! # Formula
//! d the difference of the means. Hotelling: T² = d′ (S (1/m + 1/n))⁻¹ d with S pooled,
//! F = T² (m + n − 3) / (2 (m + n − 2)) on 2 and m + n − 3. Unequal covariances: T² with A + B, A and B the
//! covariances over their numbers, ν = 6 / Σ [tr((A (A+B)⁻¹)²) + (tr A (A+B)⁻¹)²] / (n − 1) over both groups,
//! F = T² (ν − 1) / (2ν) on 2 and ν − 1. Spread: the ratio of the radial variances (SSx + SSy) / (2 (n − 1)),
//! F on 2 (n − 1) each, two-sided.
//! # Units
//! Points in mm on the face, x to the right, y up.
//! # Source
//! Hotelling, Annals of Mathematical Statistics 2 (1931) 360; Krishnamoorthy and Yu, Statistics and
//! Probability Letters 66 (2004) 161.
//! # Limits
//! Two arrows a group for the spread, three in all more than two for the shift; arrows independent and normal.
//! Ends and sessions are not known here: see [`crate::stats::effects`] for seasons.

use super::special::tails::{f_quantile, f_upper};
use crate::ModelError;
use serde::Serialize;

/// Two groups compared, after minus before.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Arrows before and after.
    pub n: [usize; 2],
    /// Shift of the mean point of impact.
    pub shift_mm: [f64; 2],
    /// Test of no shift, both groups of one covariance; null where it cannot be had.
    pub hotelling: Option<FTest>,
    /// Test of no shift, each group with its own covariance; null where it cannot be had.
    pub hotelling_unequal: Option<FTest>,
    /// How the spread changed; null where it cannot be had.
    pub spread: Option<SpreadRatio>,
    /// What could not be had, and why.
    pub notes: Vec<String>,
}

/// A test by Hotelling's T².
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct FTest {
    /// Hotelling's T².
    pub t2: f64,
    /// The F that it makes.
    pub f: f64,
    /// Degrees of freedom above.
    pub df1: f64,
    /// Degrees of freedom below.
    pub df2: f64,
    /// P-value.
    pub p: f64,
}

/// The ratio of two spreads, after over before.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpreadRatio {
    /// SD after over SD before.
    pub sd_ratio: f64,
    /// Its interval.
    pub sd_ratio_interval: [f64; 2],
    /// Two-sided p-value of a ratio of 1.
    pub p: f64,
}

/// A symmetric matrix of two rows: xx, xy, yy.
pub(super) type Symmetric = [f64; 3];

/// Points about their mean.
pub(super) struct Side {
    pub n: f64,
    pub mean: [f64; 2],
    /// Sums of squares and products about the mean.
    pub ss: Symmetric,
}

/// Compares what was shot before with what was shot after.
///
/// # Errors
/// `too_few` when a side has no arrow; `out_of_range` for a confidence that is not between 0 and 1.
pub fn compare(before: &[[f64; 2]], after: &[[f64; 2]], confidence: f64) -> Result<Comparison, ModelError> {
    for (points, field) in [(before, "before_mm"), (after, "after_mm")] {
        if points.is_empty() {
            let message = format!("'{field}' has no points; give at least one");
            return Err(ModelError::new("too_few", message).at(field));
        }
    }
    let (a, b) = (side(before), side(after));
    let shift = [b.mean[0] - a.mean[0], b.mean[1] - a.mean[1]];
    let found = Comparison {
        n: [before.len(), after.len()],
        shift_mm: shift,
        hotelling: pooled(&a, &b, shift),
        hotelling_unequal: unequal(&a, &b, shift),
        spread: spread_ratio(&a, &b, confidence),
        notes: Vec::new(),
    };
    let missing = [
        (found.hotelling.is_none(), "hotelling: needs four arrows in all that do not lie on a line"),
        (
            found.hotelling_unequal.is_none(),
            "hotelling_unequal: needs three arrows on each side, not on a line",
        ),
        (found.spread.is_none(), "spread: needs two arrows on each side that do not share one hole"),
    ];
    let notes = missing.iter().filter(|(gone, _)| *gone).map(|(_, why)| (*why).to_owned()).collect();
    Ok(Comparison { notes, ..found })
}

/// Returns one point or more about their mean.
pub(super) fn side(points: &[[f64; 2]]) -> Side {
    let n = points.len() as f64;
    let sum = points.iter().fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    let mean = sum.map(|v| v / n);
    let ss = points.iter().fold([0.0; 3], |s, p| {
        let (x, y) = (p[0] - mean[0], p[1] - mean[1]);
        [s[0] + x * x, s[1] + x * y, s[2] + y * y]
    });
    Side { n, mean, ss }
}

fn pooled(a: &Side, b: &Side, d: [f64; 2]) -> Option<FTest> {
    let df = a.n + b.n - 2.0;
    let df2 = df - 1.0;
    if df2 < 1.0 {
        return None;
    }
    let scale = (1.0 / a.n + 1.0 / b.n) / df;
    let spread = sum(a.ss, b.ss).map(|v| v * scale);
    let t2 = form(inverse(spread)?, d);
    test(t2, t2 * df2 / (2.0 * df), df2)
}

fn unequal(a: &Side, b: &Side, d: [f64; 2]) -> Option<FTest> {
    if a.n < 3.0 || b.n < 3.0 {
        return None;
    }
    let parts = [a, b].map(|s| s.ss.map(|v| v / ((s.n - 1.0) * s.n)));
    let inverse = inverse(sum(parts[0], parts[1]))?;
    let t2 = form(inverse, d);
    let share = |part: Symmetric, n: f64| {
        let m = product(part, inverse);
        let trace = m[0][0] + m[1][1];
        let square = m[0][0] * m[0][0] + 2.0 * m[0][1] * m[1][0] + m[1][1] * m[1][1];
        (square + trace * trace) / (n - 1.0)
    };
    let nu = 6.0 / (share(parts[0], a.n) + share(parts[1], b.n));
    test(t2, t2 * (nu - 1.0) / (2.0 * nu), nu - 1.0)
}

fn test(t2: f64, f: f64, df2: f64) -> Option<FTest> {
    Some(FTest { t2, f, df1: 2.0, df2, p: f_upper(f, 2.0, df2)? })
}

fn spread_ratio(a: &Side, b: &Side, confidence: f64) -> Option<SpreadRatio> {
    let [da, db] = [a, b].map(|s| 2.0 * (s.n - 1.0));
    if da <= 0.0 || db <= 0.0 {
        return None;
    }
    let [va, vb] = [(a.ss[0] + a.ss[2]) / da, (b.ss[0] + b.ss[2]) / db];
    let f = vb / va;
    if !(f.is_finite() && f > 0.0) {
        return None;
    }
    let tail = 0.5 * (1.0 - confidence);
    let bound = |p: f64| Some((f / f_quantile(p, db, da)?).sqrt());
    // The lower tail is taken as an upper one of the inverse, which keeps its digits.
    let p = 2.0 * f_upper(f, db, da)?.min(f_upper(1.0 / f, da, db)?);
    Some(SpreadRatio {
        sd_ratio: f.sqrt(),
        sd_ratio_interval: [bound(1.0 - tail)?, bound(tail)?],
        p: p.min(1.0),
    })
}

fn sum(a: Symmetric, b: Symmetric) -> Symmetric {
    [a[0] + b[0], a[1] + b[1], a[2] + b[2]]
}

/// Returns the inverse, or nothing where points lie on a line to within rounding.
pub(super) fn inverse(s: Symmetric) -> Option<Symmetric> {
    let det = s[0] * s[2] - s[1] * s[1];
    (det > 1e-12 * s[0] * s[2]).then(|| [s[2] / det, -s[1] / det, s[0] / det])
}

/// Returns the quadratic form d′ S d.
pub(super) fn form(s: Symmetric, d: [f64; 2]) -> f64 {
    s[0] * d[0] * d[0] + 2.0 * s[1] * d[0] * d[1] + s[2] * d[1] * d[1]
}

fn product(a: Symmetric, b: Symmetric) -> [[f64; 2]; 2] {
    let ([a, b, c], [d, e, f]) = (a, b);
    [[a * d + b * e, a * e + b * f], [b * d + c * e, b * e + c * f]]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_too_few_arrows_cannot_say_is_none_and_noted() {
        let one = compare(&[[0.0, 0.0]], &[[3.0, 4.0]], 0.95).expect("points");
        assert_eq!((one.shift_mm, one.notes.len()), ([3.0, 4.0], 3));
        let line = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [5.0, 5.0]];
        let found = compare(&line, &line, 0.95).expect("points");
        assert_eq!((found.hotelling, found.hotelling_unequal), (None, None));
        assert!(found.spread.is_some());
        let hole = [[1.0, 1.0]; 3];
        assert_eq!(compare(&hole, &line, 0.95).expect("points").spread, None);
        assert_eq!(compare(&[], &line, 0.95).expect_err("no points").field.as_deref(), Some("before_mm"));
    }

    #[test]
    fn turning_the_question_round_turns_the_answer_round() {
        let a = [[0.0, 1.0], [4.0, -2.0], [-3.0, 2.5], [1.0, 7.0]];
        let b = [[9.0, 1.0], [5.0, -1.0], [6.0, 2.0], [8.0, 8.0], [7.0, 1.0]];
        let (to, fro) = (compare(&a, &b, 0.9).expect("points"), compare(&b, &a, 0.9).expect("points"));
        let (s, t) = (to.spread.expect("a ratio"), fro.spread.expect("a ratio"));
        assert!((s.sd_ratio * t.sd_ratio - 1.0).abs() < 1e-12 && (s.p - t.p).abs() < 1e-12);
        assert!((s.sd_ratio_interval[0] * t.sd_ratio_interval[1] - 1.0).abs() < 1e-9);
        assert!((to.hotelling.expect("a test").p - fro.hotelling.expect("a test").p).abs() < 1e-12);
    }
}
