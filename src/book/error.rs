//! What can go wrong with the book, in words that say what to do.

use std::fmt;
use std::path::{Path, PathBuf};

use rusqlite::{ErrorCode, ffi};

/// Why the book could not be opened, read or written; always with its path.
#[derive(Debug)]
pub struct BookError {
    /// The book's file.
    pub path: PathBuf,
    /// What is the matter with it.
    pub trouble: Trouble,
}

/// What is the matter with a book.
#[derive(Debug)]
pub enum Trouble {
    /// The folder it should lie in cannot be made.
    NoFolder(std::io::Error),
    /// There is a folder where the file should be.
    IsFolder,
    /// The file, or the folder it lies in, may not be written.
    ReadOnly,
    /// The file is no database.
    NotADatabase,
    /// The file is another program's database.
    OtherProgram,
    /// A later version of this program wrote it.
    Newer {
        /// Its version.
        version: i32,
        /// The newest this program knows.
        known: i32,
    },
    /// The file is a database that has been damaged.
    Damaged(String),
    /// Nothing more fits on the disk (or into the file).
    Full,
    /// The disk does not take what is written: a limit on the size of files, or a disk that fails.
    NotTaken(String),
    /// The file is no longer where it was opened: moved, replaced or removed.
    Moved,
    /// Another program has held it for longer than we wait.
    Locked,
    /// Anything else, in the words of the system or of SQLite.
    Failed(String),
}

impl BookError {
    /// Returns the error for what SQLite said about the book at `path`.
    pub(super) fn from_sqlite(path: &Path, error: &rusqlite::Error) -> Self {
        let extended = error.sqlite_error().map(|error| error.extended_code);
        let trouble = match error.sqlite_error_code() {
            Some(ErrorCode::SystemIoFailure) => match extended {
                Some(ffi::SQLITE_IOERR_SHORT_READ | ffi::SQLITE_IOERR_CORRUPTFS) => {
                    Trouble::Damaged(error.to_string())
                }
                Some(
                    ffi::SQLITE_IOERR_WRITE
                    | ffi::SQLITE_IOERR_FSYNC
                    | ffi::SQLITE_IOERR_TRUNCATE
                    | ffi::SQLITE_IOERR_SHMSIZE,
                ) => Trouble::NotTaken(error.to_string()),
                _ => Trouble::Failed(error.to_string()),
            },
            Some(ErrorCode::NotADatabase) => Trouble::NotADatabase,
            // A text longer than any can be is a length that was overwritten.
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::TooBig) => {
                Trouble::Damaged(error.to_string())
            }
            // SQLite has no code of its own for this; no program has ever written a format beyond the one known here.
            Some(ErrorCode::Unknown) if error.to_string().contains("unsupported file format") => {
                Trouble::Damaged(error.to_string())
            }
            Some(ErrorCode::DiskFull) => Trouble::Full,
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Trouble::Locked,
            Some(ErrorCode::ReadOnly | ErrorCode::PermissionDenied) => Trouble::ReadOnly,
            Some(ErrorCode::CannotOpen) if !may_write_beside(path) => Trouble::ReadOnly,
            _ => Trouble::Failed(error.to_string()),
        };
        Self::new(path, trouble)
    }

    /// Returns whether the file itself is broken, so that opening it to write keeps it aside and saves what it can.
    pub fn is_damage(&self) -> bool {
        matches!(self.trouble, Trouble::NotADatabase | Trouble::Damaged(_))
    }

    /// Returns the error for a trouble with the book at `path`.
    pub(super) fn new(path: &Path, trouble: Trouble) -> Self {
        Self {
            path: path.to_owned(),
            trouble,
        }
    }
}

/// Returns whether the permissions of the folder that `path` lies in allow writing at all.
fn may_write_beside(path: &Path) -> bool {
    path.parent()
        .and_then(|folder| folder.metadata().ok())
        .is_none_or(|folder| !folder.permissions().readonly())
}

impl fmt::Display for BookError {
    /// Writes what is the matter, where, and what to do.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = self.path.display();
        match &self.trouble {
            Trouble::NoFolder(cause) => write!(
                f,
                "cannot make the folder for the book {path}: {cause}; keep the book elsewhere with --book FILE"
            ),
            Trouble::IsFolder => write!(
                f,
                "{path} is a folder, the book must be a file; name one inside it: --book {}",
                self.path.join("book.sqlite").display()
            ),
            Trouble::ReadOnly => write!(
                f,
                "the book {path} may not be written here; allow writing to it and its folder, or keep \
                 the book elsewhere with --book FILE"
            ),
            Trouble::NotADatabase => write!(
                f,
                "{path} is not a book, or is damaged from its first line on; nothing in it was changed; \
                 move it aside or put a copy back, or name another with --book FILE"
            ),
            Trouble::OtherProgram => write!(
                f,
                "{path} belongs to another program; nothing in it was changed; name another file with \
                 --book FILE"
            ),
            Trouble::Newer { version, known } => write!(
                f,
                "the book {path} was written by a later countback (its version is {version}, this one \
                 knows up to {known}); nothing in it was changed; update countback, or name another book \
                 with --book FILE"
            ),
            Trouble::Damaged(detail) => write!(
                f,
                "the book {path} is damaged ({detail}); nothing in it was changed; open the sheet anew, or \
                 tick from the command line: that keeps the damaged file aside and saves what can be saved \
                 into a fresh book"
            ),
            Trouble::Full => write!(
                f,
                "the disk is full, the book {path} takes no more; make room and do it again: what was \
                 written before is safe, this last entry is not in it"
            ),
            Trouble::NotTaken(detail) => write!(
                f,
                "the disk does not take what is written to the book {path} ({detail}): a limit on the size \
                 of files, or a disk that fails; what was written before is safe, this last entry is not in \
                 it; put that right and do it again, or keep the book elsewhere with --book FILE"
            ),
            Trouble::Moved => write!(
                f,
                "the book {path} was moved, replaced or removed while it was open; this last entry is not \
                 in what lies there now; close the sheet, open it again, and look what is there"
            ),
            Trouble::Locked => write!(
                f,
                "another program holds the book {path}; close it there and do it again: this last entry \
                 is not in it"
            ),
            Trouble::Failed(detail) => write!(
                f,
                "the book {path} cannot be used: {detail}; try another place with --book FILE"
            ),
        }
    }
}

impl std::error::Error for BookError {
    fn source(&self) -> Option<&(dyn std::error::Error + 'static)> {
        match &self.trouble {
            Trouble::NoFolder(cause) => Some(cause),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_that_was_overwritten_is_damage() {
        for code in [ffi::SQLITE_CORRUPT, ffi::SQLITE_TOOBIG, ffi::SQLITE_NOTADB] {
            let error = rusqlite::Error::SqliteFailure(ffi::Error::new(code), None);
            let error = BookError::from_sqlite(Path::new("book.sqlite"), &error);
            assert!(error.is_damage(), "{error}");
        }
        let format = Some("unsupported file format".to_owned());
        let error = rusqlite::Error::SqliteFailure(ffi::Error::new(ffi::SQLITE_ERROR), format);
        assert!(BookError::from_sqlite(Path::new("book.sqlite"), &error).is_damage());
        let full = rusqlite::Error::SqliteFailure(ffi::Error::new(ffi::SQLITE_FULL), None);
        assert!(!BookError::from_sqlite(Path::new("book.sqlite"), &full).is_damage());
    }
}
