//! The curve's marks for any distance, and the point-on distance.
//!
//! # Formula
//! value ± t se; of a new mark value ± t √(se² + s²). Point-on: the farthest zero of the curve; its interval holds the
//! distances at which the curve's interval holds 0 (Fieller's way).
//! # Units
//! As [`super`].
//! # Source
//! As [`super`]; Fieller, J. R. Stat. Soc. B 16 (1954) 175.
//! # Limits
//! From a fifth short of the nearest mark to a fifth beyond the farthest, 10 m at most.

use super::{
    Curve, FittedMark, MarkAt, MarkedOn, Marks, MarksInput, Place, PointOn, Speed,
    fit::Fit,
    shape::{scaled, unscaled},
    suspect::suspects,
};

/// How far beyond the marks there are figures: this share of the distance, and no more than so many metres.
pub(super) const BEYOND: (f64, f64) = (0.2, 10.0);
/// Places at which a zero is looked for.
const LOOKS: usize = 160;

/// Answers by a fitted curve.
pub(super) fn fitted(input: &MarksInput, fit: &Fit) -> Marks {
    let distances = input.distances();
    let span = [distances[0], distances[distances.len() - 1]];
    let more = span.map(|d| (BEYOND.0 * d).min(BEYOND.1));
    let reach = [span[0] - more[0], span[1] + more[1]];
    let interval = fit.speed_interval();
    let speed = Speed {
        value_m_s: libm::exp(fit.p.log_speed),
        known: input.speed_m_s.is_some(),
        interval_m_s: interval,
    };
    let mut notes = Vec::new();
    if fit.floor > (fit.ss / fit.df).sqrt() {
        notes.push(
            "sigma: what rounding to the resolution makes, since the marks scatter less about the curve"
                .into(),
        );
    }
    if fit.df < 2.0 {
        notes.push("p_adjusted: one mark more is needed to tell one that stands off the others".into());
    }
    let point_on = (input.what != MarkedOn::Sight).then(|| point_on(fit, reach));
    Marks {
        what: input.what,
        curve: Curve::Trajectory,
        span_m: Some(span),
        reach_m: Some(reach),
        zero: Some(fit.p.a),
        slope: (input.what != MarkedOn::Gap).then_some(fit.p.b),
        slope_interval: fit.slope_interval(interval),
        speed: Some(speed),
        sigma: Some(fit.sigma),
        df: Some(fit.df),
        resolution: input.resolution(),
        fitted: marks(input, fit),
        table: input.at_m.iter().map(|d| row(fit, *d, span, reach)).collect(),
        point_on,
        notes,
    }
}

fn marks(input: &MarksInput, fit: &Fit) -> Vec<FittedMark> {
    let suspects = suspects(fit);
    let one = |(mark, found): (&super::Reading, super::suspect::Suspect)| {
        let back = |v: f64| unscaled(input.what, mark.distance_m, v);
        FittedMark {
            distance_m: mark.distance_m,
            reading: mark.reading,
            fitted: fit.at(mark.distance_m).map(|[value, _]| back(value)),
            off: found.off.map(back),
            p_adjusted: found.p_adjusted,
            suspect: found.p_adjusted.is_some_and(|p| p < 1.0 - input.confidence),
        }
    };
    input.marks.iter().zip(suspects).map(one).collect()
}

fn row(fit: &Fit, distance_m: f64, span: [f64; 2], reach: [f64; 2]) -> MarkAt {
    let what = fit.input.what;
    let nothing = |place| MarkAt { distance_m, place, value: None, interval: None, new_mark_interval: None };
    if !(reach[0]..=reach[1]).contains(&distance_m) {
        return nothing(Place::Outside);
    }
    let Some([value, se]) = fit.at(distance_m) else { return nothing(Place::OutOfReach) };
    if what == MarkedOn::Crawl && value < 0.0 {
        return nothing(Place::PastPointOn);
    }
    let between = (span[0]..=span[1]).contains(&distance_m);
    let about = |half: f64| [value - half, value + half].map(|v| unscaled(what, distance_m, v));
    let floor = scaled(what, distance_m, fit.input.resolution()) / libm::sqrt(12.0);
    MarkAt {
        distance_m,
        place: if between { Place::Between } else { Place::Beyond },
        value: Some(unscaled(what, distance_m, value)),
        interval: Some(about(fit.t * se)),
        new_mark_interval: Some(about(fit.t * libm::hypot(se, fit.sigma.max(floor)))),
    }
}

fn point_on(fit: &Fit, [near, far]: [f64; 2]) -> PointOn {
    let place = |i: usize| near + (far - near) * i as f64 / (LOOKS - 1) as f64;
    let value = |d: f64| fit.at(d).map(|[value, _]| value);
    let crosses = |i: &usize| {
        let (Some(a), Some(b)) = (value(place(*i)), value(place(i + 1))) else { return false };
        a == 0.0 || b == 0.0 || (a < 0.0) != (b < 0.0)
    };
    let Some(i) = (0..LOOKS - 1).rev().find(crosses) else {
        return PointOn { distance_m: None, interval_m: beyond(fit, [near, far]) };
    };
    let negative = |d: f64| value(d).is_some_and(|v| v < 0.0);
    let root = edge(place(i), place(i + 1), |d| negative(d) == negative(place(i)));
    let holds = |d: f64| fit.at(d).is_some_and(|[v, se]| v.abs() <= fit.t * se);
    let end = |outward: &mut dyn Iterator<Item = usize>, bound: f64| {
        let mut inside = root;
        for i in outward {
            if !holds(place(i)) {
                return Some(edge(inside, place(i), holds));
            }
            inside = place(i);
        }
        (!holds(bound)).then(|| edge(inside, bound, holds))
    };
    let low = end(&mut (0..=i).rev(), near);
    let high = end(&mut (i + 1..LOOKS), far);
    PointOn { distance_m: Some(root), interval_m: [low, high] }
}

/// Where there is no zero within reach: which end it lies beyond, at least.
fn beyond(fit: &Fit, [near, far]: [f64; 2]) -> [Option<f64>; 2] {
    let holds = |d: f64| fit.at(d).is_some_and(|[v, se]| v.abs() <= fit.t * se);
    let size = |d: f64| fit.at(d).map_or(f64::MAX, |[v, _]| v.abs());
    match (size(far) < size(near), holds(far) || holds(near)) {
        (_, true) => [None, None],
        (true, false) => [Some(far), None],
        (false, false) => [None, Some(near)],
    }
}

/// Returns where something stops to hold between a place where it does and one where it does not.
fn edge(mut inside: f64, mut outside: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let middle = 0.5 * (inside + outside);
        if holds(middle) { inside = middle } else { outside = middle }
    }
    0.5 * (inside + outside)
}
