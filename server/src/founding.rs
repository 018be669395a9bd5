//! The founding key: whoever holds it may move a team onto this service.

use crate::{
    error::{ServerError, io},
    journal::{make_folder, sync_folder},
    secret::Code,
};
use std::{
    fs::{self, OpenOptions},
    io::{ErrorKind, Write},
    os::unix::fs::OpenOptionsExt,
    path::{Path, PathBuf},
};

/// Returns the path of the founding key of a data folder.
pub fn key_path(data: &Path) -> PathBuf {
    data.join("founding-key")
}

/// Returns the founding key of a data folder, which is made when there is none yet.
pub fn founding_key(data: &Path) -> Result<Code, ServerError> {
    match known_founding_key(data)? {
        Some(key) => Ok(key),
        None => make(data, &key_path(data)),
    }
}

/// Returns the founding key of a data folder; none where no service has run in it yet.
pub fn known_founding_key(data: &Path) -> Result<Option<Code>, ServerError> {
    let path = key_path(data);
    match fs::read_to_string(&path) {
        Ok(text) => read(&path, &text).map(Some),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
        Err(e) => Err(io("read the founding key", path)(e)),
    }
}

fn read(path: &Path, text: &str) -> Result<Code, ServerError> {
    Code::read(text).ok_or_else(|| ServerError::BadKey(path.to_owned()))
}

/// Writes a new key beside its place and links it there, so that no half of one is ever read.
fn make(data: &Path, path: &Path) -> Result<Code, ServerError> {
    make_folder(data)?;
    let key = Code::random()?;
    let draft = data.join(format!("founding-key.{}", std::process::id()));
    let mut file = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(true)
        .mode(0o600)
        .open(&draft)
        .map_err(io("write the founding key", &draft))?;
    let written = writeln!(file, "{}", key.show()).and_then(|()| file.sync_all());
    let linked = written.and_then(|()| fs::hard_link(&draft, path));
    fs::remove_file(&draft).ok();
    match linked {
        Ok(()) => {
            sync_folder(data)?;
            Ok(key)
        }
        Err(e) if e.kind() == ErrorKind::AlreadyExists => {
            read(path, &fs::read_to_string(path).map_err(io("read the founding key", path))?)
        }
        Err(e) => Err(io("write the founding key", path)(e)),
    }
}
