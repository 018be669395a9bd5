//! Stacking: whether a bow gains weight faster at the end of the draw than in the middle of it.
//!
//! # Formula
//! last = w(d) − w(d − 1); middle = (w(b) − w(a)) / (b − a) with a and b one third and two thirds of the way from the first
//! draw to d; ratio = last / middle.
//! # Units
//! Draws in in, w in lbf, rates in lbf/in.
//! # Source
//! Common practice, no source: that the last inch is looked at, that it is set against the middle, and from which ratio on
//! a bow is said to stack.
//! # Limits
//! From the first draw to d at least 6 in. No more than the measured points can say: where they lie far apart near full
//! draw, a rise in the last inch is spread over all of the gap.

use super::force_draw::DrawCurve;

/// The least way from the first draw that can be told in thirds, in.
const LEAST_IN: f64 = 6.0;
/// From which ratio on the gain is said to quicken, and from which on the bow is said to stack.
const QUICKENS: f64 = 1.3;
const STACKS: f64 = 1.7;

/// How the gain of weight at the end of the draw compares with that in the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stacking {
    /// The gain over the last inch, lbf/in.
    pub last_lbf_per_in: f64,
    /// The gain over the middle third, lbf/in.
    pub middle_lbf_per_in: f64,
    /// The first over the second; none where the middle gains nothing.
    pub ratio: Option<f64>,
}

/// What the ratio is called.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gain {
    /// As in the middle, or slower.
    Even,
    /// Somewhat faster.
    Quickens,
    /// Much faster.
    Stacks,
}

impl Stacking {
    /// Returns what the ratio is called.
    pub fn gain(&self) -> Option<Gain> {
        self.ratio.map(|ratio| match ratio {
            r if r >= STACKS => Gain::Stacks,
            r if r >= QUICKENS => Gain::Quickens,
            _ => Gain::Even,
        })
    }
}

/// Compares the last inch up to a draw with the middle; nothing where too little was measured for that.
pub fn stacking(curve: &DrawCurve, full_in: f64) -> Option<Stacking> {
    let [first, _] = curve.span_in();
    let way = full_in - first;
    let weight = |draw: f64| curve.at(draw).map(|[lbf, _]| lbf);
    if way.is_nan() || way < LEAST_IN {
        return None;
    }
    let [a, b] = [first + way / 3.0, first + 2.0 * way / 3.0];
    let last = weight(full_in)? - weight(full_in - 1.0)?;
    let middle = (weight(b)? - weight(a)?) / (b - a);
    let ratio = (middle > 1e-9).then(|| last / middle);
    Some(Stacking { last_lbf_per_in: last, middle_lbf_per_in: middle, ratio })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_straight_curve_gains_evenly_and_one_that_bends_up_stacks() {
        let straight = DrawCurve::new(&[8.0, 18.0, 28.0], &[0.0, 20.0, 40.0]).expect("a curve");
        let found = stacking(&straight, 28.0).expect("long enough");
        assert!((found.last_lbf_per_in - 2.0).abs() < 1e-12 && (found.middle_lbf_per_in - 2.0).abs() < 1e-12);
        assert_eq!(found.gain(), Some(Gain::Even));
        let draws: Vec<f64> = (9..=28).map(f64::from).collect();
        // 1.5 lbf an inch up to 27 in, 3 lbf over the last: twice as much.
        let weights: Vec<f64> = draws.iter().map(|d| 1.5 * (d - 9.0) + 1.5 * (d - 27.0).max(0.0)).collect();
        let bent = DrawCurve::new(&draws, &weights).expect("a curve");
        let found = stacking(&bent, 28.0).expect("long enough");
        assert!((found.ratio.unwrap_or(0.0) - 2.0).abs() < 1e-9, "{found:?}");
        assert_eq!(found.gain(), Some(Gain::Stacks));
        assert_eq!(stacking(&bent, 27.0).and_then(|s| s.gain()), Some(Gain::Even));
    }

    #[test]
    fn too_little_says_nothing() {
        let short = DrawCurve::new(&[24.0, 28.0], &[30.0, 38.0]).expect("a curve");
        assert_eq!(stacking(&short, 28.0), None);
        assert_eq!(stacking(&short, f64::NAN), None);
        let flat = DrawCurve::new(&[10.0, 28.0], &[30.0, 30.0]).expect("a curve");
        assert_eq!(stacking(&flat, 28.0).and_then(|s| s.gain()), None);
    }
}
