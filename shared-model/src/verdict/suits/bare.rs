//! Where the bare shafts of a set land with a bow, as the bow was set when they were last shot.

use crate::{
    id::ThingId,
    kind::{self, Person},
    named::name_of,
    replica::Store,
    rig::caution,
    stats::bare_shaft::{Asked, BareShaft, READING_SOURCE, Reading, SAFETY, Sign, bare_shaft},
    timeline::{PlacedGroup, Timeline},
    verdict::{
        bow_sheet::Said,
        sentence::{along, list},
        units::{Units, count},
    },
};
use serde::Serialize;
use std::collections::BTreeMap;

/// Where one archer's bare shafts land.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BareAt {
    /// The archer, where the groups name one.
    pub archer: Option<ThingId>,
    /// The archer's name.
    pub name: String,
    /// What is shown, in few words; none where nothing is.
    pub short: Option<String>,
    /// The same with how it is read.
    pub words: Vec<Said>,
    /// The figures as `bare-shaft` gives them.
    pub figures: BareShaft,
}

/// Returns where each archer's bare shafts of a set land with a bow.
pub(super) fn bare_at<S: Store>(
    store: &S,
    bow: ThingId,
    set: ThingId,
    names: &BTreeMap<ThingId, String>,
    units: Units,
) -> Result<Vec<BareAt>, S::Error> {
    let timeline = Timeline::read(store, bow)?;
    let changes = timeline.changes().count();
    let mut by_archer: BTreeMap<Option<ThingId>, Vec<PlacedGroup>> = BTreeMap::new();
    for placed in timeline.shots().into_iter().filter(|placed| placed.set == Some(set)) {
        by_archer.entry(placed.archer).or_default().push(placed);
    }
    let mut found = Vec::new();
    for (archer, placed) in by_archer {
        let person = match archer {
            Some(id) => store.thing("person", id)?.and_then(|thing| kind::read::<Person>(&thing).ok()),
            None => None,
        };
        let person = person.unwrap_or_default();
        let asked = Asked { bow_arm: person.bow_arm, hook: person.hook, dials: Vec::new() };
        let Some((stretch, figures)) = last(&placed, &asked) else { continue };
        let name = archer.map_or_else(|| "someone".to_owned(), |id| name_of(names, id));
        found.push(told(archer, name, figures, stretch < changes, units));
    }
    Ok(found)
}

/// Returns the figures of the last stretch in which bare and fletched arrows were shot in one end.
fn last(placed: &[PlacedGroup], asked: &Asked) -> Option<(usize, BareShaft)> {
    let mut stretches: Vec<usize> = placed.iter().map(|placed| placed.stretch).collect();
    stretches.dedup();
    stretches.into_iter().rev().find_map(|stretch| {
        let same = placed.iter().filter(|placed| placed.stretch == stretch);
        let groups: Vec<_> = same.map(|placed| placed.group.clone()).collect();
        bare_shaft(&groups, asked, 0.95).ok().map(|figures| (stretch, figures))
    })
}

fn told(archer: Option<ThingId>, name: String, figures: BareShaft, since: bool, units: Units) -> BareAt {
    let at = units.distance(figures.distance_m);
    let axis = |axis: usize, reading: Reading| {
        let interval = figures.interval_mm?[axis];
        let (far, bounds) = along(axis, figures.difference_mm[axis], interval, units);
        reading.shown.then(|| format!("{far} (95 %: {bounds})"))
    };
    let shown: Vec<String> =
        [axis(0, figures.sideways), axis(1, figures.up_down)].into_iter().flatten().collect();
    let reads: Vec<&str> = [figures.sideways, figures.up_down].into_iter().filter_map(read).collect();
    let (over, since) =
        (count(figures.ends, "end"), if since { " The bow has been changed since." } else { "" });
    let (short, words) = if shown.is_empty() {
        let no = if figures.interval_mm.is_some() {
            "are not shown to land apart from"
        } else {
            "cannot be told yet from"
        };
        (None, format!("{name}'s bare shafts {no} the fletched arrows at {at}, over {over}.{since}"))
    } else {
        let reads = reads.join(", and ");
        let short = format!("{name}'s bare shafts land {} at {at}: {reads}, {READING_SOURCE}", list(&shown));
        let words = format!(
            "{name}'s bare shafts land {} of the fletched arrows at {at}, over {over}: {reads}. Before any change: \
             {SAFETY}.{since}",
            list(&shown)
        );
        (Some(short), words)
    };
    let source = format!("its groups; readings: {READING_SOURCE}");
    let said = Said { words, source, caution: Some(caution::FIRST) };
    BareAt { archer, name, short, words: vec![said], figures }
}

/// Returns how a side is read on this bow.
fn read(reading: Reading) -> Option<&'static str> {
    if !reading.shown {
        return None;
    }
    Some(match reading.reading {
        Some(Sign::Stiff) => "the shafts are stiff for this bow, or the plunger is",
        Some(Sign::Weak) => "the shafts are weak for this bow, or the plunger is",
        Some(Sign::NockingPointLow) => "the nocking point is low",
        Some(Sign::NockingPointHigh) => "the nocking point is high",
        None => "not to be read before the archer's bow arm is noted",
    })
}
