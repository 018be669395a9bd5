//! What `marks` is asked.

use super::MOST;
use crate::ModelError;

/// Drag coefficient on the cross-section of the shaft where none is given: between the 1.5 of a smooth flow about the
/// shaft and the 2.6 of a rough one (Miyazaki et al., Sports Engineering 16 (2013) 43; the values from memory).
pub const CD: f64 = 2.0;

/// Millimetres of an inch, exact (NIST SP 811).
const INCH_MM: f64 = 25.4;

/// What a mark is read on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "lowercase")]
pub enum MarkedOn {
    /// The scale of a sight.
    Sight,
    /// How far below the nock the fingers take the string.
    Crawl,
    /// How far above the middle of the target the point is held.
    Gap,
}

impl MarkedOn {
    /// Returns what a word means; a sight where there is none.
    pub fn named(word: Option<&str>) -> Option<Self> {
        match word {
            None | Some("sight") => Some(Self::Sight),
            Some("crawl") => Some(Self::Crawl),
            Some("gap") => Some(Self::Gap),
            Some(_) => None,
        }
    }

    /// Returns the word in the records.
    pub fn word(self) -> &'static str {
        match self {
            Self::Sight => "sight",
            Self::Crawl => "crawl",
            Self::Gap => "gap",
        }
    }

    /// Returns what people call several of them.
    pub fn noun(self) -> &'static str {
        match self {
            Self::Sight => "sight marks",
            Self::Crawl => "crawls",
            Self::Gap => "gaps",
        }
    }

    /// Returns the least and the most that is plausible.
    pub fn range(self) -> [f64; 2] {
        match self {
            Self::Sight => [-1000.0, 1000.0],
            Self::Crawl => [0.0, 150.0],
            Self::Gap => [-10_000.0, 10_000.0],
        }
    }
}

/// A mark: what was read at a distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Distance in m.
    pub distance_m: f64,
    /// On the sight's scale, or in mm.
    pub reading: f64,
}

/// The arrow and the eye above it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flight {
    /// Mass of the arrow in g.
    pub mass_g: f64,
    /// Diameter of the shaft in mm.
    pub diameter_mm: f64,
    /// Drag coefficient on the shaft's cross-section.
    pub cd: f64,
    /// Density of the air in kg/m³.
    pub air_density_kg_m3: f64,
    /// Height of the eye above the arrow at full draw in mm; of crawls, with no crawl.
    pub eye_mm: f64,
}

impl Default for Flight {
    /// A light target arrow, dry air at 15 °C at sea level (ISO 2533), the eye 100 mm above the arrow (common practice,
    /// no source).
    fn default() -> Self {
        Self { mass_g: 20.0, diameter_mm: 5.5, cd: CD, air_density_kg_m3: 1.225, eye_mm: 100.0 }
    }
}

/// A question about marks.
#[derive(Debug, Clone, PartialEq)]
pub struct MarksInput {
    /// What they are read on.
    pub what: MarkedOn,
    /// The marks.
    pub marks: Vec<Reading>,
    /// How fast the arrow leaves, where it is known.
    pub speed_m_s: Option<f64>,
    /// The arrow and the eye above it.
    pub flight: Flight,
    /// The step to which the readings are read; found from the readings where it is not given.
    pub resolution: Option<f64>,
    /// Confidence of the intervals.
    pub confidence: f64,
    /// The distances asked about.
    pub at_m: Vec<f64>,
}

impl MarksInput {
    /// Returns the distances of the marks, nearest first, each once.
    pub fn distances(&self) -> Vec<f64> {
        let mut distances: Vec<f64> = self.marks.iter().map(|m| m.distance_m).collect();
        distances.sort_by(f64::total_cmp);
        distances.dedup();
        distances
    }

    /// Returns the step to which the readings are read: the largest of 1, 0.1, 0.01, 0.001 of which all are multiples;
    /// of those in mm also of 1 in, 1/2 in and on to 1/16 in.
    pub fn resolution(&self) -> f64 {
        let whole = |v: f64| (v - libm::round(v)).abs() < 1e-6;
        let found = |per_step: f64| self.marks.iter().all(|m| whole(m.reading * per_step));
        // 0 is a multiple of everything, and shows no inches.
        let in_mm = self.what != MarkedOn::Sight && self.marks.iter().any(|m| m.reading != 0.0);
        let inches = [1.0, 2.0, 4.0, 8.0, 16.0].map(|parts| (parts / INCH_MM, INCH_MM / parts));
        let mut steps = inches.into_iter().filter(|_| in_mm).chain([(1.0, 1.0), (10.0, 0.1), (100.0, 0.01)]);
        self.resolution
            .unwrap_or_else(|| steps.find(|(per_step, _)| found(*per_step)).map_or(0.001, |(_, step)| step))
    }

    pub(super) fn check(&self) -> Result<(), ModelError> {
        for (name, n) in [("marks", self.marks.len()), ("at_m", self.at_m.len())] {
            if n > MOST {
                return Err(ModelError::new("too_many", format!("'{name}' has {n}; at most {MOST}")).at(name));
            }
        }
        let distances = [*crate::kind::DISTANCES_M.start(), *crate::kind::DISTANCES_M.end()];
        for (i, mark) in self.marks.iter().enumerate() {
            within(&format!("marks[{i}].distance_m"), mark.distance_m, distances)?;
            within(&format!("marks[{i}].reading"), mark.reading, self.what.range())?;
        }
        for (i, d) in self.at_m.iter().enumerate() {
            within(&format!("at_m[{i}]"), *d, distances)?;
        }
        let flight = &self.flight;
        within("mass_g", flight.mass_g, [3.0, 150.0])?;
        within("diameter_mm", flight.diameter_mm, [1.0, 30.0])?;
        within("cd", flight.cd, [0.0, 20.0])?;
        within("air_density_kg_m3", flight.air_density_kg_m3, [0.0, 2.0])?;
        within("eye_above_arrow_mm", flight.eye_mm, [0.0, 300.0])?;
        within("confidence", self.confidence, [0.5, 0.9999])?;
        self.speed_m_s.map_or(Ok(()), |v| within("speed_m_s", v, super::fit::SPEEDS_M_S))?;
        self.resolution.map_or(Ok(()), |r| within("resolution", r, [1e-6, 1000.0]))
    }
}

fn within(field: &str, value: f64, [least, most]: [f64; 2]) -> Result<(), ModelError> {
    if (least..=most).contains(&value) {
        return Ok(());
    }
    let message =
        format!("'{field}' is {value}; it has to be from {least} to {most}. Is it in another unit?");
    Err(ModelError::new("out_of_range", message).at(field))
}
