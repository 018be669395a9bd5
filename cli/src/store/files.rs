//! Files: those of the replica are there whole or not at all, those that the user names are spared.

use crate::CliError;
use std::{
    fs::{self, File, OpenOptions},
    io::Write,
    path::Path,
};

/// Replaces a file in one step that survives a power cut; only its owner can read it.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    let beside = write_beside(path, bytes, true)?;
    fs::rename(&beside, path).map_err(|e| CliError::file("replace", path, &e))?;
    sync_folder(path.parent().unwrap_or(Path::new(".")))
}

/// Replaces a derived file in one step; after a power cut it may be gone or damaged, which its reader checks.
pub fn replace_derived(path: &Path, bytes: &[u8]) -> Result<(), CliError> {
    let beside = write_beside(path, bytes, false)?;
    fs::rename(&beside, path).map_err(|e| CliError::file("replace", path, &e))
}

/// Refuses to write over a file of the user's unless that was asked for.
pub fn spare(file: &Path, replace: bool) -> Result<(), CliError> {
    if file.exists() && !replace { Err(there_already(file)) } else { Ok(()) }
}

/// Writes a file that the user named, but over none that is there unless that was asked for.
pub fn write_out(file: &Path, text: &str, replace: bool) -> Result<(), CliError> {
    let mut open = OpenOptions::new();
    open.write(true).create(true).truncate(true).create_new(!replace);
    let written = open.open(file).and_then(|mut file| file.write_all(text.as_bytes()));
    written.map_err(|e| match e.kind() {
        std::io::ErrorKind::AlreadyExists => there_already(file),
        _ => CliError::file("write", file, &e),
    })
}

fn there_already(file: &Path) -> CliError {
    CliError::input(format!("{} is there already", file.display()))
        .hint("give another name, or write over it with --replace")
}

/// Makes a folder, and those above it, that only its owner can enter; what is made survives a power cut.
pub fn make_folder(path: &Path) -> Result<(), CliError> {
    let path = std::path::absolute(path).map_err(|e| CliError::file("find", path, &e))?;
    let made: Vec<&Path> = path.ancestors().take_while(|above| !above.exists()).collect();
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(&path).map_err(|e| CliError::file("make the folder", &path, &e))?;
    made.iter().rev().filter_map(|above| above.parent()).try_for_each(sync_folder)
}

/// Makes the name of a folder durable that may have been made by a command that was killed right then.
pub fn sync_into_place(path: &Path) -> Result<(), CliError> {
    let path = std::path::absolute(path).map_err(|e| CliError::file("find", path, &e))?;
    path.parent().map_or(Ok(()), sync_folder)
}

/// Makes the names in a folder durable.
pub fn sync_folder(path: &Path) -> Result<(), CliError> {
    // Only Unix can open a folder; elsewhere a rename is as durable as it gets.
    if cfg!(unix) {
        File::open(path).and_then(|f| f.sync_all()).map_err(|e| CliError::file("sync", path, &e))?;
    }
    Ok(())
}

/// Opens a file for its owner alone, to write at its end.
pub fn open_private(path: &Path, new: bool) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).read(true).create(true).create_new(new).truncate(false);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

fn write_beside(path: &Path, bytes: &[u8], durable: bool) -> Result<std::path::PathBuf, CliError> {
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.new", std::process::id()));
    let beside = path.with_file_name(name);
    let _ = fs::remove_file(&beside);
    let write = || {
        let mut file = open_private(&beside, true)?;
        file.write_all(bytes)?;
        if durable { file.sync_all() } else { Ok(()) }
    };
    write().map_err(|e| CliError::file("write", &beside, &e))?;
    Ok(beside)
}
