//! The ends of a season before and after a change: the two neighbouring stretches that a verdict compares.

use super::{Season, SeasonGroup};
use std::collections::BTreeMap;

/// An end by its mean point.
#[derive(Debug, Clone, PartialEq)]
pub struct EndMean {
    /// The session.
    pub session: String,
    /// The sight's epoch: ends of different ones cannot be compared in their place.
    pub sight: String,
    /// Mean of the arrows that count, mrad right and up of the middle, the sight's known moves taken off.
    pub mean_mrad: [f64; 2],
    /// How many arrows that is.
    pub arrows: usize,
}

impl Season {
    /// Returns the ends between the change before and these changes, and those from these to the next, in order; both
    /// empty where the changes are none of the season's.
    pub fn around(&self, changes: &[String]) -> [Vec<EndMean>; 2] {
        let places = || {
            self.changes.iter().enumerate().filter(|(_, c)| changes.contains(&c.id)).map(|(place, _)| place)
        };
        let (Some(first), Some(last)) = (places().min(), places().max()) else { return Default::default() };
        [self.ends_after(first), self.ends_after(last + 1)]
    }

    /// Returns the ends before which so many changes were made.
    fn ends_after(&self, changes: usize) -> Vec<EndMean> {
        let before =
            |g: &&SeasonGroup| self.changes.partition_point(|c| c.at.unix_ms() <= g.at.unix_ms()) == changes;
        let mut places: BTreeMap<(&str, &str, &str), usize> = BTreeMap::new();
        let mut sums: Vec<EndMean> = Vec::new();
        for group in self.groups.iter().filter(before) {
            let points = group.counted_mm();
            if points.is_empty() {
                continue;
            }
            let key = (group.session.as_str(), group.end.as_str(), group.sight.as_str());
            let place = *places.entry(key).or_insert_with(|| {
                let (session, sight) = (group.session.clone(), group.sight.clone());
                sums.push(EndMean { session, sight, mean_mrad: [0.0; 2], arrows: 0 });
                sums.len() - 1
            });
            let offset = group.sight_offset_mrad.unwrap_or_default();
            let end = &mut sums[place];
            for point in points {
                end.arrows += 1;
                for axis in 0..2 {
                    let mrad = point[axis] / group.distance_m - offset[axis];
                    end.mean_mrad[axis] += (mrad - end.mean_mrad[axis]) / end.arrows as f64;
                }
            }
        }
        sums
    }
}
