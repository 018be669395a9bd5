//! The columns of the model, which of them the groups can tell apart, and from what they cannot.
//!
//! # Formula
//! Columns in this order: the constant, sight epochs but the first, other settings (a line, or a step for each
//! value but the first), steps of changes, the dial on a scale from -1 to 1, and what is asked beyond it. A column
//! is kept when something is left of it after those before (Gram-Schmidt, twice). The dial can be told apart
//! when it is kept; otherwise it is a sum of the columns that its least squares coefficients name. Where the
//! sessions' indicators are all sums of columns, the sessions' variance cannot be known, and the dial has to
//! be told apart with the sessions held fixed.
//! # Units
//! None.
//! # Source
//! Searle, Linear Models (1971), section 5.4 (estimable functions); Gram-Schmidt with repetition: Bjorck,
//! Numerical Methods for Least Squares Problems (1996), section 2.4.
//! # Limits
//! A column of which less than a ten-billionth is left counts as dependent.

use nalgebra::{DMatrix, DVector};
use std::collections::{BTreeMap, BTreeSet};

use super::prepare::{Season, State};

/// What of a column is left after those before it, relative to the column, below which it depends on them.
const DEPENDENT: f64 = 1e-10;

/// Ends with the same row of the design: state and epoch.
pub(super) type Cell = (usize, usize);

/// What a column stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Term {
    Constant,
    Epoch(usize),
    /// By place in the season's settings.
    Setting(usize),
    /// By place in the season's steps.
    Step(usize),
    Dial,
    /// What is asked beyond the line.
    Beyond,
}

/// The columns that can be told apart, a row a cell.
#[derive(Debug, Clone)]
pub(super) struct Design {
    pub cells: BTreeMap<Cell, usize>,
    pub x: DMatrix<f64>,
    /// The dial's column; `None` where it cannot be told apart.
    pub dial: Option<usize>,
    /// The columns beyond it.
    pub beyond: Vec<usize>,
    /// What the dial is a sum of, where it cannot be told apart.
    pub inseparable_from: Vec<Term>,
    /// Whether it is the sessions that it cannot be told apart from.
    pub session: bool,
    /// Whether the variance between sessions can be estimated.
    pub session_variance: bool,
}

/// A value of each cell.
type Column = (Term, Vec<f64>);

/// What a model is made of.
pub(super) struct Asked<'a> {
    /// Whether sights have intercepts of their own.
    pub epochs: bool,
    /// Whether other settings held as lines have a square too.
    pub squares: bool,
    /// Columns after the dial's, by state.
    pub beyond: &'a [Vec<f64>],
}

/// Makes the design of the ends that `used` says.
pub(super) fn design(season: &Season, asked: &Asked, used: impl Fn(usize) -> bool) -> Design {
    let ends: Vec<(usize, Cell)> = (0..season.ends.len())
        .filter(|i| used(*i))
        .map(|i| &season.ends[i])
        .map(|e| (e.session, (e.segment, if asked.epochs { e.epoch } else { 0 })))
        .collect();
    let present: BTreeSet<Cell> = ends.iter().map(|(_, cell)| *cell).collect();
    let cells: BTreeMap<Cell, usize> = present.into_iter().enumerate().map(|(i, c)| (c, i)).collect();
    let columns = columns(season, asked, &cells);
    let kept = independent(&columns);
    let x = DMatrix::from_fn(cells.len(), kept.len(), |i, j| columns[kept[j]].1[i]);
    let place =
        |wanted: &Term| (0..kept.len()).filter(|j| columns[kept[*j]].0 == *wanted).collect::<Vec<_>>();
    let mut found = Design {
        dial: place(&Term::Dial).first().copied(),
        beyond: place(&Term::Beyond),
        cells,
        x,
        inseparable_from: Vec::new(),
        session: false,
        session_variance: true,
    };
    match found.dial {
        None => found.inseparable_from = dependence(&columns, &kept),
        Some(dial) => hold_sessions(&mut found, dial, &ends),
    }
    found
}

fn columns(season: &Season, asked: &Asked, cells: &BTreeMap<Cell, usize>) -> Vec<Column> {
    let state = |f: &dyn Fn(&State) -> f64| cells.keys().map(|(s, _)| f(&season.states[*s])).collect();
    let mut columns: Vec<Column> = vec![(Term::Constant, vec![1.0; cells.len()])];
    if asked.epochs {
        for epoch in 1..season.epochs.len() {
            let here = cells.keys().map(|(_, e)| f64::from(u8::from(*e == epoch))).collect();
            columns.push((Term::Epoch(epoch), here));
        }
    }
    for (i, setting) in season.settings.iter().enumerate().skip(1) {
        if setting.linear {
            let at = |s: &State| s.levels[i].map_or(0.0, |level| setting.scaled(level));
            columns.push((Term::Setting(i), state(&at)));
            if asked.squares {
                columns.push((Term::Setting(i), state(&|s| at(s) * at(s))));
            }
        } else {
            for level in std::iter::once(None).chain((1..setting.values.len()).map(Some)) {
                let at = |s: &State| f64::from(u8::from(s.levels[i] == level));
                columns.push((Term::Setting(i), state(&at)));
            }
        }
    }
    for step in 0..season.steps.len() {
        columns.push((Term::Step(step), state(&|s| f64::from(u8::from(s.slot > step)))));
    }
    columns.push((Term::Dial, state(&|s| dial_at(season, s))));
    for beyond in asked.beyond {
        columns.push((Term::Beyond, cells.keys().map(|(s, _)| beyond[*s]).collect()));
    }
    columns
}

/// Returns the dial of a state on the scale from -1 to 1.
pub(super) fn dial_at(season: &Season, state: &State) -> f64 {
    state.levels[0].map_or(0.0, |level| season.settings[0].scaled(level))
}

/// An orthonormal basis that grows.
#[derive(Default)]
struct Basis {
    q: Vec<DVector<f64>>,
}

impl Basis {
    /// Takes a column in, and says whether anything was left of it.
    fn take(&mut self, column: &[f64]) -> bool {
        let mut v = DVector::from_column_slice(column);
        let norm = v.norm();
        for _ in 0..2 {
            for q in &self.q {
                v.axpy(-v.dot(q), q, 1.0);
            }
        }
        let left = v.norm();
        let new = left > DEPENDENT * norm;
        if new {
            self.q.push(v / left);
        }
        new
    }
}

/// Returns the places of the columns that do not depend on those before them.
fn independent(columns: &[Column]) -> Vec<usize> {
    let mut basis = Basis::default();
    (0..columns.len()).filter(|i| basis.take(&columns[*i].1)).collect()
}

/// Names the columns of which the dial is a sum; the constant is none.
fn dependence(columns: &[Column], kept: &[usize]) -> Vec<Term> {
    let dial = columns.iter().position(|(term, _)| *term == Term::Dial).unwrap_or(0);
    let before: Vec<usize> = kept.iter().copied().filter(|k| *k < dial).collect();
    let rows = columns[dial].1.len();
    let a = DMatrix::from_fn(rows, before.len(), |i, j| columns[before[j]].1[i]);
    let y = DVector::from_column_slice(&columns[dial].1);
    let chol = (a.transpose() * &a).cholesky();
    // Columns so nearly dependent that no factors are found are all named.
    let factors =
        chol.map_or_else(|| DVector::from_element(before.len(), 1.0), |c| c.solve(&(a.transpose() * y)));
    let largest = factors.amax();
    let mut terms: Vec<Term> = Vec::new();
    for (j, k) in before.iter().enumerate() {
        let term = &columns[*k].0;
        if *term != Term::Constant && factors[j].abs() > 1e-6 * largest && !terms.contains(term) {
            terms.push(term.clone());
        }
    }
    terms
}

/// Finds whether the sessions' variance can be known, and if not whether the dial can be told from sessions.
fn hold_sessions(design: &mut Design, dial: usize, ends: &[(usize, Cell)]) {
    let cells: BTreeSet<(usize, Cell)> = ends.iter().copied().collect();
    let sessions: BTreeSet<usize> = cells.iter().map(|(s, _)| *s).collect();
    let columns = design.x.ncols();
    if sessions.len() > columns {
        return;
    }
    let row = |j: usize| cells.iter().map(|(_, c)| design.x[(design.cells[c], j)]).collect::<Vec<f64>>();
    let indicator = |s: &usize| cells.iter().map(|(t, _)| f64::from(u8::from(t == s))).collect::<Vec<f64>>();
    let mut basis = Basis::default();
    (0..columns).filter(|j| *j != dial).for_each(|j| {
        basis.take(&row(j));
    });
    let mut without = Basis { q: basis.q.clone() };
    basis.take(&row(dial));
    design.session_variance = sessions.iter().any(|s| basis.take(&indicator(s)));
    if !design.session_variance {
        sessions.iter().for_each(|s| {
            without.take(&indicator(s));
        });
        design.session = !without.take(&row(dial));
    }
}
