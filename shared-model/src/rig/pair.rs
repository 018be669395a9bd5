//! How a pair of limbs sits on a riser: what the fit means, which settings make the pair true, what to take care of.
//!
//! # Source
//! Common practice, no source. The makers of riser and limbs, the rules of the club and a qualified coach come first.

/// The settings of a pair, in the order in which they are set.
pub const SETTINGS: [&str; 5] = [
    "limb_bolt_top_turns",
    "limb_bolt_bottom_turns",
    "limb_lateral_top_mm",
    "limb_lateral_bottom_mm",
    "tiller_mm",
];

/// Beside a pair that is loose.
pub const LOOSE: &str = "A pair that sits loose in the pockets moves at every shot, and a limb can come out: do not shoot it \
                         before its maker or a qualified coach has seen it.";
/// Beside a pair that is tight.
pub const TIGHT: &str = "Never force, hammer or file limbs into a pocket. A limb that is not fully seated can jump out when \
                         the bow is strung or drawn: leave the bow unstrung until its maker or a qualified coach has seen it.";

/// Returns what a fit means in plain words; nothing for what is no fit.
pub fn fit_words(fit: &str) -> Option<&'static str> {
    Some(match fit {
        "tight" => "tight: the limbs go into the pockets only with force, and may not seat fully",
        "true" => "true: the limbs seat fully, without play and without force",
        "loose" => "loose: the limbs have play in the pockets and move at every shot",
        _ => return None,
    })
}

/// Returns what to take care of beside a fit.
pub fn fit_caution(fit: &str) -> Option<&'static str> {
    match fit {
        "tight" => Some(TIGHT),
        "loose" => Some(LOOSE),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::kind::{FITS, setting};

    #[test]
    fn every_fit_has_its_words_and_every_setting_is_one() {
        assert!(FITS.iter().all(|fit| fit_words(fit).is_some_and(|words| words.starts_with(fit))));
        assert_eq!((fit_words("snug"), fit_caution("true")), (None, None));
        assert!(SETTINGS.iter().all(|name| setting(name).is_some()));
    }
}
