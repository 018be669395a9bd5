//! What one who knows every variance would find: generalised least squares and normal tests, with the same
//! correction for many changes. No method that has to estimate the variances can be asked for more.

use super::{drawn::Drawn, scenario::Scenario};
use libm::{erfc, log};
use nalgebra::{DMatrix, DVector};
use sheaf_model::stats::adjust_p::holm;
use statrs::function::gamma::digamma;
use std::collections::BTreeMap;

/// A change that the oracle judges: its estimate over its standard error, and the corrected p-value.
#[derive(Debug, Clone, Copy)]
pub struct Found {
    /// Estimate over standard error; of the axis that says more.
    pub z: f64,
    /// The axis that says more; 0 for spreads.
    pub axis: usize,
    /// Corrected for the number of changes.
    pub p: f64,
}

/// A value with its variance about its session's own.
struct Value {
    columns: Vec<usize>,
    y: f64,
    variance: f64,
}

/// Returns what is found of the shifts; empty where the design cannot tell them.
#[must_use]
pub fn places(scenario: &Scenario, drawn: &Drawn) -> Vec<Found> {
    let steps = drawn.steps.len();
    let [Some(x), Some(y)] = [0, 1].map(|axis| by_axis(scenario, drawn, axis)) else { return Vec::new() };
    let larger = |i: usize| if x[i].abs() >= y[i].abs() { (x[i], 0) } else { (y[i], 1) };
    let p: Vec<f64> = (0..steps).map(|i| (2.0 * two_sided(larger(i).0)).min(1.0)).collect();
    let found = holm(&p).into_iter().enumerate();
    found.map(|(i, p)| Found { z: larger(i).0, axis: larger(i).1, p }).collect()
}

fn by_axis(scenario: &Scenario, drawn: &Drawn, axis: usize) -> Option<Vec<f64>> {
    let (steps, epochs) = (drawn.steps.len(), scenario.distances.len());
    let mut sessions: Vec<Vec<Value>> = (0..scenario.sessions).map(|_| Vec::new()).collect();
    for (index, (end, group)) in drawn.ends.iter().zip(&drawn.input.groups).enumerate() {
        let n = group.points_mm.len() as f64;
        let y = group.points_mm.iter().map(|p| p[axis]).sum::<f64>() / n / group.distance_m;
        let variance = end.sd * end.sd / n + scenario.end_sd * scenario.end_sd;
        let columns = (0..end.stretch).chain([steps + index % epochs]).collect();
        sessions[end.session].push(Value { columns, y, variance });
    }
    contrasts(&sessions, scenario.session_sd * scenario.session_sd, steps, steps + epochs)
}

/// Returns what is found of the spreads, by the scatter of all ends that a session has in a stretch.
#[must_use]
pub fn spreads(scenario: &Scenario, drawn: &Drawn) -> Vec<Found> {
    let steps = drawn.steps.len();
    let mut cells: BTreeMap<(usize, usize), (f64, f64)> = BTreeMap::new();
    for (end, group) in drawn.ends.iter().zip(&drawn.input.groups) {
        let n = group.points_mm.len() as f64;
        let cell = cells.entry((end.session, end.stretch)).or_default();
        for axis in [0, 1] {
            let mean = group.points_mm.iter().map(|p| p[axis]).sum::<f64>() / n;
            let mrad = |p: &[f64; 2]| (p[axis] - mean) / group.distance_m;
            cell.0 += group.points_mm.iter().map(|p| mrad(p) * mrad(p)).sum::<f64>();
        }
        cell.1 += 2.0 * (n - 1.0);
    }
    let mut sessions: Vec<Vec<Value>> = (0..scenario.sessions).map(|_| Vec::new()).collect();
    for ((session, stretch), (ss, df)) in cells {
        let y = log(ss) - digamma(0.5 * df) - core::f64::consts::LN_2;
        let columns = (0..stretch).chain([steps]).collect();
        sessions[session].push(Value { columns, y, variance: trigamma(0.5 * df) });
    }
    let log_variance = 4.0 * scenario.session_log_sd * scenario.session_log_sd;
    let Some(z) = contrasts(&sessions, log_variance, steps, steps + 1) else { return Vec::new() };
    let p: Vec<f64> = z.iter().map(|z| two_sided(*z)).collect();
    holm(&p).into_iter().zip(z).map(|(p, z)| Found { z, axis: 0, p }).collect()
}

/// Returns the first `steps` coefficients over their standard errors.
fn contrasts(sessions: &[Vec<Value>], between: f64, steps: usize, columns: usize) -> Option<Vec<f64>> {
    let mut a = DMatrix::zeros(columns, columns);
    let mut g = DVector::zeros(columns);
    for session in sessions {
        // The inverse of diag(v) + between 11' is diag(w) - c ww'.
        let (mut sum, mut sum_y, mut total) = (DVector::zeros(columns), 0.0, 0.0);
        for value in session {
            let w = 1.0 / value.variance;
            let mut row = DVector::zeros(columns);
            value.columns.iter().for_each(|c| row[*c] = 1.0);
            a.ger(w, &row, &row, 1.0);
            g.axpy(w * value.y, &row, 1.0);
            sum.axpy(w, &row, 1.0);
            sum_y += w * value.y;
            total += w;
        }
        let c = between / (1.0 + between * total);
        a.ger(-c, &sum, &sum, 1.0);
        g.axpy(-c * sum_y, &sum, 1.0);
    }
    let chol = a.cholesky()?;
    let (beta, phi) = (chol.solve(&g), chol.inverse());
    let z: Vec<f64> = (0..steps).map(|i| beta[i] / phi[(i, i)].sqrt()).collect();
    z.iter().all(|z| z.is_finite()).then_some(z)
}

fn two_sided(z: f64) -> f64 {
    erfc(z.abs() * core::f64::consts::FRAC_1_SQRT_2)
}

/// The variance of the logarithm of a chi-square over two, at half its degrees of freedom: the slope of digamma,
/// from two of its values.
fn trigamma(x: f64) -> f64 {
    let h = 1e-4 * x;
    (digamma(x + h) - digamma(x - h)) / (2.0 * h)
}
