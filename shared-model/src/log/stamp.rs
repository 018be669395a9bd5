//! The hybrid logical clock: when an entry was written, in an order that cause never runs against.
//!
//! # Source
//! Kulkarni, Demirbas, Madappa, Avva and Leone, "Logical physical clocks", OPODIS 2014.

use crate::{ModelError, id::DeviceId};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use std::{fmt, str::FromStr};

/// The last millisecond of the year 9999; a later stamp is malformed.
const LAST_MS: u64 = 253_402_300_799_999;

/// A reading of the clock: milliseconds since 1970 and a counter within the millisecond.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Tick {
    ms: u64,
    counter: u32,
}

/// A reading together with the device that took it: unique, and totally ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Stamp {
    /// When.
    pub tick: Tick,
    /// By which device.
    pub device: DeviceId,
}

impl Tick {
    /// Makes a reading; milliseconds beyond the year 9999 are refused.
    pub fn new(ms: u64, counter: u32) -> Result<Self, ModelError> {
        if ms > LAST_MS {
            return Err(ModelError::new(
                "bad_stamp",
                format!("a stamp of {ms} ms lies beyond the year 9999"),
            ));
        }
        Ok(Self { ms, counter })
    }

    /// Returns the reading that follows this one and is not before `wall_ms`.
    ///
    /// Fails only when the clock has been driven to the end of the year 9999.
    pub fn next(self, wall_ms: u64) -> Result<Self, ModelError> {
        let wall_ms = wall_ms.min(LAST_MS);
        if wall_ms > self.ms {
            return Ok(Self { ms: wall_ms, counter: 0 });
        }
        match self.counter.checked_add(1) {
            Some(counter) => Ok(Self { ms: self.ms, counter }),
            None => Self::new(self.ms + 1, 0),
        }
    }

    /// Returns the milliseconds since 1970.
    pub fn ms(self) -> u64 {
        self.ms
    }

    /// Returns the counter within the millisecond.
    pub fn counter(self) -> u32 {
        self.counter
    }
}

impl fmt::Display for Tick {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.ms, self.counter)
    }
}

impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.tick, self.device)
    }
}

impl FromStr for Tick {
    type Err = ModelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let parts = text.split_once('.').and_then(|(ms, counter)| Some((plain(ms)?, plain(counter)?)));
        let Some((ms, counter)) = parts else {
            return Err(ModelError::new(
                "bad_stamp",
                format!("`{text}` is no stamp: milliseconds, a dot, a counter"),
            ));
        };
        let counter = u32::try_from(counter).map_err(|_| {
            ModelError::new("bad_stamp", format!("the counter of stamp `{text}` is over 32 bits"))
        })?;
        Self::new(ms, counter)
    }
}

impl FromStr for Stamp {
    type Err = ModelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let (tick, device) = text.rsplit_once('.').ok_or_else(|| {
            ModelError::new("bad_stamp", format!("`{text}` is no stamp: milliseconds, counter and device"))
        })?;
        Ok(Self { tick: tick.parse()?, device: device.parse()? })
    }
}

/// Reads digits with no sign and no leading zero, so that a number has one spelling.
fn plain(digits: &str) -> Option<u64> {
    let canonical = digits == "0" || !digits.starts_with(['0', '+']);
    canonical.then(|| digits.parse().ok()).flatten()
}

macro_rules! as_text {
    ($name:ty) => {
        impl Serialize for $name {
            fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
                out.collect_str(self)
            }
        }

        impl<'de> Deserialize<'de> for $name {
            fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
                let text = std::borrow::Cow::<'de, str>::deserialize(input)?;
                text.parse().map_err(D::Error::custom)
            }
        }
    };
}
as_text!(Tick);
as_text!(Stamp);

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_clock_that_is_set_back_still_moves_on() {
        let seen = Tick::new(5_000, 3).unwrap();
        assert_eq!(seen.next(1).unwrap(), Tick::new(5_000, 4).unwrap());
        assert_eq!(seen.next(6_000).unwrap(), Tick::new(6_000, 0).unwrap());
        assert_eq!(Tick::new(5, u32::MAX).unwrap().next(0).unwrap(), Tick::new(6, 0).unwrap());
    }

    #[test]
    fn only_beyond_the_year_9999_is_malformed() {
        assert!(Tick::new(LAST_MS, 0).is_ok());
        assert!(Tick::new(LAST_MS + 1, 0).is_err());
        assert!("+5.0".parse::<Tick>().is_err() && "05.0".parse::<Tick>().is_err());
    }
}
