//! Seasons as the timeline gives them.

#![allow(clippy::unwrap_used)]
use super::*;
use crate::{
    id::DeviceId,
    kind::{self, Change},
    replica::{Memory, Replica, Writer},
};

const T0: u64 = 1_775_000_000_000;

fn id(n: u8) -> ThingId {
    ThingId::new(T0, [n; 10])
}

struct Range {
    replica: Replica<Memory>,
    next: u8,
}

impl Range {
    fn keep(&mut self, draft: impl FnOnce(ThingId) -> crate::replica::Draft) -> ThingId {
        self.next += 1;
        let new = id(self.next);
        let writer = Writer { device: DeviceId::new(T0, [1; 10]), author: id(200) };
        self.replica.append(writer, vec![draft(new)], T0).unwrap();
        new
    }

    fn shoot(&mut self, at: &str, archer: u8, edit: impl FnOnce(&mut Group)) -> ThingId {
        let mut group = Group {
            bow: Some(id(100)),
            archer: Some(id(archer)),
            at: Some(at.into()),
            distance_m: Some(30.0),
            points_mm: Some(vec![Some([1.0, 2.0]), None, Some([3.0, 4.0])]),
            ..Group::default()
        };
        edit(&mut group);
        self.keep(|new| kind::draft(new, &group).unwrap())
    }

    fn change(&mut self, at: &str, turns: f64) -> ThingId {
        let mut change = Change { bow: Some(id(100)), at: Some(at.into()), ..Change::default() };
        change.set("plunger_turns", turns.into());
        self.keep(|new| kind::draft(new, &change).unwrap())
    }

    fn season(&self, archer: u8) -> Season {
        Timeline::read(self.replica.store(), id(100)).unwrap().season(Some(id(archer)))
    }
}

fn range() -> Range {
    Range { replica: Replica::new(Memory::default()), next: 0 }
}

#[test]
fn a_change_recorded_late_lands_where_it_happened() {
    let mut range = range();
    let before = range.shoot("2026-04-12T10:00:00+02:00", 201, |_| {});
    let after = range.shoot("2026-04-12T11:00:00+02:00", 201, |_| {});
    let late = range.change("2026-04-12T10:30:00+02:00", 2.25);
    let timeline = Timeline::read(range.replica.store(), id(100)).unwrap();
    let order: Vec<ThingId> = timeline.items.iter().map(|i| i.id).collect();
    assert_eq!(order, [before, late, after]);
    assert!(timeline.setup_of(before).unwrap().is_empty());
    assert_eq!(timeline.setup_of(after).unwrap()["plunger_turns"].value, 2.25);
    let stretches = timeline.stretches();
    assert_eq!(stretches.iter().map(|s| s.arrows).collect::<Vec<_>>(), [3, 3]);
}

#[test]
fn a_change_of_the_same_moment_keeps_its_place_by_stamp() {
    let mut range = range();
    let at = "2026-04-12T10:00:00Z";
    range.shoot(at, 201, |_| {});
    range.change(at, 2.0);
    range.shoot(at, 201, |_| {});
    let season = range.season(201);
    assert!(season.groups[0].at.unix_ms() < season.changes[0].at.unix_ms());
    assert!(season.changes[0].at.unix_ms() <= season.groups[1].at.unix_ms());
}

#[test]
fn a_group_knows_the_settings_that_were_in_force() {
    let mut range = range();
    range.shoot("2026-04-12T10:00:00Z", 201, |_| {});
    range.change("2026-04-12T10:05:00Z", 2.0);
    range.shoot("2026-04-12T10:10:00Z", 201, |_| {});
    range.shoot("2026-04-12T10:15:00Z", 201, |_| {});
    range.change("2026-04-12T10:12:00Z", 2.5);
    let mut named =
        Change { bow: Some(id(100)), at: Some("2026-04-12T10:13:00Z".into()), ..Change::default() };
    named.set("rest", "the wire one".into());
    range.keep(|new| kind::draft(new, &named).unwrap());
    let season = range.season(201);
    let turns: Vec<Option<f64>> =
        season.groups.iter().map(|g| g.settings.get("plunger_turns").copied()).collect();
    assert_eq!(turns, [None, Some(2.0), Some(2.5)]);
    assert!(!season.groups[2].settings.contains_key("rest"), "a part is no number");
}

#[test]
fn what_is_put_back_before_the_next_arrow_is_no_change() {
    let mut range = range();
    let shoot = |range: &mut Range, minute: u32| {
        range.shoot(&format!("2026-04-12T10:{minute:02}:00Z"), 201, |_| {});
    };
    range.change("2026-04-12T09:00:00Z", 2.0);
    shoot(&mut range, 0);
    range.change("2026-04-12T10:01:00Z", 2.5);
    range.change("2026-04-12T10:02:00Z", 2.0);
    shoot(&mut range, 3);
    range.change("2026-04-12T10:04:00Z", 2.25);
    range.change("2026-04-12T10:05:00Z", 2.5);
    shoot(&mut range, 6);
    let season = range.season(201);
    assert_eq!((season.changes.len(), season.undone), (3, 2));
    let last: Vec<&SeasonChange> = season.changes[1..].iter().collect();
    let altered = net(&last);
    assert_eq!(altered.len(), 1);
    assert_eq!((altered[0].before.as_ref(), &altered[0].after), (Some(&Value::from(2.0)), &Value::from(2.5)));
}

#[test]
fn of_two_distances_with_as_many_arrows_the_face_is_that_of_the_shorter() {
    let mut range = range();
    for (minute, distance_m, face) in [(0, 18.0, "\"wa_40\""), (5, 70.0, "\"wa_122\"")] {
        range.shoot(&format!("2026-04-12T10:0{minute}:00Z"), 201, |g| {
            g.distance_m = Some(distance_m);
            g.face = Some(serde_json::from_str(face).unwrap());
        });
    }
    let season = range.season(201);
    assert!(season.face().is_some_and(|face| face.contains("wa_40")), "{:?}", season.face());
}

#[test]
fn archers_are_kept_apart_and_bare_or_lost_arrows_left_out() {
    let mut range = range();
    range.shoot("2026-04-12T10:00:00Z", 201, |g| (g.bare, g.flyers) = (Some(vec![0]), Some(vec![2])));
    range.shoot("2026-04-12T10:05:00Z", 202, |_| {});
    let season = range.season(201);
    assert_eq!((season.groups.len(), season.bare, season.lost), (1, 1, 1));
    assert_eq!(season.groups[0].points_mm, [[3.0, 4.0]]);
    assert_eq!(season.groups[0].flyers, [0]);
}

#[test]
fn another_arrow_set_in_the_groups_is_a_change_even_when_nobody_said_so() {
    let mut range = range();
    range.shoot("2026-04-12T10:00:00Z", 201, |g| g.arrows = Some(id(150)));
    range.shoot("2026-04-12T10:05:00Z", 201, |g| g.arrows = Some(id(151)));
    range.shoot("2026-04-12T10:10:00Z", 201, |_| {});
    let season = range.season(201);
    assert_eq!(season.changes.len(), 1);
    assert_eq!(season.changes[0].altered[0].after, Value::String(id(151).to_string()));
    assert!(season.changes[0].at.unix_ms() > season.groups[0].at.unix_ms());
    assert!(season.changes[0].at.unix_ms() <= season.groups[1].at.unix_ms());
}
