//! From when on what is left is planned.
//!
//! That is now, unless a tick lies ahead of the clock: then the clock has been set back since (or was wrong then). Which
//! of the two is right cannot be known, and food that was taken from the fire at five was not on it at four. So nothing
//! is planned before the latest tick. A tick more than a day ahead is no clock that was set, but a date mistyped or a
//! machine that had lost its time; it is told, and not planned from.

use crate::plan::Happened;
use crate::time::{Minute, Minutes};

/// How far ahead of the clock a tick may lie and be planned from.
const FURTHEST: Minutes = Minutes::days(1);

/// Returns the minute before which nothing is planned.
pub fn planned_from(happened: &Happened, now: Minute) -> Minute {
    let ticks = happened.values().map(|done| done.known_at());
    let ahead = ticks.filter(|at| (now..=now + FURTHEST).contains(at));
    ahead.max().unwrap_or(now)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{Done, StepKey};

    #[test]
    fn nothing_is_planned_before_the_latest_tick_unless_that_is_absurd() {
        let from = |ticks: &[Done]| {
            let key = |place| StepKey::first("a", format!("s{place}"));
            let ticks = ticks.iter().enumerate();
            let happened = ticks.map(|(place, done)| (key(place), *done)).collect();
            planned_from(&happened, Minute(-600)).0
        };
        assert_eq!(from(&[]), -600);
        assert_eq!(from(&[Done::Started(Minute(-700))]), -600);
        assert_eq!(from(&[Done::Started(Minute(-540))]), -540);
        let ended = Done::Finished(Some(Minute(-700)), Minute(-480));
        assert_eq!(from(&[Done::Skipped(Minute(-590)), ended]), -480);
        assert_eq!(from(&[ended, Done::Started(Minute(900_000))]), -480);
    }
}
