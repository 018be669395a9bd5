//! How an archer shoots, fitted to recent groups, and rounds drawn from it.

use super::{Part, interval, strays::Strays};
use crate::{
    ModelError,
    rng::Rng,
    stats::{
        compare::side,
        effects::{Group, session_name},
        expected_points::ExpectedPoints,
        mixed::{Observations, fit},
        spread_steps::{self, EndScatter},
    },
};
use std::collections::BTreeMap;

type Covariance = [[f64; 2]; 2];

/// Draws behind what a sight correction is worth.
const MEAN_DRAWS: usize = 400;

/// A mean and what is not known of it.
#[derive(Debug, Clone, Copy)]
pub(super) struct Mean {
    pub estimate: f64,
    se: f64,
    df: f64,
}

/// How an archer shoots, in mrad.
pub(super) struct Archer {
    /// By distance, as its bits.
    means: BTreeMap<u64, [Mean; 2]>,
    arrow: Covariance,
    arrow_df: f64,
    end: [f64; 2],
    session: [f64; 2],
    /// SD of the log SD of a session.
    session_log_sd: f64,
    pub sessions: usize,
    pub arrows: usize,
    pub strays: Strays,
    pub notes: Vec<String>,
}

/// An end of the groups: session, distance and arrows in mrad.
struct End {
    session: String,
    name: String,
    distance: u64,
    points: Vec<[f64; 2]>,
}

impl Archer {
    pub fn of(groups: &[Group], misses: usize) -> Result<Self, ModelError> {
        let ends = ends(groups);
        let (arrow, arrow_df) = within(&ends)?;
        let distances: Vec<u64> = {
            let mut all: Vec<u64> = ends.iter().map(|e| e.distance).collect();
            all.sort_unstable();
            all.dedup();
            all
        };
        let (x, y) = (axis(&ends, &distances, 0)?, axis(&ends, &distances, 1)?);
        let means = distances.iter().enumerate().map(|(i, d)| (*d, [x.means[i], y.means[i]])).collect();
        let mut sessions: Vec<&str> = ends.iter().map(|e| e.session.as_str()).collect();
        sessions.sort_unstable();
        sessions.dedup();
        let mut notes = Vec::new();
        if sessions.len() < 3 {
            notes.push("with fewer than three sessions it is hardly known how days vary".to_owned());
        }
        Ok(Self {
            means,
            arrow,
            arrow_df,
            end: [x.end, y.end],
            session: [x.session, y.session],
            session_log_sd: session_log_sd(&ends, &sessions),
            sessions: sessions.len(),
            arrows: ends.iter().map(|e| e.points.len()).sum(),
            strays: Strays::of(groups, misses),
            notes,
        })
    }

    pub fn mean(&self, part: &Part) -> Option<[Mean; 2]> {
        self.means.get(&part.distance_m.to_bits()).copied()
    }

    /// Returns the covariance of an arrow of a day and an end that are not known.
    pub fn all(&self) -> Covariance {
        // The mean of exp(2 s z): a session's own spread makes the arrow's variance larger on average.
        let own = libm::exp(2.0 * self.session_log_sd * self.session_log_sd);
        let mut all = self.arrow.map(|row| row.map(|v| v * own));
        (0..2).for_each(|a| all[a][a] += self.end[a] + self.session[a]);
        all
    }

    /// Draws the score of one round.
    pub fn draw(&self, round: &[Part], shaft_diameter_mm: f64, rng: &mut Rng) -> f64 {
        let chi = rng.gamma(0.5 * self.arrow_df) / (0.5 * self.arrow_df);
        let spread = libm::exp(self.session_log_sd * rng.normal()) / chi.sqrt();
        let day = self.session.map(|v| v.sqrt() * rng.normal());
        let root = cholesky(self.arrow);
        let strays = self.strays.draw(rng);
        let mut score = 0.0;
        for part in round {
            let known = self.mean(part);
            let mean = [0, 1].map(|a| known.map_or(0.0, |m| m[a].draw(rng)) + day[a]);
            let mut left = part.arrows;
            while left > 0 {
                let end = [0, 1].map(|a| mean[a] + self.end[a].sqrt() * rng.normal());
                for _ in 0..left.min(part.arrows_per_end) {
                    let stray =
                        strays.as_ref().and_then(|s| self.strays.shoot(s, part, shaft_diameter_mm, rng));
                    if let Some(points) = stray {
                        score += points;
                        continue;
                    }
                    let z = [rng.normal(), rng.normal()];
                    let x = end[0] + spread * root[0] * z[0];
                    let y = end[1] + spread * (root[1] * z[0] + root[2] * z[1]);
                    let at = [x * part.distance_m, y * part.distance_m];
                    score += f64::from(part.face.score(at, shaft_diameter_mm).points);
                }
                left -= left.min(part.arrows_per_end);
            }
        }
        score
    }

    pub fn lost_to_mean(
        &self,
        round: &[Part],
        shaft_diameter_mm: f64,
        confidence: f64,
        rng: &mut Rng,
    ) -> Result<[f64; 2], ModelError> {
        let quick: Vec<ExpectedPoints> =
            round.iter().map(|p| ExpectedPoints::new(&p.face, shaft_diameter_mm)).collect();
        let mut lost = Vec::with_capacity(MEAN_DRAWS);
        for _ in 0..MEAN_DRAWS {
            let mut sum = 0.0;
            for (part, quick) in round.iter().zip(&quick) {
                let Some(known) = self.mean(part) else { continue };
                let d = part.distance_m;
                let covariance = self.all().map(|row| row.map(|v| v * d * d));
                let off = known.map(|m| m.draw(rng) * d);
                let points = quick.points([0.0; 2], covariance)? - quick.points(off, covariance)?;
                sum += points * part.arrows as f64;
            }
            lost.push(sum);
        }
        Ok(interval(lost, confidence))
    }
}

impl Mean {
    fn draw(&self, rng: &mut Rng) -> f64 {
        let chi = rng.gamma(0.5 * self.df) / (0.5 * self.df);
        // So far out no face is left; a t of few degrees of freedom may go there.
        self.estimate + (self.se * rng.normal() / chi.max(1e-12).sqrt()).clamp(-1e4, 1e4)
    }
}

fn ends(groups: &[Group]) -> Vec<End> {
    let mut places: BTreeMap<(String, String, u64), usize> = BTreeMap::new();
    let mut ends: Vec<End> = Vec::new();
    for (i, group) in groups.iter().enumerate() {
        let counted = group.points_mm.iter().enumerate().filter(|(j, _)| !group.flyers.contains(j));
        let points: Vec<[f64; 2]> = counted.map(|(_, p)| p.map(|v| v / group.distance_m)).collect();
        if points.is_empty() {
            continue;
        }
        let session = session_name(group);
        let name = group.end.clone().map_or_else(|| format!("#{i}"), |end| format!("={end}"));
        let distance = group.distance_m.to_bits();
        let place = *places.entry((session.clone(), name.clone(), distance)).or_insert_with(|| {
            ends.push(End { session, name, distance, points: Vec::new() });
            ends.len() - 1
        });
        ends[place].points.extend(points);
    }
    ends
}

/// Returns the covariance of an arrow about its end, pooled, with its degrees of freedom.
fn within(ends: &[End]) -> Result<(Covariance, f64), ModelError> {
    let (mut ss, mut df) = ([0.0; 3], 0.0);
    for end in ends {
        let own = side(&end.points);
        ss = [0, 1, 2].map(|i| ss[i] + own.ss[i]);
        df += own.n - 1.0;
    }
    let message = match (ss[0] > 0.0, ss[2] > 0.0) {
        _ if df < 2.0 => "the spread cannot be told: two ends of two arrows or more are the least",
        (true, true) => return Ok(([[ss[0] / df, ss[1] / df], [ss[1] / df, ss[2] / df]], 2.0 * df)),
        (false, false) => "the arrows of each end are all in one place: record where they struck more finely",
        (false, true) => {
            "the arrows of each end do not differ sideways: record where they struck more finely"
        }
        (true, false) => {
            "the arrows of each end do not differ in height: record where they struck more finely"
        }
    };
    Err(ModelError::new("too_few", message).at("groups"))
}

struct Axis {
    means: Vec<Mean>,
    end: f64,
    session: f64,
}

/// Fits one axis: a mean a distance, sessions and ends.
fn axis(ends: &[End], distances: &[u64], axis: usize) -> Result<Axis, ModelError> {
    let (mut y, mut x, mut session, mut name) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
    for end in ends {
        for p in &end.points {
            y.push(p[axis]);
            x.push(distances.iter().map(|d| f64::from(u8::from(*d == end.distance))).collect::<Vec<f64>>());
            session.push(end.session.clone());
            name.push(format!("{} {}", end.name, end.distance));
        }
    }
    let several = |labels: &[String]| labels.iter().any(|l| *l != labels[0]);
    let sessions = several(&session).then_some(session.as_slice());
    let found = fit(&Observations { y: &y, x: &x, session: sessions, end: Some(&name) })
        .map_err(|e| ModelError::new(e.code, e.message).at("groups"))?;
    let mean = |i: usize| Mean {
        estimate: found.beta[i],
        se: found.se_kr[i],
        df: found.df_kr[i].unwrap_or(1.0).clamp(1.0, 1e6),
    };
    Ok(Axis {
        means: (0..distances.len()).map(mean).collect(),
        end: found.var_end.unwrap_or(0.0),
        session: found.var_session.unwrap_or(0.0),
    })
}

fn session_log_sd(ends: &[End], sessions: &[&str]) -> f64 {
    let place = |name: &str| sessions.binary_search(&name).unwrap_or(0);
    let scatter = |end: &End| {
        let own = side(&end.points);
        let (ss, df) = (own.ss[0] + own.ss[2], 2.0 * (own.n - 1.0));
        EndScatter { ss, df, segment: 0, session: place(&end.session) }
    };
    let all: Vec<EndScatter> = ends.iter().map(scatter).collect();
    let fitted = spread_steps::fit(&all, 1, &[], sessions.len() > 2);
    fitted.session_log_variance.map_or(0.0, |v| 0.5 * v.sqrt())
}

/// Returns the lower triangle of the root of a covariance: xx, yx, yy.
fn cholesky(c: Covariance) -> [f64; 3] {
    let a = c[0][0].sqrt();
    let b = c[1][0] / a;
    [a, b, (c[1][1] - b * b).max(0.0).sqrt()]
}
