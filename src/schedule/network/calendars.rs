//! What calendars allow: the first start from a moment on, the last one up to it, and which calendar is against one.

use super::Network;
use crate::schedule::problem::{ActivityId, CalendarId, Coverage, Edge, Mode, Time};

impl Network<'_> {
    /// Returns the first start at or after `start` that all calendars of the activity allow.
    pub fn calendar_up(&self, activity: ActivityId, start: Time) -> Option<Time> {
        if self.activity(activity.0).calendars.is_empty() {
            return Some(start);
        }
        let modes = self.modes(activity).iter();
        modes
            .filter_map(|mode| self.calendar_up_in(activity, mode, start))
            .min()
    }

    fn calendar_up_in(&self, activity: ActivityId, mode: &Mode, mut start: Time) -> Option<Time> {
        let calendars = &self.activity(activity.0).calendars;
        loop {
            let before = start;
            for &(calendar, coverage) in calendars {
                let windows = &self.instance.calendars[calendar.0].windows;
                let next = match coverage {
                    Coverage::Start => {
                        let at = windows.partition_point(|&(_, to)| to <= start);
                        windows.get(at)?.0.max(start)
                    }
                    Coverage::End => {
                        let end = self.end_in(mode, start);
                        let at = windows.partition_point(|&(_, to)| to < end);
                        let opens = windows.get(at)?.0;
                        if end > opens {
                            start
                        } else {
                            self.earliest_in(mode, opens + 1)
                        }
                    }
                    Coverage::Whole => {
                        // Not over at once: the window must also reach the end.
                        let mut at = windows.partition_point(|&(_, to)| to < start);
                        loop {
                            let &(from, to) = windows.get(at)?;
                            let candidate = start.max(from);
                            if self.end_in(mode, candidate) <= to {
                                break candidate;
                            }
                            at += 1;
                        }
                    }
                };
                start = start.max(next);
            }
            if start == before {
                return Some(start);
            }
            if start > self.instance.latest {
                return None;
            }
        }
    }

    /// Returns the last start at or before `start` that all calendars of the activity allow.
    pub fn calendar_down(&self, activity: ActivityId, start: Time) -> Option<Time> {
        if self.activity(activity.0).calendars.is_empty() {
            return Some(start);
        }
        let modes = self.modes(activity).iter();
        modes
            .filter_map(|mode| self.calendar_down_in(activity, mode, start))
            .max()
    }

    fn calendar_down_in(&self, activity: ActivityId, mode: &Mode, mut start: Time) -> Option<Time> {
        let calendars = &self.activity(activity.0).calendars;
        loop {
            let before = start;
            for &(calendar, coverage) in calendars {
                let windows = &self.instance.calendars[calendar.0].windows;
                let last = match coverage {
                    Coverage::Start => {
                        let at = windows
                            .partition_point(|&(from, _)| from <= start)
                            .checked_sub(1)?;
                        start.min(windows[at].1 - 1)
                    }
                    Coverage::End => {
                        let end = self.end_in(mode, start);
                        let at = windows
                            .partition_point(|&(from, _)| from < end)
                            .checked_sub(1)?;
                        if end <= windows[at].1 {
                            start
                        } else {
                            self.latest_in(mode, windows[at].1)
                        }
                    }
                    Coverage::Whole => {
                        let mut at = windows
                            .partition_point(|&(from, _)| from <= start)
                            .checked_sub(1)?;
                        loop {
                            let (from, to) = windows[at];
                            let candidate = start.min(self.latest_in(mode, to));
                            if candidate >= from {
                                break candidate;
                            }
                            at = at.checked_sub(1)?;
                        }
                    }
                };
                start = start.min(last);
            }
            if start == before {
                return Some(start);
            }
            if start < self.instance.earliest {
                return None;
            }
        }
    }

    /// Returns which calendar keeps an activity from starting at `start`, if one does.
    pub fn calendar_against(
        &self,
        activity: ActivityId,
        start: Time,
    ) -> Option<(CalendarId, Edge)> {
        let end = self.end_of(activity, start);
        let inside = |windows: &[(Time, Time)], moment: Time| {
            windows
                .iter()
                .any(|&(from, to)| from <= moment && moment < to)
        };
        self.activity(activity.0)
            .calendars
            .iter()
            .find_map(|&(calendar, coverage)| {
                let windows = &self.instance.calendars[calendar.0].windows;
                let start_in = inside(windows, start);
                let end_in = windows.iter().any(|&(from, to)| from < end && end <= to);
                let whole = windows.iter().any(|&(from, to)| from <= start && end <= to);
                match coverage {
                    Coverage::Start if !start_in => Some((calendar, Edge::Start)),
                    Coverage::End if !end_in => Some((calendar, Edge::End)),
                    Coverage::Whole if !whole => {
                        Some((calendar, if start_in { Edge::End } else { Edge::Start }))
                    }
                    _ => None,
                }
            })
    }
}
