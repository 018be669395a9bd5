//! The curve of the marks for given parameters.
//!
//! # Formula
//! τ(d) = tan of the launch angle, by [`crate::rig::launch_angle`]. Of crawls, τ at an eye c nearer is taken on the
//! chord between the eye's full height and none: c = (a + b τ(d, h)) / (1 + b τ'), τ' the chord's slope by mm.
//! # Units
//! As [`super`]; gaps over their distance in mrad.
//! # Source
//! As [`super`].
//! # Limits
//! The chord leaves the true angle by less than a hundredth of a mm of crawl.

use super::{Flight, MarkedOn};
use crate::rig::trajectory::Launch;

/// The launch angle of a distance at one speed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Angle {
    /// Its tangent with the eye at its full height.
    tangent: f64,
    /// What the tangent grows by for each mm of the eye.
    by_eye: f64,
}

/// Zero a, slope b and logarithm of the speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Parameters {
    pub a: f64,
    pub b: f64,
    pub log_speed: f64,
}

impl Angle {
    /// Returns the angle of a distance; nothing where the arrow does not get there.
    pub fn new(what: MarkedOn, flight: &Flight, distance_m: f64, log_speed: f64) -> Option<Self> {
        let launch = Launch {
            speed_m_s: libm::exp(log_speed),
            launch_angle_deg: 0.0,
            mass_g: flight.mass_g,
            diameter_mm: flight.diameter_mm,
            cd: flight.cd,
            air_density_kg_m3: flight.air_density_kg_m3,
        };
        let tangent = launch.tangent_to(distance_m, flight.eye_mm / 1000.0)?;
        let by_eye = match what {
            MarkedOn::Crawl if flight.eye_mm > 0.0 => {
                (tangent - launch.tangent_to(distance_m, 0.0)?) / flight.eye_mm
            }
            MarkedOn::Crawl => 1e-3 / distance_m,
            MarkedOn::Sight | MarkedOn::Gap => 0.0,
        };
        Some(Self { tangent, by_eye })
    }

    /// Returns what is read at this angle: on the scale, in mm of crawl, in mrad of gap.
    pub fn value(self, what: MarkedOn, p: Parameters) -> f64 {
        match what {
            MarkedOn::Sight => p.a + p.b * self.tangent,
            MarkedOn::Crawl => (p.a + p.b * self.tangent) / (1.0 + p.b * self.by_eye),
            MarkedOn::Gap => 1000.0 * libm::tan(libm::atan(self.tangent) - libm::atan(p.a)),
        }
    }

    /// Returns how that grows with a and with b.
    pub fn gradient(self, what: MarkedOn, p: Parameters) -> [f64; 2] {
        match what {
            MarkedOn::Sight => [1.0, self.tangent],
            MarkedOn::Crawl => {
                let below = 1.0 + p.b * self.by_eye;
                [1.0 / below, (self.tangent - p.a * self.by_eye) / (below * below)]
            }
            MarkedOn::Gap => {
                let over = 1e-3 * self.value(what, p);
                [-1000.0 * (1.0 + over * over) / (1.0 + p.a * p.a), 0.0]
            }
        }
    }

    /// Returns the tangent.
    pub fn tangent(self) -> f64 {
        self.tangent
    }
}

/// Returns a reading as it is fitted: gaps over their distance, in mrad.
pub(super) fn scaled(what: MarkedOn, distance_m: f64, reading: f64) -> f64 {
    if what == MarkedOn::Gap { reading / distance_m } else { reading }
}

/// Returns what [`scaled`] was made of.
pub(super) fn unscaled(what: MarkedOn, distance_m: f64, value: f64) -> f64 {
    if what == MarkedOn::Gap { value * distance_m } else { value }
}
