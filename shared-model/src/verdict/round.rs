//! The score to be expected of a round, in words, from an archer's recent groups with a bow.

use super::{
    answer::{ArcherAnswer, answers},
    far_off::{answer_without, set_apart},
    sentence::{beside, lower_first},
    units::{Units, count, trimmed},
};
use crate::{
    ModelError,
    face::check_shaft,
    id::ThingId,
    kind::{self, Arrows},
    replica::Store,
    rng::Seed,
    stats::{
        effects::Group,
        expected_round::{ExpectedRound, Part, expected_round},
    },
    timeline::{Asked, Season, SeasonGroup},
};
use std::collections::BTreeMap;

/// The seed of the drawn rounds: the same question has the same answer.
const SEED: Seed = Seed(1);

/// Returns what every archer may expect of a round with a bow, from the latest sessions since its last change.
///
/// # Errors
/// Those of the store.
pub fn expected_rounds<S: Store>(
    store: &S,
    bow: ThingId,
    only: Option<ThingId>,
    round: &[Part],
    sessions: usize,
    units: Units,
) -> Result<Vec<ArcherAnswer<ExpectedRound>>, S::Error> {
    let mut shafts = BTreeMap::new();
    store.visit("arrows", None, &mut |thing| {
        let set: Option<Arrows> = kind::read(thing).ok();
        shafts.extend(set.and_then(|s| s.shaft_diameter_mm).map(|mm| (thing.id, mm)));
    })?;
    answers(store, bow, only, |season, _| {
        let asked = Asked::default();
        let shaft = season.arrows().and_then(|set| shafts.get(&set).copied());
        let shaft_mm = shaft.filter(|mm| check_shaft(*mm).is_ok()).unwrap_or(asked.shaft_diameter_mm);
        let expected = |season: &Season| {
            let lately = latest(season, &asked, sessions);
            let found =
                expected_round(&lately.groups, lately.misses, round, shaft_mm, asked.confidence, SEED)?;
            Ok::<_, ModelError>((found, lately))
        };
        let (found, lately) = expected(season)?;
        let mut all = sentences(&found, &asked, lately.whole, units);
        if let Some((without, _)) = set_apart(season) {
            let (again, others) = expected(&without)?;
            // Only the far-off arrows of the sessions that were asked.
            let arrows = lately.arrows() - others.arrows();
            if arrows > 0 {
                let said = score(&again, &asked);
                let same = said == score(&found, &asked);
                all.push(answer_without(arrows, (!same).then(|| lower_first(&said)).as_deref()));
            }
        }
        Ok((all, found))
    })
}

/// What was shot lately.
struct Lately {
    groups: Vec<Group>,
    misses: usize,
    /// Whether it reaches back over the last change.
    whole: bool,
}

impl Lately {
    fn arrows(&self) -> usize {
        self.groups.iter().map(|g| g.points_mm.len()).sum()
    }
}

/// Returns the groups of the latest sessions.
///
/// Only what was shot since the last change and with the present sight counts, where that is at least two
/// ends; a mean shot with another setting would be another's.
fn latest(season: &Season, asked: &Asked, sessions: usize) -> Lately {
    let last = season.groups.last().map_or(i64::MAX, |g| g.at.unix_ms());
    let since = season.changes.iter().map(|c| c.at.unix_ms()).filter(|at| *at <= last).max();
    let mut sights: Vec<(u64, &str)> = Vec::new();
    for group in season.groups.iter().rev() {
        let distance = group.distance_m.to_bits();
        if sights.iter().all(|(d, _)| *d != distance) {
            sights.push((distance, &group.sight));
        }
    }
    let now = |g: &SeasonGroup| sights.contains(&(g.distance_m.to_bits(), g.sight.as_str()));
    let present = |i: &usize| since.is_none_or(|at| season.groups[*i].at.unix_ms() >= at);
    let seen: Vec<usize> = (0..season.groups.len()).filter(|i| now(&season.groups[*i])).collect();
    let fresh: Vec<usize> = seen.iter().copied().filter(present).collect();
    let (chosen, whole) = if fresh.len() >= 2 { (fresh, false) } else { (seen, since.is_some()) };
    let mut names: Vec<&str> = Vec::new();
    for i in chosen.iter().rev() {
        let name = season.groups[*i].session.as_str();
        if !names.contains(&name) && names.len() < sessions {
            names.push(name);
        }
    }
    let input = season.input_without_face(asked);
    let kept = |i: &usize| names.contains(&season.groups[*i].session.as_str());
    let kept: Vec<usize> = chosen.iter().copied().filter(kept).collect();
    let missed = season.missed.iter().filter(|m| {
        let present = whole || since.is_none_or(|at| m.at.unix_ms() >= at);
        present && names.contains(&m.session.as_str()) && sights.iter().any(|(_, sight)| *sight == m.sight)
    });
    let misses = missed.map(|m| m.misses).chain(kept.iter().map(|i| season.groups[*i].misses)).sum();
    Lately { groups: kept.iter().map(|i| input.groups[*i].clone()).collect(), misses, whole }
}

fn score(found: &ExpectedRound, asked: &Asked) -> String {
    let [low, high] = found.points_interval.map(|v| trimmed(v, 0));
    format!(
        "About {} of {} points; {} of 100 such rounds score {low} to {high}.",
        trimmed(found.points, 0),
        trimmed(found.most_points, 0),
        trimmed(asked.confidence * 100.0, 1)
    )
}

fn points_are(points: f64, places: usize) -> String {
    let points = trimmed(points, places);
    if points == "1" { "1 point is".into() } else { format!("{points} points are") }
}

fn lost_to_strays(found: &ExpectedRound) -> Option<String> {
    (found.misses + found.flyers > 0).then(|| {
        format!(
            "{} lost to misses and flyers: lately {} and {} beside {}.",
            points_are(found.lost_to_strays_points, 1),
            if found.misses == 1 { "1 miss".into() } else { format!("{} misses", found.misses) },
            count(found.flyers, "flyer"),
            count(found.arrows, "other arrow")
        )
    })
}

fn sentences(found: &ExpectedRound, asked: &Asked, whole: bool, units: Units) -> Vec<String> {
    let confidence = trimmed(asked.confidence * 100.0, 1);
    let mut all = vec![score(found, asked)];
    let spread = format!("{} lost to the spread", points_are(found.lost_to_spread_points, 0));
    all.push(match found.lost_to_mean_points.zip(found.lost_to_mean_points_interval) {
        Some((lost, interval)) => {
            let [from, to] = interval.map(|v| trimmed(v, 1));
            format!(
                "{spread}, {} to a mean off the centre ({confidence} %: {from} to {to}): that is what a sight correction \
                 is worth.",
                trimmed(lost, 1)
            )
        }
        None => format!("{spread}; what a sight correction is worth cannot be told before its distance is shot."),
    });
    all.extend(lost_to_strays(found));
    for part in &found.parts {
        let mean = part.mean_mm.map_or_else(
            || "the mean taken as centred".to_owned(),
            |mm| format!("mean {}", beside(mm, units)),
        );
        all.push(format!(
            "{}: {:.2} points an arrow; {mean}, SD {} across and {} up and down.",
            units.distance(part.distance_m),
            part.points_per_arrow,
            units.length(part.sd_mm[0]),
            units.length(part.sd_mm[1])
        ));
    }
    let reach = if whole { ", some before the last change, since too little was shot after it" } else { "" };
    let sessions =
        if found.sessions == 1 { "session".to_owned() } else { format!("{} sessions", found.sessions) };
    all.push(format!("From {} arrows of the last {sessions}{reach}.", found.arrows));
    all.extend(found.notes.iter().map(|note| format!("Note: {note}.")));
    all
}
