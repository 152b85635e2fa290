//! The book: everything that happened, entry after entry, never edited.
//!
//! [`entry`] says what an entry is and how it is written; [`store`] keeps entries in SQLite. What the entries
//! mean together is [`crate::prep`]'s business.

pub mod entry;
pub mod store;

pub use entry::{Entry, EntryId, Happening, Note, StepDigest};
