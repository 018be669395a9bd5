//! A curve through measured points that goes up and down only where the points do.
//!
//! # Formula
//! A cubic by piece: slopes inside are the weighted harmonic mean of the neighbouring chords (0 where they change
//! sign), at the ends a three-point formula that keeps the shape.
//! # Units
//! Those of the points.
//! # Source
//! Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238; Fritsch and Butland, SIAM J. Sci. Stat. Comput.
//! 5 (1984) 300.
//! # Limits
//! Two points or more, rising in x; nothing outside of them.

/// A curve through points.
#[derive(Debug, Clone, PartialEq)]
pub struct Monotone {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Monotone {
    /// Makes the curve through points whose x rise; nothing where there are fewer than two, where they do not
    /// rise, and where one of them is not finite.
    pub fn new(x: &[f64], y: &[f64]) -> Option<Self> {
        let finite = x.iter().chain(y).all(|value| value.is_finite());
        let rises = x.windows(2).all(|pair| pair[1] > pair[0]);
        (x.len() >= 2 && x.len() == y.len() && finite && rises).then(|| Self {
            x: x.to_vec(),
            y: y.to_vec(),
            slope: slopes(x, y),
        })
    }

    /// Returns the first and the last x.
    pub fn span(&self) -> [f64; 2] {
        [self.x[0], self.x[self.x.len() - 1]]
    }

    /// Returns value and slope at a place, or nothing outside of the points.
    pub fn at(&self, x: f64) -> Option<[f64; 2]> {
        let [first, last] = self.span();
        if !(first..=last).contains(&x) {
            return None;
        }
        let i = self.x.partition_point(|d| *d <= x).clamp(1, self.x.len() - 1) - 1;
        let h = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / h;
        let (y0, y1, m0, m1) = (self.y[i], self.y[i + 1], self.slope[i] * h, self.slope[i + 1] * h);
        let u = 1.0 - t;
        let value =
            y0 * (1.0 + 2.0 * t) * u * u + m0 * t * u * u + y1 * t * t * (3.0 - 2.0 * t) - m1 * t * t * u;
        let slope = 6.0 * t * u * (y1 - y0) + m0 * u * (1.0 - 3.0 * t) + m1 * t * (3.0 * t - 2.0);
        Some([value, slope / h])
    }

    /// Returns the integral from the first x to the last: h (y₀ + y₁)/2 + h² (m₀ − m₁)/12 a piece.
    pub fn integral(&self) -> f64 {
        let piece = |i: usize| {
            let h = self.x[i + 1] - self.x[i];
            0.5 * h * (self.y[i] + self.y[i + 1]) + h * h * (self.slope[i] - self.slope[i + 1]) / 12.0
        };
        (0..self.x.len() - 1).map(piece).sum()
    }

    /// Returns the integral from the first x to another, or nothing outside of the points.
    pub fn integral_to(&self, x: f64) -> Option<f64> {
        let [first, last] = self.span();
        if !(first..=last).contains(&x) {
            return None;
        }
        let piece = |i: usize| {
            let h = self.x[i + 1] - self.x[i];
            let t = ((x - self.x[i]) / h).clamp(0.0, 1.0);
            let (y0, y1, m0, m1) = (self.y[i], self.y[i + 1], self.slope[i] * h, self.slope[i + 1] * h);
            let (t2, t3, t4) = (t * t, t * t * t, t * t * t * t);
            h * (y0 * (t - t3 + 0.5 * t4)
                + m0 * (0.5 * t2 - 2.0 * t3 / 3.0 + 0.25 * t4)
                + y1 * (t3 - 0.5 * t4)
                + m1 * (0.25 * t4 - t3 / 3.0))
        };
        let begun = self.x[..self.x.len() - 1].iter().take_while(|from| **from < x).count();
        Some((0..begun).map(piece).sum())
    }
}

fn slopes(x: &[f64], y: &[f64]) -> Vec<f64> {
    let h: Vec<f64> = x.windows(2).map(|p| p[1] - p[0]).collect();
    let chord: Vec<f64> = y.windows(2).zip(&h).map(|(p, h)| (p[1] - p[0]) / h).collect();
    let last = chord.len() - 1;
    if last == 0 {
        return vec![chord[0]; 2];
    }
    let inside = |i: usize| {
        let (before, after) = (chord[i - 1], chord[i]);
        if before * after <= 0.0 {
            return 0.0;
        }
        let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
        (w1 + w2) / (w1 / before + w2 / after)
    };
    let mut slopes = vec![end(h[0], h[1], chord[0], chord[1])];
    slopes.extend((1..=last).map(inside));
    slopes.push(end(h[last], h[last - 1], chord[last], chord[last - 1]));
    slopes
}

/// Returns the slope at an end from the two chords next to it.
fn end(h0: f64, h1: f64, near: f64, far: f64) -> f64 {
    let slope = ((2.0 * h0 + h1) * near - h0 * far) / (h0 + h1);
    if slope * near <= 0.0 {
        0.0
    } else if near * far < 0.0 && slope.abs() > 3.0 * near.abs() {
        3.0 * near
    } else {
        slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_that_do_not_rise_make_no_curve() {
        assert_eq!(Monotone::new(&[1.0, 1.0], &[0.0, 1.0]), None);
        assert_eq!(Monotone::new(&[1.0], &[0.0]), None);
        assert_eq!(Monotone::new(&[1.0, 2.0], &[0.0]), None);
        assert_eq!(Monotone::new(&[f64::NAN, 2.0], &[0.0, 1.0]), None);
        for odd in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            assert_eq!(Monotone::new(&[1.0, 2.0], &[0.0, odd]), None);
        }
        assert_eq!(Monotone::new(&[1.0, f64::INFINITY], &[0.0, 1.0]), None);
    }

    #[test]
    fn between_two_points_it_does_not_leave_them() {
        let curve = Monotone::new(&[18.0, 30.0, 31.0, 70.0], &[2.0, 3.0, 3.0, 9.0]).expect("a curve");
        for i in 0..=520 {
            let x = 18.0 + 0.1 * f64::from(i);
            let [y, _] = curve.at(x.min(70.0)).expect("inside");
            let (low, high) = if x < 30.0 {
                (2.0, 3.0)
            } else if x < 31.0 {
                (3.0, 3.0)
            } else {
                (3.0, 9.0)
            };
            assert!(y >= low - 1e-9 && y <= high + 1e-9, "{x}: {y}");
        }
    }
}
