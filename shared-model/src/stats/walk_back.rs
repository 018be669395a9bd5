//! Walk-back: how arrows drift sideways with the distance while the sight is left alone, straight or curved.
//!
//! # Formula
//! The mean sideways place of each distance, weight n/d² since an arrow's scatter grows with the distance d, is
//! fitted by a + b d and by a + b d + c d² on orthogonal polynomials. The noise σ (mrad) is the scatter of arrows
//! within their ends, or, from four degrees of freedom on, that of end means within a distance. Curve:
//! F = c² Σ w p₂² / σ² on 1 and the noise's degrees of freedom, p₂ the orthogonal square; lean: t of b in the
//! straight fit; Holm over both. What neither explains: F of the distances' rest about the curve.
//! AICc = n ln(RSS/n) + 2k + 2k(k + 1)/(n − k − 1), k = 3 and 4, n arrows (or ends); straight less curved.
//! Bend = fit at the middle distance less the chord from the nearest to the farthest = −c (range/2)².
//! # Units
//! Points in mm, distances in m; slope in mm/m (mrad), curvature in mm/m², bend in mm.
//! # Source
//! Draper and Smith, Applied Regression Analysis, 3rd ed. (1998), sections 2.1, 9.2 and 22.2; Hurvich and Tsai,
//! Biometrika 76 (1989) 297. What straight and curved mean: common practice, no source.
//! # Limits
//! Three distances. From few ends at a distance the noise is that of arrows alone: an end that was aimed off as
//! a whole then looks like a bend. Wind, a canted bow and a moved sight look like one too.

use super::{
    adjust_p::holm,
    bare_shaft::{READING_SOURCE, SAFETY},
    shots::{ShotGroup, mean},
    special::tails::f_upper,
    weighted_mean::t_interval,
};
use crate::{ModelError, notation::same_distance};
use serde::Serialize;
use std::collections::BTreeMap;

/// From how many degrees of freedom on the noise is seen between the ends of a distance.
const END_DF: f64 = 4.0;
/// When the meaning holds.
pub const CONDITION: &str = "this holds only where the sight was left alone, the bow was held upright, the air was \
                             still and the archer's form was steady";

/// How arrows drift sideways with the distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WalkBack {
    /// The distances, nearest first.
    pub distances: Vec<Level>,
    /// What the noise is known by.
    pub basis: Basis,
    /// Its degrees of freedom.
    pub df: f64,
    /// The noise of an arrow (by ends: of an end's mean, times the root of its arrows).
    pub sigma_mrad: Option<f64>,
    /// Slope of the straight line, positive to the right with the distance.
    pub lean: Term,
    /// Curvature of the curve.
    pub curve: Term,
    /// How far the curve lies to the right of its chord at the middle distance.
    pub bend_mm: f64,
    /// Its interval.
    pub bend_interval_mm: Option<[f64; 2]>,
    /// F test of the curve against the straight line.
    pub curve_test: Option<RatioTest>,
    /// F test of what the curve leaves; from four distances on.
    pub lack_of_fit: Option<RatioTest>,
    /// AICc of the straight line less that of the curve: above 0 speaks for the curve.
    pub aicc_difference: Option<f64>,
    /// What is preferred.
    pub preferred: Shape,
    /// What is shown.
    pub verdict: Drift,
    /// To which side the line leans with the distance, or the middle distances bend; null when nothing is shown.
    pub side: Option<&'static str>,
    /// What that is taken to mean; null when nothing is shown.
    pub meaning: Option<&'static str>,
    /// Where the meaning comes from.
    pub reading_source: &'static str,
    /// When the meaning holds, and what comes before any change.
    pub conditions: [&'static str; 2],
    /// What could not be had, and why.
    pub notes: Vec<String>,
}

/// The arrows of one distance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Level {
    /// The distance.
    pub distance_m: f64,
    /// Ends shot from it.
    pub ends: usize,
    /// Arrows that count.
    pub arrows: usize,
    /// Their mean place, right of the centre of the face.
    pub mean_mm: f64,
    /// Its standard error by the common noise.
    pub se_mm: Option<f64>,
    /// Where the straight line lies.
    pub straight_mm: f64,
    /// Where the curve lies.
    pub curved_mm: f64,
}

/// What the noise is known by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// The ends of each distance.
    Ends,
    /// The arrows within the ends.
    Arrows,
}

/// A coefficient with its interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Term {
    /// mm/m of a lean, mm/m² of a curve.
    pub value: f64,
    /// Its interval.
    pub interval: Option<[f64; 2]>,
    /// P-value of none.
    pub p: Option<f64>,
    /// The same, corrected for asking about lean and curve.
    pub p_adjusted: Option<f64>,
}

/// A test by a ratio of variances.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct RatioTest {
    /// The ratio.
    pub f: f64,
    /// Degrees of freedom above.
    pub df1: f64,
    /// Degrees of freedom below.
    pub df2: f64,
    /// P-value.
    pub p: f64,
}

/// Straight or curved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Shape {
    /// A straight line is enough.
    Straight,
    /// The curve is needed.
    Curved,
}

/// What is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Drift {
    /// A curve.
    Curved,
    /// A straight line that leans.
    Leaning,
    /// Neither.
    NotShown,
}

/// The ends of one distance: mean sideways place and arrows of each, and the scatter within them in mm².
struct Walked {
    distance: f64,
    ends: Vec<(f64, f64)>,
    within: f64,
}

impl Walked {
    fn arrows(&self) -> f64 {
        self.ends.iter().map(|(_, n)| n).sum()
    }

    fn mean(&self) -> f64 {
        self.ends.iter().map(|(mean, n)| mean * n).sum::<f64>() / self.arrows()
    }

    fn weight(&self) -> f64 {
        self.arrows() / (self.distance * self.distance)
    }

    /// Returns the scatter of end means, each as often as it has arrows, in mrad².
    fn between(&self) -> f64 {
        let middle = self.mean();
        let sum: f64 = self.ends.iter().map(|(mean, n)| n * (mean - middle) * (mean - middle)).sum();
        sum / (self.distance * self.distance)
    }
}

/// Returns how arrows drift sideways with the distance; flyers by the archer's word and bare shafts are left out.
///
/// # Errors
/// `too_few` for arrows from fewer than three distances.
pub fn walk_back(groups: &[ShotGroup], confidence: f64) -> Result<WalkBack, ModelError> {
    let walked = walked(groups);
    if walked.len() < 3 {
        let message = format!(
            "arrows from {} distances; a line can be told from a curve from three distances on, shot with the sight \
             left alone",
            walked.len()
        );
        return Err(ModelError::new("too_few", message).at("groups"));
    }
    let (basis, noise, df) = noise(&walked);
    let line = Line::fit(&walked);
    let sigma2 = Some(noise / df).filter(|s| s.is_finite() && *s > 0.0);
    let [lean, curve] = terms(&line, sigma2, df, confidence);
    let span = walked[walked.len() - 1].distance - walked[0].distance;
    let bend = -0.25 * span * span;
    let ratio = |ss: f64, df1: f64| ratio_test(ss, df1, sigma2?, df);
    let rest = walked.len() as f64 - 3.0;
    let told = WalkBack {
        distances: levels(&walked, &line, sigma2),
        basis,
        df,
        sigma_mrad: sigma2.map(f64::sqrt),
        lean,
        curve,
        bend_mm: bend * curve.value,
        bend_interval_mm: curve.interval.map(|[low, high]| [bend * high, bend * low]),
        curve_test: ratio(line.curve * line.curve * line.norms[2], 1.0),
        lack_of_fit: if rest > 0.0 { ratio(line.rss[1], rest) } else { None },
        aicc_difference: aicc_difference(&walked, &line, basis),
        preferred: Shape::Straight,
        verdict: Drift::NotShown,
        side: None,
        meaning: None,
        reading_source: READING_SOURCE,
        conditions: [CONDITION, SAFETY],
        notes: Vec::new(),
    };
    Ok(judged(told, 1.0 - confidence))
}

/// Returns the distances shot, nearest first; those that differ by how they were typed alone are one.
fn distances(groups: &[ShotGroup]) -> Vec<f64> {
    let mut all: Vec<f64> = groups.iter().map(|g| g.distance_m).collect();
    all.sort_by(f64::total_cmp);
    all.dedup_by(|next, kept| same_distance(*next, *kept));
    all
}

fn walked(groups: &[ShotGroup]) -> Vec<Walked> {
    // By distance, then by session and end where the end has a name, else by group.
    type Key<'a> = (u64, Option<(&'a str, &'a str)>, usize);
    let mut ends: BTreeMap<Key, Vec<f64>> = BTreeMap::new();
    let all = distances(groups);
    for (i, group) in groups.iter().enumerate() {
        let named = group.end.as_deref().map(|end| (group.session.as_deref().unwrap_or_default(), end));
        let own = if named.is_some() { 0 } else { i };
        let counted = group.shots.iter().filter(|s| !s.flyer && !s.bare).map(|s| s.at_mm[0]);
        let one = all.iter().find(|d| same_distance(**d, group.distance_m)).unwrap_or(&group.distance_m);
        ends.entry((one.to_bits(), named, own)).or_default().extend(counted);
    }
    let mut by_distance: BTreeMap<u64, Walked> = BTreeMap::new();
    for ((bits, ..), x) in ends.into_iter().filter(|(_, x)| !x.is_empty()) {
        let Some(([middle, _], n)) = mean(x.iter().map(|x| [*x, 0.0])) else { continue };
        let new = || Walked { distance: f64::from_bits(bits), ends: Vec::new(), within: 0.0 };
        let place = by_distance.entry(bits).or_insert_with(new);
        place.ends.push((middle, n));
        place.within += x.iter().map(|x| (x - middle) * (x - middle)).sum::<f64>();
    }
    by_distance.into_values().collect()
}

/// Returns what the noise is known by, its sum of squares in mrad² and its degrees of freedom.
fn noise(walked: &[Walked]) -> (Basis, f64, f64) {
    let ends: f64 = walked.iter().map(|w| w.ends.len() as f64).sum();
    let arrows: f64 = walked.iter().map(Walked::arrows).sum();
    let between = ends - walked.len() as f64;
    if between >= END_DF {
        return (Basis::Ends, walked.iter().map(Walked::between).sum(), between);
    }
    (Basis::Arrows, walked.iter().map(|w| w.within / (w.distance * w.distance)).sum(), arrows - ends)
}

/// Both fits, on orthogonal polynomials.
struct Line {
    middle: f64,
    slope: f64,
    curve: f64,
    /// Weighted squares of the polynomials of degree 0, 1 and 2.
    norms: [f64; 3],
    /// Weighted squares that are left by the straight line and by the curve.
    rss: [f64; 2],
    /// Mean distance, and what makes the square orthogonal to it.
    centre: f64,
    skew: f64,
}

impl Line {
    fn fit(walked: &[Walked]) -> Self {
        let sum = |f: &dyn Fn(&Walked) -> f64| walked.iter().map(|w| w.weight() * f(w)).sum::<f64>();
        let all = sum(&|_| 1.0);
        let centre = sum(&|w| w.distance) / all;
        let first = |w: &Walked| w.distance - centre;
        let norm = sum(&|w| first(w) * first(w));
        let skew = sum(&|w| first(w) * first(w) * first(w)) / norm;
        let spread = norm / all;
        let second = |w: &Walked| first(w) * (first(w) - skew) - spread;
        let norms = [all, norm, sum(&|w| second(w) * second(w))];
        let middle = sum(&|w| w.mean()) / all;
        let slope = sum(&|w| first(w) * (w.mean() - middle)) / norm;
        let rest = |w: &Walked| w.mean() - middle - slope * first(w);
        let curve = sum(&|w| second(w) * rest(w)) / norms[2];
        let after = |w: &Walked| rest(w) - curve * second(w);
        let rss = [sum(&|w| rest(w) * rest(w)), sum(&|w| after(w) * after(w))];
        Self { middle, slope, curve, norms, rss, centre, skew }
    }

    fn straight_at(&self, distance: f64) -> f64 {
        self.middle + self.slope * (distance - self.centre)
    }

    fn curved_at(&self, distance: f64) -> f64 {
        let first = distance - self.centre;
        let second = first * (first - self.skew) - self.norms[1] / self.norms[0];
        self.straight_at(distance) + self.curve * second
    }
}

fn terms(line: &Line, sigma2: Option<f64>, df: f64, confidence: f64) -> [Term; 2] {
    let known = [(line.slope, line.norms[1]), (line.curve, line.norms[2])].map(|(value, norm)| {
        (value, sigma2.and_then(|s| t_interval(value, (s / norm).sqrt(), df, confidence)))
    });
    let p: Option<Vec<f64>> = known.iter().map(|(_, found)| found.map(|(_, p)| p)).collect();
    let adjusted = p.map(|p| holm(&p));
    [0, 1].map(|i| Term {
        value: known[i].0,
        interval: known[i].1.map(|(interval, _)| interval),
        p: known[i].1.map(|(_, p)| p),
        p_adjusted: adjusted.as_ref().map(|p| p[i]),
    })
}

fn ratio_test(ss: f64, df1: f64, sigma2: f64, df2: f64) -> Option<RatioTest> {
    let f = ss / df1 / sigma2;
    Some(RatioTest { f, df1, df2, p: f_upper(f, df1, df2)? })
}

fn levels(walked: &[Walked], line: &Line, sigma2: Option<f64>) -> Vec<Level> {
    let level = |w: &Walked| Level {
        distance_m: w.distance,
        ends: w.ends.len(),
        arrows: w.arrows() as usize,
        mean_mm: w.mean(),
        se_mm: sigma2.map(|s| (s / w.weight()).sqrt()),
        straight_mm: line.straight_at(w.distance),
        curved_mm: line.curved_at(w.distance),
    };
    walked.iter().map(level).collect()
}

fn aicc_difference(walked: &[Walked], line: &Line, basis: Basis) -> Option<f64> {
    let between: f64 = walked.iter().map(Walked::between).sum();
    let (n, about_means) = match basis {
        Basis::Ends => (walked.iter().map(|w| w.ends.len() as f64).sum::<f64>(), between),
        Basis::Arrows => {
            let within: f64 = walked.iter().map(|w| w.within / (w.distance * w.distance)).sum();
            (walked.iter().map(Walked::arrows).sum(), within + between)
        }
    };
    let aicc = |rss: f64, k: f64| {
        let left = n - k - 1.0;
        let value = n * libm::log((rss + about_means) / n) + 2.0 * k + 2.0 * k * (k + 1.0) / left;
        (left > 0.0 && value.is_finite()).then_some(value)
    };
    Some(aicc(line.rss[0], 3.0)? - aicc(line.rss[1], 4.0)?)
}

/// Adds the verdict, what it means, and what could not be had.
fn judged(mut told: WalkBack, alpha: f64) -> WalkBack {
    let shown = |term: Term| term.p_adjusted.is_some_and(|p| p < alpha);
    let side = |v: f64| Some(if v < 0.0 { "left" } else { "right" });
    if shown(told.curve) {
        (told.preferred, told.verdict, told.side) = (Shape::Curved, Drift::Curved, side(told.bend_mm));
        told.meaning = Some("a curve: plunger stiffness or centre shot");
    } else if shown(told.lean) {
        (told.verdict, told.side) = (Drift::Leaning, side(told.lean.value));
        told.meaning = Some("a straight line leaning one way: the sight or the string alignment");
    }
    let for_curve = told.aicc_difference.is_some_and(|d| d > 0.0);
    let notes = [
        (
            told.sigma_mrad.is_none(),
            "no noise to judge by: needs two arrows in an end that do not share a line",
        ),
        (
            told.sigma_mrad.is_some() && told.basis == Basis::Arrows,
            "too few ends at a distance to see how ends differ, so an end aimed off as a whole looks like a bend; two \
             ends or more at each of four distances show it",
        ),
        (
            told.aicc_difference.is_some() && for_curve != (told.preferred == Shape::Curved),
            "the F test and AICc do not agree on straight or curved: take it as not settled",
        ),
        (
            told.lack_of_fit.is_some_and(|test| test.p < alpha),
            "neither line nor curve goes through the distances: wind, aim or form differed between them",
        ),
    ];
    told.notes = notes.into_iter().filter(|(holds, _)| *holds).map(|(_, note)| note.to_owned()).collect();
    told
}

#[cfg(test)]
mod tests;
