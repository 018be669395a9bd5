//! Static spine: by how much a shaft bends, and what that is in the pounds of older tables.
//!
//! # Formula
//! Spine number = 1000 × the deflection in inches under a load of 1.94 lb (880 g) at the middle of two supports 28 in
//! apart. By the older test the load is 2 lb on 26 in and the spine in pounds = 26 / deflection in inches. A straight
//! shaft that is bent a little deflects by P L³ / (48 E I), so the older deflection is the newer one times
//! (2 / 1.94) × (26 / 28)³ = 0.825.
//! # Units
//! Thousandths of an inch; pounds of the older scale, which are no weight of any bow.
//! # Source
//! The newer test: ASTM F2031. The older one and its pounds: from memory (AMO). The beam: Timoshenko, Strength of
//! Materials, part I, the simply supported beam with a load at its middle.
//! # Limits
//! Spine 100 to 2000. The figure says how a shaft bends on two supports, not whether it suits a bow.

/// Load and span of ASTM F2031, lb and in.
const NEWER: [f64; 2] = [1.94, 28.0];
/// Load and span of the older test, lb and in.
const OLDER: [f64; 2] = [2.0, 26.0];

/// Returns the deflection in inches by the older test.
pub fn older_deflection_in(spine: f64) -> f64 {
    let stretch = OLDER[1] / NEWER[1];
    1e-3 * spine * (OLDER[0] / NEWER[0]) * stretch * stretch * stretch
}

/// Returns the spine in pounds of the older scale; nothing for a shaft that does not bend.
pub fn older_pounds(spine: f64) -> Option<f64> {
    Some(OLDER[1] / older_deflection_in(spine)).filter(|pounds| pounds.is_finite() && *pounds > 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_older_test_by_hand() {
        // 0.5 in × 2/1.94 × (26/28)³ = 0.5 × 1.030928 × 0.800656 = 0.412709 in; 26 / 0.412709 = 62.9985.
        assert!((older_deflection_in(500.0) - 0.412_709).abs() < 1e-6);
        assert!((older_pounds(500.0).expect("it bends") - 62.998).abs() < 1e-3);
        assert!(older_pounds(400.0) > older_pounds(500.0), "a stiffer shaft has more pounds");
        for odd in [0.0, -500.0, f64::NAN, f64::INFINITY] {
            assert_eq!(older_pounds(odd), None);
        }
    }
}
