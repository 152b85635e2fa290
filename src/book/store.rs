//! The book's store: one SQLite file, many terminals.
//!
//! # What is assumed of the disk
//! That a sync really puts bytes where a power cut cannot reach them; that a write past the end of a file does
//! not harm what stands before it; that file locks work. The last is why a book belongs on the machine's own
//! disk: many network shares only pretend to lock (SQLite documentation, "How To Corrupt An SQLite Database
//! File", §2). Nothing is assumed about the order in which unsynced writes reach the disk, or of a sector
//! being written whole.
//!
//! # What is asked of SQLite
//! | setting | why |
//! |---|---|
//! | `journal_mode = WAL` | a reader never waits for a writer: the sheet of one cook redraws while another ticks. Where the file system has no shared memory SQLite keeps its older journal, which is as safe and only slower |
//! | `synchronous = FULL` | with WAL, the default of many builds would sync only at a checkpoint: a tick shown on the screen could be lost in a power cut. `FULL` syncs every commit, some milliseconds a tick |
//! | `fullfsync`, `checkpoint_fullfsync` | on macOS an ordinary sync stops at the drive's own cache |
//! | `busy_timeout` = 5 s | two terminals that tick at once take turns instead of failing; five seconds is longer than any commit and shorter than a cook's patience |
//! | `foreign_keys = ON` | off by default; nothing in version 1 needs it, and no later version can forget it |
//! | `recursive_triggers = ON` | so that the trigger which forbids removal also sees a `REPLACE` |
//! | `trusted_schema = OFF` | a file handed over by somebody else runs nothing of its own |
//! | `application_id`, `user_version` | whose file it is and of which version, see the schema |
//!
//! # What is promised
//! [`Book::append`] returns only when the entry is committed and synced. Entries have one order, that of their
//! numbers, whichever terminal wrote them. A file that is not ours, is newer than ours, or is no database is
//! left as it was, byte for byte.
//!
//! # What is not
//! [`Book::open`] does not look for damage: a page that is damaged is reported when it is read. [`super::access`]
//! looks, and saves what can be saved. After the name of a new file has been written, its
//! folder is synced by SQLite where the platform can do that, and not elsewhere.

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use rusqlite::types::ValueRef;
use rusqlite::{Connection, OpenFlags, Row, Transaction, TransactionBehavior, params};

use super::carve::Carved;
use super::error::{BookError, Trouble};
use super::file::{CopyFolder, FileId, absolute, file_id, refuse_what_is_no_database};
use super::schema::{self, Found};
use super::{Entry, EntryId, Note, written};
use crate::time::Timestamp;

/// How long to wait for another program to let go of the book.
pub const PATIENCE: Duration = Duration::from_secs(5);

const COLUMNS: &str = "id, event, at, written, who, place, kind, body";

/// An open book.
#[derive(Debug)]
pub struct Book {
    pub(super) connection: Connection,
    pub(super) path: PathBuf,
    /// Which file it was when it was opened; none where that cannot be told or is no file.
    pub(super) file: Option<FileId>,
    /// The folder of the copy that is looked at, removed with the book.
    pub(super) copy: Option<CopyFolder>,
}

/// One banquet the book has entries of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Banquet {
    /// As [`Entry::event`].
    pub event: String,
    /// When its first entry was written.
    pub first: Timestamp,
    /// When its last entry was written.
    pub last: Timestamp,
    /// How many entries it has.
    pub entries: u64,
}

/// Returns where the book lies when nobody says otherwise: `book.sqlite` in the platform's data folder for
/// this program; `None` where the machine names no home.
pub fn default_path() -> Option<PathBuf> {
    directories::ProjectDirs::from("", "", "countback")
        .map(|places| places.data_dir().join("book.sqlite"))
}

impl Book {
    /// Opens the book at `path`; makes it, and its folder, where there is none.
    pub fn open(path: &Path) -> Result<Self, BookError> {
        Self::open_patiently(path, PATIENCE)
    }

    /// Returns a book that is kept nowhere and ends with the program.
    pub fn in_memory() -> Result<Self, BookError> {
        let path = PathBuf::from("(in memory)");
        let connection =
            Connection::open_in_memory().map_err(|error| BookError::from_sqlite(&path, &error))?;
        Self::prepare(connection, path, PATIENCE)
    }

    /// Returns a book, kept nowhere, of entries saved from elsewhere; `path` is what messages call it.
    pub(super) fn of(carved: &Carved, path: &Path) -> Result<Self, BookError> {
        let mut book = Self::in_memory()?;
        path.clone_into(&mut book.path);
        book.restore(carved)?;
        Ok(book)
    }

    /// Writes saved entries under the numbers they had, all or none.
    pub(super) fn restore(&mut self, carved: &Carved) -> Result<(), BookError> {
        let written = Self::restored(&mut self.connection, carved);
        self.said(written)
    }

    fn restored(connection: &mut Connection, carved: &Carved) -> rusqlite::Result<()> {
        let transaction = Self::alone(connection)?;
        {
            let mut insert = transaction.prepare(
                "INSERT INTO entry (id, event, at, written, who, place, kind, body)
                 VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
            )?;
            for (id, row) in &carved.rows {
                insert.execute(params![
                    id,
                    row.event,
                    row.at,
                    row.written,
                    row.who,
                    row.place,
                    row.kind,
                    row.body
                ])?;
            }
        }
        transaction.commit()
    }

    /// Reads the whole book for damage: every page of the table and of its index, and that the one says what the other
    /// does. An entry that the index does not lead to would be missed in silence.
    pub(super) fn examine(&self) -> Result<(), BookError> {
        let said = self
            .connection
            .query_row("PRAGMA integrity_check(1)", [], |row| text(row, 0));
        match self.said(said)?.as_str() {
            "ok" => Ok(()),
            fault => Err(self.refuses(Trouble::Damaged(
                fault.split_whitespace().collect::<Vec<_>>().join(" "),
            ))),
        }
    }

    /// Closes the book so that all of it stands in its one file, with no log beside it.
    pub(super) fn close_whole(self) -> Result<(), BookError> {
        let set = self
            .connection
            .pragma_update_and_check(None, "journal_mode", "DELETE", |_| Ok(()));
        self.said(set)
    }

    /// Returns a number that changes whenever another terminal has written.
    pub fn version(&self) -> Result<i64, BookError> {
        let asked = self
            .connection
            .pragma_query_value(None, "data_version", |row| row.get(0));
        self.said(asked)
    }

    /// Returns whether another file, or none, lies where this one was opened. Where files cannot be told apart it
    /// is believed to be the same.
    pub fn was_moved(&self) -> bool {
        self.file.is_some() && self.copy.is_none() && file_id(&self.path) != self.file
    }

    /// Returns whether a copy is looked at: it says nothing of what is written into the book later.
    pub fn is_copy(&self) -> bool {
        self.copy.is_some()
    }

    /// Says for how long to wait for another program to let go of the book, from now on.
    pub fn wait_at_most(&self, patience: Duration) -> Result<(), BookError> {
        let set = self.connection.busy_timeout(patience);
        self.said(set)
    }

    pub(super) fn open_patiently(path: &Path, patience: Duration) -> Result<Self, BookError> {
        let path = absolute(path)?;
        if path.is_dir() {
            return Err(BookError::new(&path, Trouble::IsFolder));
        }
        if let Some(folder) = path.parent() {
            std::fs::create_dir_all(folder).map_err(|error| {
                let trouble = match error.kind() {
                    std::io::ErrorKind::PermissionDenied
                    | std::io::ErrorKind::ReadOnlyFilesystem => Trouble::ReadOnly,
                    std::io::ErrorKind::StorageFull => Trouble::Full,
                    _ => Trouble::NoFolder(error),
                };
                BookError::new(&path, trouble)
            })?;
        }
        refuse_what_is_no_database(&path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE
            | OpenFlags::SQLITE_OPEN_CREATE
            | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let connection = Connection::open_with_flags(&path, flags)
            .map_err(|error| BookError::from_sqlite(&path, &error))?;
        Self::prepare(connection, path, patience)
    }

    fn prepare(
        connection: Connection,
        path: PathBuf,
        patience: Duration,
    ) -> Result<Self, BookError> {
        let mut book = Self {
            connection,
            file: file_id(&path),
            path,
            copy: None,
        };
        // SQLite opens a file it may not write for reading only and does not say so.
        let read_only = book.connection.is_readonly(rusqlite::MAIN_DB);
        if book.said(read_only)? {
            return Err(book.refuses(Trouble::ReadOnly));
        }
        let timeout = book.connection.busy_timeout(patience);
        book.said(timeout)?;
        let found = schema::look(&book.connection);
        match book.said(found)? {
            Found::Foreign => return Err(book.refuses(Trouble::OtherProgram)),
            Found::Newer(version) => {
                return Err(book.refuses(Trouble::Newer {
                    version,
                    known: schema::VERSION,
                }));
            }
            Found::Version(schema::VERSION) => {}
            Found::Nothing | Found::Version(_) => {
                let migrated = schema::migrate(&mut book.connection);
                book.said(migrated)?;
            }
        }
        book.set_journal(patience)?;
        for (name, value) in [
            ("synchronous", "FULL"),
            ("fullfsync", "ON"),
            ("checkpoint_fullfsync", "ON"),
            ("foreign_keys", "ON"),
            ("recursive_triggers", "ON"),
            ("trusted_schema", "OFF"),
        ] {
            let set = book.connection.pragma_update(None, name, value);
            book.said(set)?;
        }
        let found = schema::look(&book.connection);
        match book.said(found)? {
            Found::Version(schema::VERSION) => Ok(book),
            _ => Err(book.refuses(Trouble::OtherProgram)),
        }
    }

    /// Turns the write-ahead log on. SQLite does not wait by itself here: changing the journal needs the file
    /// alone, and while another terminal opens it too the answer is "busy" at once.
    fn set_journal(&self, patience: Duration) -> Result<(), BookError> {
        let begun = Instant::now();
        loop {
            let set = self
                .connection
                .pragma_update_and_check(None, "journal_mode", "WAL", |_| Ok(()));
            match self.said(set) {
                Err(BookError {
                    trouble: Trouble::Locked,
                    ..
                }) if begun.elapsed() < patience => std::thread::sleep(Duration::from_millis(10)),
                other => return other,
            }
        }
    }

    /// Returns where the book lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Writes an entry. When this returns it is committed and synced, in the file that bears the book's name; when
    /// it fails nothing was written there.
    pub fn append(&mut self, note: &Note) -> Result<Entry, BookError> {
        let mut write = || {
            let transaction = Self::alone(&mut self.connection)?;
            let id = Self::insert(&transaction, note)?;
            transaction.commit()?;
            Ok(id)
        };
        let id = write().map_err(|error| BookError::from_sqlite(&self.path, &error))?;
        self.written(note, id)
    }

    /// Writes an entry as [`append`](Self::append) does, unless the banquet's last entry is another than `last`: what
    /// was concluded from a book that has gone on since may no longer be true. Returns the entry, if it was written.
    pub fn append_after(
        &mut self,
        note: &Note,
        last: Option<EntryId>,
    ) -> Result<Option<Entry>, BookError> {
        let mut write = || {
            let transaction = Self::alone(&mut self.connection)?;
            let stands: Option<i64> = transaction.query_row(
                "SELECT max(id) FROM entry WHERE event = ?1",
                params![note.event],
                |row| row.get(0),
            )?;
            if stands != last.map(|last| last.0) {
                return Ok(None);
            }
            let id = Self::insert(&transaction, note)?;
            transaction.commit()?;
            Ok(Some(id))
        };
        let id = write().map_err(|error| BookError::from_sqlite(&self.path, &error))?;
        id.map(|id| self.written(note, id)).transpose()
    }

    /// Begins a transaction that has the book to itself from its beginning: an entry is given its number in it, so
    /// numbers rise as commits do.
    fn alone(connection: &mut Connection) -> rusqlite::Result<Transaction<'_>> {
        connection.transaction_with_behavior(TransactionBehavior::Immediate)
    }

    fn insert(transaction: &Transaction<'_>, note: &Note) -> rusqlite::Result<EntryId> {
        let (kind, body) = written::write(&note.what);
        transaction.execute(
            "INSERT INTO entry (event, at, written, who, place, kind, body)
             VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
            params![
                note.event,
                note.at.0,
                note.written.0,
                note.who,
                note.place,
                kind,
                body
            ],
        )?;
        Ok(EntryId(transaction.last_insert_rowid()))
    }

    /// Returns a note as the entry that now stands in the book.
    fn written(&self, note: &Note, id: EntryId) -> Result<Entry, BookError> {
        // A file that was moved away meanwhile, or thrown away, takes entries that nobody will ever read.
        if self.was_moved() {
            return Err(self.refuses(Trouble::Moved));
        }
        Ok(Entry {
            id,
            event: note.event.clone(),
            at: note.at,
            written: note.written,
            who: note.who.clone(),
            place: note.place.clone(),
            what: note.what.clone(),
        })
    }

    /// Returns every entry of a banquet, oldest first.
    pub fn entries(&self, event: &str) -> Result<Vec<Entry>, BookError> {
        self.entries_after(event, EntryId(0))
    }

    /// Returns the entries of a banquet that came after `after`, oldest first.
    pub fn entries_after(&self, event: &str, after: EntryId) -> Result<Vec<Entry>, BookError> {
        let read = || {
            let mut statement = self.connection.prepare_cached(&format!(
                "SELECT {COLUMNS} FROM entry WHERE event = ?1 AND id > ?2 ORDER BY id"
            ))?;
            statement
                .query_map(params![event, after.0], entry)?
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        self.said(read())
    }

    /// Returns the banquets the book has entries of, in the order of their names.
    pub fn events(&self) -> Result<Vec<Banquet>, BookError> {
        let read = || {
            let mut statement = self.connection.prepare_cached(
                "SELECT event, min(written), max(written), count(*) FROM entry
                 GROUP BY event ORDER BY event",
            )?;
            statement
                .query_map([], |row| {
                    Ok(Banquet {
                        event: text(row, 0)?,
                        first: Timestamp(row.get(1)?),
                        last: Timestamp(row.get(2)?),
                        entries: row.get::<_, i64>(3)?.unsigned_abs(),
                    })
                })?
                .collect::<rusqlite::Result<Vec<_>>>()
        };
        self.said(read())
    }

    pub(super) fn said<T>(&self, result: rusqlite::Result<T>) -> Result<T, BookError> {
        result.map_err(|error| BookError::from_sqlite(&self.path, &error))
    }

    pub(super) fn refuses(&self, trouble: Trouble) -> BookError {
        BookError::new(&self.path, trouble)
    }
}

fn entry(row: &Row<'_>) -> rusqlite::Result<Entry> {
    Ok(Entry {
        id: EntryId(row.get(0)?),
        event: text(row, 1)?,
        at: Timestamp(row.get(2)?),
        written: Timestamp(row.get(3)?),
        who: text(row, 4)?,
        place: text(row, 5)?,
        what: written::read(text(row, 6)?, text(row, 7)?),
    })
}

/// Returns a column's text. Bytes that are no text (a damaged disk, a careless program) are shown as such and
/// do not cost the other entries.
fn text(row: &Row<'_>, column: usize) -> rusqlite::Result<String> {
    Ok(match row.get_ref(column)? {
        ValueRef::Text(bytes) | ValueRef::Blob(bytes) => {
            String::from_utf8_lossy(bytes).into_owned()
        }
        ValueRef::Integer(number) => number.to_string(),
        ValueRef::Real(number) => number.to_string(),
        ValueRef::Null => String::new(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Happening;

    fn note(step: &str) -> Note {
        Note {
            event: "supper@2026-11-28".into(),
            at: Timestamp(1_795_780_000),
            written: Timestamp(1_795_780_030),
            who: "ana".into(),
            place: "pastry".into(),
            what: Happening::Started { step: step.into() },
        }
    }

    fn trouble<T: std::fmt::Debug>(result: Result<T, BookError>) -> Trouble {
        result.expect_err("must fail").trouble
    }

    #[test]
    fn a_full_disk_takes_nothing_and_loses_nothing() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("book.sqlite");
        let mut book = Book::open(&path).expect("opens");
        let pages: i64 = book
            .connection
            .pragma_query_value(None, "page_count", |row| row.get(0))
            .expect("a number");
        book.connection
            .pragma_update_and_check(None, "max_page_count", pages + 1, |_| Ok(()))
            .expect("is set");
        let long = "x".repeat(2000);
        let mut kept = Vec::new();
        let refused = loop {
            assert!(kept.len() < 100, "the limit must be reached");
            match book.append(&note(&long)) {
                Ok(entry) => kept.push(entry),
                Err(error) => break error,
            }
        };
        assert!(matches!(refused.trouble, Trouble::Full), "{refused}");
        assert!(!kept.is_empty(), "something fitted before");
        assert_eq!(book.entries("supper@2026-11-28").expect("reads"), kept);

        // Room is made: the same connection goes on.
        book.connection
            .pragma_update_and_check(None, "max_page_count", pages + 100, |_| Ok(()))
            .expect("is set");
        kept.push(book.append(&note("after")).expect("fits again"));
        drop(book);
        let book = Book::open(&path).expect("opens again");
        assert_eq!(book.entries("supper@2026-11-28").expect("reads"), kept);
    }

    #[test]
    fn a_book_held_by_another_program_is_said_to_be() {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("book.sqlite");
        let mut book = Book::open_patiently(&path, Duration::from_millis(20)).expect("opens");
        let holder = Connection::open(&path).expect("opens");
        holder
            .execute_batch("BEGIN IMMEDIATE")
            .expect("takes the book");
        assert!(matches!(
            trouble(book.append(&note("a/b"))),
            Trouble::Locked
        ));
        assert!(
            book.entries("supper@2026-11-28")
                .expect("reads meanwhile")
                .is_empty()
        );
        holder.execute_batch("ROLLBACK").expect("lets go");
        book.append(&note("a/b")).expect("now it is free");
    }

    #[test]
    fn the_settings_argued_above_are_in_force() {
        let folder = tempfile::tempdir().expect("a folder");
        let book = Book::open(&folder.path().join("book.sqlite")).expect("opens");
        let is = |name: &str| {
            book.connection
                .pragma_query_value(None, name, |row| {
                    row.get_ref(0).map(|value| match value {
                        ValueRef::Integer(number) => number.to_string(),
                        other => other.as_str().expect("text").to_owned(),
                    })
                })
                .expect("is set")
        };
        for (name, value) in [
            ("journal_mode", "wal"),
            ("synchronous", "2"),
            ("fullfsync", "1"),
            ("checkpoint_fullfsync", "1"),
            ("foreign_keys", "1"),
            ("recursive_triggers", "1"),
            ("trusted_schema", "0"),
            ("busy_timeout", "5000"),
            ("application_id", "1131700843"),
            ("user_version", "1"),
        ] {
            assert_eq!(is(name), value, "{name}");
        }
    }
}
