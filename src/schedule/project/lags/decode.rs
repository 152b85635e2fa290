//! From a list of activities to a schedule: serial generation with unscheduling.
//!
//! Activities are placed one after another at the earliest start that lags and resources allow. A maximum lag may leave
//! an activity no start: then it takes the first start with room all the same, what is in its way is taken out again and
//! may not come back before that start allows, and the generation goes on. After too much of that the list is given up.
//!
//! One decoder serves both directions. In mirrored time an activity starts where it ended, and
//! `d'(j, i) = d(i, j) + p_j - p_i`; kept as ends, the placed activities bound the others through the same closure read
//! the other way.
//!
//! Sources: B. Franck, K. Neumann and C. Schwindt, "Truncated branch-and-bound, schedule-construction, and
//! schedule-improvement procedures for resource-constrained project scheduling", OR Spektrum 23 (2001); T. B. Smith and
//! J. M. Pyle, "An effective algorithm for project scheduling with arbitrary temporal constraints", AAAI 2004, for taking
//! out only what is in the way; both from memory. The former also take out all that starts later, which was tried and came
//! to longer plans and more lists given up for the same number of schedules.

use super::model::Model;
use super::profile::Profile;
use super::reading::{Reading, rows};

/// Beyond every minute of a schedule.
const FAR: i32 = 1 << 28;

/// The way a list is decoded.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Direction {
    /// From the beginning on, as early as possible.
    Forward,
    /// From the end back, as late as possible.
    Backward,
}

impl Direction {
    /// Returns the other way.
    pub(super) fn opposite(self) -> Self {
        match self {
            Self::Forward => Self::Backward,
            Self::Backward => Self::Forward,
        }
    }
}

/// The memory of a decode, reused from one to the next.
#[derive(Clone, Debug, Default)]
pub(super) struct Decoder {
    profile: Profile,
    /// Start, in the time of the direction, of each placed activity.
    start: Vec<i32>,
    placed: Vec<bool>,
    /// What each placed activity bounds the others by: its start forward, its end backward; `-FAR` and `FAR` while it
    /// is not placed.
    low: Vec<i32>,
    high: Vec<i32>,
    /// Start no earlier than this, learnt in this decode.
    floor: Vec<i32>,
    /// Place of each activity in the list, and the furthest that was ever filled.
    place: Vec<usize>,
    furthest: usize,
}

impl Decoder {
    /// Returns the starts that `list` decodes to, beginning at 0, or nothing if it is given up after `patience` times
    /// of taking out.
    pub(super) fn decode(
        &mut self,
        model: &Model,
        reading: &Reading,
        list: &[usize],
        patience: usize,
    ) -> Option<Vec<i32>> {
        self.clear(model, list);
        let mut patience = patience;
        let mut next = 0;
        while let Some(&activity) = list.get(next) {
            if self.placed[activity] {
                next += 1;
                continue;
            }
            let (earliest, latest) = self.window(reading, activity);
            let duration = model.durations[activity];
            let start = self
                .profile
                .earliest(&model.amounts, activity, duration, earliest);
            if start > latest {
                patience = patience.checked_sub(1)?;
                next = next.min(self.make_room(model, reading, activity, start)?);
            }
            self.put(model, reading, activity, start);
        }
        let origin = self.start[0];
        Some(match reading.direction {
            Direction::Forward => self.start.iter().map(|&start| start - origin).collect(),
            Direction::Backward => self
                .start
                .iter()
                .zip(&model.durations)
                .map(|(&start, &duration)| origin - start - duration)
                .collect(),
        })
    }

    fn clear(&mut self, model: &Model, list: &[usize]) {
        let size = model.size();
        self.profile.clear(&model.amounts);
        for (values, value) in [
            (&mut self.start, 0),
            (&mut self.floor, 0),
            (&mut self.low, -FAR),
            (&mut self.high, FAR),
        ] {
            values.clear();
            values.resize(size, value);
        }
        self.placed.clear();
        self.placed.resize(size, false);
        self.place.resize(size, 0);
        for (place, &activity) in list.iter().enumerate() {
            self.place[activity] = place;
        }
        self.furthest = 0;
    }

    /// Returns whether strict successors of `activity` may be placed although it is not.
    #[inline]
    fn is_hole(&self, activity: usize) -> bool {
        self.place[activity] < self.furthest
    }

    /// Returns the earliest and latest start of `activity` by the lags to what is placed.
    #[inline]
    fn window(&self, reading: &Reading, activity: usize) -> (i32, i32) {
        // Sums of a length and `FAR` stay inside an i32, so wrapping never happens; it only spares the checks.
        let earliest = reading
            .below(activity)
            .iter()
            .map(|&(other, length)| self.low[other as usize].wrapping_add(length))
            .fold(-FAR, i32::max);
        let latest = reading
            .above(activity, self.is_hole(activity))
            .iter()
            .map(|&(other, length)| self.high[other as usize].wrapping_sub(length))
            .fold(FAR, i32::min);
        let own = reading.own[activity];
        ((earliest - own).max(self.floor[activity]), latest - own)
    }

    fn put(&mut self, model: &Model, reading: &Reading, activity: usize, start: i32) {
        self.profile
            .take(&model.amounts, activity, start, model.durations[activity]);
        self.start[activity] = start;
        self.placed[activity] = true;
        self.low[activity] = start + reading.own[activity];
        self.high[activity] = start + reading.own[activity];
        self.furthest = self.furthest.max(self.place[activity]);
    }

    fn remove(&mut self, model: &Model, activity: usize) {
        let start = self.start[activity];
        self.profile
            .give(&model.amounts, activity, start, model.durations[activity]);
        self.placed[activity] = false;
        self.low[activity] = -FAR;
        self.high[activity] = FAR;
    }

    /// Takes out whatever keeps `activity` from starting at `wanted`, to come back late enough. Returns the first place
    /// in the list that became empty, or nothing if the beginning itself is in the way.
    fn make_room(
        &mut self,
        model: &Model,
        reading: &Reading,
        activity: usize,
        wanted: i32,
    ) -> Option<usize> {
        let bound = wanted + reading.own[activity];
        let origin = match reading.direction {
            Direction::Forward => 0,
            Direction::Backward => model.end(),
        };
        for &(other, length) in reading.above(activity, self.is_hole(activity)) {
            if self.high[other as usize].wrapping_sub(length) < bound {
                self.raise(model, reading, other as usize, bound + length);
            }
        }
        let mut first = usize::MAX;
        for other in 0..model.size() {
            if self.placed[other] && self.start[other] < self.floor[other] {
                if other == origin {
                    return None;
                }
                first = first.min(self.place[other]);
                self.remove(model, other);
            }
        }
        Some(first)
    }

    /// `activity` bounds others by no less than `bound`; neither it nor what follows it starts earlier than that allows.
    fn raise(&mut self, model: &Model, reading: &Reading, activity: usize, bound: i32) {
        let (_, onward) = rows(model, activity, reading.direction);
        for ((&length, &own), floor) in onward.iter().zip(&reading.own).zip(&mut self.floor) {
            *floor = (*floor).max(bound.wrapping_add(length).wrapping_sub(own));
        }
    }
}
