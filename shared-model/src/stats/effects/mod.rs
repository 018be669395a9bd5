//! Effects: which change moved the groups, which one made them tighter, and what that is worth.
//!
//! # Formula
//! Ends are pooled about their means ([`prepare`]). Where: a mixed model with a step at every change
//! ([`shift`]). How tight: a regression of the scatter within ends ([`tight`]). Worth: expected points after
//! less before ([`worth`]). The p-value of a shift is twice the smaller of its axes'; p-values are corrected
//! by Holm over the changes that are judged and can be told apart ([`words`]).
//! # Units
//! Points in mm on the face, x to the right, y up; shifts in mrad (mm at 1 m); distances in m.
//! # Source
//! Kenward and Roger, Biometrics 53 (1997); Holm, Scandinavian Journal of Statistics 6 (1979); two one-sided
//! tests: Schuirmann, J. Pharmacokin. Biopharm. 15 (1987).
//! # Limits
//! At least one arrow. A step that the design cannot tell from sessions, sight moves or other steps is said
//! to be inseparable from them, and the others are still estimated.

mod input;
mod output;
mod prepare;
mod rank;
mod shift;
mod tight;
mod words;
mod worth;

use crate::ModelError;
use crate::face::check_shaft;
use crate::rng::Seed;
pub use input::{Change, EffectsInput, Group, Noise};
pub use output::{Effect, Effects, Location, Tightness};
pub(crate) use prepare::distance_with_most_arrows;
pub(super) use prepare::{End, EndName, Names, add_points, check_group, epoch_name, session_name};
use prepare::{Season, Step};
use rank::{Design, Separation};
use shift::AxisFit;
use tight::Spreads;
pub use words::RATIO_THAT_MATTERS;
use words::{Evidence, Measure};
use worth::{LogRatio, Worth};

/// Says of every change of a season what it did to the groups.
///
/// # Errors
/// When a number, a time, a name or a place in a list is wrong, with the path of its field.
pub fn effects(input: &EffectsInput) -> Result<Effects, ModelError> {
    check(input)?;
    let season = prepare::season(input)?;
    let names = |step: &Step| step.changes.iter().map(|i| input.changes[*i].id.clone()).collect::<Vec<_>>();
    let inner = |k: usize| season.steps.iter().find(|s| s.before == Some(k)).map_or_else(Vec::new, names);
    let design = rank::design(&season, inner);
    let spreads = tight::fit(&season);
    let axes = shift::fit(&season, &design, &noise_factors(input.noise, &season, &spreads));
    let sigma = both(&axes).map(|[x, y]| (0.5 * (x.var_noise + y.var_noise)).sqrt());
    let matters = input.matters_mm.map(|mm| mm / season.distance_m).or(sigma.map(|s| 0.5 * s));
    let judged: Vec<&Step> = season.steps.iter().filter(|step| is_judged(input, step)).collect();
    let evidence: Vec<Evidence> = judged.iter().map(|step| gather(step, &design, &axes, &spreads)).collect();
    let mut list: Vec<Effect> =
        judged.iter().map(|step| blank(input, &season, step, &design, names(step))).collect();
    words::write(&mut list, &evidence, Measure { confidence: input.confidence, matters_mrad: matters });
    add_worth(input, &season, &judged, &spreads, &evidence, &mut list);
    Ok(Effects {
        effects: list,
        var_session_mrad2: axes.each_ref().map(|a| a.as_ref().and_then(|a| a.var_session)),
        var_end_mrad2: axes.each_ref().map(|a| a.as_ref().and_then(|a| a.var_end)),
        var_noise_mrad2: axes.each_ref().map(|a| a.as_ref().map(|a| a.var_noise)),
        session_log_sd: spreads.session_log_sd,
        sigma_mrad: sigma,
        matters_mrad: matters,
        distance_m: season.distance_m,
        notes: season_notes(&season, &axes),
    })
}

fn check(input: &EffectsInput) -> Result<(), ModelError> {
    if !(0.5..1.0).contains(&input.confidence) {
        let message = format!("the confidence is {}; it has to be from 0.5 to below 1", input.confidence);
        return Err(ModelError::new("out_of_range", message).at("confidence"));
    }
    if let Some(mm) = input.matters_mm.filter(|mm| !(mm.is_finite() && *mm > 0.0)) {
        let message = format!("the shift that matters is {mm} mm; it has to be above 0");
        return Err(ModelError::new("out_of_range", message).at("matters_mm"));
    }
    check_shaft(input.shaft_diameter_mm)?;
    if input.groups.is_empty() {
        let message = "there are no groups; give at least one with its time, distance and points";
        return Err(ModelError::new("no_groups", message).at("groups"));
    }
    Ok(())
}

fn both(axes: &[Option<AxisFit>; 2]) -> Option<[&AxisFit; 2]> {
    Some([axes[0].as_ref()?, axes[1].as_ref()?])
}

fn is_judged(input: &EffectsInput, step: &Step) -> bool {
    let asked = |i: &usize| input.judge.as_ref().is_none_or(|ids| ids.contains(&input.changes[*i].id));
    step.changes.iter().any(asked)
}

/// Returns the noise variance of each stretch relative to that of the season, 1 on average over arrows.
fn noise_factors(noise: Noise, season: &Season, spreads: &Spreads) -> Vec<f64> {
    let mut arrows = vec![0.0; season.segments];
    season.ends.iter().for_each(|e| arrows[e.segment] += e.arrows as f64);
    let known = || spreads.variances.iter().zip(&arrows).filter_map(|(v, n)| v.map(|v| (v, *n)));
    let (sum, total) = known().fold((0.0, 0.0), |(s, t), (v, n)| (s + v * n, t + n));
    if noise == Noise::Equal || sum == 0.0 {
        return vec![1.0; season.segments];
    }
    let mean = sum / total;
    spreads.variances.iter().map(|v| v.map_or(1.0, |v| v / mean)).collect()
}

fn gather(step: &Step, design: &Design, axes: &[Option<AxisFit>; 2], spreads: &Spreads) -> Evidence {
    let (Some(k), Some(_)) = (step.before, step.after) else {
        return Evidence { separable: false, shift: None, spread_separable: false, spread: None };
    };
    let shift = both(axes).and_then(|[x, y]| Some([x.shifts[k]?, y.shifts[k]?]));
    Evidence {
        separable: design.steps[k] == Separation::Estimable,
        shift,
        spread_separable: spreads.separable[k],
        spread: spreads.changes[k],
    }
}

/// Makes an effect with its counts, whose figures are still to be written.
fn blank(
    input: &EffectsInput,
    season: &Season,
    step: &Step,
    design: &Design,
    changes: Vec<String>,
) -> Effect {
    let count = |side: Option<usize>| side.map(|k| season.counts[k]).unwrap_or_default();
    let (before, after) = (count(step.before), count(step.after));
    let mut notes = Vec::new();
    let mut inseparable_from = Vec::new();
    match (step.before, step.after) {
        (None, _) => notes.push("no group was shot before this change".to_owned()),
        (_, None) => notes.push("no group has been shot since this change".to_owned()),
        (Some(k), Some(_)) => {
            if let Separation::Inseparable(from) = &design.steps[k] {
                notes.push(why_inseparable(from));
                inseparable_from = from.clone();
            }
        }
    }
    Effect {
        changes,
        at: input.changes[step.changes[0]].at,
        ends_before: before.ends,
        ends_after: after.ends,
        arrows_before: before.arrows,
        arrows_after: after.arrows,
        flyers_before: before.flyers,
        flyers_after: after.flyers,
        shift_mrad: None,
        shift_se_mrad: None,
        shift_df: None,
        shift_interval_mrad: None,
        shift_p: None,
        shift_p_adjusted: None,
        sd_ratio: None,
        sd_ratio_interval: None,
        spread_p: None,
        spread_p_adjusted: None,
        points_per_arrow: None,
        points_per_arrow_interval: None,
        points_per_arrow_resighted: None,
        points_per_arrow_resighted_interval: None,
        location: Location::Unsettled,
        tight: Tightness::Unsettled,
        detectable_shift_mrad: None,
        ends_to_settle: None,
        inseparable_from,
        notes,
    }
}

fn why_inseparable(from: &[String]) -> String {
    if from == ["session"] {
        return "shift: no session has groups on both sides of this change, and too few sessions are left to \
                know how sessions differ; shoot both settings in one session"
            .into();
    }
    format!("shift: it happened together with {}; shoot both sides at one sight setting", from.join(", "))
}

fn add_worth(
    input: &EffectsInput,
    season: &Season,
    judged: &[&Step],
    spreads: &Spreads,
    evidence: &[Evidence],
    list: &mut [Effect],
) {
    let Some(face) = &input.face else {
        list.iter_mut().for_each(|e| e.notes.push("points_per_arrow: no face was given".into()));
        return;
    };
    let worth = Worth::new(face, input.shaft_diameter_mm, season.distance_m, input.confidence);
    for (i, effect) in list.iter_mut().enumerate() {
        let (seed, evidence) = (Seed(i as u64), &evidence[i]);
        let Some(sd) = judged[i].before.and_then(|k| spreads.level(k)) else { continue };
        if let Some(spread) = evidence.spread {
            let gain = worth.resighted(spread.log_ratio, sd, seed);
            effect.points_per_arrow_resighted = Some(gain.points);
            effect.points_per_arrow_resighted_interval = Some(gain.interval);
        }
        if let Some(shift) = &evidence.shift {
            let unchanged = LogRatio { estimate: 0.0, se: 0.0, df: 1.0 };
            if evidence.spread.is_none() {
                effect.notes.push("points_per_arrow: the spread is taken as unchanged".into());
            }
            let gain = worth.left_alone(shift, evidence.spread.map_or(unchanged, |s| s.log_ratio), sd, seed);
            effect.points_per_arrow = Some(gain.points);
            effect.points_per_arrow_interval = Some(gain.interval);
        }
    }
}

fn season_notes(season: &Season, axes: &[Option<AxisFit>; 2]) -> Vec<String> {
    let mut notes = season.notes.clone();
    for (name, axis) in ["x", "y"].iter().zip(axes) {
        match axis {
            None => notes.push(format!("{name}: no scatter is left to judge by; shoot more ends")),
            Some(fit) => {
                if fit.var_session.is_none() {
                    notes
                        .push(format!("var_session_mrad2, {name}: the data cannot tell how sessions differ"));
                }
                if fit.var_end.is_none() {
                    notes.push(format!(
                        "var_end_mrad2, {name}: the data cannot tell ends from arrows or sessions"
                    ));
                }
            }
        }
    }
    notes
}
