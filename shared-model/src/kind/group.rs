//! Groups: arrows shot at one face from one place with one setup.

use super::Kind;
use crate::{ModelError, face::Face, id::ThingId, name, notation::arrow_number};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

/// The distances that are shot, m.
pub const DISTANCES_M: std::ops::RangeInclusive<f64> = 0.5..=400.0;

/// Checks that somebody may shoot from a distance.
///
/// # Errors
/// `out_of_range` with the bounds.
pub fn check_distance(distance_m: f64) -> Result<(), ModelError> {
    if DISTANCES_M.contains(&distance_m) {
        return Ok(());
    }
    let message = format!(
        "a distance of {distance_m} m is not between {} m and {} m; check the number and its unit",
        DISTANCES_M.start(),
        DISTANCES_M.end()
    );
    Err(ModelError::new("out_of_range", message).at("distance_m"))
}

/// The most arrows that one group may have.
pub const MOST_ARROWS: usize = 500;

/// A group. Lists that go by arrow have the same length as `points_mm`.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Group {
    /// The bow it was shot with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow: Option<ThingId>,
    /// Who shot it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub archer: Option<ThingId>,
    /// The arrow set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrows: Option<ThingId>,
    /// When, RFC 3339 with its offset from UTC.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The session it belongs to; its archer's day when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub session: Option<String>,
    /// The end it belongs to; itself when left out.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub end: Option<String>,
    /// Distance in m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_m: Option<f64>,
    /// The face: its code, or its zones.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub face: Option<Box<RawValue>>,
    /// Where the arrows struck: mm from the centre of the face, x to the archer's right, y up; null for
    /// an arrow that was not found on the target, which has no position.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub points_mm: Option<Vec<Option<[f64; 2]>>>,
    /// The number on each arrow, where it was noted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrow_numbers: Option<Vec<Option<String>>>,
    /// Indices of arrows that the archer calls flyers.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub flyers: Option<Vec<u32>>,
    /// Indices of bare shafts.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bare: Option<Vec<u32>>,
    /// A name for where the sight stood; a new name when it was moved by an unknown amount.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sight: Option<String>,
    /// Where the sight pointed from a common zero, mrad right and up.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sight_offset_mrad: Option<[f64; 2]>,
    /// The plan that it was shot under.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plan: Option<ThingId>,
    /// Its place in the order of that plan, from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub plan_place: Option<u32>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether it was recorded by mistake.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Kind for Group {
    const NAME: &'static str = "group";
}

impl Group {
    /// Checks what a person typed before it is kept.
    pub fn check(&self) -> Result<(), ModelError> {
        let distance = self.distance_m.ok_or_else(|| {
            ModelError::new("missing_field", "a group needs its distance, for example 30m or 20yd")
                .at("distance_m")
        })?;
        check_distance(distance)?;
        let points = self.points_mm.as_deref().unwrap_or_default();
        if points.is_empty() {
            return Err(ModelError::new("too_few", "a group needs at least one arrow").at("points_mm"));
        }
        if points.len() > MOST_ARROWS {
            let message = format!(
                "{} arrows in one group; the most is {MOST_ARROWS}, split it into ends",
                points.len()
            );
            return Err(ModelError::new("too_many", message).at("points_mm"));
        }
        for (i, point) in points.iter().enumerate() {
            if point.is_some_and(|[x, y]| !(x.abs() <= 20_000.0 && y.abs() <= 20_000.0)) {
                let message = format!(
                    "arrow {} lies over 20 m from the centre or nowhere; check its position and unit",
                    i + 1
                );
                return Err(ModelError::new("out_of_range", message).at(format!("points_mm[{i}]")));
            }
        }
        let marked = self.flyers.iter().chain(&self.bare).flatten();
        if let Some(i) = marked.into_iter().find(|i| **i as usize >= points.len()) {
            let message = format!("there is no arrow with index {i} to mark");
            return Err(ModelError::new("out_of_range", message).at("flyers"));
        }
        self.check_numbers()?;
        for (field, label) in [("session", &self.session), ("end", &self.end), ("sight", &self.sight)] {
            label.as_deref().map_or(Ok(()), |label| name::check_label(field, label))?;
        }
        Ok(())
    }

    /// Checks that every number is one, and that no arrow was shot twice.
    fn check_numbers(&self) -> Result<(), ModelError> {
        let mut seen: Vec<(String, usize)> = Vec::new();
        for (i, typed) in self.arrow_numbers.iter().flatten().enumerate() {
            let Some(typed) = typed else { continue };
            let place = format!("arrow_numbers[{i}]");
            let number = arrow_number(typed).map_err(|e| e.at(place.clone()))?;
            if let Some((_, first)) = seen.iter().find(|(n, _)| *n == number) {
                let message = format!(
                    "arrows {} and {} of one end both have the number {number}; mend the number of one",
                    first + 1,
                    i + 1
                );
                return Err(ModelError::new("arrow_twice", message).at(place));
            }
            seen.push((number, i));
        }
        Ok(())
    }

    /// Returns the numbers that no arrow of a set of so many has: 0, and those above.
    pub fn numbers_beyond(&self, count: u32) -> Vec<&str> {
        let numbers = self.arrow_numbers.iter().flatten().flatten().map(String::as_str);
        numbers
            .filter(|n| n.bytes().all(|b| b.is_ascii_digit()))
            .filter(|n| !n.parse::<u32>().is_ok_and(|n| (1..=count).contains(&n)))
            .collect()
    }

    /// Returns the face, where there is one that can be read.
    pub fn face(&self) -> Option<Face> {
        self.face.as_ref().and_then(|raw| serde_json::from_str(raw.get()).ok())
    }

    /// Returns the code of the face, where it has one.
    pub fn face_code(&self) -> Option<String> {
        self.face.as_ref().and_then(|raw| serde_json::from_str(raw.get()).ok())
    }

    /// Returns the arrows that were found and are no bare shafts: place in `points_mm`, and where they struck.
    pub fn fletched(&self) -> impl Iterator<Item = (usize, [f64; 2])> {
        let found = self.points_mm.iter().flatten().enumerate().filter_map(|(i, p)| Some((i, (*p)?)));
        found.filter(|(i, _)| !self.is_bare(*i))
    }

    /// Returns where those arrows struck that count for mean and spread: neither flyers nor bare shafts.
    pub fn counted_mm(&self) -> Vec<[f64; 2]> {
        self.fletched().filter(|(i, _)| !self.is_flyer(*i)).map(|(_, point)| point).collect()
    }

    /// Returns whether it was shot for a walk-back: the name of its sight is `walk`, or begins with it. Such a group
    /// is shot off the mark on purpose and says nothing of how the archer shoots.
    pub fn is_walk_back(&self) -> bool {
        let first = self.sight.as_deref().and_then(|label| label.split_whitespace().next());
        first.is_some_and(|word| word.eq_ignore_ascii_case("walk"))
    }

    /// Returns whether an arrow is a flyer by the archer's word.
    pub fn is_flyer(&self, index: usize) -> bool {
        self.flyers.iter().flatten().any(|i| *i as usize == index)
    }

    /// Returns whether an arrow is a bare shaft.
    pub fn is_bare(&self, index: usize) -> bool {
        self.bare.iter().flatten().any(|i| *i as usize == index)
    }
}
