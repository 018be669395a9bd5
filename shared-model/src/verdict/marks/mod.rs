//! A bow's marks: which belong together, the mark of any distance, what has grown stale and by how much.

mod answer;
mod gather;
mod since;
mod strip;
mod words;

pub use strip::Strip;

use super::{bow::names, units::Units};
use crate::{
    ModelError,
    id::ThingId,
    moment::Moment,
    named::name_of,
    records::setup_here,
    replica::Store,
    rig::{caution, whereabouts::Gone},
    stats::marks::{MarkedOn, Marks, Place},
    timeline::{Stretch, Timeline},
};
use gather::{Found, families};
use serde::Serialize;
use std::collections::BTreeMap;

/// What is asked about a bow's marks.
#[derive(Debug, Clone, Default)]
pub struct MarksAsked {
    /// Only this archer's.
    pub archer: Option<ThingId>,
    /// Only those of this arrow set.
    pub arrows: Option<ThingId>,
    /// Only those read on this.
    pub what: Option<MarkedOn>,
    /// The distances asked about, m.
    pub at_m: Vec<f64>,
    /// A row every so many m; 5 m or 5 yd where it is not said.
    pub every_m: Option<f64>,
    /// How fast the arrow leaves, where the records do not say, m/s.
    pub speed_m_s: Option<f64>,
    /// Height of the eye over the arrow at full draw, mm.
    pub eye_mm: Option<f64>,
    /// In which units people are told.
    pub units: Units,
    /// Size of a unit of the sight's scale in mm, for a strip at true scale.
    pub unit_mm: Option<f64>,
    /// The day that a strip bears.
    pub day: String,
}

/// The marks of a bow.
#[derive(Debug, Clone, Serialize)]
pub struct BowMarks {
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// One an archer, arrow set and way of aiming; those for the arrows on the bow first.
    pub sets: Vec<MarkSet>,
    /// What to do where there are none.
    pub hint: Option<String>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
}

/// Marks that belong together.
#[derive(Debug, Clone, Serialize)]
pub struct MarkSet {
    /// Whose, what and with which arrows, in words.
    pub title: String,
    /// The archer; none where that is not noted.
    pub archer: Option<ThingId>,
    /// The archer's name.
    pub archer_name: String,
    /// The arrow set; none where that is not noted.
    pub arrows: Option<ThingId>,
    /// Its name.
    pub arrows_name: Option<String>,
    /// What is read.
    pub what: MarkedOn,
    /// What was altered since that may have moved the marks; none where they hold.
    pub stale: Option<String>,
    /// Of which setup the table is, where that is not the one of now.
    pub table_note: Option<String>,
    /// What changes on the bow since then did to the groups, and to the marks: a sentence each.
    pub expected: Vec<String>,
    /// What else there is to say, a sentence each.
    pub sentences: Vec<String>,
    /// What was assumed, a sentence each.
    pub assumed: Vec<String>,
    /// The marks that were found.
    pub marks: Vec<NotedRow>,
    /// A row every so many m or yd, and one for each mark's distance.
    pub table: Vec<TableRow>,
    /// The distances asked about.
    pub asked: Vec<TableRow>,
    /// Earlier marks that no longer hold, a line each.
    pub older: Vec<String>,
    /// The figures.
    pub figures: Marks,
    /// The curve as a picture; none where there is none.
    pub picture: Option<String>,
    /// The card to print, as SVG in mm.
    pub strip: String,
}

/// A mark that was found.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotedRow {
    /// Which record.
    pub id: ThingId,
    /// Distance in m.
    pub distance_m: f64,
    /// The distance, in words.
    pub distance_words: String,
    /// The mark on its scale or in mm.
    pub value: f64,
    /// The mark, in words.
    pub mark: String,
    /// When it was found; none where that is not noted.
    pub day: Option<String>,
    /// What is odd about it.
    pub remark: Option<String>,
}

/// The mark of a distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TableRow {
    /// Distance in m.
    pub distance_m: f64,
    /// The distance, in words.
    pub distance_words: String,
    /// Where it lies beside the marks.
    pub place: Place,
    /// The mark on its scale or in mm; none where there is no figure.
    pub value: Option<f64>,
    /// The mark, in words.
    pub mark: Option<String>,
    /// Between which marks it lies at the confidence, in words.
    pub range: Option<String>,
    /// What there is to know about it.
    pub note: Option<&'static str>,
}

/// What is known of the bow while its marks are told.
struct Known<'a, S> {
    store: &'a S,
    bow: ThingId,
    names: BTreeMap<ThingId, String>,
    stretches: Vec<Stretch>,
    /// What the setup names and is on another bow now.
    gone: BTreeMap<String, Gone>,
    asked: &'a MarksAsked,
}

impl<'a, S: Store> Known<'a, S> {
    fn read(store: &'a S, bow: ThingId, asked: &'a MarksAsked) -> Result<Self, S::Error> {
        let (names, gone) = (names(store)?, setup_here(store, bow)?.gone);
        Ok(Self { store, bow, names, stretches: Timeline::read(store, bow)?.stretches(), gone, asked })
    }
}

/// Returns the marks of a bow.
///
/// # Errors
/// Those of the store, and those of the statistics where the question itself is wrong.
pub fn bow_marks<S: Store>(store: &S, bow: ThingId, asked: &MarksAsked) -> Result<BowMarks, S::Error> {
    let known = Known::read(store, bow, asked)?;
    let now = known.now();
    let mut found = families(&known.found()?);
    let wanted = |set: &gather::Family| {
        (asked.archer.is_none() || set.archer == asked.archer)
            && (asked.arrows.is_none() || set.arrows == asked.arrows)
            && asked.what.is_none_or(|what| set.what == what)
    };
    found.retain(wanted);
    let on_it = now.get("arrows").and_then(|v| v.as_str()).and_then(|id| id.parse::<ThingId>().ok());
    found.sort_by_key(|set| (set.arrows.is_some() && set.arrows != on_it, -set.latest_ms()));
    let sets = found.iter().map(|set| known.set(set, on_it)).collect::<Result<Vec<_>, _>>()?;
    let hint = sets
        .is_empty()
        .then(|| "No marks noted yet. Find the mark at three or four distances and note each.".to_owned());
    let cautions = sets.iter().filter(|set| may_miss(set)).map(|_| caution::BACKSTOP);
    let cautions = caution::once(cautions);
    Ok(BowMarks { bow, name: name_of(&known.names, bow), sets, hint, cautions })
}

/// Returns whether marks no longer hold, or are told where none was found.
fn may_miss(set: &MarkSet) -> bool {
    set.stale.is_some() || set.table.iter().chain(&set.asked).any(|row| row.place == Place::Beyond)
}

/// A mark that is about to be noted, beside what the others say.
#[derive(Debug, Clone, PartialEq)]
pub struct NewMark {
    /// Who found it.
    pub archer: Option<ThingId>,
    /// The arrow set; that on the bow where it is none.
    pub arrows: Option<ThingId>,
    /// What it was read on.
    pub what: MarkedOn,
    /// Distance in m.
    pub distance_m: f64,
    /// What was read.
    pub reading: f64,
    /// When.
    pub at: Moment,
}

/// Returns what the other marks say of one that is about to be noted; nothing where they are too few to say.
///
/// # Errors
/// As [`bow_marks`].
pub fn mark_expected<S: Store>(
    store: &S,
    bow: ThingId,
    new: &NewMark,
    units: Units,
) -> Result<Option<String>, S::Error> {
    let asked = MarksAsked { at_m: vec![new.distance_m], units, ..MarksAsked::default() };
    let known = Known {
        store,
        bow,
        names: BTreeMap::new(),
        stretches: Timeline::read(store, bow)?.stretches(),
        gone: BTreeMap::new(),
        asked: &asked,
    };
    let one = known.placed(Found {
        id: bow,
        at: Some(new.at),
        archer: new.archer,
        arrows: new.arrows,
        what: new.what,
        distance_m: new.distance_m,
        reading: new.reading,
        setup: None,
    });
    let mut all = known.found()?;
    all.retain(|m| m.belongs_with(&one));
    let Some(set) = families(&all).into_iter().next() else { return Ok(None) };
    let (input, _) = known.question(&set, vec![new.distance_m])?;
    let figures = crate::stats::marks::marks(&input)?;
    Ok(words::expected(&figures, new, units))
}

/// Returns an error about a set of marks that has to be the only one.
///
/// # Errors
/// `ambiguous` where there are several, `unknown_thing` where there are none.
pub fn the_one(marks: &BowMarks) -> Result<&MarkSet, ModelError> {
    match marks.sets.as_slice() {
        [one] => Ok(one),
        [] => Err(ModelError::new("unknown_thing", "there are no marks to print: note some first")),
        several => {
            let titles: Vec<&str> = several.iter().map(|set| set.title.as_str()).collect();
            let message = format!(
                "a strip holds the marks of one archer, arrow set and way of aiming, and there are: {}; say which by \
                 archer, arrows or what",
                titles.join("; ")
            );
            Err(ModelError::new("ambiguous", message))
        }
    }
}
