//! Where files come from, and what can be wrong with one before a word of it is read.

use std::fs::File;
use std::io::{self, Read as _};
use std::path::{Path, PathBuf};

/// The largest file read. A menu of a hundred dishes has a hundredth of it.
const LARGEST: u64 = 4 * 1024 * 1024;

/// Where the files come from that a menu refers to.
pub trait Shelf {
    /// Returns the text of a file, by the path the menu gives.
    fn read(&self, path: &str) -> io::Result<String>;
}

/// A folder on disk.
#[derive(Clone, Debug)]
pub struct Folder(PathBuf);

impl Folder {
    /// Returns the folder a file is in.
    pub fn of(file: &Path) -> Self {
        Self(file.parent().map(Path::to_path_buf).unwrap_or_default())
    }
}

impl Shelf for Folder {
    fn read(&self, path: &str) -> io::Result<String> {
        read(&self.0.join(path))
    }
}

/// Returns whether a file of this many bytes is read at all.
pub(super) fn fits(bytes: u64) -> io::Result<()> {
    if bytes > LARGEST {
        return Err(io::ErrorKind::FileTooLarge.into());
    }
    Ok(())
}

/// Reads a text file.
#[allow(
    clippy::disallowed_methods,
    reason = "the one place that opens what a menu refers to"
)]
pub(super) fn read(path: &Path) -> io::Result<String> {
    let file = File::open(path)?;
    if file.metadata()?.is_dir() {
        return Err(io::ErrorKind::IsADirectory.into());
    }
    // The length is checked on what is read, because not everything that can be opened knows its length.
    let mut bytes = Vec::new();
    file.take(LARGEST + 1).read_to_end(&mut bytes)?;
    fits(bytes.len() as u64)?;
    String::from_utf8(bytes).map_err(|_| io::ErrorKind::InvalidData.into())
}

/// Returns what is wrong, in the cook's words.
pub(super) fn said(error: &io::Error) -> String {
    match error.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::IsADirectory => "this is a folder, not a file".to_owned(),
        io::ErrorKind::PermissionDenied => "this file may not be read".to_owned(),
        io::ErrorKind::FileTooLarge => "this file is larger than 4 MB, so it is no menu".to_owned(),
        io::ErrorKind::InvalidData => "this file is not text in UTF-8".to_owned(),
        _ => format!("this file cannot be read: {error}"),
    }
}

/// Returns what to do about it, where there is something to do.
pub(super) fn advice(error: &io::Error) -> Option<&'static str> {
    match error.kind() {
        io::ErrorKind::NotFound => {
            Some("look at the spelling; a path is taken from the folder of the file that names it")
        }
        io::ErrorKind::IsADirectory => Some("name a file inside it"),
        io::ErrorKind::PermissionDenied => Some("ask whoever owns it to let you read it"),
        io::ErrorKind::InvalidData => Some("save it again from your editor as UTF-8"),
        _ => None,
    }
}
