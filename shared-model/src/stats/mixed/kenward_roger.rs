//! Kenward-Roger standard errors and degrees of freedom.
//!
//! # Formula
//! Phi_A = Phi + 2 Phi U Phi, U = sum W_ij (Q_ij - T_i Phi T_j), W = 2 inverse(tr P G_i P G_j). One contrast l
//! has df = 2 (l'Phi l)^2 / sum W_ij g_i g_j, g_i = l'Phi T_i Phi l; several have the scaled F of the paper.
//! A session variance estimated at zero keeps its place in W, Q and T, evaluated at zero; an end variance
//! at zero is left out. A component of which the data hold no information is left out too.
//! # Units
//! As the observations'.
//! # Source
//! Kenward and Roger, Biometrics 53 (1997), 983-997; Halekoh and Hojsgaard, J. Stat. Softw. 59(9) (2014).
//! # Limits
//! Degrees of freedom below one mean that next to nothing is known of the variance that matters.

use nalgebra::{DMatrix, DVector, Matrix3};
use serde::Serialize;

use super::information::{Information, NOISE, pair, times_sparse};
use super::likelihood::Fit;
use super::optimise::Components;
use super::reduced::Reduced;

/// What Kenward and Roger's method needs at a fit; variances relative to the noise.
pub(crate) struct KenwardRoger {
    phi: DMatrix<f64>,
    t: [DMatrix<f64>; 3],
    /// Variances and covariances of the estimated components.
    w: Matrix3<f64>,
    u: DMatrix<f64>,
}

/// The variance of one contrast and its degrees of freedom.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ContrastVariance {
    /// Relative to the noise variance, without the adjustment.
    pub plain: f64,
    /// Relative to the noise variance, adjusted.
    pub adjusted: f64,
    /// Infinite where the variance is known without error.
    pub df: f64,
}

/// A joint test of several contrasts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct JointTest {
    /// The scaled F statistic.
    pub f: f64,
    /// Contrasts tested.
    pub ndf: f64,
    /// Denominator degrees of freedom.
    pub ddf: f64,
    /// Upper tail probability.
    pub p: f64,
}

impl KenwardRoger {
    pub fn new(data: &Reduced, fit: &Fit, components: Components) -> Self {
        let information = Information::new(data, fit);
        let present = [components.session, components.end && fit.ratios.end > 0.0, true];
        let w = component_covariance(&information.trace, present);
        let p = data.columns;
        let mut u = DMatrix::zeros(p, p);
        for i in 0..3 {
            for j in i..3 {
                let factor = if i == j { w[(i, j)] } else { 2.0 * w[(i, j)] };
                if factor != 0.0 {
                    let product = times_sparse(&information.phi_t[j].transpose(), &information.t[i]);
                    let product = (&product + product.transpose()) * 0.5;
                    u += (&information.q[pair(i, j)] - product) * factor;
                }
            }
        }
        Self { phi: fit.phi.clone(), t: information.t, w, u }
    }

    /// Returns the variance of a contrast given as (column, factor).
    pub fn contrast(&self, l: &[(usize, f64)]) -> ContrastVariance {
        let mut z = DVector::zeros(self.phi.nrows());
        for (column, factor) in l {
            z.axpy(*factor, &self.phi.column(*column), 1.0);
        }
        let plain: f64 = l.iter().map(|(column, factor)| factor * z[*column]).sum();
        let g: [f64; 3] = std::array::from_fn(|i| z.dot(&(&self.t[i] * &z)));
        let mut spread = 0.0;
        for i in 0..3 {
            for j in 0..3 {
                spread += self.w[(i, j)] * g[i] * g[j];
            }
        }
        let df = if spread > 0.0 { 2.0 * plain * plain / spread } else { f64::INFINITY };
        let adjusted = plain + 2.0 * z.dot(&(&self.u * &z));
        // The adjustment is an expansion; where it runs away below zero the plain variance is kept.
        let adjusted = if adjusted > 0.0 { adjusted } else { plain };
        ContrastVariance { plain, adjusted, df }
    }

    /// Returns the test that the contrasts in the rows of `l` are all zero; `noise` scales the variances.
    pub fn joint(&self, l: &DMatrix<f64>, beta: &DVector<f64>, noise: f64) -> Option<JointTest> {
        let q = l.nrows() as f64;
        let inner = (l * &self.phi * l.transpose()).try_inverse()?;
        let theta_phi = l.transpose() * inner * l * &self.phi;
        let v: [DMatrix<f64>; 3] = std::array::from_fn(|i| &theta_phi * &self.t[i] * &self.phi);
        let (mut a1, mut a2) = (0.0, 0.0);
        for i in 0..3 {
            for j in 0..3 {
                a1 += self.w[(i, j)] * v[i].trace() * v[j].trace();
                a2 += self.w[(i, j)] * v[i].dot(&v[j].transpose());
            }
        }
        let adjusted = &self.phi + &self.phi * &self.u * &self.phi * 2.0;
        let estimate = l * beta;
        let wald = (l * adjusted * l.transpose()).try_inverse()? * &estimate;
        let (scale, ddf) = scaling(q, a1, a2);
        let f = scale * estimate.dot(&wald) / (q * noise);
        let p = crate::stats::special::tails::f_upper(f, q, ddf)?;
        Some(JointTest { f, ndf: q, ddf, p })
    }
}

/// Returns the factor of F and the denominator degrees of freedom (Kenward and Roger, section 3.2).
fn scaling(q: f64, a1: f64, a2: f64) -> (f64, f64) {
    let b = (a1 + 6.0 * a2) / (2.0 * q);
    let g = ((q + 1.0) * a1 - (q + 4.0) * a2) / ((q + 2.0) * a2);
    let base = 3.0 * q + 2.0 * (1.0 - g);
    let (c1, c2, c3) = (g / base, (q - g) / base, (q + 2.0 - g) / base);
    let zero_if_tiny = |x: f64| if x.abs() < 1e-10 { 0.0 } else { x };
    let (v0, v1, v2) = (zero_if_tiny(1.0 + c1 * b), zero_if_tiny(1.0 - c2 * b), zero_if_tiny(1.0 - c3 * b));
    let e = 1.0 - a2 / q;
    let ratio = if e.abs() < 1e-14 && v1.abs() < 1e-14 { 1.0 } else { e / v1 };
    let rho = ratio * ratio * v0 / v2 / q;
    let ddf = 4.0 + (q + 2.0) / (q * rho - 1.0);
    let scale = if (ddf - 2.0).abs() < 1e-2 { 1.0 } else { ddf * e / (ddf - 2.0) };
    (scale, ddf)
}

/// Returns twice the inverse of the information about the components that are present, zero elsewhere.
fn component_covariance(trace: &Matrix3<f64>, present: [bool; 3]) -> Matrix3<f64> {
    let kept: Vec<usize> = (0..=NOISE).filter(|i| present[*i] && trace[(*i, *i)] > 0.0).collect();
    let n = kept.len();
    let scale: Vec<f64> = kept.iter().map(|i| trace[(*i, *i)].sqrt()).collect();
    let scaled = DMatrix::from_fn(n, n, |i, j| trace[(kept[i], kept[j])] / (scale[i] * scale[j]));
    let mut w = Matrix3::zeros();
    // Numbers at the edge of what can be held leave no information, or none that can be inverted.
    if n == 0 || scaled.iter().any(|x| !x.is_finite()) {
        return w;
    }
    if let Ok(inverse) = scaled.pseudo_inverse(1e-10) {
        for i in 0..n {
            for j in 0..n {
                w[(kept[i], kept[j])] = 2.0 * inverse[(i, j)] / (scale[i] * scale[j]);
            }
        }
    }
    w
}
