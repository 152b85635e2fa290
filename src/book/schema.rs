//! What the book's file looks like, version by version.
//!
//! A file says whose it is by SQLite's `application_id` and which version it has by `user_version` (SQLite
//! documentation, "Pragma statements"). A new book runs every migration in turn, an older one those it lacks,
//! each within the same transaction as the number that says it was run. A later version adds to the end of
//! [`MIGRATIONS`] and never edits what stands there.
//!
//! The one table takes no change and no removal: the triggers refuse both to any program, ours included, and
//! the third refuses the roundabout way (`INSERT OR REPLACE` over an entry that exists).

use rusqlite::{Connection, TransactionBehavior};

/// "Ctbk": says that a file is a book of this program.
pub(super) const APPLICATION_ID: i32 = 0x4374_626B;

/// The version this program writes.
pub(super) const VERSION: i32 = MIGRATIONS.len() as i32;

/// What takes a file from each version to the next.
const MIGRATIONS: [&str; 1] = ["
    CREATE TABLE entry (
        id      INTEGER PRIMARY KEY CHECK (id > 0),
        event   TEXT    NOT NULL,
        at      INTEGER NOT NULL, -- whole seconds since 1970-01-01T00:00:00Z, as are all times
        written INTEGER NOT NULL,
        who     TEXT    NOT NULL,
        place   TEXT    NOT NULL,
        kind    TEXT    NOT NULL,
        body    TEXT    NOT NULL  -- JSON
    ) STRICT;
    CREATE INDEX entry_of_event ON entry (event, id);
    CREATE TRIGGER entry_is_never_changed BEFORE UPDATE ON entry
    BEGIN
        SELECT RAISE (ABORT, 'an entry of the book is never changed');
    END;
    CREATE TRIGGER entry_is_never_removed BEFORE DELETE ON entry
    BEGIN
        SELECT RAISE (ABORT, 'an entry of the book is never removed');
    END;
    CREATE TRIGGER entry_is_never_replaced BEFORE INSERT ON entry
    WHEN EXISTS (SELECT 1 FROM entry WHERE id = NEW.id)
    BEGIN
        SELECT RAISE (ABORT, 'an entry of the book is never replaced');
    END;
"];

/// What a file says of itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Found {
    /// Nothing is in it yet.
    Nothing,
    /// A book of this version, which this program can read or bring up to date.
    Version(i32),
    /// A book of a later version.
    Newer(i32),
    /// Something else's database.
    Foreign,
}

/// Returns what a file says of itself; reads only, and within one transaction: another terminal may be making
/// the same new book, and half of what it says would look like a stranger's.
pub(super) fn look(connection: &Connection) -> rusqlite::Result<Found> {
    let transaction = connection.unchecked_transaction()?;
    look_within(&transaction)
}

fn look_within(connection: &Connection) -> rusqlite::Result<Found> {
    let number = |name: &str| connection.pragma_query_value(None, name, |row| row.get::<_, i32>(0));
    let (application, version) = (number("application_id")?, number("user_version")?);
    let tables: i64 =
        connection.query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))?;
    Ok(match (application, version) {
        (0, 0) if tables == 0 => Found::Nothing,
        (APPLICATION_ID, version) if version > VERSION => Found::Newer(version),
        (APPLICATION_ID, version) if version >= 1 => Found::Version(version),
        _ => Found::Foreign,
    })
}

/// Brings a file up to this program's version. Does nothing where another program got there first.
pub(super) fn migrate(connection: &mut Connection) -> rusqlite::Result<()> {
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let from = match look_within(&transaction)? {
        Found::Nothing => 0,
        Found::Version(version) => version,
        // The caller has looked before and will look again; nothing is written over what is not ours.
        Found::Newer(_) | Found::Foreign => return Ok(()),
    };
    for migration in MIGRATIONS.iter().skip(from as usize) {
        transaction.execute_batch(migration)?;
    }
    transaction.pragma_update(None, "application_id", APPLICATION_ID)?;
    transaction.pragma_update(None, "user_version", VERSION)?;
    transaction.commit()
}
