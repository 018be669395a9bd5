//! An estimate with its interval over a line of values, beside what is too small to matter.

use super::{
    scale::Scale,
    svg::{Anchor, Svg, WIDTH},
};

/// Where the line begins and ends in the picture.
const LINE: [f64; 2] = [22.0, WIDTH - 22.0];
const HEIGHT: f64 = 80.0;

/// An interval to be drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band<'a> {
    /// The values that the line shows, low and high; those of several pictures under each other are the same.
    pub range: [f64; 2],
    /// The interval; none where it has no end.
    pub interval: Option<[f64; 2]>,
    /// The estimate.
    pub estimate: Option<f64>,
    /// From where to where a value is too small to matter.
    pub small: Option<[f64; 2]>,
    /// What lies below 0 and what above, with the unit.
    pub ends: [&'a str; 2],
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws an interval.
pub fn band(shown: &Band<'_>) -> String {
    let scale = Scale::new(shown.range, LINE);
    let mut svg = Svg::new("interval", [WIDTH, HEIGHT], shown.label);
    if let Some(small) = shown.small {
        let [from, to] = small.map(|v| scale.place(v));
        svg.rect("small", [from, 4.0], [to - from, 32.0]);
    }
    scale.draw(&mut svg, 36.0, 6.0);
    if let Some(interval) = shown.interval {
        thick(&mut svg, &scale, shown.range, interval);
    }
    if let Some(estimate) = shown.estimate.filter(|v| (shown.range[0]..=shown.range[1]).contains(v)) {
        svg.disc("estimate", [scale.place(estimate), 20.0], 8.0);
    }
    let [below, above] = shown.ends;
    svg.words("text", [4.0, HEIGHT - 6.0], Anchor::Start, &format!("\u{2190} {below}"));
    svg.words("text", [WIDTH - 4.0, HEIGHT - 6.0], Anchor::End, &format!("{above} \u{2192}"));
    svg.finish()
}

/// Draws the interval; an end that lies beyond the line goes on as a point.
fn thick(svg: &mut Svg, scale: &Scale, range: [f64; 2], interval: [f64; 2]) {
    let [from, to] = interval.map(|v| scale.place(v));
    svg.rect("band", [from, 14.0], [(to - from).max(3.0), 12.0]);
    let beyond = [interval[0] < range[0], interval[1] > range[1]];
    for (beyond, (edge, out)) in beyond.into_iter().zip([(LINE[0], -14.0), (LINE[1], 14.0)]) {
        if beyond {
            svg.shape("band", &[[edge + out, 20.0], [edge, 10.0], [edge, 30.0]]);
        }
    }
}
