//! Tests whether several samples have one spread.
//!
//! # Formula
//! Bartlett: [(N − k) ln s² − Σ (nᵢ − 1) ln sᵢ²] / [1 + (Σ 1/(nᵢ − 1) − 1/(N − k)) / (3 (k − 1))], chi-square
//! on k − 1. Levene: analysis of variance of |y − centre of its sample|, F on k − 1 and N − k; about means
//! it is Levene's, about medians that of Brown and Forsythe.
//! # Units
//! That of the samples.
//! # Source
//! Bartlett, Proceedings of the Royal Society A 160 (1937) 268; Levene, Contributions to Probability and
//! Statistics (1960) 278; Brown and Forsythe, J. Amer. Statist. Assoc. 69 (1974) 364; NIST/SEMATECH
//! e-Handbook of Statistical Methods, 1.3.5.7 and 1.3.5.10.
//! # Limits
//! Two samples of two numbers or more. Bartlett's is misled by long tails; the one about medians is not.

use super::special::tails::{chi_square_upper, f_upper};
use crate::ModelError;
use serde::Serialize;

/// The three tests; null where the samples do not spread at all.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpreadTests {
    /// Bartlett's test.
    pub bartlett: Option<Bartlett>,
    /// Brown and Forsythe's: about medians.
    pub brown_forsythe: Option<Levene>,
    /// Levene's: about means.
    pub levene: Option<Levene>,
    /// What could not be had, and why.
    pub notes: Vec<String>,
}

/// Bartlett's test.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bartlett {
    /// The statistic.
    pub statistic: f64,
    /// Degrees of freedom of its chi-square.
    pub df: f64,
    /// P-value.
    pub p: f64,
}

/// A test on distances from a centre.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Levene {
    /// The statistic.
    pub f: f64,
    /// Degrees of freedom above.
    pub df1: f64,
    /// Degrees of freedom below.
    pub df2: f64,
    /// P-value.
    pub p: f64,
}

/// Tests whether the samples have one spread.
///
/// # Errors
/// `too_few` with fewer than two samples, or fewer than two numbers in one.
pub fn spread_tests(samples: &[Vec<f64>]) -> Result<SpreadTests, ModelError> {
    if samples.len() < 2 {
        let message = format!("'samples' has {} lists; a comparison needs two or more", samples.len());
        return Err(ModelError::new("too_few", message).at("samples"));
    }
    if let Some(i) = samples.iter().position(|s| s.len() < 2) {
        let message = format!("sample {i} has {} numbers; a spread needs two or more", samples[i].len());
        return Err(ModelError::new("too_few", message).at(format!("samples[{i}]")));
    }
    let found = SpreadTests {
        bartlett: bartlett(samples),
        brown_forsythe: levene(samples, median),
        levene: levene(samples, mean),
        notes: Vec::new(),
    };
    let flat = found.bartlett.is_none() || found.brown_forsythe.is_none() || found.levene.is_none();
    let why =
        "null: a sample whose numbers are all equal, or equally far from their centre, cannot be tested";
    Ok(SpreadTests { notes: flat.then(|| why.to_owned()).into_iter().collect(), ..found })
}

fn bartlett(samples: &[Vec<f64>]) -> Option<Bartlett> {
    let df: Vec<f64> = samples.iter().map(|s| s.len() as f64 - 1.0).collect();
    let ss = |s: &Vec<f64>| s.iter().map(|v| (v - mean(s)) * (v - mean(s))).sum::<f64>();
    let squares: Vec<f64> = samples.iter().map(ss).collect();
    let (total, k) = (df.iter().sum::<f64>(), samples.len() as f64);
    let pooled = squares.iter().sum::<f64>() / total;
    let logs: f64 = squares.iter().zip(&df).map(|(ss, df)| df * libm::log(ss / df)).sum();
    let correction = 1.0 + (df.iter().map(|d| 1.0 / d).sum::<f64>() - 1.0 / total) / (3.0 * (k - 1.0));
    let statistic = ((total * libm::log(pooled) - logs) / correction).max(0.0);
    let p = statistic.is_finite().then(|| chi_square_upper(statistic, k - 1.0)).flatten()?;
    Some(Bartlett { statistic, df: k - 1.0, p })
}

fn levene(samples: &[Vec<f64>], centre: fn(&[f64]) -> f64) -> Option<Levene> {
    let away: Vec<Vec<f64>> = samples
        .iter()
        .map(|s| {
            let c = centre(s);
            s.iter().map(|v| (v - c).abs()).collect()
        })
        .collect();
    let count = away.iter().map(Vec::len).sum::<usize>() as f64;
    let grand = away.iter().flatten().sum::<f64>() / count;
    let means: Vec<f64> = away.iter().map(|s| mean(s)).collect();
    let between: f64 = away.iter().zip(&means).map(|(s, m)| s.len() as f64 * (m - grand) * (m - grand)).sum();
    let within: f64 =
        away.iter().zip(&means).flat_map(|(s, m)| s.iter().map(move |v| (v - m) * (v - m))).sum();
    let (df1, df2) = (samples.len() as f64 - 1.0, count - samples.len() as f64);
    let f = (between / df1) / (within / df2);
    f.is_finite().then(|| f_upper(f, df1, df2)).flatten().map(|p| Levene { f, df1, df2, p })
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    if sorted.len() % 2 == 1 { sorted[half] } else { 0.5 * (sorted[half - 1] + sorted[half]) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_of_one_spread_have_a_p_value_of_one() {
        let found = spread_tests(&[vec![1.0, 2.0, 4.0], vec![11.0, 12.0, 14.0]]).expect("samples");
        let bartlett = found.bartlett.expect("a test");
        assert!(bartlett.statistic < 1e-12 && bartlett.p > 1.0 - 1e-9, "{bartlett:?}");
        let same = spread_tests(&[vec![1.0, 2.0], vec![1.0, 2.0]]).expect("samples");
        assert_eq!(same.bartlett.map(|b| b.p), Some(1.0));
    }

    #[test]
    fn samples_without_spread_are_null_and_said() {
        let found = spread_tests(&[vec![1.0, 1.0], vec![1.0, 3.0]]).expect("samples");
        assert_eq!((found.bartlett, found.notes.len()), (None, 1));
        assert_eq!(spread_tests(&[vec![1.0, 2.0]]).expect_err("one").field.as_deref(), Some("samples"));
        let short = spread_tests(&[vec![1.0, 2.0], vec![1.0]]).expect_err("one number");
        assert_eq!(short.field.as_deref(), Some("samples[1]"));
    }
}
