//! One entry of the book.

use std::collections::BTreeMap;

use crate::time::Timestamp;

/// An entry's number in its book, rising from 1; also the order in which entries hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EntryId(pub i64);

/// An entry as it stands in the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Its number.
    pub id: EntryId,
    /// Which banquet it belongs to: menu id and date of service, `lantern-supper@2026-11-28`.
    pub event: String,
    /// When it happened, as the cook says.
    pub at: Timestamp,
    /// When it was written down.
    pub written: Timestamp,
    /// Who wrote it: the user name the machine gives, or empty.
    pub who: String,
    /// Where: the machine's name, or empty.
    pub place: String,
    /// What.
    pub what: Happening,
}

/// An entry about to be written; the book gives it its number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// As [`Entry::event`].
    pub event: String,
    /// As [`Entry::at`].
    pub at: Timestamp,
    /// As [`Entry::written`].
    pub written: Timestamp,
    /// As [`Entry::who`].
    pub who: String,
    /// As [`Entry::place`].
    pub place: String,
    /// What.
    pub what: Happening,
}

/// What an entry says. Steps are named by the text of their keys, so that a book stays readable whatever
/// becomes of a menu.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Happening {
    /// A step was started.
    Started {
        /// The step's key.
        step: String,
    },
    /// A step was finished.
    Finished {
        /// The step's key.
        step: String,
    },
    /// A step will not be done.
    Skipped {
        /// The step's key.
        step: String,
        /// Why; never empty.
        reason: String,
    },
    /// An earlier entry no longer counts.
    Undone {
        /// Which.
        entry: EntryId,
    },
    /// The menu was opened and differs from the one the book last saw (or is the first): its steps, so that
    /// the next change can be told.
    MenuSeen {
        /// What each step said, by key.
        steps: BTreeMap<String, StepDigest>,
    },
    /// A plan was taken: what the cooks are told of each step from now on.
    Announced {
        /// What they are told, by key.
        steps: BTreeMap<String, Announcement>,
    },
    /// A kind of entry that a later version of the program wrote; kept, shown, and left alone.
    Unknown {
        /// Its kind.
        kind: String,
        /// Its text as stored.
        body: String,
    },
}

/// What the cooks are told of one step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Announcement {
    /// When it starts.
    pub start: Timestamp,
    /// Which of the other ways on its card it is done; `None` is the card's own.
    pub way: Option<String>,
    /// Kit of which there are several: the name, and which of them, from 1.
    pub ovens: Vec<(String, u32)>,
}

/// What a step said when the menu was last seen: label → text ("time" → "6h..7h"), enough to tell a cook what
/// has changed.
pub type StepDigest = BTreeMap<String, String>;
