//! How often something was done and how long it took.

use std::time::Duration;

/// Many runs of one thing.
#[derive(Debug, Clone)]
pub struct Pace {
    /// How often it was done.
    pub count: usize,
    /// How often in a second.
    pub per_s: f64,
    /// Half of the runs took no longer.
    pub p50: Duration,
    /// All but one of a hundred took no longer.
    pub p99: Duration,
    /// The longest run.
    pub worst: Duration,
}

impl Pace {
    /// Sums up how long each run took, all of them together within `all`.
    pub fn new(mut took: Vec<Duration>, all: Duration) -> Self {
        took.sort_unstable();
        let at = |share: f64| {
            let rank = (took.len() as f64 * share).ceil() as usize;
            took.get(rank.saturating_sub(1)).copied().unwrap_or_default()
        };
        Self {
            count: took.len(),
            per_s: took.len() as f64 / all.as_secs_f64(),
            p50: at(0.5),
            p99: at(0.99),
            worst: at(1.0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quantile_is_a_run_that_took_place() {
        let took = (1..=200).rev().map(Duration::from_millis).collect();
        let pace = Pace::new(took, Duration::from_secs(4));
        assert_eq!((pace.count, pace.per_s), (200, 50.0));
        assert_eq!([pace.p50, pace.p99, pace.worst].map(|d| d.as_millis()), [100, 198, 200]);
    }
}
