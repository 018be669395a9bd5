//! The last line of a bundle or a backup: a fingerprint of all bytes before it, which shows that none is missing.

use super::Line;
use crate::{
    ModelError,
    log::{Hash, Hasher},
};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Seal {
    seal: Hash,
}

/// Covers the bytes of a file as they are written or read, so that a file of any size is sealed or checked.
#[derive(Debug, Clone, Default)]
pub struct Sealer(Hasher);

impl Sealer {
    /// Covers more bytes.
    pub fn cover(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// Returns the line that seals what was covered.
    pub fn line(&self) -> Result<Line, ModelError> {
        let seal = Seal { seal: self.0.clone().finish() };
        let raw = serde_json::value::to_raw_value(&seal);
        raw.map(Line::Act).map_err(|e| ModelError::new("bad_line", e.to_string()))
    }

    /// Returns whether a line seals what was covered; nothing when it is no seal at all.
    pub fn fits(&self, line: &RawValue) -> Option<bool> {
        let seal: Seal = serde_json::from_str(line.get()).ok()?;
        Some(seal.seal == self.0.clone().finish())
    }
}
