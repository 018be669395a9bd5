//! Which arrow of a set is the shortest, and what it leaves before its point would come behind the grip.

use super::{PRACTICE, Said};
use crate::{
    kind::{Arrows, Person},
    rig::caution,
    stats::fit::BEYOND_PIVOT_IN,
    verdict::{sentence::list, units::trimmed, upper_first},
};

/// By how much a shaft is longer than from the nock to the pivot point of the grip where that leaves room, in (common
/// practice, no source).
const ROOM_IN: f64 = 1.0;

/// The shortest arrows in use of a set: theirs are the points that can come behind the grip.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::verdict) struct Shortest {
    /// Their numbers, where others are longer; none where all are as long.
    pub numbers: Vec<u32>,
    /// How long they are, inches.
    pub length_in: f64,
}

/// Returns the shortest arrows in use; one that was not measured by itself is as long as the set's record says.
pub(in crate::verdict) fn shortest(set: &Arrows) -> Option<Shortest> {
    let lengths = set.lengths_in();
    // Without a count there may be arrows of which nothing is noted.
    let rest = set.length_in.filter(|_| set.count.is_none());
    let all = || lengths.iter().map(|(_, length)| *length).chain(rest);
    let length_in = all().reduce(f64::min)?;
    let some = all().any(|length| length > length_in);
    let of = lengths.iter().filter(|(_, length)| some && *length == length_in);
    Some(Shortest { numbers: of.map(|(number, _)| *number).collect(), length_in })
}

/// What the shortest arrows leave at the longest draw of those who shoot a bow.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::verdict) struct Room {
    shortest: Shortest,
    archer: String,
    draw_in: f64,
    /// How far their points stay before the pivot point of the grip, inches; below 0 they come behind it.
    left_in: f64,
}

impl Room {
    /// Returns what is left; nothing where nobody's draw is noted.
    pub fn left(shortest: Shortest, archers: &[(String, Person)]) -> Option<Self> {
        let draws = archers.iter().filter_map(|(name, person)| Some((name, person.draw_in()?)));
        let (archer, draw_in) = draws.max_by(|a, b| a.1.total_cmp(&b.1))?;
        let left_in = shortest.length_in - (draw_in - BEYOND_PIVOT_IN);
        Some(Self { shortest, archer: archer.clone(), draw_in, left_in })
    }

    /// Returns whether a point would come behind the grip.
    pub fn is_none(&self) -> bool {
        self.left_in < 0.0
    }

    /// Returns whether less is left than is usual.
    pub fn is_little(&self) -> bool {
        self.left_in < ROOM_IN
    }

    /// Warns of a point that would come behind the grip, or says that little is left before it would.
    pub fn said(&self) -> Option<Said> {
        if self.is_none() {
            return Some(Said {
                words: format!(
                    "{}, too short for {}'s draw of {} in: the point would come behind the grip. Do not shoot it.",
                    upper_first(&self.long()),
                    self.archer,
                    trimmed(self.draw_in, 2)
                ),
                source: "draw length: AMO Standards, Field Publication FP-3 (2000)".into(),
                caution: Some(caution::FIRST),
            });
        }
        self.is_little().then(|| Said {
            words: format!(
                "{}: at {}'s draw that leaves {} in before the point comes behind the grip, less than the {} in that are \
                 usual. A draw that creeps takes it; ask a qualified coach.",
                upper_first(&self.long()),
                self.archer,
                trimmed(self.left_in, 2),
                trimmed(ROOM_IN, 0)
            ),
            source: PRACTICE.into(),
            caution: Some(caution::FIRST),
        })
    }

    /// Says the same in a clause; nothing where enough is left.
    pub fn short(&self, set: &str, bow: &str) -> Option<String> {
        let what = match self.which() {
            Some(which) => format!("{which} of {set}"),
            None => set.to_owned(),
        };
        if self.is_none() {
            let draw = trimmed(self.draw_in, 2);
            return Some(format!(
                "do not shoot {what} from {bow}: too short for the draw, {}'s {draw} in",
                self.archer
            ));
        }
        self.is_little().then(|| {
            format!(
                "{what} is short for {bow}: at {}'s draw no more than {} in are left before the point comes behind the grip",
                self.archer,
                trimmed(self.left_in, 2)
            )
        })
    }

    /// Returns which arrows are meant, for example `shaft 7`; nothing where all are.
    fn which(&self) -> Option<String> {
        let numbers: Vec<String> = self.shortest.numbers.iter().map(u32::to_string).collect();
        match numbers.len() {
            0 => None,
            1 => Some(format!("shaft {}", numbers[0])),
            _ => Some(format!("each of the shafts {}", list(&numbers))),
        }
    }

    fn long(&self) -> String {
        let length = trimmed(self.shortest.length_in, 2);
        self.which().map_or_else(|| format!("{length} in long"), |which| format!("{which}, {length} in long"))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use serde_json::json;

    fn set(fields: serde_json::Value) -> Option<Shortest> {
        shortest(&serde_json::from_value(fields).unwrap())
    }

    #[test]
    fn the_shortest_arrow_is_named_where_others_are_longer() {
        let found = set(json!({"count": 12, "length_in": 28.75, "shaft.7.length_in": 27})).unwrap();
        assert_eq!((found.numbers, found.length_in), (vec![7], 27.0));
        let all =
            set(json!({"count": 2, "length_in": 28.75, "shaft.1.length_in": 27, "shaft.2.length_in": 27}));
        assert_eq!(all.unwrap(), Shortest { numbers: vec![], length_in: 27.0 });
        let one = set(json!({"length_in": 28.75, "shaft.1.length_in": 30})).unwrap();
        assert_eq!(
            (one.numbers, one.length_in),
            (vec![], 28.75),
            "those of which nothing is noted count too"
        );
        assert_eq!(set(json!({"count": 12})), None);
    }

    #[test]
    fn the_longest_draw_says_what_is_left() {
        let archers =
            |draw: f64| vec![("Ash".to_owned(), Person { draw_length_in: Some(draw), ..Person::default() })];
        let left = |draw: f64| {
            let shortest = Shortest { numbers: vec![7], length_in: 27.0 };
            Room::left(shortest, &[archers(26.0), archers(draw)].concat()).unwrap()
        };
        // 28.5 in are 26.75 in to the pivot point.
        let words = left(28.5).said().unwrap().words;
        assert!(words.starts_with("Shaft 7, 27 in long: at Ash's draw that leaves 0.25 in"), "{words}");
        let words = left(29.0).said().unwrap().words;
        assert!(words.starts_with("Shaft 7, 27 in long, too short for Ash's draw of 29 in"), "{words}");
        assert_eq!((left(27.75).said(), left(27.75).short("teal", "elm")), (None, None));
    }
}
