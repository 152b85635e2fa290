//! When the kitchen's clock is changed, by the published rules of its zone.
//!
//! Nothing is planned differently because of one: waits are elapsed time, and hours of the kitchen are on the clock's
//! face, each on the right side of the change. But a cook who reads the clock on the wall that night must know.

use chrono::{DateTime, Offset, TimeZone};

use super::{Local, Minute, Minutes, ServiceTime, Timestamp, Window, Zone};

/// Changes told of at most, so that a window of centuries is no work.
const MOST: usize = 16;

/// Longest stretch that is looked at, in hours: half a year has at most one change each way, and no prep is longer.
const LONGEST: i64 = 24 * 400;

/// A change of the clock on the wall.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClockChange {
    /// When.
    pub at: Minute,
    /// What the clock would have shown then without it.
    pub from: Local,
    /// What it shows instead.
    pub to: Local,
    /// By how much it goes forward; negative where it goes back.
    pub forward: Minutes,
}

impl ServiceTime {
    /// Returns the changes of the kitchen's clock within a window, in order.
    pub fn clock_changes(self, within: Window) -> Vec<ClockChange> {
        let (start, end) = (self.timestamp(within.start).0, self.timestamp(within.end).0);
        let end = end.min(start.saturating_add(LONGEST * 3600));
        let mut changes = Vec::new();
        let mut at = start;
        // Published changes lie hours apart at the least, so no two share a step of three hours.
        while at < end && changes.len() < MOST {
            let next = at.saturating_add(3 * 3600).min(end);
            if offset(at, self.zone()) != offset(next, self.zone()) {
                changes.push(self.clock_change(at, next));
            }
            at = next;
        }
        changes
    }

    /// Finds the change between two moments on either side of it.
    fn clock_change(self, mut before: i64, mut after: i64) -> ClockChange {
        let (was, is) = (offset(before, self.zone()), offset(after, self.zone()));
        while before + 1 < after {
            let middle = before + (after - before) / 2;
            if offset(middle, self.zone()) == was {
                before = middle;
            } else {
                after = middle;
            }
        }
        ClockChange {
            at: self.minute(Timestamp(after)),
            from: Timestamp(after + i64::from(was)).local(Zone::UTC),
            to: Timestamp(after).local(self.zone()),
            forward: Minutes((is - was) / 60),
        }
    }
}

/// Returns how far the clock on the wall is ahead of UTC at a moment, in seconds.
fn offset(seconds: i64, zone: Zone) -> i32 {
    let utc = DateTime::from_timestamp(seconds, 0).unwrap_or_default();
    zone.offset_from_utc_datetime(&utc.naive_utc())
        .fix()
        .local_minus_utc()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::{Date, time_of_day};

    fn told(zone: Zone, date: (i32, u32, u32), days: i32) -> Vec<String> {
        let date = Date::from_ymd_opt(date.0, date.1, date.2).expect("a date");
        let time = time_of_day(18, 0).expect("a time");
        let service = ServiceTime::new(Local { date, time }, zone);
        let window = Window::new(Minute::SERVICE - Minutes::days(days), Minute::SERVICE);
        let changes = service.clock_changes(window);
        let say = |it: &ClockChange| format!("{} {} {}", it.from, it.to.clock(), it.forward.0);
        changes.iter().map(say).collect()
    }

    /// Published changes of the tz database (release 2025b), as in the table of `service_time.rs`.
    #[test]
    fn the_published_changes_are_found() {
        for (zone, date, said) in [
            (
                Zone::Europe__Rome,
                (2026, 10, 25),
                "Sun 2026-10-25 03:00 02:00 -60",
            ),
            (
                Zone::Europe__Rome,
                (2026, 3, 29),
                "Sun 2026-03-29 02:00 03:00 60",
            ),
            (
                Zone::Europe__London,
                (2026, 10, 25),
                "Sun 2026-10-25 02:00 01:00 -60",
            ),
            (
                Zone::America__New_York,
                (2026, 11, 1),
                "Sun 2026-11-01 02:00 01:00 -60",
            ),
            (
                Zone::Australia__Lord_Howe,
                (2026, 10, 4),
                "Sun 2026-10-04 02:00 02:30 30",
            ),
        ] {
            assert_eq!(told(zone, date, 3), [said], "{zone}");
        }
        assert!(told(Zone::Europe__Rome, (2026, 11, 28), 7).is_empty());
        assert!(told(Zone::UTC, (2026, 10, 25), 300).is_empty());
        assert_eq!(told(Zone::Europe__Rome, (2026, 11, 28), 365).len(), 2);
    }

    #[test]
    fn a_window_of_any_length_is_looked_at() {
        let date = Date::from_ymd_opt(2026, 10, 25).expect("a date");
        let time = time_of_day(18, 0).expect("a time");
        let service = ServiceTime::new(Local { date, time }, Zone::Europe__Rome);
        let ends = (Minute(-1_000_000_000), Minute(1_000_000_000));
        assert!(service.clock_changes(Window::new(ends.0, ends.1)).len() <= MOST);
        assert!(
            service
                .clock_changes(Window::new(ends.1, ends.0))
                .is_empty()
        );
    }
}
