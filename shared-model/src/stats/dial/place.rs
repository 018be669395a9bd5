//! Where: the shift per unit of the dial on both axes, and whether its values lie on a line.
//!
//! # Formula
//! By axis, mrad = sight epoch + slope dial + other settings + steps of changes + session + end + noise, by REML;
//! the slope is tested by Kenward and Roger's method. Straightness: every value of the dial but the outer two may
//! leave the line, and Kenward and Roger's F tests that none does. The noise variance of a state of the bow is
//! that of the season times a given factor.
//! # Units
//! mrad, and mrad per unit of the dial.
//! # Source
//! Kenward and Roger, Biometrics 53 (1997); the rest as [`crate::stats::mixed`].
//! # Limits
//! Values that other columns stand for are not free of the line, so that with three values there may be no test.

use nalgebra::DMatrix;

use super::design::{Asked, Design, Term, design};
use super::gather::{Observed, gather};
use super::prepare::Season;
use crate::stats::mixed::{Components, JointTest, KenwardRoger, Reduced, Reml, Within, reml};
use crate::stats::special::tails;

/// A quantity per unit of the dial.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slope {
    pub estimate: f64,
    pub se: f64,
    pub df: f64,
    pub p: f64,
}

/// The fit of one axis.
#[derive(Debug, Clone)]
pub(super) struct AxisFit {
    pub slope: Option<Slope>,
    /// By end, what is fitted to everything but the dial, about its mean over arrows.
    pub aside: Vec<f64>,
    pub var_session: Option<f64>,
    pub var_end: Option<f64>,
    pub var_noise: f64,
}

/// What is known of the place of groups.
pub(super) struct Place {
    pub design: Design,
    /// An axis without noise to judge by is `None`.
    pub axes: [Option<AxisFit>; 2],
    /// The test of the line; `None` where no value is free of it.
    pub straight: [Option<JointTest>; 2],
}

impl Place {
    /// Returns whether the groups can tell the dial from everything else.
    pub fn separable(&self) -> bool {
        self.design.dial.is_some() && !self.design.session
    }

    /// Names what the dial cannot be told apart from.
    pub fn inseparable_from(&self) -> &[Term] {
        &self.design.inseparable_from
    }
}

/// Fits both axes; `noise` is the factor of each state.
pub(super) fn fit(season: &Season, noise: &[f64]) -> Place {
    let line = design(season, &Asked { epochs: true, squares: false, beyond: &[] }, |_| true);
    let axes = [0, 1].map(|axis| fit_axis(season, &line, noise, axis));
    let free = free_values(season);
    let curve = design(season, &Asked { epochs: true, squares: false, beyond: &free }, |_| true);
    let straight = [0, 1].map(|axis| if line.session { None } else { test(season, &curve, noise, axis) });
    Place { design: line, axes, straight }
}

/// Returns by state a column for each value of the dial but the outer two.
fn free_values(season: &Season) -> Vec<Vec<f64>> {
    let inner = 1..season.settings[0].values.len().saturating_sub(1);
    let column =
        |level| season.states.iter().map(|s| f64::from(u8::from(s.levels[0] == Some(level)))).collect();
    inner.map(column).collect()
}

fn fit_axis(season: &Season, design: &Design, noise: &[f64], axis: usize) -> Option<AxisFit> {
    let (data, reml) = fitted(season, design, noise, axis)?;
    let kr = KenwardRoger::new(&data, &reml.fit, reml.components);
    let beta = &reml.fit.beta;
    let slope = design.dial.filter(|_| !design.session).and_then(|dial| {
        let reach = season.settings[0].reach();
        let v = kr.contrast(&[(dial, 1.0 / reach)]);
        let (estimate, se) = (beta[dial] / reach, (v.adjusted * reml.noise).sqrt());
        let p = tails::t_two_sided(estimate / se, v.df)?;
        (v.df.is_finite() && se.is_finite()).then_some(Slope { estimate, se, df: v.df, p })
    });
    let variance = |present: bool, ratio: f64| present.then_some(ratio * reml.noise);
    Some(AxisFit {
        slope,
        aside: aside(season, design, beta.as_slice()),
        var_session: variance(reml.components.session, reml.fit.ratios.session),
        var_end: variance(reml.components.end, reml.fit.ratios.end),
        var_noise: reml.noise,
    })
}

fn aside(season: &Season, design: &Design, beta: &[f64]) -> Vec<f64> {
    let others = |row: usize| {
        let all = (0..beta.len()).filter(|j| Some(*j) != design.dial);
        all.map(|j| design.x[(row, j)] * beta[j]).sum::<f64>()
    };
    let each: Vec<f64> = season.ends.iter().map(|e| others(design.cells[&(e.segment, e.epoch)])).collect();
    let arrows = |e: usize| season.ends[e].arrows as f64;
    let total: f64 = (0..each.len()).map(arrows).sum();
    let mean = each.iter().enumerate().map(|(e, v)| arrows(e) * v).sum::<f64>() / total;
    each.iter().map(|v| v - mean).collect()
}

fn test(season: &Season, design: &Design, noise: &[f64], axis: usize) -> Option<JointTest> {
    if design.dial.is_none() || design.beyond.is_empty() {
        return None;
    }
    let (data, reml) = fitted(season, design, noise, axis)?;
    let kr = KenwardRoger::new(&data, &reml.fit, reml.components);
    let l = DMatrix::from_fn(design.beyond.len(), data.columns, |i, j| {
        f64::from(u8::from(design.beyond[i] == j))
    });
    let test = kr.joint(&l, &reml.fit.beta, reml.noise)?;
    (test.f.is_finite() && test.ddf.is_finite()).then_some(test)
}

fn fitted(season: &Season, design: &Design, noise: &[f64], axis: usize) -> Option<(Reduced, Reml)> {
    let observed: Vec<Observed> = season
        .ends
        .iter()
        .map(|e| Observed {
            session: e.session,
            row: design.cells[&(e.segment, e.epoch)],
            weight: e.arrows as f64 / noise[e.segment],
            y: e.mean[axis],
        })
        .collect();
    let within = Within {
        x: None,
        yy: season.ends.iter().map(|e| e.ss[axis] / noise[e.segment]).sum(),
        df: season.ends.iter().map(|e| e.arrows as f64 - 1.0).sum(),
    };
    let arrows = season.ends.iter().map(|e| e.arrows as f64).sum();
    let scale = season.ends.iter().map(|e| e.arrows as f64 * libm::log(noise[e.segment])).sum();
    let data = gather(&design.x, &observed, within, arrows, scale);
    let reml = reml(&data, Components { session: design.session_variance, end: true })?;
    Some((data, reml))
}
