//! What is known of a part, and its maker's limits, in words.

use super::units::{Units, thousands, trimmed};
use crate::kind::{Hook, Part};

/// Returns what is known of a part, what matters most first.
pub(super) fn known_words(part: &Part, units: Units) -> Vec<String> {
    let mut said = Vec::new();
    let text = |words: &str| words.replace(char::is_control, " ");
    said.extend(part.length_in.map(|inches| match part.what.as_deref() {
        Some("string") => format!("for a {} in bow", trimmed(inches, 2)),
        _ => format!("{} in", trimmed(inches, 2)),
    }));
    said.extend(part.limb_length.as_deref().map(text));
    said.extend(part.limb_kind.as_deref().map(text));
    said.extend(marked(part));
    said.extend(part.strands.map(|n| format!("{n} strands")));
    said.extend(part.twists.map(|n| format!("{} twists as made", trimmed(n, 1))));
    said.extend(part.material.as_deref().map(text));
    said.extend(part.mass_g.map(|grams| match units {
        Units::Metric if (1000.0..10_000.0).contains(&grams) => {
            format!("{} g", thousands(grams.round() as u64))
        }
        Units::Metric => format!("{} g", trimmed(grams, 1)),
        // An ounce is 28.349523125 g (NIST SP 811).
        Units::Imperial => format!("{} oz", trimmed(grams / 28.349_523_125, 1)),
    }));
    said.extend(part.pocket.as_deref().map(|words| format!("limb pockets: {}", text(words))));
    said.extend(part.hook.map(|hook| format!("for {}", hook_words(hook))));
    said.extend(
        part.remind_at_arrows.map(|n| format!("to be looked over after {} arrows", thousands(n.into()))),
    );
    said
}

/// Returns a hook in words.
pub(super) fn hook_words(hook: Hook) -> &'static str {
    match hook {
        Hook::SplitFinger => "a split finger",
        Hook::ThreeUnder => "three fingers under the nock",
    }
}

/// Returns what is marked on limbs, with what it was marked at where that is noted.
fn marked(part: &Part) -> Option<String> {
    let mut said = format!("{} lbf marked", trimmed(part.marked_weight_lbf?, 1));
    said.extend(part.marked_draw_in.map(|inches| format!(" at {} in", trimmed(inches, 2))));
    said.extend(part.marked_riser_in.map(|inches| format!(" on a {} in riser", trimmed(inches, 2))));
    Some(said)
}

/// Returns the maker's limits of a part in a sentence without its full stop; nothing where none is noted.
pub(super) fn limit_words(part: &Part, units: Units) -> Option<String> {
    let brace = |mm: Option<f64>| mm.map(|mm| units.reading(mm));
    let mut said = Vec::new();
    said.extend(range("limb bolts", [part.least_bolt_turns, part.most_bolt_turns], "turns", 3));
    said.extend(range("", [part.least_weight_lbf, part.most_weight_lbf], "lbf", 1));
    said.extend(part.most_draw_in.map(|inches| format!("drawn at most {} in", trimmed(inches, 2))));
    let decimals = if units == Units::Metric { 0 } else { 2 };
    let ends = [brace(part.least_brace_mm), brace(part.most_brace_mm)];
    said.extend(range("brace height", ends, units.unit(), decimals));
    said.extend(part.least_arrow_gr.map(|gr| format!("arrows of at least {} gr", trimmed(gr, 1))));
    said.extend(
        part.least_grains_per_pound.map(|gpp| format!("arrows of at least {} gr a pound", trimmed(gpp, 2))),
    );
    (!said.is_empty()).then(|| format!("maker's limits: {}", said.join(", ")))
}

/// Returns a limit with one or two ends in words: `limb bolts 0 to 6 turns out`, `at most 44 lbf`.
fn range(name: &str, [least, most]: [Option<f64>; 2], unit: &str, decimals: usize) -> Option<String> {
    let told = |number: f64| trimmed(number, decimals);
    let said = match (least, most) {
        (Some(least), Some(most)) => format!("{name} {} to {} {unit}", told(least), told(most)),
        (Some(least), None) => format!("{name} at least {} {unit}", told(least)),
        (None, Some(most)) => format!("{name} at most {} {unit}", told(most)),
        (None, None) => return None,
    };
    Some(said.trim_start().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn limits_are_said_with_their_units() {
        let part = Part {
            least_bolt_turns: Some(0.0),
            most_bolt_turns: Some(6.0),
            most_weight_lbf: Some(44.0),
            least_brace_mm: Some(210.0),
            most_brace_mm: Some(235.0),
            ..Part::default()
        };
        assert_eq!(
            limit_words(&part, Units::Metric).as_deref(),
            Some("maker's limits: limb bolts 0 to 6 turns, at most 44 lbf, brace height 210 to 235 mm")
        );
        // 210 mm are 8.27 in, 235 mm are 9.25 in.
        let imperial = limit_words(&part, Units::Imperial).expect("limits");
        assert!(imperial.ends_with("brace height 8.27 to 9.25 in"), "{imperial}");
        assert_eq!(limit_words(&Part::default(), Units::Metric), None);
    }

    #[test]
    fn what_is_known_is_said_sort_by_sort() {
        let limbs = Part {
            what: Some("limbs".into()),
            limb_length: Some("long".into()),
            limb_kind: Some("recurve".into()),
            marked_weight_lbf: Some(36.0),
            marked_draw_in: Some(28.0),
            marked_riser_in: Some(25.0),
            ..Part::default()
        };
        let said = known_words(&limbs, Units::Metric).join(", ");
        assert_eq!(said, "long, recurve, 36 lbf marked at 28 in on a 25 in riser");
        let string =
            Part { what: Some("string".into()), length_in: Some(68.0), strands: Some(18), ..Part::default() };
        assert_eq!(known_words(&string, Units::Metric).join(", "), "for a 68 in bow, 18 strands");
        let riser = Part { mass_g: Some(1250.0), ..Part::default() };
        assert_eq!(known_words(&riser, Units::Metric), ["1,250 g"]);
        assert_eq!(known_words(&riser, Units::Imperial), ["44.1 oz"]);
    }
}
