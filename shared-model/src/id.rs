//! Names that are never given twice.

use serde::{Deserialize, Serialize};
use std::{fmt, str::FromStr};
use uuid::Uuid;

macro_rules! id {
    ($(#[$doc:meta])* $name:ident, $what:literal) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(Uuid);

        impl $name {
            /// Makes a UUIDv7 of a moment and ten random bytes, both passed in.
            pub fn new(unix_ms: u64, entropy: [u8; 10]) -> Self {
                Self(uuid::Builder::from_unix_timestamp_millis(unix_ms, &entropy).into_uuid())
            }

            /// Returns the id of these 16 bytes.
            pub fn from_bytes(bytes: [u8; 16]) -> Self {
                Self(Uuid::from_bytes(bytes))
            }

            /// Returns the 16 bytes of the id.
            pub fn as_bytes(&self) -> &[u8; 16] {
                self.0.as_bytes()
            }

            /// Returns the end of the id, which is random and so tells things apart.
            pub fn short(&self) -> String {
                self.0.simple().to_string().split_off(24)
            }

            /// Returns the moment of which the id was made, milliseconds since 1970.
            pub fn unix_ms(&self) -> u64 {
                self.as_bytes()[..6].iter().fold(0, |ms, byte| (ms << 8) | u64::from(*byte))
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.fmt(f)
            }
        }

        impl FromStr for $name {
            type Err = crate::ModelError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                Uuid::try_parse(text).map(Self).map_err(|_| {
                    crate::ModelError::new(
                        "bad_id",
                        format!(concat!("`{}` is no ", $what, " id; ids are UUIDs such as 01902f3a-7c1e-7d2b-9a55-0c6f1f2e3d4c"), text),
                    )
                })
            }
        }
    };
}

id!(
    /// A team: the people who share bows, arrows and records.
    TeamId,
    "team"
);
id!(
    /// A device's log within one team. A device in two teams has two of these.
    DeviceId,
    "device"
);
id!(
    /// A thing that is recorded: a person, a bow, a group, and so on.
    ThingId,
    "record"
);
