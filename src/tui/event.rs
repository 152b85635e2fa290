//! Every way the sheet can wake.

use std::collections::BTreeMap;

use crossterm::event::{KeyEvent, MouseEvent};

use super::effect::Ticket;
use super::timekeeping::Noticed;
use crate::book::Entry;
use crate::plan::{Better, Chance, PlanOutcome, StepKey, WayOut};
use crate::prep::TypedCard;
use crate::time::{Minute, Timestamp};

/// What woke it.
#[derive(Clone, Debug)]
pub enum Event {
    /// A key.
    Key(KeyEvent),
    /// The mouse.
    Mouse(MouseEvent),
    /// Text pasted into the terminal.
    Paste(String),
    /// The terminal has another size.
    Resized,
    /// The clock did something that clocks do not.
    Clock(Noticed),
    /// The cook's own command could not be run for a call, or failed.
    AlertFailed(String),
    /// The next page is to be shown, where there are several.
    TurnPage,
    /// It is this time now.
    Time(Timestamp),
    /// The planner has answered.
    Planned {
        /// Which request it answers; rising.
        generation: u64,
        /// What became of it.
        outcome: PlanOutcome,
    },
    /// The planner has found how long what runs may still run.
    LatestEnds {
        /// Which request.
        generation: u64,
        /// The last minute found at which each running step may end with every course in time.
        ends: BTreeMap<StepKey, Minute>,
    },
    /// The planner has reckoned the chances of what it answered.
    Reckoned {
        /// Which request.
        generation: u64,
        /// The chances, where the cards leave any.
        chance: Option<Chance>,
    },
    /// The planner has found a better plan than it answered.
    Better {
        /// Which request.
        generation: u64,
        /// The plan, and what it gains.
        better: Better,
    },
    /// The planner has tried what would make the plan possible that it said there is none of.
    WaysOut {
        /// Which request.
        generation: u64,
        /// What would, in order.
        ways: Vec<WayOut>,
    },
    /// The planner has planned what would become of a decision.
    TriedDecision {
        /// Which request.
        generation: u64,
        /// What would.
        outcome: PlanOutcome,
    },
    /// A dish card was fetched, or could not be.
    Fetched {
        /// What it was asked for by.
        card: TypedCard,
        /// Its text, or why there is none.
        result: Result<String, String>,
    },
    /// The book has written, or could not.
    Recorded {
        /// Which request it answers.
        ticket: Ticket,
        /// The entry as it stands in the book now, or why it does not.
        result: Result<Entry, String>,
    },
    /// Other terminals have written into the book: their entries, oldest first, or why it cannot be read any more.
    News(Result<Vec<Entry>, String>),
    /// The machine asks for something.
    Signal(Signal),
    /// Something the sheet cannot do without is gone.
    Broken(String),
}

/// What the machine can ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signal {
    /// To end.
    End,
    /// To stand aside until called back.
    StandAside,
}
