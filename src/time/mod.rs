//! Time as the whole program means it.
//!
//! There are two kinds of time in a kitchen and the program never mixes them. *Elapsed* time is what a
//! jelly needs to set: [`Minutes`] between two [`Minute`]s, unmoved by a clock change. *Clock-face* time is
//! what a cook reads off the wall: a date and a time of day in the kitchen's [`Zone`]. [`ServiceTime`] is the
//! only bridge between them, and [`clock`] is the only place that asks the machine what time it is.
//!
//! Zero is the moment of service. A [`Minute`] is counted from it, so work done ahead has negative minutes,
//! and every [`Window`] is half open: `[start, end)`.
//!
//! `chrono` is named in this folder only; the rest of the crate uses the names re-exported here.
//!
//! Left out on purpose: seconds on the plan (no cook starts a simmer at 14:03:20) and leap seconds (RFC 5545
//! §3.3.6 leaves them out of durations too). Entries in the book keep whole seconds, see [`Timestamp`].

pub mod clock;
mod clock_change;
mod minute;
mod service_time;

pub use chrono::{Datelike, NaiveDate as Date, NaiveTime as TimeOfDay, Timelike, Weekday};
pub use chrono_tz::Tz as Zone;
pub use clock::{Clock, Speed};
pub use clock_change::ClockChange;
pub use minute::{Minute, Minutes, Window};
pub use service_time::{Local, ServiceTime, Timestamp, day_after, time_of_day, weekday_name};
