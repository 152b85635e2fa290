//! Service time ↔ the clock on the kitchen wall.
//!
//! A moment on the plan is a number of elapsed minutes from service; service itself is a date and a time of
//! day in a zone. Going from minutes to the wall is always possible. Going from the wall to minutes needs two
//! rules at a clock change, and they are these:
//! - a time that the clock skips (spring) means the first moment that exists after it;
//! - a time that the clock shows twice (autumn) means the first of the two.
//!
//! The published rules come with `chrono-tz` (the tz database).

use std::fmt;

use chrono::{
    DateTime, Days, LocalResult, NaiveDateTime, SecondsFormat, TimeDelta, TimeZone, Timelike, Utc,
};

use super::{Date, Minute, TimeOfDay, Weekday, Zone};

/// A moment in whole seconds since 1970-01-01T00:00:00Z; what the book keeps.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Timestamp(pub i64);

impl Timestamp {
    fn utc(self) -> DateTime<Utc> {
        // Held within ±200,000 years, where adding any zone's offset still gives a date that exists.
        let seconds = self.0.clamp(-6_000_000_000_000, 6_000_000_000_000);
        DateTime::from_timestamp(seconds, 0).unwrap_or_default()
    }

    /// Returns what the wall clock in `zone` shows at this moment.
    pub fn local(self, zone: Zone) -> Local {
        let shown = self.utc().with_timezone(&zone).naive_local();
        Local {
            date: shown.date(),
            time: shown.time(),
        }
    }

    /// Returns the moment at which the wall clock in `zone` shows `local`, by the two rules of this module.
    pub fn from_local(local: Local, zone: Zone) -> Self {
        let wanted = local.date.and_time(local.time);
        match zone.from_local_datetime(&wanted) {
            LocalResult::Single(moment) | LocalResult::Ambiguous(moment, _) => {
                Self(moment.timestamp())
            }
            LocalResult::None => Self(first_after_gap(wanted, zone)),
        }
    }

    /// Returns the moment written as RFC 3339 in UTC, for programs.
    pub fn rfc3339(self) -> String {
        self.utc().format("%Y-%m-%dT%H:%M:%SZ").to_string()
    }

    /// Returns the moment written as RFC 3339 on the wall clock of `zone`, with its offset.
    pub fn rfc3339_in(self, zone: Zone) -> String {
        self.utc()
            .with_timezone(&zone)
            .to_rfc3339_opts(SecondsFormat::Secs, false)
    }

    /// Returns the moment that an RFC 3339 text names, in whole seconds rounded down; `None` where it is none.
    pub fn from_rfc3339(text: &str) -> Option<Self> {
        DateTime::parse_from_rfc3339(text)
            .ok()
            .map(|moment| Self(moment.timestamp()))
    }
}

/// Returns the first moment after a stretch that the wall clock skips, in seconds since 1970.
///
/// A skipped stretch may be a whole day (Pacific/Apia, 2011-12-30), so the search walks in quarter hours
/// (every published change is a multiple of one) for up to two days.
fn first_after_gap(wanted: NaiveDateTime, zone: Zone) -> i64 {
    // Walk forward to a wall time that exists, then back by the second to the instant of the change.
    let exists = (1..=192)
        .map(|quarter| wanted + TimeDelta::minutes(15 * quarter))
        .find_map(|wall| zone.from_local_datetime(&wall).earliest());
    let Some(after) = exists else {
        return wanted.and_utc().timestamp();
    };
    let wall_after = after.naive_local();
    // The instant of the change is where the offset becomes the one in force at `after`.
    let (mut before, mut at) = (after.timestamp() - 2 * 86_400, after.timestamp());
    while before + 1 < at {
        let middle = before + (at - before) / 2;
        let shown = Timestamp(middle).utc().with_timezone(&zone).naive_local();
        if shown > wanted && shown <= wall_after {
            at = middle;
        } else {
            before = middle;
        }
    }
    at
}

/// What a wall clock shows: a date and a time of day, with no zone of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Local {
    /// The date.
    pub date: Date,
    /// The time of day.
    pub time: TimeOfDay,
}

impl Local {
    /// Returns the time of day as the sheet shows it: `07:05`.
    pub fn clock(self) -> String {
        format!("{:02}:{:02}", self.time.hour(), self.time.minute())
    }

    /// Returns the weekday and time: `Thu 07:05`.
    pub fn weekday_clock(self) -> String {
        use chrono::Datelike;
        format!("{} {}", weekday_name(self.date.weekday()), self.clock())
    }
}

impl fmt::Display for Local {
    /// Writes date and time with the weekday: `Thu 2026-11-26 07:05`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        use chrono::Datelike;
        write!(
            f,
            "{} {} {}",
            weekday_name(self.date.weekday()),
            self.date,
            self.clock()
        )
    }
}

/// The moment of service and the zone of the kitchen: the one bridge between minutes and the wall clock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ServiceTime {
    service: Timestamp,
    zone: Zone,
}

impl ServiceTime {
    /// Returns the bridge for a service at `local` on the kitchen's wall clock.
    pub fn new(local: Local, zone: Zone) -> Self {
        Self {
            service: Timestamp::from_local(local, zone),
            zone,
        }
    }

    /// Returns the kitchen's zone.
    pub fn zone(self) -> Zone {
        self.zone
    }

    /// Returns the moment of a minute of the plan.
    pub fn timestamp(self, minute: Minute) -> Timestamp {
        Timestamp(self.service.0 + 60 * i64::from(minute.0))
    }

    /// Returns the minute of the plan in which a moment lies, rounded down.
    ///
    /// A moment more than two thousand years away is held at that distance.
    pub fn minute(self, moment: Timestamp) -> Minute {
        let minutes = moment.0.saturating_sub(self.service.0).div_euclid(60);
        Minute(minutes.clamp(-1_000_000_000, 1_000_000_000) as i32)
    }

    /// Returns what the kitchen's wall clock shows at a minute of the plan.
    pub fn local(self, minute: Minute) -> Local {
        self.timestamp(minute).local(self.zone)
    }

    /// Returns the minute at which the kitchen's wall clock shows `local`.
    pub fn at(self, local: Local) -> Minute {
        self.minute(Timestamp::from_local(local, self.zone))
    }

    /// Returns the minute at which `date` begins on the wall clock, plus `minutes_of_day` read off the clock
    /// face (1440 and more reach into the next date).
    pub fn at_minute_of_day(self, date: Date, minutes_of_day: u32) -> Minute {
        let date = day_after(date, i64::from(minutes_of_day / 1440));
        let minutes = minutes_of_day % 1440;
        self.at(Local {
            date,
            time: time_of_day(minutes / 60, minutes % 60).unwrap_or(TimeOfDay::MIN),
        })
    }

    /// Returns the date of service in the kitchen.
    pub fn service_date(self) -> Date {
        self.local(Minute::SERVICE).date
    }
}

/// Returns the date `days` after (before, when negative) `date`, held at the ends of the calendar.
pub fn day_after(date: Date, days: i64) -> Date {
    let count = Days::new(days.unsigned_abs());
    if days < 0 {
        date.checked_sub_days(count).unwrap_or(Date::MIN)
    } else {
        date.checked_add_days(count).unwrap_or(Date::MAX)
    }
}

/// Returns the time of day, or `None` when there is no such time.
pub fn time_of_day(hour: u32, minute: u32) -> Option<TimeOfDay> {
    TimeOfDay::from_hms_opt(hour, minute, 0)
}

/// Returns the weekday's short English name, as the sheet shows it.
pub fn weekday_name(weekday: Weekday) -> &'static str {
    match weekday {
        Weekday::Mon => "Mon",
        Weekday::Tue => "Tue",
        Weekday::Wed => "Wed",
        Weekday::Thu => "Thu",
        Weekday::Fri => "Fri",
        Weekday::Sat => "Sat",
        Weekday::Sun => "Sun",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::Minutes;

    fn local(year: i32, month: u32, day: u32, hour: u32, minute: u32) -> Local {
        Local {
            date: Date::from_ymd_opt(year, month, day).expect("a date of the table"),
            time: time_of_day(hour, minute).expect("a time of the table"),
        }
    }

    /// Clock changes of the tz database (rules of the files europe, northamerica, australasia; instants for
    /// 2026 and 2027 computed from release 2025b), elapsed 18:00 → 18:00 across each.
    #[test]
    fn elapsed_time_across_published_clock_changes() {
        let table = [
            (Zone::Europe__London, (2026, 3, 28), (2026, 3, 29), 23 * 60),
            (
                Zone::Europe__London,
                (2026, 10, 24),
                (2026, 10, 25),
                25 * 60,
            ),
            (Zone::Europe__London, (2027, 3, 27), (2027, 3, 28), 23 * 60),
            (
                Zone::Europe__London,
                (2027, 10, 30),
                (2027, 10, 31),
                25 * 60,
            ),
            (Zone::Europe__Paris, (2026, 3, 28), (2026, 3, 29), 23 * 60),
            (Zone::Europe__Paris, (2026, 10, 24), (2026, 10, 25), 25 * 60),
            (Zone::America__New_York, (2026, 3, 7), (2026, 3, 8), 23 * 60),
            (
                Zone::America__New_York,
                (2026, 10, 31),
                (2026, 11, 1),
                25 * 60,
            ),
            (
                Zone::America__New_York,
                (2027, 3, 13),
                (2027, 3, 14),
                23 * 60,
            ),
            (
                Zone::America__New_York,
                (2027, 11, 6),
                (2027, 11, 7),
                25 * 60,
            ),
            (
                Zone::Australia__Lord_Howe,
                (2026, 4, 4),
                (2026, 4, 5),
                24 * 60 + 30,
            ),
            (
                Zone::Australia__Lord_Howe,
                (2026, 10, 3),
                (2026, 10, 4),
                23 * 60 + 30,
            ),
            (Zone::Pacific__Apia, (2011, 12, 29), (2011, 12, 31), 24 * 60),
            (
                Zone::Asia__Kathmandu,
                (1985, 12, 31),
                (1986, 1, 1),
                24 * 60 - 15,
            ),
        ];
        for (zone, from, to, elapsed) in table {
            let bridge = ServiceTime::new(local(to.0, to.1, to.2, 18, 0), zone);
            let start = bridge.at(local(from.0, from.1, from.2, 18, 0));
            assert_eq!(Minute::SERVICE - start, Minutes(elapsed), "{zone} {from:?}");
        }
    }

    /// The instants themselves, from the same table.
    #[test]
    fn a_skipped_time_means_the_first_moment_after_it() {
        let skipped = [
            (
                Zone::Europe__London,
                local(2026, 3, 29, 1, 30),
                "2026-03-29T01:00:00Z",
            ),
            (
                Zone::Europe__Paris,
                local(2026, 3, 29, 2, 30),
                "2026-03-29T01:00:00Z",
            ),
            (
                Zone::America__New_York,
                local(2026, 3, 8, 2, 15),
                "2026-03-08T07:00:00Z",
            ),
            (
                Zone::Australia__Lord_Howe,
                local(2026, 10, 4, 2, 10),
                "2026-10-03T15:30:00Z",
            ),
            (
                Zone::Pacific__Apia,
                local(2011, 12, 30, 9, 0),
                "2011-12-30T10:00:00Z",
            ),
            (
                Zone::Asia__Kathmandu,
                local(1986, 1, 1, 0, 7),
                "1985-12-31T18:30:00Z",
            ),
        ];
        for (zone, wall, instant) in skipped {
            assert_eq!(
                Timestamp::from_local(wall, zone).rfc3339(),
                instant,
                "{zone} {wall}"
            );
        }
    }

    #[test]
    fn a_time_shown_twice_means_the_first() {
        let first = Timestamp::from_local(local(2026, 10, 25, 1, 30), Zone::Europe__London);
        assert_eq!(first.rfc3339(), "2026-10-25T00:30:00Z");
        let first = Timestamp::from_local(local(2026, 4, 5, 1, 45), Zone::Australia__Lord_Howe);
        assert_eq!(first.rfc3339(), "2026-04-04T14:45:00Z");
    }

    /// RFC 3339 §5.6; the offsets around a clock change of the table above.
    #[test]
    fn moments_are_written_with_their_offset_and_read_back() {
        let before = Timestamp::from_local(local(2026, 10, 25, 0, 30), Zone::Europe__London);
        assert_eq!(
            before.rfc3339_in(Zone::Europe__London),
            "2026-10-25T00:30:00+01:00"
        );
        let after = Timestamp(before.0 + 2 * 3600);
        assert_eq!(
            after.rfc3339_in(Zone::Europe__London),
            "2026-10-25T01:30:00+00:00"
        );
        for moment in [before, after, Timestamp(0), Timestamp(-1)] {
            for zone in [Zone::Asia__Kathmandu, Zone::Australia__Lord_Howe, Zone::UTC] {
                assert_eq!(
                    Timestamp::from_rfc3339(&moment.rfc3339_in(zone)),
                    Some(moment)
                );
            }
            assert_eq!(Timestamp::from_rfc3339(&moment.rfc3339()), Some(moment));
        }
        assert_eq!(Timestamp::from_rfc3339("2026-11-26 14:30"), None);
        assert_eq!(Timestamp::from_rfc3339("2026-02-30T00:00:00Z"), None);
    }

    #[test]
    fn any_moment_can_be_shown() {
        for seconds in [i64::MIN, -1, 0, i64::MAX] {
            let _ = Timestamp(seconds).local(Zone::Europe__London).to_string();
        }
    }
}
