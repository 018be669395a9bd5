//! Which group is which: ids that follow from what a row says.
//!
//! # Formula
//! A UUIDv7 whose time is the group's `at` and whose other bits are the first ten bytes of a SHA-256 of
//! team, bow, archer, moment, session, end, distance, positions to 0.01 mm in the order shot, and the
//! number of equal groups before it in the file. Faces, sights, notes, arrow numbers and marks play no
//! part, so that a file to which such a column was added brings nothing twice.
//! # Limits
//! A row whose date or position was corrected is another group; its forerunner is to be retired by hand.

use crate::{
    id::{TeamId, ThingId},
    kind::Group,
    log::Hash,
    name,
    timeline::Moment,
};
use std::{collections::BTreeMap, fmt::Write as _};

/// Gives ids to groups, telling equal ones apart by their order.
pub(super) struct Twins {
    team: TeamId,
    seen: BTreeMap<Hash, u32>,
}

impl Twins {
    pub fn new(team: TeamId) -> Self {
        Self { team, seen: BTreeMap::new() }
    }

    /// Returns the id of a group.
    pub fn id(&mut self, group: &Group) -> ThingId {
        let at = group.at.as_deref().and_then(|at| Moment::read(at).ok()).map_or(0, |at| at.unix_ms());
        let text = self.text(group, at);
        let twin = self.seen.entry(Hash::of(text.as_bytes())).or_insert(0);
        *twin += 1;
        derived(u64::try_from(at).unwrap_or(0), &format!("{text}twin {twin}\n"))
    }

    fn text(&self, group: &Group, at: i64) -> String {
        let mut text = format!("sheaf group 1\n{}\n{at}\n", self.team);
        let id = |id: Option<ThingId>| id.map_or(String::new(), |id| id.to_string());
        let label = |label: &Option<String>| serde_json::json!(label).to_string();
        let mut line = |line: String| writeln!(text, "{line}").expect("a String takes any text");
        line(id(group.bow));
        line(id(group.archer));
        line(label(&group.session));
        line(label(&group.end));
        line(format!("{:.3}", group.distance_m.unwrap_or(0.0)));
        for point in group.points_mm.iter().flatten() {
            // The zero is added so that -0.001 and 0.001 read alike.
            let round = |mm: f64| format!("{:.2}", libm::round(mm * 100.0) / 100.0 + 0.0);
            line(point.map_or("M".to_owned(), |[x, y]| format!("{} {}", round(x), round(y))));
        }
        text
    }
}

/// Returns the id of a thing that is made because a file names it: the same on every device of a team,
/// so that two people who read the same file in make one bow of it and not two.
pub fn named_id(team: TeamId, kind: &str, name: &str) -> ThingId {
    derived(0, &format!("sheaf name 1\n{team}\n{kind}\n{}\n", name::key(name)))
}

fn derived(unix_ms: u64, text: &str) -> ThingId {
    let hash = Hash::of(text.as_bytes());
    let mut entropy = [0; 10];
    entropy.copy_from_slice(&hash.as_bytes()[..10]);
    ThingId::new(unix_ms, entropy)
}
