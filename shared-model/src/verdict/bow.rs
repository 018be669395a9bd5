//! The verdict on a bow: archer by archer, change by change.

use super::{
    altered::changed,
    altered::name_and_unit,
    far_off::{FarOff, without},
    head::head,
    sentence::{Told, list, next, sentence},
    units::Units,
};
use crate::{
    id::ThingId,
    kind::{self, Arrows},
    named::{self, name_of},
    notation::distance_words,
    replica::Store,
    rig::{
        speed::alters_speed,
        whereabouts::{has_parts, whereabouts, without_part},
    },
    stats::effects::{Effect, Effects, EffectsInput, effects},
    timeline::{Asked, Season, SeasonChange, Timeline, USUAL_SHAFT_MM},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// From how many changes of a numeric setting on its dial is pointed to.
const OFTEN: usize = 3;

/// What each archer's groups say of a bow's changes.
#[derive(Debug, Clone, Serialize)]
pub struct BowVerdict {
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// One an archer who shot it.
    pub archers: Vec<ArcherVerdict>,
}

/// What one archer's groups say.
#[derive(Debug, Clone, Serialize)]
pub struct ArcherVerdict {
    /// The archer, where the groups name one.
    pub archer: Option<ThingId>,
    /// The archer's name.
    pub name: String,
    /// Groups that were used.
    pub groups: usize,
    /// The distance in m at which mm are given.
    pub distance_m: f64,
    /// The setup that was shot first, in a sentence a moment of change: there is nothing to set it against.
    pub first: Vec<String>,
    /// One a moment of change with groups before it, in order of time.
    pub verdicts: Vec<Judged>,
    /// The figures as `effects` gives them, without the list that `verdicts` holds.
    #[serde(flatten)]
    pub season: Effects,
    /// Arrows that lie far off the others of their end; they count as they stand.
    pub far_off: Vec<FarOff>,
    /// Diameter of the shaft for which points are counted, mm.
    pub shaft_diameter_mm: f64,
    /// What was left out or assumed.
    pub remarks: Vec<String>,
}

/// A change with its verdict.
#[derive(Debug, Clone, Serialize)]
pub struct Judged {
    /// What was altered, in words.
    pub what: String,
    /// The day, in words.
    pub day: String,
    /// The verdict in a few words, to be written large.
    pub head: String,
    /// The verdict as a sentence.
    pub sentence: String,
    /// What to shoot next, where more would tell; the end of the sentence.
    pub next: Option<String>,
    /// The figures.
    #[serde(flatten)]
    pub effect: Effect,
}

/// Returns the verdict on a bow; `only` names the one archer who is asked about.
///
/// # Errors
/// Those of the store, and those of the statistics where the question itself is wrong.
pub fn bow_verdict<S: Store>(
    store: &S,
    bow: ThingId,
    only: Option<ThingId>,
    asked: &Asked,
    units: Units,
) -> Result<BowVerdict, S::Error> {
    let names = names(store)?;
    let timeline = Timeline::read(store, bow)?;
    let mut archers = Vec::new();
    for (archer, mut season) in seasons(store, &timeline, only)? {
        season.keep_distance(asked.distance_m);
        if !season.groups.is_empty() {
            archers.push(judge(store, archer, &season, asked, units, &names)?);
        }
    }
    Ok(BowVerdict { bow, name: name_of(&names, bow), archers })
}

/// Returns what each archer shot with a bow, where it is anything; `only` names the one who is asked about.
///
/// # Errors
/// Those of the store.
pub(super) fn seasons<S: Store>(
    store: &S,
    timeline: &Timeline,
    only: Option<ThingId>,
) -> Result<Vec<(Option<ThingId>, Season)>, S::Error> {
    let spans = without_parts(store, timeline)?;
    let asked = timeline.archers().into_iter().filter(|archer| only.is_none() || *archer == only);
    let season = |archer| {
        let mut season = timeline.season(archer);
        season.leave_out(&spans);
        (archer, season)
    };
    Ok(asked.map(season).filter(|(_, season)| !season.groups.is_empty()).collect())
}

/// Returns what an archer shot with a bow, without what was shot while a part of it was on another bow.
///
/// # Errors
/// Those of the store.
pub fn known_season<S: Store>(
    store: &S,
    timeline: &Timeline,
    archer: Option<ThingId>,
) -> Result<Season, S::Error> {
    let mut season = timeline.season(archer);
    season.leave_out(&without_parts(store, timeline)?);
    Ok(season)
}

/// Returns the spans in which a part of the bow was on another one, with nothing noted in its place.
fn without_parts<S: Store>(store: &S, timeline: &Timeline) -> Result<Vec<[i64; 2]>, S::Error> {
    // A bow of which no part is noted has none elsewhere; that spares the reading of all changes.
    if !has_parts(timeline) {
        return Ok(Vec::new());
    }
    Ok(without_part(&whereabouts(&Timeline::changes_of_all(store)?), timeline))
}

/// Returns the names of all things that people call by name.
pub(super) fn names<S: Store>(store: &S) -> Result<BTreeMap<ThingId, String>, S::Error> {
    named::names(store, named::NAMED)
}

/// Returns what one archer's groups say.
pub(super) fn judge<S: Store>(
    store: &S,
    archer: Option<ThingId>,
    season: &Season,
    asked: &Asked,
    units: Units,
    names: &BTreeMap<ThingId, String>,
) -> Result<ArcherVerdict, S::Error> {
    let mut remarks = remarks(season);
    let (asked, input) = question(store, season, asked, &mut remarks)?;
    let mut found = effects(&input)?;
    let without = without(store, &input, season, &found)?;
    remarks.extend(without.remarks());
    let list = std::mem::take(&mut found.effects);
    let verdict = |(n, effect)| {
        let mut judged = judged(effect, season, &found, &asked, units, names);
        without.tell(n, &mut judged.sentence);
        judged
    };
    let verdicts = list.into_iter().enumerate().map(verdict);
    let (first, verdicts): (Vec<Judged>, _) = verdicts.partition(|v| v.effect.ends_before == 0);
    Ok(ArcherVerdict {
        archer,
        name: archer.map_or("someone".into(), |id| name_of(names, id)),
        groups: season.groups.len(),
        distance_m: found.distance_m,
        first: first.iter().map(|v| format!("Shot first with {}, {}", v.what, v.day)).collect(),
        verdicts,
        season: found,
        far_off: without.arrows,
        shaft_diameter_mm: asked.shaft_diameter_mm,
        remarks,
    })
}

/// Returns the question with the shaft of the arrow set, and without a face where that cannot be read.
fn question<S: Store>(
    store: &S,
    season: &Season,
    asked: &Asked,
    remarks: &mut Vec<String>,
) -> Result<(Asked, EffectsInput), S::Error> {
    let mut asked = asked.clone();
    match shaft_of(store, season)? {
        Some(mm) => asked.shaft_diameter_mm = mm,
        None => remarks.push(format!(
            "points are counted for a shaft of {USUAL_SHAFT_MM} mm, since the arrow set does not say"
        )),
    }
    let input = season.effects_input(&asked).unwrap_or_else(|e| {
        remarks.push(format!("no points are counted, since {}", e.message));
        season.input_without_face(&asked)
    });
    Ok((asked, input))
}

fn judged(
    effect: Effect,
    season: &Season,
    found: &Effects,
    asked: &Asked,
    units: Units,
    names: &BTreeMap<ThingId, String>,
) -> Judged {
    let change = |id: &str| season.changes.iter().find(|c| c.id == id);
    let words = |id: &str| change(id).map_or_else(|| id.to_owned(), |c| change_words(c, names));
    let made: Vec<&SeasonChange> = effect.changes.iter().filter_map(|id| change(id)).collect();
    let what = changed(&made, &|id| names.get(&id).cloned());
    let day =
        effect.changes.first().and_then(|id| change(id)).map_or_else(String::new, |c| day_words(&c.at.day()));
    let told = Told {
        what: &what,
        day: &day,
        distance_m: found.distance_m,
        matters_mrad: found.matters_mrad,
        sigma_mrad: found.sigma_mrad,
        confidence: asked.confidence,
        units,
        change_name: &|id| words(id),
    };
    let (head, sentence, next) = (head(&effect, &told), sentence(&effect, &told), next(&effect));
    Judged { what, day, head, sentence, next, effect }
}

pub(super) fn change_words(change: &SeasonChange, names: &BTreeMap<ThingId, String>) -> String {
    changed(&[change], &|id| names.get(&id).cloned())
}

/// Returns a day as people say it: `12 April 2026`.
pub fn day_words(day: &str) -> String {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let mut parts = day.splitn(3, '-');
    let (Some(year), Some(month), Some(date)) = (parts.next(), parts.next(), parts.next()) else {
        return day.to_owned();
    };
    let month = month.parse::<usize>().ok().and_then(|m| MONTHS.get(m.wrapping_sub(1)));
    match (month, date.parse::<u32>()) {
        (Some(month), Ok(date)) => format!("{date} {month} {year}"),
        _ => day.to_owned(),
    }
}

fn shaft_of<S: Store>(store: &S, season: &Season) -> Result<Option<f64>, S::Error> {
    let Some(set) = season.arrows() else { return Ok(None) };
    let thing = store.thing("arrows", set)?;
    let set: Option<Arrows> = thing.and_then(|t| kind::read(&t).ok());
    Ok(set.and_then(|s| s.shaft_diameter_mm).filter(|mm| crate::face::check_shaft(*mm).is_ok()))
}

fn remarks(season: &Season) -> Vec<String> {
    let count =
        |n: usize, one: &str, many: &str| if n == 1 { format!("1 {one}") } else { format!("{n} {many}") };
    let mut remarks = Vec::new();
    if season.bare > 0 {
        remarks.push(format!("{} left out", count(season.bare, "bare shaft is", "bare shafts are")));
    }
    if season.walk_backs > 0 {
        remarks.push(format!("{} of walk-backs left out", count(season.walk_backs, "group", "groups")));
    }
    if season.lost > 0 {
        remarks.push(format!("{} of unknown place left out", count(season.lost, "arrow", "arrows")));
    }
    if season.undone > 0 {
        let changes = count(season.undone, "change", "changes");
        remarks.push(format!("{changes} not judged: by the next arrow the bow was again as before"));
    }
    if !season.unusable.is_empty() {
        remarks
            .push(format!("{} without a distance left out", count(season.unusable.len(), "group", "groups")));
    }
    if season.without_part > 0 {
        let groups = count(season.without_part, "group", "groups");
        remarks.push(format!(
            "{groups} left out: shot after a part of the bow went to another one, with nothing noted in its place; note what \
             was on the bow then, with its moment"
        ));
    }
    remarks.extend(several_distances(season));
    remarks.extend(often_altered(season));
    remarks
}

/// Says that an angle from several distances is no measure of what a change of arrow speed does.
fn several_distances(season: &Season) -> Option<String> {
    let faster = |c: &SeasonChange| {
        c.altered.iter().any(|a| alters_speed(&a.setting) && a.before.as_ref().is_some_and(|b| *b != a.after))
    };
    let distances = season.distances_m();
    (distances.len() > 1 && season.changes.iter().any(faster)).then(|| {
        let all: Vec<String> = distances.iter().map(|d| distance_words(*d)).collect();
        format!(
            "groups from {} are judged together, as angles: where a change made arrows faster or slower, the farther ones move by \
             more (one distance alone: `sheaf effects --distance {}`)",
            list(&all),
            all[0].replace(' ', "")
        )
    })
}

/// Names the numeric settings that were altered so often that all of it together says more than each change alone.
fn often_altered(season: &Season) -> Option<String> {
    let mut times: BTreeMap<&str, usize> = BTreeMap::new();
    for altered in season.changes.iter().flat_map(|c| &c.altered) {
        if altered.after.is_number() && altered.before.as_ref().is_some_and(|before| *before != altered.after)
        {
            *times.entry(&altered.setting).or_default() += 1;
        }
    }
    let often: Vec<String> = times
        .into_iter()
        .filter(|(_, n)| *n >= OFTEN)
        .map(|(setting, n)| format!("the {} was altered {n} times", name_and_unit(setting).0))
        .collect();
    (!often.is_empty()).then(|| {
        format!("{}: as a dial (`sheaf dial`) all of it is judged together, which tells more", list(&often))
    })
}
