//! Target faces: ring geometry and scoring.
//!
//! A face is a set of concentric scoring zones. On a face with several spots a point is measured from
//! the centre of the spot that was aimed at, and the other spots do not score.

mod json;
mod published;
mod rounds;
mod words;

pub use rounds::{part, round, rounds};

use crate::ModelError;

/// The widest shaft that World Archery's rules allow, in mm (Books 3 and 4).
pub const WIDEST_LEGAL_SHAFT_MM: f64 = 9.3;
/// The widest shaft that is believed, in mm; anything wider is a slip of unit.
pub const WIDEST_SHAFT_MM: f64 = 20.0;
const WIDEST_FACE_MM: f64 = 5_000.0;

/// The printed colour of a zone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Colour {
    /// Gold on a target face, the middle of a field face.
    Yellow,
    /// The sevens and eights.
    Red,
    /// The fives and sixes.
    Blue,
    /// The threes and fours; all but the middle of a field face.
    Black,
    /// The ones and twos.
    White,
}

impl Colour {
    /// Returns its name.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yellow => "yellow",
            Self::Red => "red",
            Self::Blue => "blue",
            Self::Black => "black",
            Self::White => "white",
        }
    }
}

/// A scoring zone: everything out to a radius that no smaller zone has taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zone {
    /// What an arrow in the zone scores, 1 to 1000.
    pub points: u32,
    /// The outer radius in mm; the dividing line belongs to this zone.
    pub outer_radius_mm: f64,
    /// The printed colour, of the published faces.
    pub colour: Option<Colour>,
}

/// What one arrow scores.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Score {
    /// Points; 0 is a miss.
    pub points: u32,
    /// Whether it touches the inner ten.
    pub inner_ten: bool,
}

/// A target face: published and known by its code, or one of the archer's own.
///
/// In JSON it is the code, or `{"zones": [{"points": 10, "outer_radius_mm": 61}], "inner10_radius_mm": 30.5}`.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    code: Option<&'static str>,
    name: &'static str,
    zones: Vec<Zone>,
    inner10_radius_mm: Option<f64>,
}

impl Face {
    /// Returns the published face with this code, or `unknown_face` with the nearest codes.
    pub fn by_code(code: &str) -> Result<Self, ModelError> {
        let wanted = code.trim().to_ascii_lowercase();
        published::published()
            .into_iter()
            .find(|face| face.code == wanted)
            .map(|face| Self {
                code: Some(face.code),
                name: face.name,
                zones: face.zones.to_vec(),
                inner10_radius_mm: face.inner10_radius_mm,
            })
            .ok_or_else(|| unknown_face(code, &wanted))
    }

    /// Returns the codes of the published faces.
    pub fn codes() -> impl Iterator<Item = &'static str> {
        published::published().into_iter().map(|face| face.code)
    }

    /// Makes a face of one's own from its zones in any order; errors with `face_zones` or `face_inner10`.
    pub fn own(mut zones: Vec<Zone>, inner10_radius_mm: Option<f64>) -> Result<Self, ModelError> {
        for (index, zone) in zones.iter().enumerate() {
            check_zone(zone).map_err(|error| error.at(format!("zones[{index}]")))?;
        }
        zones.sort_by(|a, b| a.outer_radius_mm.total_cmp(&b.outer_radius_mm));
        check_order(&zones)?;
        if let Some(radius) = inner10_radius_mm
            && !(radius > 0.0 && radius <= zones[0].outer_radius_mm)
        {
            return Err(ModelError::new(
                "face_inner10",
                format!(
                    "the inner ten's radius is {radius} mm; it must be above 0 and at most {} mm, the radius \
                     of the highest zone (or null for a face without one)",
                    zones[0].outer_radius_mm
                ),
            )
            .at("inner10_radius_mm"));
        }
        Ok(Self { code: None, name: "own face", zones, inner10_radius_mm })
    }

    /// Returns the code, or nothing for a face of one's own.
    pub fn code(&self) -> Option<&'static str> {
        self.code
    }

    /// Returns the name for people.
    pub fn name(&self) -> &'static str {
        self.name
    }

    /// Returns the scoring zones, the highest first.
    pub fn zones(&self) -> &[Zone] {
        &self.zones
    }

    /// Returns the radius of the inner ten in mm, if the face has one.
    pub fn inner10_radius_mm(&self) -> Option<f64> {
        self.inner10_radius_mm
    }

    /// Returns the radius in mm beyond which an arrow misses, less the half shaft.
    pub fn scoring_outer_radius_mm(&self) -> f64 {
        self.zones.last().map_or(0.0, |zone| zone.outer_radius_mm)
    }

    /// Returns what an arrow at `point_mm` scores: a shaft that touches a line takes the higher zone.
    ///
    /// Source: World Archery, Books 3 and 4 (an arrow scores by the position of its shaft; one that
    /// touches a dividing line takes the higher value), so a shaft of diameter d at distance r is in
    /// the highest zone with r - d/2 at most the outer radius.
    pub fn score(&self, point_mm: [f64; 2], shaft_diameter_mm: f64) -> Score {
        let squared = point_mm[0] * point_mm[0] + point_mm[1] * point_mm[1];
        let touches = |radius: f64| {
            let reach = radius + 0.5 * shaft_diameter_mm;
            squared <= reach * reach
        };
        let zone = self.zones.iter().find(|zone| touches(zone.outer_radius_mm));
        Score {
            points: zone.map_or(0, |zone| zone.points),
            inner_ten: self.inner10_radius_mm.is_some_and(touches),
        }
    }

    /// Returns the radius in mm of the middle of the ring that scores `points`; `no_such_ring` otherwise.
    ///
    /// On a face with an inner ten the ring of the highest points is what lies outside the inner ten,
    /// so that a plain ten is not read back as an inner one.
    pub fn ring_radius_mm(&self, points: u32) -> Result<f64, ModelError> {
        let Some(index) = self.zones.iter().position(|zone| zone.points == points) else {
            let rings: Vec<String> = self.zones.iter().map(|zone| zone.points.to_string()).collect();
            return Err(ModelError::new(
                "no_such_ring",
                format!(
                    "the {} has no ring {points}; its rings are {}, and a miss is 0",
                    self.name,
                    rings.join(", ")
                ),
            ));
        };
        let outer = self.zones[index].outer_radius_mm;
        let inner = match index {
            0 => self.inner10_radius_mm.filter(|radius| *radius < outer).unwrap_or(0.0),
            _ => self.zones[index - 1].outer_radius_mm,
        };
        Ok(0.5 * (inner + outer))
    }

    /// Returns the radius in mm half-way out of the inner ten; `no_inner_ten` on a face without one.
    pub fn inner_ten_middle_mm(&self) -> Result<f64, ModelError> {
        self.inner10_radius_mm.map(|radius| 0.5 * radius).ok_or_else(|| {
            ModelError::new(
                "no_inner_ten",
                format!("the {} has no inner ten; write the ring's points instead of X", self.name),
            )
        })
    }
}

/// Checks a shaft's diameter in mm: `shaft_diameter` unless it is from 0 to [`WIDEST_SHAFT_MM`].
pub fn check_shaft(diameter_mm: f64) -> Result<f64, ModelError> {
    if (0.0..=WIDEST_SHAFT_MM).contains(&diameter_mm) {
        return Ok(diameter_mm);
    }
    Err(ModelError::new(
        "shaft_diameter",
        format!(
            "the shaft's diameter is {diameter_mm} mm; give it in mm, from 0 to {WIDEST_SHAFT_MM} (the rules \
             allow up to {WIDEST_LEGAL_SHAFT_MM})"
        ),
    )
    .at("shaft_diameter_mm"))
}

fn check_zone(zone: &Zone) -> Result<(), ModelError> {
    let radius = zone.outer_radius_mm;
    if !(radius > 0.0 && radius <= WIDEST_FACE_MM) {
        let message = format!(
            "a zone's outer radius is {radius} mm; it must be above 0 and at most {WIDEST_FACE_MM} mm"
        );
        return Err(ModelError::new("face_zones", message));
    }
    if !(1..=1000).contains(&zone.points) {
        let message = format!("a zone scores {} points; it must score 1 to 1000", zone.points);
        return Err(ModelError::new("face_zones", message));
    }
    Ok(())
}

fn check_order(zones: &[Zone]) -> Result<(), ModelError> {
    if zones.is_empty() || zones.len() > 100 {
        return Err(ModelError::new("face_zones", "a face needs 1 to 100 zones").at("zones"));
    }
    for pair in zones.windows(2) {
        let rises = pair[0].outer_radius_mm < pair[1].outer_radius_mm;
        if !rises || pair[0].points <= pair[1].points {
            return Err(ModelError::new(
                "face_zones",
                format!(
                    "a zone of {} points reaches to {} mm and one of {} points to {} mm; a wider zone must \
                     score less",
                    pair[0].points, pair[0].outer_radius_mm, pair[1].points, pair[1].outer_radius_mm
                ),
            )
            .at("zones"));
        }
    }
    Ok(())
}

fn unknown_face(code: &str, wanted: &str) -> ModelError {
    let mut near: Vec<(f64, &'static str)> =
        Face::codes().map(|known| (strsim::jaro_winkler(wanted, known), known)).collect();
    near.sort_by(|a, b| b.0.total_cmp(&a.0));
    let near: Vec<&str> = near.iter().take(3).map(|(_, code)| *code).collect();
    let shown: String = code.chars().take(60).collect();
    ModelError::new(
        "unknown_face",
        format!("no face has the code \"{shown}\"; the nearest are {}", near.join(", ")),
    )
    .at("face")
}

#[cfg(test)]
mod tests;
