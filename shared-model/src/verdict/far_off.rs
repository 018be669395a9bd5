//! Arrows that lie far off the others of their end: counted as they stand, and every verdict said again
//! where it would read otherwise without them; and flyers by the archer's word, left out, the other way round.

use super::sentence::list;
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Group},
    replica::Store,
    stats::{
        effects::{Effect, Effects, EffectsInput, Group as EffectsGroup, Location, Tightness, effects},
        season_flyers::season_flyers,
    },
    timeline::{Asked, Season},
};
use serde::Serialize;

/// An arrow that lies far off.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct FarOff {
    /// Its group.
    pub group: ThingId,
    /// Its place in the group's `points_mm`, from 0.
    pub arrow: usize,
}

/// The share of marked arrows above which they are remarked on.
const MANY_MARKED: f64 = 0.05;

/// What the far-off arrows of a season do to its verdicts, and its flyers.
pub(super) struct Without {
    /// Which arrows lie far off.
    pub arrows: Vec<FarOff>,
    /// For every verdict, what it would say without them where that differs.
    pub otherwise: Vec<Option<String>>,
    /// For every verdict, what it would say with the flyers counted where that differs.
    flyers_counted: Vec<Option<String>>,
    /// Arrows that the archer marked as flyers, and all arrows.
    marked: [usize; 2],
}

/// Judges the season again without the arrows that lie far off and with the flyers, where there are any.
pub(super) fn without<S: Store>(
    store: &S,
    input: &EffectsInput,
    season: &Season,
    found: &Effects,
) -> Result<Without, S::Error> {
    let flagged = season_flyers(&input.groups);
    let sum = |count: fn(&EffectsGroup) -> usize| input.groups.iter().map(count).sum::<usize>();
    let marked = [sum(|g| g.flyers.len()), sum(|g| g.points_mm.len())];
    let same = || vec![None; found.effects.len()];
    let otherwise = if flagged.is_empty() {
        same()
    } else {
        said_otherwise(found, input, |groups| {
            flagged.iter().for_each(|(group, arrow)| groups[*group].flyers.push(*arrow));
        })?
    };
    let flyers_counted = if marked[0] == 0 {
        same()
    } else {
        said_otherwise(found, input, |groups| groups.iter_mut().for_each(|g| g.flyers.clear()))?
    };
    let arrow = |(g, nth): &(usize, usize)| far_off(store, season.groups[*g].id, *nth);
    let arrows = flagged.iter().map(arrow).collect::<Result<_, _>>()?;
    Ok(Without { arrows, otherwise, flyers_counted, marked })
}

/// Returns the season without its far-off arrows, and how many they are; `None` where there are none.
pub(super) fn set_apart(season: &Season) -> Option<(Season, usize)> {
    let mut flagged = season_flyers(&season.input_without_face(&Asked::default()).groups);
    let mut without = (!flagged.is_empty()).then(|| season.clone())?;
    // The last of a group first, so that the places of the others stay true.
    flagged.sort_unstable_by(|a, b| b.cmp(a));
    for (group, arrow) in &flagged {
        let group = &mut without.groups[*group];
        group.points_mm.remove(*arrow);
        group.flyers.iter_mut().filter(|i| **i > *arrow).for_each(|i| *i -= 1);
    }
    Some((without, flagged.len()))
}

/// Says what an answer would be without its far-off arrows; `said` is `None` where it would say the same.
pub(super) fn answer_without(arrows: usize, said: Option<&str>) -> String {
    let lie = if arrows == 1 {
        "1 arrow lies far off the others of its end and counts as it stands".to_owned()
    } else {
        format!("{arrows} arrows lie far off the others of their ends and count as they stand")
    };
    let them = if arrows == 1 { "it" } else { "them" };
    match said {
        None => format!("{lie}; without {them} the words would be the same."),
        Some(said) => format!("{lie}; without {them}: {said}"),
    }
}

/// Returns for every verdict what it would say of groups altered by `alter`, where that differs.
fn said_otherwise(
    found: &Effects,
    input: &EffectsInput,
    alter: impl FnOnce(&mut [EffectsGroup]),
) -> Result<Vec<Option<String>>, ModelError> {
    let mut asked = EffectsInput { face: None, ..input.clone() };
    alter(&mut asked.groups);
    let again = effects(&asked)?;
    let words = |(first, second): (&Effect, &Effect)| {
        let place = (first.location != second.location).then(|| place_words(second.location));
        let tight = (first.tight != second.tight).then(|| tight_words(second.tight));
        let words: Vec<String> = place.into_iter().chain(tight).map(str::to_owned).collect();
        (!words.is_empty()).then(|| list(&words))
    };
    Ok(found.effects.iter().zip(&again.effects).map(words).collect())
}

/// Finds the nth arrow that the season counts of a group in its record.
fn far_off<S: Store>(store: &S, group: ThingId, nth: usize) -> Result<FarOff, S::Error> {
    let record = store.thing("group", group)?.and_then(|thing| kind::read::<Group>(&thing).ok());
    let place = record.and_then(|group| group.fletched().nth(nth).map(|(place, _)| place));
    Ok(FarOff { group, arrow: place.unwrap_or(nth) })
}

impl Without {
    /// Adds to a verdict's sentence what it would say without the far-off arrows, and with the flyers.
    pub fn tell(&self, verdict: usize, sentence: &mut String) {
        if let Some(Some(words)) = self.flyers_counted.get(verdict) {
            let flyers = if self.marked[0] == 1 { "the flyer" } else { "all flyers" };
            sentence.push_str(&format!(" With {flyers} counted it would say: {words}."));
        }
        if let Some(Some(words)) = self.otherwise.get(verdict) {
            sentence.push_str(&format!(" Without the {} it would say: {words}.", count(self.arrows.len())));
        }
    }

    /// Returns remarks on the season.
    pub fn remarks(&self) -> impl Iterator<Item = String> {
        self.far_off().into_iter().chain(self.many_marked())
    }

    fn many_marked(&self) -> Option<String> {
        let [flyers, arrows] = self.marked;
        (flyers as f64 > MANY_MARKED * arrows as f64).then(|| {
            format!(
                "{flyers} of {arrows} arrows are marked as flyers and left out: groups look tighter than they were \
                 shot, and where good arrows were marked for where they landed, a move is said a little too easily; \
                 mark an arrow when you know that the shot was bad"
            )
        })
    }

    fn far_off(&self) -> Option<String> {
        let first = self.arrows.first()?;
        let first = format!("arrow {} of group {}", first.arrow + 1, first.group.short());
        let n = self.arrows.len();
        let them = if n == 1 { "it" } else { "them" };
        let reads = match self.otherwise.iter().flatten().count() {
            0 => format!("no verdict would read otherwise without {them}"),
            1 => format!("one verdict would read otherwise without {them}, and says so"),
            many => format!("{many} verdicts would read otherwise without {them}, and say so"),
        };
        Some(if n == 1 {
            format!("1 arrow lies far off the others of its end ({first}) and counts as it stands; {reads}")
        } else {
            format!(
                "{n} arrows lie far off the others of their ends (the first is {first}) and count as they \
                 stand; {reads}"
            )
        })
    }
}

fn count(arrows: usize) -> String {
    if arrows == 1 { "arrow that lies far off".into() } else { format!("{arrows} arrows that lie far off") }
}

fn place_words(location: Location) -> &'static str {
    match location {
        Location::Moved => "groups moved",
        Location::Held => "no movement that matters",
        Location::Unsettled => "cannot tell yet whether the groups moved",
        Location::Inseparable => "the move cannot be told apart",
    }
}

fn tight_words(tight: Tightness) -> &'static str {
    match tight {
        Tightness::Tighter => "spread smaller",
        Tightness::Wider => "spread larger",
        Tightness::Held => "spread unchanged",
        Tightness::Unsettled => "spread not settled",
        Tightness::Inseparable => "its spread cannot be told apart from the day",
    }
}
