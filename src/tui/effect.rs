//! What the sheet wants done outside itself, and the one place that does it.

use std::sync::mpsc::Sender;

use super::alert::{Alert, AlertCommand, Alerts};
use super::event::Event;
use super::sheet::Cards;
use super::worker::{BookWorker, Planner, PlannerWorker, Request, Situation};
use crate::book::{Entry, EntryId, Note};
use crate::prep::TypedCard;

/// Writes into the book.
pub trait Pen: Send {
    /// Writes an entry and returns it as it stands in the book, or says why it does not.
    ///
    /// When it returns `Ok` the entry is on disk: the sheet shows it from then on.
    fn write(&mut self, note: &Note) -> Result<Entry, String>;

    /// Writes what the sheet itself has found out, unless the book has gone on since its entry `last`; that it was
    /// written is told as [news](Self::news).
    fn remark(&mut self, _: &Note, _last: Option<EntryId>) {}

    /// Returns what has come into the book since this was last asked, oldest first, whoever wrote it; asked several
    /// times a second, so it must be quick to see that there is nothing. Why it cannot be read any more is said once.
    fn news(&mut self) -> Result<Vec<Entry>, String> {
        Ok(Vec::new())
    }
}

/// Ties an answer of the book to what was asked of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Ticket(pub u64);

/// What is wanted.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Write this into the book.
    Append {
        /// Comes back with the answer.
        ticket: Ticket,
        /// What to write.
        note: Note,
    },
    /// Write this into the book if its last entry is still this one; nobody waits for it.
    Remark {
        /// What to write.
        note: Note,
        /// After which entry.
        last: Option<EntryId>,
    },
    /// Plan anew.
    Replan {
        /// Comes back with the answer.
        generation: u64,
        /// Where the prep stands.
        situation: Situation,
    },
    /// Plan what would become of a decision.
    Try {
        /// Comes back with the answer.
        generation: u64,
        /// Where the prep would stand.
        situation: Situation,
    },
    /// Fetch the text of a dish card.
    Fetch {
        /// Which.
        card: TypedCard,
    },
    /// Run the cook's own command for what calls.
    Alert(Alert),
    /// Stand aside until called back.
    StandAside,
    /// End.
    Quit,
}

/// What the loop must do after an effect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Next {
    /// Go on.
    GoOn,
    /// Give the terminal back for a while.
    StandAside,
    /// End.
    Quit,
}

impl Next {
    /// Returns the more drastic of two.
    pub(super) fn over(self, other: Self) -> Self {
        match (self, other) {
            (Self::Quit, _) | (_, Self::Quit) => Self::Quit,
            (Self::StandAside, _) | (_, Self::StandAside) => Self::StandAside,
            (Self::GoOn, Self::GoOn) => Self::GoOn,
        }
    }
}

/// The world outside the screen: the planner and the book, each on a thread of its own.
pub(super) struct Outside {
    planner: PlannerWorker,
    book: BookWorker,
    cards: Cards,
    alerts: Option<Alerts>,
    events: Sender<Event>,
}

impl Outside {
    /// Starts both threads; their answers arrive as events.
    pub(super) fn start(
        planner: Box<dyn Planner>,
        pen: Box<dyn Pen>,
        cards: Cards,
        alert: Option<AlertCommand>,
        events: &Sender<Event>,
    ) -> std::io::Result<Self> {
        Ok(Self {
            planner: PlannerWorker::start(planner, events.clone())?,
            book: BookWorker::start(pen, events.clone())?,
            cards,
            alerts: alert.map(|command| Alerts::new(command, events.clone())),
            events: events.clone(),
        })
    }

    /// Does what is wanted; never waits.
    pub(super) fn run(&self, effect: Effect) -> Next {
        match effect {
            Effect::Append { ticket, note } => self.book.write(ticket, note),
            Effect::Remark { note, last } => self.book.remark(note, last),
            Effect::Replan {
                generation,
                situation,
            } => {
                self.planner.plan(Request {
                    generation,
                    situation,
                    trial: false,
                });
            }
            Effect::Try {
                generation,
                situation,
            } => {
                self.planner.plan(Request {
                    generation,
                    situation,
                    trial: true,
                });
            }
            Effect::Fetch { card } => self.fetch(card),
            Effect::Alert(alert) => {
                if let Some(alerts) = &self.alerts {
                    alerts.run(&alert);
                }
            }
            Effect::StandAside => return Next::StandAside,
            Effect::Quit => return Next::Quit,
        }
        Next::GoOn
    }

    /// Fetches a card on a thread of its own: a file may lie on a share that does not answer.
    fn fetch(&self, card: TypedCard) {
        let (fetch, events) = (self.cards.fetch, self.events.clone());
        let asked = card.clone();
        let spawned = std::thread::Builder::new()
            .name("card".to_owned())
            .spawn(move || {
                let result = fetch(&card.file);
                let _ = events.send(Event::Fetched { card, result });
            });
        if let Err(error) = spawned {
            let _ = self.events.send(Event::Fetched {
                card: asked,
                result: Err(error.to_string()),
            });
        }
    }

    /// Waits until everything handed to the book has been answered; the planner is left to itself.
    pub(super) fn close(self) {
        self.book.finish();
    }
}
