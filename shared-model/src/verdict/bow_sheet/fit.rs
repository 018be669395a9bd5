//! What follows from archer, riser and limbs: lengths, string, weight on the fingers.

use super::{Known, PRACTICE, Said};
use crate::{
    kind::Hook,
    replica::Store,
    rig::caution,
    stats::fit::{LimbLength, STANDARD, bow_length_in, limb_length, string_length_in},
    verdict::units::trimmed,
};

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
        let tiller = self.archers.iter().filter(|(_, person)| person.hook == Some(Hook::ThreeUnder));
        said.extend(tiller.map(|(name, _)| {
            practice(format!(
                "{name} hooks three fingers under the nock: the tiller is nearer to even, or below it, than for a split \
                 finger."
            ))
        }));
        Ok(said)
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
