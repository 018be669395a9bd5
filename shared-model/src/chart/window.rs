//! The part of a face that a picture shows, and the rings in it.

use super::{
    Ellipse,
    scale::round_step,
    svg::{Anchor, Svg, WIDTH},
};
use crate::{
    face::{Colour, Face},
    verdict::Units,
};

/// The least that a picture shows to either side, mm.
const LEAST_HALF_MM: f64 = 15.0;

/// From mm on the face to places in a picture.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    middle_mm: [f64; 2],
    per_mm: f64,
    size: [f64; 2],
}

impl Window {
    /// Shows a whole face.
    pub fn whole(radius_mm: f64, size: [f64; 2]) -> Self {
        Self { middle_mm: [0.0; 2], per_mm: 0.5 * size[0].min(size[1]) / (1.03 * radius_mm), size }
    }

    /// Shows these boxes (low and high corners) as large as they go, and the middle of the face with them unless that
    /// would make them small.
    pub fn about(boxes: &[[[f64; 2]; 2]], size: [f64; 2]) -> Self {
        let span = |with_middle: bool| {
            let first = if with_middle { [0.0, 0.0] } else { [f64::MAX, f64::MIN] };
            [0, 1].map(|axis| {
                boxes.iter().fold(first, |[low, high], b| [low.min(b[0][axis]), high.max(b[1][axis])])
            })
        };
        if boxes.is_empty() {
            return Self::whole(LEAST_HALF_MM, size);
        }
        let half = |s: [[f64; 2]; 2]| s.map(|[low, high]| (0.5 * (high - low)).max(LEAST_HALF_MM));
        let scale = |h: [f64; 2]| (0.5 * size[0] / h[0]).min(0.5 * size[1] / h[1]) / 1.15;
        let (with, without) = (span(true), span(false));
        let (per_with, per_without) = (scale(half(with)), scale(half(without)));
        let (span, per_mm) =
            if per_with > 0.4 * per_without { (with, per_with) } else { (without, per_without) };
        Self { middle_mm: span.map(|[low, high]| 0.5 * (low + high)), per_mm, size }
    }

    /// Returns where a point of the face lies in the picture.
    pub fn place(&self, mm: [f64; 2]) -> [f64; 2] {
        let x = 0.5 * self.size[0] + (mm[0] - self.middle_mm[0]) * self.per_mm;
        [x, 0.5 * self.size[1] - (mm[1] - self.middle_mm[1]) * self.per_mm]
    }

    /// Returns how long so many mm are.
    pub fn long(&self, mm: f64) -> f64 {
        mm * self.per_mm
    }

    /// Draws the rings from the widest inwards; `more` are further classes.
    pub fn rings(&self, svg: &mut Svg, face: &Face, more: &str) {
        let middle = self.place([0.0; 2]);
        for zone in face.zones().iter().rev() {
            let class = format!("{}{more}", zone.colour.map_or("ring", ring_class));
            svg.ring(&class, middle, self.long(zone.outer_radius_mm));
        }
        if let Some(radius) = face.inner10_radius_mm() {
            svg.ring(&format!("ring inner{more}"), middle, self.long(radius));
        }
    }

    /// Writes what the rings score to the left of the middle, where they are wide enough.
    pub fn ring_words(&self, svg: &mut Svg, face: &Face) {
        let mut inner = 0.0;
        for zone in face.zones() {
            let (outer, mid) = (zone.outer_radius_mm, 0.5 * (inner + zone.outer_radius_mm));
            let [x, y] = self.place([-mid, 0.0]);
            let seen = (10.0..self.size[0] - 10.0).contains(&x) && (10.0..self.size[1] - 10.0).contains(&y);
            if seen && self.long(outer - inner) >= 20.0 {
                svg.words("text ring-words", [x, y + 5.0], Anchor::Middle, &zone.points.to_string());
            }
            inner = outer;
        }
    }

    /// Draws an ellipse of the face.
    pub fn ellipse(&self, svg: &mut Svg, class: &str, ellipse: &Ellipse, dashed: bool) {
        let semi = ellipse.semi_mm.map(|mm| self.long(mm).max(1.5));
        svg.ellipse(class, self.place(ellipse.centre_mm), semi, -ellipse.angle_rad.to_degrees(), dashed);
    }

    /// Draws how long a round number of mm or inches is.
    pub fn measure(&self, svg: &mut Svg, units: Units) {
        let unit_mm = 1.0 / units.reading(1.0);
        let long = round_step(0.22 * WIDTH / (self.per_mm * unit_mm));
        let (x, y) = (12.0, self.size[1] - 12.0);
        let end = x + self.long(long * unit_mm);
        svg.line("axis", [x, y], [end, y], 2.0);
        [x, end].iter().for_each(|x| svg.line("axis", [*x, y - 5.0], [*x, y + 5.0], 2.0));
        let words = format!("{long} {}", units.unit());
        svg.words("text", [end + 6.0, y + 5.0], Anchor::Start, &words);
    }
}

/// Returns the classes of a ring by its printed colour.
pub(super) fn ring_class(colour: Colour) -> &'static str {
    match colour {
        Colour::Yellow => "ring ring-yellow",
        Colour::Red => "ring ring-red",
        Colour::Blue => "ring ring-blue",
        Colour::Black => "ring ring-black",
        Colour::White => "ring ring-white",
    }
}
