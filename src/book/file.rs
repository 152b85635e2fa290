//! The book's file as the file system has it: which file it is, whether it begins as a database does, and a copy of it.

use std::path::{Path, PathBuf};

use super::carve::MAGIC;
use super::error::{BookError, Trouble};

/// Tells one file from another that has its name.
pub(super) type FileId = (u64, u64);

/// A folder that goes when it is no longer needed.
#[derive(Debug)]
pub(super) struct CopyFolder(pub(super) PathBuf);

impl Drop for CopyFolder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// Returns a path from the root on, so that no name means anything but a file to SQLite (":memory:" would), and
/// messages say which folder.
pub(super) fn absolute(path: &Path) -> Result<PathBuf, BookError> {
    std::path::absolute(path)
        .map_err(|error| BookError::new(path, Trouble::Failed(error.to_string())))
}

#[cfg(unix)]
pub(super) fn file_id(path: &Path) -> Option<FileId> {
    use std::os::unix::fs::MetadataExt;
    let about = path.metadata().ok()?;
    Some((about.dev(), about.ino()))
}

/// Elsewhere an open file cannot be moved, and the standard library does not tell files apart.
#[cfg(not(unix))]
pub(super) fn file_id(_: &Path) -> Option<FileId> {
    None
}

/// Copies a book and its log into a new folder for passing things, which only this user may read.
#[allow(
    clippy::disallowed_methods,
    reason = "the book copies its own file where SQLite may not read it in place"
)]
pub(super) fn copy_aside(path: &Path) -> std::io::Result<CopyFolder> {
    let mut builder = std::fs::DirBuilder::new();
    #[cfg(unix)]
    {
        use std::os::unix::fs::DirBuilderExt;
        builder.mode(0o700);
    }
    let mut folder = None;
    for number in 0..1000 {
        let name = format!("countback-{}-{number}", std::process::id());
        let place = std::env::temp_dir().join(name);
        match builder.create(&place) {
            Ok(()) => {
                folder = Some(CopyFolder(place));
                break;
            }
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(error),
        }
    }
    let folder = folder.ok_or(std::io::ErrorKind::AlreadyExists)?;
    let copy = |from: &Path, name: &str| -> std::io::Result<()> {
        let to = folder.0.join(name);
        let mut from = std::fs::File::open(from)?;
        std::io::copy(&mut from, &mut std::fs::File::create(to)?)?;
        Ok(())
    };
    copy(path, "book.sqlite")?;
    let log = beside(path, "-wal");
    if log.is_file() {
        copy(&log, "book.sqlite-wal")?;
    }
    Ok(folder)
}

/// Returns the path of a file whose name is the book's with something behind it.
pub(super) fn beside(path: &Path, ending: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(ending);
    PathBuf::from(name)
}

/// Refuses a file that does not begin as every SQLite database does (SQLite documentation, "Database File
/// Format", §1.3), before anything could write to it. An empty file is a database with nothing in it.
#[allow(
    clippy::disallowed_methods,
    reason = "the book looks at its own file before SQLite may"
)]
pub(super) fn refuse_what_is_no_database(path: &Path) -> Result<(), BookError> {
    use std::io::Read;
    let mut start = Vec::new();
    let read = std::fs::File::open(path).and_then(|file| file.take(16).read_to_end(&mut start));
    match read {
        Ok(_) if start.is_empty() || start == MAGIC => Ok(()),
        Ok(_) => Err(BookError::new(path, Trouble::NotADatabase)),
        Err(error) => match error.kind() {
            std::io::ErrorKind::NotFound => Ok(()),
            std::io::ErrorKind::PermissionDenied => Err(BookError::new(path, Trouble::ReadOnly)),
            _ => Err(BookError::new(path, Trouble::Failed(error.to_string()))),
        },
    }
}
