//! The byte layout of the index's keys: a letter, then ids and numbers, big-endian so that order is kept.
//!
//! | letter | then | value |
//! | --- | --- | --- |
//! | `m` | name | format, first line, position |
//! | `s` | number of a segment | where the last line that was applied of it ends |
//! | `h` | team, device | head of the log |
//! | `e` | team, device, seq | place in the journal, header hash |
//! | `t` | team, kind, thing | hash of the thing, its bow |
//! | `c` | team, kind, thing, stamp | one contribution: author, body |
//! | `b` | team, bow, kind, thing | nothing |
//! | `T` `D` `K` `P` `I` | team · team, device · token hash · team, person · invite hash | access, as JSON |

use crate::error::ServerError;
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::{Hash, Stamp},
};

pub const FORMAT: &[u8] = b"mformat";
pub const FIRST: &[u8] = b"mfirst";
pub const POSITION: &[u8] = b"mposition";

fn key(letter: u8, parts: &[&[u8]]) -> Vec<u8> {
    let mut key = Vec::with_capacity(1 + parts.iter().map(|p| p.len()).sum::<usize>());
    key.push(letter);
    parts.iter().for_each(|p| key.extend_from_slice(p));
    key
}

pub fn segment(number: u32) -> Vec<u8> {
    key(b's', &[&number.to_be_bytes()])
}

/// Reads the number of a segment out of its key.
pub fn segment_of(key: &[u8]) -> Result<u32, ServerError> {
    let number = key.get(1..).and_then(|rest| rest.first_chunk());
    number.map(|n| u32::from_be_bytes(*n)).ok_or_else(|| ServerError::Index("a key is too short".into()))
}

pub fn heads(team: TeamId) -> Vec<u8> {
    key(b'h', &[team.as_bytes()])
}

pub fn head(team: TeamId, device: DeviceId) -> Vec<u8> {
    key(b'h', &[team.as_bytes(), device.as_bytes()])
}

pub fn entry(team: TeamId, device: DeviceId, seq: u64) -> Vec<u8> {
    key(b'e', &[team.as_bytes(), device.as_bytes(), &seq.to_be_bytes()])
}

/// A kind's name with its length before it, so that no name is the beginning of another.
fn kind(name: &str) -> Vec<u8> {
    let len = u8::try_from(name.len()).unwrap_or(u8::MAX);
    let mut bytes = vec![len];
    bytes.extend_from_slice(&name.as_bytes()[..usize::from(len)]);
    bytes
}

pub fn things(team: TeamId) -> Vec<u8> {
    key(b't', &[team.as_bytes()])
}

pub fn thing(team: TeamId, name: &str, id: ThingId) -> Vec<u8> {
    key(b't', &[team.as_bytes(), &kind(name), id.as_bytes()])
}

pub fn parts_of_kind(team: TeamId, name: &str) -> Vec<u8> {
    key(b'c', &[team.as_bytes(), &kind(name)])
}

pub fn parts(team: TeamId, name: &str, id: ThingId) -> Vec<u8> {
    key(b'c', &[team.as_bytes(), &kind(name), id.as_bytes()])
}

pub fn part(team: TeamId, name: &str, id: ThingId, stamp: Stamp) -> Vec<u8> {
    let mut key = parts(team, name, id);
    key.extend_from_slice(&stamp.tick.ms().to_be_bytes());
    key.extend_from_slice(&stamp.tick.counter().to_be_bytes());
    key.extend_from_slice(stamp.device.as_bytes());
    key
}

pub fn of_bow(team: TeamId, bow: ThingId, name: &str) -> Vec<u8> {
    key(b'b', &[team.as_bytes(), bow.as_bytes(), &kind(name)])
}

pub fn bow(team: TeamId, bow: ThingId, name: &str, id: ThingId) -> Vec<u8> {
    key(b'b', &[team.as_bytes(), bow.as_bytes(), &kind(name), id.as_bytes()])
}

pub fn teams() -> Vec<u8> {
    key(b'T', &[])
}

pub fn team(team: TeamId) -> Vec<u8> {
    key(b'T', &[team.as_bytes()])
}

pub fn all_devices() -> Vec<u8> {
    key(b'D', &[])
}

pub fn devices(team: TeamId) -> Vec<u8> {
    key(b'D', &[team.as_bytes()])
}

pub fn device(team: TeamId, device: DeviceId) -> Vec<u8> {
    key(b'D', &[team.as_bytes(), device.as_bytes()])
}

pub fn token(hash: &Hash) -> Vec<u8> {
    key(b'K', &[hash.as_bytes()])
}

pub fn people(team: TeamId) -> Vec<u8> {
    key(b'P', &[team.as_bytes()])
}

pub fn person(team: TeamId, person: ThingId) -> Vec<u8> {
    key(b'P', &[team.as_bytes(), person.as_bytes()])
}

pub fn invite(hash: &Hash) -> Vec<u8> {
    key(b'I', &[hash.as_bytes()])
}
