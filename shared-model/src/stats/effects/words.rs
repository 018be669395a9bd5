//! From figures to words: corrected p-values, verdicts, what would have shown, what would settle it.

use std::f64::consts::LN_10;

use super::output::{Effect, Location, Tightness};
use super::shift::Shift;
use super::tight::SpreadChange;
use crate::stats::adjust_p::holm;
use crate::stats::special::tails::t_quantile;

/// What the words of one step are made of; `None` where the design cannot tell the step.
#[derive(Debug, Clone)]
pub(super) struct Evidence {
    /// Whether the shift can be estimated by the design, and its figures if the data give them.
    pub separable: bool,
    pub shift: Option<[Shift; 2]>,
    /// The same of the spread.
    pub spread_separable: bool,
    pub spread: Option<SpreadChange>,
}

/// What a verdict is measured against.
#[derive(Debug, Clone, Copy)]
pub(super) struct Measure {
    pub confidence: f64,
    /// The smallest shift that matters; `None` where there is no noise to take the half of.
    pub matters_mrad: Option<f64>,
}

/// An SD ratio from 1/1.1 to 1.1 does not matter.
pub const RATIO_THAT_MATTERS: f64 = 1.1;

/// Writes figures and words into the effects, corrected for how many of them are judged.
pub(super) fn write(effects: &mut [Effect], evidence: &[Evidence], measure: Measure) {
    let shift_p: Vec<Option<f64>> = evidence.iter().map(|e| e.shift.map(|s| both_axes(&s))).collect();
    let spread_p: Vec<Option<f64>> = evidence.iter().map(|e| e.spread.map(|s| s.p)).collect();
    let (shift_p, spread_p) = (corrected(&shift_p), corrected(&spread_p));
    for (i, effect) in effects.iter_mut().enumerate() {
        write_shift(effect, &evidence[i], shift_p[i], measure);
        write_spread(effect, &evidence[i], spread_p[i], measure);
    }
}

/// Returns the p-value of a shift on either axis (Bonferroni, which holds however the axes correlate).
fn both_axes(shift: &[Shift; 2]) -> f64 {
    (2.0 * shift[0].p.min(shift[1].p)).min(1.0)
}

/// Corrects those p-values that are there for each other.
fn corrected(p: &[Option<f64>]) -> Vec<Option<f64>> {
    let known: Vec<f64> = p.iter().flatten().copied().collect();
    let mut adjusted = holm(&known).into_iter();
    p.iter().map(|p| p.and_then(|_| adjusted.next())).collect()
}

fn write_shift(effect: &mut Effect, evidence: &Evidence, p: Option<f64>, measure: Measure) {
    if !evidence.separable {
        effect.location = Location::Inseparable;
        return;
    }
    let Some(shift) = evidence.shift else {
        effect.notes.push("shift: too few arrows to tell the shift from chance; shoot more ends".into());
        return;
    };
    effect.shift_mrad = Some(shift.map(|s| s.estimate));
    effect.shift_se_mrad = Some(shift.map(|s| s.se));
    effect.shift_df = Some(shift.map(|s| s.df));
    effect.shift_p = Some(shift.map(|s| s.p));
    effect.shift_p_adjusted = p;
    let alpha = 1.0 - measure.confidence;
    let half = |level: f64| both(shift.map(|s| t_quantile(level, s.df).map(|t| t * s.se)));
    let full = half(1.0 - 0.5 * alpha);
    effect.shift_interval_mrad =
        full.map(|h| [0, 1].map(|i| [shift[i].estimate - h[i], shift[i].estimate + h[i]]));
    if full.is_none() {
        let note = "shift_interval_mrad: so few sessions bear on it that the interval has no end";
        effect.notes.push(note.into());
    }
    effect.detectable_shift_mrad = both(shift.map(|s| detectable(&s, alpha))).map(|d| d[0].max(d[1]));
    let moved = p.is_some_and(|p| p < alpha);
    let inside = |h: [f64; 2], m: f64| (0..2).all(|i| shift[i].estimate.abs() + h[i] <= m);
    let held = half(measure.confidence).zip(measure.matters_mrad).is_some_and(|(h, m)| inside(h, m));
    effect.location = match (moved, held) {
        (true, _) => Location::Moved,
        (false, true) => Location::Held,
        (false, false) => Location::Unsettled,
    };
    if effect.location == Location::Unsettled {
        let ends = (effect.ends_before + effect.ends_after) as f64;
        effect.ends_to_settle =
            full.zip(measure.matters_mrad).and_then(|(h, m)| ends_to_settle(ends, h[0].max(h[1]), m));
        if effect.ends_to_settle.is_none() {
            effect.notes.push("ends_to_settle: more ends than a lifetime's; shoot more sessions".into());
        }
    }
}

fn both(values: [Option<f64>; 2]) -> Option<[f64; 2]> {
    Some([values[0]?, values[1]?])
}

/// Returns the shift that shows with a chance of 80 % on one axis.
fn detectable(shift: &Shift, alpha: f64) -> Option<f64> {
    Some(shift.se * (t_quantile(1.0 - 0.25 * alpha, shift.df)? + t_quantile(0.8, shift.df)?))
}

/// Returns further ends, an even number, at which a half-interval that shrinks with their root reaches
/// what matters.
fn ends_to_settle(ends: f64, half: f64, matters: f64) -> Option<u64> {
    let ratio = half / matters;
    let more = ends * (ratio * ratio - 1.0);
    let even = (2.0 * libm::ceil(0.5 * more)).max(2.0);
    (even < 1e6).then_some(even as u64)
}

fn write_spread(effect: &mut Effect, evidence: &Evidence, p: Option<f64>, measure: Measure) {
    if !evidence.spread_separable {
        effect.tight = Tightness::Inseparable;
        return;
    }
    let Some(spread) = evidence.spread else {
        effect.notes.push("sd_ratio: too few ends of two or more arrows to tell; shoot more".into());
        return;
    };
    let log_ratio = spread.log_ratio;
    effect.sd_ratio = Some(libm::exp(log_ratio.estimate));
    effect.spread_p = Some(spread.p);
    effect.spread_p_adjusted = p;
    let alpha = 1.0 - measure.confidence;
    let half = |level: f64| t_quantile(level, log_ratio.df).map(|t| t * log_ratio.se);
    // Beyond a factor of a million the interval says nothing, and its end may not be a number.
    effect.sd_ratio_interval = half(1.0 - 0.5 * alpha)
        .filter(|h| h.abs() < 6.0 * LN_10)
        .map(|h| [libm::exp(log_ratio.estimate - h), libm::exp(log_ratio.estimate + h)]);
    if effect.sd_ratio_interval.is_none() {
        effect
            .notes
            .push("sd_ratio_interval: so few sessions bear on it that the interval has no end".into());
    }
    let changed = p.is_some_and(|p| p < alpha);
    let inside = |h: f64| log_ratio.estimate.abs() + h <= libm::log(RATIO_THAT_MATTERS);
    effect.tight = match (changed, half(measure.confidence).is_some_and(inside)) {
        (true, _) if log_ratio.estimate < 0.0 => Tightness::Tighter,
        (true, _) => Tightness::Wider,
        (false, true) => Tightness::Held,
        (false, false) => Tightness::Unsettled,
    };
}
