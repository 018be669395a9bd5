//! Scatter regression: how the spread of ends depends on what was set.
//!
//! # Formula
//! ss ~ σ² χ²(df) with log σ² = xγ: a Gamma regression of ss/df with log link and weights df/2. The
//! likelihood Σ −df/2 (η + y e^{−η}), y = ss/df, is concave; Newton's steps
//! γ ← γ + (XᵀWEX)⁻¹ XᵀW (y e^{−η} − 1) with W = diag(df/2), E = diag(y e^{−η}), from the weighted least
//! squares of log y, are halved while the likelihood falls. SE = √diag (XᵀWX)⁻¹ (expected
//! information, dispersion 1). Deviance = Σ df (y e^{−η} − 1 − log(y e^{−η})).
//! # Units
//! ss in any squared length; γ in logs of it, so a ratio of standard deviations is exp(γ/2).
//! # Source
//! McCullagh and Nelder, Generalized Linear Models, 2nd ed. 1989, chapters 2 and 8.
//! # Limits
//! Every ss and df above 0; as many rows as columns or more; columns linearly independent. The errors
//! hold when nothing but chance makes ends of one setting differ; `spread_steps` adds the session.

use nalgebra::{DMatrix, DVector};

use crate::ModelError;

/// A fitted regression of scatter.
#[derive(Debug, Clone, PartialEq)]
pub struct ScatterRegression {
    /// Coefficients of log σ².
    pub gamma: Vec<f64>,
    /// Their standard errors.
    pub se: Vec<f64>,
    /// The deviance.
    pub deviance: f64,
}

/// Fits log σ² to the scatters `ss` on `df` degrees of freedom, with one row of `x` each.
///
/// Errors: `length_mismatch`, `out_of_range`, `too_few`, `dependent_columns`, `not_converged`.
pub fn scatter_regression(ss: &[f64], df: &[f64], x: &[Vec<f64>]) -> Result<ScatterRegression, ModelError> {
    check(ss, df, x)?;
    let log_y: Vec<f64> = ss.iter().zip(df).map(|(ss, df)| libm::log(*ss) - libm::log(*df)).collect();
    let weights: Vec<f64> = df.iter().map(|df| 0.5 * df).collect();
    let design = Design::new(&weights, x)?;
    let mut gamma = design.project(&log_y);
    let mut r = residuals(&design, &gamma, &log_y);
    for _ in 0..200 {
        let step = design.newton_step(&r);
        let next = climb(&design, &gamma, &step, &log_y, &weights);
        let moved = (&next - &gamma).amax();
        gamma = next;
        r = residuals(&design, &gamma, &log_y);
        if moved <= 1e-13 * (1.0 + gamma.amax()) {
            break;
        }
    }
    let total: f64 = weights.iter().sum();
    if design.slope(&r).norm() <= 1e-6 * total.sqrt() {
        return Ok(design.finish(&gamma, &r, &weights));
    }
    let message = "the regression did not settle; look for scatters that are far too large or too near 0";
    Err(ModelError::new("not_converged", message).at("ss"))
}

/// The design, each column brought to length 1, with rows weighted, as an orthogonal and a triangular factor.
struct Design {
    plain: DMatrix<f64>,
    root_weights: Vec<f64>,
    q: DMatrix<f64>,
    r_inverse: DMatrix<f64>,
    lengths: Vec<f64>,
}

impl Design {
    fn new(weights: &[f64], x: &[Vec<f64>]) -> Result<Self, ModelError> {
        let root_weights: Vec<f64> = weights.iter().map(|w| w.sqrt()).collect();
        let columns = x[0].len();
        let mut plain = DMatrix::from_fn(x.len(), columns, |i, j| x[i][j]);
        let mut lengths = vec![0.0; columns];
        for (j, mut column) in plain.column_iter_mut().enumerate() {
            let size = column.amax();
            if size == 0.0 {
                return Err(dependent(j));
            }
            column /= size;
            let weighted = column.iter().zip(&root_weights).map(|(x, w)| x * w * x * w).sum::<f64>().sqrt();
            column /= weighted;
            lengths[j] = size * weighted;
        }
        let weighted = DMatrix::from_fn(x.len(), columns, |i, j| plain[(i, j)] * root_weights[i]);
        let qr = weighted.qr();
        let r = qr.r();
        if let Some(j) = (0..columns).find(|&j| r[(j, j)].abs() < 1e-9) {
            return Err(dependent(j));
        }
        let r_inverse = r
            .solve_upper_triangular(&DMatrix::identity(columns, columns))
            .ok_or_else(|| dependent(columns - 1))?;
        Ok(Self { plain, root_weights, q: qr.q(), r_inverse, lengths })
    }

    /// Returns the weighted least-squares coefficients of `values`.
    fn project(&self, values: &[f64]) -> DVector<f64> {
        let weighted =
            DVector::from_iterator(values.len(), values.iter().zip(&self.root_weights).map(|(v, w)| v * w));
        &self.r_inverse * self.q.tr_mul(&weighted)
    }

    /// Returns Newton's step towards the top: the observed information is QᵀEQ, E = diag(e^r), in the
    /// coordinates of Q, where the expected one is 1.
    fn newton_step(&self, residuals: &[f64]) -> DVector<f64> {
        let growth: Vec<f64> = residuals.iter().map(|r| libm::exp(*r)).collect();
        let slope = self.slope(residuals);
        let grown = DMatrix::from_fn(self.q.nrows(), self.q.ncols(), |i, j| self.q[(i, j)] * growth[i]);
        let step = self.q.tr_mul(&grown).cholesky().map(|observed| observed.solve(&slope));
        &self.r_inverse * step.unwrap_or(slope)
    }

    /// Returns the slope of the likelihood in the coordinates of Q, zero at the top.
    fn slope(&self, residuals: &[f64]) -> DVector<f64> {
        let rows = residuals.iter().zip(&self.root_weights).map(|(r, w)| libm::expm1(*r) * w);
        self.q.tr_mul(&DVector::from_iterator(residuals.len(), rows))
    }

    fn finish(&self, gamma: &DVector<f64>, residuals: &[f64], weights: &[f64]) -> ScatterRegression {
        let se = self.r_inverse.row_iter().zip(&self.lengths).map(|(row, length)| row.norm() / length);
        let deviance = residuals.iter().zip(weights).map(|(r, w)| 2.0 * w * (libm::expm1(*r) - r));
        ScatterRegression {
            gamma: gamma.iter().zip(&self.lengths).map(|(gamma, length)| gamma / length).collect(),
            se: se.collect(),
            deviance: deviance.sum(),
        }
    }
}

/// Returns log y − η, row by row.
fn residuals(design: &Design, gamma: &DVector<f64>, log_y: &[f64]) -> Vec<f64> {
    let eta = &design.plain * gamma;
    log_y.iter().zip(eta.iter()).map(|(y, eta)| y - eta).collect()
}

/// Returns the log likelihood up to what does not depend on γ: −Σ w (e^r − r), finite or −∞.
fn log_likelihood(residuals: &[f64], weights: &[f64]) -> f64 {
    -residuals.iter().zip(weights).map(|(r, w)| w * (libm::exp(*r) - r)).sum::<f64>()
}

/// Returns where a step leads, halved until the likelihood does not fall.
fn climb(
    design: &Design,
    from: &DVector<f64>,
    step: &DVector<f64>,
    log_y: &[f64],
    weights: &[f64],
) -> DVector<f64> {
    let height = |gamma: &DVector<f64>| log_likelihood(&residuals(design, gamma, log_y), weights);
    // Near the top the likelihood moves by less than its rounding.
    let start = height(from);
    let enough = start - 1e-12 * start.abs();
    let mut share = 1.0;
    for _ in 0..60 {
        let to = from + step * share;
        if height(&to) >= enough {
            return to;
        }
        share *= 0.5;
    }
    from.clone()
}

fn check(ss: &[f64], df: &[f64], x: &[Vec<f64>]) -> Result<(), ModelError> {
    for (field, length) in [("df", df.len()), ("x", x.len())] {
        if length != ss.len() {
            let message = format!("{field} has {length} rows and ss has {}; give one for each end", ss.len());
            return Err(ModelError::new("length_mismatch", message).at(field));
        }
    }
    for (field, values) in [("ss", ss), ("df", df)] {
        if let Some(i) = values.iter().position(|value| !(*value > 0.0 && value.is_finite())) {
            let message =
                format!("{field}[{i}] is {}; a scatter and its degrees of freedom are above 0", values[i]);
            return Err(ModelError::new("out_of_range", message).at(format!("{field}[{i}]")));
        }
    }
    let columns = x.first().map_or(0, Vec::len);
    if columns == 0 || x.len() < columns {
        let message = format!("{} ends cannot give {} coefficients; give more ends", x.len(), columns.max(1));
        return Err(ModelError::new("too_few", message).at("ss"));
    }
    for (i, row) in x.iter().enumerate() {
        if row.len() != columns || row.iter().any(|value| !value.is_finite()) {
            let message = format!("x[{i}] must hold {columns} finite numbers, as the first row does");
            return Err(ModelError::new("length_mismatch", message).at(format!("x[{i}]")));
        }
    }
    Ok(())
}

fn dependent(column: usize) -> ModelError {
    let message = format!(
        "column {column} of x (counted from 0) is zero or a combination of the columns before it; leave it out"
    );
    ModelError::new("dependent_columns", message).at("x")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_setting_is_the_pooled_variance() {
        let fit =
            scatter_regression(&[3e-9, 1e-9, 2e-9], &[4.0, 2.0, 10.0], &vec![vec![1e6]; 3]).expect("a fit");
        assert!((fit.gamma[0] * 1e6 - libm::log(6e-9 / 16.0)).abs() < 1e-12, "{fit:?}");
        assert!((fit.se[0] * 1e6 - libm::sqrt(2.0 / 16.0)).abs() < 1e-12);
    }

    #[test]
    fn scatters_of_many_sizes_still_settle() {
        let ss = [1e-12, 1e12, 1.0, 1e-3, 1e6, 5.0];
        let x: Vec<Vec<f64>> = (0..6).map(|i| vec![1.0, f64::from(i)]).collect();
        let fit = scatter_regression(&ss, &[2.0; 6], &x).expect("a fit");
        // At the top the score is zero in every column.
        for j in 0..2 {
            let score: f64 = (0..6)
                .map(|i| x[i][j] * (ss[i] / 2.0 * libm::exp(-fit.gamma[0] - fit.gamma[1] * x[i][1]) - 1.0))
                .sum();
            assert!(score.abs() < 1e-6, "{fit:?} {score}");
        }
    }

    #[test]
    fn what_cannot_be_fitted_says_why() {
        let fit =
            |ss: &[f64], df: &[f64], x: &[Vec<f64>]| scatter_regression(ss, df, x).expect_err("no fit").code;
        let two = vec![vec![1.0, 2.0]; 2];
        assert_eq!(fit(&[1.0, 2.0], &[2.0, 2.0], &two), "dependent_columns");
        assert_eq!(fit(&[1.0, 2.0], &[2.0, 2.0], &[vec![1.0, 0.0], vec![1.0, 0.0]]), "dependent_columns");
        assert_eq!(fit(&[1.0, 0.0], &[2.0, 2.0], &two), "out_of_range");
        assert_eq!(fit(&[1.0, 2.0], &[2.0], &two), "length_mismatch");
        assert_eq!(fit(&[1.0], &[2.0], &[vec![1.0, 0.0]]), "too_few");
        assert_eq!(fit(&[], &[], &[]), "too_few");
        assert_eq!(fit(&[1.0, 2.0], &[2.0, 2.0], &[vec![1.0], vec![1.0, 2.0]]), "length_mismatch");
    }
}
