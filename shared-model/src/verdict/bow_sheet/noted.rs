//! The draw weight that was noted as one figure, beside a draw curve that holds: at whose draw it was read nobody wrote down.

use super::{Known, Said, thing};
use crate::{
    kind::Person,
    named::name_of,
    replica::Store,
    rig::caution,
    verdict::{
        bow::day_words,
        curve::{Held, own_draw_in},
        limits::{Noted, by_curve},
        units::trimmed,
    },
};

/// By how much a noted weight may differ from the curve before it is pointed out, lbf (common practice, no source).
const APART_LBF: f64 = 1.0;
/// How far before the last draw measured a full draw still lies, in: chosen, no source.
const NEAR_FULL_IN: f64 = 3.0;

/// How a noted weight and a draw curve that holds go together.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Beside {
    /// There is no such curve, or it says nothing at the archer's draw.
    Alone,
    /// It is the archer's own.
    Own,
    /// It is that of another who shoots the bow or noted it, at this draw in inches.
    Another(String, f64),
    /// The curve has it near full draw, and whose it is cannot be told.
    Somewhere,
    /// The curve has it at nobody's draw.
    Nowhere,
}

impl<S: Store> Known<'_, S> {
    /// Returns how a noted weight goes with the curve, for an archer whose weight is `own` by it.
    pub(super) fn beside(
        &self,
        noted: &Noted,
        curves: &[Held],
        own: Option<f64>,
    ) -> Result<Beside, S::Error> {
        let (Some(own), Some(curve)) = (own, curves.iter().find(|one| one.is_valid())) else {
            return Ok(Beside::Alone);
        };
        let like = |lbf: f64| (lbf - noted.lbf).abs() <= APART_LBF;
        if like(own) {
            return Ok(Beside::Own);
        }
        let mut people = self.archers.clone();
        if let Some(by) = noted.by
            && let Some(person) = thing::<S, Person>(self.store, by)?
        {
            people.push((name_of(&self.names, by), person));
        }
        let at = |person: &Person| {
            let draw = own_draw_in(person)?;
            by_curve(curves, draw).map(|(_, lbf)| (draw, lbf))
        };
        let fits = people.iter().find_map(|(name, person)| {
            at(person).filter(|(_, lbf)| like(*lbf)).map(|(draw, _)| Beside::Another(name.clone(), draw))
        });
        if let Some(fits) = fits {
            return Ok(fits);
        }
        let all_known = people.iter().all(|(_, person)| at(person).is_some());
        let last = curve.last_in();
        let near = [(last - NEAR_FULL_IN).max(curve.curve.span_in()[0]), last];
        let [low, high] = near.map(|draw| curve.curve.at(draw).map_or(0.0, |[lbf, _]| lbf));
        let within = (low - APART_LBF..=high + APART_LBF).contains(&noted.lbf);
        Ok(if within && !all_known { Beside::Somewhere } else { Beside::Nowhere })
    }

    /// Says the draw weight that is noted, and whether it still is the bow's.
    pub(super) fn noted_words(&self, noted: &Noted, beside: &Beside) -> Said {
        let by = noted.by.map(|id| name_of(&self.names, id));
        let day = day_words(&noted.at.day());
        let lbf = trimmed(noted.lbf, 1);
        let words = match (&noted.stale, beside) {
            (Some(stale), _) => format!("{lbf} lbf on the fingers, as measured. {stale}"),
            (None, Beside::Alone | Beside::Own) => format!("{lbf} lbf on the fingers, as measured."),
            (None, Beside::Another(name, draw)) => format!(
                "{lbf} lbf is noted, which by the curve is the weight at {name}'s draw of {} in.",
                trimmed(*draw, 2)
            ),
            (None, Beside::Somewhere) => {
                format!(
                    "{lbf} lbf is noted; at whose draw is not, and by the curve it is no weight at this one."
                )
            }
            (None, Beside::Nowhere) => {
                format!(
                    "{lbf} lbf on the fingers, as measured. That is not what the curve says: measure again."
                )
            }
        };
        let source = by.map_or_else(|| format!("noted {day}"), |by| format!("noted by {by}, {day}"));
        Said { words, source, caution: Some(caution::WEIGHT) }
    }
}
