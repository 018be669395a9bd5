//! Gauss-Legendre nodes and weights.
//!
//! # Formula
//! Nodes are the zeros of P_n on (−1, 1), weights 2 / ((1 − x²) P′_n(x)²); the zeros by Newton's method
//! from cos(π (i − 1/4)/(n + 1/2)).
//! # Units
//! None.
//! # Source
//! Abramowitz and Stegun, Handbook of Mathematical Functions, 25.4.29 and table 25.4.
//! # Limits
//! n from 1 to about 100.

use core::f64::consts::PI;

/// Returns the nodes in (−1, 1) with their weights, which sum to 2.
pub fn gauss_legendre(n: usize) -> Vec<(f64, f64)> {
    (1..=n).map(|i| node(n, libm::cos(PI * (i as f64 - 0.25) / (n as f64 + 0.5)))).collect()
}

fn node(n: usize, start: f64) -> (f64, f64) {
    let mut x = start;
    for _ in 0..8 {
        let (value, slope) = legendre(n, x);
        x -= value / slope;
    }
    let (_, slope) = legendre(n, x);
    (x, 2.0 / ((1.0 - x * x) * slope * slope))
}

/// Returns P_n(x) and its derivative, by the three-term recurrence.
fn legendre(n: usize, x: f64) -> (f64, f64) {
    let (mut before, mut value) = (0.0, 1.0);
    for k in 1..=n {
        let k = k as f64;
        (before, value) = (value, ((2.0 * k - 1.0) * x * value - (k - 1.0) * before) / k);
    }
    (value, n as f64 * (x * value - before) / (x * x - 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nodes_are_the_printed_ones() {
        // Abramowitz and Stegun, table 25.4, n = 12.
        let nodes = gauss_legendre(12);
        for (i, x, w) in [
            (5, 0.125_233_408_511_469, 0.249_147_045_813_403),
            (3, 0.587_317_954_286_617, 0.203_167_426_723_066),
            (0, 0.981_560_634_246_719, 0.047_175_336_386_512),
        ] {
            assert!((nodes[i].0 - x).abs() < 1e-14 && (nodes[i].1 - w).abs() < 1e-14, "{:?}", nodes[i]);
        }
    }
}
