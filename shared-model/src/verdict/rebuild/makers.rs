//! What the makers of the parts on a sheet allow, beside the settings that they bound.

use super::{Target, full_name};
use crate::{
    id::ThingId,
    kind::{self, Part},
    named::name_of,
    replica::Store,
    verdict::{
        limits::PARTS,
        units::{Units, trimmed},
    },
};
use serde_json::Value;
use std::collections::BTreeMap;

/// Millimetres of an inch, exact by definition (NIST SP 811).
const INCH_MM: f64 = 25.4;

/// The parts of a sheet with their names.
pub(super) struct Makers(Vec<(String, Part)>);

impl Makers {
    pub(super) fn read<S: Store>(
        store: &S,
        target: &Target,
        names: &BTreeMap<ThingId, String>,
    ) -> Result<Self, S::Error> {
        let mut parts = Vec::new();
        for setting in PARTS {
            let id = target.settings.get(*setting).and_then(Value::as_str).and_then(|id| id.parse().ok());
            let Some(id): Option<ThingId> = id else { continue };
            let part = store.thing("part", id)?.and_then(|thing| kind::read::<Part>(&thing).ok());
            parts.extend(part.map(|part| (name_of(names, id), part)));
        }
        Ok(Self(parts))
    }

    /// Returns what each maker allows of a setting, a sentence each.
    pub(super) fn of(&self, setting: &str, units: Units) -> Vec<String> {
        let said = self.0.iter().filter_map(|(name, part)| {
            let range = range(bounds(part, setting), full_name(setting).1, units)?;
            Some(format!("The maker of {name} allows {range}, as it was noted."))
        });
        said.collect()
    }
}

/// Returns the least and the most that a maker allows of a setting.
fn bounds(part: &Part, setting: &str) -> [Option<f64>; 2] {
    match setting {
        "limb_bolt_top_turns" | "limb_bolt_bottom_turns" => [part.least_bolt_turns, part.most_bolt_turns],
        "brace_height_mm" => [part.least_brace_mm, part.most_brace_mm],
        "draw_weight_lbf" => [part.least_weight_lbf, part.most_weight_lbf],
        _ => [None, None],
    }
}

/// Returns a range in words; an end in inches is rounded inwards, so that nobody is sent beyond it.
fn range([least, most]: [Option<f64>; 2], unit: &str, units: Units) -> Option<String> {
    let inches = unit == "mm" && units == Units::Imperial;
    let unit = if inches { "in" } else { unit };
    let told = |value: f64, inwards: &dyn Fn(f64) -> f64| match inches {
        true => trimmed(inwards(value / INCH_MM * 100.0) / 100.0, 2),
        false => trimmed(value, 3),
    };
    let least = least.map(|value| told(value, &|hundredths| libm::ceil(hundredths - 1e-6)));
    let most = most.map(|value| told(value, &|hundredths| libm::floor(hundredths + 1e-6)));
    Some(match (least, most) {
        (Some(least), Some(most)) => format!("{least} to {most} {unit}"),
        (Some(least), None) => format!("{least} {unit} at least"),
        (None, Some(most)) => format!("{most} {unit} at most"),
        (None, None) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_is_told_in_its_unit_and_never_wider_than_it_is() {
        let of = |ends, unit, units| range(ends, unit, units).unwrap_or_default();
        assert_eq!(of([Some(210.0), Some(230.0)], "mm", Units::Metric), "210 to 230 mm");
        // 210 mm are 8.2677 in and 230 mm 9.0551 in.
        assert_eq!(of([Some(210.0), Some(230.0)], "mm", Units::Imperial), "8.27 to 9.05 in");
        assert_eq!(of([Some(203.2), None], "mm", Units::Imperial), "8 in at least");
        assert_eq!(of([Some(0.0), Some(5.0)], "turns", Units::Imperial), "0 to 5 turns");
        assert_eq!(of([None, Some(40.5)], "lbf", Units::Metric), "40.5 lbf at most");
        assert_eq!(range([None, None], "mm", Units::Metric), None);
    }
}
