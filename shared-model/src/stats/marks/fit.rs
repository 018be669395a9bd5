//! Least squares of the marks' curve, and its intervals.
//!
//! # Formula
//! For each speed, zero and slope by Gauss and Newton's steps (one step where the curve is linear in them); the
//! speed on a grid, then by golden section, then all together. Intervals from the R of J = QR: gᵀ(JᵀJ)⁻¹g = |R⁻ᵀg|².
//! # Units
//! As [`super`]; gaps over their distance in mrad.
//! # Source
//! As [`super`]; golden section: Kiefer, Proc. Amer. Math. Soc. 4 (1953) 502.
//! # Limits
//! As [`super`].

use super::{
    MarkedOn, MarksInput,
    shape::{Angle, Parameters, scaled},
};
use crate::stats::special::tails::t_quantile;
use nalgebra::{DMatrix, DVector};

/// Between which speeds an arrow leaves a bow, m/s: generous, so that only nonsense lies outside.
pub const SPEEDS_M_S: [f64; 2] = [20.0, 130.0];
/// Speeds that are tried first.
const GRID: usize = 20;
/// The step of the logarithm of the speed by which its derivative is taken.
const STEP: f64 = 1e-4;

/// Why there is no fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unfit {
    TooFew { need: usize, distances: usize },
    SpeedAtBounds,
    NoTrend,
    NoQuantile,
    NotReached(f64),
}

/// A fitted curve.
#[derive(Debug, Clone)]
pub(super) struct Fit<'a> {
    pub input: &'a MarksInput,
    pub p: Parameters,
    /// Sum of squared residuals.
    pub ss: f64,
    pub df: f64,
    /// Scatter about the curve, no less than the resolution lets it be.
    pub sigma: f64,
    /// The least that the resolution lets it be.
    pub floor: f64,
    /// Of the t distribution, for the confidence.
    pub t: f64,
    /// Rows of Q, and R of J = QR.
    pub q: DMatrix<f64>,
    r: DMatrix<f64>,
}

/// Returns how many parameters a fit has.
pub(super) fn parameters(what: MarkedOn, speed_known: bool) -> usize {
    let curve = if what == MarkedOn::Gap { 1 } else { 2 };
    curve + usize::from(!speed_known)
}

/// The marks as they are fitted.
struct Data<'a> {
    input: &'a MarksInput,
    y: Vec<f64>,
}

impl<'a> Fit<'a> {
    pub fn new(input: &'a MarksInput) -> Result<Self, Unfit> {
        let count = parameters(input.what, input.speed_m_s.is_some());
        if input.marks.len() <= count || input.distances().len() < count.max(2) {
            return Err(Unfit::TooFew { need: count + 1, distances: count.max(2) });
        }
        let y = input.marks.iter().map(|m| scaled(input.what, m.distance_m, m.reading)).collect();
        let data = Data { input, y };
        let (p, ss) = match input.speed_m_s {
            Some(speed) => data.inner(libm::log(speed)).ok_or_else(|| data.not_reached(speed))?,
            None => data.with_speed()?,
        };
        let df = (input.marks.len() - count) as f64;
        let t = t_quantile(0.5 + 0.5 * input.confidence, df).ok_or(Unfit::NoQuantile)?;
        let floor = floor(input);
        let sigma = (ss / df).sqrt().max(floor);
        let (q, r) = data.jacobian(p).and_then(parted).ok_or(Unfit::SpeedAtBounds)?;
        let fit = Self { input, p, ss, df, sigma, floor, t, q, r };
        if fit.follows(&data.y) { Ok(fit) } else { Err(Unfit::NoTrend) }
    }

    /// Returns whether the curve leaves less than half of the scatter that the marks have among each other.
    fn follows(&self, y: &[f64]) -> bool {
        let n = y.len() as f64;
        let mean = y.iter().sum::<f64>() / n;
        let all = y.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / (n - 1.0);
        self.ss / self.df < 0.5 * all
    }

    /// Returns the fitted value at a distance and its standard error, in units of the fit; nothing out of reach.
    pub fn at(&self, distance_m: f64) -> Option<[f64; 2]> {
        let (value, gradient) = gradient(self.input, distance_m, self.p, self.r.ncols())?;
        let spread = self.r.transpose().solve_lower_triangular(&DVector::from_vec(gradient))?;
        let se = self.sigma * spread.norm();
        (value.is_finite() && se.is_finite()).then_some([value, se])
    }

    /// Returns the interval of the slope; none where the speed's has no two ends, on which the slope hangs.
    pub fn slope_interval(&self, speed: Option<[Option<f64>; 2]>) -> Option<[f64; 2]> {
        if self.input.what == MarkedOn::Gap || matches!(speed, Some([None, _] | [_, None])) {
            return None;
        }
        let mut unit = DVector::zeros(self.r.ncols());
        unit[1] = 1.0;
        let half = self.t * self.sigma * self.r.transpose().solve_lower_triangular(&unit)?.norm();
        if speed.is_none() {
            return Some([self.p.b - half, self.p.b + half]);
        }
        // With the speed it goes by factors.
        let factor = libm::exp(half / self.p.b.abs());
        let ends = [self.p.b / factor, self.p.b * factor];
        Some(if self.p.b < 0.0 { [ends[1], ends[0]] } else { ends })
            .filter(|e| e.iter().all(|v| v.is_finite()))
    }

    /// Returns the interval of a fitted speed by the profile of the sum of squares.
    pub fn speed_interval(&self) -> Option<[Option<f64>; 2]> {
        if self.input.speed_m_s.is_some() {
            return None;
        }
        let y = self.input.marks.iter().map(|m| scaled(self.input.what, m.distance_m, m.reading)).collect();
        let data = Data { input: self.input, y };
        let most = self.ss + self.t * self.t * self.sigma * self.sigma;
        let beyond = |u: f64| data.inner(u).is_none_or(|(_, ss)| ss > most);
        let end = |bound: f64| {
            let (mut inside, mut outside) = (self.p.log_speed, libm::log(bound));
            if !beyond(outside) {
                return None;
            }
            for _ in 0..16 {
                let middle = 0.5 * (inside + outside);
                if beyond(middle) { outside = middle } else { inside = middle }
            }
            Some(libm::exp(outside))
        };
        Some([end(SPEEDS_M_S[0]), end(SPEEDS_M_S[1])])
    }
}

/// Returns the scatter that rounding to the resolution alone makes, in units of the fit.
fn floor(input: &MarksInput) -> f64 {
    let step = input.resolution();
    let each = input.marks.iter().map(|m| scaled(input.what, m.distance_m, step)).map(|s| s * s / 12.0);
    (each.sum::<f64>() / input.marks.len() as f64).sqrt()
}

/// Returns value and gradient at a distance.
fn gradient(input: &MarksInput, distance_m: f64, p: Parameters, count: usize) -> Option<(f64, Vec<f64>)> {
    let what = input.what;
    let at = |u: f64| Angle::new(what, &input.flight, distance_m, u);
    let here = at(p.log_speed)?;
    let by = here.gradient(what, p);
    let curve = if what == MarkedOn::Gap { 1 } else { 2 };
    let mut gradient = by[..curve].to_vec();
    if count > curve {
        let [below, above] = [at(p.log_speed - STEP)?, at(p.log_speed + STEP)?];
        gradient.push((above.value(what, p) - below.value(what, p)) / (2.0 * STEP));
    }
    let value = here.value(what, p);
    (value.is_finite() && gradient.iter().all(|g| g.is_finite())).then_some((value, gradient))
}

/// Returns Q and R, where no parameter can be written by the others.
fn parted(j: DMatrix<f64>) -> Option<(DMatrix<f64>, DMatrix<f64>)> {
    let norms: Vec<f64> = j.column_iter().map(|c| c.norm()).collect();
    let (q, r) = j.qr().unpack();
    let apart = (0..r.ncols()).all(|i| r[(i, i)].abs() > 1e-9 * norms[i] && r[(i, i)].is_finite());
    apart.then_some((q, r))
}

impl Data<'_> {
    fn jacobian(&self, p: Parameters) -> Option<DMatrix<f64>> {
        let count = parameters(self.input.what, self.input.speed_m_s.is_some());
        let mut j = DMatrix::zeros(self.y.len(), count);
        for (i, mark) in self.input.marks.iter().enumerate() {
            let (_, row) = gradient(self.input, mark.distance_m, p, count)?;
            for (k, value) in row.into_iter().enumerate() {
                j[(i, k)] = value;
            }
        }
        Some(j)
    }

    fn not_reached(&self, speed: f64) -> Unfit {
        let short = |d: &f64| Angle::new(self.input.what, &self.input.flight, *d, libm::log(speed)).is_none();
        Unfit::NotReached(self.input.distances().into_iter().find(short).unwrap_or(0.0))
    }

    /// Returns the best zero and slope at a speed and their sum of squares.
    fn inner(&self, log_speed: f64) -> Option<(Parameters, f64)> {
        let what = self.input.what;
        let angle = |m: &super::Reading| Angle::new(what, &self.input.flight, m.distance_m, log_speed);
        let angles = self.input.marks.iter().map(angle).collect::<Option<Vec<_>>>()?;
        let mut p = self.start(&angles, log_speed);
        let ss = |p: Parameters| {
            angles
                .iter()
                .zip(&self.y)
                .map(|(a, y)| (y - a.value(what, p)) * (y - a.value(what, p)))
                .sum::<f64>()
        };
        let mut best = ss(p);
        for _ in 0..12 {
            let rows = angles.iter().zip(&self.y).map(|(a, y)| (a.gradient(what, p), y - a.value(what, p)));
            let [da, db] = step(rows, what == MarkedOn::Gap)?;
            let next = Parameters { a: p.a + da, b: p.b + db, log_speed };
            let reached = ss(next);
            if !reached.is_finite() || reached >= best {
                break;
            }
            let done = best - reached <= 1e-14 * best;
            (p, best) = (next, reached);
            if done || what == MarkedOn::Sight {
                break;
            }
        }
        best.is_finite().then_some((p, best))
    }

    fn start(&self, angles: &[Angle], log_speed: f64) -> Parameters {
        let n = angles.len() as f64;
        let mean = |of: &dyn Fn(usize) -> f64| (0..angles.len()).map(of).sum::<f64>() / n;
        if self.input.what == MarkedOn::Gap {
            let a = mean(&|i| angles[i].tangent() - 1e-3 * self.y[i]);
            return Parameters { a, b: 0.0, log_speed };
        }
        let (x, y) = (mean(&|i| angles[i].tangent()), mean(&|i| self.y[i]));
        let xx = mean(&|i| (angles[i].tangent() - x) * (angles[i].tangent() - x));
        let xy = mean(&|i| (angles[i].tangent() - x) * (self.y[i] - y));
        let b = if xx > 0.0 { xy / xx } else { 0.0 };
        Parameters { a: y - b * x, b, log_speed }
    }

    /// Returns the best parameters with the speed among them.
    fn with_speed(&self) -> Result<(Parameters, f64), Unfit> {
        let [low, high] = SPEEDS_M_S.map(libm::log);
        let place = |i: usize| low + (high - low) * i as f64 / (GRID - 1) as f64;
        let tried: Vec<Option<f64>> = (0..GRID).map(|i| Some(self.inner(place(i))?.1)).collect();
        let best = (0..GRID)
            .filter(|i| tried[*i].is_some())
            .min_by(|i, j| tried[*i].unwrap_or(f64::MAX).total_cmp(&tried[*j].unwrap_or(f64::MAX)))
            .ok_or_else(|| self.not_reached(SPEEDS_M_S[1]))?;
        let ends = [place(best.saturating_sub(1)), place((best + 1).min(GRID - 1))];
        let u = self.golden(ends);
        let (first, ss) = self.inner(u).ok_or(Unfit::SpeedAtBounds)?;
        // An edge is where the arrow stops to reach the farthest mark, or the bound itself.
        let edge =
            |end: f64| (u - end).abs() < 0.01 && (end == low || end == high || self.inner(end).is_none());
        if ends.into_iter().any(edge) {
            return Err(Unfit::SpeedAtBounds);
        }
        let (p, ss) = self.polished(first, ss);
        // All together may go where the speed alone did not.
        if (low..=high).contains(&p.log_speed) { Ok((p, ss)) } else { Err(Unfit::SpeedAtBounds) }
    }

    fn golden(&self, [mut low, mut high]: [f64; 2]) -> f64 {
        const SHARE: f64 = 0.618_033_988_749_895;
        let value = |u: f64| self.inner(u).map_or(f64::MAX, |(_, ss)| ss);
        let (mut a, mut b) = (high - SHARE * (high - low), low + SHARE * (high - low));
        let (mut at_a, mut at_b) = (value(a), value(b));
        for _ in 0..10 {
            if at_a < at_b {
                (high, b, at_b) = (b, a, at_a);
                a = high - SHARE * (high - low);
                at_a = value(a);
            } else {
                (low, a, at_a) = (a, b, at_b);
                b = low + SHARE * (high - low);
                at_b = value(b);
            }
        }
        if at_a < at_b { a } else { b }
    }

    /// Moves all parameters together by Gauss and Newton's steps as long as the fit gets better.
    fn polished(&self, mut p: Parameters, mut ss: f64) -> (Parameters, f64) {
        for _ in 0..8 {
            let Some((next, reached)) = self.together(p) else { break };
            if reached > ss {
                break;
            }
            let done = ss - reached <= 1e-13 * ss;
            (p, ss) = (next, reached);
            if done {
                break;
            }
        }
        (p, ss)
    }

    fn together(&self, p: Parameters) -> Option<(Parameters, f64)> {
        let (q, r) = parted(self.jacobian(p)?)?;
        let at = |p: Parameters, m: &super::Reading| {
            Some(
                Angle::new(self.input.what, &self.input.flight, m.distance_m, p.log_speed)?
                    .value(self.input.what, p),
            )
        };
        let left = |p: Parameters| -> Option<Vec<f64>> {
            self.input.marks.iter().zip(&self.y).map(|(m, y)| Some(y - at(p, m)?)).collect()
        };
        let step = r.solve_upper_triangular(&(q.transpose() * DVector::from_vec(left(p)?)))?;
        let mut next = p;
        next.a += step[0];
        if self.input.what != MarkedOn::Gap {
            next.b += step[1];
        }
        next.log_speed += step[step.len() - 1].clamp(-0.1, 0.1);
        let ss = left(next)?.iter().map(|e| e * e).sum::<f64>();
        ss.is_finite().then_some((next, ss))
    }
}

/// Returns a step of zero and slope by least squares; of the zero alone where there is no slope.
fn step(rows: impl Iterator<Item = ([f64; 2], f64)>, zero_only: bool) -> Option<[f64; 2]> {
    let (mut aa, mut ab, mut bb, mut ar, mut br) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ([a, b], rest) in rows {
        aa += a * a;
        ab += a * b;
        bb += b * b;
        ar += a * rest;
        br += b * rest;
    }
    if zero_only {
        return (aa > 0.0).then(|| [ar / aa, 0.0]);
    }
    let below = aa * bb - ab * ab;
    (below > 1e-14 * aa * bb).then(|| [(ar * bb - br * ab) / below, (aa * br - ab * ar) / below])
}
