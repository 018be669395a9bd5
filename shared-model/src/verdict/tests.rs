#![allow(clippy::unwrap_used)]
use super::{BowVerdict, Report, Units, bow_verdict, figures, report};
use crate::{
    id::{DeviceId, ThingId},
    kind::{self, Arrows, Bow, Change, Group},
    replica::{Draft, Memory, Replica, Writer},
    timeline::Asked,
};

const T0: u64 = 1_775_000_000_000;

fn id(n: u8) -> ThingId {
    ThingId::new(T0, [n; 10])
}

/// One archer with one bow, whose records are kept one by one.
struct Range {
    replica: Replica<Memory>,
    next: u8,
}

impl Range {
    fn open() -> Self {
        let mut range = Self { replica: Replica::new(Memory::default()), next: 0 };
        let bow = Bow { name: Some("elm".into()), ..Bow::default() };
        range.append(kind::draft(id(100), &bow).unwrap());
        range
    }

    fn append(&mut self, draft: Draft) {
        let writer = Writer { device: DeviceId::new(T0, [1; 10]), author: id(200) };
        self.replica.append(writer, vec![draft], T0).unwrap();
    }

    fn new_id(&mut self) -> ThingId {
        self.next += 1;
        id(self.next)
    }

    /// Shoots ends of four arrows about a point, five minutes apart.
    fn ends(&mut self, hour: u32, count: u32, x: f64, edit: impl Fn(&mut Group)) {
        for n in 0..count {
            let (wander, wide) = (f64::from(n % 3), 1.0 + 0.1 * f64::from(n % 4));
            let points = [[0.0, 5.0], [9.0, -8.0], [-7.0, 12.0], [1.0, -4.0]];
            let mut group = Group {
                bow: Some(id(100)),
                archer: Some(id(201)),
                at: Some(format!("2026-04-12T{hour:02}:{:02}:00Z", n * 5)),
                distance_m: Some(30.0),
                points_mm: Some(
                    points.iter().map(|p| Some([p[0] * wide + x + wander, p[1] * wide - wander])).collect(),
                ),
                ..Group::default()
            };
            edit(&mut group);
            let new = self.new_id();
            self.append(kind::draft(new, &group).unwrap());
        }
    }

    fn turn(&mut self, hour: u32, turns: f64) {
        let at = Some(format!("2026-04-12T{hour:02}:00:00Z"));
        let mut change = Change { bow: Some(id(100)), at, ..Change::default() };
        change.set("plunger_turns", turns.into());
        let new = self.new_id();
        self.append(kind::draft(new, &change).unwrap());
    }

    fn verdict(&self) -> BowVerdict {
        bow_verdict(self.replica.store(), id(100), None, &Asked::default(), Units::Metric).unwrap()
    }

    fn report(&self) -> Report {
        report(self.replica.store(), &Asked::default(), Units::Metric, T0 as i64).unwrap()
    }
}

fn face(code: &str) -> impl Fn(&mut Group) {
    let json = format!("\"{code}\"");
    move |group| group.face = Some(serde_json::from_str(&json).unwrap())
}

#[test]
fn what_was_on_the_bow_before_the_first_arrow_is_no_verdict() {
    let mut range = Range::open();
    range.turn(8, 2.0);
    range.ends(10, 4, 0.0, face("wa_80"));
    let archer = &range.verdict().archers[0];
    assert!(archer.verdicts.is_empty());
    assert_eq!(archer.first, ["Shot first with plunger set to 2 turns, 12 April 2026"]);
    let row = &range.report().rows[0];
    assert_eq!(row.last_verdict, None);
    assert!(row.look.iter().all(|l| !l.words.contains("last change")), "{:?}", row.look);

    range.turn(11, 2.25);
    range.ends(12, 4, 40.0, face("wa_80"));
    let archer = &range.verdict().archers[0];
    assert_eq!(archer.verdicts.len(), 1);
    let table = figures::table(archer, Units::Metric);
    assert_eq!((table.len(), table[1][0].as_str(), table[1][1].as_str()), (2, "1", "4+4"));
}

#[test]
fn only_changes_with_a_p_value_count_as_judged_together() {
    let mut range = Range::open();
    range.turn(8, 2.0);
    let correction = |range: &Range| figures::correction(&range.verdict().archers[0]);
    range.ends(9, 6, 0.0, face("wa_80"));
    range.turn(10, 2.25);
    range.ends(11, 6, 0.0, face("wa_80"));
    assert_eq!(correction(&range), None, "one change alone is corrected for nothing");
    range.turn(12, 2.5);
    range.ends(13, 6, 0.0, face("wa_80"));
    range.turn(14, 3.0);
    assert_eq!(range.verdict().archers[0].verdicts.len(), 3);
    let said = correction(&range).unwrap();
    assert_eq!(said, "p: corrected for judging 2 changes at once (Holm)");
}

#[test]
fn the_report_says_from_which_setup_its_figures_are() {
    let mut range = Range::open();
    range.ends(9, 6, 0.0, face("wa_80"));
    range.turn(10, 2.25);
    let row = &range.report().rows[0];
    assert_eq!(row.latest.latest_arrows, 24);
    let says = "nothing shot since the last change: figures from before it";
    assert!(row.look.iter().any(|l| l.words == says), "{:?}", row.look);
    range.ends(11, 1, 0.0, face("wa_80"));
    let row = &range.report().rows[0];
    assert_eq!(row.latest.latest_arrows, 4);
    assert!(row.look.iter().any(|l| l.words == "only 1 end since the last change"), "{:?}", row.look);
}

#[test]
fn a_face_that_cannot_be_read_costs_the_points_and_no_more() {
    let mut range = Range::open();
    range.ends(9, 6, 0.0, face("wa_8000"));
    let archer = &range.verdict().archers[0];
    assert!(
        archer.remarks.iter().any(|r| r.starts_with("no points are counted, since the face \"wa_8000\""))
    );
    let row = &range.report().rows[0];
    assert_eq!((row.groups, row.latest.points_per_arrow), (6, None));
    assert_eq!((row.bow, row.bow_name.as_str()), (id(100), "elm"));
}

#[test]
fn the_report_counts_points_for_the_shaft_that_was_shot() {
    let points = |shaft_mm: f64| {
        let mut range = Range::open();
        let set = Arrows { shaft_diameter_mm: Some(shaft_mm), ..Arrows::default() };
        range.append(kind::draft(id(150), &set).unwrap());
        range.ends(9, 6, 42.0, |group| {
            face("wa_80")(group);
            group.arrows = Some(id(150));
        });
        range.report().rows[0].latest.points_per_arrow.unwrap()
    };
    assert!(points(9.0) > points(5.5) + 0.05, "a thick shaft touches more lines");
}

#[test]
fn a_bow_without_a_change_has_its_sight_looked_at_too() {
    let mut range = Range::open();
    range.ends(9, 6, 80.0, face("wa_80"));
    let row = &range.report().rows[0];
    assert!(row.look.iter().any(|l| l.words.ends_with("check the sight")), "{:?}", row.look);
}
