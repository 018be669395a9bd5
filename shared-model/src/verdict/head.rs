//! The verdict in a few words, to be written large over the sentence that says it in full.

use super::sentence::{Told, along, inseparable, percent, upper_first};
use crate::stats::effects::{Effect, Location};

/// Returns the verdict on the place of the groups in a few words; a shift never without its interval.
pub(super) fn head(effect: &Effect, told: &Told<'_>) -> String {
    match effect.location {
        Location::Moved => moved(effect, told),
        Location::Held => "No movement that matters".into(),
        Location::Unsettled => "Cannot tell yet".into(),
        Location::Inseparable => upper_first(&inseparable(effect, told, false)),
    }
}

fn moved(effect: &Effect, told: &Told<'_>) -> String {
    let (Some(shift), Some(interval), Some(p)) =
        (effect.shift_mrad, effect.shift_interval_mrad, effect.shift_p)
    else {
        return "Moved".into();
    };
    let clear = |axis: &usize| interval[*axis][0] > 0.0 || interval[*axis][1] < 0.0;
    let mut axes: Vec<usize> = (0..2).filter(clear).collect();
    if axes.is_empty() {
        axes.push(usize::from(p[1] < p[0]));
    }
    axes.sort_by(|a, b| shift[*b].abs().total_cmp(&shift[*a].abs()));
    let part = |axis: usize| {
        let mm = |mrad: f64| mrad * told.distance_m;
        let (far, bounds) = along(axis, mm(shift[axis]), interval[axis].map(mm), told.units);
        format!("{far}, {}: {bounds}", percent(told.confidence))
    };
    format!("Moved: {}", axes.into_iter().map(part).collect::<Vec<_>>().join("; "))
}
