//! Groups arrow by arrow, as those methods read them that tell the arrows of an end apart.

use std::collections::BTreeMap;

/// One arrow.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Shot {
    /// Where it struck: mm from the centre of the face, x to the archer's right, y up.
    pub at_mm: [f64; 2],
    /// The number on it, where it was noted.
    pub number: Option<String>,
    /// Whether it is a bare shaft.
    pub bare: bool,
    /// Whether it is a flyer by the archer's word.
    pub flyer: bool,
}

/// Arrows shot at one face from one place.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct ShotGroup {
    /// Distance in m.
    pub distance_m: f64,
    /// The session, which tells ends of one name apart.
    pub session: Option<String>,
    /// The end that it is part of; an end by itself when left out.
    pub end: Option<String>,
    /// Its arrows.
    pub shots: Vec<Shot>,
}

/// An arrow of an end, its place as an angle.
#[derive(Debug, Clone, Copy)]
pub(super) struct Placed<'a> {
    pub shot: &'a Shot,
    pub mrad: [f64; 2],
}

/// Returns the arrows of every end, flyers left out; ends stand in the order of their first group.
pub(super) fn ends(groups: &[ShotGroup]) -> Vec<Vec<Placed<'_>>> {
    let mut known: BTreeMap<(Option<&str>, &str), usize> = BTreeMap::new();
    let mut ends: Vec<Vec<Placed>> = Vec::new();
    for group in groups {
        let next = ends.len();
        let at = match &group.end {
            Some(end) => *known.entry((group.session.as_deref(), end)).or_insert(next),
            None => next,
        };
        if at == next {
            ends.push(Vec::new());
        }
        let counted = group.shots.iter().filter(|shot| !shot.flyer);
        ends[at].extend(counted.map(|shot| Placed { shot, mrad: shot.at_mm.map(|v| v / group.distance_m) }));
    }
    ends
}

/// Returns the mean of some places and their number, or nothing where there are none.
pub(super) fn mean(places: impl Iterator<Item = [f64; 2]>) -> Option<([f64; 2], f64)> {
    let (sum, n) = places.fold(([0.0; 2], 0.0), |(s, n), p| ([s[0] + p[0], s[1] + p[1]], n + 1.0));
    (n > 0.0).then(|| (sum.map(|v| v / n), n))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_of_one_end_are_one_and_flyers_stay_out() {
        let shot = |x: f64, flyer| Shot { at_mm: [x, 0.0], flyer, ..Shot::default() };
        let group = |session: &str, end: Option<&str>, shots| ShotGroup {
            distance_m: 10.0,
            session: Some(session.into()),
            end: end.map(Into::into),
            shots,
        };
        let groups = [
            group("a", Some("1"), vec![shot(10.0, false), shot(900.0, true)]),
            group("a", None, vec![shot(1.0, false)]),
            group("a", Some("1"), vec![shot(30.0, false)]),
            group("b", Some("1"), vec![shot(2.0, false)]),
        ];
        let ends = ends(&groups);
        assert_eq!(ends.iter().map(Vec::len).collect::<Vec<_>>(), [2, 1, 1]);
        assert_eq!(mean(ends[0].iter().map(|p| p.mrad)), Some(([2.0, 0.0], 2.0)));
        assert_eq!(mean(std::iter::empty()), None);
    }
}
