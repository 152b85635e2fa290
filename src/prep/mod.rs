//! Where we are: the book's entries folded, and what that makes of each step now.
//!
//! Replay and live use are the same function, [`PrepState::apply`]; nothing else changes a state. It is pure:
//! no file, no clock, and the time is always handed in.

mod begins;
pub mod changes;
mod standing;
mod state;
mod typed_time;

pub use begins::{Begin, begins};
pub use standing::{Standing, standing, standing_unplanned};
pub use state::{Ask, PrepState, Progress, Refusal};
pub use typed_time::typed_time;
