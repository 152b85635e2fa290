//! What a cook may ask of a step, and why not.

use std::fmt;

use super::{PrepState, Progress};
use crate::book::Happening;
use crate::plan::StepKey;
use crate::time::Timestamp;

/// What a cook asks of a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// It starts.
    Start,
    /// It is done.
    Finish,
    /// Take back the last thing said of it.
    Undo,
    /// It will not be done, for this reason.
    Skip(String),
}

/// Why an ask makes no sense, in words for the cook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal(pub String);

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Refusal {}

impl PrepState {
    /// Returns the entry to write for what a cook asks of a step at a moment, or why it makes no sense.
    pub fn ask(&self, step: &StepKey, ask: Ask, at: Timestamp) -> Result<Happening, Refusal> {
        let key = step.to_string();
        let refuse = |text: &str| Err(Refusal(format!("{key} {text}")));
        match (ask, self.progress_of(&key)) {
            (Ask::Start, Progress::Waiting) => Ok(Happening::Started { step: key }),
            (Ask::Start, Progress::Running { .. }) => refuse("is running already; undo it first"),
            (Ask::Start | Ask::Finish, Progress::Finished { .. }) => {
                refuse("is done already; undo it first")
            }
            (Ask::Start | Ask::Finish, Progress::Skipped { .. }) => {
                refuse("was skipped; undo that first")
            }
            (Ask::Finish, Progress::Running { since }) if at < since => {
                // To give a later time helps nobody whose clock was set back: none that is still to come is taken.
                refuse("cannot end before its start: undo, start at the real time (S), then done")
            }
            (Ask::Finish, Progress::Waiting | Progress::Running { .. }) => {
                Ok(Happening::Finished { step: key })
            }
            (Ask::Skip(_), Progress::Finished { .. }) => refuse("is done already; undo it first"),
            (Ask::Skip(_), Progress::Skipped { .. }) => refuse("is skipped already"),
            (Ask::Skip(reason), _) if reason.trim().is_empty() => {
                refuse("can only be skipped for a reason; give one")
            }
            (Ask::Skip(reason), _) => Ok(Happening::Skipped {
                step: key,
                reason: reason.trim().to_owned(),
            }),
            (Ask::Undo, _) => match self.latest_of(&key) {
                Some(entry) => Ok(Happening::Undone { entry }),
                None => refuse("has nothing to undo"),
            },
        }
    }
}
