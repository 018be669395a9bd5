//! What the arrows of a group score: the ring that the shaft touches, so the set's diameter counts.

use crate::{CliError, store::Home};
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind::{self, Arrows, Group},
    replica::Store,
};

/// Returns the diameter of the shafts of an arrow set in mm; 0 where it is not noted, so that only the point counts.
pub fn shaft_mm(home: &Home, arrows: Option<ThingId>) -> Result<f64, CliError> {
    Ok(set(home, arrows)?.and_then(|set| set.shaft_diameter_mm).unwrap_or(0.0))
}

/// Returns the numbers of a group that no arrow of its set has, with how many arrows that set has; none where the
/// set's count is not noted.
pub fn beyond_set(home: &Home, group: &Group) -> Result<(Vec<String>, u32), CliError> {
    let Some(count) = set(home, group.arrows)?.and_then(|set| set.count).filter(|count| *count > 0) else {
        return Ok((Vec::new(), 0));
    };
    Ok((group.numbers_beyond(count).into_iter().map(str::to_owned).collect(), count))
}

fn set(home: &Home, arrows: Option<ThingId>) -> Result<Option<Arrows>, CliError> {
    let Some(id) = arrows else { return Ok(None) };
    Ok(home.store().thing("arrows", id)?.and_then(|thing| kind::read::<Arrows>(&thing).ok()))
}

/// Returns what each arrow scored: `X`, `10` … or `M`.
pub fn scores(group: &Group, face: &Face, shaft_mm: f64) -> Vec<String> {
    let score = |point: [f64; 2]| {
        let found = face.score(point, shaft_mm);
        match (found.points, found.inner_ten) {
            (0, _) => "M".into(),
            (_, true) => "X".into(),
            (points, false) => points.to_string(),
        }
    };
    group.points_mm.iter().flatten().map(|p| p.map_or("M".into(), score)).collect()
}

/// Returns the numbers, from 1, of the arrows that struck off the scoring rings.
pub fn off_face(group: &Group, face: &Face, shaft_mm: f64) -> Vec<usize> {
    let off = |p: [f64; 2]| face.score(p, shaft_mm).points == 0;
    let all = group.points_mm.iter().flatten().zip(1..);
    all.filter(|(point, _)| point.is_some_and(off)).map(|(_, n)| n).collect()
}
