//! The launch angle that brings an arrow to a target at eye level.
//!
//! # Formula
//! The least tan θ whose flight passes the distance at the height of the eye above the arrow; found between the
//! straight line, which always falls short, and the first tangent that is high enough, by false position.
//! # Units
//! m, tangents without a unit.
//! # Source
//! As [`super::trajectory`]; the rule: Dahlquist and Björck, Numerical Methods (1974), section 6.4 (Illinois).
//! # Limits
//! Level ground, still air, distances up to 1000 m; nothing where the arrow does not get there below 60 degrees.

use super::trajectory::Launch;

/// Steps of Runge and Kutta's rule, each at most some metres long: the error is far below a micrometre.
const STEPS: u32 = 16;
/// The steepest tangent that is tried: 60 degrees.
const STEEPEST: f64 = 1.732;

impl Launch {
    /// Returns the tangent of the least launch angle at which the arrow passes a distance so high above its release;
    /// nothing where it does not get there. The launch's own angle plays no part.
    pub fn tangent_to(&self, x_m: f64, rise_m: f64) -> Option<f64> {
        let over = |tangent: f64| self.height(x_m, tangent).map(|y| y - rise_m);
        let mut low = rise_m / x_m;
        let mut at_low = over(low).unwrap_or(-x_m);
        let drop = -at_low / x_m;
        if !(drop.is_finite() && drop >= 0.0) {
            return None;
        }
        // The drop of the straight line is nearly what has to be added.
        let mut high = low + 1.02 * drop + 1e-12;
        let mut at_high = over(high).unwrap_or(-x_m);
        while at_high < 0.0 {
            if high >= STEEPEST || at_high < at_low {
                return None;
            }
            (low, at_low) = (high, at_high);
            high = (high + 0.1 * drop + 0.002).min(STEEPEST);
            at_high = over(high).unwrap_or(-x_m);
        }
        Some(false_position([low, high], [at_low, at_high], |t| over(t).unwrap_or(-x_m)))
    }

    fn height(&self, x_m: f64, tangent: f64) -> Option<f64> {
        let vx = self.speed_m_s / libm::sqrt(1.0 + tangent * tangent);
        let [_, y, ..] = self.march([0.0, 0.0, vx, vx * tangent], x_m, STEPS)?;
        Some(y)
    }
}

/// Returns the zero of a rising function between two places where it is below and above.
fn false_position(
    [mut low, mut high]: [f64; 2],
    [mut at_low, mut at_high]: [f64; 2],
    f: impl Fn(f64) -> f64,
) -> f64 {
    let mut last = 0;
    for _ in 0..60 {
        if at_high <= 1e-12 || high - low <= 1e-14 {
            break;
        }
        let middle = (low * at_high - high * at_low) / (at_high - at_low);
        let value = f(middle);
        if value.abs() < 1e-11 {
            return middle;
        }
        if value < 0.0 {
            (low, at_low) = (middle, value);
            at_high *= if last == -1 { 0.5 } else { 1.0 };
            last = -1;
        } else {
            (high, at_high) = (middle, value);
            at_low *= if last == 1 { 0.5 } else { 1.0 };
            last = 1;
        }
    }
    high
}

#[cfg(test)]
mod tests {
    use super::*;

    const ARROW: Launch = Launch {
        speed_m_s: 58.0,
        launch_angle_deg: 0.0,
        mass_g: 20.0,
        diameter_mm: 5.5,
        cd: 2.0,
        air_density_kg_m3: 1.225,
    };

    #[test]
    fn the_arrow_passes_where_it_is_sent() {
        for (x, rise) in [(5.0, 0.1), (18.0, 0.1), (30.0, 0.0), (70.0, 0.12), (90.0, -0.05), (150.0, 0.1)] {
            let tangent = ARROW.tangent_to(x, rise).expect("it gets there");
            let launch = Launch { launch_angle_deg: libm::atan(tangent).to_degrees(), ..ARROW };
            let there = launch.at(x).expect("a launch").expect("it gets there");
            assert!((there.y_m - rise).abs() < 1e-7, "{x} m: {} for {rise}", there.y_m);
        }
    }

    #[test]
    fn without_air_it_is_the_textbook_angle() {
        // tan θ = (v² − √(v⁴ − g (g x² + 2 y v²))) / (g x), the lower of the two angles.
        let (v, x, y, g) = (58.0_f64, 70.0, 0.1, 9.806_65);
        let vacuum = Launch { air_density_kg_m3: 0.0, ..ARROW };
        let want = (v * v - (v * v * v * v - g * (g * x * x + 2.0 * y * v * v)).sqrt()) / (g * x);
        assert!((vacuum.tangent_to(x, y).expect("it gets there") - want).abs() < 1e-10);
        // The farthest it goes on the level is v²/g = 343 m, at 45 degrees.
        assert!(vacuum.tangent_to(342.0, 0.0).is_some());
        assert_eq!(vacuum.tangent_to(344.0, 0.0), None);
        assert_eq!(Launch { speed_m_s: 20.0, ..ARROW }.tangent_to(90.0, 0.1), None);
    }
}
