//! Ring scores of arrows on a face.
//!
//! # Formula
//! An arrow of diameter d at distance r from the centre takes the highest zone with r − d/2 ≤ outer
//! radius, and the inner ten likewise; beyond the last zone it is a miss of 0 points.
//! # Units
//! Points and diameters in mm, from the centre of the spot aimed at; scores in points.
//! # Source
//! World Archery, Constitution and Rules, Books 3 and 4: a shaft that touches a dividing line takes the
//! higher value.
//! # Limits
//! Coordinates that are exact in binary score exactly on the line; others as near as a double comes.

use crate::face::{Face, Score};

/// Returns what each arrow scores, in the order given; points and shaft in mm.
pub fn face_score(face: &Face, shaft_diameter_mm: f64, points_mm: &[[f64; 2]]) -> Vec<Score> {
    points_mm.iter().map(|point| face.score(*point, shaft_diameter_mm)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shaft_on_the_line_takes_the_higher_ring_and_just_off_it_does_not() {
        // 3-4-5 and 5-12-13 triangles: exact distances of 15 and 65 mm.
        let face = Face::by_code("wa_122").expect("published");
        let scores = face_score(&face, 8.0, &[[25.0, 60.0], [25.0, 60.25], [20.7, 27.6], [0.0, 1000.0]]);
        let points: Vec<u32> = scores.iter().map(|score| score.points).collect();
        assert_eq!(points, [10, 9, 10, 0]);
        assert_eq!(scores.iter().filter(|score| score.inner_ten).count(), 1);
    }
}
