//! What must hold of an error.

use sheaf_model::ModelError;

/// Checks that an error says something, to a person and to a program.
pub fn told(e: &ModelError) {
    assert!(!e.message.trim().is_empty() && !e.code.is_empty(), "{e:?}");
}

/// Checks the error of a result, and returns what went well.
pub fn well<T>(read: Result<T, ModelError>) -> Option<T> {
    read.inspect_err(told).ok()
}
