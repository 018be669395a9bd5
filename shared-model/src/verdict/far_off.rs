//! Arrows that lie far off the others of their end: counted as they stand, and every verdict said again
//! where it would read otherwise without them.

use super::sentence::list;
use crate::{
    id::ThingId,
    kind::{self, Group},
    replica::Store,
    stats::{
        effects::{Effects, EffectsInput, Location, Tightness, effects},
        season_flyers::season_flyers,
    },
    timeline::Season,
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

/// What the far-off arrows of a season do to its verdicts.
pub(super) struct Without {
    /// Which they are.
    pub arrows: Vec<FarOff>,
    /// For every verdict, what it would say without them where that differs.
    pub otherwise: Vec<Option<String>>,
}

/// Judges the season again without the arrows that lie far off, where there are any.
pub(super) fn without<S: Store>(
    store: &S,
    input: &EffectsInput,
    season: &Season,
    found: &Effects,
) -> Result<Without, S::Error> {
    let flagged = season_flyers(&input.groups);
    let mut otherwise = vec![None; found.effects.len()];
    if !flagged.is_empty() {
        let mut asked = EffectsInput { face: None, ..input.clone() };
        for (group, arrow) in &flagged {
            asked.groups[*group].flyers.push(*arrow);
        }
        let again = effects(&asked)?;
        for ((with, without), said) in found.effects.iter().zip(&again.effects).zip(&mut otherwise) {
            let place = (with.location != without.location).then(|| place_words(without.location));
            let tight = (with.tight != without.tight).then(|| tight_words(without.tight));
            let words: Vec<String> = place.into_iter().chain(tight).map(str::to_owned).collect();
            *said = (!words.is_empty()).then(|| list(&words));
        }
    }
    let arrow = |(g, nth): &(usize, usize)| far_off(store, season.groups[*g].id, *nth);
    Ok(Without { arrows: flagged.iter().map(arrow).collect::<Result<_, _>>()?, otherwise })
}

/// Finds the nth arrow that the season counts of a group in its record.
fn far_off<S: Store>(store: &S, group: ThingId, nth: usize) -> Result<FarOff, S::Error> {
    let record = store.thing("group", group)?.and_then(|thing| kind::read::<Group>(&thing).ok());
    let place = record.and_then(|group| group.fletched().nth(nth).map(|(place, _)| place));
    Ok(FarOff { group, arrow: place.unwrap_or(nth) })
}

impl Without {
    /// Adds to a verdict's sentence what it would say without the far-off arrows.
    pub fn tell(&self, verdict: usize, sentence: &mut String) {
        if let Some(Some(words)) = self.otherwise.get(verdict) {
            sentence.push_str(&format!(" Without the {} it would say: {words}.", count(self.arrows.len())));
        }
    }

    /// Returns a remark on the season.
    pub fn remark(&self) -> Option<String> {
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
