//! Kinds of season: how much was shot, what was changed, how the arrows scatter.

/// Where the changes of a season fall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Changes {
    /// Between two ends of one session.
    Inside,
    /// Between two sessions.
    Between,
    /// Before every so manieth session.
    Every(usize),
}

/// How arrows scatter about their end.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tail {
    /// Normally.
    Normal,
    /// As Student's t with five degrees of freedom, scaled to the same variance.
    T5,
}

/// What a change does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    /// Shift to the right, mrad.
    pub right: f64,
    /// SD after over SD before.
    pub ratio: f64,
}

/// Arrows that were let go badly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flyers {
    /// Their share of all arrows.
    pub share: f64,
    /// Their SD, in those of the other arrows.
    pub sd: f64,
    /// The archer marks what lies this many SDs or more from the true middle of the end, whatever it was.
    pub marked_from: Option<f64>,
}

/// A kind of season.
#[derive(Debug, Clone)]
pub struct Scenario {
    /// What it is called.
    pub name: &'static str,
    /// Sessions.
    pub sessions: usize,
    /// Ends a session.
    pub ends: usize,
    /// Fewest and most arrows an end.
    pub arrows: [usize; 2],
    /// Distances, one an end in turn; with more than one each has a sight of its own. m.
    pub distances: &'static [f64],
    /// Changes; with [`Changes::Every`] at most.
    pub changes: usize,
    /// Where they fall.
    pub place: Changes,
    /// What they do, in turn.
    pub steps: &'static [Step],
    /// SD between sessions, mrad.
    pub session_sd: f64,
    /// SD between ends, mrad.
    pub end_sd: f64,
    /// Correlation of the axes, in everything.
    pub correlation: f64,
    /// SD of the logarithm of the sessions' own spread.
    pub session_log_sd: f64,
    /// How arrows scatter.
    pub tail: Tail,
    /// Badly shot arrows.
    pub flyers: Option<Flyers>,
}

/// Changes that do nothing.
pub const NOTHING: &[Step] = &[Step { right: 0.0, ratio: 1.0 }];

impl Scenario {
    /// Returns an ordinary season without any effect.
    pub const fn usual(name: &'static str, sessions: usize, changes: usize, place: Changes) -> Self {
        Self {
            name,
            sessions,
            ends: 6,
            arrows: [6, 6],
            distances: &[30.0],
            changes,
            place,
            steps: NOTHING,
            session_sd: 0.4,
            end_sd: 0.3,
            correlation: 0.0,
            session_log_sd: 0.0,
            tail: Tail::Normal,
            flyers: None,
        }
    }

    /// Says whether any change alters the spread.
    #[must_use]
    pub fn alters_spread(&self) -> bool {
        self.steps.iter().any(|s| s.ratio != 1.0)
    }
}
