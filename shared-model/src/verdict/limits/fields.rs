//! The fields of a record as limits are judged by them.

use crate::{
    kind::{self, Arrows, Form, shaft_of},
    merge::Thing,
    rig::{limits::PartLimits, weight::Marked},
    stats::fit::LimbLength,
};
use serde_json::Value;
use std::collections::BTreeMap;

/// The fields of a record, each read by itself: one that is odd hides no other.
pub(super) struct Fields(BTreeMap<String, Value>, &'static str);

impl Fields {
    pub(super) fn of(kind: &'static str, thing: &Thing) -> Self {
        let fields = thing.fields();
        let read = fields.iter().filter_map(|(name, field)| {
            Some((name.clone(), serde_json::from_str(field.now.value.get()).ok()?))
        });
        Self(read.collect(), kind)
    }

    /// Returns a text.
    pub(super) fn text(&self, name: &str) -> Option<&str> {
        self.0.get(name)?.as_str()
    }

    /// Returns a number within the bounds of its field.
    pub(super) fn number(&self, name: &str) -> Option<f64> {
        let number = self.0.get(name)?.as_f64()?;
        self.possible(name, number).then_some(number)
    }

    /// Returns the length class of limbs.
    pub(super) fn limb_length(&self) -> Option<LimbLength> {
        let word = self.text("limb_length")?;
        LimbLength::WORDS.iter().find(|(known, _)| *known == word).map(|(_, class)| *class)
    }

    /// Returns what is marked on limbs.
    pub(super) fn marked(&self) -> Option<Marked> {
        let usual = Marked::usual(self.number("marked_weight_lbf")?);
        let draw_in = self.number("marked_draw_in").unwrap_or(usual.draw_in);
        let riser_in = self.number("marked_riser_in").unwrap_or(usual.riser_in);
        Some(Marked { draw_in, riser_in, ..usual })
    }

    fn possible(&self, name: &str, number: f64) -> bool {
        match kind::field(self.1, name) {
            Some((_, Form::Number(least, most))) => (least..=most).contains(&number),
            _ => false,
        }
    }

    pub(super) fn limits(&self, part: &str) -> PartLimits {
        PartLimits {
            part: part.to_owned(),
            least_bolt_turns: self.number("least_bolt_turns"),
            most_bolt_turns: self.number("most_bolt_turns"),
            least_weight_lbf: self.number("least_weight_lbf"),
            most_weight_lbf: self.number("most_weight_lbf"),
            most_draw_in: self.number("most_draw_in"),
            least_brace_mm: self.number("least_brace_mm"),
            most_brace_mm: self.number("most_brace_mm"),
            least_arrow_gr: self.number("least_arrow_gr"),
            least_grains_per_pound: self.number("least_grains_per_pound"),
        }
    }

    /// Returns the mass of the lightest arrow in use.
    pub(super) fn lightest_gr(&self) -> Option<f64> {
        let rest = self.0.iter().filter(|(name, _)| shaft_of(name).is_some());
        let rest = rest.map(|(name, value)| (name.clone(), value.clone())).collect();
        let count = self.0.get("count").and_then(|count| u32::try_from(count.as_u64()?).ok());
        let set = Arrows { mass_gr: self.number("mass_gr"), count, rest, ..Arrows::default() };
        set.lightest_gr().map(|(_, gr)| gr)
    }
}
