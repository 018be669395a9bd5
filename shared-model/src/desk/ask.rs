//! What comes with every call: the clock and the entropy of the device.

use crate::{
    ModelError,
    id::{DeviceId, TeamId, ThingId},
    moment::Moment,
    rng::{Rng, Seed},
};
use serde::{Deserialize, Deserializer, de::Error as _};
use std::cell::RefCell;

/// Clock and entropy of one call.
#[derive(Debug, Deserialize)]
pub struct Ask {
    /// The wall clock, milliseconds since 1970.
    pub now_ms: u64,
    /// Its offset from UTC in minutes.
    pub offset_min: i32,
    /// Sixteen hex digits of entropy.
    #[serde(rename = "seed", deserialize_with = "generator")]
    rng: RefCell<Rng>,
}

impl Ask {
    /// Makes what comes with a call.
    pub fn new(now_ms: u64, offset_min: i32, seed: u64) -> Self {
        Self { now_ms, offset_min, rng: RefCell::new(Rng::new(Seed(seed))) }
    }

    /// Returns the moment of the call.
    ///
    /// # Errors
    /// `bad_time` for a clock that no calendar holds.
    pub fn moment(&self) -> Result<Moment, ModelError> {
        Moment::new(i64::try_from(self.now_ms).unwrap_or(i64::MAX), self.offset_min)
    }

    /// Returns a seed for what is drawn by chance.
    pub fn seed(&self) -> Seed {
        Seed(self.rng.borrow_mut().next_u64())
    }

    /// Returns a new id for a record.
    pub fn thing_id(&self) -> ThingId {
        ThingId::new(self.now_ms, self.entropy())
    }

    /// Returns a new id for a device's log.
    pub fn device_id(&self) -> DeviceId {
        DeviceId::new(self.now_ms, self.entropy())
    }

    /// Returns a new id for a team.
    pub fn team_id(&self) -> TeamId {
        TeamId::new(self.now_ms, self.entropy())
    }

    fn entropy(&self) -> [u8; 10] {
        let mut rng = self.rng.borrow_mut();
        let mut bytes = [0; 10];
        bytes[..8].copy_from_slice(&rng.next_u64().to_le_bytes());
        bytes[8..].copy_from_slice(&rng.next_u64().to_le_bytes()[..2]);
        bytes
    }
}

fn generator<'de, D: Deserializer<'de>>(from: D) -> Result<RefCell<Rng>, D::Error> {
    let text = String::deserialize(from)?;
    let seed = u64::from_str_radix(&text, 16)
        .map_err(|_| D::Error::custom(format!("the seed `{text}` is not sixteen hex digits")))?;
    Ok(RefCell::new(Rng::new(Seed(seed))))
}
