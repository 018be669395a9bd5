//! An arrow in figures: balance, energy, momentum, mass for the bow's weight.
//!
//! # Formula
//! FOC % = 100 (balance − L/2) / L, both from the nock groove; E = m v² / 2; momentum m v; grains per pound
//! = mass in grains / draw weight in lbf.
//! # Units
//! in, grains, ft/s, lbf; energy in ft·lbf and J, momentum in kg m/s.
//! # Source
//! FOC: from memory (AMO definition); common practice, no source. Conversions: NIST SP 811; international
//! yard and pound agreement (1959): 1 gr = 64.79891 mg, 1 ft = 0.3048 m, 1 lbf = 4.4482216152605 N.
//! # Limits
//! Values above 0; balance point on the shaft. What an arrow may weigh at least for a bow is its maker's word.

/// A grain in kg.
pub(super) const GRAIN_KG: f64 = 64.798_91e-6;
/// A foot in m.
pub(super) const FOOT_M: f64 = 0.304_8;
/// A foot pound-force in J.
pub(super) const FOOT_POUND_J: f64 = 4.448_221_615_260_5 * FOOT_M;

/// Returns how far the balance point lies in front of the middle, percent of the length.
pub fn foc_percent(length_in: f64, balance_from_nock_in: f64) -> f64 {
    100.0 * (balance_from_nock_in - 0.5 * length_in) / length_in
}

/// Returns the kinetic energy in J.
pub fn kinetic_energy_j(mass_gr: f64, speed_fps: f64) -> f64 {
    let speed = speed_fps * FOOT_M;
    0.5 * mass_gr * GRAIN_KG * speed * speed
}

/// Returns an energy in ft·lbf.
pub fn ftlbf(joules: f64) -> f64 {
    joules / FOOT_POUND_J
}

/// Returns the momentum in kg m/s.
pub fn momentum_kg_m_s(mass_gr: f64, speed_fps: f64) -> f64 {
    mass_gr * GRAIN_KG * speed_fps * FOOT_M
}

/// Returns the grains of arrow on each pound of draw weight.
pub fn grains_per_pound(mass_gr: f64, draw_weight_lbf: f64) -> f64 {
    mass_gr / draw_weight_lbf
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_arrow_that_balances_in_the_middle_has_no_foc() {
        assert_eq!(foc_percent(30.0, 15.0), 0.0);
        assert!(foc_percent(30.0, 14.0) < 0.0);
    }
}
