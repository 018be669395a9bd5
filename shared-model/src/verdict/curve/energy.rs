//! What a bow stores up to full draw, and what an arrow takes of it.

use super::{
    CurveFigures, Drawer, Telling,
    held::otherwise,
    words::{self},
};
use crate::{
    id::ThingId,
    kind::{self, Arrows, Speed},
    log::Stamp,
    moment::Moment,
    named::name_of,
    replica::Store,
    rig::{arrow::kinetic_energy_j, caution},
    verdict::{arrow_set::mean_mass_gr, bow::day_words, bow_sheet::Said, sentence::list, units::trimmed},
};

/// Whose word the integral is.
const INTEGRAL: &str = "the area below the curve; NIST SP 811 for the units";
/// A foot pound-force in J.
const FOOT_POUND_J: f64 = 4.448_221_615_260_5 * 0.304_8;

/// A speed that was measured.
struct Shot {
    at: Moment,
    stamp: Stamp,
    fps: f64,
    archer: Option<ThingId>,
    arrows: Option<ThingId>,
}

impl<S: Store> Telling<'_, S> {
    /// Says what is stored, for each pound as well, and what an arrow takes along.
    pub(super) fn energy(
        &self,
        figures: &mut CurveFigures,
        said: &mut Vec<Said>,
        remarks: &mut Vec<String>,
    ) -> Result<(), S::Error> {
        let Some(stored) = self.latest.curve.stored_to_ftlbf(figures.full_draw_in) else { return Ok(()) };
        figures.stored_energy_ftlbf = stored;
        figures.stored_energy_j = stored * FOOT_POUND_J;
        figures.energy_per_pound = (figures.weight_lbf > 0.0).then(|| stored / figures.weight_lbf);
        let from = match figures.from_no_weight {
            true => "",
            false => {
                remarks.push(
                    "Energy is counted from the first draw measured on, since no point without weight is there: all of it is \
                     somewhat more."
                        .into(),
                );
                "at least "
            }
        };
        let per = figures.energy_per_pound.map_or_else(String::new, |per| {
            format!(", {} ft·lbf for each pound at full draw", trimmed(per, 2))
        });
        let words = format!(
            "Stores {from}{} up to {}{per}.",
            words::energy(figures.stored_energy_j),
            words::draw(figures.full_draw_in, self.asked.units)
        );
        said.push(Said { words, source: INTEGRAL.into(), caution: Some(caution::DRY_FIRE) });
        if let Some(told) = self.efficiency(figures)? {
            said.push(told);
        }
        Ok(())
    }

    /// Says how much of it an arrow takes along, where its speed and its mass are known.
    fn efficiency(&self, figures: &mut CurveFigures) -> Result<Option<Said>, S::Error> {
        let Some(shot) = self.speed()? else { return Ok(None) };
        let set = shot.arrows.map_or_else(|| "an arrow".to_owned(), |id| name_of(self.names, id));
        let shown = format!("{set} at {} ft/s, measured {}", trimmed(shot.fps, 1), day_words(&shot.at.day()));
        let without = |why: String| {
            let words = format!("{shown}: efficiency cannot be told, since {why}.");
            Ok(Some(Said { words, source: "the records".into(), caution: None }))
        };
        let mass = match shot.arrows {
            Some(id) => self.store.thing("arrows", id)?.and_then(|thing| kind::read::<Arrows>(&thing).ok()),
            None => None,
        };
        let Some(mass_gr) = mass.and_then(|set| mean_mass_gr(&set)).filter(|gr| (1.0..=3000.0).contains(gr))
        else {
            return without("the mass of the arrow is not noted".into());
        };
        let [then, curve] = [shot.at, self.latest.at].map(|at| self.timeline.setup_at(at.unix_ms()));
        let changed = otherwise(&curve, &then, self.names);
        if !changed.is_empty() {
            return without(format!("the bow was set up otherwise then: {}", list(&changed)));
        }
        let drawn = match shot.archer {
            Some(id) => Drawer::read(self.store, id, self.names)?,
            None => self.drawer.clone(),
        };
        let Some(draw) = drawn.draw_in else {
            return without(format!("{}'s draw length is not noted", drawn.name));
        };
        let Some(share) = self.latest.curve.efficiency(draw, mass_gr, shot.fps) else {
            return without(format!("{}'s draw lies outside what was measured", drawn.name));
        };
        let kinetic = kinetic_energy_j(mass_gr, shot.fps);
        figures.kinetic_energy_j = Some(kinetic);
        figures.efficiency = Some(share);
        Ok(Some(told(&shown, kinetic, share, figures.from_no_weight)))
    }

    /// Returns the latest speed that was measured with the bow, of the arrow set that was asked for.
    fn speed(&self) -> Result<Option<Shot>, S::Error> {
        let mut found: Vec<Shot> = Vec::new();
        self.store.visit("speed", Some(self.timeline.bow), &mut |thing| {
            let Ok(speed) = kind::read::<Speed>(thing) else { return };
            let at = speed.at.as_deref().and_then(|at| Moment::read(at).ok());
            let wanted = !speed.retired && (self.asked.arrows.is_none() || speed.arrows == self.asked.arrows);
            let (Some(at), Some(fps), Some(stamp)) = (at, speed.speed_fps, thing.born()) else { return };
            if wanted && (1.0..=700.0).contains(&fps) {
                found.push(Shot { at, stamp, fps, archer: speed.archer, arrows: speed.arrows });
            }
        })?;
        found.sort_by_key(|shot| (shot.at.unix_ms(), shot.stamp));
        Ok(found.pop())
    }
}

fn told(shown: &str, kinetic_j: f64, share: f64, whole: bool) -> Said {
    let percent = trimmed(100.0 * share, 0);
    let words = if share > 1.0 {
        format!(
            "{shown}: {} in the arrow is more than the curve stores. That cannot be: check speed, mass, draw length and curve.",
            words::energy(kinetic_j)
        )
    } else if whole {
        format!("{shown}: {} in the arrow, {percent} % of what is stored.", words::energy(kinetic_j))
    } else {
        format!(
            "{shown}: {} in the arrow, {percent} % of what is stored at most, since the curve does not begin where there is no \
             weight.",
            words::energy(kinetic_j)
        )
    };
    Said { words, source: "kinetic energy over energy stored; NIST SP 811".into(), caution: None }
}
