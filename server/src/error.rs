//! What can go wrong in the service: words for the user and words for the log are kept apart.

use sheaf_model::ModelError;
use std::{io, path::PathBuf};

/// An error of the service.
#[derive(Debug, thiserror::Error)]
pub enum ServerError {
    /// The request cannot be met; the asker can do something about it.
    #[error("{}: {}", .0.code, .0.detail)]
    Refused(Box<Refusal>),
    /// A file is damaged: the service does not start over it.
    #[error(
        "{} is damaged at byte {at}: {why}. Nothing was changed. `sheafd check` says all that is wrong. Restore a \
         backup (`sheafd restore`), or move the data folder aside and start afresh: devices that sync bring back \
         what they hold",
        file.display()
    )]
    Damaged {
        /// The file.
        file: PathBuf,
        /// Where in it.
        at: u64,
        /// What is wrong there.
        why: String,
    },
    /// The journal is whole as far as it goes, and the index shows that it went on.
    #[error(
        "{} lacks at byte {at} {what}: the index shows that the journal went on there, and somebody was told \
         that it is kept. Nothing was changed. Put the file back or restore a backup (`sheafd restore`). Without \
         one, `sheafd rebuild` makes the index from what is left: the service starts then, and devices that sync \
         bring back what they hold; see who has access, since acts of access may be lost too",
        file.display()
    )]
    Lost {
        /// The file.
        file: PathBuf,
        /// Where its end, or its bad line, is.
        at: u64,
        /// What is missing.
        what: &'static str,
    },
    /// A file or folder is not what the keeper of the service takes it for; nothing was done.
    #[error("{} {why}", file.display())]
    Unfit {
        /// The file or folder.
        file: PathBuf,
        /// What it is instead, and what to do.
        why: String,
    },
    /// A file was written by a later version: it is whole, and nothing may be done to it.
    #[error(
        "{} is whole and was written by a newer sheafd: {what}. Nothing was changed. Install a newer sheafd",
        file.display()
    )]
    Newer {
        /// The file.
        file: PathBuf,
        /// What of it this build cannot read.
        what: String,
    },
    /// The file of the founding key holds none; no record depends on it.
    #[error(
        "{} holds no founding key. Remove this file, and a new key is made; teams and devices that are in stay in",
        .0.display()
    )]
    BadKey(PathBuf),
    /// Another process holds the data folder.
    #[error(
        "another sheafd already runs over {}; stop it first, or give this one another folder with --data",
        .0.display()
    )]
    Locked(PathBuf),
    /// The system refused something.
    #[error("cannot {doing} {}: {source}", path.display())]
    Io {
        /// What was attempted.
        doing: &'static str,
        /// On which path.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// The index cannot be read or written.
    #[error("the index: {0}")]
    Index(String),
    /// The journal can no longer be written; nothing is acknowledged until a restart.
    #[error("writing has stopped until a restart: {0}")]
    Stopped(String),
    /// Stored records cannot be read.
    #[error("stored records: {0}")]
    Model(#[from] ModelError),
    /// A task of the service ended before its time.
    #[error("a task of the service failed: {0}")]
    Task(String),
}

/// Why a request is not met, in words for its sender.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The HTTP status.
    pub status: u16,
    /// A stable word for programs.
    pub code: &'static str,
    /// The kind of problem in a few words.
    pub title: &'static str,
    /// What happened, to what, and what to do.
    pub detail: String,
    /// The field of the request that is wrong.
    pub field: Option<String>,
    /// Seconds after which asking again makes sense.
    pub retry_after_s: Option<u64>,
}

impl ServerError {
    /// Makes a refusal.
    pub fn refuse(status: u16, code: &'static str, title: &'static str, detail: impl Into<String>) -> Self {
        let detail = detail.into();
        Self::Refused(Box::new(Refusal { status, code, title, detail, field: None, retry_after_s: None }))
    }

    /// Names the field that a refusal is about.
    #[must_use]
    pub fn at(mut self, field: impl Into<String>) -> Self {
        if let Self::Refused(refusal) = &mut self {
            refusal.field = Some(field.into());
        }
        self
    }

    /// Says after how many seconds asking again makes sense.
    #[must_use]
    pub fn retry_after(mut self, seconds: u64) -> Self {
        if let Self::Refused(refusal) = &mut self {
            refusal.retry_after_s = Some(seconds);
        }
        self
    }

    /// Returns the same error once more, for one that was found before it is told.
    pub fn again(&self) -> Self {
        match self {
            Self::Refused(refusal) => Self::Refused(refusal.clone()),
            Self::Stopped(why) => Self::Stopped(why.clone()),
            Self::Index(why) => Self::Index(why.clone()),
            other => Self::Task(other.to_string()),
        }
    }

    /// Returns what to tell the sender of the request; the rest is for the log.
    pub fn refusal(&self) -> Refusal {
        let (status, code, title, detail) = match self {
            Self::Refused(refusal) => return (**refusal).clone(),
            Self::Stopped(why) => (
                503,
                "stopped",
                "Writing has stopped",
                format!(
                    "The service could not write to its disk ({why}) and takes nothing more until its keeper has \
                     seen to that and restarted it. Your records are kept on your device; reading still works."
                ),
            ),
            Self::Index(_) => (
                503,
                "index",
                "The index cannot be used",
                "The service cannot use its index, which its keeper mends by restarting it: it is then made anew \
                 from the journal. Nothing of yours is lost: try again later."
                    .to_owned(),
            ),
            _ => (
                500,
                "fault",
                "The service failed",
                "Something went wrong inside the service; its log says what, under the number of this request. \
                 Nothing of yours is lost: try again later."
                    .to_owned(),
            ),
        };
        Refusal { status, code, title, detail, field: None, retry_after_s: None }
    }
}

/// Says what was attempted on a path when the system refuses it.
pub(crate) fn io(doing: &'static str, path: impl Into<PathBuf>) -> impl FnOnce(io::Error) -> ServerError {
    let path = path.into();
    move |source| ServerError::Io { doing, path, source }
}
