//! The flight of an arrow: height, time and speed at a distance.
//!
//! # Formula
//! A point mass with quadratic drag: dv/dt = −k |v| v − g, k = ρ C_d A / (2 m), A = π d²/4, integrated with
//! the distance as the free variable by Runge and Kutta's fourth order, halving the steps until two
//! answers agree.
//! # Units
//! m, s, m/s, degrees; mass in g, diameter in mm, air density in kg/m³. Height from the point of release.
//! # Source
//! Newton's second law; g = 9.80665 m/s² (ISO 80000-3). The rule: Abramowitz and Stegun 25.5.10, with
//! Richardson's extrapolation.
//! # Limits
//! The arrow flies along its axis in still air. Nothing beyond the distance that it reaches.

use crate::ModelError;

/// Standard gravity in m/s².
const G: f64 = 9.806_65;

/// An arrow at release.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Launch {
    /// Speed in m/s.
    pub speed_m_s: f64,
    /// Angle above the horizontal in degrees.
    pub launch_angle_deg: f64,
    /// Mass in g.
    pub mass_g: f64,
    /// Diameter of the shaft in mm.
    pub diameter_mm: f64,
    /// Drag coefficient on the cross-section of the shaft.
    pub cd: f64,
    /// Density of the air in kg/m³.
    pub air_density_kg_m3: f64,
}

/// Where the arrow is at a distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passing {
    /// Time since release in s.
    pub time_s: f64,
    /// Height above the point of release in m.
    pub y_m: f64,
    /// Speed in m/s.
    pub speed_m_s: f64,
}

/// Time, height, and speed along both axes.
pub(super) type State = [f64; 4];

impl Launch {
    /// Returns where the arrow passes a distance in m, or nothing when it does not get there.
    ///
    /// # Errors
    /// `out_of_range` for a launch or distance that cannot be.
    pub fn at(&self, x_m: f64) -> Result<Option<Passing>, ModelError> {
        self.check(x_m)?;
        let angle = self.launch_angle_deg.to_radians();
        let start = [0.0, 0.0, self.speed_m_s * libm::cos(angle), self.speed_m_s * libm::sin(angle)];
        if x_m == 0.0 {
            return Ok(Some(passing(start)));
        }
        let mut steps = 64_u32;
        let mut coarse = self.march(start, x_m, steps);
        while steps < 1 << 17 {
            steps *= 2;
            let fine = self.march(start, x_m, steps);
            if let (Some(a), Some(b)) = (coarse, fine) {
                let near = |i: usize| (a[i] - b[i]).abs() <= 1e-11 * (1.0 + b[i].abs());
                if (0..4).all(near) {
                    let better: State = std::array::from_fn(|i| b[i] + (b[i] - a[i]) / 15.0);
                    return Ok(Some(passing(better)));
                }
            }
            coarse = fine;
        }
        Ok(None)
    }

    fn check(&self, x_m: f64) -> Result<(), ModelError> {
        let rules: [(&str, f64, std::ops::RangeInclusive<f64>); 7] = [
            ("speed_m_s", self.speed_m_s, 1.0..=200.0),
            ("launch_angle_deg", self.launch_angle_deg, -80.0..=80.0),
            ("mass_g", self.mass_g, 1.0..=200.0),
            ("diameter_mm", self.diameter_mm, 1.0..=30.0),
            ("cd", self.cd, 0.0..=20.0),
            ("air_density_kg_m3", self.air_density_kg_m3, 0.0..=2.0),
            ("x_m", x_m, 0.0..=1000.0),
        ];
        match rules.iter().find(|(_, value, range)| !range.contains(value)) {
            None => Ok(()),
            Some((field, value, range)) => {
                let message = format!(
                    "'{field}' is {value}; it has to be from {} to {}. Is it in another unit?",
                    range.start(),
                    range.end()
                );
                Err(ModelError::new("out_of_range", message).at(*field))
            }
        }
    }

    /// Follows the arrow over a distance in so many steps.
    pub(super) fn march(&self, start: State, x_m: f64, steps: u32) -> Option<State> {
        let radius = 0.5e-3 * self.diameter_mm;
        let area = std::f64::consts::PI * radius * radius;
        let drag = self.air_density_kg_m3 * self.cd * area / (2.0e-3 * self.mass_g);
        let h = x_m / f64::from(steps);
        let mut state = start;
        for _ in 0..steps {
            let shifted = |by: f64, rate: State| std::array::from_fn(|i| state[i] + by * rate[i]);
            let a = rates(state, drag);
            let b = rates(shifted(0.5 * h, a), drag);
            let c = rates(shifted(0.5 * h, b), drag);
            let d = rates(shifted(h, c), drag);
            state = std::array::from_fn(|i| state[i] + h / 6.0 * (a[i] + 2.0 * (b[i] + c[i]) + d[i]));
            if !(state[2] > 0.0 && state.iter().all(|v| v.is_finite())) {
                return None;
            }
        }
        Some(state)
    }
}

/// Returns the rates per metre of distance.
fn rates([_, _, vx, vy]: State, drag: f64) -> State {
    let v = (vx * vx + vy * vy).sqrt();
    [1.0 / vx, vy / vx, -drag * v, (-drag * v * vy - G) / vx]
}

fn passing([time_s, y_m, vx, vy]: State) -> Passing {
    Passing { time_s, y_m, speed_m_s: libm::hypot(vx, vy) }
}

#[cfg(test)]
mod tests {
    use super::*;

    const ARROW: Launch = Launch {
        speed_m_s: 58.0,
        launch_angle_deg: 5.0,
        mass_g: 20.0,
        diameter_mm: 5.5,
        cd: 2.0,
        air_density_kg_m3: 1.225,
    };

    #[test]
    fn without_air_it_is_a_parabola() {
        let vacuum = Launch { air_density_kg_m3: 0.0, ..ARROW };
        let got = vacuum.at(70.0).expect("a launch").expect("it gets there");
        let t = 70.0 / (58.0 * libm::cos(5.0_f64.to_radians()));
        assert!((got.y_m - (58.0 * libm::sin(5.0_f64.to_radians()) * t - 0.5 * G * t * t)).abs() < 1e-9);
    }

    #[test]
    fn a_distance_out_of_reach_is_nothing_and_a_wrong_launch_an_error() {
        let light = Launch { mass_g: 1.0, cd: 20.0, diameter_mm: 30.0, ..ARROW };
        assert_eq!(light.at(900.0), Ok(None));
        let e = Launch { mass_g: 0.0, ..ARROW }.at(10.0).expect_err("no mass");
        assert_eq!(e.field.as_deref(), Some("mass_g"));
        assert_eq!(ARROW.at(f64::NAN).expect_err("nowhere").field.as_deref(), Some("x_m"));
    }
}
