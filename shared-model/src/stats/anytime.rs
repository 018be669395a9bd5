//! A t-test that may be looked at after every value: its error rate holds however often one looks.
//!
//! # Formula
//! For n normal values with mean m, SD s and t = m √n / s, ν = n − 1: the Bayes factor of an effect m/s with prior
//! N(0, g) against none, E = (1 + n g)^(−1/2) [(1 + t²/ν) / (1 + t²/(ν (1 + n g)))]^(n/2), which exceeds
//! 1/α at any n with a chance of at most α when there is no effect. The confidence sequence holds the
//! means whose E stays below 1/α: t² < ν (R − 1) / (1 − R/(1 + n g)), R = (√(1 + n g)/α)^(2/n).
//! # Units
//! Those of the values.
//! # Source
//! Citations from memory. Lai, Annals of Statistics 4 (1976) 265; Hendriksen, de Heide and Grünwald, Bayesian
//! Analysis 16 (2021); Pérez-Ortiz, Lardy, de Heide and Grünwald, Annals of Statistics 52 (2024), on invariant
//! statistics under optional stopping; Ville's inequality.
//! # Limits
//! Two values or more, independent and normal with one variance. Wider than the interval for one look: that
//! is the price of looking at will.

/// What is known of a mean after some values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// How many values.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Evidence against no effect: 1/α or more rejects it at level α; nothing before it can be told.
    pub evidence: f64,
    /// Half the width of the confidence sequence; `None` while it has no end.
    pub half: Option<f64>,
}

/// A running t-test.
#[derive(Debug, Clone, Copy)]
pub struct Running {
    /// Prior variance of the effect in SDs.
    g: f64,
    alpha: f64,
    n: f64,
    mean: f64,
    ss: f64,
}

impl Running {
    /// Starts a test at the level `alpha` that is sharpest after `horizon` values.
    pub fn new(alpha: f64, horizon: usize) -> Self {
        Self { g: sharpest(alpha, horizon), alpha, n: 0.0, mean: 0.0, ss: 0.0 }
    }

    /// Takes a value (Welford's updating).
    pub fn take(&mut self, value: f64) {
        self.n += 1.0;
        let off = value - self.mean;
        self.mean += off / self.n;
        self.ss += off * (value - self.mean);
    }

    /// Returns what is known now; nothing before two values that differ.
    pub fn look(&self) -> Option<Look> {
        let evidence = libm::exp(self.log_evidence()?.min(700.0));
        let variance = self.ss / (self.n - 1.0);
        let half = t2_bound(self.n, self.g, self.alpha).map(|t2| (t2 * variance / self.n).sqrt());
        Some(Look { n: self.n as usize, mean: self.mean, evidence, half })
    }

    fn log_evidence(&self) -> Option<f64> {
        let df = self.n - 1.0;
        if df < 1.0 || self.ss <= 0.0 {
            return None;
        }
        let t2 = self.mean * self.mean * self.n * df / self.ss;
        let grown = 1.0 + self.n * self.g;
        let gain = libm::log1p(t2 / df) - libm::log1p(t2 / (df * grown));
        Some(0.5 * (self.n * gain - libm::log(grown)))
    }

    /// Returns whether no effect is rejected now.
    pub fn rejects(&self) -> bool {
        self.log_evidence().is_some_and(|log| log >= -libm::log(self.alpha))
    }
}

/// Returns the t² at the edge of the confidence sequence, or nothing while that has no end.
fn t2_bound(n: f64, g: f64, alpha: f64) -> Option<f64> {
    let grown = 1.0 + n * g;
    let r = libm::pow(grown.sqrt() / alpha, 2.0 / n);
    (r < grown).then(|| (n - 1.0) * (r - 1.0) / (1.0 - r / grown))
}

/// Returns the prior variance with which the sequence is narrowest after `horizon` values.
fn sharpest(alpha: f64, horizon: usize) -> f64 {
    let n = horizon.max(2) as f64;
    let width = |log_g: f64| t2_bound(n, libm::exp(log_g), alpha).unwrap_or(f64::MAX);
    let steps = (-80..=120).map(|i| f64::from(i) * 0.1);
    libm::exp(steps.min_by(|a, b| width(*a).total_cmp(&width(*b))).unwrap_or(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::{Rng, Seed};

    /// The share of series with a true mean `effect` in SDs that are rejected at one of their looks.
    fn rejected(effect: f64, looks: usize, alpha: f64, horizon: usize) -> f64 {
        let series = 4000;
        let hit = |seed: u64| {
            let mut rng = Rng::new(Seed(seed));
            let mut test = Running::new(alpha, horizon);
            (0..looks).any(|_| {
                test.take(3.0 * (effect + rng.normal()));
                test.rejects()
            })
        };
        (0..series).filter(|s| hit(*s)).count() as f64 / series as f64
    }

    #[test]
    fn looking_after_every_value_keeps_the_error_rate() {
        for (alpha, horizon) in [(0.05, 10), (0.025, 20)] {
            let rate = rejected(0.0, 200, alpha, horizon);
            // Two standard errors of 4000 series above the level.
            assert!(rate <= alpha + 2.0 * (alpha / 4000.0_f64).sqrt(), "{rate} at {alpha}");
            assert!(rate > 0.2 * alpha, "{rate}: the bound is never reached");
        }
        assert!(rejected(1.0, 20, 0.05, 20) > 0.8);
    }

    #[test]
    fn the_edge_of_the_sequence_is_where_the_evidence_is_one_over_alpha() {
        let mut test = Running::new(0.05, 12);
        let values = [1.0, 2.5, 0.3, 1.9, 2.2, 1.1, 0.8, 2.0];
        values.iter().for_each(|v| test.take(*v));
        let look = test.look().expect("eight values");
        let half = look.half.expect("an end");
        let mut moved = Running { mean: 0.0, n: 0.0, ss: 0.0, ..test };
        values.iter().for_each(|v| moved.take(*v - (look.mean - half)));
        let at_edge = moved.look().expect("eight values").evidence;
        assert!((at_edge / 20.0 - 1.0).abs() < 1e-9, "{at_edge}");
    }

    #[test]
    fn the_sequence_holds_the_mean_at_every_look_at_once() {
        let mut missed = 0;
        for seed in 0..2000 {
            let mut rng = Rng::new(Seed(77 + seed));
            let mut test = Running::new(0.05, 15);
            missed += usize::from((0..60).any(|_| {
                test.take(5.0 + rng.normal());
                test.look().and_then(|l| l.half.map(|h| (l.mean - 5.0).abs() > h)).unwrap_or(false)
            }));
        }
        assert!(missed <= 120, "{missed} of 2000");
    }

    #[test]
    fn values_that_do_not_differ_say_nothing() {
        let mut test = Running::new(0.05, 4);
        assert_eq!(test.look(), None);
        (0..5).for_each(|_| test.take(1.0));
        assert_eq!(test.look(), None);
    }
}
