//! A group on its face: every arrow, the mean with its ellipse, the spread.

use super::{
    Ellipse,
    svg::{Anchor, LETTERS, Svg, WIDTH},
    window::Window,
};
use crate::face::Face;

/// An arrow in a picture.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Shot<'a> {
    /// Where it struck, mm right and up of the middle.
    pub at_mm: [f64; 2],
    /// Whether it was called a flyer.
    pub flyer: bool,
    /// Whether it was a bare shaft.
    pub bare: bool,
    /// Its number, where it has one.
    pub number: Option<&'a str>,
}

/// A group to be drawn on its face.
#[derive(Debug, Clone, Copy)]
pub struct FaceGroup<'a> {
    /// The face.
    pub face: &'a Face,
    /// The arrows.
    pub shots: &'a [Shot<'a>],
    /// The mean point of impact, mm.
    pub mean_mm: Option<[f64; 2]>,
    /// Where the true mean lies.
    pub ellipse: Option<Ellipse>,
    /// The spread of the arrows.
    pub spread_ellipse: Option<Ellipse>,
    /// What the picture shows, in words.
    pub label: &'a str,
}

/// Draws a group on the whole face.
pub fn face_group(group: &FaceGroup<'_>) -> String {
    let radius = group.face.scoring_outer_radius_mm();
    let shown = group.shots.iter().flat_map(|s| s.at_mm).filter(|v| v.is_finite());
    let far = shown.map(f64::abs).fold(radius, f64::max);
    // An arrow beyond the face is shown, but one far beyond it does not make the face small.
    let window = Window::whole(far.min(1.5 * radius), [WIDTH, WIDTH]);
    let mut svg = Svg::new("face-group", [WIDTH, WIDTH], group.label);
    window.rings(&mut svg, group.face, "");
    for (class, ellipse) in [("spread ellipse", group.spread_ellipse), ("ellipse", group.ellipse)] {
        if let Some(ellipse) = ellipse.filter(|e| e.semi_mm[0] < 2.0 * radius) {
            window.ellipse(&mut svg, class, &ellipse, class != "ellipse");
        }
    }
    for shot in group.shots.iter().filter(|s| s.at_mm.iter().all(|v| v.is_finite())) {
        draw_shot(&mut svg, &window, shot);
    }
    if let Some(mean) = group.mean_mm {
        let [x, y] = window.place(mean);
        svg.line("mean", [x - 10.0, y], [x + 10.0, y], 3.0);
        svg.line("mean", [x, y - 10.0], [x, y + 10.0], 3.0);
    }
    svg.finish()
}

fn draw_shot(svg: &mut Svg, window: &Window, shot: &Shot<'_>) {
    let at = window.place(shot.at_mm);
    match (shot.flyer, shot.bare) {
        (true, _) => svg.cross("flyer", at, 6.0, 3.0),
        (false, true) => {
            let [x, y] = at;
            svg.shape("bare", &[[x, y - 7.5], [x + 6.5, y + 4.5], [x - 6.5, y + 4.5]]);
        }
        (false, false) => svg.disc("arrow-mark", at, 5.5),
    }
    if let Some(number) = shot.number {
        svg.words("text number", [at[0] + 8.0, at[1] + 0.36 * LETTERS], Anchor::Start, number);
    }
}
