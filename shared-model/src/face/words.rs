//! Where an arrow struck, in words: `red 7, half past four`.

use super::{Face, Score};
use crate::notation::clock_words;

impl Score {
    /// Returns the ring as it stands on a score sheet: `X` for the inner ten, the points, `M` for a miss.
    pub fn ring(self) -> String {
        match (self.points, self.inner_ten) {
            (0, _) => "M".into(),
            (_, true) => "X".into(),
            (points, false) => points.to_string(),
        }
    }
}

impl Face {
    /// Returns where an arrow struck in words: colour and ring by what it scores, and the direction from the middle as
    /// on a clock. `point_mm` is right and up of the middle, the shaft's diameter in mm.
    pub fn place_words(&self, point_mm: [f64; 2], shaft_diameter_mm: f64) -> String {
        let score = self.score(point_mm, shaft_diameter_mm);
        let zone = self.zones.iter().find(|zone| zone.points == score.points);
        let colour = zone.and_then(|zone| zone.colour).map_or(String::new(), |c| format!("{} ", c.word()));
        let ring = match zone {
            None => "off the rings".to_owned(),
            Some(_) => format!("{colour}{}", score.ring()),
        };
        match clock_words(point_mm) {
            Some(clock) => format!("{ring}, {clock}"),
            None => format!("{ring}, in the middle"),
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_place_is_told_by_colour_ring_and_clock() {
        // The rings of the 80 cm face are 40 mm wide (World Archery, Book 3): the seven goes from 120 to 160 mm.
        let face = Face::by_code("wa_80").unwrap();
        let d = 140.0 / libm::sqrt(2.0);
        for (point, words) in [
            ([d, -d], "red 7, half past four"),
            ([0.0, 60.0], "yellow 9, twelve o'clock"),
            ([-190.0, 0.0], "blue 6, nine o'clock"),
            ([0.0, 0.0], "yellow X, in the middle"),
            ([0.0, -30.0], "yellow 10, six o'clock"),
            ([0.0, -401.0], "off the rings, six o'clock"),
        ] {
            assert_eq!(face.place_words(point, 0.0), words);
        }
        // A shaft of 6 mm that touches the line takes the higher ring.
        assert_eq!(face.place_words([0.0, 82.0], 6.0), "yellow 9, twelve o'clock");
        assert_eq!(face.place_words([0.0, 82.0], 3.0), "red 8, twelve o'clock");
    }
}
