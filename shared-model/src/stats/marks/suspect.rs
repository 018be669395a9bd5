//! Marks that stand far off the curve through the others.
//!
//! # Formula
//! With the leverage h = |row of Q|²: off = e/(1 − h); t = e/(s₋ √(1 − h)), s₋² = (SS − e²/(1 − h))/(df − 1) and no
//! less than rounding makes, on df − 1 degrees of freedom; two-sided, Holm over all marks.
//! # Units
//! As [`super`].
//! # Source
//! Cook and Weisberg, Residuals and Influence in Regression (1982), sections 2.2.1 and 2.2.2; Holm 1979.
//! # Limits
//! Two degrees of freedom or more. Two marks that are off alike hide each other.

use super::{fit::Fit, shape::scaled};
use crate::stats::{adjust_p::holm, special::tails::t_two_sided};

/// How a mark stands beside the others.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Suspect {
    pub off: Option<f64>,
    pub p_adjusted: Option<f64>,
}

/// Returns how each mark stands beside the curve through the others.
pub(super) fn suspects(fit: &Fit) -> Vec<Suspect> {
    let mut found = vec![Suspect::default(); fit.input.marks.len()];
    let mut p = Vec::new();
    for (i, mark) in fit.input.marks.iter().enumerate() {
        let Some([value, _]) = fit.at(mark.distance_m) else { continue };
        let rest = scaled(fit.input.what, mark.distance_m, mark.reading) - value;
        let free = 1.0 - fit.q.row(i).norm_squared();
        if free < 1e-9 {
            continue;
        }
        found[i].off = Some(rest / free);
        if fit.df < 2.0 {
            continue;
        }
        let variance = ((fit.ss - rest * rest / free) / (fit.df - 1.0)).max(fit.floor * fit.floor);
        let t = rest / (variance * free).sqrt();
        p.extend(t_two_sided(t, fit.df - 1.0).map(|p| (i, p)));
    }
    let adjusted = holm(&p.iter().map(|(_, p)| *p).collect::<Vec<_>>());
    for ((i, _), adjusted) in p.into_iter().zip(adjusted) {
        found[i].p_adjusted = Some(adjusted);
    }
    found
}
