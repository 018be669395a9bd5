//! The table beneath the sentences, for those who want the figures.

use super::{ArcherVerdict, Units, sentence::too_wide, units::trimmed};
use crate::stats::effects::{Effect, Location, Tightness};

/// An interval that reaches beyond this, mrad, says only that nothing is known: 200 is 6 m at 30 m.
const FAR_OFF_MRAD: f64 = 200.0;

/// Returns the verdicts of an archer as rows of cells; the first row holds the heads.
pub fn table(verdict: &ArcherVerdict, units: Units) -> Vec<Vec<String>> {
    let unit = units.unit();
    let heads = ["change", "ends", &format!("right {unit}"), &format!("high {unit}"), "p", "spread %", "p"];
    let mut rows = vec![heads.map(str::to_owned).to_vec()];
    for (n, judged) in verdict.verdicts.iter().enumerate() {
        let e = &judged.effect;
        rows.push(vec![
            (n + 1).to_string(),
            format!("{}+{}", e.ends_before, e.ends_after),
            shift(e, 0, verdict.distance_m, units),
            shift(e, 1, verdict.distance_m, units),
            e.shift_p_adjusted.map_or("-".into(), p_value),
            spread(e),
            e.spread_p_adjusted.map_or("-".into(), p_value),
        ]);
    }
    rows
}

fn shift(effect: &Effect, axis: usize, distance_m: f64, units: Units) -> String {
    let mm = |mrad: f64| units.number(mrad * distance_m);
    match (effect.shift_mrad, effect.shift_interval_mrad) {
        (Some(shift), Some(interval)) if interval[axis].iter().any(|bound| bound.abs() > FAR_OFF_MRAD) => {
            format!("{} [unknown]", mm(shift[axis]))
        }
        (Some(shift), Some(interval)) => {
            format!("{} [{} {}]", mm(shift[axis]), mm(interval[axis][0]), mm(interval[axis][1]))
        }
        (Some(shift), None) => mm(shift[axis]),
        (None, _) => "-".into(),
    }
}

fn spread(effect: &Effect) -> String {
    let percent =
        |ratio: f64| format!("{:+}", trimmed((ratio - 1.0) * 100.0, 0).parse::<f64>().unwrap_or(0.0));
    match (effect.sd_ratio, effect.sd_ratio_interval) {
        (Some(ratio), interval) if too_wide(interval) => format!("{} [unknown]", percent(ratio)),
        (Some(ratio), Some([low, high])) => {
            format!("{} [{} {}]", percent(ratio), percent(low), percent(high))
        }
        (Some(ratio), None) => percent(ratio),
        (None, _) => "-".into(),
    }
}

/// Returns a p-value as it is printed.
pub fn p_value(p: f64) -> String {
    if p < 0.001 { "<0.001".into() } else { format!("{p:.3}") }
}

/// Says for how many verdicts the p-values of the table are corrected; nothing where one stands alone.
pub fn correction(verdict: &ArcherVerdict) -> Option<String> {
    let count = |p: fn(&Effect) -> Option<f64>| verdict.verdicts.iter().filter_map(|j| p(&j.effect)).count();
    let several = |n: usize, of: &str| if n == 1 { format!("1 {of}") } else { format!("{n} {of}s") };
    let what = match (count(|e| e.shift_p_adjusted), count(|e| e.spread_p_adjusted)) {
        (0 | 1, 0 | 1) => return None,
        (shifts, spreads) if shifts == spreads => several(shifts, "change"),
        (shifts, 0) => several(shifts, "shift"),
        (0, spreads) => several(spreads, "spread"),
        (shifts, spreads) => format!("{} and {}", several(shifts, "shift"), several(spreads, "spread")),
    };
    Some(format!("p: corrected for judging {what} at once (Holm)"))
}

/// Returns the verdict on the place in a word.
pub fn location(location: Location) -> &'static str {
    match location {
        Location::Moved => "moved",
        Location::Held => "held",
        Location::Unsettled => "unsettled",
        Location::Inseparable => "inseparable",
    }
}

/// Returns the verdict on the spread in a word.
pub fn tightness(tight: Tightness) -> &'static str {
    match tight {
        Tightness::Tighter => "tighter",
        Tightness::Wider => "wider",
        Tightness::Held => "held",
        Tightness::Unsettled => "unsettled",
        Tightness::Inseparable => "inseparable",
    }
}
