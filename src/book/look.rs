//! A book opened only to look.

use std::path::Path;
use std::time::Duration;

use rusqlite::{Connection, OpenFlags};

use super::error::{BookError, Trouble};
use super::file::{CopyFolder, absolute, copy_aside, file_id, refuse_what_is_no_database};
use super::schema::{self, Found};
use super::store::Book;

/// How long whoever only looks waits for another program: a copy can be looked at instead.
const LOOKING_PATIENCE: Duration = Duration::from_millis(500);

impl Book {
    /// Opens the book at `path` to look only: nothing is made, brought up to date or written in it, and a file or
    /// folder that may only be read is enough. `None` where there is no file, or one with nothing in it.
    ///
    /// A log that another terminal left, or writes at this moment, takes part in reading, and SQLite needs a file
    /// beside it for that. Where none may be made, a copy of book and log is looked at instead: what it says is
    /// what stood there at that moment.
    pub fn look(path: &Path) -> Result<Option<Self>, BookError> {
        let path = absolute(path)?;
        match path.metadata() {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            Ok(about) if about.is_file() && about.len() == 0 => return Ok(None),
            Ok(about) if about.is_dir() => {
                return Err(BookError::new(&path, Trouble::IsFolder));
            }
            _ => {}
        }
        refuse_what_is_no_database(&path)?;
        match Self::look_at(&path, &path, None) {
            Err(BookError {
                trouble:
                    Trouble::ReadOnly | Trouble::Full | Trouble::NotTaken(_) | Trouble::Failed(_),
                ..
            }) => {
                let copied = copy_aside(&path)
                    .map_err(|error| BookError::new(&path, Trouble::Failed(error.to_string())))?;
                let at = copied.0.join("book.sqlite");
                Self::look_at(&at, &path, Some(copied))
            }
            other => other,
        }
    }

    fn look_at(
        at: &Path,
        path: &Path,
        copy: Option<CopyFolder>,
    ) -> Result<Option<Self>, BookError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(at, flags)
            .map_err(|error| BookError::from_sqlite(path, &error))?;
        let book = Self {
            connection,
            path: path.to_owned(),
            file: file_id(path),
            copy,
        };
        let timeout = book.connection.busy_timeout(LOOKING_PATIENCE);
        book.said(timeout)?;
        for name in ["query_only", "recursive_triggers"] {
            let set = book.connection.pragma_update(None, name, "ON");
            book.said(set)?;
        }
        let set = book.connection.pragma_update(None, "trusted_schema", "OFF");
        book.said(set)?;
        let found = schema::look(&book.connection);
        match book.said(found)? {
            Found::Nothing => Ok(None),
            Found::Version(_) => Ok(Some(book)),
            Found::Foreign => Err(book.refuses(Trouble::OtherProgram)),
            Found::Newer(version) => Err(book.refuses(Trouble::Newer {
                version,
                known: schema::VERSION,
            })),
        }
    }
}
