//! Arrows that are not of the spread: misses, which score nothing, and flyers, which score where they struck.
//!
//! # Formula
//! An arrow is good, a miss or a flyer with chances that are the shares of the counts; for one round the chances
//! are drawn from a Dirichlet law of the counts, where a count of 0 stays at 0. A flyer strikes where one of the
//! flyers struck, each as likely.
//! # Units
//! mrad from the centre; points.
//! # Source
//! Gelman and others, Bayesian Data Analysis, 3rd ed. (2013), section 3.4, with the prior of no counts.
//! # Limits
//! What never happened lately is taken not to happen.

use super::Part;
use crate::{rng::Rng, stats::effects::Group};

/// How many arrows strayed lately, and where those struck that hit the face.
pub(super) struct Strays {
    /// Arrows of the spread.
    good: usize,
    pub misses: usize,
    /// Where flyers struck, mrad from the centre.
    pub flyers: Vec<[f64; 2]>,
}

/// The chances of one round: that an arrow misses, and that it misses or is a flyer.
pub(super) struct Chances {
    miss: f64,
    stray: f64,
}

impl Strays {
    pub fn of(groups: &[Group], misses: usize) -> Self {
        let marked = |g: &Group, i: usize| g.flyers.contains(&i);
        let mut flyers = Vec::new();
        let mut good = 0;
        for group in groups {
            for (i, point) in group.points_mm.iter().enumerate() {
                if marked(group, i) {
                    flyers.push(point.map(|v| v / group.distance_m));
                } else {
                    good += 1;
                }
            }
        }
        Self { good, misses, flyers }
    }

    fn all(&self) -> f64 {
        (self.good + self.misses + self.flyers.len()) as f64
    }

    /// Returns the expected points of an arrow of which `good` are expected when it is one of the spread.
    pub fn points_per_arrow(&self, good: f64, part: &Part, shaft_diameter_mm: f64) -> f64 {
        if self.misses == 0 && self.flyers.is_empty() {
            return good;
        }
        let score = |at: &[f64; 2]| score(*at, part, shaft_diameter_mm);
        (self.good as f64 * good + self.flyers.iter().map(score).sum::<f64>()) / self.all()
    }

    /// Draws what is not known of the chances from what was counted (a Dirichlet law); `None` where nothing strayed.
    pub fn draw(&self, rng: &mut Rng) -> Option<Chances> {
        if self.misses == 0 && self.flyers.is_empty() {
            return None;
        }
        let [good, miss, flyer] = [self.good, self.misses, self.flyers.len()]
            .map(|count| if count == 0 { 0.0 } else { rng.gamma(count as f64) });
        let all = good + miss + flyer;
        Some(Chances { miss: miss / all, stray: (miss + flyer) / all })
    }

    /// Draws the points of an arrow that strays; `None` for one of the spread.
    pub fn shoot(
        &self,
        chances: &Chances,
        part: &Part,
        shaft_diameter_mm: f64,
        rng: &mut Rng,
    ) -> Option<f64> {
        let u = rng.uniform();
        if u >= chances.stray {
            return None;
        }
        let struck = (u >= chances.miss && !self.flyers.is_empty())
            .then(|| self.flyers[rng.below(self.flyers.len() as u64) as usize]);
        Some(struck.map_or(0.0, |at| score(at, part, shaft_diameter_mm)))
    }
}

fn score(at: [f64; 2], part: &Part, shaft_diameter_mm: f64) -> f64 {
    f64::from(part.face.score(at.map(|v| v * part.distance_m), shaft_diameter_mm).points)
}
