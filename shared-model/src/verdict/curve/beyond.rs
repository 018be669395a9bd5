//! What a draw curve has beyond what the makers of riser and limbs allow.

use super::{CurveFigures, Telling};
use crate::{
    records::{part_on, setup_here},
    replica::Store,
    rig::limits::{Facts, Finding, PRACTICE, PartLimits, Severity, beyond},
};

impl<S: Store> Telling<'_, S> {
    /// Returns what the makers allow of the riser and the limbs with which the curve was measured; of those that are on the
    /// bow now where none was noted then.
    pub(super) fn makers(&self) -> Result<Vec<PartLimits>, S::Error> {
        let then = self.timeline.setup_at(self.latest.at.unix_ms());
        let now = setup_here(self.store, self.timeline.bow)?.setup;
        let mut all = Vec::new();
        for setting in ["riser", "limbs"] {
            let setup = if then.contains_key(setting) { &then } else { &now };
            let Some(part) = part_on(self.store, setup, setting)? else { continue };
            all.push(PartLimits {
                part: setting.to_owned(),
                most_weight_lbf: part.most_weight_lbf,
                most_draw_in: part.most_draw_in,
                ..PartLimits::default()
            });
        }
        Ok(all)
    }

    /// Returns what lies beyond a limit: the weight at full draw, and the draw itself; the archer's own where it is noted,
    /// be it outside what was measured, else the last draw measured.
    pub(super) fn beyond(&self, figures: &CurveFigures) -> Result<Vec<Finding>, S::Error> {
        let own = self.drawer.draw_in;
        let mut found = beyond(&Facts {
            weight_lbf: Some([figures.weight_lbf; 2]),
            draw_length_in: own.or(Some(figures.full_draw_in)),
            archer: own.map(|_| self.drawer.name.clone()),
            parts: self.makers()?,
            ..Facts::default()
        });
        found.retain(|one| one.severity == Severity::Stop && one.whose != PRACTICE);
        Ok(found)
    }
}
