//! A small face: where an archer's latest arrows lie, how wide, and how far the middle of them is off.

use super::window::ring_class;
use crate::face::Face;
use std::fmt::Write as _;

/// Half the width of the picture, in its own units.
const HALF: f64 = 48.0;
/// How far the drawing reaches: the outermost line stays whole.
const REACH: f64 = 46.0;
/// The half axes of the ellipse in SDs: half the arrows of a normal group lie within, √(2 ln 2).
const HALF_OF_ARROWS: f64 = 1.177_410_022_515_474_7;

/// Lengths beyond this, mm, are none of a face.
const FARTHEST_MM: f64 = 1e6;

/// What the picture shows.
#[derive(Debug, Clone, Copy)]
pub struct LittleFace<'a> {
    /// The face; without one there is a cross for the middle.
    pub face: Option<&'a Face>,
    /// How the arrows lie; nothing where there are none, which the picture says with a question mark.
    pub lie: Option<Lie<'a>>,
    /// What the picture shows, for those who do not see it.
    pub label: &'a str,
}

/// How arrows lie.
#[derive(Debug, Clone, Copy)]
pub struct Lie<'a> {
    /// Their mean, mm right and up of the middle.
    pub mean_mm: [f64; 2],
    /// Covariance of an arrow, mm²; without it there is no ellipse.
    pub covariance_mm2: Option<[[f64; 2]; 2]>,
    /// Arrows to be marked one by one.
    pub arrows_mm: &'a [[f64; 2]],
}

/// An ellipse about the mean.
struct Ellipse {
    semi_mm: [f64; 2],
    /// Counter-clockwise from the right.
    angle_deg: f64,
}

impl LittleFace<'_> {
    /// Returns the picture.
    pub fn svg(&self) -> String {
        let lie = self.lie.filter(|lie| drawable(&lie.mean_mm));
        let ellipse = lie.and_then(|lie| ellipse(lie.covariance_mm2?));
        let reach_mm = self.reach_mm(lie.as_ref(), ellipse.as_ref());
        let px = |mm: f64| mm * REACH / reach_mm;
        let mut svg = format!(
            "<svg class=\"chart little-face\" viewBox=\"0 0 {size} {size}\" role=\"img\" aria-label=\"{}\">",
            escaped(self.label),
            size = 2.0 * HALF
        );
        self.rings(&px, reach_mm, &mut svg);
        match &lie {
            Some(lie) => arrows(lie, ellipse.as_ref(), &px, &mut svg),
            None => svg.push_str(
                "<text class=\"text\" x=\"48\" y=\"57\" font-size=\"28\" text-anchor=\"middle\">?</text>",
            ),
        }
        svg.push_str("</svg>");
        svg
    }

    /// Returns how far from the middle the picture reaches: whole rings, as few as hold what it shows, twice the
    /// innermost colour at least.
    fn reach_mm(&self, lie: Option<&Lie<'_>>, ellipse: Option<&Ellipse>) -> f64 {
        let zones = self.face.map_or(&[][..], Face::zones);
        let widest = zones.last().map_or(0.0, |zone| zone.outer_radius_mm);
        let Some(lie) = lie else { return if widest > 0.0 { widest } else { 1.0 } };
        let far = |at: &[f64; 2]| libm::hypot(at[0], at[1]);
        let marked = lie.arrows_mm.iter().filter(|at| drawable(at)).map(far).fold(0.0, f64::max);
        let about = far(&lie.mean_mm) + ellipse.map_or(0.0, |e| e.semi_mm[0].max(e.semi_mm[1]));
        let shown = about.max(marked);
        let inner = zones.iter().take_while(|zone| zone.colour == zones[0].colour).last();
        let least = inner.map_or(0.0, |zone| 2.0 * zone.outer_radius_mm).min(widest);
        let holds = zones.iter().map(|zone| zone.outer_radius_mm).find(|r| *r >= shown && *r >= least);
        let reach = holds.unwrap_or(1.05 * shown.max(least));
        if reach > 0.0 && reach.is_finite() { reach } else { 1.0 }
    }

    fn rings(&self, px: &dyn Fn(f64) -> f64, reach_mm: f64, svg: &mut String) {
        let zones = self.face.map_or(&[][..], Face::zones);
        if zones.is_empty() {
            line(svg, "axis", [HALF - REACH, HALF], [HALF + REACH, HALF]);
            line(svg, "axis", [HALF, HALF - REACH], [HALF, HALF + REACH]);
        }
        for zone in zones.iter().rev().filter(|zone| zone.outer_radius_mm <= reach_mm * 1.000_001) {
            let class = zone.colour.map_or("ring", ring_class);
            let r = px(zone.outer_radius_mm);
            write(svg, format_args!("<circle class=\"{class}\" cx=\"48\" cy=\"48\" r=\"{r:.2}\"/>"));
        }
    }
}

fn arrows(lie: &Lie<'_>, ellipse: Option<&Ellipse>, px: &dyn Fn(f64) -> f64, svg: &mut String) {
    let place = |at: [f64; 2]| [HALF + px(at[0]), HALF - px(at[1])];
    for at in lie.arrows_mm.iter().filter(|at| drawable(at)) {
        let [x, y] = place(*at);
        write(svg, format_args!("<circle class=\"arrow-mark\" cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"1.2\"/>"));
    }
    let [x, y] = place(lie.mean_mm);
    if let Some(Ellipse { semi_mm, angle_deg }) = ellipse {
        let [rx, ry] = semi_mm.map(px);
        write(
            svg,
            format_args!(
                "<ellipse class=\"ellipse after\" cx=\"{x:.2}\" cy=\"{y:.2}\" rx=\"{rx:.2}\" ry=\"{ry:.2}\" \
                 transform=\"rotate({:.1} {x:.2} {y:.2})\" stroke-width=\"2\"/>",
                -angle_deg
            ),
        );
    }
    line(svg, "axis off", [HALF, HALF], [x, y]);
    write(svg, format_args!("<circle class=\"mean after\" cx=\"{x:.2}\" cy=\"{y:.2}\" r=\"2.5\"/>"));
}

/// Returns the ellipse of a covariance: the eigenvectors of a symmetric 2 by 2 matrix in closed form.
fn ellipse([[xx, xy], [_, yy]]: [[f64; 2]; 2]) -> Option<Ellipse> {
    let (middle, apart) = (0.5 * (xx + yy), libm::hypot(0.5 * (xx - yy), xy));
    let semi_mm = [middle + apart, middle - apart].map(|v| HALF_OF_ARROWS * v.max(0.0).sqrt());
    let angle_deg = (0.5 * libm::atan2(2.0 * xy, xx - yy)).to_degrees();
    (drawable(&semi_mm) && angle_deg.is_finite()).then_some(Ellipse { semi_mm, angle_deg })
}

fn drawable(mm: &[f64; 2]) -> bool {
    mm.iter().all(|v| v.abs() < FARTHEST_MM)
}

fn line(svg: &mut String, class: &str, [x1, y1]: [f64; 2], [x2, y2]: [f64; 2]) {
    write(
        svg,
        format_args!(
            "<line class=\"{class}\" x1=\"{x1:.2}\" y1=\"{y1:.2}\" x2=\"{x2:.2}\" y2=\"{y2:.2}\" stroke-width=\"2\"/>"
        ),
    );
}

fn write(svg: &mut String, part: std::fmt::Arguments<'_>) {
    svg.write_fmt(part).expect("a String takes any text");
}

/// Returns a text that stands for itself within an attribute.
fn escaped(text: &str) -> String {
    let mut safe = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => safe.push_str("&amp;"),
            '<' => safe.push_str("&lt;"),
            '>' => safe.push_str("&gt;"),
            '"' => safe.push_str("&quot;"),
            c if c.is_control() => safe.push(' '),
            c => safe.push(c),
        }
    }
    safe
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn drawn(face: Option<&Face>, lie: Option<Lie<'_>>) -> String {
        LittleFace { face, lie, label: "Ash & \"<Birch>\"" }.svg()
    }

    fn lie(mean_mm: [f64; 2], covariance_mm2: [[f64; 2]; 2]) -> Lie<'static> {
        Lie { mean_mm, covariance_mm2: Some(covariance_mm2), arrows_mm: &[] }
    }

    #[test]
    fn the_ellipse_holds_half_the_arrows_and_leans_as_they_do() {
        // By hand: variances 100 along 45 degrees and 25 across, turned back: (100 + 25)/2 and (100 - 25)/2.
        let e = ellipse([[62.5, 37.5], [37.5, 62.5]]).unwrap();
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
        close(e.semi_mm[0], 10.0 * (2.0 * std::f64::consts::LN_2).sqrt());
        close(e.semi_mm[1], 5.0 * (2.0 * std::f64::consts::LN_2).sqrt());
        close(e.angle_deg, 45.0);
    }

    #[test]
    fn the_picture_reaches_as_far_as_what_it_shows() {
        let face = Face::by_code("wa_80").unwrap();
        // The yellow reaches to 80 mm of 400; twice that is drawn at least: four rings of ten.
        let near = drawn(Some(&face), Some(lie([10.0, 0.0], [[400.0, 0.0], [0.0, 400.0]])));
        assert_eq!(near.matches("class=\"ring ").count(), 4, "{near}");
        let far = drawn(Some(&face), Some(lie([-1000.0, 0.0], [[400.0, 0.0], [0.0, 400.0]])));
        assert_eq!(far.matches("class=\"ring ").count(), 10, "{far}");
        // 1.05 times 1000 + 1.1774 * 20 mm is 46 of the picture's units: 1000 mm are 42.80.
        assert!(far.contains("class=\"mean after\" cx=\"5.20\" cy=\"48.00\""), "{far}");
    }

    #[test]
    fn up_is_up_and_names_are_escaped() {
        let svg = drawn(None, Some(lie([0.0, 100.0], [[1.0, 0.0], [0.0, 1.0]])));
        let y: f64 =
            svg.split("class=\"mean after\" cx=\"48.00\" cy=\"").nth(1).unwrap()[..4].parse().unwrap();
        assert!(y < 48.0 && svg.contains("Ash &amp; &quot;&lt;Birch&gt;&quot;"), "{svg}");
        assert_eq!(svg.matches("class=\"axis\"").count(), 2);
    }

    #[test]
    fn no_number_and_no_arrow_is_a_question_mark() {
        let round = [[1.0, 0.0], [0.0, 1.0]];
        for lie in [None, Some(lie([f64::NAN, 0.0], round)), Some(lie([f64::MAX, 0.0], round))] {
            let svg = drawn(Face::by_code("wa_80").ok().as_ref(), lie);
            assert!(svg.contains(">?</text>") && !svg.contains("NaN"), "{svg}");
        }
        for covariance in [[[f64::NAN; 2]; 2], [[-1.0, 0.0], [0.0, -1.0]], [[f64::MAX; 2]; 2]] {
            let svg = drawn(None, Some(lie([1e5, 1.0], covariance)));
            assert!(!svg.contains("NaN") && !svg.contains("inf"), "{svg}");
        }
    }
}
