//! What a walk-back tells, in sentences.

use super::{Units, figures::p_value, sentence::directed};
use crate::stats::{
    bare_shaft::SAFETY,
    walk_back::{CONDITION, Drift, WalkBack},
};

/// Returns what a walk-back tells, a sentence each: what is shown, by how much, what it is taken to mean.
pub fn walk_sentences(told: &WalkBack, units: Units) -> Vec<String> {
    let (Some(near), Some(far)) = (told.distances.first(), told.distances.last()) else { return Vec::new() };
    let range = format!("from {} to {}", units.distance(near.distance_m), units.distance(far.distance_m));
    let span = far.distance_m - near.distance_m;
    let between = |bounds: Option<[f64; 2]>| {
        bounds.map_or(String::new(), |[low, high]| {
            format!(" (95 %: {} to {})", directed(low, 0, units), directed(high, 0, units))
        })
    };
    let mut said = vec![match told.verdict {
        Drift::Curved => format!(
            "The arrows run in a curve {range}: in the middle they lie {}{} of the line between the ends.",
            directed(told.bend_mm, 0, units),
            between(told.bend_interval_mm)
        ),
        Drift::Leaning => format!(
            "The arrows run in a straight line that leans: {}{} {range}.",
            directed(told.lean.value * span, 0, units),
            between(told.lean.interval.map(|i| i.map(|v| v * span)))
        ),
        Drift::NotShown => format!(
            "Neither a lean nor a curve is shown {range}; so far the line leans {}{}.",
            directed(told.lean.value * span, 0, units),
            between(told.lean.interval.map(|i| i.map(|v| v * span)))
        ),
    }];
    said.extend(compared(told));
    if let Some(meaning) = told.meaning {
        said.push(format!("What that is taken to mean ({}): {meaning}.", told.reading_source));
        said.push(format!("Note: {CONDITION}."));
        said.push(format!("Before any change: {SAFETY}."));
    }
    said
}

/// Returns how much speaks for the curve or against it.
fn compared(told: &WalkBack) -> Option<String> {
    let p = p_value(told.curve_test?.p);
    let aicc = told.aicc_difference.map_or(String::new(), |d| match d > 0.0 {
        true => format!(", AICc better by {d:.1} for the curve"),
        false => format!(", AICc better by {:.1} for the straight line", -d),
    });
    Some(format!("Curve against straight line: p {p}{aicc}."))
}
