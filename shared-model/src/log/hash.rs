//! SHA-256 fingerprints, written as 43 characters of base64url.

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::{Deserialize, Deserializer, Serialize, Serializer, de::Error as _};
use sha2::{Digest, Sha256};
use std::{fmt, str::FromStr};

/// A SHA-256 fingerprint (FIPS 180-4).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub struct Hash([u8; 32]);

impl Hash {
    /// The hash that stands before a log's first entry.
    pub const NONE: Self = Self([0; 32]);

    /// Returns the fingerprint of some bytes.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Returns the fingerprint of the concatenation of several runs of bytes.
    pub fn of_all<'a>(runs: impl IntoIterator<Item = &'a [u8]>) -> Self {
        let mut sha = Sha256::new();
        for run in runs {
            sha.update(run);
        }
        Self(sha.finalize().into())
    }

    /// Returns the 32 bytes.
    pub fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// Takes 32 bytes as they are.
    pub fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }
}

/// Makes the fingerprint of bytes that come piece by piece.
#[derive(Debug, Clone, Default)]
pub struct Hasher(Sha256);

impl Hasher {
    /// Takes in more bytes.
    pub fn update(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// Returns the fingerprint of all bytes taken in.
    pub fn finish(self) -> Hash {
        Hash(self.0.finalize().into())
    }
}

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&URL_SAFE_NO_PAD.encode(self.0))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Hash({self})")
    }
}

impl FromStr for Hash {
    type Err = crate::ModelError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let mut bytes = [0; 32];
        match URL_SAFE_NO_PAD.decode_slice(text, &mut bytes) {
            Ok(32) => Ok(Self(bytes)),
            _ => Err(crate::ModelError::new(
                "bad_hash",
                format!("`{text}` is no hash: 43 characters of base64url"),
            )),
        }
    }
}

impl Serialize for Hash {
    fn serialize<S: Serializer>(&self, out: S) -> Result<S::Ok, S::Error> {
        out.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Hash {
    fn deserialize<D: Deserializer<'de>>(input: D) -> Result<Self, D::Error> {
        let text = std::borrow::Cow::<'de, str>::deserialize(input)?;
        text.parse().map_err(D::Error::custom)
    }
}
