//! The team for a coach at the line: whom to look at, whom to ask, for whom to wait, and what is missing.

use super::{
    bow::{day_words, names},
    report::{QUIET_DAYS, Reason, Reporter, Row},
    sentence::{beside, lower_first, upper_first},
    units::{Units, count, thousands},
};
use crate::{
    id::ThingId,
    kind::{self, Group, NAMES, Person},
    moment::Moment,
    named::name_of,
    replica::Store,
    timeline::{Asked, Timeline},
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Why there is no spread.
const TOO_FEW: &str = "too few arrows an end";

/// The team, those who need the coach first.
#[derive(Debug, Clone, Serialize)]
pub struct Squad {
    /// How many of each, in a line.
    pub head: String,
    /// One an archer and bow: by reason, then whoever shot last.
    pub rows: Vec<SquadRow>,
    /// People of whom there are no groups, or none for a while.
    pub missing: Vec<Missing>,
    /// Differences that nobody has settled.
    pub differences: usize,
    /// Bows with which nothing was shot.
    pub unshot: Vec<String>,
}

/// One archer with one bow.
#[derive(Debug, Clone, Serialize)]
pub struct SquadRow {
    /// The archer.
    pub person: Option<ThingId>,
    /// The archer's name.
    pub name: String,
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub bow_name: String,
    /// What to do.
    pub reason: Reason,
    /// Why, in a short sentence.
    pub why: String,
    /// What else there is, a sentence each.
    pub also: Vec<String>,
    /// How wide the arrows lie, before the last change and now.
    pub spread_words: String,
    /// The same without saying that it is the spread; none where no end has arrows enough.
    #[serde(skip)]
    pub spread: Option<String>,
    /// Where they lie.
    pub place_words: String,
    /// When the last of them were shot, and from where.
    pub last_words: String,
    /// The figures behind it.
    #[serde(skip)]
    pub row: Row,
}

/// Someone of whom there are no groups, or none for a while.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Missing {
    /// Who.
    pub person: ThingId,
    /// The name.
    pub name: String,
    /// Since when.
    pub words: String,
}

/// A bow that someone shot.
#[derive(Debug, Clone, Serialize)]
pub struct ShotBow {
    /// Which one.
    pub id: ThingId,
    /// Its name.
    pub name: String,
    /// The archer's groups with it.
    pub groups: usize,
    /// When the last was shot.
    pub last_words: String,
}

/// One archer: the bows, and how it stands with one of them.
#[derive(Debug, Clone)]
pub struct ArcherNow {
    /// The bows in use that the archer shot, the one shot last first.
    pub bows: Vec<ShotBow>,
    /// How it stands; none where no arrow counts yet.
    pub row: Option<SquadRow>,
}

/// Returns the team at a moment; `coach` is who is not missed for never having shot.
///
/// # Errors
/// Those of the store.
pub fn squad<S: Store>(
    store: &S,
    asked: &Asked,
    units: Units,
    coach: Option<ThingId>,
    now: Moment,
) -> Result<Squad, S::Error> {
    let reporter = Reporter::new(store, asked, units, now.unix_ms())?;
    let parts = reporter.bows()?.into_iter().map(|bow| reporter.of_bow(bow));
    let report = reporter.report(parts.collect::<Result<_, _>>()?)?;
    let open = differences(store)?;
    let mut latest: BTreeMap<Option<ThingId>, (i64, String)> = BTreeMap::new();
    for row in &report.rows {
        let at = row.latest.lie.at.unix_ms();
        let known = latest.entry(row.archer).or_insert_with(|| (at, row.bow_name.clone()));
        if known.0 < at {
            *known = (at, row.bow_name.clone());
        }
    }
    let missing = missing(store, &latest, coach, now)?;
    let said = |row: Row| squad_row(row, &latest, &open, units, now);
    let mut rows: Vec<SquadRow> = report.rows.into_iter().map(said).collect();
    let last = |row: &SquadRow| std::cmp::Reverse(row.row.latest.lie.at.unix_ms());
    rows.sort_by_key(|row| (row.reason, last(row), row.name.clone(), row.bow_name.clone()));
    let never = missing.iter().filter(|m| !latest.contains_key(&Some(m.person))).count();
    let head = head(&rows, never, report.differences);
    Ok(Squad { head, rows, missing, differences: report.differences, unshot: report.unshot })
}

/// Returns how it stands with one archer and a bow; with the bow shot last where none is named.
///
/// # Errors
/// Those of the store, and `unknown_thing` for a bow that the archer has not shot.
pub fn archer_now<S: Store>(
    store: &S,
    (archer, bow): (Option<ThingId>, Option<ThingId>),
    asked: &Asked,
    units: Units,
    now: Moment,
) -> Result<ArcherNow, S::Error> {
    let reporter = Reporter::new(store, asked, units, now.unix_ms())?;
    let names = names(store)?;
    let mut shot: Vec<(i64, ShotBow)> = Vec::new();
    for id in reporter.bows()? {
        let timeline = Timeline::read(store, id)?;
        let own = timeline.groups().filter(|(_, group)| group.archer == archer);
        let (groups, last) = own.fold((0, None), |(n, _), (item, _)| (n + 1, Some(item.at)));
        let Some(last) = last else { continue };
        let name = name_of(&names, id);
        shot.push((last.unix_ms(), ShotBow { id, name, groups, last_words: when(last, now) }));
    }
    shot.sort_by_key(|(at, bow)| (std::cmp::Reverse(*at), bow.name.clone()));
    let Some(of) = bow.or_else(|| shot.first().map(|(_, bow)| bow.id)) else {
        return Ok(ArcherNow { bows: Vec::new(), row: None });
    };
    let open = differences(store)?;
    let rows = reporter.of_bow(of)?.rows;
    let row = rows.into_iter().find(|row| row.archer == archer);
    let latest = shot
        .first()
        .map(|(at, bow)| (archer, (*at, bow.name.clone())))
        .into_iter()
        .collect::<BTreeMap<_, _>>();
    let row = row.map(|row| squad_row(row, &latest, &open, units, now));
    Ok(ArcherNow { bows: shot.into_iter().map(|(_, bow)| bow).collect(), row })
}

fn squad_row(
    row: Row,
    latest: &BTreeMap<Option<ThingId>, (i64, String)>,
    open: &BTreeMap<ThingId, usize>,
    units: Units,
    now: Moment,
) -> SquadRow {
    let at = row.latest.lie.at;
    let newer = latest.get(&row.archer).filter(|(last, _)| *last > at.unix_ms()).map(|(_, bow)| bow);
    let mut why = match newer.filter(|_| days(at, now) >= QUIET_DAYS) {
        Some(bow) => vec![(Reason::Usual, format!("since then {bow} has been shot"))],
        None => row.look.iter().map(|look| (look.reason, look.words.clone())).collect(),
    };
    let of = |id: &ThingId| open.get(id).copied().unwrap_or(0);
    match row.archer.as_ref().map_or(0, of) + of(&row.bow) {
        0 => {}
        1 => why.push((Reason::Ask, "1 difference to settle".into())),
        n => why.push((Reason::Ask, format!("{n} differences to settle"))),
    }
    why.sort_by_key(|(reason, _)| *reason);
    let mut said = why.iter().map(|(_, words)| format!("{}.", upper_first(words)));
    let spread = spread(&row, units);
    SquadRow {
        person: row.archer,
        name: row.archer_name.clone(),
        bow: row.bow,
        bow_name: row.bow_name.clone(),
        reason: why.first().map_or(Reason::Usual, |(reason, _)| *reason),
        why: said.next().unwrap_or_else(|| "As usual.".into()),
        also: said.collect(),
        spread_words: spread
            .as_ref()
            .map_or_else(|| format!("spread: {TOO_FEW}"), |words| format!("spread {words}")),
        spread,
        place_words: beside(row.latest.mpi_mm, units),
        last_words: format!("{}, {}", when(at, now), units.distance(row.latest.distance_m)),
        row,
    }
}

fn spread(row: &Row, units: Units) -> Option<String> {
    let now = row.latest.sd_mm?;
    Some(match row.latest.lie.sd_before_mm {
        Some(before) => format!("{} → {} {}", units.number(before), units.number(now), units.unit()),
        None => units.length(now),
    })
}

/// Returns how long ago it was by the calendar on the wall.
fn days(at: Moment, now: Moment) -> i64 {
    let day = |ms: i64| ms.saturating_add(i64::from(now.offset_min()) * 60_000).div_euclid(86_400_000);
    day(now.unix_ms()) - day(at.unix_ms())
}

fn when(at: Moment, now: Moment) -> String {
    match days(at, now) {
        0 => "shot today".into(),
        1 => "shot yesterday".into(),
        days if days < 0 => format!("dated {}, which is to come", day_words(&at.day())),
        days if days < 100 => format!("shot {days} days ago"),
        _ => format!("shot on {}", day_words(&at.day())),
    }
}

fn head(rows: &[SquadRow], missing: usize, differences: usize) -> String {
    let of = |reason| rows.iter().filter(|row| row.reason == reason).count();
    let differ = if differences == 1 { "difference to settle" } else { "differences to settle" };
    let told = [
        (of(Reason::Look), "to look at"),
        (of(Reason::Ask), "to ask"),
        (of(Reason::Wait), "to wait for"),
        (of(Reason::Usual), "as usual"),
        (missing, "missing"),
        (differences, differ),
    ];
    let told = told.iter().filter(|(n, _)| *n > 0).map(|(n, words)| format!("{n} {words}"));
    let nobody = rows.is_empty().then(|| "nobody has shot yet".to_owned());
    nobody.into_iter().chain(told).collect::<Vec<_>>().join(" · ")
}

/// Returns the people of the team without groups, or with none for a while.
fn missing<S: Store>(
    store: &S,
    latest: &BTreeMap<Option<ThingId>, (i64, String)>,
    coach: Option<ThingId>,
    now: Moment,
) -> Result<Vec<Missing>, S::Error> {
    let mut without: BTreeMap<ThingId, (String, Option<Moment>)> = BTreeMap::new();
    let mut missing = Vec::new();
    store.visit("person", None, &mut |thing| {
        let Ok(person) = kind::read::<Person>(thing) else { return };
        let name = person.name.unwrap_or_else(|| thing.id.short()).replace(char::is_control, " ");
        match latest.get(&Some(thing.id)).map(|(at, _)| Moment::new(*at, now.offset_min())) {
            _ if person.retired => {}
            Some(Ok(at)) if days(at, now) >= QUIET_DAYS => {
                missing.push(Missing { person: thing.id, name, words: format!("last {}", when(at, now)) });
            }
            Some(_) => {}
            None if coach == Some(thing.id) => {}
            None => drop(without.insert(thing.id, (name, None))),
        }
    })?;
    if !without.is_empty() {
        last_groups(store, &mut without)?;
    }
    for (person, (name, last)) in without {
        let words = match last {
            Some(at) => format!("no arrow that counts with a bow in use; last {}", when(at, now)),
            None => "no groups yet".into(),
        };
        missing.push(Missing { person, name, words });
    }
    missing.sort_by_key(|m| m.name.to_lowercase());
    Ok(missing)
}

/// Finds the last group of people whose groups do not count, or were shot with bows out of use.
fn last_groups<S: Store>(
    store: &S,
    of: &mut BTreeMap<ThingId, (String, Option<Moment>)>,
) -> Result<(), S::Error> {
    store.visit("group", None, &mut |thing| {
        let Ok(group) = kind::read::<Group>(thing) else { return };
        let Some((_, last)) = group.archer.and_then(|archer| of.get_mut(&archer)) else { return };
        let at = group.at.as_deref().and_then(|at| Moment::read(at).ok());
        if let Some(at) = at.filter(|_| !group.retired)
            && last.is_none_or(|known| known.unix_ms() < at.unix_ms())
        {
            *last = Some(at);
        }
    })
}

/// Returns how many differences there are to settle about each archer's groups and about each bow.
fn differences<S: Store>(store: &S) -> Result<BTreeMap<ThingId, usize>, S::Error> {
    #[derive(Deserialize)]
    struct Of {
        archer: Option<ThingId>,
        bow: Option<ThingId>,
    }
    let mut open = BTreeMap::new();
    for kind in NAMES {
        store.visit_rewritten(kind, &mut |thing| {
            let n = thing.fields().values().filter(|f| !f.others.is_empty()).count();
            let of = thing.read::<Of>().ok().and_then(|of| of.archer.or(of.bow));
            if n > 0 {
                *open.entry(of.unwrap_or(thing.id)).or_insert(0) += n;
            }
        })?;
    }
    Ok(open)
}

impl SquadRow {
    /// Returns the spread and of what it is one, to stand beside its name.
    pub fn spread_beside(&self) -> String {
        self.spread.as_ref().map_or_else(|| TOO_FEW.into(), |words| format!("{words} (SD on one axis)"))
    }

    /// Returns from which arrows the figures are, and of how many.
    pub fn counted_words(&self) -> String {
        let latest = &self.row.latest;
        let apart = [(latest.latest_flyers, "set apart"), (latest.latest_misses, "missed")];
        let apart = apart.iter().filter(|(n, _)| *n > 0).map(|(n, what)| format!("{n} {what}"));
        let apart = apart.collect::<Vec<_>>().join(", ");
        let apart = if apart.is_empty() { apart } else { format!(" ({apart})") };
        let (counted, all) = (count(latest.latest_arrows, "arrow"), thousands(self.row.arrows as u64));
        format!("{counted}{apart}, of {all} in {}", count(self.row.groups, "end"))
    }

    /// Returns the row in a sentence, for those who hear it.
    pub fn label(&self) -> String {
        format!(
            "{} with {}: {}, {}, {}",
            self.name,
            self.bow_name,
            lower_first(self.why.trim_end_matches('.')),
            self.place_words,
            self.spread_words
        )
    }
}
