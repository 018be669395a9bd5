//! Marks that are too few or too odd for a fit: a curve from one to the next.
//!
//! # Formula
//! [`crate::rig::monotone`] through the mean of the marks of each distance, gaps over their distance. The bounds of a
//! distance are the marks on both sides of it.
//! # Units
//! As [`super`].
//! # Source
//! As [`crate::rig::monotone`].
//! # Limits
//! Two distances or more, marks that all go one way; nothing outside of them. The eye is above the arrow, so nearer than
//! about 10 m (v √(2 h / g) without drag: 8.1 m at 57 m/s with the eye 100 mm above the arrow) the launch angle rises
//! again: marks that turn there are answered from the turn on. A turn between two marks is not seen.

use super::{
    Curve, FittedMark, MarkAt, MarkedOn, Marks, MarksInput, Place, PointOn,
    fit::Unfit,
    shape::{scaled, unscaled},
};
use crate::rig::monotone::Monotone;

/// Nearer than this marks can turn back, m: about where the launch angle is least.
const NEAR_M: f64 = 10.0;

/// Answers by a curve from mark to mark.
pub(super) fn between(input: &MarksInput, why: &Unfit) -> Marks {
    let mut x = input.distances();
    let span = x.first().zip(x.last()).map(|(a, b)| [*a, *b]);
    let mut y: Vec<f64> = x.iter().map(|d| mean(input, *d)).collect();
    let mut notes = vec![why.words(input)];
    if let Some(i) = turns(&y).filter(|i| x[i - 1] < NEAR_M) {
        notes.push(turned(input, x[i]));
        (x, y) = (x.split_off(i), y.split_off(i));
    }
    let turns = turns(&y);
    if let Some(i) = turns {
        notes.push(format!(
            "from {} m on the {} go the other way than before; check the marks, or shoot them again",
            x[i],
            input.what.noun()
        ));
    }
    let curve = if turns.is_none() { Monotone::new(&x, &y) } else { None };
    let reach = x.first().zip(x.last()).map(|(a, b)| [*a, *b]);
    let at = |d: &f64| row(input, *d, (&x, &y), curve.as_ref());
    let point_on = (input.what != MarkedOn::Sight).then(|| point_on(&x, &y, curve.as_ref()));
    Marks {
        what: input.what,
        curve: if curve.is_some() { Curve::Monotone } else { Curve::None },
        span_m: span,
        reach_m: reach.filter(|_| curve.is_some()),
        zero: None,
        slope: None,
        slope_interval: None,
        speed: None,
        sigma: None,
        df: None,
        resolution: input.resolution(),
        fitted: input.marks.iter().map(found).collect(),
        table: input.at_m.iter().map(at).collect(),
        point_on,
        notes,
    }
}

fn turned(input: &MarksInput, from_m: f64) -> String {
    format!(
        "nearer than about {NEAR_M} m {} can turn back, since the eye is above the arrow; so there is an answer only from \
         {from_m} m on",
        input.what.noun()
    )
}

fn found(m: &super::Reading) -> FittedMark {
    let (distance_m, reading) = (m.distance_m, m.reading);
    FittedMark { distance_m, reading, fitted: None, off: None, p_adjusted: None, suspect: false }
}

fn mean(input: &MarksInput, distance_m: f64) -> f64 {
    let here = input.marks.iter().filter(|m| m.distance_m.to_bits() == distance_m.to_bits());
    let values: Vec<f64> = here.map(|m| scaled(input.what, m.distance_m, m.reading)).collect();
    values.iter().sum::<f64>() / values.len() as f64
}

/// Returns the first place from which the values go the other way than before.
fn turns(y: &[f64]) -> Option<usize> {
    let steps: Vec<f64> = y.windows(2).map(|p| p[1] - p[0]).collect();
    let first = steps.iter().copied().find(|s| *s != 0.0)?;
    steps.iter().position(|s| s * first < 0.0)
}

fn row(input: &MarksInput, distance_m: f64, (x, y): (&[f64], &[f64]), curve: Option<&Monotone>) -> MarkAt {
    let nothing = |place| MarkAt { distance_m, place, value: None, interval: None, new_mark_interval: None };
    let Some(curve) = curve else { return nothing(Place::NoCurve) };
    let Some([value, _]) = curve.at(distance_m) else { return nothing(Place::Outside) };
    let above = x.partition_point(|d| *d < distance_m).min(x.len() - 1);
    let below = if x[above] == distance_m { above } else { above.saturating_sub(1) };
    let bounds = [y[below].min(y[above]), y[below].max(y[above])];
    let back = |v: f64| unscaled(input.what, distance_m, v);
    MarkAt {
        distance_m,
        place: Place::Between,
        value: Some(back(value)),
        interval: Some(bounds.map(back)),
        new_mark_interval: None,
    }
}

fn point_on(x: &[f64], y: &[f64], curve: Option<&Monotone>) -> PointOn {
    let nowhere = PointOn { distance_m: None, interval_m: [None, None] };
    let Some(curve) = curve else { return nowhere };
    let Some(i) = (0..x.len() - 1).rev().find(|i| y[*i] * y[i + 1] <= 0.0) else { return nowhere };
    let (mut low, mut high) = (x[i], x[i + 1]);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        let Some([value, _]) = curve.at(middle) else { return nowhere };
        if value != 0.0 && (value < 0.0) == (y[i] < 0.0) && y[i] != 0.0 {
            low = middle
        } else {
            high = middle
        }
    }
    let exact = y[i] == 0.0 || y[i + 1] == 0.0;
    let at = if y[i + 1] == 0.0 { x[i + 1] } else { 0.5 * (low + high) };
    PointOn {
        distance_m: Some(at),
        interval_m: if exact { [Some(at); 2] } else { [Some(x[i]), Some(x[i + 1])] },
    }
}
