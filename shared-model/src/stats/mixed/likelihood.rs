//! The restricted likelihood of nested sessions and ends, session by session in closed form.
//!
//! # Formula
//! With noise variance 1 the mean of an end has variance v = 1/weight + end, w = 1/v, and the means of a
//! session have covariance diag(v) + session 11'. Its inverse is diag(w) - c ww' with
//! c = session / (1 + session W), W = sum of w (Sherman and Morrison). Every product with it is written as
//! deviations from the session's weighted mean, which nothing cancels.
//! Deviance: log|V| + log|X'V^-1 X| + df log(y'Py), its gradient
//! tr(P G) - df y'PGPy / y'Py, and its average information df (y'PGPGPy / y'Py - ...).
//! # Units
//! Variances relative to the noise variance.
//! # Source
//! Patterson and Thompson, Biometrika 58 (1971); Gilmour, Thompson and Cullis, Biometrics 51 (1995) for the
//! average information; Searle, Casella and McCulloch, Variance Components (1992), section 6.6.
//! # Limits
//! The design has full column rank; the residual sum of squares is above zero.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, Matrix2, Vector2};

use super::reduced::{Reduced, Session};

/// Variances of session and end relative to the noise variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Ratios {
    pub session: f64,
    pub end: f64,
}

/// The fit at given ratios, its noise variance profiled out.
#[derive(Debug, Clone)]
pub(crate) struct Fit {
    pub ratios: Ratios,
    pub beta: DVector<f64>,
    /// (X'V^-1 X)^-1 with noise variance 1.
    pub phi: DMatrix<f64>,
    /// y'Py with noise variance 1.
    pub residual: f64,
    /// -2 log restricted likelihood without its constants.
    pub deviance: f64,
}

/// Slopes of the deviance by (session, end).
#[derive(Debug, Clone)]
pub(crate) struct Slopes {
    pub gradient: Vector2<f64>,
    /// The average of observed and expected information, positive semidefinite.
    pub information: Matrix2<f64>,
    /// y'PGPy.
    pub quadratic: Vector2<f64>,
    /// y'PGPGPy.
    pub quartic: Matrix2<f64>,
}

/// Weights of a session's strata at given ratios.
pub(crate) struct Weights {
    pub w: Vec<f64>,
    /// Sum of w over ends.
    pub total: f64,
    /// c of the formula.
    pub c: f64,
    /// 1 / (1 + session W).
    pub shrink: f64,
}

impl Weights {
    pub fn new(session: &Session, at: Ratios) -> Self {
        let w: Vec<f64> = session.strata.iter().map(|s| s.weight / (1.0 + at.end * s.weight)).collect();
        let total: f64 = session.strata.iter().zip(&w).map(|(s, w)| s.ends * w).sum();
        let shrink = 1.0 / (1.0 + at.session * total);
        Self { w, total, c: at.session * shrink, shrink }
    }

    /// Returns the weighted mean row of the session's design.
    pub fn mean_row(&self, session: &Session) -> DVector<f64> {
        let mut mean = DVector::zeros(session.columns.len());
        for (i, (s, w)) in session.strata.iter().zip(&self.w).enumerate() {
            mean.axpy(s.ends * w / self.total, &session.x.row(i).transpose(), 1.0);
        }
        mean
    }
}

/// Returns the fit at given ratios, or `None` where the numbers leave no positive definite system.
pub(crate) fn fit(data: &Reduced, at: Ratios) -> Option<Fit> {
    let (a, g, log_v) = normal_equations(data, at);
    let chol = Cholesky::new(a)?;
    let beta = chol.solve(&g);
    let log_a = log_determinant(&chol);
    let residual = residual_sum(data, at, &beta);
    let deviance = log_v + log_a + data.df() * libm::log(residual);
    if !deviance.is_finite() {
        return None;
    }
    Some(Fit { ratios: at, beta, phi: chol.inverse(), residual, deviance })
}

/// Returns -2 log restricted likelihood without its constants, or infinity where there is none.
pub(crate) fn deviance(data: &Reduced, at: Ratios) -> f64 {
    let (a, g, log_v) = normal_equations(data, at);
    let Some(chol) = Cholesky::new(a) else { return f64::INFINITY };
    let beta = chol.solve(&g);
    let residual = residual_sum(data, at, &beta);
    let value = log_v + log_determinant(&chol) + data.df() * libm::log(residual);
    if value.is_nan() { f64::INFINITY } else { value }
}

fn log_determinant(chol: &Cholesky<f64, Dyn>) -> f64 {
    2.0 * chol.l_dirty().diagonal().iter().map(|d| libm::log(*d)).sum::<f64>()
}

/// Returns X'V^-1 X, X'V^-1 y and log|V|.
fn normal_equations(data: &Reduced, at: Ratios) -> (DMatrix<f64>, DVector<f64>, f64) {
    let p = data.columns;
    let (mut a, mut g) = match &data.within.x {
        Some((xx, xy)) => (xx.clone(), xy.clone()),
        None => (DMatrix::zeros(p, p), DVector::zeros(p)),
    };
    let mut log_v = data.log_noise_scale;
    for session in &data.sessions {
        let weights = Weights::new(session, at);
        let mean = weights.mean_row(session);
        let mean_y = session_mean(session, &weights, |_, y| y);
        let base = weights.total * weights.shrink;
        let t = session.columns.len();
        let mut local = &mean * mean.transpose() * base;
        let mut local_g = &mean * (base * mean_y);
        for (i, (s, w)) in session.strata.iter().zip(&weights.w).enumerate() {
            let row = session.x.row(i).transpose() - &mean;
            local.ger(s.ends * w, &row, &row, 1.0);
            local_g.axpy(s.ends * w * (s.y - mean_y), &row, 1.0);
            log_v += s.ends * libm::log1p(at.end * s.weight);
        }
        log_v -= libm::log(weights.shrink);
        for j in 0..t {
            g[session.columns[j]] += local_g[j];
            for i in 0..t {
                a[(session.columns[i], session.columns[j])] += local[(i, j)];
            }
        }
    }
    (a, g, log_v)
}

fn session_mean(session: &Session, weights: &Weights, value: impl Fn(usize, f64) -> f64) -> f64 {
    let sum: f64 =
        session.strata.iter().zip(&weights.w).enumerate().map(|(i, (s, w))| s.ends * w * value(i, s.y)).sum();
    sum / weights.total
}

/// Returns the residuals of a session's strata at coefficients `beta`.
fn residuals(session: &Session, beta: &DVector<f64>) -> Vec<f64> {
    session
        .strata
        .iter()
        .enumerate()
        .map(|(i, s)| {
            s.y - session.columns.iter().enumerate().map(|(j, c)| session.x[(i, j)] * beta[*c]).sum::<f64>()
        })
        .collect()
}

/// Returns y'Py at the coefficients that `at` gives.
fn residual_sum(data: &Reduced, at: Ratios, beta: &DVector<f64>) -> f64 {
    let mut sum = data.within_residual(beta);
    for session in &data.sessions {
        let weights = Weights::new(session, at);
        let r = residuals(session, beta);
        let mean = session_mean(session, &weights, |i, _| r[i]);
        sum += weights.total * weights.shrink * mean * mean;
        for ((s, w), r) in session.strata.iter().zip(&weights.w).zip(&r) {
            sum += w * (s.ends * (r - mean) * (r - mean) + s.scatter);
        }
    }
    sum
}

/// Returns gradient and average information of the deviance at a fit.
pub(crate) fn slopes(data: &Reduced, fit: &Fit) -> Slopes {
    let p = data.columns;
    let mut traces = Vector2::zeros();
    let mut quadratic = Vector2::zeros();
    let mut quartic = Matrix2::zeros();
    let (mut h_session, mut h_end) = (DVector::zeros(p), DVector::zeros(p));
    for session in &data.sessions {
        let weights = Weights::new(session, fit.ratios);
        let mean = weights.mean_row(session);
        let r = residuals(session, &fit.beta);
        let mean_r = session_mean(session, &weights, |i, _| r[i]);
        let b = weights.total * weights.shrink;
        let f_r = b * mean_r;
        let f = &mean * b;
        traces[0] += b - quadratic_form(&fit.phi, &session.columns, &f);
        quadratic[0] += f_r * f_r;
        quartic[(0, 0)] += f_r * f_r * b;
        for (j, column) in session.columns.iter().enumerate() {
            h_session[*column] += f[j] * f_r;
        }
        let (mut we, mut wee) = (0.0, 0.0);
        for (i, (s, w)) in session.strata.iter().zip(&weights.w).enumerate() {
            let row = session.x.row(i).transpose() - &mean * (1.0 - weights.shrink);
            let rho = r[i] - mean_r * (1.0 - weights.shrink);
            let square = s.ends * rho * rho + s.scatter;
            traces[1] += s.ends * w * (1.0 - weights.c * w)
                - s.ends * w * w * quadratic_form(&fit.phi, &session.columns, &row);
            quadratic[1] += w * w * square;
            wee += w * w * w * square;
            we += s.ends * w * w * rho;
            for (j, column) in session.columns.iter().enumerate() {
                h_end[*column] += s.ends * w * w * rho * row[j];
            }
        }
        quartic[(0, 1)] += f_r * weights.shrink * we;
        quartic[(1, 1)] += wee - weights.c * we * we;
    }
    let (phi_s, phi_e) = (&fit.phi * &h_session, &fit.phi * &h_end);
    quartic[(0, 0)] -= h_session.dot(&phi_s);
    quartic[(0, 1)] -= h_session.dot(&phi_e);
    quartic[(1, 1)] -= h_end.dot(&phi_e);
    quartic[(1, 0)] = quartic[(0, 1)];
    let (df, residual) = (data.df(), fit.residual);
    let gradient = traces - quadratic * (df / residual);
    let information = (quartic / residual - quadratic * quadratic.transpose() / (residual * residual)) * df;
    Slopes { gradient, information, quadratic, quartic }
}

fn quadratic_form(phi: &DMatrix<f64>, columns: &[usize], v: &DVector<f64>) -> f64 {
    let mut sum = 0.0;
    for (j, cj) in columns.iter().enumerate() {
        for (i, ci) in columns.iter().enumerate() {
            sum += v[i] * v[j] * phi[(*ci, *cj)];
        }
    }
    sum
}
