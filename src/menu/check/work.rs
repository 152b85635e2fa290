//! How long a step takes at least and at most, as far as the card alone can tell.

use crate::menu::{ClockWait, GapLeast, Step, StepTime};
use crate::time::Minutes;

/// Returns the least a number of mornings can take. From the last minute of a day to the first of the next
/// morning's day is no time, each further morning is a day, and one of the days may be an hour short.
fn mornings(count: u32) -> Minutes {
    let days = i32::try_from(count.saturating_sub(1)).unwrap_or(0).min(400);
    Minutes((days * 1440 - 60).max(0))
}

/// Returns the least a gap can be.
pub(super) fn least(gap: GapLeast) -> Minutes {
    match gap {
        GapLeast::Elapsed(least) => least,
        GapLeast::Nights(nights) => mornings(nights),
    }
}

/// Returns whether work grows with what is made, so that its length is not known from the card.
pub(super) fn grows(time: &StepTime) -> bool {
    match time {
        StepTime::Elapsed(work) => work.grows(),
        StepTime::Clock { .. } => true,
    }
}

/// Returns the shortest a time can be.
pub(super) fn shortest_of(time: &StepTime) -> Minutes {
    match time {
        // Of a time for a volume the card alone does not say how much will be made.
        StepTime::Elapsed(work) if work.for_volume.is_some() => Minutes::ZERO,
        StepTime::Elapsed(work) => Minutes::from_seconds_rounded_up(work.shortest),
        StepTime::Clock {
            until: ClockWait::KitchenOpens(count),
            at_least,
        } => mornings(*count).max(*at_least),
        StepTime::Clock { at_least, .. } => *at_least,
    }
}

/// Returns the longest a time can be, where the card says.
pub(super) fn longest_of(time: &StepTime) -> Option<Minutes> {
    match time {
        StepTime::Elapsed(work) if !grows(time) => {
            Some(Minutes::from_seconds_rounded_up(work.longest))
        }
        _ => None,
    }
}

/// Returns the shortest a step can be in any of its ways.
pub(super) fn shortest(step: &Step) -> Minutes {
    let ways = step.ways.iter().map(|way| shortest_of(&way.time));
    ways.fold(shortest_of(&step.time), Minutes::min)
}

/// Returns the longest a step can be in any of its ways, where the card says.
pub(super) fn longest(step: &Step) -> Option<Minutes> {
    let mut ways = step.ways.iter().map(|way| longest_of(&way.time));
    ways.try_fold(longest_of(&step.time)?, |longest, way| {
        Some(longest.max(way?))
    })
}
