//! The weight on the fingers: by a draw curve that still holds, as it was noted, or as a range from what is marked.

use super::{Known, PRACTICE, Said, noted::Beside};
use crate::{
    kind::Part,
    moment::Moment,
    records::Here,
    replica::Store,
    rig::{
        caution,
        weight::{MARKED_AT_IN, MARKED_ON_IN, Marked},
    },
    verdict::{
        bow::day_words,
        curve::{Held, held, own_draw_in},
        limits::{by_curve, expected, measured, noted, shares},
        sentence::list,
        units::trimmed,
    },
};

/// What is said of a weight, and that weight from least to most, lbf.
type Weight = (Vec<Said>, Option<[f64; 2]>);

impl<S: Store> Known<'_, S> {
    /// Returns what is known of the weight on the fingers, and that weight from least to most, lbf.
    pub(super) fn weight(&self, wanted: &mut Vec<String>) -> Result<Weight, S::Error> {
        let mut said = Vec::new();
        let here = Here::without(self.setup.clone(), self.gone.clone());
        let (curves, _) = held(self.store, self.timeline, &here, &self.names)?;
        let own = self.archers.iter().find_map(|(name, person)| Some((name.as_str(), own_draw_in(person)?)));
        let draw = own.map(|(_, draw)| draw);
        said.extend(curve_words(&curves, own));
        let noted = noted(self.timeline, &self.gone, &self.names);
        let by_curve = draw.and_then(|draw| by_curve(&curves, draw)).map(|(_, lbf)| lbf);
        // Where the curve holds, a weight that is not this archer's says nothing of this archer's.
        let mut counts = noted.as_ref();
        if let Some(noted) = &noted {
            let beside = self.beside(noted, &curves, by_curve)?;
            said.push(self.noted_words(noted, &beside));
            counts = counts.filter(|_| !matches!(beside, Beside::Another(..) | Beside::Somewhere));
        }
        let measured = measured(&curves, counts, draw);
        if measured.is_none() {
            wanted.push("the draw weight, measured with a bow scale at your own draw".into());
        }
        let range = self.marked(measured, &mut said, wanted)?;
        Ok((said, measured.map(|lbf| [lbf, lbf]).or(range)))
    }

    /// Adds the range that follows from what is marked on the limbs, for whoever shot the bow last.
    fn marked(
        &self,
        measured: Option<f64>,
        said: &mut Vec<Said>,
        wanted: &mut Vec<String>,
    ) -> Result<Option<[f64; 2]>, S::Error> {
        let limbs = self.part("limbs")?.unwrap_or_default();
        let Some(weight_lbf) = limbs.marked_weight_lbf else {
            wanted.push("the weight marked on the limbs, for the weight to be expected".into());
            return Ok(None);
        };
        let draw = self.archers.iter().find_map(|(name, person)| Some((name, own_draw_in(person)?)));
        let (Some((name, draw)), Some(riser)) = (draw, self.record.riser_in) else { return Ok(None) };
        let marked = marked_on(&limbs, weight_lbf);
        let (bolts, narrowed) = self.bolt_shares(&limbs)?;
        let Some([low, high]) = expected(Some((marked, riser)), Some(draw), bolts) else { return Ok(None) };
        let outside = match measured {
            Some(lbf) if lbf < low || lbf > high => {
                " What was measured lies outside: measure again, and see for which riser the limbs are marked."
            }
            _ => "",
        };
        let by = if narrowed { "with the limb bolts where they are noted" } else { "by the limb bolts" };
        said.push(Said {
            words: format!(
                "{} lbf marked on the limbs{}, {name}'s draw of {} in and a {} in riser: {} to {} lbf to be expected, \
                 {by}.{outside}",
                trimmed(weight_lbf, 1),
                marked_words(&limbs),
                trimmed(draw, 2),
                trimmed(riser, 2),
                trimmed(low, 1),
                trimmed(high, 1)
            ),
            source: PRACTICE.into(),
            caution: Some(caution::LIMB_BOLTS),
        });
        Ok(Some([low, high]))
    }

    /// Returns the shares of the marked weight that the limb bolts make, and whether they are narrower than the rule.
    fn bolt_shares(&self, limbs: &Part) -> Result<([f64; 2], bool), S::Error> {
        let range = |part: &Part| [part.least_bolt_turns, part.most_bolt_turns];
        let ranges: Vec<_> = self.part("riser")?.iter().chain([limbs]).map(range).collect();
        Ok(shares(["limb_bolt_top_turns", "limb_bolt_bottom_turns"].map(|bolt| self.number(bolt)), &ranges))
    }
}

/// Says the weight at the archer's own draw by the latest curve of the bow as it is now; a curve of an older setup, or one that
/// ends before that draw, is named without a figure.
fn curve_words(curves: &[Held], own: Option<(&str, f64)>) -> Option<Said> {
    let told = |words: String, at: &Moment, caution| Said {
        words,
        source: format!("draw curve measured {}", day_words(&at.day())),
        caution,
    };
    let Some(one) = curves.iter().find(|one| one.is_valid()) else {
        let old = curves.first()?;
        let words =
            format!("Its draw curve is of an older setup: {} since. Measure again.", list(&old.changed));
        return Some(told(words, &old.at, None));
    };
    let (name, draw) = own?;
    let words = match by_curve(curves, draw) {
        Some((_, lbf)) => {
            format!("{} lbf at {name}'s draw of {} in, by the draw curve.", trimmed(lbf, 1), trimmed(draw, 2))
        }
        None => format!(
            "The draw curve was measured up to {} in, and {name}'s draw is {} in: nothing is said of it.",
            trimmed(one.last_in(), 2),
            trimmed(draw, 2)
        ),
    };
    Some(told(words, &one.at, Some(caution::WEIGHT)))
}

fn marked_on(limbs: &Part, weight_lbf: f64) -> Marked {
    Marked {
        weight_lbf,
        draw_in: limbs.marked_draw_in.unwrap_or(MARKED_AT_IN),
        riser_in: limbs.marked_riser_in.unwrap_or(MARKED_ON_IN),
    }
}

/// Says at which draw and on which riser limbs were marked, where that is noted.
fn marked_words(limbs: &Part) -> String {
    let told = [
        limbs.marked_draw_in.map(|draw| format!("at {} in", trimmed(draw, 2))),
        limbs.marked_riser_in.map(|riser| format!("on a {} in riser", trimmed(riser, 2))),
    ];
    let told: Vec<String> = told.into_iter().flatten().collect();
    if told.is_empty() { String::new() } else { format!(" {}", told.join(" ")) }
}
