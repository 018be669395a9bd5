//! Mixed model: a linear model with a random effect of each session and of each end within its session.
//!
//! # Formula
//! y = X beta + session + end + noise, fitted by restricted maximum likelihood (REML); tests by Kenward and
//! Roger. The REML log-likelihood is
//! -1/2 (log|V| + log|X'V^-1 X| + (n - p)(1 + log(2 pi y'Py / (n - p)))), V relative to the noise variance.
//! # Units
//! Coefficients in units of y per unit of x, variances in units of y squared.
//! # Source
//! Patterson and Thompson, Biometrika 58 (1971); Bates, Maechler, Bolker and Walker, J. Stat. Softw. 67(1)
//! (2015), section 3.4, for the convention of the likelihood; Kenward and Roger, Biometrics 53 (1997).
//! # Limits
//! Columns of x are linearly independent and fewer than the observations; some scatter is left after them.
//! A variance of which the data hold no information (one end a session, one observation an end) is left out.

mod columns;
mod information;
mod kenward_roger;
mod likelihood;
mod optimise;
mod reduced;

use std::collections::BTreeMap;

use nalgebra::{DMatrix, DVector};
use serde::Serialize;

use crate::ModelError;
pub use kenward_roger::JointTest;
pub(crate) use kenward_roger::KenwardRoger;
pub(crate) use optimise::Components;
pub(crate) use reduced::{Reduced, Session, Stratum, Within};

/// Observations, their design and the labels of their random effects.
#[derive(Debug, Clone, Copy)]
pub struct Observations<'a> {
    /// One value an observation.
    pub y: &'a [f64],
    /// One row an observation.
    pub x: &'a [Vec<f64>],
    /// The session of each observation, where sessions have an effect of their own.
    pub session: Option<&'a [String]>,
    /// The end of each observation, counted within its session, where ends have an effect of their own.
    pub end: Option<&'a [String]>,
}

/// A fitted mixed model; a quantity that the data cannot give is `None`.
#[derive(Debug, Clone, Serialize)]
#[allow(missing_docs)]
pub struct MixedFit {
    pub beta: Vec<f64>,
    pub se: Vec<f64>,
    pub se_kr: Vec<f64>,
    pub df_kr: Vec<Option<f64>>,
    pub t_kr: Vec<f64>,
    pub p_kr: Vec<Option<f64>>,
    pub var_session: Option<f64>,
    pub var_end: Option<f64>,
    pub var_noise: f64,
    pub reml_loglik: f64,
    /// That all coefficients but the first are zero.
    pub joint: Option<JointTest>,
    pub notes: Vec<String>,
}

/// Fits the mixed model by REML and tests its coefficients by Kenward and Roger's method.
///
/// # Errors
/// When lengths differ, a number is not finite, columns are linearly dependent, or nothing is left to
/// estimate the noise from.
pub fn fit(observations: &Observations) -> Result<MixedFit, ModelError> {
    check(observations)?;
    let rows = observations.x;
    let (n, p) = (rows.len(), rows[0].len());
    let x = DMatrix::from_fn(n, p, |i, j| rows[i][j]);
    let basis = columns::orthonormal(&x)?;
    let data = reduce(observations, &basis.q);
    let wanted = Components { session: observations.session.is_some(), end: observations.end.is_some() };
    let reml = reml(&data, wanted).ok_or_else(|| {
        ModelError::new(
            "no_scatter",
            "the design explains every observation, so no noise is left to judge by; \
             give more observations or fewer columns",
        )
        .at("y")
    })?;
    Ok(describe(observations, &data, &reml, &basis))
}

fn check(o: &Observations) -> Result<(), ModelError> {
    let n = o.y.len();
    let wrong = |field: String, message: String| Err(ModelError::new("invalid_value", message).at(field));
    if n == 0 {
        return wrong("y".into(), "y is empty; give at least two observations".into());
    }
    if o.x.len() != n {
        return wrong(
            "x".into(),
            format!("x has {} rows and y has {n} values; give one row each", o.x.len()),
        );
    }
    let p = o.x[0].len();
    if p == 0 {
        return wrong("x[0]".into(), "x has no columns; give at least a column of ones".into());
    }
    for (field, labels) in [("session", o.session), ("end", o.end)] {
        if let Some(labels) = labels.filter(|l| l.len() != n) {
            let message = format!("{field} has {} labels and y has {n} values; give one each", labels.len());
            return wrong(field.into(), message);
        }
    }
    for (i, (y, row)) in o.y.iter().zip(o.x).enumerate() {
        if row.len() != p {
            let message =
                format!("row {i} of x has {} columns and row 0 has {p}; make them equal", row.len());
            return wrong(format!("x[{i}]"), message);
        }
        if !y.is_finite() {
            return wrong(format!("y[{i}]"), format!("y[{i}] is not a finite number"));
        }
        if let Some(j) = row.iter().position(|v| !v.is_finite()) {
            return wrong(format!("x[{i}][{j}]"), format!("x[{i}][{j}] is not a finite number"));
        }
    }
    if n <= p {
        let message = format!("{n} observations cannot settle {p} coefficients and a variance; give more");
        return Err(ModelError::new("too_few_observations", message).at("y"));
    }
    Ok(())
}

/// Sums the observations by session and end; `q` is the design with orthonormal columns.
fn reduce(o: &Observations, q: &DMatrix<f64>) -> Reduced {
    let p = q.ncols();
    let mut ends: BTreeMap<(&str, &str), Vec<usize>> = BTreeMap::new();
    let numbers: Vec<String> =
        if o.end.is_none() { (0..o.y.len()).map(|i| i.to_string()).collect() } else { vec![] };
    for i in 0..o.y.len() {
        let session = o.session.map_or("", |s| s[i].as_str());
        let end = o.end.map_or_else(|| numbers[i].as_str(), |e| e[i].as_str());
        ends.entry((session, end)).or_default().push(i);
    }
    let mut within = Within { x: Some((DMatrix::zeros(p, p), DVector::zeros(p))), yy: 0.0, df: 0.0 };
    let mut sessions: BTreeMap<&str, (Vec<DVector<f64>>, Vec<Stratum>)> = BTreeMap::new();
    for ((session, _), members) in &ends {
        let count = members.len() as f64;
        let mut row = DVector::zeros(p);
        for i in members {
            row.axpy(1.0 / count, &q.row(*i).transpose(), 1.0);
        }
        let mean = members.iter().map(|i| o.y[*i]).sum::<f64>() / count;
        for i in members {
            let (dx, dy) = (q.row(*i).transpose() - &row, o.y[*i] - mean);
            within.yy += dy * dy;
            if let Some((xx, xy)) = &mut within.x {
                xx.ger(1.0, &dx, &dx, 1.0);
                xy.axpy(dy, &dx, 1.0);
            }
        }
        within.df += count - 1.0;
        let (rows, strata) = sessions.entry(session).or_default();
        rows.push(row);
        strata.push(Stratum { weight: count, ends: 1.0, y: mean, scatter: 0.0 });
    }
    let sessions = sessions
        .into_values()
        .map(|(rows, strata)| Session {
            columns: (0..p).collect(),
            x: DMatrix::from_fn(rows.len(), p, |i, j| rows[i][j]),
            strata,
        })
        .collect();
    Reduced {
        columns: p,
        sessions,
        within,
        observations: o.y.len() as f64,
        log_noise_scale: 0.0,
        least_session: 0.0,
    }
}

/// A REML fit with the variances that the model has.
pub(crate) struct Reml {
    pub fit: likelihood::Fit,
    pub components: Components,
    pub noise: f64,
}

/// Fits the reduced data; `None` where no noise is left.
pub(crate) fn reml(data: &Reduced, wanted: Components) -> Option<Reml> {
    if data.df() < 1.0 {
        return None;
    }
    let components = identified(data, wanted);
    let fit = optimise::minimise(data, components)?;
    let noise = fit.residual / data.df();
    // Rounding of the ends' means is all that is left: not a noise to judge by.
    let total: f64 = data
        .sessions
        .iter()
        .flat_map(|s| &s.strata)
        .map(|s| s.weight * (s.ends * s.y * s.y + s.scatter))
        .sum();
    if fit.residual <= 1e-24 * (total + data.within.yy) {
        return None;
    }
    Some(Reml { fit, components, noise })
}

/// Returns those of the wanted variances that the data can tell apart from each other and from the noise.
fn identified(data: &Reduced, wanted: Components) -> Components {
    let strata = || data.sessions.iter().flat_map(|s| &s.strata);
    let (sum, count) = strata().fold((0.0, 0.0), |(a, n), s| (a + s.ends * s.weight, n + s.ends));
    let typical = count / sum;
    let candidates = [(true, true), (true, false), (false, true)];
    for (session, end) in candidates {
        let c = Components { session, end };
        if (session && !wanted.session) || (end && !wanted.end) {
            continue;
        }
        let ratio = |present| if present { typical } else { 0.0 };
        let at = likelihood::Ratios { session: ratio(session), end: ratio(end) };
        if likelihood::fit(data, at).is_some_and(|f| information::Information::new(data, &f).tells_apart(c)) {
            return c;
        }
    }
    Components { session: false, end: false }
}

fn describe(o: &Observations, data: &Reduced, reml: &Reml, basis: &columns::Basis) -> MixedFit {
    let kr = KenwardRoger::new(data, &reml.fit, reml.components);
    let p = data.columns;
    let back = &basis.r_inverse;
    let beta = back * &reml.fit.beta;
    let mut out = MixedFit {
        beta: beta.iter().copied().collect(),
        se: vec![],
        se_kr: vec![],
        df_kr: vec![],
        t_kr: vec![],
        p_kr: vec![],
        var_session: o.session.map(|_| reml.fit.ratios.session * reml.noise),
        var_end: o.end.map(|_| reml.fit.ratios.end * reml.noise),
        var_noise: reml.noise,
        reml_loglik: loglik(data, &reml.fit, back),
        joint: None,
        notes: notes(o, reml.components),
    };
    for j in 0..p {
        let l: Vec<(usize, f64)> = (0..p).map(|k| (k, back[(j, k)])).filter(|(_, v)| *v != 0.0).collect();
        let v = kr.contrast(&l);
        let se = (v.adjusted * reml.noise).sqrt();
        out.se.push((v.plain * reml.noise).sqrt());
        out.se_kr.push(se);
        out.df_kr.push(v.df.is_finite().then_some(v.df));
        out.t_kr.push(beta[j] / se);
        out.p_kr.push(crate::stats::special::tails::t_two_sided(beta[j] / se, v.df));
    }
    if p > 1 {
        let l = DMatrix::from_fn(p - 1, p, |i, j| back[(i + 1, j)]);
        out.joint = kr.joint(&l, &reml.fit.beta, reml.noise);
        if out.joint.is_none() {
            out.notes.push("joint: the data leave no positive denominator degrees of freedom".into());
        }
    } else {
        out.notes.push("joint: there is no coefficient but the first".into());
    }
    out
}

fn notes(o: &Observations, components: Components) -> Vec<String> {
    let mut notes = Vec::new();
    if o.session.is_some() && !components.session {
        notes.push("var_session: the data cannot tell a session's effect from the rest; left out".into());
    }
    if o.end.is_some() && !components.end {
        notes.push("var_end: the data cannot tell an end's effect from the rest; left out".into());
    }
    notes
}

/// The deviance is that of the orthonormal columns; going back to x adds 2 log|R|.
fn loglik(data: &Reduced, fit: &likelihood::Fit, r_inverse: &DMatrix<f64>) -> f64 {
    let log_r: f64 = -r_inverse.diagonal().iter().map(|d| libm::log(d.abs())).sum::<f64>();
    let df = data.df();
    let constant = df * (1.0 + libm::log(2.0 * std::f64::consts::PI / df));
    -0.5 * (fit.deviance + 2.0 * log_r + constant)
}
