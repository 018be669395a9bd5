//! The figures of an archer's latest ends with a bow.

use super::bow::day_words;
use crate::{
    face::Face,
    moment::Moment,
    stats::expected_points::ExpectedPoints,
    timeline::{Season, SeasonGroup},
};
use serde::Serialize;

/// How many of the latest ends since the last change the present figures are taken from.
const LATEST_ENDS: usize = 12;

/// The figures of the latest ends at the distance of the last one.
#[derive(Debug, Clone, Serialize)]
pub struct Latest {
    /// The day of the last group.
    pub last_day: String,
    /// The distance of the latest ends, m.
    pub distance_m: f64,
    /// SD of an arrow about its end on one axis in the latest ends, mm; null with one arrow an end.
    pub sd_mm: Option<f64>,
    /// The same in mrad.
    pub sd_mrad: Option<f64>,
    /// Mean point of impact of the latest ends, mm.
    pub mpi_mm: [f64; 2],
    /// Arrows of the latest ends that count for mean and spread.
    pub latest_arrows: usize,
    /// Their flyers.
    pub latest_flyers: usize,
    /// Their arrows that were not found, those of ends with none among them.
    pub latest_misses: usize,
    /// Expected points an arrow on the face of the latest ends, misses and flyers by their share; null without a face.
    pub points_per_arrow: Option<f64>,
    /// The face of the latest ends.
    pub face: Option<String>,
    /// How they lie, for a picture.
    #[serde(skip)]
    pub lie: Lie,
}

/// How the latest ends lie, and how wide those before the last change lay.
#[derive(Debug, Clone)]
pub struct Lie {
    /// When the last of them was shot.
    pub at: Moment,
    /// The face.
    pub face: Option<Face>,
    /// Their arrows that count.
    pub points_mm: Vec<[f64; 2]>,
    /// Covariance of an arrow about its end, mm²; null with one arrow an end.
    pub covariance_mm2: Option<[[f64; 2]; 2]>,
    /// SD of an arrow about its end before the last change, at the same distance on the same face, mm.
    pub sd_before_mm: Option<f64>,
}

/// Returns the latest groups like the last one, only those with the setup as it is now where anything was shot with it.
fn latest_groups<'a>(season: &'a Season, last: &SeasonGroup) -> Vec<&'a SeasonGroup> {
    let same =
        |g: &&SeasonGroup| g.distance_m == last.distance_m && g.face == last.face && g.sight == last.sight;
    let since = last_change(season, last);
    let now = |g: &&SeasonGroup| since.is_none_or(|at| g.at.unix_ms() >= at);
    season.groups.iter().rev().filter(same).filter(now).take(LATEST_ENDS).collect()
}

/// Returns the latest groups before the last change at the distance and on the face of the last one, by whatever sight:
/// that moves where they lie, not how wide.
fn groups_before<'a>(season: &'a Season, last: &SeasonGroup) -> Vec<&'a SeasonGroup> {
    let Some(since) = last_change(season, last) else { return Vec::new() };
    let same = |g: &&SeasonGroup| g.distance_m == last.distance_m && g.face == last.face;
    let before = season.groups.iter().rev().filter(|g| g.at.unix_ms() < since);
    before.filter(same).take(LATEST_ENDS).collect()
}

/// Returns the covariance of an arrow about its end, pooled over ends, where any end has two arrows.
fn within(groups: &[&SeasonGroup]) -> Option<[[f64; 2]; 2]> {
    let (mut sums, mut df) = ([0.0; 3], 0.0);
    for group in groups {
        let own = group.counted_mm();
        let Some(mean) = mean(&own) else { continue };
        for [dx, dy] in own.iter().map(|p| [p[0] - mean[0], p[1] - mean[1]]) {
            sums = [sums[0] + dx * dx, sums[1] + dx * dy, sums[2] + dy * dy];
        }
        df += own.len() as f64 - 1.0;
    }
    let [xx, xy, yy] = sums.map(|sum| sum / df);
    (df > 0.0).then_some([[xx, xy], [xy, yy]])
}

/// Returns the root of the mean of both variances.
fn sd(covariance: [[f64; 2]; 2]) -> f64 {
    (0.5 * (covariance[0][0] + covariance[1][1])).sqrt()
}

/// Returns the figures of the latest ends, where any arrow of them counts.
pub(super) fn latest(season: &Season, shaft_diameter_mm: f64) -> Option<Latest> {
    let last = season.groups.last()?;
    let latest = latest_groups(season, last);
    let first = latest.last().map_or(i64::MAX, |g| g.at.unix_ms());
    let missed = season.missed.iter().filter(|m| m.at.unix_ms() >= first && m.sight == last.sight);
    let misses = missed.map(|m| m.misses).chain(latest.iter().map(|g| g.misses)).sum::<usize>();
    let flyers: Vec<[f64; 2]> =
        latest.iter().flat_map(|g| g.flyers.iter().filter_map(|i| g.points_mm.get(*i).copied())).collect();
    let points: Vec<[f64; 2]> = latest.iter().flat_map(|g| g.counted_mm()).collect();
    let mpi = mean(&points)?;
    let covariance = within(&latest);
    let face: Option<Face> = last.face.as_ref().and_then(|json| serde_json::from_str(json).ok());
    let strays = (flyers.as_slice(), misses);
    let expected =
        face.as_ref().and_then(|face| points_per_arrow(face, shaft_diameter_mm, (&points, mpi), strays));
    Some(Latest {
        last_day: day_words(&last.at.day()),
        distance_m: last.distance_m,
        sd_mm: covariance.map(sd),
        sd_mrad: covariance.map(|covariance| sd(covariance) / last.distance_m),
        mpi_mm: mpi,
        latest_arrows: points.len(),
        latest_flyers: flyers.len(),
        latest_misses: misses,
        points_per_arrow: expected,
        face: face.as_ref().and_then(|f| f.code().map(str::to_owned)),
        lie: Lie {
            at: last.at,
            face,
            points_mm: points,
            covariance_mm2: covariance,
            sd_before_mm: within(&groups_before(season, last)).map(sd),
        },
    })
}

/// Returns the points to be expected of an arrow: those that count by their mean and covariance, flyers where they
/// struck, misses as nothing.
fn points_per_arrow(
    face: &Face,
    shaft_diameter_mm: f64,
    (points, mpi): (&[[f64; 2]], [f64; 2]),
    (flyers, misses): (&[[f64; 2]], usize),
) -> Option<f64> {
    if points.len() < 3 {
        return None;
    }
    let n = points.len() as f64 - 1.0;
    let about =
        |a: usize, b: usize| points.iter().map(|p| (p[a] - mpi[a]) * (p[b] - mpi[b])).sum::<f64>() / n;
    let covariance = [[about(0, 0), about(0, 1)], [about(0, 1), about(1, 1)]];
    let good = ExpectedPoints::new(face, shaft_diameter_mm).points(mpi, covariance).ok()?;
    let score = |at: &[f64; 2]| f64::from(face.score(*at, shaft_diameter_mm).points);
    let sum = good * points.len() as f64 + flyers.iter().map(score).sum::<f64>();
    Some(sum / (points.len() + flyers.len() + misses) as f64)
}

/// Returns the moment of the last change before a group.
fn last_change(season: &Season, group: &SeasonGroup) -> Option<i64> {
    season.changes.iter().map(|c| c.at.unix_ms()).filter(|at| *at <= group.at.unix_ms()).max()
}

fn mean(points: &[[f64; 2]]) -> Option<[f64; 2]> {
    let n = points.len() as f64;
    let sum = points.iter().fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    (n > 0.0).then(|| sum.map(|v| v / n))
}
