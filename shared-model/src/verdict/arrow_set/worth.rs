//! What the scatter of mass is worth at the target, held against what the target can show.

use super::{KnownSet, practice};
use crate::id::ThingId;
use crate::{
    rig::arrow_set::{MeanArrow, USUAL_AIR_KG_M3, USUAL_CD, scatter},
    timeline::USUAL_SHAFT_MM,
    verdict::{
        bow_sheet::Said,
        sentence::{directed, list},
        units::{count, trimmed},
    },
};
use std::collections::BTreeMap;

/// The distances that are told where none was shot, m.
const UNSHOT_M: [f64; 3] = [18.0, 30.0, 50.0];
/// How many of the distances that were shot are told.
const TOLD: usize = 3;
/// The fewest degrees of freedom by which an archer's own spread is known.
const LEAST_DF: usize = 10;
/// From what part of the archer's own spread up and down on a height counts: chosen, no source.
const OF_SPREAD: f64 = 0.5;

/// The set as it flies.
pub(super) struct Flight {
    arrow: MeanArrow,
    /// The distances that are told, m, the one with the most arrows first.
    pub distances_m: Vec<f64>,
    /// Whose word speed, drag and air are.
    pub source: String,
    /// What the target can show.
    shown: Shown,
}

/// What a target can show of an arrow that lands higher or lower.
struct Shown {
    shaft_mm: f64,
    /// An archer and the spread up and down within ends, mrad.
    spread: Option<(String, f64)>,
}

impl Shown {
    /// Returns the height from which on a difference counts at a distance, mm, and why in words.
    fn least_mm(&self, distance_m: f64) -> f64 {
        let own = self.spread.as_ref().map_or(0.0, |(_, mrad)| OF_SPREAD * mrad * distance_m);
        own.max(self.shaft_mm)
    }
}

impl Flight {
    /// Returns the farthest of the distances that are told, where heights count the most.
    fn farthest_m(&self) -> f64 {
        self.distances_m.iter().copied().fold(0.0, f64::max)
    }

    /// Returns how high an arrow of a mass lands beside the mean one, mm.
    pub fn height_mm(&self, mass_gr: f64, distance_m: f64) -> Option<f64> {
        self.arrow.height_mm(mass_gr, distance_m).ok().flatten()
    }

    /// Returns whether that counts at a distance.
    pub fn counts(&self, mass_gr: f64, distance_m: f64) -> bool {
        self.height_mm(mass_gr, distance_m).is_some_and(|mm| mm.abs() >= self.shown.least_mm(distance_m))
    }
}

impl KnownSet {
    /// Returns the set as it flies, where a speed is known.
    pub(super) fn flight(&self, wanted: &mut Vec<String>) -> Option<Flight> {
        let mass_gr = self.mean_mass_gr().filter(|_| self.masses().len() > 1)?;
        let measured = self.on.iter().filter_map(|on| Some((on, on.speeds.counts.as_ref()?)));
        let Some((on, speed)) = measured.max_by_key(|(_, speed)| speed.at_ms) else {
            wanted
                .push("the speed of an arrow of the set, for what its masses are worth at the target".into());
            return None;
        };
        let shaft_mm = self.record.shaft_diameter_mm.unwrap_or(USUAL_SHAFT_MM);
        let assumed = if self.record.shaft_diameter_mm.is_none() {
            wanted.push("the diameter of the shafts, for their drag".into());
            format!(", shaft of {} mm assumed (common practice, no source)", trimmed(shaft_mm, 1))
        } else {
            String::new()
        };
        let source = format!(
            "{} ft/s measured with {}{}{}; the same energy for every arrow is assumed, which makes these rather too large, since a heavier arrow \
             takes somewhat more of the bow's energy (common practice, no source); drag \
             coefficient {} from memory, air of ISO 2533 at sea level{assumed}",
            trimmed(speed.speed_fps, 1),
            on.name,
            speed.day.as_ref().map_or_else(String::new, |day| format!(", {day}")),
            speed.drawn.trim_end_matches(','),
            trimmed(USUAL_CD, 1)
        );
        let (cd, air_density_kg_m3) = (USUAL_CD, USUAL_AIR_KG_M3);
        let arrow =
            MeanArrow { mass_gr, speed_fps: speed.speed_fps, diameter_mm: shaft_mm, cd, air_density_kg_m3 };
        let shown = Shown { shaft_mm, spread: self.spread() };
        Some(Flight { arrow, distances_m: self.distances_m(), source, shown })
    }

    /// Returns the distances that were shot most with the set.
    fn distances_m(&self) -> Vec<f64> {
        let mut arrows: BTreeMap<u64, usize> = BTreeMap::new();
        for placed in &self.shot {
            *arrows.entry((placed.group.distance_m * 1e3) as u64).or_default() += placed.group.shots.len();
        }
        let mut by_arrows: Vec<(u64, usize)> = arrows.into_iter().collect();
        by_arrows.sort_by_key(|(mm, n)| (std::cmp::Reverse(*n), *mm));
        let shot: Vec<f64> = by_arrows.into_iter().take(TOLD).map(|(mm, _)| mm as f64 / 1e3).collect();
        if shot.is_empty() { UNSHOT_M.to_vec() } else { shot }
    }

    /// Returns the archer who shot the most with the set, and that spread up and down within groups, mrad.
    fn spread(&self) -> Option<(String, f64)> {
        let mut pooled: BTreeMap<Option<ThingId>, (f64, usize)> = BTreeMap::new();
        for placed in &self.shot {
            let group = &placed.group;
            let high: Vec<f64> = group
                .shots
                .iter()
                .filter(|shot| !shot.bare && !shot.flyer)
                .map(|shot| shot.at_mm[1] / group.distance_m)
                .collect();
            if high.len() < 2 {
                continue;
            }
            let mean = high.iter().sum::<f64>() / high.len() as f64;
            let of = pooled.entry(placed.archer).or_default();
            of.0 += high.iter().map(|y| (y - mean) * (y - mean)).sum::<f64>();
            of.1 += high.len() - 1;
        }
        let (archer, (squares, df)) = pooled.into_iter().max_by_key(|(_, (_, df))| *df)?;
        let name =
            archer.map_or_else(|| "the archer".to_owned(), |id| crate::named::name_of(&self.names, id));
        (df >= LEAST_DF).then(|| (name, libm::sqrt(squares / df as f64)))
    }

    /// Says what the scatter of mass is worth at the distances shot.
    pub(super) fn worth(&self, flight: Option<&Flight>) -> Vec<Said> {
        let Some(flight) = flight else { return Vec::new() };
        let masses = self.masses();
        let by_mass = |a: &&(u32, f64), b: &&(u32, f64)| a.1.total_cmp(&b.1);
        let (Some(light), Some(heavy)) = (masses.iter().min_by(by_mass), masses.iter().max_by(by_mass))
        else {
            return Vec::new();
        };
        let at = |distance: &f64| {
            let [low, high] = [heavy, light].map(|(_, mass)| flight.height_mm(*mass, *distance));
            let [low, high] = [low?, high?].map(|mm| directed(mm, 1, self.units));
            Some(format!("{low} and {high} at {}", self.units.distance(*distance)))
        };
        let told: Vec<String> = flight.distances_m.iter().filter_map(at).collect();
        if told.is_empty() {
            return Vec::new();
        }
        let unshot = if self.shot.is_empty() { " (nothing was shot with the set yet)" } else { "" };
        let words = format!(
            "By mass alone the heaviest, shaft {}, and the lightest, shaft {}, land beside the mean arrow: {}{unshot}.",
            heavy.0,
            light.0,
            told.join("; ")
        );
        let mut said = vec![Said { words, source: flight.source.clone(), caution: None }];
        said.extend(self.taller(flight, &masses));
        said.push(self.target_shows(flight, &masses));
        said
    }

    /// Says what all masses together add to the spread up and down that the archer has.
    fn taller(&self, flight: &Flight, masses: &[(u32, f64)]) -> Option<Said> {
        let distance = flight.farthest_m();
        let heights: Vec<f64> =
            masses.iter().filter_map(|(_, mass)| flight.height_mm(*mass, distance)).collect();
        let (sd, (name, mrad)) = (scatter(&heights)?.sd?, flight.shown.spread.as_ref()?);
        let own = mrad * distance;
        // Groups that lie on one height to the last digit have no share to give.
        let left = Some(libm::sqrt((1.0 - (sd / own) * (sd / own)).max(0.0)));
        let left = left.filter(|left| own > 0.0 && left.is_finite())?;
        Some(Said {
            words: format!(
                "All the masses together scatter the arrows up and down by an SD of {} at {}, where {name}'s groups have {}: \
                 with arrows all of one mass they would be {} % less tall.",
                self.units.length(sd),
                self.units.distance(distance),
                self.units.length(own),
                trimmed(100.0 * (1.0 - left), 1)
            ),
            source: flight.source.clone(),
            caution: None,
        })
    }

    /// Says whether the target can show it, and which arrows it is about.
    fn target_shows(&self, flight: &Flight, masses: &[(u32, f64)]) -> Said {
        let distance = flight.farthest_m();
        let bar = self.units.length(flight.shown.least_mm(distance));
        let own = flight
            .shown
            .spread
            .as_ref()
            .filter(|(_, mrad)| OF_SPREAD * mrad * distance > flight.shown.shaft_mm);
        let why = match own {
            Some((name, mrad)) => format!(
                "half of {name}'s own spread up and down there ({} SD)",
                self.units.length(mrad * distance)
            ),
            None => "as wide as the shaft".into(),
        };
        let at = self.units.distance(distance);
        let counting: Vec<String> = masses
            .iter()
            .filter(|(_, mass)| flight.counts(*mass, distance))
            .map(|(n, _)| n.to_string())
            .collect();
        let mut said = practice(match counting.as_slice() {
            [] => format!(
                "Even at {at} that is less than {bar}, {why}: the target cannot show it. No shaft is to be dropped for \
                 its mass alone."
            ),
            some => format!(
                "At {at} a difference counts from {bar} on, {why}. By mass alone so far from the mean arrow: {} ({} of {}).",
                list(some),
                some.len(),
                count(masses.len(), "arrow")
            ),
        });
        said.source = "from what on it counts: chosen here, no source".into();
        said
    }
}
