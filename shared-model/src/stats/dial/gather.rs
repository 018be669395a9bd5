//! From values of ends to what the likelihood needs of them.

use nalgebra::DMatrix;
use std::collections::BTreeMap;

use crate::stats::mixed::{Reduced, Session, Stratum, Within};

/// A value of one end.
#[derive(Debug, Clone, Copy)]
pub(super) struct Observed {
    pub session: usize,
    /// Its row of the design.
    pub row: usize,
    /// One over its variance about the end's true value, in units of 1/noise variance.
    pub weight: f64,
    pub y: f64,
}

/// Gathers ends of one session that share their row and weight.
pub(super) fn gather(
    x: &DMatrix<f64>,
    ends: &[Observed],
    within: Within,
    observations: f64,
    log_noise_scale: f64,
) -> Reduced {
    type Cells = BTreeMap<(usize, u64), Vec<f64>>;
    let mut sessions: BTreeMap<usize, Cells> = BTreeMap::new();
    for end in ends {
        let cells = sessions.entry(end.session).or_default();
        cells.entry((end.row, end.weight.to_bits())).or_default().push(end.y);
    }
    let session = |cells: Cells| {
        let rows: Vec<usize> = cells.keys().map(|(row, _)| *row).collect();
        Session {
            columns: (0..x.ncols()).collect(),
            x: DMatrix::from_fn(rows.len(), x.ncols(), |i, j| x[(rows[i], j)]),
            strata: cells.into_iter().map(|((_, weight), y)| stratum(f64::from_bits(weight), &y)).collect(),
        }
    };
    Reduced {
        columns: x.ncols(),
        sessions: sessions.into_values().map(session).collect(),
        within,
        observations,
        log_noise_scale,
        least_session: 0.0,
    }
}

fn stratum(weight: f64, values: &[f64]) -> Stratum {
    let ends = values.len() as f64;
    let y = values.iter().sum::<f64>() / ends;
    let scatter = values.iter().map(|v| (v - y) * (v - y)).sum();
    Stratum { weight, ends, y, scatter }
}
