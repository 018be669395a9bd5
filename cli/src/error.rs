//! What can go wrong in a command, and the exit code that says what kind of trouble it is.

use sheaf_model::ModelError;
use std::io;

/// Why a command failed.
#[derive(Debug, thiserror::Error)]
pub enum CliError {
    /// Something that the user typed, or a file that was given, is wrong: exit code 1.
    #[error("{}", .0.message)]
    Input(Told),
    /// The command line does not parse; the text is ready to be shown: exit code 2.
    #[error("{0}")]
    Usage(String),
    /// The server is out of reach and what was recorded is kept: exit code 3.
    #[error("{}", .0.message)]
    OutOfReach(Told),
    /// The server, or the role of this device, says no: exit code 4.
    #[error("{}", .0.message)]
    Refused(Told),
    /// Something that cannot be the user's doing: exit code 70.
    #[error("{}", .0.message)]
    Bug(Told),
    /// Whoever read the output has gone away: nothing to say.
    #[error("the output was closed")]
    Closed,
}

/// What the user is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// What happened, to what.
    pub message: String,
    /// What to do about it.
    pub hint: Option<String>,
}

impl Told {
    fn new(message: impl Into<String>) -> Self {
        Self { message: message.into(), hint: None }
    }
}

impl CliError {
    /// Makes an error about what was given.
    pub fn input(message: impl Into<String>) -> Self {
        Self::Input(Told::new(message))
    }

    /// Makes an error about a server that cannot be reached.
    pub fn out_of_reach(message: impl Into<String>) -> Self {
        Self::OutOfReach(Told::new(message))
    }

    /// Makes an error about something that is not allowed.
    pub fn refused(message: impl Into<String>) -> Self {
        Self::Refused(Told::new(message))
    }

    /// Makes an error that ought not to happen.
    pub fn bug(message: impl Into<String>) -> Self {
        Self::Bug(Told::new(message))
    }

    /// Makes an error about a file or folder.
    pub fn file(doing: &str, path: &std::path::Path, e: &io::Error) -> Self {
        Self::input(format!("cannot {doing} {}: {e}", path.display()))
    }

    /// Adds what to do about it.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        if let Self::Input(told) | Self::OutOfReach(told) | Self::Refused(told) | Self::Bug(told) = &mut self
        {
            told.hint = Some(hint.into());
        }
        self
    }

    /// Returns the exit code.
    pub fn exit_code(&self) -> u8 {
        match self {
            Self::Closed => 0,
            Self::Input(_) => 1,
            Self::Usage(_) => 2,
            Self::OutOfReach(_) => 3,
            Self::Refused(_) => 4,
            Self::Bug(_) => 70,
        }
    }

    /// Returns what to do about it.
    pub fn advice(&self) -> Option<&str> {
        match self {
            Self::Input(told) | Self::OutOfReach(told) | Self::Refused(told) => told.hint.as_deref(),
            Self::Bug(told) => Some(told.hint.as_deref().unwrap_or("this is a bug, please report it")),
            Self::Usage(_) | Self::Closed => None,
        }
    }
}

impl From<ModelError> for CliError {
    fn from(e: ModelError) -> Self {
        Self::input(e.message)
    }
}

/// Errors of writing the output; those of files are made with [`CliError::file`].
impl From<io::Error> for CliError {
    fn from(e: io::Error) -> Self {
        match e.kind() {
            io::ErrorKind::BrokenPipe => Self::Closed,
            _ => Self::input(format!("the output cannot be written: {e}")),
        }
    }
}
