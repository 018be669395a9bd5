//! What dealing by chance gives: a dot a deal, over the distance between the two piles, and the one that was shot.

use super::{
    scale::Scale,
    svg::{Anchor, Svg, WIDTH, width_of},
};

const LINE: [f64; 2] = [16.0, WIDTH - 16.0];
/// The height of the columns of dots.
const ROOM: f64 = 210.0;
const COLUMNS: usize = 22;
/// Above the dots, for the words beside the arrow.
const TOP: f64 = 30.0;

/// Deals to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Deals<'a> {
    /// The distance between the two means of each deal, in the unit of the line; 200 at most are worth drawing.
    pub distances: &'a [f64],
    /// The distance as it was shot.
    pub yours: f64,
    /// Which deals reach it.
    pub reaches: &'a [bool],
    /// What stands beside the arrow, like `yours: 14 mm`.
    pub yours_words: &'a str,
    /// What the line counts.
    pub axis_words: &'a str,
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws the deals as columns of dots.
pub fn deals(shown: &Deals<'_>) -> String {
    let far = shown.distances.iter().copied().fold(shown.yours, f64::max).max(1e-6) * 1.06;
    // A column begins at yours, so that the deals that reach it stand right of the arrow.
    let below = (shown.yours / far * COLUMNS as f64).round().max(1.0);
    let wide = if shown.yours > 0.0 { shown.yours / below } else { far / COLUMNS as f64 };
    let far = far.max(wide * (far / wide - 1e-9).ceil());
    let scale = Scale::new([0.0, far], LINE);
    let last = ((far / wide).round() as usize).max(1);
    let base = TOP + ROOM;
    let mut svg = Svg::new("deals", [WIDTH, base + 52.0], shown.label);
    let mut columns = vec![Vec::new(); last];
    for (distance, reach) in shown.distances.iter().zip(shown.reaches) {
        let column = ((distance / wide + 1e-6).max(0.0) as usize).min(last - 1);
        columns[column].push(*reach);
    }
    let highest = columns.iter().map(Vec::len).max().unwrap_or(0).max(1);
    let pitch = (ROOM / highest as f64).min(14.0);
    let radius = (0.44 * pitch).min(6.0);
    for (n, mut column) in columns.into_iter().enumerate() {
        // Those that reach it stand on top of those that do not.
        column.sort_unstable();
        let x = scale.place((n as f64 + 0.5) * wide);
        for (row, reach) in column.into_iter().enumerate() {
            let at = [x, base - 3.0 - (row as f64 + 0.5) * pitch];
            if reach { ringed(&mut svg, at, radius) } else { svg.disc("deal", at, radius) }
        }
    }
    scale.draw(&mut svg, base, 7.0);
    yours(&mut svg, &scale, shown, base);
    svg.words("text", [0.5 * WIDTH, base + 44.0], Anchor::Middle, shown.axis_words);
    svg.finish()
}

/// Draws a deal that reaches yours: a dot with a ring about it.
fn ringed(svg: &mut Svg, at: [f64; 2], radius: f64) {
    svg.disc("reach", at, 0.6 * radius);
    svg.ring("reach outline", at, radius);
}

fn yours(svg: &mut Svg, scale: &Scale, shown: &Deals<'_>, base: f64) {
    let x = scale.place(shown.yours);
    svg.arrow("yours", [x, TOP - 6.0], [x, base - 2.0], 3.0);
    let half = 0.5 * width_of(shown.yours_words);
    let at = x.clamp(half, WIDTH - half);
    svg.words("text", [at, 15.0], Anchor::Middle, shown.yours_words);
}
