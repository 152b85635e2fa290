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
    /// Something was measured at a step, or its test was made.
    Read {
        /// The step's key.
        step: String,
        /// What was measured.
        reading: Reading,
        /// What it is on its way to, where the cook has said so.
        goal: Option<Goal>,
    },
    /// A cook expects a running step to end then.
    Expected {
        /// The step's key.
        step: String,
        /// When it will be over.
        end: Timestamp,
    },
    /// Something the next shift should know.
    Noted {
        /// The step it is about; none where it is about the banquet.
        step: Option<String>,
        /// What; never empty.
        text: String,
    },
    /// Something about the banquet or the kitchen is otherwise than the menu says.
    Decided {
        /// What.
        decision: Decision,
        /// What the cooks are told of each step by the plan that was taken with it, by key; none where no plan was.
        steps: BTreeMap<String, Announcement>,
    },
    /// Something that is no step of a dish was seen to.
    SeenTo {
        /// What.
        errand: Errand,
    },
    /// A call for attention was answered.
    Heeded {
        /// Which, by the name the prep gives it.
        call: String,
        /// It may call again from then on; none for never.
        again: Option<Timestamp>,
    },
    /// A plan was taken: what the cooks are told of each step from now on.
    Announced {
        /// What they are told, by key.
        steps: BTreeMap<String, Announcement>,
    },
    /// Steps could not be kept when they were told, and other times were found; a terminal that found them writes them
    /// down, so that all of them show the same and the next plan keeps to it.
    Moved {
        /// What is shown of the steps that moved, by key; of all others what was told holds.
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

/// Something to be seen to before cooking begins that is no step of a dish. Named by texts, as steps are.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Errand {
    /// Goods are ordered.
    Order {
        /// Their names, each with how much is ordered.
        goods: BTreeMap<String, Much>,
    },
    /// Something is done to goods so long before a step takes them.
    Ahead {
        /// What: "soak", "thaw".
        what: String,
        /// The name of the goods.
        name: String,
        /// The id of the dish they are for.
        dish: String,
        /// How much of them.
        much: Much,
    },
}

/// How much of some goods is seen to.
#[derive(Clone, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Much {
    /// In words: "3 × 5 kg".
    pub says: String,
    /// How much there is then in all, with what was seen to before, so that the same said twice is the same: in
    /// thousandths of a gram ("g"), of a millilitre ("ml") or of a piece, by its word.
    pub all: BTreeMap<String, i64>,
}

/// What was measured. Whole units of the smallest grain a kitchen's instruments show, so that entries compare.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reading {
    /// A temperature, in tenths of a degree Celsius.
    Temperature(i32),
    /// A volume, in millilitres.
    Volume(i64),
    /// A weight, in grams.
    Weight(i64),
    /// The test that ends the step ("coats the spoon"): whether it was passed.
    Test(bool),
}

/// What a measured step is on its way to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Goal {
    /// The reading at which it is there; never a test.
    pub reading: Reading,
    /// The temperature of what surrounds it, in tenths of a degree Celsius, where somebody has said so.
    pub around: Option<i32>,
}

/// What is otherwise than the menu says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Decision {
    /// The service is at this moment.
    Service {
        /// When.
        to: Timestamp,
    },
    /// So many guests are served.
    Covers {
        /// The id of the dish of which that holds; none for the whole menu.
        dish: Option<String>,
        /// How many.
        covers: u32,
    },
    /// A dish is made in so many batches.
    Batches {
        /// Its id.
        dish: String,
        /// How many; none for as many as the portions need.
        batches: Option<u32>,
    },
    /// A cook is not there.
    CookAway {
        /// The name.
        cook: String,
        /// From then on.
        from: Timestamp,
        /// Until then; none for good.
        until: Option<Timestamp>,
    },
    /// Kit cannot be used.
    KitOut {
        /// Its id.
        kit: String,
        /// How many of it.
        count: u32,
        /// From then on.
        from: Timestamp,
        /// Until then; none for good.
        until: Option<Timestamp>,
    },
    /// One more pair of hands comes.
    HandsAdded {
        /// From when until when, each.
        stretches: Vec<(Timestamp, Timestamp)>,
    },
    /// Whoever works until a moment stays on.
    StayingOn {
        /// The moment.
        from: Timestamp,
        /// Until then.
        until: Timestamp,
    },
    /// There is more of a kind of kit.
    KitAdded {
        /// Its id.
        kit: String,
        /// How many more.
        count: u32,
    },
    /// Work may begin on the day on which this moment lies.
    WorkFrom {
        /// The moment.
        day: Timestamp,
    },
    /// A dish is not made.
    DishDropped {
        /// Its id.
        dish: String,
    },
    /// A dish that the menu does not list is made too.
    DishAdded {
        /// Its card, whole, in the notation of menus: a book must be readable without the file.
        card: String,
        /// The id of the course it is served in; none for the first.
        course: Option<String>,
        /// Covers, where they differ from the menu's.
        covers: Option<u32>,
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
