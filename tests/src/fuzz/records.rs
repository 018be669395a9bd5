//! Records of whatever content that came from another device: everything that is shown of them holds.
//!
//! A line is a kind, a number for the thing and its fields: `group 3 {"bow": "#1", "at": "2026-04-12T10:30:00Z"}`;
//! `#1` stands for the id of thing 1.

use super::{
    chain,
    told::{told, well},
};
use serde_json::value::{RawValue, to_raw_value};
use sheaf_model::{
    ModelError,
    face::part,
    id::{DeviceId, ThingId},
    kind::{
        self, Arrows, Baseline, Bow, Change, Curve, Group, Kind, Mark, NAMES, Note, Pair, Part, Person, Plan,
        Practice, Session, Speed,
    },
    log::{Entry, Hash, Tick, VERSION},
    merge::Thing,
    replica::{Memory, Store},
    timeline::{Asked, Timeline},
    verdict::{
        Units, block_session, bow_dial, bow_sheet, bow_verdict, dial_plot, dial_table, expected_rounds,
        last_days, limits_of, limits_when_shot, plan_state, reminders_by, report, wear_sheet,
    },
};
use std::collections::BTreeMap;

const T0: u64 = 1_775_000_000_000;

/// Reads records and asks everything of them that can be asked.
pub fn check(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let entries: Vec<Entry> = text.lines().take(200).enumerate().filter_map(entry).collect();
    let entries = chain::mended(entries);
    look(chain::merged(&entries).store());
}

fn thing(n: u8) -> ThingId {
    ThingId::new(T0, [n; 10])
}

fn entry((n, line): (usize, &str)) -> Option<Entry> {
    let mut words = line.splitn(3, ' ');
    let (kind, number, fields) = (words.next()?, words.next()?.parse::<u8>().ok()?, words.next()?);
    let mut set: BTreeMap<String, Box<RawValue>> = serde_json::from_str(fields).ok()?;
    for value in set.values_mut() {
        if let Some(number) = value.get().strip_prefix("\"#").and_then(|t| t.strip_suffix('"')?.parse().ok())
        {
            *value = to_raw_value(&thing(number)).ok()?;
        }
    }
    Some(Entry {
        v: VERSION,
        device: DeviceId::new(T0, [number % 3; 10]),
        seq: 1,
        stamp: Tick::new(T0 + n as u64, 0).ok()?,
        author: thing(0),
        kind: kind.into(),
        id: thing(number),
        body_hash: Hash::NONE,
        prev: Hash::NONE,
        body: to_raw_value(&BTreeMap::from([("set", set)])).ok(),
    })
}

/// Asks everything of a store that the command line and the service ask: it is answered, or refused in words.
pub fn look(store: &Memory) {
    for kind in NAMES {
        store.visit(kind, None, &mut read).expect("memory is read");
        store.visit_rewritten(kind, &mut |thing| assert!(thing.parts().count() > 1)).expect("memory is read");
    }
    let units = if store.vector().total().is_multiple_of(2) { Units::Metric } else { Units::Imperial };
    if let Some(report) = well(report(store, &Asked::default(), units, T0 as i64)) {
        shown(&report);
    }
    let mut bows = Vec::new();
    store.visit("bow", None, &mut |thing| bows.push(thing.id)).expect("memory is read");
    for bow in bows.into_iter().take(3) {
        bow_holds(store, bow).unwrap_or_else(|e| told(&e));
    }
}

fn bow_holds(store: &Memory, bow: ThingId) -> Result<(), ModelError> {
    let timeline = Timeline::read(store, bow)?;
    let of_items = timeline.changes().count() + timeline.groups().count();
    assert_eq!(of_items, timeline.items.len());
    let of_stretches: usize = timeline.stretches().iter().map(|s| s.groups.len()).sum();
    assert_eq!(of_stretches, timeline.groups().count());
    let _ = (timeline.setup_now(), timeline.shots());
    timeline.unplaced.iter().for_each(|u| assert!(!u.why.is_empty()));
    let (asked, units) = (Asked::default(), Units::Metric);
    bow_verdict(store, bow, None, &asked, units).map_or_else(|e| told(&e), |v| shown(&v));
    for setting in timeline.setup_now().into_keys().take(2) {
        let dial = bow_dial(store, bow, &setting, None, asked.confidence, units)?;
        shown(&dial);
        for archer in &dial.archers {
            assert!(!archer.sentence.is_empty());
            if let Some(figures) = &archer.figures {
                let _ = (dial_table(figures, units), dial_plot(figures, units, 60));
            }
        }
    }
    rig_holds(store, &timeline)?;
    shown(&last_days(store, bow, None, &asked, units)?);
    let round = [part("6@30m:wa_80").expect("a part of a round")];
    // Thousands of drawn rounds: not for every input, so that more are tried.
    if store.vector().total().is_multiple_of(4) {
        shown(&expected_rounds(store, bow, None, &round, 4, units)?);
    }
    let mut plans = Vec::new();
    store.visit("plan", None, &mut |thing| plans.push((thing.id, kind::read::<Plan>(thing))))?;
    for (id, plan) in plans {
        let Some(plan) = well(plan) else { continue };
        let _ = well(plan_state(store, id, &plan, units, None)).inspect(shown);
        for item in timeline.groups().take(3) {
            let _ = well(block_session(&timeline, item.1, &plan));
        }
    }
    Ok(())
}

/// What wears and what lies beyond a limit: no count is lost or wraps, and every finding says what it found.
fn rig_holds(store: &Memory, timeline: &Timeline) -> Result<(), ModelError> {
    let bow = timeline.bow;
    let sheet = wear_sheet(store, Some(bow))?;
    for row in &sheet.rows {
        assert_eq!(row.arrows, row.placed.saturating_add(row.practice));
        assert!(!row.words.is_empty() && row.reminder.is_some() == row.remind_at.is_some());
    }
    shown(&sheet);
    shown(&wear_sheet(store, None)?);
    let _ = well(bow_sheet(store, bow, thing(0), Units::Metric, 60)).inspect(shown);
    for finding in limits_of(store, bow, Some(thing(2)))? {
        assert!(!finding.words.is_empty() && !finding.whose.is_empty() && finding.beyond > 0.0);
        shown(&finding);
    }
    for (item, _) in timeline.groups().take(2) {
        limits_when_shot(store, bow, item.id)?;
        reminders_by(store, item.id)?;
    }
    timeline.practice.iter().take(2).try_for_each(|count| reminders_by(store, count.id).map(drop))
}

fn shown<T: serde::Serialize>(of: &T) {
    let text = serde_json::to_string(of).expect("an answer is written");
    assert!(!text.contains("NaN"), "{text}");
}

fn read(thing: &Thing) {
    let fields = thing.fields();
    assert!(fields.values().all(|f| f.others.iter().all(|o| o.stamp < f.now.stamp)));
    match thing.kind.as_str() {
        Person::NAME => of::<Person>(thing),
        Bow::NAME => of::<Bow>(thing),
        Part::NAME => of::<Part>(thing),
        Arrows::NAME => of::<Arrows>(thing),
        Change::NAME => of::<Change>(thing),
        Baseline::NAME => of::<Baseline>(thing),
        Group::NAME => of::<Group>(thing),
        Session::NAME => of::<Session>(thing),
        Plan::NAME => of::<Plan>(thing),
        Mark::NAME => of::<Mark>(thing),
        Note::NAME => of::<Note>(thing),
        Pair::NAME => of::<Pair>(thing),
        Curve::NAME => of::<Curve>(thing),
        Speed::NAME => of::<Speed>(thing),
        Practice::NAME => of::<Practice>(thing),
        _ => {}
    }
}

fn of<K: Kind>(thing: &Thing) {
    let fields = thing.fields();
    let folded: BTreeMap<&str, &RawValue> = fields.iter().map(|(n, f)| (n.as_str(), f.now.value)).collect();
    let folded = serde_json::to_string(&folded).expect("fields are written");
    let folded: Option<K> = serde_json::from_str(&folded).ok();
    let read = well(kind::read::<K>(thing));
    let text = |record: &K| serde_json::to_string(record).expect("a record is written");
    assert_eq!(read.as_ref().map(text), folded.as_ref().map(text), "read as its fields are shown");
    if let Some(record) = read {
        kind::draft(thing.id, &record).expect("a record that is read is drafted");
    }
}
