//! Where we are: the book's entries folded, and what that makes of each step now.
//!
//! Replay and live use are the same function, [`PrepState::apply`]; nothing else changes a state. It is pure:
//! no file, no clock, and the time is always handed in.

mod begins;
pub mod changes;
mod decided;
mod entry_words;
mod foreseen;
pub mod learn;
mod standing;
mod state;
mod typed_moment;
mod typed_reading;
mod typed_time;
mod watch;

pub use begins::{Begin, begins};
pub use decided::{Decided, ReadCard, decide, decided, decision_of};
pub use entry_words::{decision_words, entry_words, goal_words, reading_words};
pub use foreseen::{Foreseen, expected_end, foreseen, goal_of};
pub use standing::{Standing, standing, standing_unplanned};
pub use state::{Ask, Measured, Noted, PrepState, Progress, Refusal};
pub use typed_moment::{Bare, typed_end, typed_moment, typed_stretch};
pub use typed_reading::{TypedReading, typed_goal, typed_reading};
pub use typed_time::typed_time;
pub use watch::{Call, Kind, Watched, calls, limit};
