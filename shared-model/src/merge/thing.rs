//! One thing of the state: everything that was ever assigned to it, and what that amounts to.

use crate::{
    ModelError,
    id::ThingId,
    log::{Body, Entry, Hash, Stamp, read_body},
};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::value::RawValue;
use std::collections::{BTreeMap, BTreeSet, btree_map};

/// What one entry contributes to a thing.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Contribution {
    /// When and by which device it was written.
    pub stamp: Stamp,
    /// By whom.
    pub author: ThingId,
    /// The body of the entry, as written.
    pub body: Box<RawValue>,
}

/// A thing as the set of its contributions: joining is a union, so order and repetition do not matter.
#[derive(Debug, Clone)]
pub struct Thing {
    /// What kind of thing.
    pub kind: String,
    /// Which one.
    pub id: ThingId,
    parts: BTreeMap<Stamp, Contribution>,
}

/// A value that was assigned to a field.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Assigned<'a> {
    /// The value as its writer wrote it.
    pub value: &'a RawValue,
    /// When and by which device.
    pub stamp: Stamp,
    /// By whom.
    pub author: ThingId,
}

/// A field: the value that stands, and what else was written without knowing of it.
#[derive(Debug, Clone, Serialize)]
pub struct Field<'a> {
    /// The assignment with the highest stamp.
    pub now: Assigned<'a>,
    /// Other assignments that nobody replaced knowingly and whose value differs: to be settled.
    pub others: Vec<Assigned<'a>>,
    /// The stamps of assignments that nobody replaced either and whose value is the one that stands.
    #[serde(skip)]
    pub same: Vec<Stamp>,
}

/// The fields of a thing, folded.
pub type Fields<'a> = BTreeMap<String, Field<'a>>;

#[derive(Deserialize)]
struct SetOnly<T> {
    set: T,
}

impl Thing {
    /// Makes a thing of which nothing is known yet.
    pub fn new(kind: impl Into<String>, id: ThingId) -> Self {
        Self { kind: kind.into(), id, parts: BTreeMap::new() }
    }

    /// Adds what an entry contributes; returns whether it was new.
    pub fn join(&mut self, entry: &Entry) -> bool {
        let Some(body) = &entry.body else { return false };
        let part = Contribution { stamp: entry.full_stamp(), author: entry.author, body: body.clone() };
        self.add(part)
    }

    /// Adds a contribution; returns whether it was new.
    pub fn add(&mut self, part: Contribution) -> bool {
        match self.parts.entry(part.stamp) {
            btree_map::Entry::Vacant(slot) => {
                slot.insert(part);
                true
            }
            btree_map::Entry::Occupied(_) => false,
        }
    }

    /// Returns the contributions, oldest stamp first.
    pub fn parts(&self) -> impl Iterator<Item = &Contribution> {
        self.parts.values()
    }

    /// Returns the stamp of the first contribution: when the thing was recorded.
    pub fn born(&self) -> Option<Stamp> {
        self.parts.keys().next().copied()
    }

    /// Returns everything that was ever assigned to a field, latest first.
    pub fn history(&self, field: &str) -> Vec<Assigned<'_>> {
        let mut found = Vec::new();
        for part in self.parts.values().rev() {
            if let Ok(body) = read_body(&part.body)
                && let Some(value) = body.set.get(field)
            {
                found.push(Assigned { value, stamp: part.stamp, author: part.author });
            }
        }
        found
    }

    /// Folds the contributions into fields: the highest stamp wins, unseen rivals are kept beside it.
    pub fn fields(&self) -> Fields<'_> {
        let mut assigned: BTreeMap<String, Vec<Assigned<'_>>> = BTreeMap::new();
        let mut replaced: BTreeSet<(String, Stamp)> = BTreeSet::new();
        for part in self.parts.values().rev() {
            // Bodies were checked on the way in; one that a later format allows and this one cannot read is skipped.
            let Ok(body) = read_body(&part.body) else { continue };
            let Body { set, mut over } = body;
            for (field, value) in set {
                // Only what sets a field replaces its values: a field that was set never vanishes.
                let seen = over.remove(&field).into_iter().flatten();
                replaced.extend(seen.map(|s| (field.clone(), s)));
                let given = Assigned { value, stamp: part.stamp, author: part.author };
                assigned.entry(field).or_default().push(given);
            }
        }
        let mut fields = BTreeMap::new();
        for (name, mut all) in assigned {
            all.retain(|a| !replaced.contains(&(name.clone(), a.stamp)));
            // An `over` is always older than its writer, so the latest assignment is never replaced.
            let mut heads = all.into_iter();
            let Some(now) = heads.next() else { continue };
            let (same, others): (Vec<_>, Vec<_>) = heads.partition(|a| a.value.get() == now.value.get());
            let same = same.into_iter().map(|a| a.stamp).collect();
            fields.insert(name, Field { now, others, same });
        }
        fields
    }

    /// Reads the folded fields into a typed record; fields that the type does not know are left aside.
    pub fn read<T: DeserializeOwned>(&self) -> Result<T, ModelError> {
        let bad = |e: serde_json::Error| {
            ModelError::new("unreadable", format!("{} {}: {e}", self.kind, self.id)).at(self.id.to_string())
        };
        let mut parts = self.parts.values();
        // The quick way for what was written once; a body that names a field twice is read as its fields are shown.
        if let (Some(only), None) = (parts.next(), parts.next())
            && let Ok(body) = serde_json::from_str::<SetOnly<T>>(only.body.get())
        {
            return Ok(body.set);
        }
        let fields = self.fields();
        let values: BTreeMap<&str, &RawValue> =
            fields.iter().map(|(n, f)| (n.as_str(), f.now.value)).collect();
        let text = serde_json::to_string(&values).map_err(bad)?;
        serde_json::from_str(&text).map_err(bad)
    }

    /// Returns the fingerprint of the folded thing in its canonical form: kind and id, then every
    /// field in order of its name with the value that stands and those to be settled, each with its stamp.
    pub fn hash(&self) -> Hash {
        use std::fmt::Write as _;
        let mut text = format!("{}\n{}\n", self.kind, self.id);
        for (name, field) in self.fields() {
            let mut line = |mark: char, a: &Assigned<'_>| {
                writeln!(text, "{mark}{name} {} {}", a.stamp, a.value.get())
                    .expect("a String takes any text");
            };
            line('=', &field.now);
            field.others.iter().for_each(|a| line('~', a));
        }
        Hash::of(text.as_bytes())
    }
}
