//! What can be wrong with what the model is given.

/// An error that the giver of an input can mend: what was wrong, where, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{message}")]
pub struct ModelError {
    /// A stable word for programs, for example `missing_field`.
    pub code: &'static str,
    /// What was wrong, with which value, and what to do, for people.
    pub message: String,
    /// Where: the path of the field in the input, for example `groups[3].distance_m`.
    pub field: Option<String>,
}

impl ModelError {
    /// Makes an error about the input as a whole.
    pub fn new(code: &'static str, message: impl Into<String>) -> Self {
        Self { code, message: message.into(), field: None }
    }

    /// Names the field that the error is about.
    #[must_use]
    pub fn at(mut self, field: impl Into<String>) -> Self {
        self.field = Some(field.into());
        self
    }
}
