//! What to take care of, where a change of a bow can hurt someone.

/// Returns the cautions that go with the settings that are altered.
///
/// The usual cautions of the trade (common practice, no source); they defer to the maker's limits and to a coach.
pub fn cautions<S: AsRef<str>>(settings: &[S]) -> Vec<&'static str> {
    let touched = |fields: &[&str]| settings.iter().any(|s| fields.contains(&s.as_ref()));
    let mut cautions = Vec::new();
    if touched(&["limb_bolt_top_turns", "limb_bolt_bottom_turns", "draw_weight_lbf"]) {
        cautions.push(
            "Care: never turn limb bolts out beyond the maker's limit, nor draw a weight you cannot control; when \
             unsure, stop and ask a qualified coach.",
        );
    }
    if touched(&["limbs", "string", "brace_height_mm", "string_twists"]) {
        cautions.push(
            "Care: check that limbs and string are seated and whole before you draw, keep to the maker's brace \
             height, and never let go of the string without an arrow on it.",
        );
    }
    if touched(&["arrows"]) {
        cautions.push("Care: arrows lighter than the bow's maker allows, or damaged ones, can hurt you and break the bow.");
    }
    cautions
}
