//! The one reader of the machine's clock.
//!
//! Everything else takes the time as a value, so that a test, a rehearsal or `--now` can hand in any moment.

use super::{Timestamp, Zone};

/// Where "now" comes from: the machine, or a moment given by hand that stands still.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clock {
    /// The machine's own clock.
    Machine,
    /// A fixed moment, from `--now`.
    Fixed(Timestamp),
}

impl Clock {
    /// Returns the moment this clock shows.
    #[allow(
        clippy::disallowed_methods,
        reason = "the one place that may read the machine's clock"
    )]
    pub fn now(self) -> Timestamp {
        match self {
            Self::Machine => Timestamp(chrono::Utc::now().timestamp()),
            Self::Fixed(moment) => moment,
        }
    }
}

/// Returns the zone this machine is set to, or UTC where it does not say or says one that is not published.
pub fn machine_zone() -> Zone {
    iana_time_zone::get_timezone()
        .ok()
        .and_then(|name| name.parse().ok())
        .unwrap_or(Zone::UTC)
}
