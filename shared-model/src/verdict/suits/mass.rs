//! Whether the arrows of a set are heavy enough for a bow: by what its makers allow, else by the common floor.

use super::{BareAt, SuitBow};
use crate::{
    id::ThingId,
    kind::Part,
    rig::{
        arrow::{ftlbf, grains_per_pound, kinetic_energy_j, momentum_kg_m_s},
        caution,
        limits::{BEARING, FLOOR_GRAINS_PER_POUND, below, decimals_apart, floor_counts},
    },
    verdict::{
        bow_sheet::{LIGHT, PRACTICE, Room, Said},
        sentence::list,
        speed::Speeds,
        units::trimmed,
    },
};
use serde::Serialize;

/// Whether arrows are heavy enough for a bow.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ByMass {
    /// They are, by the makers' limits or by the common floor where none is known; the words say which.
    Suits,
    /// They are not.
    TooLight,
    /// Mass or weight is not known well enough.
    CannotTell,
}

/// What is known of a set on a bow.
#[derive(Debug, Clone)]
pub(in crate::verdict) struct SetOnBow {
    /// Which bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// The lightest arrow in use: its number where it was weighed, and its mass in grains.
    pub lightest: Option<(Option<u32>, f64)>,
    /// What its shortest arrows leave before the grip.
    pub room: Option<Room>,
    /// The speed that counts, and why others do not.
    pub speeds: Speeds,
    /// What is said of the weight on the fingers.
    pub said: Vec<Said>,
    /// That weight from least to most, lbf.
    pub weight_lbf: Option<[f64; 2]>,
    /// The parts on it by setting, as their records say.
    pub makers: Vec<(&'static str, Part)>,
    /// What the records lack.
    pub wanted: Vec<String>,
}

/// A limit that a maker gives.
struct Limit {
    /// Whose: `riser`, `limbs` or another part.
    whose: &'static str,
    least: f64,
}

impl SetOnBow {
    /// Returns the row of this bow; `set` is the name of the arrows.
    pub fn row(self, set: &str, mean_mass_gr: Option<f64>, bare: Vec<BareAt>) -> SuitBow {
        let (by_mass, mass_words) = self.by_mass();
        let flight = self.flight_words(mean_mass_gr);
        let unused = self.unused_words();
        let by_floor = floor_counts(self.noted());
        let grains = self.grains();
        let mut words = self.said;
        words.extend(mass_words);
        words.extend(flight.into_iter().chain(unused));
        let too_short = self.room.as_ref().is_some_and(Room::is_none);
        words.extend(self.room.as_ref().and_then(Room::said));
        words.extend(bare.iter().flat_map(|bare| bare.words.clone()));
        SuitBow {
            bow: self.bow,
            by_mass,
            by_floor,
            too_short,
            short: self.room.and_then(|room| room.short(set, &self.name)),
            name: self.name,
            weight_lbf: self.weight_lbf,
            grains_per_pound: grains,
            speed_fps: self.speeds.counts.as_ref().map(|speed| speed.speed_fps),
            speed_archer: self.speeds.counts.and_then(|speed| speed.archer),
            words,
            bare,
        }
    }

    /// Returns the grains of the lightest arrow on each pound, from least to most.
    fn grains(&self) -> Option<[f64; 2]> {
        let ([low, high], (_, mass)) = (self.weight_lbf.filter(|[low, _]| *low > 0.0)?, self.lightest?);
        Some([grains_per_pound(mass, high), grains_per_pound(mass, low)])
    }

    /// Returns the limits that are noted of the parts.
    fn limits(&self, of: fn(&Part) -> Option<f64>) -> Vec<Limit> {
        let limit = |(whose, part): &(&'static str, Part)| Some(Limit { whose, least: of(part)? });
        self.makers.iter().filter_map(limit).collect()
    }

    /// Judges the mass and says by whose word.
    fn by_mass(&self) -> (ByMass, Vec<Said>) {
        let Some((number, mass)) = self.lightest else { return (ByMass::CannotTell, Vec::new()) };
        let lightest = |decimals| match number {
            Some(number) => format!("the lightest arrow, shaft {number} with {} gr", trimmed(mass, decimals)),
            None => format!("an arrow of {} gr by the set's record", trimmed(mass, decimals)),
        };
        let (mut found, mut said) = self.by_makers(number, mass, &lightest(1));
        if floor_counts(self.noted()) {
            let by = against(self.grains(), FLOOR_GRAINS_PER_POUND);
            found.push(by);
            said.push(self.by_floor(&lightest(1), by));
            return (worst(&found), said);
        }
        said.extend(
            self.grains().map(|_| note(format!("That is {}.", self.grain_words("the lightest arrow", None)))),
        );
        let silent: Vec<String> = self.silent();
        if !silent.is_empty() {
            said.push(note(format!("Of the {} no such limit is noted: ask its maker.", list(&silent))));
        }
        (worst(&found), said)
    }

    /// Judges the mass by every limit of a maker that is noted.
    fn by_makers(&self, number: Option<u32>, mass: f64, lightest: &str) -> (Vec<ByMass>, Vec<Said>) {
        let weighs = |decimals| match number {
            Some(number) => format!("the lightest, shaft {number}, weighs {} gr", trimmed(mass, decimals)),
            None => format!("an arrow weighs {} gr by the set's record", trimmed(mass, decimals)),
        };
        let mut found = Vec::new();
        let mut said = Vec::new();
        for limit in self.limits(|part| part.least_arrow_gr) {
            let light = below(mass, Some(limit.least)).is_some();
            let by = if light { ByMass::TooLight } else { ByMass::Suits };
            found.push(by);
            let decimals = if light { decimals_apart(mass, limit.least, 1) } else { 1 };
            let allows = format!("{} gr", trimmed(limit.least, decimals));
            said.push(self.by_maker(&weighs(decimals), &limit, &allows, by));
        }
        for limit in self.limits(|part| part.least_grains_per_pound) {
            let by = against(self.grains(), limit.least);
            found.push(by);
            let allows = format!("{} grains for each pound", trimmed(limit.least, 2));
            let verb = if self.grains().is_some() { "are" } else { "is" };
            let there = format!("there {verb} {}", self.grain_words(lightest, Some(limit.least)));
            said.push(self.by_maker(&there, &limit, &allows, by));
        }
        (found, said)
    }

    /// Returns the parts of which a limit is noted.
    fn noted(&self) -> impl Iterator<Item = &'static str> {
        let noted = |part: &Part| part.least_arrow_gr.or(part.least_grains_per_pound).is_some();
        self.makers.iter().filter(move |(_, part)| noted(part)).map(|(whose, _)| *whose)
    }

    /// Returns of which of riser and limbs no limit is noted.
    fn silent(&self) -> Vec<String> {
        let silent = BEARING.into_iter().filter(|part| self.noted().all(|noted| noted != *part));
        silent.map(str::to_owned).collect()
    }

    fn by_maker(&self, what: &str, limit: &Limit, allows: &str, by: ByMass) -> Said {
        let then = match by {
            ByMass::Suits => "heavy enough",
            ByMass::TooLight => "too light. Do not shoot it from this bow",
            ByMass::CannotTell => {
                "whether that holds cannot be told before the weight on the fingers is measured"
            }
        };
        Said {
            words: format!("The maker of the {} asks for at least {allows}; {what}: {then}.", limit.whose),
            source: format!("the limit noted of the {}", limit.whose),
            caution: Some(caution::LIGHT_ARROWS),
        }
    }

    /// Returns grains on each pound in words; those below a limit do not read as the limit.
    fn grain_words(&self, what: &str, limit: Option<f64>) -> String {
        let Some(ends) = self.grains() else {
            return format!("{what} on a weight that is not known");
        };
        let [least, most] = ends.map(|grains| {
            let decimals = below(grains, limit).map_or(1, |limit| decimals_apart(grains, limit, 1));
            trimmed(grains, decimals)
        });
        let grains = from_to(&least, &most);
        format!("{grains} grains for each pound with {what}")
    }

    /// Says what the common floor says, which stands in where no maker's limit is noted.
    fn by_floor(&self, lightest: &str, by: ByMass) -> Said {
        let floor = trimmed(FLOOR_GRAINS_PER_POUND, 0);
        let none = "No maker's limit for arrows is noted of riser and limbs";
        let words = match by {
            ByMass::CannotTell if self.grains().is_none() => {
                format!(
                    "{none}, and the weight on the fingers is not known: whether {lightest} is heavy enough cannot be told."
                )
            }
            ByMass::CannotTell => format!(
                "{} may lie on either side of the common floor of {floor}. {none}. Measure the weight and ask the makers.",
                crate::verdict::upper_first(&self.grain_words(lightest, Some(FLOOR_GRAINS_PER_POUND)))
            ),
            ByMass::TooLight => format!(
                "{}: below the common floor of {floor}. Do not shoot it from this bow. {none}.",
                crate::verdict::upper_first(&self.grain_words(lightest, Some(FLOOR_GRAINS_PER_POUND)))
            ),
            ByMass::Suits => {
                let light = self.grains().is_some_and(|[least, _]| least < LIGHT);
                let light = if light { " It is light for many bows all the same." } else { "" };
                format!(
                    "{}: above the common floor of {floor}, which is all there is to go by. {none}.{light}",
                    crate::verdict::upper_first(&self.grain_words(lightest, Some(FLOOR_GRAINS_PER_POUND)))
                )
            }
        };
        Said { words, source: PRACTICE.into(), caution: Some(caution::LIGHT_ARROWS) }
    }

    /// Says why the speed that was measured last does not count.
    pub fn unused_words(&self) -> Option<Said> {
        let words = self.speeds.unused.clone()?;
        Some(Said { words, source: "the records".into(), caution: None })
    }

    /// Says what the mean arrow is from this bow: grains a pound, speed, energy, momentum.
    pub fn flight_words(&self, mean_mass_gr: Option<f64>) -> Option<Said> {
        let mass = mean_mass_gr?;
        let mut parts = Vec::new();
        if let Some([low, high]) = self.weight_lbf.filter(|[low, _]| *low > 0.0) {
            let [least, most] = [high, low].map(|lbf| trimmed(grains_per_pound(mass, lbf), 1));
            let grains = from_to(&least, &most);
            parts.push(format!("{grains} grains for each pound on the fingers"));
        }
        let mut source = "mass and weight of the records".to_owned();
        if let Some(speed) = &self.speeds.counts {
            let joules = kinetic_energy_j(mass, speed.speed_fps);
            parts.push(format!(
                "{} ft/s ({} m/s){} {} ft·lbf ({} J), momentum {} kg m/s",
                trimmed(speed.speed_fps, 1),
                trimmed(speed.speed_fps * 0.304_8, 1),
                if speed.drawn.is_empty() { ":" } else { &speed.drawn },
                trimmed(ftlbf(joules), 1),
                trimmed(joules, 1),
                trimmed(momentum_kg_m_s(mass, speed.speed_fps), 2)
            ));
            let day = speed.day.as_ref().map_or_else(String::new, |day| format!(" {day}"));
            source = format!("speed measured{day}; conversions: NIST SP 811");
        }
        (!parts.is_empty()).then(|| Said {
            words: format!(
                "The mean arrow of {} gr from {}: {}.",
                trimmed(mass, 1),
                self.name,
                parts.join("; ")
            ),
            source,
            caution: Some(caution::LIGHT_ARROWS),
        })
    }
}

/// Says grains from least to most; the least is 0 where nobody knows how heavy the bow is at most.
fn from_to(least: &str, most: &str) -> String {
    match least {
        "0" => format!("at most {most}"),
        least if least == most => least.to_owned(),
        least => format!("{least} to {most}"),
    }
}

/// Holds grains a pound, from least to most, against the least that is allowed.
fn against(grains: Option<[f64; 2]>, allowed: f64) -> ByMass {
    match grains {
        Some([least, _]) if below(least, Some(allowed)).is_none() => ByMass::Suits,
        Some([_, most]) if below(most, Some(allowed)).is_some() => ByMass::TooLight,
        _ => ByMass::CannotTell,
    }
}

/// Returns the verdict that counts of several: the strictest.
fn worst(found: &[ByMass]) -> ByMass {
    let worst = [ByMass::TooLight, ByMass::CannotTell].into_iter().find(|by| found.contains(by));
    worst.unwrap_or(ByMass::Suits)
}

fn note(words: String) -> Said {
    Said { words, source: "the records".into(), caution: Some(caution::LIGHT_ARROWS) }
}

#[cfg(test)]
mod tests;
