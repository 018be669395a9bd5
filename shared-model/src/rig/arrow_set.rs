//! A set of arrows by its masses: how they scatter, what that does at the target, which to pair and which to keep.
//!
//! # Formula
//! Mean and SD over n − 1. Outlying: more than 3.5 robust SDs from the median, 3.5 max(MAD / 0.6745, step of the scale).
//! The mean arrow is the mean of those that are not outlying, so that one that was weighed wrong does not move the others.
//! The k arrows nearest in mass lie side by side once sorted: the window with the least range. Pairs by neighbours have
//! the least summed difference; with an odd number the one whose absence leaves the least stays alone.
//! Odd in length: more than 0.25 in from the median of those around whose length, within 0.25 in, the most arrows lie; of
//! several such lengths the longest, since a short arrow is the danger.
//! At the target: the bow gives every arrow the same kinetic energy, so v = v₀ √(m₀ / m), near the mean −dm / (2 m) of the
//! speed; each is launched at the angle at which the mean arrow is level again at the distance, and its height there is
//! what its mass is worth.
//! # Units
//! grains; ft/s, m, mm; heights in mm, above the mean arrow positive.
//! # Source
//! Robust SD and 3.5: Iglewicz and Hoaglin, How to Detect and Handle Outliers (ASQC 1993). Kinetic energy as given:
//! textbook mechanics, an assumption; a bow gives a heavier arrow a little more, so the heights are rather too large.
//! Conversions: NIST SP 811. From how much on a length is odd: common practice, no source.
//! # Limits
//! Masses above 0; shape and spine alike, so that only the mass differs; still air.

use super::{
    arrow::{FOOT_M, GRAIN_KG},
    trajectory::Launch,
};
use crate::ModelError;
use serde::Serialize;

/// From how many robust SDs on a mass is outlying.
const OUTLYING: f64 = 3.5;
/// What the MAD of a normal distribution is of its SD.
const MAD_OF_SD: f64 = 0.674_5;
/// By how much arrows of one set may differ in length, in (common practice, no source).
pub const ALIKE_IN: f64 = 0.25;
/// Steps in which scales show, of a grain or of a gram.
const STEPS: [f64; 7] = [1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];

/// The drag coefficient on the cross-section of the shaft that is taken where none is known: from memory, wind tunnels
/// found about 1.5 to 2.6 for target arrows.
pub const USUAL_CD: f64 = 2.0;
/// The density of the air that is taken where none is known, kg/m³: ISO 2533 at sea level.
pub const USUAL_AIR_KG_M3: f64 = 1.225;

/// Something measured of several arrows.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Scatter {
    /// How many.
    pub n: usize,
    /// Their mean.
    pub mean: f64,
    /// Their SD, over n − 1; none of one alone.
    pub sd: Option<f64>,
    /// The least.
    pub least: f64,
    /// The most.
    pub most: f64,
    /// From the least to the most.
    pub range: f64,
}

/// Some arrows of a set, by number, and the range of their masses.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Window {
    /// Their numbers, the lightest first.
    pub numbers: Vec<u32>,
    /// From the lightest to the heaviest, grains.
    pub range_gr: f64,
}

/// Arrows in pairs.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Pairs {
    /// The pairs, by number.
    pub pairs: Vec<[u32; 2]>,
    /// The differences of the pairs, summed, grains.
    pub summed_gr: f64,
    /// Who stays alone, of an odd number.
    pub alone: Option<u32>,
}

/// The mean arrow of a set as it flies.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeanArrow {
    /// Its mass in grains.
    pub mass_gr: f64,
    /// How fast it leaves, ft/s.
    pub speed_fps: f64,
    /// Outer diameter of the shaft in mm.
    pub diameter_mm: f64,
    /// Drag coefficient on the cross-section of the shaft.
    pub cd: f64,
    /// Density of the air in kg/m³.
    pub air_density_kg_m3: f64,
}

/// Returns how some values scatter; nothing where there are none.
pub fn scatter(values: &[f64]) -> Option<Scatter> {
    let n = values.len();
    let mean = values.iter().sum::<f64>() / n as f64;
    let least = values.iter().copied().reduce(f64::min)?;
    let most = values.iter().copied().reduce(f64::max)?;
    let squares = values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>();
    let sd = (n > 1).then(|| libm::sqrt(squares / (n - 1) as f64));
    Some(Scatter { n, mean, sd, least, most, range: most - least })
}

/// Returns the step of the scale that some masses in grains were read from: the coarsest of which all are multiples.
pub fn scale_step_gr(masses_gr: &[f64]) -> Option<f64> {
    let on = |step: f64| {
        masses_gr.iter().all(|m| {
            let steps = m / step;
            (steps - libm::round(steps)).abs() < 2e-3
        })
    };
    let units = [1.0, 1e-3 / GRAIN_KG];
    let mut steps: Vec<f64> = units.iter().flat_map(|unit| STEPS.map(|step| step * unit)).collect();
    steps.sort_by(|a, b| b.total_cmp(a));
    (masses_gr.len() >= 3).then(|| steps.into_iter().find(|step| on(*step))).flatten()
}

/// Returns the numbers of the arrows whose mass is outlying; of fewer than four none is.
pub fn outlying(masses_gr: &[(u32, f64)], step_gr: f64) -> Vec<u32> {
    let values: Vec<f64> = masses_gr.iter().map(|(_, m)| *m).collect();
    let Some(middle) = median(&values).filter(|_| values.len() >= 4) else { return Vec::new() };
    let off: Vec<f64> = values.iter().map(|m| (m - middle).abs()).collect();
    let robust = (median(&off).unwrap_or(0.0) / MAD_OF_SD).max(step_gr);
    let far = masses_gr.iter().zip(&off).filter(|(_, off)| **off > OUTLYING * robust);
    far.map(|((number, _), _)| *number).collect()
}

/// Returns the length of most arrows and the numbers of those whose length is odd beside it, inches.
pub fn odd_lengths(lengths_in: &[(u32, f64)]) -> Option<(f64, Vec<u32>)> {
    // What a computer rounds is no difference.
    let alike = |a: f64, b: f64| (a - b).abs() <= ALIKE_IN + 1e-9;
    let near = |middle: f64| -> Vec<f64> {
        lengths_in.iter().map(|(_, length)| *length).filter(|length| alike(*length, middle)).collect()
    };
    let lengths = lengths_in.iter().map(|(_, length)| *length);
    let most = lengths.max_by(|a, b| near(*a).len().cmp(&near(*b).len()).then(a.total_cmp(b)))?;
    let usual = median(&near(most))?;
    let odd = lengths_in.iter().filter(|(_, length)| !alike(*length, usual));
    Some((usual, odd.map(|(number, _)| *number).collect()))
}

/// Returns the mean mass of the arrows that are not outlying, and the numbers of those that are; grains.
pub fn mean_of_near(masses_gr: &[(u32, f64)]) -> Option<(f64, Vec<u32>)> {
    let values: Vec<f64> = masses_gr.iter().map(|(_, mass)| *mass).collect();
    let far = outlying(masses_gr, scale_step_gr(&values).unwrap_or(0.0));
    let near = masses_gr.iter().filter(|(number, _)| !far.contains(number));
    let near: Vec<f64> = near.map(|(_, mass)| *mass).collect();
    scatter(&near).map(|found| (found.mean, far))
}

fn median(values: &[f64]) -> Option<f64> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    let half = sorted.len() / 2;
    let upper = *sorted.get(half)?;
    Some(if sorted.len() % 2 == 1 { upper } else { 0.5 * (sorted[half - 1] + upper) })
}

/// Sorts by mass, then number.
fn sorted(masses_gr: &[(u32, f64)]) -> Vec<(u32, f64)> {
    let mut sorted = masses_gr.to_vec();
    sorted.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    sorted
}

/// Returns the `keep` arrows with the least range of mass; nothing where there are not so many.
pub fn nearest_in_mass(masses_gr: &[(u32, f64)], keep: usize) -> Option<Window> {
    let sorted = sorted(masses_gr);
    let windows = sorted.windows(keep.max(1)).filter(|_| keep > 0);
    let range = |window: &[(u32, f64)]| window[window.len() - 1].1 - window[0].1;
    let best = windows.min_by(|a, b| range(a).total_cmp(&range(b)))?;
    Some(Window { numbers: best.iter().map(|(number, _)| *number).collect(), range_gr: range(best) })
}

/// Returns the arrows in pairs with the least summed difference of mass.
pub fn pairs(masses_gr: &[(u32, f64)]) -> Pairs {
    let sorted = sorted(masses_gr);
    let without = |alone: Option<usize>| {
        let left: Vec<&(u32, f64)> =
            sorted.iter().enumerate().filter(|(i, _)| Some(*i) != alone).map(|(_, arrow)| arrow).collect();
        Pairs {
            pairs: left.chunks_exact(2).map(|pair| [pair[0].0, pair[1].0]).collect(),
            summed_gr: left.chunks_exact(2).map(|pair| pair[1].1 - pair[0].1).sum(),
            alone: alone.map(|i| sorted[i].0),
        }
    };
    if sorted.len().is_multiple_of(2) {
        return without(None);
    }
    let each = (0..sorted.len()).step_by(2).map(|i| without(Some(i)));
    each.min_by(|a, b| a.summed_gr.total_cmp(&b.summed_gr)).unwrap_or_default()
}

impl MeanArrow {
    /// Returns how high an arrow of another mass arrives beside the mean one, mm; nothing where one does not get there.
    ///
    /// # Errors
    /// `out_of_range` for an arrow or a distance that cannot be.
    pub fn height_mm(&self, mass_gr: f64, distance_m: f64) -> Result<Option<f64>, ModelError> {
        let Some(angle) = self.level_angle_deg(distance_m)? else { return Ok(None) };
        self.height_from_mm(angle, mass_gr, distance_m)
    }

    /// Returns the same for the angle at which the mean arrow is level at that distance.
    ///
    /// # Errors
    /// `out_of_range` for an arrow or a distance that cannot be.
    pub fn height_from_mm(
        &self,
        angle_deg: f64,
        mass_gr: f64,
        distance_m: f64,
    ) -> Result<Option<f64>, ModelError> {
        Ok(self.launch(mass_gr, angle_deg).at(distance_m)?.map(|there| 1e3 * there.y_m))
    }

    /// Returns the angle above the horizontal at which the mean arrow is level again at a distance, degrees.
    ///
    /// # Errors
    /// `out_of_range` for an arrow or a distance that cannot be.
    pub fn level_angle_deg(&self, distance_m: f64) -> Result<Option<f64>, ModelError> {
        if distance_m <= 0.0 {
            let message = format!("'distance_m' is {distance_m}; it has to be above 0");
            return Err(ModelError::new("out_of_range", message).at("distance_m"));
        }
        let mut angle = 0.0_f64;
        for _ in 0..60 {
            let Some(there) = self.launch(self.mass_gr, angle).at(distance_m)? else { return Ok(None) };
            if there.y_m.abs() < 1e-9 {
                return Ok(Some(angle));
            }
            // The path turns nearly as a whole with the angle at which it begins.
            angle -= libm::atan2(there.y_m, distance_m).to_degrees();
            if !(-60.0..=60.0).contains(&angle) {
                return Ok(None);
            }
        }
        Ok(None)
    }

    /// Returns an arrow of some mass with the same kinetic energy, as it leaves.
    fn launch(&self, mass_gr: f64, launch_angle_deg: f64) -> Launch {
        let speed_fps = self.speed_fps * libm::sqrt(self.mass_gr / mass_gr);
        Launch {
            speed_m_s: speed_fps * FOOT_M,
            launch_angle_deg,
            mass_g: mass_gr * GRAIN_KG * 1e3,
            diameter_mm: self.diameter_mm,
            cd: self.cd,
            air_density_kg_m3: self.air_density_kg_m3,
        }
    }
}

#[cfg(test)]
mod tests;
