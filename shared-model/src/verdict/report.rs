//! The team's figures for a coach: archer by archer and bow by bow, who needs a look and why.

use super::{
    bow::{ArcherVerdict, judge, names, seasons},
    latest::{Latest, latest},
    units::Units,
};
use crate::{
    id::ThingId,
    kind::NAMES,
    named::name_of,
    replica::Store,
    stats::effects::{Location, Tightness},
    timeline::{Asked, Season, Timeline},
};
use serde::{Serialize, Serializer};
use std::{collections::BTreeMap, fmt};

/// After so many days without a group a row says so.
pub(super) const QUIET_DAYS: i64 = 14;

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
    pub look: Vec<Look>,
}

/// What a coach does about an archer; the most pressing first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Reason {
    /// Look at how the arrows lie.
    Look,
    /// Ask the archer, since the records lack something.
    Ask,
    /// Wait for more ends.
    Wait,
    /// Nothing.
    Usual,
}

/// Why a row needs a look; in JSON its words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Look {
    /// What to do about it.
    pub reason: Reason,
    /// Why, in words.
    pub words: String,
}

impl fmt::Display for Look {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.words)
    }
}

impl Serialize for Look {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.serialize_str(&self.words)
    }
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
    pub(super) rows: Vec<Row>,
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
        let seasons = seasons(self.store, &timeline, None)?;
        let name = name_of(&self.names, bow);
        let unshot = seasons.is_empty().then(|| name.clone());
        let mut rows = Vec::new();
        for (archer, season) in seasons {
            let archer = judge(self.store, archer, &season, self.asked, self.units, &self.names)?;
            let Some(mut row) = row(&season, &archer, (bow, name.clone()), self.now_ms) else { continue };
            if timeline.setup_now().is_empty() && row.arrows >= SETUP_FROM_ARROWS {
                row.looks(Reason::Ask, "nothing is noted of the bow's setup");
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

impl Row {
    fn looks(&mut self, reason: Reason, words: impl Into<String>) {
        self.look.push(Look { reason, words: words.into() });
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
        row.looks(Reason::Look, format!("{} of the latest {all} arrows missed", row.latest.latest_misses));
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

fn look_at_verdict(row: &mut Row, location: Location, tight: Tightness, ends_after: usize) {
    if ends_after == 0 {
        row.looks(Reason::Ask, "nothing shot since the last change: figures from before it");
    } else if ends_after < 3 {
        let ends = if ends_after == 1 { "end" } else { "ends" };
        row.looks(Reason::Wait, format!("only {ends_after} {ends} since the last change"));
    } else if location == Location::Unsettled {
        row.looks(Reason::Wait, "the last change is not settled yet");
    }
    if location == Location::Inseparable && ends_after >= 3 {
        row.looks(Reason::Wait, "the last change cannot be told apart");
    }
    if tight == Tightness::Wider {
        row.looks(Reason::Look, "groups became wider with the last change");
    }
}

fn look_at_place(row: &mut Row) {
    let off = libm::hypot(row.latest.mpi_mm[0], row.latest.mpi_mm[1]);
    if row.latest.sd_mm.is_some_and(|sd| off > sd) {
        row.looks(
            Reason::Look,
            "the mean point of impact is off the middle by more than the spread: check the sight",
        );
    }
}

fn look_at_days(row: &mut Row, season: &Season, now_ms: i64) {
    let Some(last) = season.groups.last() else { return };
    let days = now_ms.saturating_sub(last.at.unix_ms()) / 86_400_000;
    if days >= QUIET_DAYS {
        row.looks(Reason::Ask, format!("nothing shot for {days} days"));
    }
}
