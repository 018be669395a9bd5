//! What the arrows of a group score: the ring that the shaft touches, so the set's diameter counts.

use crate::{
    face::Face,
    id::ThingId,
    kind::{self, Arrows, Group},
    replica::Store,
    verdict::count,
};

/// Returns the diameter of the shafts of an arrow set in mm; 0 where it is not noted, so that only the point counts.
///
/// # Errors
/// Those of the store.
pub fn shaft_mm<S: Store>(store: &S, arrows: Option<ThingId>) -> Result<f64, S::Error> {
    Ok(arrow_set(store, arrows)?.and_then(|set| set.shaft_diameter_mm).unwrap_or(0.0))
}

/// Returns the numbers of a group that no arrow of its set has, with how many arrows that set has; none where the
/// set's count is not noted.
///
/// # Errors
/// Those of the store.
pub fn beyond_set<S: Store>(store: &S, group: &Group) -> Result<(Vec<String>, u32), S::Error> {
    let Some(count) = arrow_set(store, group.arrows)?.and_then(|set| set.count).filter(|count| *count > 0)
    else {
        return Ok((Vec::new(), 0));
    };
    Ok((group.numbers_beyond(count).into_iter().map(str::to_owned).collect(), count))
}

/// Returns an arrow set, where there is one that can be read.
///
/// # Errors
/// Those of the store.
pub fn arrow_set<S: Store>(store: &S, arrows: Option<ThingId>) -> Result<Option<Arrows>, S::Error> {
    let Some(id) = arrows else { return Ok(None) };
    Ok(store.thing("arrows", id)?.and_then(|thing| kind::read::<Arrows>(&thing).ok()))
}

/// Returns what each arrow scored: `X`, `10` … or `M`.
pub fn scores(group: &Group, face: &Face, shaft_mm: f64) -> Vec<String> {
    let score = |point: [f64; 2]| face.score(point, shaft_mm).ring();
    group.points_mm.iter().flatten().map(|p| p.map_or("M".into(), score)).collect()
}

/// Returns the numbers, from 1, of the arrows that struck off the scoring rings.
pub fn off_face(group: &Group, face: &Face, shaft_mm: f64) -> Vec<usize> {
    let off = |p: [f64; 2]| face.score(p, shaft_mm).points == 0;
    let all = group.points_mm.iter().flatten().zip(1..);
    all.filter(|(point, _)| point.is_some_and(off)).map(|(_, n)| n).collect()
}

/// Says which arrows of a group do not count for spread and mean.
pub fn left_out(group: &Group) -> Vec<String> {
    let mut text = Vec::new();
    let points = group.points_mm.as_deref().unwrap_or_default();
    let apart = points.iter().flatten().count() - group.counted_mm().len();
    if apart > 0 {
        text.push(format!("{} left out of spread and mean: flyers and bare shafts.", count(apart, "arrow")));
    }
    let lost = points.iter().filter(|point| point.is_none()).count();
    if lost > 0 {
        text.push(format!(
            "{} with no place: a miss in the score, left out of spread and mean.",
            count(lost, "arrow")
        ));
    }
    text
}
