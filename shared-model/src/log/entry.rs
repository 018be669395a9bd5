//! The one thing that travels: an immutable line of a device's log.

use crate::{
    ModelError,
    id::{DeviceId, ThingId},
    log::{Hash, Stamp, Tick},
};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// The version of the entry format that this build writes.
pub const VERSION: u32 = 1;
/// The most bytes that the body of an entry may have.
pub const MAX_BODY: usize = 64 * 1024 - 1024;

/// An entry: a header that chains, and a body that says which fields of a thing were set.
///
/// The body is kept as the very text that its writer hashed, so that no carrier can alter it by
/// reading and writing it. An entry that a carrier stripped of its body is read, so that it can be refused by
/// name, and never kept.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Version of the format: 1.
    pub v: u32,
    /// Whose log.
    pub device: DeviceId,
    /// Its number there: 1, 2, 3 and so on, without holes.
    pub seq: u64,
    /// When it was written, on the hybrid logical clock.
    pub stamp: Tick,
    /// The person who wrote it.
    pub author: ThingId,
    /// What kind of thing it is about, for example `group`.
    pub kind: String,
    /// Which thing.
    pub id: ThingId,
    /// Fingerprint of the body's text.
    pub body_hash: Hash,
    /// Fingerprint of the header before it in the same log; [`Hash::NONE`] for the first.
    pub prev: Hash,
    /// `{"set": {field: value}, "over": {field: [stamp]}}`.
    pub body: Option<Box<RawValue>>,
}

/// What a body says, borrowed from its text.
#[derive(Debug, Deserialize)]
pub struct Body<'a> {
    /// The fields that are assigned, with their values as written.
    #[serde(borrow)]
    pub set: BTreeMap<String, &'a RawValue>,
    /// For each of them, the stamps of the values that the writer saw and replaced.
    #[serde(default)]
    pub over: BTreeMap<String, Vec<Stamp>>,
}

#[derive(Serialize)]
struct BodyOut<'a> {
    set: &'a BTreeMap<String, Box<RawValue>>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    over: &'a BTreeMap<String, Vec<Stamp>>,
}

/// Writes the text of a body.
pub fn write_body(
    set: &BTreeMap<String, Box<RawValue>>,
    over: &BTreeMap<String, Vec<Stamp>>,
) -> Result<Box<RawValue>, ModelError> {
    serde_json::value::to_raw_value(&BodyOut { set, over })
        .map_err(|e| ModelError::new("bad_body", format!("the record cannot be written as JSON: {e}")))
}

impl Entry {
    /// Returns the fingerprint of the header, which the next entry of the log names as `prev`.
    pub fn header_hash(&self) -> Hash {
        let Self { v, device, seq, stamp, author, kind, id, body_hash, prev, .. } = self;
        let text = format!(
            "sheaf entry {v}\n{device}\n{seq}\n{stamp}\n{author}\n{kind}\n{id}\n{body_hash}\n{prev}\n"
        );
        Hash::of(text.as_bytes())
    }

    /// Returns the stamp with the device that took it.
    pub fn full_stamp(&self) -> Stamp {
        Stamp { tick: self.stamp, device: self.device }
    }

    /// Checks everything that can be checked of an entry alone: version, names, sizes and body hash.
    pub fn check(&self) -> Result<(), ModelError> {
        let wrong = |code, what: String| {
            Err(ModelError::new(code, format!("entry {} of device {}: {what}", self.seq, self.device)))
        };
        if self.v != VERSION {
            return wrong(
                "newer_version",
                format!("format version {}; this build reads {VERSION}, update it", self.v),
            );
        }
        if self.seq == 0 {
            return wrong("bad_seq", "logs count from 1".into());
        }
        if (self.seq == 1) != (self.prev == Hash::NONE) {
            return wrong("bad_prev", "the first entry, and only it, has no entry before it".into());
        }
        if !is_name(&self.kind, 32) {
            return wrong("bad_kind", format!("`{}` is no kind: up to 32 of a-z, 0-9, _ and .", self.kind));
        }
        let Some(raw) = &self.body else {
            return wrong("no_body", "its body is missing; fetch it again from where it was written".into());
        };
        if raw.get().len() > MAX_BODY {
            return wrong(
                "too_large",
                format!("a body of {} bytes; the most is {MAX_BODY}", raw.get().len()),
            );
        }
        if Hash::of(raw.get().as_bytes()) != self.body_hash {
            return wrong("altered", "its body does not match its fingerprint".into());
        }
        self.check_body(&read_body(raw)?)
    }

    fn check_body(&self, body: &Body<'_>) -> Result<(), ModelError> {
        for field in body.set.keys().chain(body.over.keys()) {
            if !is_name(field, 64) {
                return Err(ModelError::new(
                    "bad_field",
                    format!("`{}` is no field name: up to 64 of a-z, 0-9, _ and .", field.escape_debug()),
                ));
            }
        }
        if let Some(field) = body.over.keys().find(|field| !body.set.contains_key(*field)) {
            return Err(ModelError::new(
                "bad_over",
                format!(
                    "entry {} of device {} replaces values of `{field}` and sets none; set the field too",
                    self.seq, self.device
                ),
            ));
        }
        let mine = self.full_stamp();
        match body.over.values().flatten().find(|seen| **seen >= mine) {
            Some(seen) => Err(ModelError::new(
                "bad_over",
                format!(
                    "entry {} of device {} claims to replace {seen}, which is later",
                    self.seq, self.device
                ),
            )),
            None => Ok(()),
        }
    }
}

/// Reads the text of a body.
pub fn read_body(raw: &RawValue) -> Result<Body<'_>, ModelError> {
    serde_json::from_str(raw.get())
        .map_err(|e| ModelError::new("bad_body", format!("the body of an entry: {e}")))
}

fn is_name(text: &str, most: usize) -> bool {
    let inside = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '_' | '.');
    text.len() <= most && text.starts_with(|c: char| c.is_ascii_lowercase()) && text.chars().all(inside)
}
