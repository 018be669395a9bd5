//! Where people get hurt or bows break, in the words that stand beside the figure which calls for them.
//!
//! # Source
//! Common practice, no source. The limits of the makers, the rules of the club and a qualified coach come first.

/// Beside the turns of a limb bolt.
pub const LIMB_BOLTS: &str = "Never turn a limb bolt out beyond the maker's range: a limb can come off at full draw. \
                              Where the range is not known, leave the bolt and ask.";
/// Beside a draw weight.
pub const WEIGHT: &str =
    "Do not draw a weight that you cannot control; when unsure, stop and ask a qualified coach.";
/// Beside the mass of an arrow on its bow.
pub const LIGHT_ARROWS: &str = "An arrow lighter than the makers of riser and limbs allow can break the bow; their \
                                least mass comes before any figure here.";
/// Beside a string.
pub const DRY_FIRE: &str = "Never let go of the string without an arrow on it. After a shot without an arrow look over \
                            limbs, riser and string before the bow is drawn again, and show it to a qualified coach.";
/// Beside what braces the bow.
pub const BRACE: &str = "Keep to the maker's brace height, and see that limbs and string are seated and whole before \
                         the bow is drawn.";
/// Beside a string's wear.
pub const STRING: &str =
    "A string with a broken strand, or with serving that slides, comes off before the next shot.";
/// Beside an arrow set.
pub const CARBON: &str = "Flex and look over every carbon shaft before shooting, and after any knock: one that cracks, \
                          creaks or splinters can break into the hand and goes out of use at once.";
/// Beside limbs.
pub const LIMBS: &str = "Do not draw limbs that are twisted, cracked or coming apart, or that are not fully seated: \
                         take the string off and show them to their maker or a qualified coach.";
/// Beside marks that no longer hold, and beside those of distances at which none was found.
pub const BACKSTOP: &str = "With a mark that does not hold the arrow can miss the butt: shoot only where a safe backstop \
                            stands behind it and nobody can be, and where that is not so, not at all. The rules of the \
                            range and whoever is in charge of it come first.";
/// Beside what goes beyond a maker's limit.
pub const BEYOND: &str = "This goes beyond what a maker allows: do not draw it. Parts that are overloaded can break at \
                          full draw; ask their maker or a qualified coach.";
/// Beside everything.
pub const FIRST: &str = "The limits of the makers, the rules of your club and a qualified coach come before anything \
                         said here.";

/// Returns what to take care of where a setting is looked at or touched.
pub fn of_setting(setting: &str) -> &'static [&'static str] {
    match setting {
        "limb_bolt_top_turns" | "limb_bolt_bottom_turns" | "draw_weight_lbf" => &[LIMB_BOLTS, WEIGHT],
        "limbs" => &[LIMBS, BRACE, DRY_FIRE],
        "string" | "string_twists" | "brace_height_mm" => &[BRACE, DRY_FIRE],
        "arrows" => &[LIGHT_ARROWS, CARBON],
        _ => &[],
    }
}

/// Returns what to take care of where several settings are altered at once, each caution once.
pub fn of_settings<S: AsRef<str>>(settings: impl IntoIterator<Item = S>) -> Vec<&'static str> {
    once(settings.into_iter().flat_map(|setting| of_setting(setting.as_ref())).copied())
}

/// Returns cautions in their order, each once.
pub fn once(cautions: impl IntoIterator<Item = &'static str>) -> Vec<&'static str> {
    let mut all = Vec::new();
    for caution in cautions {
        if !all.contains(&caution) {
            all.push(caution);
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::setting;

    #[test]
    fn a_caution_belongs_to_a_setting_that_there_is() {
        for known in
            ["limb_bolt_top_turns", "limb_bolt_bottom_turns", "draw_weight_lbf", "limbs", "string", "arrows"]
        {
            assert!(setting(known).is_some() && !of_setting(known).is_empty(), "{known}");
        }
        assert!(of_setting("sight").is_empty());
        assert_eq!(of_settings(["limb_bolt_top_turns", "sight", "draw_weight_lbf"]), [LIMB_BOLTS, WEIGHT]);
    }
}
