//! The minimum of the restricted deviance over the two variance ratios, both zero or more.
//!
//! # Formula
//! Projected Newton steps with halving. Far from the minimum the curvature is the average information,
//! close to it the exact second derivative
//! -tr(PG_iPG_j) + df (2 y'PG_iPG_jPy / y'Py - y'PG_iPy y'PG_jPy / (y'Py)^2).
//! # Units
//! Ratios to the noise variance.
//! # Source
//! Bertsekas, SIAM J. Control Optim. 20 (1982), for the projection; Gilmour, Thompson and Cullis (1995).
//! # Limits
//! The start is the best of a grid of ratios from 0 to 100, so that a second, worse minimum is passed by.

use nalgebra::{Matrix2, Vector2};

use super::information::Information;
use super::likelihood::{self, Fit, Ratios, Slopes};
use super::reduced::Reduced;

/// Which of the two variances the model has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Components {
    pub session: bool,
    pub end: bool,
}

const GRID: [f64; 5] = [0.0, 0.03, 0.3, 3.0, 100.0];
const MOST_STEPS: usize = 200;

/// Returns the restricted maximum likelihood fit, or `None` where no ratios give one.
pub(crate) fn minimise(data: &Reduced, components: Components) -> Option<Fit> {
    let mut fit = likelihood::fit(data, best_start(data, components))?;
    for _ in 0..MOST_STEPS {
        let slopes = likelihood::slopes(data, &fit);
        let free = free_ratios(&slopes, fit.ratios, components, data.least_session);
        if !free[0] && !free[1] {
            break;
        }
        let mut step = newton_step(&slopes.information, &slopes.gradient, free);
        let mut gain = -step.dot(&slopes.gradient);
        if gain < 1e-2 {
            let exact = exact_curvature(data, &fit, &slopes);
            let sharper = newton_step(&exact, &slopes.gradient, free);
            let sharper_gain = -sharper.dot(&slopes.gradient);
            if sharper_gain > 0.0 && is_convex(&exact, free) {
                (step, gain) = (sharper, sharper_gain);
            }
        }
        let (next, done) = advance(data, &fit, step, gain);
        match next {
            Some(next) => fit = next,
            None => break,
        }
        if done {
            break;
        }
    }
    Some(fit)
}

fn best_start(data: &Reduced, components: Components) -> Ratios {
    let side = |present: bool| if present { &GRID[..] } else { &GRID[..1] };
    let mut best = (f64::INFINITY, Ratios { session: 0.0, end: 0.0 });
    for &session in side(components.session) {
        for &end in side(components.end) {
            let at = Ratios { session, end };
            let value = likelihood::deviance(data, at);
            if value < best.0 {
                best = (value, at);
            }
        }
    }
    best.1
}

/// A ratio at zero whose deviance rises from there stays at zero.
fn free_ratios(slopes: &Slopes, at: Ratios, components: Components, least_session: f64) -> [bool; 2] {
    [
        components.session && (at.session > least_session || slopes.gradient[0] < 0.0),
        components.end && (at.end > 0.0 || slopes.gradient[1] < 0.0),
    ]
}

fn newton_step(curvature: &Matrix2<f64>, gradient: &Vector2<f64>, free: [bool; 2]) -> Vector2<f64> {
    let mut step = Vector2::zeros();
    if free[0] && free[1] {
        let det = curvature.determinant();
        if det > 1e-10 * curvature[(0, 0)] * curvature[(1, 1)] {
            let [g0, g1] = [gradient[0], gradient[1]];
            step[0] = -(curvature[(1, 1)] * g0 - curvature[(0, 1)] * g1) / det;
            step[1] = -(curvature[(0, 0)] * g1 - curvature[(0, 1)] * g0) / det;
            return step;
        }
    }
    for i in 0..2 {
        if free[i] {
            let scale = curvature[(i, i)];
            step[i] = if scale > 0.0 { -gradient[i] / scale } else { -gradient[i].signum() };
        }
    }
    step
}

fn is_convex(curvature: &Matrix2<f64>, free: [bool; 2]) -> bool {
    match free {
        [true, true] => {
            curvature[(0, 0)] > 0.0
                && curvature.determinant() > 1e-10 * curvature[(0, 0)] * curvature[(1, 1)].abs()
        }
        [true, false] => curvature[(0, 0)] > 0.0,
        [false, true] => curvature[(1, 1)] > 0.0,
        [false, false] => false,
    }
}

fn exact_curvature(data: &Reduced, fit: &Fit, slopes: &Slopes) -> Matrix2<f64> {
    let trace = Information::new(data, fit).trace.fixed_view::<2, 2>(0, 0).into_owned();
    let (df, residual, q) = (data.df(), fit.residual, &slopes.quadratic);
    -trace + (slopes.quartic * (2.0 / residual) - q * q.transpose() / (residual * residual)) * df
}

/// Takes the step or a part of it; the second value says that the minimum is reached.
fn advance(data: &Reduced, fit: &Fit, step: Vector2<f64>, gain: f64) -> (Option<Fit>, bool) {
    let mut part = 1.0;
    for _ in 0..50 {
        let at = Ratios {
            session: (fit.ratios.session + part * step[0]).max(data.least_session),
            end: (fit.ratios.end + part * step[1]).max(0.0),
        };
        if at == fit.ratios {
            return (None, true);
        }
        if let Some(next) = likelihood::fit(data, at) {
            // Close to the minimum a gain drowns in rounding, so there the step itself decides.
            if gain < 1e-9 {
                return (Some(next), is_small(step, at));
            }
            if next.deviance < fit.deviance {
                return (Some(next), false);
            }
        }
        part *= 0.5;
    }
    (None, true)
}

fn is_small(step: Vector2<f64>, at: Ratios) -> bool {
    step[0].abs() <= 1e-10 * at.session.abs().max(1e-6) && step[1].abs() <= 1e-10 * at.end.max(1e-6)
}
