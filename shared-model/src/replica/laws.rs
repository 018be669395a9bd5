//! What must hold of merging whatever people do: any order, any repetition, any split into batches.

#![allow(clippy::unwrap_used)]

use super::{Draft, Memory, PAGE_ENTRIES, Replica, State, Store, Writer, snapshot};
use crate::{
    id::{DeviceId, ThingId},
    journal,
    log::{Admission, Entry, Hash, Have, Stamp, Tick},
    rng::{Rng, Seed},
};
use proptest::prelude::*;
use serde_json::value::{RawValue, to_raw_value};
use std::{collections::BTreeMap, sync::Arc};

const T0: u64 = 1_775_000_000_000;

/// One step of a season: a device writes, settles, retires or takes in what another has.
#[derive(Debug, Clone)]
enum Step {
    Write { device: u8, thing: u8, field: u8, value: u8, settles: bool },
    Pull { to: u8, from: u8 },
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let write = (0..4u8, 0..6u8, 0..4u8, any::<u8>(), any::<bool>()).prop_map(
        |(device, thing, field, value, settles)| Step::Write { device, thing, field, value, settles },
    );
    let pull = (0..4u8, 0..4u8).prop_map(|(to, from)| Step::Pull { to, from });
    prop::collection::vec(prop_oneof![3 => write, 1 => pull], 1..60)
}

fn thing(n: u8) -> ThingId {
    ThingId::new(T0, [n; 10])
}

fn writer(n: u8) -> Writer {
    Writer { device: DeviceId::new(T0, [n; 10]), author: thing(100 + n) }
}

fn draft(kind: &str, id: ThingId, fields: &[(&str, &str)], settles: bool) -> Draft {
    let set = fields.iter().map(|(f, v)| ((*f).to_owned(), RawValue::from_string((*v).to_owned()).unwrap()));
    Draft { kind: kind.into(), id, set: set.collect(), settles }
}

/// Runs the steps on four devices whose clocks are wrong by days, and returns every entry that was written.
fn season(steps: &[Step]) -> Vec<Entry> {
    let mut devices: Vec<Replica<Memory>> = (0..4).map(|_| Replica::new(Memory::default())).collect();
    let mut all = Vec::new();
    for (now, step) in steps.iter().enumerate() {
        match *step {
            Step::Write { device, thing: t, field, value, settles } => {
                let wall = T0 + now as u64 * 1000 + u64::from(device) * 86_400_000;
                let kind = if t % 2 == 0 { "group" } else { "weather_of_tomorrow" };
                let field = ["note", "points_mm", "field_of_tomorrow", "retired"][usize::from(field)];
                let value =
                    if field == "retired" { (value % 2 == 0).to_string() } else { (value % 3).to_string() };
                let drafted = draft(kind, thing(t), &[(field, &value)], settles);
                all.extend(devices[usize::from(device)].append(writer(device), vec![drafted], wall).unwrap());
            }
            Step::Pull { to, from } => {
                let have = devices[usize::from(to)].store().vector().have();
                let page = devices[usize::from(from)].missing_for(&have).unwrap();
                devices[usize::from(to)].absorb(page.entries).unwrap();
            }
        }
    }
    all
}

fn shuffled(entries: &[Entry], rng: &mut Rng) -> Vec<Entry> {
    let mut dealt: Vec<Entry> = entries.to_vec();
    for _ in 0..entries.len() / 3 {
        dealt.push(entries[rng.below(entries.len() as u64) as usize].clone());
    }
    for i in (1..dealt.len()).rev() {
        dealt.swap(i, rng.below(i as u64 + 1) as usize);
    }
    dealt
}

/// Shows the whole state as text: kind, id and every field with its rivals.
fn show(replica: &Replica<Memory>) -> String {
    let mut text = String::new();
    for kind in ["group", "weather_of_tomorrow"] {
        let mut see = |t: &crate::merge::Thing| {
            text += &format!("{kind} {} {}\n", t.id, serde_json::to_string(&t.fields()).unwrap());
        };
        replica.store().visit(kind, None, &mut see).unwrap();
    }
    text
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_order_any_repetition_any_split_gives_the_same_state(steps in steps(), seed in any::<u64>()) {
        let entries = season(&steps);
        let mut rng = Rng::new(Seed(seed));
        let mut shown: Option<(String, Hash)> = None;
        for _ in 0..3 {
            let mut replica = Replica::new(Memory::default());
            let mut rest = shuffled(&entries, &mut rng);
            while !rest.is_empty() {
                let batch = rest.split_off(rest.len() - 1 - rng.below(rest.len() as u64) as usize);
                replica.absorb(batch).unwrap();
            }
            prop_assert_eq!(replica.store().vector().total() as usize, entries.len());
            let digest = replica.store_mut().digest().unwrap();
            let now = (show(&replica), digest);
            prop_assert_eq!(shown.get_or_insert_with(|| now.clone()), &now);
        }
    }

    #[test]
    fn the_digest_tells_states_apart(steps in steps(), seed in any::<u64>()) {
        let entries = season(&steps);
        prop_assume!(!entries.is_empty());
        let mut rng = Rng::new(Seed(seed));
        let (mut whole, mut part) = (State::default(), State::default());
        let left_out = rng.below(entries.len() as u64) as usize;
        for (i, entry) in entries.iter().enumerate() {
            whole.join(entry).unwrap();
            if i != left_out {
                part.join(entry).unwrap();
            }
        }
        let visible = whole.thing(&entries[left_out].kind, entries[left_out].id).unwrap().unwrap();
        let other = part.thing(&entries[left_out].kind, entries[left_out].id).unwrap();
        let same = other.is_some_and(|o| serde_json::to_string(&o.fields()).unwrap() == serde_json::to_string(&visible.fields()).unwrap());
        prop_assert_eq!(whole.digest() == part.digest(), same);
    }

    #[test]
    fn a_snapshot_gives_back_the_state(steps in steps()) {
        let mut state = State::default();
        for entry in season(&steps) {
            state.join(&entry).unwrap();
        }
        let bytes = state.snapshot().unwrap();
        let mut back = State::open(Arc::from(bytes.as_slice())).unwrap();
        prop_assert_eq!(back.digest(), state.digest());
        for kind in ["group", "weather_of_tomorrow"] {
            let (mut kept, mut read) = (Vec::new(), Vec::new());
            back.visit_rewritten(kind, &mut |t| kept.push(t.id)).unwrap();
            state.visit(kind, None, &mut |t| read.extend(t.parts().nth(1).map(|_| t.id))).unwrap();
            prop_assert_eq!(kept, read);
        }
        let mut again = back.clone();
        prop_assert_eq!(again.snapshot().unwrap(), bytes.clone());
        for cut in [0, 5, 11, bytes.len() / 2, bytes.len().saturating_sub(1)] {
            prop_assert!(State::open(Arc::from(&bytes[..cut])).is_err());
        }
        again.join(&season(&[Step::Write { device: 1, thing: 8, field: 0, value: 9, settles: false }])[0]).unwrap();
        prop_assert_ne!(again.digest(), back.digest());
    }

    #[test]
    fn a_journal_that_is_cut_anywhere_keeps_whole_lines(steps in steps(), cut in any::<prop::sample::Index>()) {
        let team = crate::id::TeamId::new(T0, [9; 10]);
        let entries = season(&steps);
        let mut bytes = Vec::new();
        journal::encode(&journal::Line::Journal(journal::Head::journal()), &mut bytes).unwrap();
        for (n, entry) in entries.iter().enumerate() {
            journal::encode(&journal::Line::Batch(n as u64 + 1), &mut bytes).unwrap();
            journal::encode(&journal::Line::Entry(team, Box::new(entry.clone())), &mut bytes).unwrap();
        }
        let cut = cut.index(bytes.len() + 1);
        let found = journal::scan(&bytes[..cut], 0).unwrap();
        let whole = bytes[..cut].iter().rposition(|b| *b == b'\n').map_or(0, |n| n + 1);
        prop_assert_eq!(found.end, whole);
    }
}

#[test]
fn an_edit_by_someone_who_saw_another_wins_whatever_the_clocks_say() {
    let (mut fast, mut slow) = (Replica::new(Memory::default()), Replica::new(Memory::default()));
    let ten_years = 315_576_000_000;
    let first = fast
        .append(writer(1), vec![draft("bow", thing(1), &[("name", "\"old\"")], false)], T0 + ten_years)
        .unwrap();
    slow.absorb(first).unwrap();
    slow.append(writer(2), vec![draft("bow", thing(1), &[("name", "\"new\"")], false)], T0).unwrap();
    let bow = slow.store().thing("bow", thing(1)).unwrap().unwrap();
    assert_eq!(bow.fields()["name"].now.value.get(), "\"new\"");
    assert!(bow.fields()["name"].others.is_empty());
}

#[test]
fn edits_made_unseen_are_kept_as_a_difference_until_someone_settles_it() {
    let mut devices: Vec<_> = (0..2).map(|_| Replica::new(Memory::default())).collect();
    let mut all = Vec::new();
    for (n, name) in ["\"elm\"", "\"ash\""].iter().enumerate() {
        let drafts = vec![draft("bow", thing(1), &[("name", name)], false)];
        all.extend(devices[n].append(writer(n as u8), drafts, T0 + n as u64).unwrap());
    }
    let mut third = Replica::new(Memory::default());
    third.absorb(all).unwrap();
    let bow = third.store().thing("bow", thing(1)).unwrap().unwrap();
    assert_eq!(bow.fields()["name"].now.value.get(), "\"ash\"");
    assert_eq!(bow.fields()["name"].others[0].value.get(), "\"elm\"");
    // An ordinary edit replaces the value that stands; the rival stays to be settled.
    third.append(writer(3), vec![draft("bow", thing(1), &[("name", "\"yew\"")], false)], T0).unwrap();
    let bow = third.store().thing("bow", thing(1)).unwrap().unwrap();
    assert_eq!(bow.fields()["name"].others.len(), 1);
    third.append(writer(3), vec![draft("bow", thing(1), &[("name", "\"yew\"")], true)], T0).unwrap();
    let bow = third.store().thing("bow", thing(1)).unwrap().unwrap();
    assert!(bow.fields()["name"].others.is_empty());
    assert_eq!(bow.history("name").len(), 4);
}

#[test]
fn forks_alterations_and_holes_are_refused_by_name() {
    let mut ours = Replica::new(Memory::default());
    let note = |n: u8| vec![draft("note", thing(n), &[("text", "\"a\"")], false)];
    let one = ours.append(writer(1), note(1), T0).unwrap().remove(0);
    let mut copy = Replica::new(Memory::default());
    copy.absorb(vec![one.clone()]).unwrap();
    let two = ours.append(writer(1), note(2), T0 + 5).unwrap().remove(0);
    let rival = copy.append(writer(1), note(3), T0 + 6).unwrap().remove(0);
    let three = ours.append(writer(1), note(4), T0 + 7).unwrap().remove(0);
    let refusal =
        |r: &mut Replica<Memory>, e: &Entry| r.absorb(vec![e.clone()]).unwrap().refused.pop().map(|r| r.why);
    assert_eq!(refusal(&mut ours, &rival), Some(Admission::Fork));
    assert_eq!(refusal(&mut ours, &two), None);
    let mut altered = three.clone();
    altered.body = Some(RawValue::from_string("{\"set\":{\"text\":\"b\"}}".into()).unwrap());
    assert!(matches!(refusal(&mut copy, &altered), Some(Admission::Bad(e)) if e.code == "altered"));
    let mut forged = two.clone();
    forged.author = thing(9);
    let mut fresh = Replica::new(Memory::default());
    assert_eq!(refusal(&mut fresh, &two), Some(Admission::Early));
    assert_eq!(refusal(&mut copy, &three), Some(Admission::Fork), "its log went another way at 2");
    assert_eq!(fresh.absorb(vec![one]).unwrap().kept, 2, "what came early is kept once the hole closes");
    assert_eq!(refusal(&mut fresh, &forged), Some(Admission::Fork));
}

#[test]
fn a_value_that_two_devices_set_alike_does_not_come_back_as_a_difference() {
    for settles in [false, true] {
        let mut all = Vec::new();
        for n in 1..3 {
            let mut device = Replica::new(Memory::default());
            let drafts = vec![draft("bow", thing(1), &[("name", "\"elm\"")], false)];
            all.extend(device.append(writer(n), drafts, T0 + u64::from(n)).unwrap());
        }
        let mut third = Replica::new(Memory::default());
        third.absorb(all).unwrap();
        third.append(writer(3), vec![draft("bow", thing(1), &[("name", "\"ash\"")], settles)], T0).unwrap();
        let bow = third.store().thing("bow", thing(1)).unwrap().unwrap();
        assert_eq!(bow.fields()["name"].now.value.get(), "\"ash\"");
        assert!(bow.fields()["name"].others.is_empty(), "settles: {settles}");
    }
}

/// Returns an entry with another body, its fingerprint made to fit.
fn with_body(entry: &Entry, body: &serde_json::Value) -> Entry {
    let body = to_raw_value(body).unwrap();
    Entry { body_hash: Hash::of(body.get().as_bytes()), body: Some(body), ..entry.clone() }
}

#[test]
fn a_field_does_not_vanish_by_a_replacement_that_sets_nothing() {
    let mut replica = Replica::new(Memory::default());
    let note = |text| vec![draft("note", thing(1), &[("text", text)], false)];
    let first = replica.append(writer(1), note("1"), T0).unwrap().remove(0);
    let second = replica.append(writer(1), note("2"), T0 + 5).unwrap().remove(0);
    let over = BTreeMap::from([("text", vec![first.full_stamp()])]);
    let bare = with_body(&second, &serde_json::json!({"set": {}, "over": over}));
    assert_eq!(bare.check().unwrap_err().code, "bad_over");
    let mut folded = crate::merge::Thing::new("note", thing(1));
    folded.join(&first);
    folded.join(&bare);
    assert_eq!(folded.fields()["text"].now.value.get(), "1");
}

#[test]
fn an_entry_that_was_stripped_of_its_body_is_refused_and_taken_whole_later() {
    let mut ours = Replica::new(Memory::default());
    let drafts = vec![draft("note", thing(1), &[("text", "1")], false)];
    let whole = ours.append(writer(1), drafts, T0).unwrap().remove(0);
    let stripped = Entry { body: None, ..whole.clone() };
    let mut other = Replica::new(Memory::default());
    let refused = other.absorb(vec![stripped.clone()]).unwrap().refused.remove(0);
    assert!(matches!(refused.why, Admission::Bad(e) if e.code == "no_body"));
    assert_eq!(other.absorb(vec![whole]).unwrap().kept, 1);
    let (mut none, mut state) = (State::default(), State::default());
    assert!(!state.join(&stripped).unwrap());
    assert_eq!(state.digest(), none.digest());
}

#[test]
fn a_thing_whose_kept_bytes_cannot_be_read_stays_in_the_state() {
    let entry = season(&[Step::Write { device: 0, thing: 0, field: 0, value: 1, settles: false }]).remove(0);
    let mut out = snapshot::Writer::default();
    out.bytes(&entry.kind, entry.id, None, Hash::NONE, b"no json").unwrap();
    let mut state = State::open(Arc::from(out.finish())).unwrap();
    let digest = state.digest();
    assert_eq!(state.join(&entry).unwrap_err().code, "bad_snapshot");
    assert_eq!(state.ids(&entry.kind).collect::<Vec<_>>(), [entry.id]);
    assert_eq!(state.digest(), digest);
}

#[test]
fn a_replacement_that_claims_to_know_the_future_is_refused() {
    let mut replica = Replica::new(Memory::default());
    let entry = replica
        .append(writer(1), vec![draft("note", thing(1), &[("text", "1")], false)], T0)
        .unwrap()
        .remove(0);
    let later = Stamp { tick: Tick::new(T0 + 1, 0).unwrap(), device: writer(1).device };
    let over = BTreeMap::from([("text", vec![later])]);
    let entry = with_body(&entry, &serde_json::json!({"set": {"text": 1}, "over": over}));
    assert_eq!(entry.check().unwrap_err().code, "bad_over");
}

#[test]
fn pages_end_where_they_should() {
    for count in [0, 1, PAGE_ENTRIES - 1, PAGE_ENTRIES, PAGE_ENTRIES + 1, 2 * PAGE_ENTRIES] {
        let mut from = Replica::new(Memory::default());
        let drafts = (0..count).map(|n| {
            let mut entropy = [0; 10];
            entropy[..8].copy_from_slice(&(n as u64).to_le_bytes());
            draft("note", ThingId::new(T0, entropy), &[("text", "\"x\"")], false)
        });
        from.append(writer(1), drafts.collect(), T0).unwrap();
        let mut to = Replica::new(Memory::default());
        let mut pages = 0;
        loop {
            let page = from.missing_for(&to.store().vector().have()).unwrap();
            let more = page.more;
            pages += usize::from(!page.entries.is_empty());
            to.absorb(page.entries).unwrap();
            if !more {
                break;
            }
        }
        assert_eq!(pages, count.div_ceil(PAGE_ENTRIES), "{count}");
        assert_eq!(to.store_mut().digest().unwrap(), from.store_mut().digest().unwrap());
    }
    assert!(Replica::new(Memory::default()).missing_for(&Have::new()).unwrap().entries.is_empty());
}

#[test]
fn a_batch_that_a_damaged_line_feed_hides_is_no_torn_tail() {
    let team = crate::id::TeamId::new(T0, [9; 10]);
    let entry = season(&[Step::Write { device: 0, thing: 0, field: 0, value: 1, settles: false }]).remove(0);
    let mut bytes = Vec::new();
    journal::encode(&journal::Line::Journal(journal::Head::journal()), &mut bytes).unwrap();
    journal::encode(&journal::Line::Batch(1), &mut bytes).unwrap();
    let at = bytes.len();
    journal::encode(&journal::Line::Entry(team, Box::new(entry)), &mut bytes).unwrap();
    let feed = bytes.len() - 1;
    let before = bytes.clone();
    journal::encode(&journal::Line::Batch(2), &mut bytes).unwrap();
    bytes[feed] = b' ';
    for end in [bytes.len(), bytes.len() - 1] {
        let error = journal::scan(&bytes[..end], 0).unwrap_err();
        assert!(error.message.contains(&format!("at byte {at}")), "{error}");
    }
    assert_eq!(journal::scan(&before[..feed], 0).unwrap().end, at, "an unfinished line is cut off");
    let mut unfinished = before.clone();
    journal::encode(&journal::Line::Batch(2), &mut unfinished).unwrap();
    unfinished.pop();
    assert_eq!(journal::scan(&unfinished, 0).unwrap().end, before.len(), "so is the line of a batch");
}

#[test]
fn a_bundle_is_whole_or_refused() {
    let team = crate::id::TeamId::new(T0, [9; 10]);
    let entries = season(&[Step::Write { device: 0, thing: 0, field: 0, value: 1, settles: false }]);
    let bytes = journal::write_bundle(team, entries.clone()).unwrap();
    let (of, back) = journal::read_bundle(&bytes).unwrap();
    assert_eq!((of, back.len()), (Some(team), entries.len()));
    for cut in 0..bytes.len() {
        assert!(journal::read_bundle(&bytes[..cut]).is_err(), "cut at {cut}");
    }
    for at in 0..bytes.len() {
        let mut altered = bytes.clone();
        altered[at] ^= 1;
        assert!(journal::read_bundle(&altered).is_err(), "altered at {at}");
    }
}
