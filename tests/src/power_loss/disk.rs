//! A disk as strict as the standard allows: of a file only what was synced is sure to be there, of a folder only the
//! names that were there when it was synced; of anything else a power cut leaves any part, sector by sector.

use super::trace::Event;
use crate::simulation::SECTOR;
use sheaf_model::rng::Rng;
use std::{
    collections::BTreeMap,
    ffi::OsString,
    fs,
    path::{Path, PathBuf},
};

/// A change to a file that was not synced yet, with the number of its event.
#[derive(Clone)]
enum Change {
    Write(u64, Vec<u8>),
    Length(u64),
}

#[derive(Clone)]
enum Node {
    File {
        synced: Vec<u8>,
        length: u64,
        pending: Vec<(usize, Change)>,
    },
    /// Names as they are now, as they were synced, and the changes between; one change may touch two names.
    Folder {
        now: Names,
        synced: Names,
        pending: Vec<(usize, Renaming)>,
    },
}

type Names = BTreeMap<OsString, usize>;
/// Names that change at one moment: what they stand for from then on, if anything.
type Renaming = Vec<(OsString, Option<usize>)>;

/// The files below a folder, with all that is known of what is durable.
pub struct Disk {
    nodes: Vec<Node>,
}

const EMPTY_FILE: Node = Node::File { synced: Vec::new(), length: 0, pending: Vec::new() };

fn folder() -> Node {
    Node::Folder { now: Names::new(), synced: Names::new(), pending: Vec::new() }
}

impl Default for Disk {
    fn default() -> Self {
        Self { nodes: vec![folder()] }
    }
}

impl Disk {
    /// Does what an event says.
    pub fn apply(&mut self, number: usize, event: &Event) -> Result<(), String> {
        match event {
            Event::Nothing | Event::Said(..) => Ok(()),
            Event::Make(path) if self.find(path).is_some() => Ok(()),
            Event::Make(path) => self.make(number, path, EMPTY_FILE),
            Event::MakeFolder(path) => self.make(number, path, folder()),
            Event::Write(path, at, bytes) => self.change(path, number, |length| {
                let at = at.unwrap_or(*length);
                *length = (*length).max(at + bytes.len() as u64);
                Change::Write(at, bytes.clone())
            }),
            Event::Length(path, new) => self.change(path, number, |length| {
                *length = *new;
                Change::Length(*new)
            }),
            Event::Sync(path, begun) => self.sync(path, *begun),
            Event::Rename(from, to) => {
                let node = self.find(from).ok_or_else(|| missing(from))?;
                if from.parent() == to.parent() {
                    return self.rename(number, from, vec![(name(from), None), (name(to), Some(node))]);
                }
                self.rename(number, to, vec![(name(to), Some(node))])?;
                self.rename(number, from, vec![(name(from), None)])
            }
            Event::Link(from, to) => {
                let node = self.find(from).ok_or_else(|| missing(from))?;
                self.rename(number, to, vec![(name(to), Some(node))])
            }
            Event::Remove(path) => self.rename(number, path, vec![(name(path), None)]),
        }
    }

    fn find(&self, path: &Path) -> Option<usize> {
        path.iter().try_fold(0, |at, name| match &self.nodes[at] {
            Node::Folder { now, .. } => now.get(name).copied(),
            Node::File { .. } => None,
        })
    }

    fn make(&mut self, number: usize, path: &Path, node: Node) -> Result<(), String> {
        self.nodes.push(node);
        let made = self.nodes.len() - 1;
        self.rename(number, path, vec![(name(path), Some(made))])
    }

    fn rename(&mut self, number: usize, path: &Path, names: Renaming) -> Result<(), String> {
        let parent = path.parent().unwrap_or(Path::new(""));
        let at = self.find(parent).ok_or_else(|| missing(parent))?;
        let Node::Folder { now, pending, .. } = &mut self.nodes[at] else { return Err(missing(parent)) };
        set(now, &names);
        pending.push((number, names));
        Ok(())
    }

    fn change(
        &mut self,
        path: &Path,
        number: usize,
        change: impl FnOnce(&mut u64) -> Change,
    ) -> Result<(), String> {
        // A file that was removed while it was open is nobody's any more.
        let Some(at) = self.find(path) else { return Ok(()) };
        let Node::File { length, pending, .. } = &mut self.nodes[at] else { return Err(missing(path)) };
        pending.push((number, change(length)));
        Ok(())
    }

    fn sync(&mut self, path: &Path, begun: usize) -> Result<(), String> {
        let Some(at) = self.find(path) else { return Ok(()) };
        match &mut self.nodes[at] {
            Node::File { synced, pending, .. } => {
                let done = pending.partition_point(|(number, _)| *number < begun);
                pending.drain(..done).for_each(|(_, change)| write(synced, &change));
            }
            Node::Folder { synced, pending, .. } => {
                let done = pending.partition_point(|(number, _)| *number < begun);
                pending.drain(..done).for_each(|(_, names)| set(synced, &names));
            }
        }
        Ok(())
    }

    /// Writes what a power cut leaves at this moment into a folder.
    pub fn cut_power(&self, into: &Path, rng: &mut Rng) -> std::io::Result<()> {
        self.leave(0, into, rng)
    }

    fn leave(&self, at: usize, into: &Path, rng: &mut Rng) -> std::io::Result<()> {
        match &self.nodes[at] {
            Node::Folder { synced, pending, .. } => {
                fs::create_dir_all(into)?;
                let mut names = synced.clone();
                // A folder's changes reach the disk in order.
                let kept = rng.below(pending.len() as u64 + 1) as usize;
                pending[..kept].iter().for_each(|(_, change)| set(&mut names, change));
                names.iter().try_for_each(|(name, node)| self.leave(*node, &into.join(name), rng))
            }
            Node::File { synced, pending, .. } => {
                let mut bytes = synced.clone();
                tear(&mut bytes, pending, rng);
                fs::write(into, bytes)
            }
        }
    }
}

/// Adds to what was synced any part of what was not.
fn tear(bytes: &mut Vec<u8>, pending: &[(usize, Change)], rng: &mut Rng) {
    match rng.below(4) {
        0 => {}
        1 => pending.iter().for_each(|(_, change)| write(bytes, change)),
        2 => {
            // In order, up to any byte.
            let kept = rng.below(pending.len() as u64 + 1) as usize;
            pending[..kept].iter().for_each(|(_, change)| write(bytes, change));
            if let Some((_, Change::Write(at, more))) = pending.get(kept) {
                let part = rng.below(more.len() as u64 + 1) as usize;
                write(bytes, &Change::Write(*at, more[..part].to_vec()));
            }
        }
        _ => {
            // Any sectors, whichever was written first.
            for (_, change) in pending {
                match change {
                    Change::Write(at, more) => sectors(*at, more).for_each(|(at, part)| {
                        if rng.below(2) == 0 {
                            write(bytes, &Change::Write(at, part.to_vec()));
                        }
                    }),
                    Change::Length(_) if rng.below(2) == 0 => write(bytes, change),
                    Change::Length(_) => {}
                }
            }
        }
    }
}

/// Splits bytes where the sectors of the disk end.
fn sectors(at: u64, bytes: &[u8]) -> impl Iterator<Item = (u64, &[u8])> {
    let (mut at, mut rest) = (at, bytes);
    std::iter::from_fn(move || {
        let size = (SECTOR - (at % SECTOR as u64) as usize).min(rest.len());
        let (part, more) = rest.split_at(size);
        let found = (!part.is_empty()).then_some((at, part));
        (at, rest) = (at + size as u64, more);
        found
    })
}

fn write(bytes: &mut Vec<u8>, change: &Change) {
    match change {
        Change::Length(length) => bytes.resize(*length as usize, 0),
        Change::Write(at, more) => {
            let (from, to) = (*at as usize, *at as usize + more.len());
            if bytes.len() < to {
                bytes.resize(to, 0);
            }
            bytes[from..to].copy_from_slice(more);
        }
    }
}

fn set(names: &mut Names, change: &[(OsString, Option<usize>)]) {
    for (name, node) in change {
        match node {
            Some(node) => names.insert(name.clone(), *node),
            None => names.remove(name),
        };
    }
}

fn name(path: &Path) -> OsString {
    path.file_name().unwrap_or_default().to_owned()
}

fn missing(path: &Path) -> String {
    let path: PathBuf = path.into();
    format!("the recording speaks of {} before it is made", path.display())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use sheaf_model::rng::Seed;

    #[test]
    fn what_was_synced_is_there_and_of_the_rest_any_part() {
        let (file, folder) = (PathBuf::from("a/b"), PathBuf::from("a"));
        let events = [
            Event::MakeFolder(folder.clone()),
            Event::Make(file.clone()),
            Event::Write(file.clone(), None, vec![1; 700]),
            Event::Sync(file.clone(), 3),
            Event::Sync(folder, 4),
            Event::Sync(PathBuf::new(), 5),
            Event::Write(file, None, vec![2; 1500]),
        ];
        let mut disk = Disk::default();
        for (n, event) in events.iter().enumerate() {
            disk.apply(n, event).unwrap();
        }
        let mut lengths = std::collections::BTreeSet::new();
        for seed in 0..40 {
            let left = tempfile::tempdir().unwrap();
            disk.cut_power(left.path(), &mut Rng::new(Seed(seed))).unwrap();
            let bytes = fs::read(left.path().join("a/b")).unwrap();
            assert_eq!(bytes[..700], [1; 700]);
            assert!(bytes[700..].iter().all(|b| matches!(b, 0 | 2)));
            lengths.insert(bytes.len());
        }
        assert!(lengths.contains(&700) && lengths.contains(&2200) && lengths.len() > 4, "{lengths:?}");
    }

    #[test]
    fn a_name_in_a_folder_that_was_not_synced_may_be_gone() {
        let mut disk = Disk::default();
        disk.apply(0, &Event::Make("a".into())).unwrap();
        disk.apply(1, &Event::Write("a".into(), None, vec![1])).unwrap();
        disk.apply(2, &Event::Sync("a".into(), 2)).unwrap();
        let there = (0..20).filter(|seed| {
            let left = tempfile::tempdir().unwrap();
            disk.cut_power(left.path(), &mut Rng::new(Seed(*seed))).unwrap();
            left.path().join("a").exists()
        });
        assert!((1..20).contains(&there.count()));
    }
}
