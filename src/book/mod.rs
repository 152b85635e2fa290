//! The book: everything that happened, entry after entry, never edited.
//!
//! [`entry`] says what an entry is, `written` how it stands in the file, `schema` what the file looks like,
//! [`store`] keeps it in SQLite and [`error`] says what can go wrong with that. [`access`] is how a command gets at
//! it: to write or only to look, and whatever has become of the file; where it was damaged, `carve` reads what the
//! bytes still say and `mend` makes a fresh book of it. What the entries mean together
//! is [`crate::prep`]'s business.

#![allow(
    clippy::doc_markdown,
    reason = "SQLite is the name of a program, not of anything in this code"
)]

pub mod access;
mod carve;
pub mod entry;
pub mod error;
mod file;
mod look;
mod mend;
mod schema;
pub mod store;
mod written;

pub use access::Access;
pub use entry::{
    Announcement, Decision, Entry, EntryId, Errand, Goal, Happening, Much, Note, Reading,
    StepDigest,
};
pub use error::{BookError, Trouble};
pub use store::{Banquet, Book, PATIENCE, default_path};
