//! Dial: how groups answer to a numeric setting that was shot at three or more values, in place and in spread.
//!
//! # Formula
//! Ends are pooled about their means ([`prepare`]) and kept by state of the bow. Where: a mixed model with a line in
//! the dial, tested for straightness ([`place`]). How tight: a parabola of log SD in the dial, with the
//! value of smallest spread -b/(2c) and its interval by Fieller's theorem ([`spread`]). What the design cannot tell
//! from the dial is named ([`design`]). The p-value of both axes is twice the smaller of theirs.
//! # Units
//! Points in mm on the face, x to the right, y up; shifts in mrad (mm at 1 m) per unit of the dial, which stands at
//! the end of its name; distances in m.
//! # Source
//! Kenward and Roger, Biometrics 53 (1997); Fieller, J. R. Statist. Soc. B 16 (1954).
//! # Limits
//! Three values or more in groups of one archer with one bow. A group whose dial is not known is left out. Other
//! numeric settings with three values or more, known throughout, are lines of their own; everything else that
//! changed is a step.

mod design;
mod gather;
mod input;
mod output;
mod place;
mod prepare;
mod spread;

use std::collections::BTreeMap;

use crate::ModelError;
use crate::stats::adjust_p::holm;
use crate::stats::effects::Noise;
use crate::stats::special::tails::t_quantile;
use design::Term;
pub use input::{DialChange, DialGroup, DialInput};
pub use output::{Best, Dial, DialSpread, DialValue, Separate, Straightness};
use place::{AxisFit, Place, Slope};
use prepare::Season;
use spread::Spread;

/// Says how groups answer to a numeric setting.
///
/// # Errors
/// When a number or a place in a list is wrong, with the path of its field, and when the setting was shot at
/// fewer than three values.
pub fn dial(input: &DialInput) -> Result<Dial, ModelError> {
    if !(0.5..1.0).contains(&input.confidence) {
        let message = format!("the confidence is {}; it has to be from 0.5 to below 1", input.confidence);
        return Err(ModelError::new("out_of_range", message).at("confidence"));
    }
    let season = prepare::season(input)?;
    let spread = spread::fit(&season, input.confidence);
    let noise = match input.noise {
        Noise::Equal => vec![1.0; season.states.len()],
        Noise::BySpread => spread.noise.clone(),
    };
    let place = place::fit(&season, &noise);
    let mut notes = season.notes.clone();
    let variance = |of: fn(&AxisFit) -> Option<f64>| place.axes.each_ref().map(|a| a.as_ref().and_then(of));
    let mut found = Dial {
        dial: input.dial.clone(),
        values: values(&season, &place),
        distance_m: season.distance_m,
        shift_mrad_per_unit: None,
        shift_se_mrad_per_unit: None,
        shift_df: None,
        shift_interval_mrad_per_unit: None,
        shift_p: None,
        shift_p_joint: None,
        shift_p_adjusted: None,
        straightness: straightness(&place, input.confidence),
        spread: told_spread(&season, &spread, input.confidence, &mut notes),
        inseparable_from: names(&season, place.inseparable_from(), place.design.session),
        separate_by: separate(&season, &place),
        linear_with: season.settings[1..].iter().filter(|s| s.linear).map(|s| s.name.clone()).collect(),
        steps: season.steps.clone(),
        var_session_mrad2: variance(|a| a.var_session),
        var_end_mrad2: variance(|a| a.var_end),
        var_noise_mrad2: variance(|a| Some(a.var_noise)),
        notes,
    };
    write_shift(&mut found, &place, input.confidence);
    Ok(found)
}

fn write_shift(found: &mut Dial, place: &Place, confidence: f64) {
    if !place.separable() {
        let from = found.inseparable_from.join(", ");
        found.notes.push(match &found.separate_by {
            Some(separate) => {
                format!(
                    "shift: it cannot be told apart from {from}; {}",
                    separate_words(&found.dial, separate)
                )
            }
            None => format!("shift: it cannot be told apart from {from}; shoot two values in one session"),
        });
        return;
    }
    let slopes = both(place.axes.each_ref().map(|a| a.as_ref().and_then(|a| a.slope)));
    let Some(slopes) = slopes else {
        found.notes.push("shift: too few arrows to tell the shift from chance; shoot more ends".into());
        return;
    };
    found.shift_mrad_per_unit = Some(slopes.map(|s| s.estimate));
    found.shift_se_mrad_per_unit = Some(slopes.map(|s| s.se));
    found.shift_df = Some(slopes.map(|s| s.df));
    found.shift_p = Some(slopes.map(|s| s.p));
    let p_joint = joint(slopes.map(|s| s.p));
    (found.shift_p_joint, found.shift_p_adjusted) = (Some(p_joint), Some(p_joint));
    if let Some(straightness) = &mut found.straightness {
        // A movement is claimed on a slope or on values off every line: two chances to be wrong.
        let adjusted = holm(&[p_joint, straightness.p_joint]);
        (found.shift_p_adjusted, straightness.p_adjusted) = (Some(adjusted[0]), adjusted[1]);
    }
    found.shift_interval_mrad_per_unit = both(slopes.map(|s| interval(&s, confidence)));
    if found.shift_interval_mrad_per_unit.is_none() {
        let note = "shift_interval_mrad_per_unit: so few sessions bear on it that the interval has no end";
        found.notes.push(note.into());
    }
    if found.straightness.is_none() {
        let note = "straightness: no value between the outer two is free of the line; shoot more values";
        found.notes.push(note.into());
    }
}

/// Returns a p-value that holds however the axes correlate (Bonferroni).
fn joint(p: [f64; 2]) -> f64 {
    (2.0 * p[0].min(p[1])).min(1.0)
}

fn both<T: Copy>(values: [Option<T>; 2]) -> Option<[T; 2]> {
    Some([values[0]?, values[1]?])
}

fn interval(slope: &Slope, confidence: f64) -> Option<[f64; 2]> {
    let half = t_quantile(0.5 + 0.5 * confidence, slope.df)? * slope.se;
    half.is_finite().then_some([slope.estimate - half, slope.estimate + half])
}

fn straightness(place: &Place, confidence: f64) -> Option<Straightness> {
    let tests = both(place.straight)?;
    let p_joint = joint(tests.map(|t| t.p));
    Some(Straightness {
        f: tests.map(|t| t.f),
        ndf: tests.map(|t| t.ndf),
        ddf: tests.map(|t| t.ddf),
        p: tests.map(|t| t.p),
        p_joint,
        p_adjusted: p_joint,
        line_fits: p_joint >= 1.0 - confidence,
    })
}

/// Counts and means by value of the dial.
fn values(season: &Season, place: &Place) -> Vec<DialValue> {
    let value = |level: usize| {
        let (mut ends, mut arrows, mut sum, mut ss, mut df) = (0, 0.0, [0.0; 2], 0.0, 0.0);
        for (e, end) in season.ends.iter().enumerate() {
            if season.states[end.segment].levels[0] != Some(level) {
                continue;
            }
            ends += 1;
            let n = end.arrows as f64;
            arrows += n;
            ss += end.ss[0] + end.ss[1];
            df += 2.0 * (n - 1.0);
            for (axis, sum) in sum.iter_mut().enumerate() {
                let aside = place.axes[axis].as_ref().map_or(0.0, |fit| fit.aside[e]);
                *sum += n * (end.mean[axis] - aside);
            }
        }
        let mean_mrad = sum.map(|s| s / arrows);
        let sd_mrad = (df > 0.0).then(|| (ss / df).sqrt());
        DialValue {
            value: season.settings[0].values[level],
            ends,
            arrows: season.counts[level].arrows,
            flyers: season.counts[level].flyers,
            mean_mrad,
            mean_mm: mean_mrad.map(|m| m * season.distance_m),
            sd_mrad,
            sd_mm: sd_mrad.map(|sd| sd * season.distance_m),
        }
    };
    (0..season.settings[0].values.len()).map(value).collect()
}

fn told_spread(season: &Season, spread: &Spread, confidence: f64, notes: &mut Vec<String>) -> DialSpread {
    let inseparable_from = names(season, &spread.inseparable_from, spread.session);
    if !inseparable_from.is_empty() {
        notes.push(format!("spread: it cannot be told apart from {}", inseparable_from.join(", ")));
    } else if spread.curvature.is_none() && spread.slope.is_none() {
        notes.push("spread: too few ends of two or more arrows to tell; shoot more".into());
    } else if spread.curvature.is_none() {
        notes
            .push("spread.smallest_at: the groups cannot tell a curve; shoot more values or sessions".into());
    }
    let ratio = spread.slope.filter(|_| inseparable_from.is_empty());
    let range = &season.settings[0].values;
    let outside = |[low, high]: [f64; 2]| low < range[0] || high > range[range.len() - 1];
    if spread.smallest.and_then(|s| s.interval).is_some_and(outside) {
        notes
            .push("spread.smallest_at_interval: it reaches beyond the values shot; shoot further out".into());
    }
    DialSpread {
        best: if spread.smallest.is_some() { Best::Shown } else { Best::NoneShown },
        smallest_at: spread.smallest.map(|s| s.at),
        smallest_at_interval: spread.smallest.and_then(|s| s.interval),
        curvature_log_sd_per_unit2: spread.curvature.map(|c| c.estimate),
        curvature_interval: spread.curvature.and_then(|c| interval(&c, confidence)),
        curvature_df: spread.curvature.map(|c| c.df),
        curvature_p: spread.curvature.map(|c| c.p),
        sd_ratio_per_unit: ratio.and_then(|r| ratio_of(r.estimate)),
        sd_ratio_per_unit_interval: ratio
            .and_then(|r| interval(&r, confidence))
            .and_then(|ends| both(ends.map(ratio_of))),
        sd_ratio_df: ratio.map(|r| r.df),
        sd_ratio_p: ratio.map(|r| r.p),
        inseparable_from,
    }
}

/// Returns the ratio of a log ratio; beyond a factor of a million it says nothing.
fn ratio_of(log: f64) -> Option<f64> {
    (log.abs() < 6.0 * std::f64::consts::LN_10).then(|| libm::exp(log))
}

/// Names what the dial cannot be told apart from.
fn names(season: &Season, terms: &[Term], session: bool) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for term in terms {
        match term {
            Term::Epoch(e) => names.push(season.epochs[*e].clone()),
            Term::Setting(s) => names.push(season.settings[*s].name.clone()),
            Term::Step(s) => names.extend(season.steps[*s].iter().cloned()),
            Term::Constant | Term::Dial | Term::Beyond => {}
        }
    }
    if session {
        names.push("session".into());
    }
    names
}

/// Returns what to shoot: the dial as far from where it is now as it was, with everything else left alone.
fn separate(season: &Season, place: &Place) -> Option<Separate> {
    if place.design.dial.is_some() {
        return None;
    }
    let dial = &season.settings[0];
    let now = dial.now?;
    let [low, high] = [dial.values[0], dial.values[dial.values.len() - 1]];
    let dial_at = if now - low >= high - now { low } else { high };
    let (mut left_at, mut left_alone) = (BTreeMap::new(), Vec::new());
    for term in place.inseparable_from() {
        match term {
            Term::Setting(s) => match season.settings[*s].now {
                Some(value) => drop(left_at.insert(season.settings[*s].name.clone(), value)),
                None => left_alone.push(season.settings[*s].name.clone()),
            },
            other => left_alone.extend(names(season, std::slice::from_ref(other), false)),
        }
    }
    Some(Separate { dial_at, left_at, left_alone })
}

fn separate_words(dial: &str, separate: &Separate) -> String {
    let mut left: Vec<String> =
        separate.left_at.iter().map(|(name, value)| format!("{name} left at {value}")).collect();
    left.extend(separate.left_alone.iter().map(|name| format!("{name} left alone")));
    format!("shoot {dial} at {} with {}", separate.dial_at, left.join(" and "))
}

#[cfg(test)]
mod tests;
