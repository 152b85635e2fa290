//! Where we are: the book's entries folded, and what that makes of each step now.
//!
//! Replay and live use are the same function, [`PrepState::apply`]; nothing else changes a state. It is pure:
//! no file, no clock, and the time is always handed in.

mod begins;
pub mod busy;
pub mod changes;
mod comparison;
mod decided;
mod entry_words;
mod errands;
mod foreseen;
mod handover;
mod lacking;
pub mod learn;
mod now;
mod planned_from;
mod standing;
mod state;
mod temperatures;
mod typed_decision;
mod typed_moment;
mod typed_reading;
mod typed_time;
mod undo;
mod watch;

pub use begins::{Begin, begins};
pub use comparison::{Comparison, DishChange, DishReady, Move, keeps_its_covers};
pub use decided::{Decided, ReadCard, decide, decided, decision_of};
pub use entry_words::{decision_words, entry_words, goal_words, reading_words};
pub use errands::{ErrandAt, Off, errands, ordered, short_of};
pub use foreseen::{Foreseen, expected_end, foreseen, goal_of};
pub use handover::{
    AS_IT_STANDS, HANDED_OVER, HandedOver, Handover, HandoverLine, Running, Told, agreed,
    in_time_but, trouble,
};
pub use lacking::lacking;
pub use now::{NowAndNext, Of, Runs, Want, Wants, done_words, next_look};
pub use planned_from::planned_from;
pub use standing::{Standing, is_to_start, slip, standing, standing_unplanned};
pub use state::{Ask, Measured, Noted, PrepState, Progress, Refusal};
pub use temperatures::{
    AsMeasured, held_against, measured_against, oldest_parts, rule_sets, with_measured,
};
pub use typed_decision::{
    TypedCard, batches, covers, leading_count, typed_card, typed_decision, typed_hands,
    typed_service, typed_stay,
};
pub use typed_moment::{Bare, typed_end, typed_moment, typed_stretch};
pub use typed_reading::{TypedReading, typed_goal, typed_reading};
pub use typed_time::typed_time;
pub use undo::{meant, to_bring_back, to_take_back};
pub use watch::{Call, Kind, Watched, calls, limit};
