//! What follows from archer, riser and limbs: lengths, string, tiller and bolts.

use super::{Known, PRACTICE, Said};
use crate::{
    kind::Hook,
    replica::Store,
    rig::{
        caution,
        fits::{FROM_MEMORY, tiller_mm},
    },
    stats::fit::{LimbLength, STANDARD, bow_length_in, limb_length, string_length_in},
    verdict::{
        fits::millimetres,
        part_words::hook_words,
        units::{Units, trimmed},
    },
};

/// Limb bolts that differ by no more than this, turns, are alike.
const SAME_TURNS: f64 = 0.01;
/// Lengths of bow and string that differ by no more than this, in, are the same.
const SAME_IN: f64 = 0.5;

fn practice(words: String) -> Said {
    Said { words, source: PRACTICE.into(), caution: None }
}

impl<S: Store> Known<'_, S> {
    /// Returns which limbs, what bow and what string follow, and notes what is wanted for more.
    pub(super) fn fit(&self, wanted: &mut Vec<String>) -> Result<Vec<Said>, S::Error> {
        let mut said = Vec::new();
        let part = self.part("limbs")?;
        let marked = part.and_then(|part| part.limb_length);
        let named =
            marked.and_then(|m| LimbLength::WORDS.iter().find(|(word, _)| *word == m).map(|(_, l)| *l));
        let mut by_draw = None;
        for (name, person) in &self.archers {
            let Some(draw) = person.draw_in() else {
                wanted.push(format!("{name}'s draw length, for limbs and weight"));
                continue;
            };
            let Ok(rule) = limb_length(draw) else {
                wanted.push(format!("{name}'s draw length anew: {} in is none", trimmed(draw, 2)));
                continue;
            };
            by_draw = by_draw.or(Some(rule));
            said.push(for_draw(name, draw, rule, named));
        }
        self.lengths(named.or(by_draw), named.is_some(), &mut said, wanted)?;
        said.extend(self.archers.iter().filter_map(|(name, person)| self.tiller(name, person.hook?)));
        said.extend(self.bolts());
        Ok(said)
    }

    /// Says where the noted tiller lies beside the range to start from, by the figures as they are shown; with none noted
    /// only what differs from the usual.
    fn tiller(&self, name: &str, hook: Hook) -> Option<Said> {
        let [least, most] = tiller_mm(hook);
        let range = millimetres([least, most], self.units);
        let words = match self.number("tiller_mm") {
            Some(noted) => {
                let steps = if self.units == Units::Metric { 10.0 } else { 100.0 };
                let shown = |mm: f64| libm::round(self.units.reading(mm) * steps) / steps;
                let within = (shown(least)..=shown(most)).contains(&shown(noted));
                format!(
                    "The tiller of {} {} is {} the {range} to start from for {}, as {name} hooks.",
                    trimmed(shown(noted), 2),
                    self.units.unit(),
                    if within { "within" } else { "outside" },
                    hook_words(hook)
                )
            }
            None if hook == Hook::ThreeUnder => format!(
                "{name} hooks three fingers under the nock: the tiller is nearer to even, or below it, than for a split \
                 finger; {range} to start from."
            ),
            None => return None,
        };
        Some(Said { words, source: FROM_MEMORY.into(), caution: None })
    }

    /// Says that the limb bolts are not alike, where they are not.
    fn bolts(&self) -> Option<Said> {
        let (top, bottom) = (self.number("limb_bolt_top_turns")?, self.number("limb_bolt_bottom_turns")?);
        if (top - bottom).abs() <= SAME_TURNS {
            return None;
        }
        let [top, bottom] = [top, bottom].map(|turns| trimmed(turns, 2));
        Some(practice(format!(
            "The limb bolts are not alike, {top} turns out at the top and {bottom} at the bottom: that is part of what \
             makes the tiller."
        )))
    }

    /// Returns a setting that is a number.
    pub(super) fn number(&self, setting: &str) -> Option<f64> {
        self.setup.get(setting)?.value.as_f64()
    }

    /// Adds the bow length and the string that it starts from.
    fn lengths(
        &self,
        limbs: Option<LimbLength>,
        noted: bool,
        said: &mut Vec<Said>,
        wanted: &mut Vec<String>,
    ) -> Result<(), S::Error> {
        if !noted {
            wanted.push("the length of the limbs (short, medium, long), for the length of the bow".into());
        }
        let Some(riser) = self.record.riser_in else {
            wanted.push("the length of the riser, for the lengths of bow and string".into());
            return Ok(());
        };
        let Some(limbs) = limbs else { return Ok(()) };
        let Ok(Some(bow)) = bow_length_in(riser, limbs) else { return Ok(()) };
        let (riser, string) = (trimmed(riser, 2), string_length_in(bow));
        let whose = if noted { "" } else { " by the rule" };
        said.push(practice(format!(
            "A {riser} in riser with {} limbs{whose} makes a {} in bow.",
            limbs.word(),
            trimmed(bow, 2)
        )));
        said.push(Said {
            words: format!("The string to start from is {} in long, measured braced.", trimmed(string, 2)),
            source: STANDARD.into(),
            caution: Some(caution::DRY_FIRE),
        });
        let of = self.part("string")?.and_then(|part| part.length_in);
        said.extend(of.filter(|of| (of - bow).abs() > SAME_IN).map(|of| other_string(of, bow)));
        Ok(())
    }
}

fn for_draw(name: &str, draw: f64, rule: LimbLength, named: Option<LimbLength>) -> Said {
    let draw = trimmed(draw, 2);
    practice(match (rule, named) {
        (LimbLength::Between, _) => {
            format!("{name}'s draw of {draw} in lies between short and medium limbs: try both.")
        }
        (rule, Some(named)) if named != rule => format!(
            "The rule for {name}'s draw of {draw} in: {} limbs; those on the bow are {}.",
            rule.word(),
            named.word()
        ),
        (rule, _) => format!("The rule for {name}'s draw of {draw} in: {} limbs.", rule.word()),
    })
}

/// Says that the string is one for another length of bow.
fn other_string(of_in: f64, bow_in: f64) -> Said {
    let [of, bow] = [of_in, bow_in].map(|inches| trimmed(inches, 2));
    let words = format!(
        "The string on it is for a bow of {of} in, and this is one of {bow} in by the rule: measure before you brace it."
    );
    Said { words, source: PRACTICE.into(), caution: Some(caution::DRY_FIRE) }
}
