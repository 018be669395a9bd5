//! How tight: the change of spread at every step, and the spread of every stretch.

use super::prepare::{End, Season};
use super::rank;
use super::worth::LogRatio;
use crate::stats::spread_steps::{EndScatter, fit as fit_steps};

/// The change of spread at a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct SpreadChange {
    pub log_ratio: LogRatio,
    pub p: f64,
}

/// The spread of a season.
#[derive(Debug, Clone)]
pub(super) struct Spreads {
    /// Variance of an arrow on one axis about its end by stretch; `None` where no end has two arrows.
    pub variances: Vec<Option<f64>>,
    /// By the stretch before the step; `None` where the spread's model cannot tell it.
    pub changes: Vec<Option<SpreadChange>>,
    /// Whether the design can tell the step at all.
    pub separable: Vec<bool>,
    /// SD of the log SD from session to session; `None` where the data cannot tell it.
    pub session_log_sd: Option<f64>,
}

impl Spreads {
    /// Returns the geometric mean of the SDs in mrad before and after the step that follows stretch `k`, or
    /// of the one that is known.
    pub fn level(&self, k: usize) -> Option<f64> {
        let sd = |k: usize| self.variances.get(k).copied().flatten().map(f64::sqrt);
        match (sd(k), sd(k + 1)) {
            (Some(a), Some(b)) => Some((a * b).sqrt()),
            (a, b) => a.or(b),
        }
    }
}

/// Fits the spread of every stretch and its change at every step.
pub(super) fn fit(season: &Season) -> Spreads {
    let ends: Vec<EndScatter> = season.ends.iter().map(End::scatter).collect();
    let (separable, sessions_vary) = rank::spread_separable(season);
    let fitted = fit_steps(&ends, season.segments, &separable, sessions_vary);
    let change = |step: Option<crate::stats::spread_steps::SpreadStep>| {
        step.map(|s| SpreadChange {
            log_ratio: LogRatio { estimate: 0.5 * s.log_variance, se: 0.5 * s.se, df: s.df },
            p: s.p,
        })
    };
    Spreads {
        variances: fitted.variances,
        changes: fitted.steps.into_iter().map(change).collect(),
        separable,
        session_log_sd: fitted.session_log_variance.map(|v| 0.5 * v.sqrt()),
    }
}
