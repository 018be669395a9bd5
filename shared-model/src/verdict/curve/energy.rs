//! What a bow stores up to full draw, and what an arrow takes of it.

use super::{
    CurveFigures, Drawer, Telling,
    held::otherwise,
    words::{self},
};
use crate::{
    moment::Moment,
    named::name_of,
    replica::Store,
    rig::{arrow::kinetic_energy_j, caution},
    verdict::{
        bow::day_words,
        bow_sheet::Said,
        sentence::list,
        speed::{Shot, mass_gr, shots},
        units::trimmed,
    },
};

/// Whose word the integral is.
const INTEGRAL: &str = "the area below the curve; NIST SP 811 for the units";
/// A foot pound-force in J.
const FOOT_POUND_J: f64 = 4.448_221_615_260_5 * 0.304_8;

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

    /// Says how much of it an arrow takes along, where its speed and its mass are known: of what is stored at the draw of who
    /// drew for that speed, whoever's draw the rest is told for.
    fn efficiency(&self, figures: &mut CurveFigures) -> Result<Option<Said>, S::Error> {
        let Some((shot, at, whose)) = self.speed()? else { return Ok(None) };
        let set = shot.arrows.map_or_else(|| "an arrow".to_owned(), |id| name_of(self.names, id));
        let shown = format!("{set} at {} ft/s, measured {}", trimmed(shot.fps, 1), day_words(&at.day()));
        let without = |why: String| {
            let words = format!("{shown}: efficiency cannot be told, since {why}.{whose}");
            Ok(Some(Said { words, source: "the records".into(), caution: None }))
        };
        let Some(mass_gr) = mass_gr(self.store, shot.arrows)? else {
            return without("the mass of the arrow is not noted".into());
        };
        let [then, curve] = [at, self.latest.at].map(|at| self.timeline.setup_at(at.unix_ms()));
        let changed = otherwise(&curve, &then, self.names);
        if !changed.is_empty() {
            return without(format!("the bow was set up otherwise then: {}", list(&changed)));
        }
        let drawn = self.drawn(&shot)?;
        let Some(draw) = drawn.draw_in else {
            return without(format!("{}'s draw length is not noted", drawn.name));
        };
        let curve = &self.latest.curve;
        let Some((share, stored)) =
            curve.efficiency(draw, mass_gr, shot.fps).zip(curve.stored_to_ftlbf(draw))
        else {
            return without(format!("{}'s draw lies outside what was measured", drawn.name));
        };
        let kinetic = kinetic_energy_j(mass_gr, shot.fps);
        figures.kinetic_energy_j = Some(kinetic);
        figures.efficiency = Some(share);
        (figures.efficiency_archer, figures.efficiency_draw_in) = (shot.archer, Some(draw));
        let by = if shot.archer.is_some() { "drawn by" } else { "by whom is not noted, taken as drawn by" };
        let far = words::draw(draw, self.asked.units);
        let shown = format!("{shown}, {by} {} at {far}: {} in the arrow", drawn.name, words::energy(kinetic));
        let cannot = self.latest.cannot_give(draw, mass_gr, shot.fps);
        let of = of_stored(share, stored, cannot, figures.from_no_weight);
        let source = "kinetic energy over energy stored; NIST SP 811".into();
        Ok(Some(Said { words: format!("{shown}, {of}{whose}"), source, caution: None }))
    }

    /// Returns who drew for a speed; who draws now where that is not noted.
    fn drawn(&self, shot: &Shot) -> Result<Drawer, S::Error> {
        match shot.archer {
            Some(id) => Drawer::read(self.store, id, self.names),
            None => Ok(self.drawer.clone()),
        }
    }

    /// Returns the latest speed that was measured with the bow, of the arrow set that was asked for, and when; the archer's own
    /// where there is one, else a sentence that there is none.
    fn speed(&self) -> Result<Option<(Shot, Moment, String)>, S::Error> {
        let all = shots(self.store, self.timeline.bow, self.asked.arrows)?;
        let dated: Vec<Shot> = all.into_iter().filter(|shot| shot.at.is_some()).collect();
        let own = dated.iter().find(|shot| shot.archer == Some(self.drawer.id));
        let none = match own {
            None if dated.first().is_some_and(|shot| shot.archer.is_some()) => {
                format!(" No speed of {}'s own was measured.", self.drawer.name)
            }
            _ => String::new(),
        };
        let shot = own.or(dated.first()).cloned();
        Ok(shot.and_then(|shot| Some((shot.clone(), shot.at?, none))))
    }
}

/// Says what an arrow takes of the energy that is stored, ft·lbf.
fn of_stored(share: f64, stored: f64, cannot: bool, whole: bool) -> String {
    let (percent, stored) = (trimmed(100.0 * share, 0), words::energy(stored * FOOT_POUND_J));
    if cannot {
        format!(
            "more than the {stored} that the curve stores there. That cannot be: check speed, mass, draw length and curve."
        )
    } else if whole {
        format!("{percent} % of the {stored} stored there.")
    } else if share > 1.0 {
        format!(
            "more than the {stored} stored there from the first draw measured on: measure where there is no weight as well."
        )
    } else {
        format!(
            "{percent} % at most of what is stored there, at least {stored}, since the curve does not begin where there is no \
             weight."
        )
    }
}
