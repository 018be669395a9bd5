//! Corrections of p-values for having asked several questions at once.
//!
//! # Formula
//! With p sorted upwards, p₁ ≤ … ≤ p_m:
//! Holm: max over j ≤ i of min(1, (m − j + 1) pⱼ).
//! Benjamini and Hochberg: min over j ≥ i of min(1, m pⱼ / j).
//! # Units
//! Probabilities.
//! # Source
//! Holm, "A simple sequentially rejective multiple test procedure", Scandinavian Journal of Statistics 6
//! (1979) 65. Benjamini and Hochberg, "Controlling the false discovery rate", Journal of the Royal
//! Statistical Society B 57 (1995) 289.
//! # Limits
//! Holm holds under any dependence; Benjamini and Hochberg under independence or positive dependence.

/// Returns Holm's corrected p-values, in the order given.
pub fn holm(p: &[f64]) -> Vec<f64> {
    let m = p.len();
    let mut corrected = vec![0.0; m];
    let mut highest = 0.0_f64;
    for (rank, &i) in ascending(p).iter().enumerate() {
        highest = highest.max((p[i] * (m - rank) as f64).min(1.0));
        corrected[i] = highest;
    }
    corrected
}

/// Returns Benjamini and Hochberg's corrected p-values, in the order given.
pub fn benjamini_hochberg(p: &[f64]) -> Vec<f64> {
    let m = p.len();
    let mut corrected = vec![0.0; m];
    let mut lowest = 1.0_f64;
    for (rank, &i) in ascending(p).iter().enumerate().rev() {
        lowest = lowest.min(p[i] * m as f64 / (rank + 1) as f64);
        corrected[i] = lowest;
    }
    corrected
}

fn ascending(p: &[f64]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|&a, &b| p[a].total_cmp(&p[b]));
    order
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_printed_example_of_1995_rejects_four_and_three() {
        // Benjamini and Hochberg 1995, section 3.1: 15 comparisons; at 0.05 their procedure rejects the
        // first four, and one that holds the familywise rate only the first three.
        let p = [
            0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
            0.6528, 0.7590, 1.0,
        ];
        assert_eq!(benjamini_hochberg(&p).iter().filter(|&&q| q <= 0.05).count(), 4);
        assert_eq!(holm(&p).iter().filter(|&&q| q <= 0.05).count(), 3);
    }

    #[test]
    fn nothing_asked_is_nothing_corrected() {
        assert!(holm(&[]).is_empty() && benjamini_hochberg(&[]).is_empty());
    }
}
