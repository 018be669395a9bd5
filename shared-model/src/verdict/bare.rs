//! What bare shafts tell, in sentences.

use super::{Units, sentence::directed, units::trimmed};
use crate::{
    kind::BowArm,
    stats::bare_shaft::{BareShaft, CONDITION, Closing, READING_SOURCE, Reading, SAFETY, Sign},
};

/// Returns what bare shafts tell, a sentence each: where they land, how that is read, when that holds.
pub fn bare_sentences(told: &BareShaft, bow_arm: Option<BowArm>, units: Units) -> Vec<String> {
    let side = |axis: usize| {
        let words = directed(told.difference_mm[axis], axis, units);
        let bounds = told.interval_mm.map(|interval| interval[axis].map(|v| directed(v, axis, units)));
        bounds.map_or_else(|| words.clone(), |[from, to]| format!("{words} (95 %: {from} to {to})"))
    };
    let (ends, at) = (if told.ends == 1 { "end" } else { "ends" }, units.distance(told.distance_m));
    let mut said = vec![format!(
        "Bare shafts land {} and {} of the fletched arrows at {at}, over {} {ends}.",
        side(0),
        side(1),
        told.ends
    )];
    if told.interval_mm.is_some() {
        said.push(sideways(told.sideways, bow_arm));
        said.push(up_down(told.up_down));
    } else {
        said.push("Whether that is a difference cannot be told yet.".into());
    }
    said.extend(told.closing.iter().filter_map(close));
    if told.sideways.shown || told.up_down.shown {
        let [right, high] = [0, 1].map(|axis| directed(told.fletched_mpi_mm[axis], axis, units));
        said.push(format!("Note: {CONDITION}; it lies {right} and {high} of the centre."));
        said.push(format!("Before any change: {SAFETY}."));
    }
    said
}

fn sideways(reading: Reading, bow_arm: Option<BowArm>) -> String {
    let hand = match bow_arm {
        Some(BowArm::Left) => "right-handed",
        Some(BowArm::Right) => "left-handed",
        None => "archer whose bow arm is not recorded",
    };
    match (reading.side, reading.reading) {
        (Some(side), Some(sign)) => {
            format!("Sideways: {side} for a {hand} archer means that {} ({READING_SOURCE}).", words(sign))
        }
        (Some(side), None) => format!(
            "Sideways: {side}, which cannot be read for an {hand}: `sheaf set person NAME bow_arm=left` says that \
             the left arm holds the bow."
        ),
        (None, _) => "Sideways: no difference is shown.".to_owned(),
    }
}

fn up_down(reading: Reading) -> String {
    match (reading.side, reading.reading) {
        (Some(side), Some(sign)) => {
            format!("Up and down: {side} means that {} ({READING_SOURCE}).", words(sign))
        }
        _ => "Up and down: no difference is shown.".to_owned(),
    }
}

fn words(sign: Sign) -> &'static str {
    match sign {
        Sign::Stiff => "the shaft acts stiff",
        Sign::Weak => "the shaft acts weak",
        Sign::NockingPointLow => "the nocking point is low",
        Sign::NockingPointHigh => "the nocking point is high",
    }
}

fn close(closing: &Closing) -> Option<String> {
    let units = closing.units?;
    let amount = trimmed(units, 2);
    let sign = if units > 0.0 { "+" } else { "" };
    Some(format!("By your own dial about {}={sign}{amount} in all would close it.", closing.setting))
}
