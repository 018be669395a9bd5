//! Weight on the fingers over the draw: one curve with what it stores, or two over each other.

use super::{
    scale::{Scale, shown},
    svg::{Anchor, LETTERS, Svg, WIDTH},
};

const HEIGHT: f64 = 290.0;
/// Where the draws lie.
const ACROSS: [f64; 2] = [40.0, WIDTH - 16.0];
/// Where the weights lie, from none to the most.
const UP: [f64; 2] = [HEIGHT - 52.0, 40.0];
/// The draws that are seen at least, in.
const LEAST_IN: f64 = 4.0;

/// A curve to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnCurve<'a> {
    /// What it is of.
    pub name: &'a str,
    /// The curve, draw in inches and weight in lbf, in order.
    pub line: &'a [[f64; 2]],
    /// The points that were measured.
    pub measured: &'a [[f64; 2]],
    /// The point without weight that was added.
    pub added: Option<[f64; 2]>,
}

/// What is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawCurves<'a> {
    /// The curve that is asked about: a whole line and discs.
    pub first: DrawnCurve<'a>,
    /// The one beside it: a broken line and squares.
    pub beside: Option<DrawnCurve<'a>>,
    /// The archer's own draw, in.
    pub own_in: Option<f64>,
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws the curves; what is stored is the area below the one that stands alone.
pub fn draw_curves(curves: &DrawCurves<'_>) -> String {
    let mut svg = Svg::new("draw-curve", [WIDTH, HEIGHT], curves.label);
    let all = || [Some(curves.first), curves.beside].into_iter().flatten().flat_map(|c| c.line.iter());
    let known = || all().filter(|p| p.iter().all(|v| v.is_finite()));
    let ends = |of: usize| known().map(|p| p[of]).fold((f64::MAX, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
    let ((from, to), (_, most)) = (ends(0), ends(1));
    let (from, to) = if from < to { (from, to) } else { (to, to + LEAST_IN) };
    let across = Scale::new([(from - 1.0).floor(), to.ceil()], ACROSS);
    let up = Scale::new([0.0, 1.05 * most.max(1.0)], UP);
    axes(&mut svg, &across, &up);
    let place = |p: &[f64; 2]| [across.place(p[0]), up.place(p[1])];
    if curves.beside.is_none() {
        area(&mut svg, &curves.first, &place);
    }
    if let Some(own) = curves.own_in.filter(|own| (from..=to).contains(own)) {
        let x = across.place(own);
        svg.dashed_line("mark-line", [x, UP[0]], [x, UP[1]], 2.0);
        svg.words("text", [x - 5.0, UP[1] + LETTERS], Anchor::End, "own draw");
    }
    if let Some(beside) = &curves.beside {
        curve(&mut svg, beside, &place, true);
    }
    curve(&mut svg, &curves.first, &place, false);
    legend(&mut svg, curves);
    svg.finish()
}

fn axes(svg: &mut Svg, across: &Scale, up: &Scale) {
    for lbf in up.ticks(6.0) {
        let y = up.place(lbf);
        svg.line("axis grid", [ACROSS[0], y], [ACROSS[1], y], 0.5);
        svg.words("text", [ACROSS[0] - 6.0, y + 5.0], Anchor::End, &shown(lbf));
    }
    svg.line("axis", [ACROSS[0], UP[0]], [ACROSS[0], UP[1]], 2.0);
    across.draw(svg, UP[0], 8.0);
    svg.words("text", [ACROSS[1], HEIGHT - 10.0], Anchor::End, "draw, in");
    svg.words("text", [4.0, UP[1] - 10.0], Anchor::Start, "lbf");
}

fn area(svg: &mut Svg, curve: &DrawnCurve<'_>, place: &dyn Fn(&[f64; 2]) -> [f64; 2]) {
    let (Some(first), Some(last)) = (curve.line.first(), curve.line.last()) else { return };
    let mut corners: Vec<[f64; 2]> = curve.line.iter().map(place).collect();
    corners.extend([place(&[last[0], 0.0]), place(&[first[0], 0.0])]);
    svg.area("area", &corners);
}

fn curve(svg: &mut Svg, curve: &DrawnCurve<'_>, place: &dyn Fn(&[f64; 2]) -> [f64; 2], beside: bool) {
    let class = if beside { "before" } else { "after" };
    let through: Vec<[f64; 2]> = curve.line.iter().map(place).collect();
    svg.trace(&format!("curve {class}"), &through, 3.0, beside);
    curve.measured.iter().for_each(|point| mark(svg, place(point), beside));
    if let Some(added) = &curve.added {
        svg.ring("point added", place(added), 5.0);
    }
}

fn mark(svg: &mut Svg, at: [f64; 2], beside: bool) {
    if beside {
        svg.square("point before mark", at, 10.0);
    } else {
        svg.disc("point after mark", at, 5.0);
    }
}

/// Writes whose curve is which, each with its mark and its line.
fn legend(svg: &mut Svg, curves: &DrawCurves<'_>) {
    let rows = [(Some(curves.first), false), (curves.beside, true)];
    let mut x = 44.0;
    for (curve, beside) in rows.into_iter().filter_map(|(curve, beside)| Some((curve?, beside))) {
        let class = if beside { "curve before" } else { "curve after" };
        svg.trace(class, &[[x, 14.0], [x + 32.0, 14.0]], 3.0, beside);
        mark(svg, [x + 16.0, 14.0], beside);
        let name: String = curve.name.chars().take(12).collect();
        svg.words("text", [x + 38.0, 19.0], Anchor::Start, &name);
        x += 158.0;
    }
}
