//! The ends before a change and those after it, on the part of the face where they lie.

use super::{
    Ellipse,
    svg::{Anchor, Svg, WIDTH},
    window::Window,
};
use crate::{face::Face, verdict::Units};

/// The height of the window on the face.
const HEIGHT: f64 = 300.0;

/// The ends of one side.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Side {
    /// The mean point of each end, mm.
    pub points_mm: Vec<[f64; 2]>,
    /// The mean of those.
    pub mean_mm: Option<[f64; 2]>,
    /// Where the true mean lies; none where the ends are too few.
    pub ellipse: Option<Ellipse>,
    /// What the legend says of them.
    pub words: String,
}

/// What is to be drawn.
#[derive(Debug, Clone)]
pub struct BeforeAfter<'a> {
    /// The face, where it is known.
    pub face: Option<&'a Face>,
    /// The ends before.
    pub before: &'a Side,
    /// The ends after.
    pub after: &'a Side,
    /// Of the measure.
    pub units: Units,
    /// What the ellipses are, for the legend.
    pub ellipse_words: &'a str,
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws both sides with their ellipses and an arrow from mean to mean.
pub fn before_after(shown: &BeforeAfter<'_>) -> String {
    let sides = [shown.before, shown.after];
    let window = Window::about(&boxes(&sides), [WIDTH, HEIGHT]);
    let ellipses = sides.iter().any(|s| s.ellipse.is_some());
    let mut svg = Svg::new("before-after", [WIDTH, HEIGHT + if ellipses { 52.0 } else { 30.0 }], shown.label);
    svg.open_window([0.0, 0.0], [WIDTH, HEIGHT]);
    match shown.face {
        Some(face) => {
            window.rings(&mut svg, face, " faint");
            window.ring_words(&mut svg, face);
        }
        None => svg.cross("ring faint", window.place([0.0; 2]), 10.0, 1.0),
    }
    for (side, class) in sides.iter().zip(["before", "after"]) {
        let before = class == "before";
        for point in &side.points_mm {
            mark(&mut svg, class, window.place(*point));
        }
        if let Some(ellipse) = &side.ellipse {
            window.ellipse(&mut svg, &format!("{class} ellipse"), ellipse, before);
        }
    }
    if let (Some(from), Some(to)) = (shown.before.mean_mm, shown.after.mean_mm) {
        svg.arrow("arrow", window.place(from), window.place(to), 3.5);
    }
    window.measure(&mut svg, shown.units);
    svg.close_window();
    legend(&mut svg, shown, ellipses);
    svg.finish()
}

/// Returns what has to be seen: all ends, and the ellipses.
fn boxes(sides: &[&Side; 2]) -> Vec<[[f64; 2]; 2]> {
    let points = sides.iter().flat_map(|s| s.points_mm.iter().map(|p| [*p, *p]));
    let ellipses = sides.iter().filter_map(|s| s.ellipse).map(|e| {
        let reach = e.reach_mm();
        let corner = |sign: f64| [0, 1].map(|axis| e.centre_mm[axis] + sign * reach[axis]);
        [corner(-1.0), corner(1.0)]
    });
    points.chain(ellipses).collect()
}

fn mark(svg: &mut Svg, class: &str, at: [f64; 2]) {
    let class = format!("{class} mark");
    if class.starts_with("before") { svg.square(&class, at, 10.0) } else { svg.disc(&class, at, 5.5) }
}

fn legend(svg: &mut Svg, shown: &BeforeAfter<'_>, ellipses: bool) {
    let y = HEIGHT + 20.0;
    for (class, x, words) in
        [("before", 12.0, &shown.before.words), ("after", 0.5 * WIDTH + 12.0, &shown.after.words)]
    {
        mark(svg, class, [x, y - 5.0]);
        svg.words("text", [x + 14.0, y], Anchor::Start, words);
    }
    if ellipses {
        svg.words("text", [6.0, y + 23.0], Anchor::Start, shown.ellipse_words);
    }
}
