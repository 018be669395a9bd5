//! Marks against distance with the curve through them.

use super::{
    scale::Scale,
    svg::{Anchor, Svg, WIDTH},
};
use crate::{
    stats::marks::{Curve, MarkAt, MarkedOn, Marks},
    verdict::Units,
};

const HEIGHT: f64 = 270.0;
/// Where the field lies in the picture: left, right, top, bottom.
const FIELD: [f64; 4] = [52.0, WIDTH - 14.0, 32.0, HEIGHT - 44.0];

/// Marks to be drawn.
#[derive(Debug, Clone, Copy)]
pub struct MarkCurve<'a> {
    /// The marks.
    pub figures: &'a Marks,
    /// The curve, nearest first.
    pub curve: &'a [MarkAt],
    /// In which units.
    pub units: Units,
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws the marks; nothing where there is no curve.
pub fn mark_curve(shown: &MarkCurve<'_>) -> Option<String> {
    let figures = shown.figures;
    let points: Vec<(f64, f64, [f64; 2])> =
        shown.curve.iter().filter_map(|at| Some((at.distance_m, at.value?, at.interval?))).collect();
    if figures.curve == Curve::None || points.len() < 2 {
        return None;
    }
    let [left, right, top, bottom] = FIELD;
    let unit = if shown.units == Units::Metric { 1.0 } else { 0.9144 };
    let long = |v: f64| if figures.what == MarkedOn::Sight { v } else { shown.units.reading(v) };
    let read = points.iter().map(|p| p.1).chain(figures.fitted.iter().map(|m| m.reading));
    let (low, high) = read.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(long(v)), h.max(long(v))));
    let margin = 0.08 * (high - low).max(1e-6);
    let x = Scale::new([points[0].0 / unit, points[points.len() - 1].0 / unit], [left, right]);
    let y = Scale::new([low - margin, high + margin], [bottom, top]);
    let mut svg = Svg::new("marks", [WIDTH, HEIGHT], shown.label);
    let place = |d: f64, v: f64| [x.place(d / unit), y.place(long(v))];
    if figures.curve == Curve::Trajectory {
        let below = points.iter().map(|(d, _, [low, _])| place(*d, *low));
        let above = points.iter().rev().map(|(d, _, [_, high])| place(*d, *high));
        svg.shape("small", &below.chain(above).collect::<Vec<_>>());
    }
    for pair in points.windows(2) {
        svg.line("after", place(pair[0].0, pair[0].1), place(pair[1].0, pair[1].1), 2.5);
    }
    for mark in &figures.fitted {
        let at = place(mark.distance_m, mark.reading);
        if mark.suspect { svg.cross("arrow", at, 7.0, 3.0) } else { svg.disc("arrow-mark", at, 5.0) }
    }
    axes(&mut svg, &x, &y, figures.what, shown.units);
    Some(svg.finish())
}

/// Draws the scales of distance and of the marks, each with its name and unit.
fn axes(svg: &mut Svg, x: &Scale, y: &Scale, what: MarkedOn, units: Units) {
    let [left, right, top, bottom] = FIELD;
    x.draw(svg, bottom + 6.0, 6.0);
    svg.line("axis", [left, top], [left, bottom], 2.0);
    for value in y.ticks(5.0) {
        let at = y.place(value);
        svg.line("axis", [left - 5.0, at], [left, at], 2.0);
        svg.words("text", [left - 8.0, at + 5.0], Anchor::End, &crate::verdict::decimal(value, 2));
    }
    let up = match what {
        MarkedOn::Sight => "sight mark".to_owned(),
        what => format!("{}, {}", what.word(), units.unit()),
    };
    svg.words("text", [6.0, 18.0], Anchor::Start, &up);
    let below = if units == Units::Metric { "distance, m" } else { "distance, yd" };
    svg.words("text", [right, HEIGHT - 3.0], Anchor::End, below);
}
