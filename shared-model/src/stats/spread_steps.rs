//! Spread at every change: by how much the scatter within ends differs before and after, when sessions have
//! good and bad days of their own.
//!
//! # Formula
//! The radial scatter of an end about its own mean is ss ~ s^2 f chi-square(df), df = 2 (arrows - 1), with s^2
//! of its stretch and f a factor of its session. Its logarithm is unbiased for log s^2 + log f once
//! digamma(df/2) + log 2 is taken off, with variance trigamma(df/2); so
//! log ss - digamma(df/2) - log 2 = stretch + session + noise, noise variance w trigamma(df/2),
//! is a mixed model, fitted by REML and tested by Kenward and Roger's method, which knows how few the
//! sessions are. The session variance may be estimated below zero, as a covariance of the ends of a session:
//! held at zero, it is too large on average where sessions have none, and intervals hold the truth in 97 to 99 %
//! instead of 95 %. The dispersion w is estimated from the ends, and errors are never narrower than those of
//! w = 1. An SD ratio is exp(half the difference of two stretches).
//! # Units
//! ss in any unit squared; differences of log variance.
//! # Source
//! Bartlett and Kendall, Suppl. J. R. Statist. Soc. 8 (1946), for the logarithm of a variance; Abramowitz and
//! Stegun 26.4.36 for its moments; Nelder, Biometrika 41 (1954), for variances below zero; Kenward and Roger, Biometrics 53 (1997).
//! # Limits
//! Ends of two arrows or more. Against the Gamma likelihood of normal arrows the logarithm uses 90 % of what
//! ends of six arrows tell (78 % of three), and keeps its error rate when arrows have long tails. An end with
//! all arrows in one hole counts as a hundredth of the season's median scatter.

use super::mixed::{Components, KenwardRoger, Reduced, Session, Stratum, Within, reml};
use crate::stats::special::tails;
use nalgebra::DMatrix;
use statrs::function::gamma::digamma;
use std::collections::{BTreeMap, BTreeSet};

/// How far below zero the session variance may be estimated, as a share of what would make the mean of the
/// heaviest session known without error.
const LEAST_SESSION: f64 = 0.9;

/// The scatter of one end about its own mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EndScatter {
    /// Sum of squares on both axes.
    pub ss: f64,
    /// Degrees of freedom, 2 (arrows - 1); ends with none are passed over.
    pub df: f64,
    /// The stretch between two changes that it lies in, from 0.
    pub segment: usize,
    /// Its session, from 0.
    pub session: usize,
}

/// The change of spread at a step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpreadStep {
    /// Log variance after less before.
    pub log_variance: f64,
    /// Its standard error.
    pub se: f64,
    /// Its degrees of freedom.
    pub df: f64,
    /// Two-sided p-value that there is no change.
    pub p: f64,
}

/// The spread of a season.
#[derive(Debug, Clone, PartialEq)]
pub struct SpreadFit {
    /// By the stretch before the step; `None` where the ends cannot tell.
    pub steps: Vec<Option<SpreadStep>>,
    /// Variance of an arrow about its end by stretch, on one axis; `None` where no end has two arrows.
    pub variances: Vec<Option<f64>>,
    /// Variance of the sessions' log variance; `None` where the data cannot tell it.
    pub session_log_variance: Option<f64>,
}

/// Fits the change of spread between neighbouring stretches; `estimable` names the steps that the design can
/// tell apart, `sessions_vary` whether it can tell the sessions' factor.
pub fn fit(ends: &[EndScatter], segments: usize, estimable: &[bool], sessions_vary: bool) -> SpreadFit {
    let ends: Vec<EndScatter> = ends.iter().copied().filter(|e| e.df > 0.0).collect();
    let mut found = SpreadFit {
        steps: vec![None; segments.saturating_sub(1)],
        variances: pooled(&ends, segments),
        session_log_variance: None,
    };
    let present: BTreeSet<usize> = ends.iter().map(|e| e.segment).collect();
    let columns: BTreeMap<usize, usize> = present.into_iter().enumerate().map(|(c, k)| (k, c)).collect();
    let Some(least) = least_scatter(&ends) else { return found };
    let data = reduced(&ends, &columns, least);
    let Some(reml) = reml(&data, Components { session: sessions_vary, end: false }) else { return found };
    let kr = KenwardRoger::new(&data, &reml.fit, reml.components);
    let noise = reml.noise.max(1.0);
    for (k, step) in found.steps.iter_mut().enumerate() {
        let (Some(a), Some(b), Some(true)) = (columns.get(&k), columns.get(&(k + 1)), estimable.get(k))
        else {
            continue;
        };
        let v = kr.contrast(&[(*a, -1.0), (*b, 1.0)]);
        let (estimate, se) = (reml.fit.beta[*b] - reml.fit.beta[*a], (v.adjusted * noise).sqrt());
        let p = tails::t_two_sided(estimate / se, v.df).filter(|_| v.df.is_finite() && se.is_finite());
        *step = p.map(|p| SpreadStep { log_variance: estimate, se, df: v.df, p });
    }
    found.session_log_variance =
        reml.components.session.then_some(reml.fit.ratios.session.max(0.0) * reml.noise);
    found
}

fn pooled(ends: &[EndScatter], segments: usize) -> Vec<Option<f64>> {
    let mut sums = vec![(0.0, 0.0); segments];
    for end in ends {
        sums[end.segment].0 += end.ss;
        sums[end.segment].1 += end.df;
    }
    sums.iter().map(|(ss, df)| (*ss > 0.0).then(|| ss / df)).collect()
}

/// Returns a hundredth of the median scatter a degree of freedom; `None` where all arrows are in one hole.
pub(super) fn least_scatter(ends: &[EndScatter]) -> Option<f64> {
    let mut each: Vec<f64> = ends.iter().map(|e| e.ss / e.df).filter(|v| *v > 0.0).collect();
    each.sort_by(f64::total_cmp);
    each.get(each.len() / 2).map(|median| 0.01 * median)
}

fn reduced(ends: &[EndScatter], columns: &BTreeMap<usize, usize>, least: f64) -> Reduced {
    // Ends of one session and stretch with the same number of arrows are exchangeable.
    type Cells = BTreeMap<(usize, u64), Vec<f64>>;
    let mut sessions: BTreeMap<usize, Cells> = BTreeMap::new();
    let mut log_noise_scale = 0.0;
    for end in ends {
        let z = log_variance(end, least);
        let cells = sessions.entry(end.session).or_default();
        cells.entry((columns[&end.segment], end.df.to_bits())).or_default().push(z);
        log_noise_scale += libm::log(trigamma(0.5 * end.df));
    }
    let session = |cells: Cells| {
        let own: BTreeSet<usize> = cells.keys().map(|(c, _)| *c).collect();
        let own: Vec<usize> = own.into_iter().collect();
        let rows: Vec<usize> = cells.keys().map(|(c, _)| *c).collect();
        let x = DMatrix::from_fn(rows.len(), own.len(), |i, j| f64::from(u8::from(rows[i] == own[j])));
        let strata = cells.into_iter().map(|((_, df), z)| stratum(f64::from_bits(df), &z)).collect();
        Session { columns: own, x, strata }
    };
    let sessions: Vec<Session> = sessions.into_values().map(session).collect();
    let weight = |s: &Session| s.strata.iter().map(|s| s.ends * s.weight).sum::<f64>();
    let heaviest = sessions.iter().map(weight).fold(f64::MIN_POSITIVE, f64::max);
    Reduced {
        columns: columns.len(),
        sessions,
        within: Within { x: None, yy: 0.0, df: 0.0 },
        observations: ends.len() as f64,
        log_noise_scale,
        least_session: -LEAST_SESSION / heaviest,
    }
}

/// Returns an unbiased value of the log variance of an end's arrows; a scatter below `least` a degree of freedom
/// counts as that.
pub(super) fn log_variance(end: &EndScatter, least: f64) -> f64 {
    libm::log(end.ss.max(least * end.df)) - digamma(0.5 * end.df) - core::f64::consts::LN_2
}

fn stratum(df: f64, z: &[f64]) -> Stratum {
    let ends = z.len() as f64;
    let y = z.iter().sum::<f64>() / ends;
    let scatter = z.iter().map(|z| (z - y) * (z - y)).sum();
    Stratum { weight: 1.0 / trigamma(0.5 * df), ends, y, scatter }
}

/// Returns the second derivative of the logarithm of the Gamma function, for x above 0: by the recurrence up to
/// 10 and the asymptotic series beyond (Abramowitz and Stegun 6.4.6 and 6.4.12).
pub(super) fn trigamma(x: f64) -> f64 {
    let (mut x, mut sum) = (x, 0.0);
    while x < 10.0 {
        sum += 1.0 / (x * x);
        x += 1.0;
    }
    let (i, i2) = (1.0 / x, 1.0 / (x * x));
    sum + i + 0.5 * i2 + i * i2 * (1.0 / 6.0 - i2 * (1.0 / 30.0 - i2 * (1.0 / 42.0 - i2 / 30.0)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::rng::{Rng, Seed};

    #[test]
    fn trigamma_has_its_closed_values() {
        let pi2 = core::f64::consts::PI * core::f64::consts::PI;
        for (x, want) in
            [(1.0, pi2 / 6.0), (0.5, pi2 / 2.0), (3.0, pi2 / 6.0 - 1.25), (20.0, 0.051_270_822_934_965)]
        {
            assert!((trigamma(x) - want).abs() < 1e-11, "{x}: {} {want}", trigamma(x));
        }
    }

    fn season(ratio: f64, hole: bool) -> Vec<EndScatter> {
        let mut rng = Rng::new(Seed(11));
        let mut ends = Vec::new();
        for session in 0..20 {
            for end in 0..8 {
                let segment = usize::from(session * 8 + end >= 84);
                let sd = if segment == 1 { ratio } else { 1.0 };
                let ss = (0..10).map(|_| rng.normal() * sd).map(|z| z * z).sum();
                ends.push(EndScatter { ss, df: 10.0, segment, session });
            }
        }
        if hole {
            ends[3].ss = 0.0;
        }
        ends
    }

    #[test]
    fn a_spread_that_shrank_by_a_fifth_is_found() {
        let fit = fit(&season(0.8, false), 2, &[true], true);
        let step = fit.steps[0].unwrap();
        assert!(step.p < 1e-3, "{step:?}");
        assert!((libm::exp(0.5 * step.log_variance) - 0.8).abs() < 3.0 * step.se, "{step:?}");
        assert!(fit.session_log_variance.unwrap() < 0.05);
    }

    #[test]
    fn balanced_sessions_are_compared_by_the_t_test_of_their_means() {
        // Sessions more alike than their ends: with the variance held at zero the test would be another.
        let logs = [[0.6, -0.3, 0.3], [-0.4, 0.6, -0.3], [0.5, 0.2, -0.6], [0.9, -0.6, 0.2]];
        let mut ends = Vec::new();
        for (session, row) in (0..8).map(|s| (s, logs[s % 4])) {
            let segment = session / 4;
            let bias = digamma(5.0) + core::f64::consts::LN_2;
            let shift = if segment == 1 { 0.4 + 0.05 * row[0] } else { 0.0 };
            ends.extend(row.map(|z| EndScatter {
                ss: libm::exp(1.5 * z + shift + bias),
                df: 10.0,
                segment,
                session,
            }));
        }
        let means: Vec<f64> =
            ends.chunks(3).map(|c| c.iter().map(|e| log_variance(e, 1e-9)).sum::<f64>() / 3.0).collect();
        let mean = |m: &[f64]| m.iter().sum::<f64>() / 4.0;
        let squares = |m: &[f64]| m.iter().map(|v| (v - mean(m)) * (v - mean(m))).sum::<f64>();
        let (before, after) = means.split_at(4);
        let se = ((squares(before) + squares(after)) / 6.0 * 2.0 / 4.0).sqrt();
        let step = fit(&ends, 2, &[true], true).steps[0].unwrap();
        assert!((step.log_variance - (mean(after) - mean(before))).abs() < 1e-9, "{step:?}");
        assert!((step.se - se).abs() < 1e-6 * se && (step.df - 6.0).abs() < 1e-4, "{step:?} {se}");
    }

    #[test]
    fn all_arrows_in_one_hole_or_in_every_hole_are_survived() {
        assert!(fit(&season(1.0, true), 2, &[true], true).steps[0].unwrap().p > 0.01);
        let holes = vec![EndScatter { ss: 0.0, df: 10.0, segment: 0, session: 0 }; 5];
        assert_eq!(fit(&holes, 2, &[true], true).steps, [None]);
        assert_eq!(fit(&[], 3, &[true, true], false).variances, [None; 3]);
    }
}
