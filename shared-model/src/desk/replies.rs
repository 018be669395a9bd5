//! Requests and answers of the wire as texts.

use crate::ModelError;
use serde::{Serialize, de::DeserializeOwned};

/// Writes a request.
pub(super) fn text<T: Serialize>(request: &T) -> Result<String, ModelError> {
    serde_json::to_string(request)
        .map_err(|e| ModelError::new("bad_record", format!("a request cannot be written: {e}")))
}

/// Reads an answer.
pub(super) fn parse<T: DeserializeOwned>(reply: &str) -> Result<T, ModelError> {
    serde_json::from_str(reply).map_err(|_| unread())
}

/// Says that an answer is none of a service of this version.
pub(super) fn unread() -> ModelError {
    let message = "the server answered in a way that this page cannot read: does this network ask you to log in first? \
                   The server may also be newer than this page. What you recorded is kept on this phone";
    ModelError::new("no_answer", message)
}
