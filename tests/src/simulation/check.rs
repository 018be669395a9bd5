//! What must hold once the faults have stopped and everyone has synced.

use super::{disk::Disk, failed, work::work_of, world::World};
use sheaf_model::{
    log::{Entry, Hash, Stamp, Tick, read_body},
    replica::Store,
};
use std::collections::{BTreeMap, BTreeSet};

impl World {
    /// Lets everyone sync without faults, and checks that nothing is lost and all agree.
    pub fn settle(&mut self) -> Result<(), String> {
        self.net.clear();
        // The second time round everyone hears what the last ones brought.
        for at in (0..self.devices.len()).chain(0..self.devices.len()) {
            self.sync(at)?;
        }
        let mut all = self.agreed()?;
        self.service.crash(&mut self.rng)?;
        let after = self.on_service()?;
        if after.len() != all.len() {
            return Err(format!("{} entries, and {} after a crash of the service", all.len(), after.len()));
        }
        self.nothing_is_lost(&all)?;
        self.folds_as_it_should(&all)?;
        all.sort_by_key(|entry| entry.stamp);
        let twins = all.windows(2).filter(|w| w[0].stamp == w[1].stamp && w[0].device != w[1].device);
        self.tally.more("equal stamps of two devices", twins.count() as u64);
        self.tally.more("entries", all.len() as u64);
        self.tally.more("steps", self.steps);
        self.tally.one("schedules");
        Ok(())
    }

    /// Returns all entries, which every device and the service hold alike, on the disk too.
    fn agreed(&mut self) -> Result<Vec<Entry>, String> {
        let mut all = self.on_service()?;
        all.sort_by_key(|e| (e.device, e.seq));
        let theirs: Vec<Hash> = all.iter().map(Entry::header_hash).collect();
        let root = self.service.digest()?;
        let team = self.service.team();
        for (n, device) in self.devices.iter_mut().enumerate() {
            let bytes = device.replica.store().bytes().to_vec();
            let mut again = Disk::open(team, bytes).map_err(failed("a disk opens"))?;
            let entries = again.entries().map_err(failed("entries"))?;
            if entries.iter().map(Entry::header_hash).collect::<Vec<_>>() != theirs {
                return Err(format!("device {n} and the service hold different entries"));
            }
            let now = device.replica.store_mut().digest().map_err(failed("a digest"))?;
            let then = again.digest().map_err(failed("a digest"))?;
            if [now, then] != [root, root] {
                return Err(format!(
                    "digest of device {n}: {now}, opened anew {then}, of the service {root}"
                ));
            }
        }
        Ok(all)
    }

    fn nothing_is_lost(&self, all: &[Entry]) -> Result<(), String> {
        let there: BTreeSet<u64> = all.iter().filter_map(work_of).collect();
        let lost: Vec<&u64> = self.acknowledged.difference(&there).take(10).collect();
        if lost.is_empty() { Ok(()) } else { Err(format!("acknowledged and lost: {lost:?}")) }
    }

    /// Compares the state with a fold that knows one rule only: the highest stamp wins.
    fn folds_as_it_should(&self, all: &[Entry]) -> Result<(), String> {
        let mut wins: BTreeMap<(&str, _, String), (Stamp, String)> = BTreeMap::new();
        let mut last: BTreeMap<_, (u64, Tick)> = BTreeMap::new();
        for entry in all {
            let before = last.insert(entry.device, (entry.seq, entry.stamp)).unwrap_or_default();
            if entry.seq != before.0 + 1 || entry.stamp <= before.1 {
                return Err(format!("entry {} of {} does not follow on", entry.seq, entry.device));
            }
            let Some(raw) = &entry.body else { return Err("an entry has no body".into()) };
            for (field, value) in read_body(raw).map_err(failed("a body"))?.set {
                let given = (entry.full_stamp(), value.get().to_owned());
                let won = wins.entry((&entry.kind, entry.id, field)).or_insert_with(|| given.clone());
                if given.0 > won.0 {
                    *won = given;
                }
            }
        }
        let store = self.devices[0].replica.store();
        for ((kind, id, field), (stamp, value)) in wins {
            let thing = store.thing(kind, id).map_err(failed("a thing"))?.ok_or("a thing is missing")?;
            let fields = thing.fields();
            let now = fields.get(&field).ok_or("a field is missing")?.now;
            if (now.stamp, now.value.get()) != (stamp, value.as_str()) {
                return Err(format!("{field} of {kind} {id} is {} and should be {value}", now.value));
            }
        }
        Ok(())
    }
}
