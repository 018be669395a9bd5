//! Where: the shift of every step on both axes, by a mixed model of the ends' means.
//!
//! # Formula
//! By axis, mrad = sight epoch + stretch + session + end + noise, by REML; a shift is the difference of
//! neighbouring stretches, tested by Kenward and Roger's method. The noise variance of a stretch is that of
//! the season times a given factor.
//! # Units
//! mrad.
//! # Source
//! As [`crate::stats::mixed`].
//! # Limits
//! Steps that the design cannot tell apart have no shift.

use std::collections::{BTreeMap, BTreeSet};

use nalgebra::DMatrix;

use super::prepare::{End, Season};
use super::rank::{Design, Separation};
use crate::stats::mixed::{Components, KenwardRoger, Reduced, Session, Stratum, Within, reml};
use crate::stats::special::tails;

/// A shift on one axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shift {
    pub estimate: f64,
    pub se: f64,
    pub df: f64,
    pub p: f64,
}

/// The fit of one axis.
#[derive(Debug, Clone)]
pub(super) struct AxisFit {
    /// By the stretch before the step; `None` where it cannot be estimated.
    pub shifts: Vec<Option<Shift>>,
    pub var_session: Option<f64>,
    pub var_end: Option<f64>,
    pub var_noise: f64,
}

/// Fits both axes; `noise` is the factor of each stretch. An axis without noise to judge by is `None`.
pub(super) fn fit(season: &Season, design: &Design, noise: &[f64]) -> [Option<AxisFit>; 2] {
    let frame = Frame::new(season, design, noise);
    [0, 1].map(|axis| fit_axis(season, design, &frame.reduced(season, noise, axis)))
}

fn fit_axis(season: &Season, design: &Design, data: &Reduced) -> Option<AxisFit> {
    let reml = reml(data, Components { session: design.session_variance, end: true })?;
    let kr = KenwardRoger::new(data, &reml.fit, reml.components);
    let beta = &reml.fit.beta;
    let shifts = (0..season.segments - 1)
        .map(|k| {
            if design.steps[k] != Separation::Estimable {
                return None;
            }
            let v = kr.contrast(&[(k, -1.0), (k + 1, 1.0)]);
            let (estimate, se) = (beta[k + 1] - beta[k], (v.adjusted * reml.noise).sqrt());
            let p = tails::t_two_sided(estimate / se, v.df)?;
            (v.df.is_finite() && se.is_finite()).then_some(Shift { estimate, se, df: v.df, p })
        })
        .collect();
    let variance = |present: bool, ratio: f64| present.then_some(ratio * reml.noise);
    Some(AxisFit {
        shifts,
        var_session: variance(reml.components.session, reml.fit.ratios.session),
        var_end: variance(reml.components.end, reml.fit.ratios.end),
        var_noise: reml.noise,
    })
}

/// The ends of each session gathered by what makes them exchangeable: stretch, epoch and number of arrows.
struct Frame<'a> {
    sessions: Vec<(Vec<usize>, Vec<Gathered<'a>>)>,
    columns: usize,
}

struct Gathered<'a> {
    columns: [Option<usize>; 2],
    weight: f64,
    ends: Vec<&'a End>,
}

impl<'a> Frame<'a> {
    fn new(season: &'a Season, design: &Design, noise: &[f64]) -> Self {
        type Cells<'a> = BTreeMap<(usize, usize, usize), Vec<&'a End>>;
        let mut sessions: Vec<Cells> = vec![BTreeMap::new(); season.sessions];
        for end in &season.ends {
            sessions[end.session].entry((end.segment, end.epoch, end.arrows)).or_default().push(end);
        }
        let gather = |((segment, epoch, arrows), ends): ((usize, usize, usize), Vec<&'a End>)| Gathered {
            columns: [Some(segment), design.epoch_columns[epoch]],
            weight: arrows as f64 / noise[segment],
            ends,
        };
        let sessions = sessions
            .into_iter()
            .map(|strata| {
                let strata: Vec<Gathered> = strata.into_iter().map(gather).collect();
                let columns: BTreeSet<usize> = strata.iter().flat_map(|s| s.columns).flatten().collect();
                (columns.into_iter().collect(), strata)
            })
            .collect();
        Self { sessions, columns: design.columns }
    }

    fn reduced(&self, season: &Season, noise: &[f64], axis: usize) -> Reduced {
        let sessions = self.sessions.iter().map(|(columns, strata)| {
            let place = |c: usize| columns.iter().position(|k| *k == c);
            let mut x = DMatrix::zeros(strata.len(), columns.len());
            for (i, stratum) in strata.iter().enumerate() {
                for c in stratum.columns.iter().flatten().filter_map(|c| place(*c)) {
                    x[(i, c)] = 1.0;
                }
            }
            Session { columns: columns.clone(), x, strata: strata.iter().map(|s| s.stratum(axis)).collect() }
        });
        let scatter = |e: &End| e.ss[axis] / noise[e.segment];
        Reduced {
            columns: self.columns,
            sessions: sessions.collect(),
            within: Within {
                x: None,
                yy: season.ends.iter().map(scatter).sum(),
                df: season.ends.iter().map(|e| e.arrows as f64 - 1.0).sum(),
            },
            observations: season.ends.iter().map(|e| e.arrows as f64).sum(),
            log_noise_scale: season.ends.iter().map(|e| e.arrows as f64 * libm::log(noise[e.segment])).sum(),
            least_session: 0.0,
        }
    }
}

impl Gathered<'_> {
    fn stratum(&self, axis: usize) -> Stratum {
        let ends = self.ends.len() as f64;
        let y = self.ends.iter().map(|e| e.mean[axis]).sum::<f64>() / ends;
        let scatter = self.ends.iter().map(|e| (e.mean[axis] - y) * (e.mean[axis] - y)).sum();
        Stratum { weight: self.weight, ends, y, scatter }
    }
}
