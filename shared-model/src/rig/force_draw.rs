//! The draw curve: weight, its slope and the energy stored, from weights measured at some draw lengths.
//!
//! # Formula
//! A monotone cubic through the points: slopes inside are the weighted harmonic mean of the neighbouring
//! chords (0 where they change sign), at the ends a three-point formula that keeps the shape. Energy is
//! the integral of the cubics from the first draw to the last: h (w₀ + w₁)/2 + h² (m₀ − m₁)/12 each. Efficiency is the
//! kinetic energy of the arrow over the energy stored.
//! # Units
//! in and lbf; slope in lbf/in; energy in ft·lbf and J (exact conversion).
//! # Source
//! Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238; Fritsch and Butland, SIAM J. Sci. Stat. Comput.
//! 5 (1984) 300.
//! # Limits
//! Two points or more, draws rising. Nothing is said beyond the last draw: never draw past the maker's limit.

use super::{
    arrow::{FOOT_POUND_J, kinetic_energy_j},
    monotone::Monotone,
};
use crate::ModelError;

/// A measured draw curve.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawCurve(Monotone);

impl DrawCurve {
    /// Makes a curve of draws in inches, rising, with their weights in lbf.
    ///
    /// # Errors
    /// `length_mismatch`, `too_few` or `out_of_range`, with the place.
    pub fn new(draw_in: &[f64], weight_lbf: &[f64]) -> Result<Self, ModelError> {
        if draw_in.len() != weight_lbf.len() {
            let message = format!(
                "'draw_in' has {} values and 'weight_lbf' {}; give one weight for every draw",
                draw_in.len(),
                weight_lbf.len()
            );
            return Err(ModelError::new("length_mismatch", message).at("weight_lbf"));
        }
        if draw_in.len() < 2 {
            let message = "a draw curve needs two points or more";
            return Err(ModelError::new("too_few", message).at("draw_in"));
        }
        for (name, values) in [("draw_in", draw_in), ("weight_lbf", weight_lbf)] {
            if let Some(i) = values.iter().position(|value| !value.is_finite()) {
                let message = format!("{} is not a finite number; read the scale again", values[i]);
                return Err(ModelError::new("out_of_range", message).at(format!("{name}[{i}]")));
            }
        }
        if let Some(i) = draw_in.windows(2).position(|pair| pair[1] <= pair[0]) {
            let message = format!(
                "draw {} in does not rise above {} in; sort the draws, each once",
                draw_in[i + 1],
                draw_in[i]
            );
            return Err(ModelError::new("out_of_range", message).at(format!("draw_in[{}]", i + 1)));
        }
        if let Some(i) = weight_lbf.iter().position(|w| *w < 0.0) {
            let message = format!("a weight of {} lbf is below 0; check the number", weight_lbf[i]);
            return Err(ModelError::new("out_of_range", message).at(format!("weight_lbf[{i}]")));
        }
        let curve = Monotone::new(draw_in, weight_lbf);
        curve.map(Self).ok_or_else(|| {
            ModelError::new("out_of_range", "the draws have to be numbers that rise").at("draw_in")
        })
    }

    /// Returns the first and the last draw in inches.
    pub fn span_in(&self) -> [f64; 2] {
        self.0.span()
    }

    /// Returns weight in lbf and slope in lbf/in at a draw, or nothing outside what was measured.
    pub fn at(&self, draw_in: f64) -> Option<[f64; 2]> {
        self.0.at(draw_in)
    }

    /// Returns the energy stored from the first draw to the last in ft·lbf.
    pub fn stored_energy_ftlbf(&self) -> f64 {
        self.0.integral() / 12.0
    }

    /// Returns the same in J.
    pub fn stored_energy_j(&self) -> f64 {
        self.stored_energy_ftlbf() * FOOT_POUND_J
    }

    /// Returns the energy stored from the first draw to another in ft·lbf, or nothing outside what was measured.
    pub fn stored_to_ftlbf(&self, draw_in: f64) -> Option<f64> {
        Some(self.0.integral_to(draw_in)? / 12.0)
    }

    /// Returns the share of the energy stored up to a draw that an arrow takes along: the rest stays in limbs, string and
    /// noise. Nothing outside what was measured and where nothing is stored.
    pub fn efficiency(&self, draw_in: f64, mass_gr: f64, speed_fps: f64) -> Option<f64> {
        let stored = self.stored_to_ftlbf(draw_in)? * FOOT_POUND_J;
        let share = kinetic_energy_j(mass_gr, speed_fps) / stored;
        (stored > 0.0 && share.is_finite()).then_some(share)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_curve_is_a_straight_line() {
        let curve = DrawCurve::new(&[8.0, 18.0, 28.0], &[0.0, 20.0, 40.0]).expect("a curve");
        assert_eq!(curve.at(13.0), Some([10.0, 2.0]));
        assert!((curve.stored_energy_ftlbf() - 400.0 / 12.0).abs() < 1e-12);
        assert_eq!((curve.at(7.9), curve.at(28.1), curve.at(f64::NAN)), (None, None, None));
    }

    #[test]
    fn the_energy_up_to_a_draw_of_a_straight_curve_is_a_triangle() {
        let curve = DrawCurve::new(&[8.0, 14.0, 18.0, 28.0], &[0.0, 12.0, 20.0, 40.0]).expect("a curve");
        for draw in [8.0, 10.5, 14.0, 17.0, 27.9, 28.0] {
            let triangle = 0.5 * 2.0 * (draw - 8.0) * (draw - 8.0) / 12.0;
            let stored = curve.stored_to_ftlbf(draw).expect("within");
            assert!((stored - triangle).abs() < 1e-12, "{draw}: {stored}");
        }
        assert_eq!((curve.stored_to_ftlbf(7.0), curve.stored_to_ftlbf(28.1)), (None, None));
        // 400 gr at 180 ft/s: 400 * 180^2 / 450240 = 28.785 ft-lbf (the trade's rounded constant) of 400/12 stored.
        let share = curve.efficiency(28.0, 400.0, 180.0).expect("a share");
        assert!((share - 28.785 / (400.0 / 12.0)).abs() < 1e-3, "{share}");
        assert_eq!(curve.efficiency(8.0, 400.0, 180.0), None, "nothing is stored there");
    }

    #[test]
    fn wrong_curves_are_refused_with_their_place() {
        for (draw, weight, field) in [
            (vec![8.0, 18.0], vec![0.0], "weight_lbf"),
            (vec![8.0], vec![0.0], "draw_in"),
            (vec![8.0, 8.0], vec![0.0, 1.0], "draw_in[1]"),
            (vec![8.0, 9.0], vec![0.0, -1.0], "weight_lbf[1]"),
            (vec![8.0, 9.0], vec![f64::NAN, 1.0], "weight_lbf[0]"),
            (vec![8.0, 9.0], vec![0.0, f64::INFINITY], "weight_lbf[1]"),
            (vec![8.0, f64::INFINITY], vec![0.0, 1.0], "draw_in[1]"),
            (vec![f64::NAN, 9.0], vec![0.0, 1.0], "draw_in[0]"),
        ] {
            assert_eq!(DrawCurve::new(&draw, &weight).expect_err("wrong").field.as_deref(), Some(field));
        }
    }
}
