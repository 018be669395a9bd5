//! How groups answer to a setting, as sentences that an archer understands.

use super::{
    altered::unit_beside,
    name_and_unit,
    sentence::{directed, list, percent, ratio_bounds, ratio_words, shift_words, upper_first},
    sight::{distance_of, sight_words},
    units::{Units, trimmed},
};
use crate::{
    kind::setting,
    stats::dial::{Best, Dial, Separate},
};

/// Returns the answer; `called` gives what a change altered.
pub(super) fn dial_sentence(
    found: &Dial,
    confidence: f64,
    units: Units,
    called: &dyn Fn(&str) -> String,
) -> String {
    let told = Told { found, confidence, units, called, dial: Name::of(&found.dial) };
    let place = if found.inseparable_from.is_empty() { told.place() } else { told.inseparable() };
    let mut text = format!("{}; {}.", upper_first(&place), told.spread());
    if let Some(separate) = &found.separate_by {
        text.push_str(&format!(" {}.", told.separate(separate)));
    } else if found.inseparable_from.iter().any(|n| n == "session") {
        text.push_str(" Shoot two of the values in one session to tell them apart.");
    }
    text
}

/// What people call a setting, and its unit.
struct Name {
    name: String,
    unit: &'static str,
}

impl Name {
    fn of(field: &str) -> Self {
        let (name, unit) = name_and_unit(field);
        Self { name, unit }
    }

    /// Returns a value with its unit: `2.25 turns`.
    fn value(&self, value: f64) -> String {
        let unit = unit_beside(self.unit, &value.into());
        format!("{} {unit}", trimmed(value, 3)).trim_end().to_owned()
    }

    /// Returns `per turn of the plunger`.
    fn per(&self) -> String {
        let one = match self.unit {
            "turns" => "turn",
            "" => "1",
            unit => unit,
        };
        format!("per {one} of the {}", self.name)
    }
}

struct Told<'a> {
    found: &'a Dial,
    confidence: f64,
    units: Units,
    called: &'a dyn Fn(&str) -> String,
    dial: Name,
}

impl Told<'_> {
    fn place(&self) -> String {
        let found = self.found;
        let (Some(shift), Some(interval), Some(p), Some(joint)) = (
            found.shift_mrad_per_unit,
            found.shift_interval_mrad_per_unit,
            found.shift_p,
            found.shift_p_adjusted,
        ) else {
            return format!("cannot tell yet whether the groups move with the {}", self.dial.name);
        };
        let at = self.units.distance(found.distance_m);
        let bent = found.straightness.is_some_and(|s| s.p_adjusted < 1.0 - self.confidence);
        if joint < 1.0 - self.confidence {
            let (_, words) = shift_words(shift, interval, p, found.distance_m, self.units, self.confidence);
            let bent = if bent { ", but the values lie on no line, so go by the means at each" } else { "" };
            return format!("{} the groups move {words} at {at}{bent}", self.dial.per());
        }
        if bent {
            return format!(
                "the groups move with the {}, but the values lie on no line, so go by the means at each",
                self.dial.name
            );
        }
        let axis = usize::from(shift[1].abs() > shift[0].abs());
        let mm = |mrad: f64| directed(mrad * found.distance_m, axis, self.units);
        format!(
            "no movement with the {} is shown (so far {} {} at {at}; {}: {} to {})",
            self.dial.name,
            mm(shift[axis]),
            self.dial.per(),
            percent(self.confidence),
            mm(interval[axis][0]),
            mm(interval[axis][1])
        )
    }

    fn inseparable(&self) -> String {
        let from = list(&self.names(&self.found.inseparable_from));
        format!(
            "what the {} does to the place of the groups cannot be told apart from {from}",
            self.dial.name
        )
    }

    /// Returns what people call settings, sights, sessions and changes.
    fn names(&self, names: &[String]) -> Vec<String> {
        let name = |name: &String| match name.as_str() {
            "session" => "the day (there are too few sessions)".into(),
            sight if sight.starts_with("sight ") => sight_words(sight, self.units).unwrap_or_default(),
            field if setting(field).is_some() || !crate::notation::unit_of(field).is_empty() => {
                format!("the {}", Name::of(field).name)
            }
            id => (self.called)(id),
        };
        names.iter().map(name).collect()
    }

    fn separate(&self, separate: &Separate) -> String {
        let left = |(name, value): (&String, &f64)| {
            let name = Name::of(name);
            format!("the {} left at {}", name.name, name.value(*value))
        };
        let mut with: Vec<String> = separate.left_at.iter().map(left).collect();
        let alone = &separate.left_alone;
        if alone.iter().any(|name| distance_of(name).is_some()) {
            with.push("the distance kept".into());
        }
        if alone.iter().any(|name| name.starts_with("sight ") && distance_of(name).is_none()) {
            with.push("the sight left alone".into());
        }
        if alone.iter().any(|name| !name.starts_with("sight ")) {
            with.push("everything else left as it is".into());
        }
        let at = self.dial.value(separate.dial_at);
        format!("To tell them apart, shoot the {} at {at} with {}", self.dial.name, list(&with))
    }

    fn spread(&self) -> String {
        let spread = &self.found.spread;
        if !spread.inseparable_from.is_empty() {
            let from = list(&self.names(&spread.inseparable_from));
            return format!("its spread cannot be told apart from {from}");
        }
        if let (Best::Shown, Some(at)) = (spread.best, spread.smallest_at) {
            let interval = spread.smallest_at_interval.map_or_else(String::new, |[low, high]| {
                format!(" ({}: {} to {})", percent(self.confidence), trimmed(low, 2), trimmed(high, 2))
            });
            let at = format!("{} {}", trimmed(at, 2), self.dial.unit);
            return format!("spread is smallest at {}{interval}", at.trim_end());
        }
        match (spread.sd_ratio_per_unit, spread.sd_ratio_per_unit_interval) {
            (Some(ratio), Some(interval)) => format!(
                "the spread shows no best value yet (so far {} {}; {})",
                ratio_words(ratio),
                self.dial.per(),
                ratio_bounds(interval, self.confidence)
            ),
            _ => "the spread shows no best value yet".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::dial::{DialSpread, Straightness};
    use std::collections::BTreeMap;

    fn found() -> Dial {
        Dial {
            dial: "plunger_turns".into(),
            values: Vec::new(),
            distance_m: 30.0,
            shift_mrad_per_unit: Some([-0.7, 0.02]),
            shift_se_mrad_per_unit: Some([0.1, 0.1]),
            shift_df: Some([20.0, 20.0]),
            shift_interval_mrad_per_unit: Some([[-0.9, -0.5], [-0.2, 0.24]]),
            shift_p: Some([0.001, 0.8]),
            shift_p_joint: Some(0.002),
            shift_p_adjusted: Some(0.002),
            straightness: None,
            spread: DialSpread {
                best: Best::Shown,
                smallest_at: Some(2.4),
                smallest_at_interval: Some([2.1, 2.9]),
                ..DialSpread::default()
            },
            inseparable_from: Vec::new(),
            separate_by: None,
            linear_with: Vec::new(),
            steps: Vec::new(),
            var_session_mrad2: [None; 2],
            var_end_mrad2: [None; 2],
            var_noise_mrad2: [None; 2],
            notes: Vec::new(),
        }
    }

    fn bent(p_joint: f64) -> Option<Straightness> {
        let two = [1.0; 2];
        Some(Straightness {
            f: two,
            ndf: two,
            ddf: two,
            p: two,
            p_joint,
            p_adjusted: p_joint,
            line_fits: p_joint >= 0.05,
        })
    }

    #[track_caller]
    fn check(found: &Dial, says: &str) {
        let words = |id: &str| format!("the change {id}");
        assert_eq!(dial_sentence(found, 0.95, Units::Metric, &words), says);
    }

    #[test]
    fn a_shift_and_a_best_value() {
        let both = "Per turn of the plunger the groups move 21 mm left (95 %: 15 to 27) at 30 m";
        let best = "spread is smallest at 2.4 turns (95 %: 2.1 to 2.9).";
        check(&found(), &format!("{both}; {best}"));
        check(&Dial { straightness: bent(0.5), ..found() }, &format!("{both}; {best}"));
        let crooked = "but the values lie on no line, so go by the means at each";
        check(&Dial { straightness: bent(0.01), ..found() }, &format!("{both}, {crooked}; {best}"));
        let none = Dial { straightness: bent(0.01), shift_p_adjusted: Some(0.3), ..found() };
        check(&none, &format!("The groups move with the plunger, {crooked}; {best}"));
    }

    #[test]
    fn no_shift_and_no_best_value() {
        let spread = DialSpread {
            sd_ratio_per_unit: Some(1.04),
            sd_ratio_per_unit_interval: Some([0.98, 1.09]),
            ..DialSpread::default()
        };
        let none = Dial {
            shift_mrad_per_unit: Some([-0.1, 0.02]),
            shift_interval_mrad_per_unit: Some([[-0.3, 0.1], [-0.2, 0.24]]),
            shift_p_adjusted: Some(0.4),
            spread,
            ..found()
        };
        check(
            &none,
            "No movement with the plunger is shown (so far 3 mm left per turn of the plunger at 30 m; 95 %: 9 mm left \
             to 3 mm right); the spread shows no best value yet (so far 4 % larger per turn of the plunger; 95 %: \
             2 % smaller to 9 % larger).",
        );
        let nothing = Dial { shift_mrad_per_unit: None, spread: DialSpread::default(), ..found() };
        check(
            &nothing,
            "Cannot tell yet whether the groups move with the plunger; the spread shows no best value yet.",
        );
    }

    #[test]
    fn what_cannot_be_told_apart_is_named_as_people_call_it() {
        let names = ["brace_height_mm", "c1", "sight b at 30 m"].map(str::to_owned).to_vec();
        let separate = Separate {
            dial_at: 2.0,
            left_at: BTreeMap::from([("brace_height_mm".to_owned(), 220.0)]),
            left_alone: vec!["c1".into(), "sight b at 30 m".into()],
        };
        let spread = DialSpread { inseparable_from: vec!["c1".into()], ..DialSpread::default() };
        let all = Dial { inseparable_from: names, separate_by: Some(separate), spread, ..found() };
        check(
            &all,
            "What the plunger does to the place of the groups cannot be told apart from the brace height, the change c1 \
             and the move of the sight (b at 30 m); its spread cannot be told apart from the change c1. To tell them \
             apart, shoot the plunger at 2 turns with the brace height left at 220 mm, the sight left alone and \
             everything else left as it is.",
        );
        let day = Dial { inseparable_from: vec!["session".into()], ..found() };
        check(
            &day,
            "What the plunger does to the place of the groups cannot be told apart from the day (there are too few \
             sessions); spread is smallest at 2.4 turns (95 %: 2.1 to 2.9). Shoot two of the values in one session \
             to tell them apart.",
        );
    }
}
