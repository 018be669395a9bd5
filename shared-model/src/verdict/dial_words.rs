//! How groups answer to a setting, as sentences that an archer understands.

use super::{
    name_and_unit,
    sentence::{directed, list, percent, ratio_bounds, ratio_words, shift_words, upper_first},
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
        format!("{} {}", trimmed(value, 3), self.unit).trim_end().to_owned()
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
            found.shift_p_joint,
        ) else {
            return format!("cannot tell yet whether the groups move with the {}", self.dial.name);
        };
        let at = self.units.distance(found.distance_m);
        let bent = found.straightness.is_some_and(|s| !s.line_fits);
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
            sight if sight.starts_with("sight ") => format!("the move of the sight ({})", &sight[6..]),
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
        let sight = separate.left_alone.iter().any(|name| name.starts_with("sight "));
        if sight {
            with.push("the sight left alone".into());
        }
        if separate.left_alone.iter().any(|name| !name.starts_with("sight ")) {
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
