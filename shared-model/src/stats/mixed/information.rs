//! What the second derivatives of the restricted likelihood and the Kenward-Roger terms share.
//!
//! # Formula
//! For the variance components i (session, end, noise) with derivative matrices G:
//! T_i = X'V^-1 G_i V^-1 X, Q_ij = X'V^-1 G_i V^-1 G_j V^-1 X (symmetrised), K_ij = tr(V^-1 G_i V^-1 G_j), and
//! tr(P G_i P G_j) = K_ij - 2 tr(Phi Q_ij) + tr(Phi T_i Phi T_j).
//! A row of V^-1 X in a session is w (x - (1 - shrink) mean row), so all of them are sums over strata.
//! # Units
//! Noise variance 1.
//! # Source
//! Kenward and Roger, Biometrics 53 (1997), section 3; Halekoh and Hojsgaard, J. Stat. Softw. 59(9) (2014).
//! # Limits
//! As the likelihood's.

use nalgebra::{DMatrix, DVector, Matrix3};

use super::likelihood::{Fit, Ratios, Weights};
use super::optimise::Components;
use super::reduced::{Reduced, Session};

/// The index of the noise among the components.
pub(crate) const NOISE: usize = 2;

/// Second-order terms of the components session, end, noise.
pub(crate) struct Information {
    pub t: [DMatrix<f64>; 3],
    /// Upper triangle by rows: 00, 01, 02, 11, 12, 22.
    pub q: [DMatrix<f64>; 6],
    /// Phi T_i.
    pub phi_t: [DMatrix<f64>; 3],
    /// tr(P G_i P G_j): twice the expected restricted information.
    pub trace: Matrix3<f64>,
    /// tr(V^-1 G_i V^-1 G_j): the same, were the coefficients known.
    known: Matrix3<f64>,
}

/// The share of a component's information below which it counts as none.
const NOTHING: f64 = 1e-9;

/// Returns the place of (i, j) in an upper triangle by rows.
pub(crate) fn pair(i: usize, j: usize) -> usize {
    let (i, j) = (i.min(j), i.max(j));
    [0, 3, 5][i] + j - i
}

impl Information {
    pub fn new(data: &Reduced, fit: &Fit) -> Self {
        let p = data.columns;
        let mut t: [DMatrix<f64>; 3] = std::array::from_fn(|_| DMatrix::zeros(p, p));
        let mut q: [DMatrix<f64>; 6] = std::array::from_fn(|_| DMatrix::zeros(p, p));
        let mut k = Matrix3::zeros();
        for session in &data.sessions {
            add_session(session, fit.ratios, &mut t, &mut q, &mut k);
        }
        if let Some((xx, _)) = &data.within.x {
            t[NOISE] += xx;
            q[pair(NOISE, NOISE)] += xx;
        }
        k[(NOISE, NOISE)] += data.within.df;
        let phi_t: [DMatrix<f64>; 3] = std::array::from_fn(|i| times_sparse(&fit.phi, &t[i]));
        let mut trace = Matrix3::zeros();
        for i in 0..3 {
            for j in i..3 {
                let value =
                    k[(i, j)] - 2.0 * fit.phi.dot(&q[pair(i, j)]) + phi_t[i].dot(&phi_t[j].transpose());
                trace[(i, j)] = value;
                trace[(j, i)] = value;
            }
        }
        Self { t, q, phi_t, trace, known: k }
    }

    /// Says whether the data tell these variances apart from each other, the coefficients and the noise.
    pub fn tells_apart(&self, components: Components) -> bool {
        let present = [components.session, components.end, true];
        let kept: Vec<usize> = (0..3).filter(|i| present[*i]).collect();
        if kept.iter().any(|i| self.trace[(*i, *i)] <= NOTHING * self.known[(*i, *i)]) {
            return false;
        }
        let scale = |i: usize| self.trace[(i, i)].sqrt();
        let scaled = DMatrix::from_fn(kept.len(), kept.len(), |i, j| {
            self.trace[(kept[i], kept[j])] / (scale(kept[i]) * scale(kept[j]))
        });
        scaled.symmetric_eigenvalues().min() > NOTHING
    }
}

/// Returns the product of two square matrices, passing over the zeros of the second.
pub(crate) fn times_sparse(a: &DMatrix<f64>, b: &DMatrix<f64>) -> DMatrix<f64> {
    let mut product = DMatrix::zeros(a.nrows(), b.ncols());
    for j in 0..b.ncols() {
        for k in 0..b.nrows() {
            let value = b[(k, j)];
            if value != 0.0 {
                product.column_mut(j).axpy(value, &a.column(k), 1.0);
            }
        }
    }
    product
}

/// Adds one session's part to T, Q and K.
fn add_session(
    session: &Session,
    at: Ratios,
    t: &mut [DMatrix<f64>; 3],
    q: &mut [DMatrix<f64>; 6],
    k: &mut Matrix3<f64>,
) {
    let weights = Weights::new(session, at);
    let mean = weights.mean_row(session);
    let n = session.columns.len();
    let [mut t_end, mut t_noise, mut q_ee, mut q_en, mut q_nn]: [DMatrix<f64>; 5] =
        std::array::from_fn(|_| DMatrix::zeros(n, n));
    let (mut s2, mut sm) = (DVector::zeros(n), DVector::zeros(n));
    for (i, (s, w)) in session.strata.iter().zip(&weights.w).enumerate() {
        let row = session.x.row(i).transpose() - &mean * (1.0 - weights.shrink);
        let m = 1.0 / s.weight;
        let (w2, w3) = (s.ends * w * w, s.ends * w * w * w);
        t_end.ger(w2, &row, &row, 1.0);
        t_noise.ger(w2 * m, &row, &row, 1.0);
        q_ee.ger(w3, &row, &row, 1.0);
        q_en.ger(w3 * m, &row, &row, 1.0);
        q_nn.ger(w3 * m * m, &row, &row, 1.0);
        s2.axpy(w2, &row, 1.0);
        sm.axpy(w2 * m, &row, 1.0);
    }
    let b = weights.total * weights.shrink;
    let f = &mean * b;
    q_ee.ger(-weights.c, &s2, &s2, 1.0);
    symmetric_ger(&mut q_en, -weights.c, &s2, &sm);
    q_nn.ger(-weights.c, &sm, &sm, 1.0);
    let t_session = &f * f.transpose();
    let (mut q_se, mut q_sn) = (DMatrix::zeros(n, n), DMatrix::zeros(n, n));
    symmetric_ger(&mut q_se, weights.shrink, &f, &s2);
    symmetric_ger(&mut q_sn, weights.shrink, &f, &sm);
    let q_ss = &t_session * b;
    for (target, part) in t.iter_mut().zip([&t_session, &t_end, &t_noise]) {
        scatter(target, &session.columns, part);
    }
    for (target, part) in q.iter_mut().zip([&q_ss, &q_se, &q_sn, &q_ee, &q_en, &q_nn]) {
        scatter(target, &session.columns, part);
    }
    *k += traces(session, &weights);
}

/// Returns tr(V^-1 G_i V^-1 G_j) of a session's end means.
fn traces(session: &Session, weights: &Weights) -> Matrix3<f64> {
    // Sums over ends of w^2 and w^3, times powers 0, 1, 2 of the noise 1/m of an end's mean.
    let (mut w2, mut w3) = ([0.0; 3], [0.0; 3]);
    for (s, w) in session.strata.iter().zip(&weights.w) {
        let m = 1.0 / s.weight;
        for (power, factor) in [1.0, m, m * m].into_iter().enumerate() {
            w2[power] += s.ends * w * w * factor;
            w3[power] += s.ends * w * w * w * factor;
        }
    }
    let (b, c, shrink2) = (weights.total * weights.shrink, weights.c, weights.shrink * weights.shrink);
    let (se, sn) = (shrink2 * w2[0], shrink2 * w2[1]);
    let ee = w2[0] - 2.0 * c * w3[0] + c * c * w2[0] * w2[0];
    let en = w2[1] - 2.0 * c * w3[1] + c * c * w2[0] * w2[1];
    let nn = w2[2] - 2.0 * c * w3[2] + c * c * w2[1] * w2[1];
    Matrix3::new(b * b, se, sn, se, ee, en, sn, en, nn)
}

fn symmetric_ger(target: &mut DMatrix<f64>, factor: f64, a: &DVector<f64>, b: &DVector<f64>) {
    target.ger(0.5 * factor, a, b, 1.0);
    target.ger(0.5 * factor, b, a, 1.0);
}

fn scatter(target: &mut DMatrix<f64>, columns: &[usize], local: &DMatrix<f64>) {
    for (j, cj) in columns.iter().enumerate() {
        for (i, ci) in columns.iter().enumerate() {
            target[(*ci, *cj)] += local[(i, j)];
        }
    }
}
