//! How tight: the spread against the dial, and where it is smallest.
//!
//! # Formula
//! The log variance of an end, unbiased by [`crate::stats::spread_steps`], is regressed on the dial and its square,
//! other settings (a line and a square each, or their values), steps of changes and a random factor of the
//! session, by REML with Kenward and Roger's errors, which are never narrower than those of normal arrows. Log SD is
//! half of it: a + b v + c v^2. Where c is above zero at the confidence and -b/(2c) lies within the values
//! shot, that is the value of smallest spread; its interval holds every v at which the slope b + 2 c v is not
//! told from zero by its own t test (Fieller's theorem), and has two ends because c is told from zero.
//! Otherwise none is shown, and the line alone gives the SD ratio exp(b) per unit.
//! # Units
//! Log SD per unit of the dial and per unit squared; ratios of SD.
//! # Source
//! Fieller, J. R. Statist. Soc. B 16 (1954), 175-185; Kenward and Roger, Biometrics 53 (1997).
//! # Limits
//! Ends of two arrows or more. A parabola of log SD: far from symmetric answers have their smallest spread
//! elsewhere. The interval may reach beyond the values shot.

use nalgebra::DVector;

use super::design::{Asked, Design, Term, design, dial_at};
use super::gather::{Observed, gather};
use super::place::Slope;
use super::prepare::Season;
use crate::stats::effects::End;
use crate::stats::mixed::{Components, KenwardRoger, Within, reml};
use crate::stats::special::tails;
use crate::stats::spread_steps::{EndScatter, least_scatter, log_variance, trigamma};

/// The value of smallest spread in the dial's unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Smallest {
    pub at: f64,
    pub interval: Option<[f64; 2]>,
}

/// What is known of the spread.
#[derive(Debug, Clone, Default)]
pub(super) struct Spread {
    /// Log SD per unit squared.
    pub curvature: Option<Slope>,
    pub smallest: Option<Smallest>,
    /// Log SD per unit, where no smallest spread is shown.
    pub slope: Option<Slope>,
    /// By state, the noise variance relative to the season's.
    pub noise: Vec<f64>,
    pub inseparable_from: Vec<Term>,
    /// Whether it is the sessions that it cannot be told apart from.
    pub session: bool,
}

/// A state's noise is taken as no further from the season's than by this factor of variance.
const FARTHEST_NOISE: f64 = 9.0;

/// Fits the spread against the dial.
pub(super) fn fit(season: &Season, confidence: f64) -> Spread {
    let mut found = Spread { noise: vec![1.0; season.states.len()], ..Spread::default() };
    let line = spread_design(season, &[]);
    found.inseparable_from = line.inseparable_from.clone();
    found.session = line.session;
    let squares: Vec<f64> = season.states.iter().map(|s| dial_at(season, s)).map(|u| u * u).collect();
    let curve = spread_design(season, &[squares]);
    let told = line.dial.is_some() && !line.session;
    if told && let Some(fit) = Fit::new(season, curve).filter(|f| !f.design.beyond.is_empty()) {
        found.noise = fit.noise(season);
        found.curvature = fit.curvature(season);
        found.smallest = fit.smallest(season, found.curvature, confidence);
    }
    if let Some(fit) = Fit::new(season, line) {
        if found.curvature.is_none() {
            found.noise = fit.noise(season);
        }
        if told && found.smallest.is_none() {
            found.slope = fit.slope(season);
        }
    }
    found
}

fn spread_design(season: &Season, beyond: &[Vec<f64>]) -> Design {
    design(season, &Asked { epochs: false, squares: true, beyond }, |e| season.ends[e].arrows > 1)
}

/// A fitted regression of log variance.
struct Fit {
    design: Design,
    beta: DVector<f64>,
    kr: KenwardRoger,
    /// The dispersion, not below that of normal arrows.
    noise: f64,
}

impl Fit {
    fn new(season: &Season, design: Design) -> Option<Self> {
        let ends: Vec<EndScatter> = season.ends.iter().map(End::scatter).filter(|e| e.df > 0.0).collect();
        let least = least_scatter(&ends)?;
        let observed: Vec<Observed> = ends
            .iter()
            .map(|e| Observed {
                session: e.session,
                row: design.cells[&(e.segment, 0)],
                weight: 1.0 / trigamma(0.5 * e.df),
                y: log_variance(e, least),
            })
            .collect();
        let scale = ends.iter().map(|e| libm::log(trigamma(0.5 * e.df))).sum();
        let none = Within { x: None, yy: 0.0, df: 0.0 };
        let data = gather(&design.x, &observed, none, ends.len() as f64, scale);
        let reml = reml(&data, Components { session: design.session_variance, end: false })?;
        let kr = KenwardRoger::new(&data, &reml.fit, reml.components);
        Some(Self { design, beta: reml.fit.beta, kr, noise: reml.noise.max(1.0) })
    }

    /// Returns the noise variance of each state relative to the mean over arrows.
    fn noise(&self, season: &Season) -> Vec<f64> {
        let log = |state: usize| {
            let row = self.design.cells.get(&(state, 0))?;
            Some((0..self.beta.len()).map(|j| self.design.x[(*row, j)] * self.beta[j]).sum::<f64>())
        };
        let logs: Vec<Option<f64>> = (0..season.states.len()).map(log).collect();
        let known = || season.ends.iter().filter_map(|e| Some((logs[e.segment]?, e.arrows as f64)));
        let (sum, arrows) = known().fold((0.0, 0.0), |(s, n), (log, a)| (s + a * log, n + a));
        let middle = sum / arrows;
        let farthest = libm::log(FARTHEST_NOISE);
        let factor =
            |log: &Option<f64>| libm::exp(log.map_or(0.0, |log| (log - middle).clamp(-farthest, farthest)));
        logs.iter().map(factor).collect()
    }

    /// Returns a contrast of log SD with its error; `None` where the data cannot tell it.
    fn contrast(&self, l: &[(usize, f64)]) -> Option<Slope> {
        let v = self.kr.contrast(l);
        let estimate = 0.5 * l.iter().map(|(j, factor)| factor * self.beta[*j]).sum::<f64>();
        let se = 0.5 * (v.adjusted * self.noise).sqrt();
        let p = tails::t_two_sided(estimate / se, v.df)?;
        (v.df.is_finite() && se.is_finite()).then_some(Slope { estimate, se, df: v.df, p })
    }

    fn slope(&self, season: &Season) -> Option<Slope> {
        self.contrast(&[(self.design.dial?, 1.0 / season.settings[0].reach())])
    }

    fn curvature(&self, season: &Season) -> Option<Slope> {
        let reach = season.settings[0].reach();
        self.contrast(&[(*self.design.beyond.first()?, 1.0 / (reach * reach))])
    }

    /// Returns the value of smallest spread where one is shown.
    fn smallest(&self, season: &Season, curvature: Option<Slope>, confidence: f64) -> Option<Smallest> {
        let (dial, square) = (self.design.dial?, *self.design.beyond.first()?);
        curvature.filter(|c| c.estimate > 0.0 && c.p < 1.0 - confidence)?;
        let at = -self.beta[dial] / (2.0 * self.beta[square]);
        if at.abs() > 1.0 {
            return None;
        }
        let slope_told = |u: f64| {
            let slope = self.contrast(&[(dial, 1.0), (square, 2.0 * u)]);
            slope.is_some_and(|s| s.p < 1.0 - confidence)
        };
        let ends = [-1.0, 1.0].map(|way| crossing(at, way, slope_told));
        let setting = &season.settings[0];
        let unit = |u: f64| setting.middle() + setting.reach() * u;
        let interval = match ends {
            [Some(low), Some(high)] => Some([unit(low), unit(high)]),
            _ => None,
        };
        Some(Smallest { at: unit(at), interval })
    }
}

/// Returns how far from `start` one can go before `told` becomes true; `None` where it never does.
fn crossing(start: f64, way: f64, told: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut inside, mut outside) = (0.0, 0.05);
    while !told(start + way * outside) {
        inside = outside;
        outside *= 1.5;
        if outside > 1e6 {
            return None;
        }
    }
    for _ in 0..60 {
        let middle = 0.5 * (inside + outside);
        if told(start + way * middle) {
            outside = middle;
        } else {
            inside = middle;
        }
    }
    Some(start + way * 0.5 * (inside + outside))
}
