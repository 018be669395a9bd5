//! Draw curves as pictures: dots for the terminal, SVG for the page and for files.

use super::held::Held;
use crate::{
    chart::{DrawCurves, DrawnCurve, draw_curves},
    rig::force_draw::DrawCurve,
    verdict::{
        plot::{Canvas, with_scale},
        units::trimmed,
    },
};

/// How many lines high the picture in the terminal is.
const LINES: usize = 16;
/// Steps along a curve in a picture.
const STEPS: usize = 120;

/// A curve to be drawn, with the bow that it is of.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveToDraw {
    name: String,
    curve: DrawCurve,
    measured: Vec<[f64; 2]>,
    added_in: Option<f64>,
}

impl CurveToDraw {
    pub(super) fn new(name: &str, held: &Held) -> Self {
        Self {
            name: name.to_owned(),
            curve: held.curve.clone(),
            measured: held.points.clone(),
            added_in: held.added_in,
        }
    }

    /// Returns the curve in steps.
    fn line(&self) -> Vec<[f64; 2]> {
        let [first, last] = self.curve.span_in();
        let at = |i: usize| first + (last - first) * i as f64 / STEPS as f64;
        let step = |i: usize| {
            let draw = if i == STEPS { last } else { at(i) };
            self.curve.at(draw).map(|[lbf, _]| [draw, lbf])
        };
        (0..=STEPS).filter_map(step).collect()
    }
}

/// Draws one curve, or two over each other, for a terminal of so many columns.
pub fn curve_plot(curves: &[CurveToDraw], columns: usize) -> String {
    let all = || curves.iter().flat_map(CurveToDraw::line);
    let Some(start) = all().next() else { return "nothing to draw yet".into() };
    let (mut from, mut to, mut most) = (start[0], start[0], 0.0_f64);
    for [draw, lbf] in all() {
        (from, to, most) = (from.min(draw), to.max(draw), most.max(lbf));
    }
    let columns = columns.clamp(30, 200) - 10;
    let most = if most > 0.0 { 1.05 * most } else { 1.0 };
    let across = |draw: f64| if to > from { 1.9 * (draw - from) / (to - from) - 0.95 } else { 0.0 };
    let up = |lbf: f64| 2.0 * lbf / most - 1.0;
    let mut canvas = Canvas::new(columns, LINES);
    for (n, one) in curves.iter().enumerate() {
        // The second in dashes, so that the two are told apart where they have no marks.
        let seen = |i: usize| n == 0 || i % 6 < 3;
        let line = one.line();
        line.iter()
            .enumerate()
            .filter(|(i, _)| seen(*i))
            .for_each(|(_, p)| canvas.dot(across(p[0]), up(p[1])));
        for [draw, lbf] in &one.measured {
            canvas.mark(across(*draw), up(*lbf), if n == 0 { 'o' } else { 'x' });
        }
        if let Some(rest) = one.added_in {
            canvas.mark(across(rest), up(0.0), '.');
        }
    }
    let (left, right) = (trimmed(from, 1), format!("{} in", trimmed(to, 1)));
    let gap = columns.saturating_sub(left.len() + right.len() + "draw".len());
    let (before, after) = (" ".repeat(gap / 2), " ".repeat(gap - gap / 2));
    let mut text = with_scale("weight on the fingers, lbf", &canvas, 0.0, most);
    text.push_str(&format!("{}{left}{before}draw{after}{right}\n", " ".repeat(10)));
    text.push_str(&legend(curves));
    text
}

fn legend(curves: &[CurveToDraw]) -> String {
    let one = |(n, curve): (usize, &CurveToDraw)| {
        format!("{} {} measured", if n == 0 { 'o' } else { 'x' }, curve.name.replace(char::is_control, " "))
    };
    let mut told: Vec<String> = curves.iter().enumerate().map(one).collect();
    if curves.iter().any(|curve| curve.added_in.is_some()) {
        told.push(". no weight, added by the brace height".into());
    }
    told.join("; ")
}

/// Draws one curve with the area of the energy stored, or two over each other, as SVG.
pub fn curve_svg(curves: &[CurveToDraw], own_in: Option<f64>, label: &str) -> Option<String> {
    let lines: Vec<Vec<[f64; 2]>> = curves.iter().map(CurveToDraw::line).collect();
    let drawn = |i: usize| {
        let (curve, line) = (curves.get(i)?, lines.get(i)?);
        let added = curve.added_in.map(|draw| [draw, 0.0]);
        Some(DrawnCurve { name: &curve.name, line, measured: &curve.measured, added })
    };
    Some(draw_curves(&DrawCurves { first: drawn(0)?, beside: drawn(1), own_in, label }))
}
