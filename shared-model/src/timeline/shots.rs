//! The groups of a bow arrow by arrow, with who shot them, with which set and in which session.

use super::{Setup, Timeline, What, apply};
use crate::{
    id::ThingId,
    kind::Group,
    moment::Moment,
    notation::arrow_number,
    stats::shots::{Shot, ShotGroup},
};
use std::collections::BTreeMap;

/// A group with what its arrows are compared by.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedGroup {
    /// Which record.
    pub id: ThingId,
    /// Who shot it.
    pub archer: Option<ThingId>,
    /// The arrow set: the group's own, else the one on the bow, else the archer's last.
    pub set: Option<ThingId>,
    /// How many changes of the bow came before it.
    pub stretch: usize,
    /// When it was shot.
    pub at: Moment,
    /// The session: a day, and a name where one was given.
    pub session: String,
    /// The name for where the sight stood.
    pub sight: Option<String>,
    /// Its arrows; those that were not found are left out.
    pub group: ShotGroup,
}

impl Timeline {
    /// Returns the groups in order; one without a distance or without an arrow that was found is left out.
    pub fn shots(&self) -> Vec<PlacedGroup> {
        let mut setup = Setup::new();
        let mut last: BTreeMap<Option<ThingId>, ThingId> = BTreeMap::new();
        let (mut placed, mut stretch) = (Vec::new(), 0);
        for item in &self.items {
            let group = match &item.what {
                What::Change(change) => {
                    apply(&mut setup, item, change);
                    stretch += 1;
                    continue;
                }
                What::Group(group) => group,
            };
            let on_bow = || setup.get("arrows")?.value.as_str()?.parse().ok();
            let set = group.arrows.or_else(on_bow).or_else(|| last.get(&group.archer).copied());
            if let Some(set) = set {
                last.insert(group.archer, set);
            }
            let day = item.at.day();
            let session = group.session.as_ref().map_or_else(|| day.clone(), |name| format!("{day} {name}"));
            if let Some(shots) = shots(group, &session) {
                let (id, archer, sight, at) = (item.id, group.archer, group.sight.clone(), item.at);
                placed.push(PlacedGroup { id, archer, set, stretch, at, session, sight, group: shots });
            }
        }
        placed
    }
}

fn shots(group: &Group, session: &str) -> Option<ShotGroup> {
    let distance_m = group.distance_m.filter(|d| d.is_finite() && *d > 0.0)?;
    let number = |i: usize| {
        let noted = group.arrow_numbers.as_ref()?.get(i)?.as_deref()?.trim();
        // Older records may hold what is no number by today's rule; it stands for itself.
        (!noted.is_empty()).then(|| arrow_number(noted).unwrap_or_else(|_| noted.to_owned()))
    };
    let places = group.points_mm.iter().flatten().enumerate();
    let shots: Vec<Shot> = places
        .filter_map(|(i, place)| {
            let at_mm = (*place)?;
            Some(Shot { at_mm, number: number(i), bare: group.is_bare(i), flyer: group.is_flyer(i) })
        })
        .collect();
    let end = group.end.clone();
    (!shots.is_empty()).then(|| ShotGroup { distance_m, session: Some(session.to_owned()), end, shots })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_stay_with_their_arrows_where_one_was_not_found() {
        let group = Group {
            distance_m: Some(18.0),
            points_mm: Some(vec![Some([1.0, 0.0]), None, Some([3.0, 0.0])]),
            arrow_numbers: Some(vec![Some("1".into()), Some("2".into()), Some(" 3".into())]),
            bare: Some(vec![2]),
            flyers: Some(vec![1]),
            ..Group::default()
        };
        let found = shots(&group, "day").expect("arrows");
        let told: Vec<_> = found.shots.iter().map(|s| (s.number.as_deref(), s.bare, s.flyer)).collect();
        assert_eq!(told, [(Some("1"), false, false), (Some("3"), true, false)]);
        assert_eq!(shots(&Group { distance_m: None, ..group }, "day"), None);
    }
}
