//! What the likelihood needs of the data: sums per session, never a row per observation.
//!
//! Ends of a session that share their row of the design and their weight are exchangeable, so they are
//! kept together as one [`Stratum`]; nothing after this grows with the number of observations.

use nalgebra::{DMatrix, DVector};

/// Ends of one session with the same row of the design and the same weight.
#[derive(Debug, Clone)]
pub(crate) struct Stratum {
    /// The precision of an end's mean about the end's true mean, in units of 1/noise variance:
    /// observations over the relative noise variance.
    pub weight: f64,
    /// How many ends.
    pub ends: f64,
    /// The mean of the ends' means.
    pub y: f64,
    /// The sum of squares of the ends' means about `y`.
    pub scatter: f64,
}

/// One session: its ends, and the columns of the design that are not zero in it.
#[derive(Debug, Clone)]
pub(crate) struct Session {
    /// The columns that are not zero in this session.
    pub columns: Vec<usize>,
    /// One row a stratum, one column an entry of `columns`.
    pub x: DMatrix<f64>,
    pub strata: Vec<Stratum>,
}

/// Sums of squares and products of the observations about their end's mean.
#[derive(Debug, Clone)]
pub(crate) struct Within {
    /// `None` where every row of the design is constant within its end.
    pub x: Option<(DMatrix<f64>, DVector<f64>)>,
    pub yy: f64,
    /// Observations less ends.
    pub df: f64,
}

/// The data of a mixed model with random sessions and ends.
#[derive(Debug, Clone)]
pub(crate) struct Reduced {
    pub columns: usize,
    pub sessions: Vec<Session>,
    pub within: Within,
    pub observations: f64,
    /// The sum over observations of the logarithm of the relative noise variance.
    pub log_noise_scale: f64,
    /// The smallest ratio of the session variance to the noise: 0, or below it where ends of one session may
    /// be less alike than ends of different ones.
    pub least_session: f64,
}

impl Reduced {
    /// Returns the residual degrees of freedom: observations less columns.
    pub fn df(&self) -> f64 {
        self.observations - self.columns as f64
    }

    /// Returns the sum of squares that is left of the ends' scatter at coefficients `beta`.
    pub fn within_residual(&self, beta: &DVector<f64>) -> f64 {
        match &self.within.x {
            None => self.within.yy,
            Some((xx, xy)) => (self.within.yy - 2.0 * beta.dot(xy) + (xx * beta).dot(beta)).max(0.0),
        }
    }
}
