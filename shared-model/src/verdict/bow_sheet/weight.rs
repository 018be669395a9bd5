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

/// What is said of a weight, and that weight from least to most, lbf; the most is infinite where only the least is known.
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
        let floor = draw.and_then(|draw| floor(&curves, draw));
        let range = self.marked(measured, floor, &mut said, wanted)?;
        Ok((said, measured.map(|lbf| [lbf, lbf]).or(range)))
    }

    /// Adds the range that follows from what is marked on the limbs, for whoever shot the bow last.
    fn marked(
        &self,
        measured: Option<f64>,
        floor: Option<[f64; 2]>,
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
        let by = if narrowed { "with the limb bolts where they are noted" } else { "by the limb bolts" };
        let (told, range) = raised([low, high], floor, by);
        let outside = match measured {
            Some(lbf) if lbf < range[0] || lbf > range[1] => {
                " What was measured lies outside: measure again, and see for which riser the limbs are marked."
            }
            _ => "",
        };
        said.push(Said {
            words: format!(
                "{} lbf marked on the limbs{}, {name}'s draw of {} in and a {} in riser: {told}{outside}",
                trimmed(weight_lbf, 1),
                marked_words(&limbs),
                trimmed(draw, 2),
                trimmed(riser, 2)
            ),
            source: PRACTICE.into(),
            caution: Some(caution::LIMB_BOLTS),
        });
        Ok(Some(range))
    }

    /// Returns the shares of the marked weight that the limb bolts make, and whether they are narrower than the rule.
    fn bolt_shares(&self, limbs: &Part) -> Result<([f64; 2], bool), S::Error> {
        let range = |part: &Part| [part.least_bolt_turns, part.most_bolt_turns];
        let ranges: Vec<_> = self.part("riser")?.iter().chain([limbs]).map(range).collect();
        Ok(shares(["limb_bolt_top_turns", "limb_bolt_bottom_turns"].map(|bolt| self.number(bolt)), &ranges))
    }
}

/// Returns the last draw of a curve that holds and ends before a draw, and the weight there: farther on a bow only gets heavier.
fn floor(curves: &[Held], draw_in: f64) -> Option<[f64; 2]> {
    let one = curves.iter().find(|one| one.is_valid())?;
    let last = one.last_in();
    let [lbf, _] = one.curve.at(last)?;
    (draw_in > last).then_some([last, lbf])
}

/// Says the range to be expected by the mark, its lower end raised to a weight that was measured at a shorter draw; where that is
/// above all of it, mark and measurement contradict, and nothing is said of how heavy the bow is at most.
fn raised([low, high]: [f64; 2], floor: Option<[f64; 2]>, by: &str) -> (String, [f64; 2]) {
    let range = |low: f64| format!("{} to {} lbf to be expected, {by}", trimmed(low, 1), trimmed(high, 1));
    let Some([last, lbf]) = floor.filter(|[_, lbf]| *lbf > low) else {
        return (format!("{}.", range(low)), [low, high]);
    };
    let [at, least] = [trimmed(last, 2), trimmed(lbf, 1)];
    if lbf > high {
        let told = format!(
            "by that it would be less than the {least} lbf measured at {at} in already, so mark and measurement contradict. At \
             least {least} lbf: measure on to this draw, and see for which riser the limbs are marked."
        );
        return (told, [lbf, f64::INFINITY]);
    }
    let told = format!("{}; not below the {least} lbf measured at {at} in.", range(lbf));
    (told, [lbf, high])
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
        None => match floor(curves, draw) {
            Some([last, lbf]) => format!(
                "The draw curve was measured to {} in, with {} lbf there; measure on to {name}'s draw of {} in for the weight at \
                 it.",
                trimmed(last, 2),
                trimmed(lbf, 1),
                trimmed(draw, 2)
            ),
            None => format!("The draw curve says nothing of {name}'s draw of {} in.", trimmed(draw, 2)),
        },
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_that_was_measured_at_a_shorter_draw_raises_the_range() {
        let by = "by the limb bolts";
        let (told, range) = raised([33.0, 36.7], Some([27.95, 35.94]), by);
        assert_eq!(range, [35.94, 36.7]);
        assert_eq!(
            told,
            "35.9 to 36.7 lbf to be expected, by the limb bolts; not below the 35.9 lbf measured at 27.95 in."
        );
        let (told, range) = raised([33.0, 35.0], Some([27.95, 35.94]), by);
        assert_eq!(range, [35.94, f64::INFINITY]);
        assert!(told.contains("contradict. At least 35.9 lbf") && !told.contains("33"), "{told}");
        assert_eq!(raised([33.0, 36.7], Some([20.0, 20.0]), by).1, [33.0, 36.7]);
        assert_eq!(raised([33.0, 36.7], None, by).1, [33.0, 36.7]);
    }
}
