//! How far a start is pushed up or down by what does not move: calendars, what there is of a resource, states taken by
//! what has happened.
//!
//! The same walks up and down are in [`network`](crate::schedule::network) for the search; these are kept apart so that
//! what is proved does not lean on what is searched with.

use super::uses::{Lacks, Piece, Tail, Uses};
use super::{Reach, earliest_start};
use crate::schedule::problem::{Activity, Coverage, Instance, Mode, Time};

impl Reach<'_> {
    /// Returns the first start of a mode at or after `start` that calendars and supplies allow.
    pub(super) fn up(&self, index: usize, mode: usize, mut start: Time) -> Option<Time> {
        let activity = &self.instance.activities[index];
        let it = &activity.modes[mode];
        loop {
            let before = start;
            start = calendars_up(self.instance, activity, it, start)?;
            if let Some(lacks) = &self.lacks {
                start = supplies_up(self.instance, lacks, it, &self.uses[index][mode], start)?;
            }
            start = self.states_up(it, start)?;
            if start > self.instance.latest {
                return None;
            }
            if start == before {
                // A gate that opens no more leaves no start.
                return self.instance.end_of(it, start).map(|_| start);
            }
        }
    }

    /// Returns the last start of a mode at or before `start` that calendars and supplies allow.
    pub(super) fn down(&self, index: usize, mode: usize, mut start: Time) -> Option<Time> {
        let activity = &self.instance.activities[index];
        let it = &activity.modes[mode];
        loop {
            let before = start;
            start = calendars_down(self.instance, activity, it, start)?;
            if let Some(lacks) = &self.lacks {
                start = supplies_down(self.instance, lacks, it, &self.uses[index][mode], start)?;
            }
            start = self.states_down(it, start)?;
            if start < self.instance.earliest {
                return None;
            }
            if start == before {
                return Some(start);
            }
        }
    }

    /// Returns the first start of a mode at or after `start` that is clear of other states, one after another.
    fn states_up(&self, mode: &Mode, mut start: Time) -> Option<Time> {
        for &(state, value) in &mode.states {
            let change = self.instance.states[state.0].change;
            for it in self.states[state.0].iter().filter(|it| it.value != value) {
                let clear = it.end.saturating_add(change);
                if start < clear
                    && it.start < self.instance.end_of(mode, start)?.saturating_add(change)
                {
                    start = clear;
                }
            }
        }
        Some(start)
    }

    /// Returns the last start of a mode at or before `start` that is clear of other states, one after another.
    fn states_down(&self, mode: &Mode, mut start: Time) -> Option<Time> {
        for &(state, value) in &mode.states {
            let change = self.instance.states[state.0].change;
            for it in self.states[state.0].iter().rev() {
                if it.value != value
                    && start < it.end.saturating_add(change)
                    && it.start < self.instance.end_of(mode, start)?.saturating_add(change)
                {
                    let by = it.start.saturating_sub(change);
                    start = start.min(self.instance.latest_start(mode, by)?);
                }
            }
        }
        Some(start)
    }
}

fn calendars_up(
    instance: &Instance,
    activity: &Activity,
    mode: &Mode,
    mut start: Time,
) -> Option<Time> {
    for &(calendar, coverage) in &activity.calendars {
        let windows = &instance.calendars[calendar.0].windows;
        start = match coverage {
            Coverage::Start => {
                let at = windows.partition_point(|&(_, to)| to <= start);
                windows.get(at)?.0.max(start)
            }
            Coverage::End => {
                let end = instance.end_of(mode, start)?;
                let at = windows.partition_point(|&(_, to)| to < end);
                let opens = windows.get(at)?.0;
                if end > opens {
                    start
                } else {
                    start.max(earliest_start(instance, mode, opens + 1))
                }
            }
            Coverage::Whole => {
                let mut at = windows.partition_point(|&(_, to)| to < start);
                loop {
                    let &(from, to) = windows.get(at)?;
                    let candidate = start.max(from);
                    if instance.end_of(mode, candidate)? <= to {
                        break candidate;
                    }
                    at += 1;
                }
            }
        };
    }
    Some(start)
}

fn calendars_down(
    instance: &Instance,
    activity: &Activity,
    mode: &Mode,
    mut start: Time,
) -> Option<Time> {
    for &(calendar, coverage) in &activity.calendars {
        let windows = &instance.calendars[calendar.0].windows;
        start = match coverage {
            Coverage::Start => {
                let at = windows
                    .partition_point(|&(from, _)| from <= start)
                    .checked_sub(1)?;
                start.min(windows[at].1 - 1)
            }
            Coverage::End => {
                let end = instance.end_of(mode, start)?;
                let at = windows
                    .partition_point(|&(from, _)| from < end)
                    .checked_sub(1)?;
                if end <= windows[at].1 {
                    start
                } else {
                    start.min(instance.latest_start(mode, windows[at].1)?)
                }
            }
            Coverage::Whole => {
                let mut at = windows
                    .partition_point(|&(from, _)| from <= start)
                    .checked_sub(1)?;
                loop {
                    let (from, to) = windows[at];
                    let candidate = start.min(instance.latest_start(mode, to)?);
                    if candidate >= from {
                        break candidate;
                    }
                    at = at.checked_sub(1)?;
                }
            }
        };
    }
    Some(start)
}

fn supplies_up(
    instance: &Instance,
    lacks: &Lacks,
    mode: &Mode,
    uses: &Uses,
    mut start: Time,
) -> Option<Time> {
    for &piece in &uses.pieces {
        while let Some((_, until)) = lacks.first(piece, start + piece.from, start + piece.to) {
            start = until - piece.from;
        }
    }
    for tail in &uses.tails {
        let end = instance.end_of(mode, start)?;
        let from = tail.begins(start, end);
        if let Some((_, until)) = lacks.first(tail.piece(), from, end) {
            let clear = tail.length.map_or(until, |length| {
                until.min(earliest_start(instance, mode, until + length))
            });
            start = start.max(clear);
        }
    }
    Some(start)
}

fn supplies_down(
    instance: &Instance,
    lacks: &Lacks,
    mode: &Mode,
    uses: &Uses,
    mut start: Time,
) -> Option<Time> {
    for &piece in &uses.pieces {
        while let Some((since, _)) = lacks.last(piece, start + piece.from, start + piece.to) {
            start = since - piece.to;
        }
    }
    for tail in &uses.tails {
        let end = instance.end_of(mode, start)?;
        let from = tail.begins(start, end);
        if let Some((since, _)) = lacks.last(tail.piece(), from, end) {
            start = start.min(instance.latest_start(mode, since)?);
        }
    }
    Some(start)
}

impl Tail {
    /// Returns when it begins in a mode that stands from `start` to `end`.
    fn begins(self, start: Time, end: Time) -> Time {
        let length = self.length;
        length.map_or(start, |length| (end - length).max(start))
    }

    fn piece(self) -> Piece {
        Piece {
            resource: self.resource,
            quantity: self.quantity,
            from: 0,
            to: 0,
        }
    }
}
