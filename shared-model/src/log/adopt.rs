//! A way on for the part of a log that forked under someone else's name: it becomes a log of its own.

use crate::{
    ModelError,
    id::DeviceId,
    log::{Entry, Hash, Stamp, Tick, read_body, write_body},
};
use std::collections::BTreeSet;

/// Returns the entries of one log, in order, as a log of their own, whose name follows from the first of them.
///
/// Whoever holds the same entries makes the same log of them, so it does no harm when several do. Stamps and authors
/// stay, so nothing that was written since is overwritten. Where `kept` holds another entry of the new log, that log
/// forked as well, and what follows becomes a log of its own again.
pub fn adopt(kept: &[Entry], forked: &[Entry]) -> Result<Vec<Entry>, ModelError> {
    let Some(first) = forked.first() else { return Ok(Vec::new()) };
    let device = name_of(first);
    let mut adopted: Vec<Entry> = Vec::with_capacity(forked.len());
    let mut own: BTreeSet<Tick> = BTreeSet::new();
    for (n, entry) in forked.iter().enumerate() {
        let seq = n as u64 + 1;
        let prev = adopted.last().map_or(Hash::NONE, Entry::header_hash);
        let next = Entry { device, seq, prev, ..under(entry, device, &own)? };
        let here = kept.iter().find(|e| (e.device, e.seq) == (device, seq));
        if here.is_some_and(|here| here.header_hash() != next.header_hash()) {
            adopted.extend(adopt(kept, &forked[n..])?);
            return Ok(adopted);
        }
        own.insert(entry.stamp);
        adopted.push(next);
    }
    Ok(adopted)
}

fn name_of(first: &Entry) -> DeviceId {
    let hash = Hash::of(format!("sheaf adopted log 1\n{}\n", first.header_hash()).as_bytes());
    let mut bytes = [0; 16];
    bytes.copy_from_slice(&hash.as_bytes()[..16]);
    DeviceId::from_bytes(bytes)
}

/// Returns an entry whose body names the stamps of its own log by the new name.
fn under(entry: &Entry, device: DeviceId, own: &BTreeSet<Tick>) -> Result<Entry, ModelError> {
    let Some(raw) = &entry.body else { return Ok(entry.clone()) };
    let body = read_body(raw)?;
    let renamed = |seen: Stamp| match seen.device == entry.device && own.contains(&seen.tick) {
        true => Stamp { device, ..seen },
        false => seen,
    };
    let set = body.set.into_iter().map(|(field, value)| (field, value.to_owned())).collect();
    let over = body.over.into_iter().map(|(field, seen)| (field, seen.into_iter().map(renamed).collect()));
    let body = write_body(&set, &over.collect())?;
    Ok(Entry { body_hash: Hash::of(body.get().as_bytes()), body: Some(body), ..entry.clone() })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        id::ThingId,
        replica::{Draft, Memory, Replica, Store, Writer},
    };
    use serde_json::value::RawValue;
    use std::collections::BTreeMap;

    const T0: u64 = 1_775_000_000_000;

    /// Returns the log of a device that set one field to these values, one over the other.
    fn log(values: &[&str]) -> Vec<Entry> {
        let writer = Writer { device: DeviceId::new(T0, [1; 10]), author: ThingId::new(T0, [2; 10]) };
        let mut replica = Replica::new(Memory::default());
        let mut all = Vec::new();
        for value in values {
            let set =
                BTreeMap::from([("note".to_owned(), RawValue::from_string(format!("\"{value}\"")).unwrap())]);
            let draft = Draft { kind: "note".into(), id: ThingId::new(T0, [3; 10]), set, settles: false };
            all.extend(replica.append(writer, vec![draft], T0).unwrap());
        }
        all
    }

    fn state(entries: Vec<Entry>) -> (String, usize) {
        let mut replica = Replica::new(Memory::default());
        let absorbed = replica.absorb(entries).unwrap();
        assert!(absorbed.refused.is_empty(), "{:?}", absorbed.refused);
        let thing = replica.store().thing("note", ThingId::new(T0, [3; 10])).unwrap().unwrap();
        let fields = thing.fields();
        (fields["note"].now.value.get().to_owned(), fields["note"].others.len())
    }

    #[test]
    fn what_forked_becomes_a_log_that_says_the_same_and_goes_with_the_other_one() {
        let (here, there) = (log(&["a", "b", "c", "d"]), log(&["a", "x"]));
        let adopted = adopt(&there, &here[1..]).unwrap();
        let alone: Vec<Entry> = here[..1].iter().cloned().chain(adopted.clone()).collect();
        assert_eq!(state(alone), ("\"d\"".into(), 0), "no value of its own log is its rival");
        let both: Vec<Entry> = there.into_iter().chain(adopted).collect();
        assert_eq!(state(both), ("\"d\"".into(), 1), "and the other log's is one to settle");
    }

    #[test]
    fn whoever_holds_more_of_it_makes_the_same_beginning() {
        let here = log(&["a", "b", "c", "d"]);
        let hashes = |entries: &[Entry]| {
            adopt(&[], entries).unwrap().iter().map(Entry::header_hash).collect::<Vec<_>>()
        };
        assert_eq!(hashes(&here[1..3]), hashes(&here[1..])[..2]);
    }

    #[test]
    fn a_log_that_forks_twice_is_parted_twice() {
        let (one, two) = (log(&["a", "b", "c"]), log(&["a", "b", "x"]));
        let first = adopt(&[], &one[1..]).unwrap();
        let second = adopt(&first, &two[1..]).unwrap();
        assert_eq!(second.len(), 2);
        assert_eq!((second[0].device, second[1].seq), (first[0].device, 1));
        assert_ne!(second[1].device, first[0].device);
        state(one.into_iter().take(1).chain(first).chain(second).collect());
    }
}
