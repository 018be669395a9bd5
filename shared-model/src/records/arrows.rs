//! The arrows of a group as they are typed, and as the record keeps them.

use crate::{
    kind::Group,
    notation::{Shot, tenths_mm},
};

/// Returns the arrows of a group as they were typed: places to a tenth of a millimetre, numbers and marks, and nothing
/// else of the group.
pub fn arrows_of(shots: &[Shot]) -> Group {
    let marked = |of: fn(&Shot) -> bool| {
        let list: Vec<u32> = (0..).zip(shots).filter(|(_, s)| of(s)).map(|(i, _)| i).collect();
        Some(list).filter(|list| !list.is_empty())
    };
    let numbers: Vec<Option<String>> = shots.iter().map(|s| s.arrow.clone()).collect();
    Group {
        points_mm: Some(shots.iter().map(|s| s.at.map(|p| p.map(tenths_mm))).collect()),
        arrow_numbers: numbers.iter().any(Option::is_some).then_some(numbers),
        flyers: marked(|s| s.flyer),
        bare: marked(|s| s.bare),
        ..Group::default()
    }
}

/// Returns the arrows of a group, as [`arrows_of`] takes them.
pub fn shots_of(group: &Group) -> Vec<Shot> {
    let number = |i: usize| group.arrow_numbers.as_ref().and_then(|all| all.get(i).cloned().flatten());
    let shot = |(i, at): (usize, &Option<[f64; 2]>)| Shot {
        arrow: number(i),
        at: *at,
        flyer: group.is_flyer(i),
        bare: group.is_bare(i),
    };
    group.points_mm.iter().flatten().enumerate().map(shot).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arrows_come_back_as_they_were_typed() {
        let shots = vec![
            Shot { arrow: Some("3".into()), at: Some([1.26, -0.04]), flyer: true, bare: false },
            Shot { at: None, ..Shot::default() },
            Shot { at: Some([7.0, 8.0]), bare: true, ..Shot::default() },
        ];
        let group = arrows_of(&shots);
        assert_eq!((group.flyers.clone(), group.bare.clone()), (Some(vec![0]), Some(vec![2])));
        let mut kept = shots;
        kept[0].at = Some([1.3, -0.0]);
        assert_eq!(shots_of(&group), kept);
    }
}
