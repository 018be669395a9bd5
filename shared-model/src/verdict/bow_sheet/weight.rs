//! The weight on the fingers: by a draw curve that still holds, as it was noted, or as a range from what is marked.

use super::{Known, PRACTICE, Said};
use crate::{
    kind::Part,
    named::name_of,
    replica::Store,
    rig::{
        caution,
        weight::{MARKED_AT_IN, MARKED_ON_IN, Marked, bolt_shares},
    },
    verdict::{
        bow::day_words,
        curve::{held, own_draw_in},
        sentence::list,
        units::trimmed,
    },
};

/// What is said of a weight, and that weight from least to most, lbf.
type Weight = (Vec<Said>, Option<[f64; 2]>);

/// By how much a noted weight may differ from the curve before it is pointed out, lbf (common practice, no source).
const APART_LBF: f64 = 1.0;

impl<S: Store> Known<'_, S> {
    /// Returns what is known of the weight on the fingers, and that weight from least to most, lbf.
    pub(super) fn weight(&self, wanted: &mut Vec<String>) -> Result<Weight, S::Error> {
        let mut said = Vec::new();
        let by_curve = self.by_curve(&mut said)?;
        let noted = self.noted(by_curve, &mut said);
        if noted.or(by_curve).is_none() {
            wanted.push("the draw weight, measured with a bow scale at your own draw".into());
        }
        let measured = by_curve.or(noted);
        let range = self.marked(measured, &mut said, wanted)?;
        Ok((said, measured.map(|lbf| [lbf, lbf]).or(range)))
    }

    /// Adds the weight at the archer's own draw by the latest curve of the bow as it is now; a curve of an older setup, or
    /// one that ends before that draw, is named without a figure.
    fn by_curve(&self, said: &mut Vec<Said>) -> Result<Option<f64>, S::Error> {
        let (curves, _) = held(self.store, self.timeline, &self.names)?;
        let told = |words: String, day: &str, caution| Said {
            words,
            source: format!("draw curve measured {day}"),
            caution,
        };
        let Some(one) = curves.iter().find(|one| one.is_valid()) else {
            said.extend(curves.first().map(|old| {
                let words = format!(
                    "Its draw curve is of an older setup: {} since. Measure again.",
                    list(&old.changed)
                );
                told(words, &day_words(&old.at.day()), None)
            }));
            return Ok(None);
        };
        let day = day_words(&one.at.day());
        let own = self.archers.iter().find_map(|(name, person)| Some((name, own_draw_in(person)?)));
        let Some((name, draw)) = own else { return Ok(None) };
        let found = one.curve.at(draw).map(|[lbf, _]| lbf).filter(|lbf| *lbf >= 1.0);
        let words = match found {
            Some(lbf) => {
                format!(
                    "{} lbf at {name}'s draw of {} in, by the draw curve.",
                    trimmed(lbf, 1),
                    trimmed(draw, 2)
                )
            }
            None => format!(
                "The draw curve was measured up to {} in, and {name}'s draw is {} in: nothing is said of it.",
                trimmed(one.last_in(), 2),
                trimmed(draw, 2)
            ),
        };
        said.push(told(words, &day, Some(caution::WEIGHT)));
        Ok(found)
    }

    /// Adds the draw weight that is noted.
    fn noted(&self, by_curve: Option<f64>, said: &mut Vec<Said>) -> Option<f64> {
        let set = self.setup.get("draw_weight_lbf")?;
        let lbf = set.value.as_f64().filter(|lbf| (1.0..=100.0).contains(lbf))?;
        let by = self.timeline.changes().find(|(item, _)| item.id == set.change);
        let by = by.and_then(|(_, change)| change.by).map(|id| name_of(&self.names, id));
        let day = day_words(&set.at.day());
        let older = self.setup.get("limbs").is_some_and(|limbs| limbs.at.unix_ms() > set.at.unix_ms());
        let apart = match by_curve {
            _ if older => " That was before these limbs came on: measure again.",
            Some(curve) if (curve - lbf).abs() > APART_LBF => {
                " That is not what the curve says: measure again."
            }
            _ => "",
        };
        said.push(Said {
            words: format!("{} lbf on the fingers, as measured.{apart}", trimmed(lbf, 1)),
            source: by.map_or_else(|| format!("noted {day}"), |by| format!("noted by {by}, {day}")),
            caution: Some(caution::WEIGHT),
        });
        Some(lbf)
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
        let (bolts, narrowed) = bolt_shares(self.bolts_out(), self.bolt_range(&limbs)?);
        let Some([low, high]) = marked.range_lbf(draw, riser, bolts) else { return Ok(None) };
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

    /// Returns how far the limb bolts are out, turns: the mean of both.
    fn bolts_out(&self) -> Option<f64> {
        let turns = |setting: &str| self.setup.get(setting).and_then(|set| set.value.as_f64());
        Some(0.5 * (turns("limb_bolt_top_turns")? + turns("limb_bolt_bottom_turns")?))
    }

    /// Returns the range of the limb bolts that the makers of riser and limbs both allow.
    fn bolt_range(&self, limbs: &Part) -> Result<Option<[f64; 2]>, S::Error> {
        let riser = self.part("riser")?;
        let parts = [Some(limbs), riser.as_ref()];
        let ends = |of: fn(&Part) -> Option<f64>| parts.iter().flatten().filter_map(move |part| of(part));
        let least = ends(|part| part.least_bolt_turns).reduce(f64::max);
        let most = ends(|part| part.most_bolt_turns).reduce(f64::min);
        Ok(least.zip(most).map(|(least, most)| [least, most]))
    }
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
