//! What the verdicts of many seasons came to, word by word.

use super::oracle::Found;
use core::ops::AddAssign;

/// What truly happened, against the smallest change that matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Truth {
    /// Nothing.
    Nothing,
    /// Less than matters.
    Little,
    /// As much as matters, or more.
    Much,
}

/// What one verdict said.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Said {
    /// It changed, and the way it did.
    Changed,
    /// It changed, the other way; or it changed although nothing happened.
    Wrongly,
    /// It did not change as much as matters.
    Held,
    /// The data cannot tell yet.
    Unsettled,
    /// No such data could tell.
    Inseparable,
}

/// How often each word was said where one thing was true.
#[derive(Debug, Clone, Copy, Default)]
pub struct Words {
    /// Verdicts.
    pub verdicts: usize,
    /// [`Said::Changed`].
    pub changed: usize,
    /// [`Said::Wrongly`].
    pub wrongly: usize,
    /// [`Said::Held`].
    pub held: usize,
    /// [`Said::Unsettled`].
    pub unsettled: usize,
    /// [`Said::Inseparable`].
    pub inseparable: usize,
    /// Verdicts that the oracle was asked for too.
    pub asked: usize,
    /// Of these, changes that it found, the way they were.
    pub oracle: usize,
}

impl Words {
    /// Counts a verdict.
    pub fn count(&mut self, said: Said) {
        self.verdicts += 1;
        *match said {
            Said::Changed => &mut self.changed,
            Said::Wrongly => &mut self.wrongly,
            Said::Held => &mut self.held,
            Said::Unsettled => &mut self.unsettled,
            Said::Inseparable => &mut self.inseparable,
        } += 1;
    }

    /// Counts what the oracle said of a change for which `sign` on `axis` is right.
    pub fn count_oracle(&mut self, found: Option<&Found>, sign: f64) {
        let Some(found) = found else { return };
        self.asked += 1;
        self.oracle += usize::from(found.p < 0.05 && found.axis == 0 && found.z * sign > 0.0);
    }
}

impl AddAssign for Words {
    fn add_assign(&mut self, other: Self) {
        self.verdicts += other.verdicts;
        self.changed += other.changed;
        self.wrongly += other.wrongly;
        self.held += other.held;
        self.unsettled += other.unsettled;
        self.inseparable += other.inseparable;
        self.asked += other.asked;
        self.oracle += other.oracle;
    }
}

/// The verdicts about one thing: where the groups lie, or how wide they are.
#[derive(Debug, Clone, Copy, Default)]
pub struct Subject {
    /// Words by truth.
    pub words: [Words; 3],
    /// Seasons in which any verdict said that something changed of which nothing did.
    pub wrong_seasons: usize,
    /// Seasons in which any change did nothing.
    pub seasons: usize,
    /// Intervals.
    pub intervals: usize,
    /// How many held the truth.
    pub covered: usize,
}

impl Subject {
    /// Returns the words said where `truth` was true.
    #[must_use]
    pub const fn of(&self, truth: Truth) -> &Words {
        &self.words[truth as usize]
    }

    /// Returns the verdicts about a true change, and how many of them found it.
    #[must_use]
    pub const fn found(&self) -> (usize, usize) {
        let (little, much) = (self.of(Truth::Little), self.of(Truth::Much));
        (little.verdicts + much.verdicts, little.changed + much.changed)
    }
}

impl AddAssign for Subject {
    fn add_assign(&mut self, other: Self) {
        self.words.iter_mut().zip(other.words).for_each(|(a, b)| *a += b);
        self.wrong_seasons += other.wrong_seasons;
        self.seasons += other.seasons;
        self.intervals += other.intervals;
        self.covered += other.covered;
    }
}

/// What the verdicts of many seasons came to.
#[derive(Debug, Clone, Copy, Default)]
pub struct Tally {
    /// Seasons.
    pub seasons: usize,
    /// Seasons that got an error for an answer.
    pub unanswered: usize,
    /// Where the groups lie.
    pub place: Subject,
    /// How wide they are.
    pub spread: Subject,
}

impl AddAssign for Tally {
    fn add_assign(&mut self, other: Self) {
        self.seasons += other.seasons;
        self.unanswered += other.unanswered;
        self.place += other.place;
        self.spread += other.spread;
    }
}
