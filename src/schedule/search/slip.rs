//! How much later each activity could start than it does, if only what follows moves along.
//!
//! Whatever starts before it stays where it is, because by then it will have happened as planned. What comes
//! after is pushed only as far as it must be. A start is reported only after the whole schedule that would
//! result has been laid out: every lag, calendar and resource holds in it. So it is a promise that can be kept;
//! it is not the latest possible start, because it asks nothing else to make room.

use std::collections::{BTreeMap, VecDeque};
use std::sync::Arc;

use super::board::Board;
use super::prepared::{Prepared, past_of};
use crate::schedule::network::{Network, Windows};
use crate::schedule::problem::{ActivityId, Instance, Time};
use crate::schedule::solution::{Placement, Schedule};

/// How often the gap between a start that works and one that does not is halved.
const HALVINGS: u32 = 6;

/// Returns, for each activity, the latest start found at which the rest of the schedule still holds.
///
/// `instance` may be looser than the one the schedule was made for (without a margin, say).
pub fn slips(instance: &Instance, schedule: &Schedule) -> Vec<Time> {
    let starts: Vec<Time> = super::starts(&schedule.placements);
    let Ok(prepared) = Prepared::new(instance, &past_of(instance, &schedule.placements)) else {
        return starts;
    };
    let windows = Arc::clone(&prepared.first);
    let board = prepared.board_of(&schedule.placements);
    let mut slip = Slip {
        instance,
        // With the modes of the schedule.
        network: board.network.clone(),
        placements: &schedule.placements,
        starts: &starts,
        board,
    };
    (0..starts.len())
        .map(|index| {
            let start = starts[index];
            if instance.activities[index].fixed.is_some() {
                return start;
            }
            let (mut works, mut fails) = (start, windows.latest[index] + 1);
            if fails > start + 1 && slip.could_start(ActivityId(index), fails - 1) {
                return fails - 1;
            }
            for _ in 0..HALVINGS {
                let middle = works + (fails - works) / 2;
                if middle <= works {
                    break;
                }
                if slip.could_start(ActivityId(index), middle) {
                    works = middle;
                } else {
                    fails = middle;
                }
            }
            works
        })
        .collect()
}

/// Returns announced starts pushed later, each only as far as what has happened and what comes before it force
/// it; `None` when something would then stand too late. What was not announced passes on what pushes it and is held to
/// no start.
pub(super) fn pushed_on(
    instance: &Instance,
    network: &Network<'_>,
    windows: &Windows,
    starts: &[Option<Time>],
) -> Option<Vec<Option<Time>>> {
    let mut pushed: Vec<Time> = Vec::with_capacity(starts.len());
    for (index, start) in starts.iter().enumerate() {
        let earliest = windows.earliest[index];
        let start = start.map_or(earliest, |start| start.max(earliest));
        pushed.push(if instance.activities[index].fixed.is_some() {
            earliest
        } else {
            network.calendar_up(ActivityId(index), start)?
        });
    }
    let mut open: VecDeque<usize> = (0..pushed.len()).collect();
    let mut pushes = 0;
    while let Some(index) = open.pop_front() {
        for (other, earliest) in network.pushes(ActivityId(index), pushed[index]) {
            let to_come = instance.activities[other.0].fixed.is_none();
            if !to_come || earliest <= pushed[other.0] {
                continue;
            }
            pushes += 1;
            if earliest > windows.latest[other.0] || pushes > 16 * pushed.len() {
                return None;
            }
            pushed[other.0] = network.calendar_up(other, earliest)?;
            open.push_back(other.0);
        }
    }
    let announced = starts.iter().zip(pushed);
    let held = announced.map(|(start, pushed)| start.is_some().then_some(pushed));
    Some(held.collect())
}

struct Slip<'a, 's> {
    instance: &'a Instance,
    network: Network<'a>,
    placements: &'s [Placement],
    starts: &'s [Time],
    board: Board<'a>,
}

impl Slip<'_, '_> {
    /// Returns whether an activity could start then, with what follows pushed and the rest where it is.
    fn could_start(&mut self, activity: ActivityId, start: Time) -> bool {
        let Some(moved) = self.pushed(activity, start) else {
            return false;
        };
        for &id in moved.keys() {
            self.board.remove(id);
        }
        let mut placed = Vec::with_capacity(moved.len());
        let fits = moved.iter().all(|(&id, &start)| {
            let mode = self.placements[id.0].mode;
            let fits = self.board.fits(id, mode, start);
            if fits {
                self.board.place(id, mode, start);
                placed.push(id);
            }
            fits && !self.board.overdraws(id)
        });
        for id in placed {
            self.board.remove(id);
        }
        for &id in moved.keys() {
            self.board
                .place(id, self.placements[id.0].mode, self.starts[id.0]);
        }
        fits
    }

    /// Returns the new starts of everything that must move when an activity starts then; `None` when something
    /// that has happened by then, or a deadline, forbids it.
    fn pushed(&self, activity: ActivityId, start: Time) -> Option<BTreeMap<ActivityId, Time>> {
        let begun = self.starts[activity.0];
        let mut moved = BTreeMap::from([(activity, start)]);
        let mut open = VecDeque::from([activity]);
        let mut pushes = 0;
        while let Some(id) = open.pop_front() {
            let at = moved[&id];
            let item = &self.instance.activities[id.0];
            let end = self.network.end_of(id, at);
            let by = item
                .deadline
                .unwrap_or(self.instance.latest)
                .min(self.instance.latest);
            if end > by || self.network.calendar_against(id, at).is_some() {
                return None;
            }
            for (other, earliest) in self.network.pushes(id, at) {
                let stands = moved.get(&other).copied().unwrap_or(self.starts[other.0]);
                if earliest <= stands {
                    continue;
                }
                let has_begun = other == activity
                    || self.instance.activities[other.0].fixed.is_some()
                    || self.starts[other.0] < begun;
                pushes += 1;
                if has_begun || pushes > 4 * self.starts.len() {
                    return None;
                }
                moved.insert(other, self.network.calendar_up(other, earliest)?);
                open.push_back(other);
            }
        }
        Some(moved)
    }
}
