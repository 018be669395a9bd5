//! Fact by fact against limit by limit.

use super::{
    ASIDE_MM, FAR_LBF, FAR_SHARE, FLOOR_GRAINS_PER_POUND, Facts, Finding, PRACTICE, PartLimits, SAME,
    STEP_LBF, Severity, above, below, caution_of, decimals_apart, floor_counts, together,
};
use crate::{rig::arrow::grains_per_pound, verdict::decimal};

pub(super) fn all(facts: &Facts) -> Vec<Finding> {
    let mut found = Vec::new();
    for part in &facts.parts {
        bolts(facts, part, &mut found);
        weight(facts, part, &mut found);
        draw(facts, part, &mut found);
        brace(facts, part, &mut found);
        arrow(facts, part, &mut found);
    }
    floor(facts, &mut found);
    found.extend(together::all(facts));
    found.extend(above_what_was_shot(facts));
    aside(facts, &mut found);
    found.extend(missed(facts));
    found
}

fn maker(part: &PartLimits) -> String {
    format!("the maker of the {}", part.part)
}

pub(super) fn finding(
    code: &'static str,
    setting: &'static str,
    [figure, limit]: [f64; 2],
    unit: &'static str,
    whose: &str,
    words: String,
) -> Finding {
    Finding {
        code,
        setting,
        figure,
        limit,
        beyond: (figure - limit).abs(),
        unit,
        whose: whose.to_owned(),
        severity: Severity::Stop,
        words,
        caution: caution_of(code),
    }
}

/// A number with its unit: `1 turn`, `2.5 turns`, `40 lbf`.
pub(super) fn of(value: f64, unit: &str) -> String {
    with_unit(&decimal(value, 2), unit)
}

fn with_unit(number: &str, unit: &str) -> String {
    if unit == "turns" && number == "1" { "1 turn".into() } else { format!("{number} {unit}") }
}

/// A figure, how far it is beyond a limit, and the limit, with so many decimals that they read apart.
pub(super) fn apart(value: f64, limit: f64, unit: &str) -> [String; 3] {
    let decimals = decimals_apart(value, limit, 2);
    [value, (value - limit).abs(), limit].map(|number| with_unit(&decimal(number, decimals), unit))
}

fn bolts(facts: &Facts, part: &PartLimits, found: &mut Vec<Finding>) {
    let bolts = [
        ("limb_bolt_top_turns", "top", facts.limb_bolt_top_turns),
        ("limb_bolt_bottom_turns", "bottom", facts.limb_bolt_bottom_turns),
    ];
    let whose = maker(part);
    for (setting, which, turns) in bolts {
        let Some(turns) = turns else { continue };
        if let Some(most) = above(turns, part.most_bolt_turns) {
            let [is, by, limit] = apart(turns, most, "turns");
            let words =
                format!("The {which} limb bolt is {is} out, {by} beyond the {limit} that {whose} allows.");
            found.push(finding("bolt_out", setting, [turns, most], "turns", &whose, words));
        }
        if let Some(least) = below(turns, part.least_bolt_turns) {
            let [is, by, limit] = apart(turns, least, "turns");
            let words = format!(
                "The {which} limb bolt is {is} out, {by} less than the {limit} that {whose} asks for at least."
            );
            found.push(finding("bolt_in", setting, [turns, least], "turns", &whose, words));
        }
    }
}

fn weight(facts: &Facts, part: &PartLimits, found: &mut Vec<Finding>) {
    let Some([low, high]) = facts.weight_lbf else { return };
    let (whose, measured) = (maker(part), high - low < SAME);
    let setting = "draw_weight_lbf";
    if let Some(most) = above(high, part.most_weight_lbf) {
        let [is, by, limit] = apart(high, most, "lbf");
        let words = if measured {
            format!("{is} on the fingers: {by} above the {limit} that {whose} allows.")
        } else {
            format!(
                "Up to {is} on the fingers are to be expected, and {whose} allows {limit}: measure it with a bow scale."
            )
        };
        let severity = if low > most + SAME { Severity::Stop } else { Severity::Look };
        let one = finding("weight_above", setting, [high, most], "lbf", &whose, words);
        found.push(Finding { severity, ..one });
    }
    if let Some(least) = below(high, part.least_weight_lbf) {
        let [is, by, limit] = apart(high, least, "lbf");
        let words =
            format!("{is} on the fingers: {by} below the {limit} from which on {whose} makes it to be shot.");
        let one = finding("weight_below", setting, [high, least], "lbf", &whose, words);
        found.push(Finding { severity: Severity::Look, ..one });
    }
}

fn draw(facts: &Facts, part: &PartLimits, found: &mut Vec<Finding>) {
    let Some(draw) = facts.draw_length_in else { return };
    let Some(most) = above(draw, part.most_draw_in) else { return };
    let whose = maker(part);
    let drawer = facts.drawer.as_ref().or(facts.archer.as_ref());
    let drawer = drawer.map_or_else(|| "A draw".to_owned(), |name| format!("{name}'s draw"));
    let [is, by, limit] = apart(draw, most, "in");
    let words = format!("{drawer} of {is} is {by} longer than the {limit} that {whose} allows.");
    found.push(finding("draw_above", "limbs", [draw, most], "in", &whose, words));
}

fn brace(facts: &Facts, part: &PartLimits, found: &mut Vec<Finding>) {
    let Some(brace) = facts.brace_height_mm else { return };
    let whose = maker(part);
    let told = |limit: f64, side: &str| {
        let [is, by, limit] = apart(brace, limit, "mm");
        format!("The brace height of {is} is {by} {side} the {limit} that {whose} allows.")
    };
    let at = "brace_height_mm";
    if let Some(most) = above(brace, part.most_brace_mm) {
        found.push(finding("brace_above", at, [brace, most], "mm", &whose, told(most, "above")));
    }
    if let Some(least) = below(brace, part.least_brace_mm) {
        found.push(finding("brace_below", at, [brace, least], "mm", &whose, told(least, "below")));
    }
}

fn arrow(facts: &Facts, part: &PartLimits, found: &mut Vec<Finding>) {
    let Some(arrow) = facts.arrow_gr else { return };
    let whose = maker(part);
    if let Some(least) = below(arrow, part.least_arrow_gr) {
        let [is, by, limit] = apart(arrow, least, "gr");
        let words =
            format!("An arrow of {is} is {by} lighter than the {limit} that {whose} asks for at least.");
        found.push(finding("arrow_light", "arrows", [arrow, least], "gr", &whose, words));
    }
    if let Some(least) = part.least_grains_per_pound {
        found.extend(grains(facts, arrow, least, &whose, &format!("that {whose} asks for at least")));
    }
}

/// Judges the grains on each pound by the common floor, where neither riser nor limbs have a maker's least.
fn floor(facts: &Facts, found: &mut Vec<Finding>) {
    let known = |part: &&PartLimits| part.least_arrow_gr.or(part.least_grains_per_pound).is_some();
    let known = facts.parts.iter().filter(known).map(|part| part.part.as_str());
    let Some(arrow) = facts.arrow_gr.filter(|_| floor_counts(known)) else { return };
    let named = format!("below which an arrow is held to be too light for any bow ({PRACTICE})");
    found.extend(grains(facts, arrow, FLOOR_GRAINS_PER_POUND, PRACTICE, &named));
}

fn grains(facts: &Facts, arrow: f64, least: f64, whose: &str, named: &str) -> Option<Finding> {
    let [low, high] = facts.weight_lbf.filter(|[low, _]| *low > 0.0)?;
    let [most, fewest] = [low, high].map(|lbf| grains_per_pound(arrow, lbf));
    let limit = below(fewest, Some(least))?;
    let decimals = decimals_apart(fewest, limit, 1);
    let measured = high - low < SAME;
    let on = if measured { of(high, "lbf") } else { format!("up to {}", of(high, "lbf")) };
    let words = format!(
        "An arrow of {} on {on}: {} grains for each pound, fewer than the {} {named}.",
        of(arrow, "gr"),
        decimal(fewest, decimals),
        decimal(limit, decimals)
    );
    let severity = if below(most, Some(least)).is_some() { Severity::Stop } else { Severity::Look };
    let one = finding("grains_few", "arrows", [fewest, limit], "gr/lbf", whose, words);
    Some(Finding { severity, ..one })
}

/// Judges the weight by the most that the archer has shot.
fn above_what_was_shot(facts: &Facts) -> Option<Finding> {
    let ([low, high], shot) = (facts.weight_lbf?, facts.shot_weight_lbf.filter(|shot| *shot > 0.0)?);
    let by = low - shot;
    above(by, Some(STEP_LBF))?;
    let far = by > FAR_LBF + SAME || by > FAR_SHARE * shot + SAME;
    let who = facts.archer.clone().unwrap_or_else(|| "the archer".into());
    let at_least = if high - low < SAME { "" } else { "At least " };
    let end = if far {
        format!(
            "That is far at once ({PRACTICE}: no more than {} a step): ask a qualified coach before it is drawn.",
            of(STEP_LBF, "lbf")
        )
    } else {
        format!("That is a step ({PRACTICE}): few arrows at first, and a qualified coach's eye on them.")
    };
    let words = format!(
        "{at_least}{} on the fingers: {} ({} %) above the {} that is the most {who} has shot by these records. {end}",
        of(low, "lbf"),
        of(by, "lbf"),
        decimal(100.0 * by / shot, 0),
        of(shot, "lbf")
    );
    let (code, severity) = if far { ("weight_far", Severity::Stop) } else { ("weight_step", Severity::Look) };
    let one = finding(code, "draw_weight_lbf", [low, shot], "lbf", PRACTICE, words);
    Some(Finding { severity, ..one })
}

/// Points to a limb beside whose middle the string runs: it may be twisted, or not seated.
fn aside(facts: &Facts, found: &mut Vec<Finding>) {
    let limbs = [
        ("limb_lateral_top_mm", "upper", facts.limb_lateral_top_mm),
        ("limb_lateral_bottom_mm", "lower", facts.limb_lateral_bottom_mm),
    ];
    for (setting, which, mm) in limbs {
        let Some(mm) = mm.filter(|mm| mm.abs() > ASIDE_MM + SAME) else { continue };
        let side = if mm < 0.0 { "left" } else { "right" };
        let words = format!(
            "The string runs {} to the {side} of the middle of the {which} limb, more than {} ({PRACTICE}): see whether \
             the limb is fully seated, and not twisted.",
            of(mm.abs(), "mm"),
            of(ASIDE_MM, "mm")
        );
        let one = finding("string_aside", setting, [mm.abs(), ASIDE_MM], "mm", PRACTICE, words);
        found.push(Finding { severity: Severity::Look, ..one });
    }
}

fn missed(facts: &Facts) -> Option<Finding> {
    let missed = Some(facts.missed).filter(|n| *n > 0 && facts.carbon)?;
    let arrows = if missed == 1 { "1 arrow".into() } else { format!("{missed} arrows") };
    let words = format!(
        "{arrows} of the set missed when it was shot last: flex and look over every carbon shaft that hit something hard \
         before it is shot again."
    );
    let one = finding("carbon_missed", "arrows", [missed as f64, 0.0], "arrows", PRACTICE, words);
    Some(Finding { severity: Severity::Look, ..one })
}
