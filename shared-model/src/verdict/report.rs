//! The team's figures for a coach: archer by archer and bow by bow, who needs a look and why.

use super::{
    bow::{ArcherVerdict, day_words, judge, name_of, names, seasons},
    units::Units,
};
use crate::{
    face::Face,
    id::ThingId,
    kind::NAMES,
    replica::Store,
    stats::{
        effects::{Location, Tightness},
        expected_points::ExpectedPoints,
    },
    timeline::{Asked, Season, SeasonGroup, Timeline},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// After so many days without a group a row says so.
const QUIET_DAYS: i64 = 14;
/// How many of the latest ends since the last change the present figures are taken from.
const LATEST_ENDS: usize = 12;

/// The team's figures.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    /// One an archer and bow; those that need a look come first.
    pub rows: Vec<Row>,
    /// Differences that nobody has settled.
    pub differences: usize,
    /// Bows with which nothing was shot.
    pub unshot: Vec<String>,
}

/// One archer with one bow.
#[derive(Debug, Clone, Serialize)]
pub struct Row {
    /// The archer.
    pub archer: Option<ThingId>,
    /// The archer's name.
    pub archer_name: String,
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub bow_name: String,
    /// Groups in all.
    pub groups: usize,
    /// Arrows in all.
    pub arrows: usize,
    /// The figures of the latest ends.
    #[serde(flatten)]
    pub latest: Latest,
    /// The verdict on the last change, as a sentence.
    pub last_verdict: Option<String>,
    /// Why this row needs a look.
    pub look: Vec<String>,
}

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
}

/// From so many arrows on the setup of a bow ought to be noted: fewer are someone's first tries.
const SETUP_FROM_ARROWS: usize = 12;

/// Returns the team's figures at a moment, milliseconds since 1970.
///
/// # Errors
/// Those of the store.
pub fn report<S: Store>(store: &S, asked: &Asked, units: Units, now_ms: i64) -> Result<Report, S::Error> {
    let reporter = Reporter::new(store, asked, units, now_ms)?;
    let parts = reporter.bows()?.into_iter().map(|bow| reporter.of_bow(bow));
    reporter.report(parts.collect::<Result<_, _>>()?)
}

/// Makes a report bow by bow; each can be looked at by itself, also several at the same time.
#[derive(Debug)]
pub struct Reporter<'a, S> {
    store: &'a S,
    asked: &'a Asked,
    units: Units,
    now_ms: i64,
    names: BTreeMap<ThingId, String>,
}

/// What a report says of one bow: its rows, or its name where nothing was shot with it.
#[derive(Debug)]
pub struct PartOfReport {
    rows: Vec<Row>,
    unshot: Option<String>,
}

impl<'a, S: Store> Reporter<'a, S> {
    /// Begins a report of a moment, milliseconds since 1970.
    ///
    /// # Errors
    /// Those of the store.
    pub fn new(store: &'a S, asked: &'a Asked, units: Units, now_ms: i64) -> Result<Self, S::Error> {
        Ok(Self { store, asked, units, now_ms, names: names(store)? })
    }

    /// Returns the bows that the report is about.
    ///
    /// # Errors
    /// Those of the store.
    pub fn bows(&self) -> Result<Vec<ThingId>, S::Error> {
        let mut bows = Vec::new();
        self.store.visit("bow", None, &mut |thing| {
            if thing.read::<crate::kind::Bow>().is_ok_and(|b| !b.retired) {
                bows.push(thing.id);
            }
        })?;
        Ok(bows)
    }

    /// Returns what the report says of one bow.
    ///
    /// # Errors
    /// Those of the store.
    pub fn of_bow(&self, bow: ThingId) -> Result<PartOfReport, S::Error> {
        let timeline = Timeline::read(self.store, bow)?;
        let seasons = seasons(&timeline, None);
        let name = name_of(&self.names, bow);
        let unshot = seasons.is_empty().then(|| name.clone());
        let mut rows = Vec::new();
        for (archer, season) in seasons {
            let archer = judge(self.store, archer, &season, self.asked, self.units, &self.names)?;
            let Some(mut row) = row(&season, &archer, (bow, name.clone()), self.now_ms) else { continue };
            if timeline.setup_now().is_empty() && row.arrows >= SETUP_FROM_ARROWS {
                row.look.push("nothing is noted of the bow's setup".into());
            }
            rows.push(row);
        }
        Ok(PartOfReport { rows, unshot })
    }

    /// Puts together what was found of each bow.
    ///
    /// # Errors
    /// Those of the store.
    pub fn report(&self, parts: Vec<PartOfReport>) -> Result<Report, S::Error> {
        let (mut rows, mut unshot) = (Vec::new(), Vec::new());
        for part in parts {
            rows.extend(part.rows);
            unshot.extend(part.unshot);
        }
        rows.sort_by_key(|row| {
            (std::cmp::Reverse(row.look.len()), row.archer_name.clone(), row.bow_name.clone())
        });
        Ok(Report { rows, differences: differences(self.store)?, unshot })
    }
}

/// Returns the row of an archer with a bow, given by id and name, where any arrow counts.
fn row(
    season: &Season,
    archer: &ArcherVerdict,
    (bow, bow_name): (ThingId, String),
    now_ms: i64,
) -> Option<Row> {
    let mut row = Row {
        archer: archer.archer,
        archer_name: archer.name.clone(),
        bow,
        bow_name,
        groups: season.groups.len(),
        arrows: season.groups.iter().map(|g| g.points_mm.len()).sum(),
        latest: latest(season, archer.shaft_diameter_mm)?,
        last_verdict: None,
        look: Vec::new(),
    };
    if let Some(last) = archer.verdicts.last() {
        row.last_verdict = Some(last.sentence.clone());
        look_at_verdict(&mut row, last.effect.location, last.effect.tight, last.effect.ends_after);
    }
    if row.latest.latest_misses > 0 {
        let all = row.latest.latest_arrows + row.latest.latest_flyers + row.latest.latest_misses;
        row.look.push(format!("{} of the latest {all} arrows missed", row.latest.latest_misses));
    }
    look_at_place(&mut row);
    look_at_days(&mut row, season, now_ms);
    Some(row)
}

fn differences<S: Store>(store: &S) -> Result<usize, S::Error> {
    let mut open = 0;
    for kind in NAMES {
        store.visit_rewritten(kind, &mut |thing| {
            open += thing.fields().values().filter(|f| !f.others.is_empty()).count();
        })?;
    }
    Ok(open)
}

/// Returns the latest groups like the last one, only those with the setup as it is now where anything was shot with it.
fn latest_groups<'a>(season: &'a Season, last: &SeasonGroup) -> Vec<&'a SeasonGroup> {
    let same =
        |g: &&SeasonGroup| g.distance_m == last.distance_m && g.face == last.face && g.sight == last.sight;
    let since = season.changes.iter().map(|c| c.at.unix_ms()).filter(|at| *at <= last.at.unix_ms()).max();
    let now = |g: &&SeasonGroup| since.is_none_or(|at| g.at.unix_ms() >= at);
    season.groups.iter().rev().filter(same).filter(now).take(LATEST_ENDS).collect()
}

/// Returns the figures of the latest ends, where any arrow of them counts.
fn latest(season: &Season, shaft_diameter_mm: f64) -> Option<Latest> {
    let last = season.groups.last()?;
    let latest = latest_groups(season, last);
    let (mut ss, mut df) = (0.0, 0.0);
    let mut points: Vec<[f64; 2]> = Vec::new();
    let mut flyers: Vec<[f64; 2]> = Vec::new();
    let first = latest.last().map_or(i64::MAX, |g| g.at.unix_ms());
    let missed = season.missed.iter().filter(|m| m.at.unix_ms() >= first && m.sight == last.sight);
    let misses = missed.map(|m| m.misses).chain(latest.iter().map(|g| g.misses)).sum::<usize>();
    for group in &latest {
        flyers.extend(group.flyers.iter().filter_map(|i| group.points_mm.get(*i)));
        let own = group.counted_mm();
        let Some(mean) = mean(&own) else { continue };
        ss += own.iter().map(|p| square(p[0] - mean[0]) + square(p[1] - mean[1])).sum::<f64>();
        df += 2.0 * (own.len() as f64 - 1.0);
        points.extend(own);
    }
    let mpi = mean(&points)?;
    let sd = (df > 0.0).then(|| (ss / df).sqrt());
    let face: Option<Face> = last.face.as_ref().and_then(|json| serde_json::from_str(json).ok());
    let strays = (flyers.as_slice(), misses);
    let expected =
        face.as_ref().and_then(|face| points_per_arrow(face, shaft_diameter_mm, (&points, mpi), strays));
    Some(Latest {
        last_day: day_words(&last.at.day()),
        distance_m: last.distance_m,
        sd_mm: sd,
        sd_mrad: sd.map(|sd| sd / last.distance_m),
        mpi_mm: mpi,
        latest_arrows: points.len(),
        latest_flyers: flyers.len(),
        latest_misses: misses,
        points_per_arrow: expected,
        face: face.and_then(|f| f.code().map(str::to_owned)),
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

fn look_at_verdict(row: &mut Row, location: Location, tight: Tightness, ends_after: usize) {
    if ends_after == 0 {
        row.look.push("nothing shot since the last change: figures from before it".into());
    } else if ends_after < 3 {
        let ends = if ends_after == 1 { "end" } else { "ends" };
        row.look.push(format!("only {ends_after} {ends} since the last change"));
    } else if location == Location::Unsettled {
        row.look.push("the last change is not settled yet".into());
    }
    if location == Location::Inseparable && ends_after >= 3 {
        row.look.push("the last change cannot be told apart".into());
    }
    if tight == Tightness::Wider {
        row.look.push("groups became wider with the last change".into());
    }
}

fn look_at_place(row: &mut Row) {
    let off = libm::hypot(row.latest.mpi_mm[0], row.latest.mpi_mm[1]);
    if row.latest.sd_mm.is_some_and(|sd| off > sd) {
        row.look.push(
            "the mean point of impact is off the middle by more than the spread: check the sight".into(),
        );
    }
}

fn look_at_days(row: &mut Row, season: &Season, now_ms: i64) {
    let Some(last) = season.groups.last() else { return };
    let days = now_ms.saturating_sub(last.at.unix_ms()) / 86_400_000;
    if days >= QUIET_DAYS {
        row.look.push(format!("nothing shot for {days} days"));
    }
}

fn mean(points: &[[f64; 2]]) -> Option<[f64; 2]> {
    let n = points.len() as f64;
    let sum = points.iter().fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    (n > 0.0).then(|| sum.map(|v| v / n))
}

fn square(v: f64) -> f64 {
    v * v
}
