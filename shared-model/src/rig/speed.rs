//! What of a bow alters how fast an arrow leaves it.
//!
//! # Source
//! Common practice, no source.

/// The settings that alter the speed of an arrow.
const ALTERS_SPEED: &[&str] = &[
    "riser",
    "limbs",
    "limb_bolt_top_turns",
    "limb_bolt_bottom_turns",
    "draw_weight_lbf",
    "string",
    "string_twists",
    "brace_height_mm",
    "clicker_mm",
    "arrows",
];

/// Returns whether a setting alters how fast an arrow leaves.
pub fn alters_speed(setting: &str) -> bool {
    ALTERS_SPEED.contains(&setting)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::setting;

    #[test]
    fn every_one_of_them_is_a_setting() {
        assert!(ALTERS_SPEED.iter().all(|known| setting(known).is_some()));
        assert!(!alters_speed("plunger_turns"));
    }
}
