//! The time a cook types: "14:30", "-20", "Thu 14:30".
//!
//! Ticks are often entered late, with floury hands, so a time is read backward: it is always one that has
//! passed. The screen and the command line read it with this one function.

use super::typed_moment::second_showing;
use crate::time::{
    Date, Datelike, Local, TimeOfDay, Timestamp, Weekday, Zone, day_after, time_of_day,
};

/// How far ahead of the clock a typed time may lie, in seconds: the wall clock shows no seconds.
const AHEAD: i64 = 60;

/// How far ahead of the clock a time without its day is taken for one of today that is still to come, in seconds.
const NEARLY: i64 = 60 * 60;

/// How far back a typed time may lie, in days; older ones are slips of the finger.
const BACK: i64 = 400;

/// Returns the moment a cook means, or why the text is not a time that has passed.
///
/// Read are: `now`; `14:30` (the latest not after now; one that is to come within the hour is
/// refused, for it is that one that was meant); `-20`, `-1h30`, `20 min ago` (so long before now);
/// `today 14:30`, `yesterday 23:10`, `Thu 14:30` (the latest such day, today included); `2026-11-26 14:30`.
pub fn typed_time(text: &str, now: Timestamp, zone: Zone) -> Result<Timestamp, String> {
    let said = text.trim();
    let lower = said.to_lowercase();
    if said.is_empty() {
        return Err(how_to("no time given"));
    }
    if lower == "now" {
        return Ok(now);
    }
    if let Some(length) = ago(&lower) {
        let minutes = minutes(length).ok_or_else(|| how_to(&unread(said)))?;
        return passed(Timestamp(now.0 - 60 * minutes), said, now);
    }
    let (day, clock) = match lower.split_once(char::is_whitespace) {
        Some((day, clock)) => (Some(day), clock.trim()),
        None => (None, lower.as_str()),
    };
    let time = clock_face(clock).ok_or_else(|| how_to(&unread(said)))?;
    let today = now.local(zone).date;
    let Some(day) = day else {
        // A watch that goes ahead of this clock must not make it a day ago.
        let is_ahead = |moment: Timestamp| (now.0 + AHEAD + 1..=now.0 + NEARLY).contains(&moment.0);
        let mut soon = [today, day_after(today, 1)]
            .into_iter()
            .filter_map(|date| on_the_wall(Local { date, time }, now, zone));
        if soon.any(is_ahead) {
            let passed = on_the_wall(Local { date: today, time }, now, zone);
            let day = match passed {
                Some(moment) if moment <= now => "today",
                _ => "yesterday",
            };
            return Err(format!(
                "\"{said}\" is still to come; give a time that has passed, or its day: \"{day} {said}\""
            ));
        }
        // Yesterday's where today's is still to come.
        let latest = [today, day_after(today, -1)]
            .into_iter()
            .filter_map(|date| on_the_wall(Local { date, time }, now, zone))
            .find(|moment| moment.0 <= now.0 + AHEAD);
        return latest.ok_or_else(|| skipped(said));
    };
    let date = named_day(day, today).ok_or_else(|| how_to(&unread(said)))?;
    let moment = on_the_wall(Local { date, time }, now, zone).ok_or_else(|| skipped(said))?;
    passed(moment, said, now)
}

fn passed(moment: Timestamp, said: &str, now: Timestamp) -> Result<Timestamp, String> {
    if moment.0 > now.0 + AHEAD {
        return Err(format!(
            "\"{said}\" is still to come; give a time that has passed"
        ));
    }
    if moment.0 < now.0 - BACK * 86_400 {
        return Err(format!(
            "\"{said}\" is more than {BACK} days ago; check the date"
        ));
    }
    Ok(moment)
}

/// Returns the latest moment, not after now where there are two, at which the wall clock shows `local`;
/// `None` for a time that a clock change skips.
fn on_the_wall(local: Local, now: Timestamp, zone: Zone) -> Option<Timestamp> {
    let first = Timestamp::from_local(local, zone);
    if first.local(zone) != local {
        return None;
    }
    // The second showing is the one a cook means who types it after it has been.
    let second = second_showing(local, first, zone);
    Some(
        second
            .filter(|moment| moment.0 <= now.0 + AHEAD)
            .unwrap_or(first),
    )
}

/// Returns the length in a text of the "so long ago" kind, unread; `None` for another kind.
fn ago(lower: &str) -> Option<&str> {
    let length = match lower.strip_suffix("ago") {
        Some(length) => length,
        None => lower.strip_prefix('-').or(lower.strip_prefix('−'))?,
    };
    Some(length.trim())
}

/// Reads `20`, `20 min`, `1h`, `1h30`, `2 days`, in minutes.
fn minutes(length: &str) -> Option<i64> {
    let number = |text: &str| -> Option<i64> {
        let text = text.trim();
        let digits =
            !text.is_empty() && text.len() <= 6 && text.bytes().all(|b| b.is_ascii_digit());
        digits.then(|| text.parse().ok()).flatten()
    };
    for suffix in ["minutes", "minute", "mins", "min", "m"] {
        if let Some(count) = length.strip_suffix(suffix).and_then(number) {
            return Some(count);
        }
    }
    for suffix in ["days", "day"] {
        if let Some(count) = length.strip_suffix(suffix).and_then(number) {
            return Some(count * 1440);
        }
    }
    for suffix in ["hours", "hour"] {
        if let Some(count) = length.strip_suffix(suffix).and_then(number) {
            return Some(count * 60);
        }
    }
    match length.split_once('h') {
        Some((hours, "")) => Some(number(hours)? * 60),
        Some((hours, minutes)) => Some(number(hours)? * 60 + number(minutes).filter(|m| *m < 60)?),
        None => number(length),
    }
}

/// Reads `14:30`, `7:05`, `14.30`.
fn clock_face(text: &str) -> Option<TimeOfDay> {
    let (hour, minute) = text.split_once([':', '.'])?;
    let digits = |text: &str| {
        !text.is_empty() && text.len() <= 2 && text.bytes().all(|b| b.is_ascii_digit())
    };
    if !digits(hour) || !digits(minute) || minute.len() != 2 {
        return None;
    }
    time_of_day(hour.parse().ok()?, minute.parse().ok()?)
}

fn named_day(day: &str, today: Date) -> Option<Date> {
    match day {
        "today" => return Some(today),
        "yesterday" => return Some(day_after(today, -1)),
        _ => {}
    }
    if let Ok(weekday) = day.parse::<Weekday>() {
        let mut date = today;
        while date.weekday() != weekday {
            date = day_after(date, -1);
        }
        return Some(date);
    }
    day.parse().ok()
}

fn unread(said: &str) -> String {
    format!("\"{said}\" is not a time")
}

fn skipped(said: &str) -> String {
    format!("the clock went forward over \"{said}\"; give a time it did show")
}

fn how_to(fault: &str) -> String {
    format!("{fault}; write 14:30, -20 (minutes ago), Thu 14:30, 2026-11-26 14:30 or now")
}

#[cfg(test)]
mod tests {
    use super::*;

    const ZONE: Zone = Zone::Europe__London;

    fn moment(year: i32, month: u32, day: u32, hour: u32, minute: u32) -> Timestamp {
        Timestamp::from_local(
            Local {
                date: Date::from_ymd_opt(year, month, day).expect("a date"),
                time: time_of_day(hour, minute).expect("a time"),
            },
            ZONE,
        )
    }

    /// Thursday.
    fn now() -> Timestamp {
        moment(2026, 11, 26, 14, 5)
    }

    fn read(text: &str) -> Result<String, String> {
        typed_time(text, now(), ZONE).map(|moment| moment.local(ZONE).to_string())
    }

    #[test]
    fn times_are_read_backward_from_now() {
        for (text, meant) in [
            ("now", "Thu 2026-11-26 14:05"),
            (" 14:05 ", "Thu 2026-11-26 14:05"),
            ("14:06", "Thu 2026-11-26 14:06"),
            ("15:06", "Wed 2026-11-25 15:06"),
            ("7:30", "Thu 2026-11-26 07:30"),
            ("07.30", "Thu 2026-11-26 07:30"),
            ("23:10", "Wed 2026-11-25 23:10"),
            ("-20", "Thu 2026-11-26 13:45"),
            ("−20", "Thu 2026-11-26 13:45"),
            ("-1h30", "Thu 2026-11-26 12:35"),
            ("20 min ago", "Thu 2026-11-26 13:45"),
            ("2h ago", "Thu 2026-11-26 12:05"),
            ("1 day ago", "Wed 2026-11-25 14:05"),
            ("Thu 09:00", "Thu 2026-11-26 09:00"),
            ("fri 09:00", "Fri 2026-11-20 09:00"),
            ("Wednesday 09:00", "Wed 2026-11-25 09:00"),
            ("today 9:00", "Thu 2026-11-26 09:00"),
            ("yesterday 23:10", "Wed 2026-11-25 23:10"),
            ("2026-11-24 08:00", "Tue 2026-11-24 08:00"),
        ] {
            assert_eq!(read(text).as_deref(), Ok(meant), "{text:?}");
        }
    }

    #[test]
    fn the_future_is_refused_in_words() {
        for text in [
            "14:07",
            "15:05",
            "today 14:07",
            "Thu 23:00",
            "2026-11-27 08:00",
        ] {
            let refusal = read(text).expect_err(text);
            assert!(refusal.contains("still to come"), "{refusal}");
        }
        // Of the coming day too, in the last minutes of one.
        let late = moment(2026, 11, 26, 23, 58);
        let refusal = typed_time("0:02", late, ZONE).expect_err("in four minutes");
        assert!(refusal.contains("\"today 0:02\""), "{refusal}");
        assert!(
            read("2020-01-01 08:00")
                .expect_err("too old")
                .contains("check the date")
        );
    }

    #[test]
    fn nonsense_is_refused_with_what_to_write() {
        for text in [
            "",
            "  ",
            "soon",
            "25:00",
            "14:60",
            "14",
            "14:5",
            "-",
            "-x",
            "ago",
            "1h75 ago",
            "--20",
            "someday 14:00",
            "2026-13-01 10:00",
            "1:2:3",
            "+1:30",
            "-99999999999999999999",
            "\u{202e}14:30",
        ] {
            let refusal = read(text).expect_err(text);
            assert!(refusal.contains("write 14:30"), "{text:?}: {refusal}");
        }
    }

    #[test]
    fn clock_changes_are_minded() {
        // Europe/London, 2026-10-25: 01:30 is shown twice; 2026-03-29: 01:30 is never shown (tz database).
        let first = moment(2026, 10, 25, 1, 30);
        let between = Timestamp(first.0 + 600);
        let after = Timestamp(first.0 + 4200);
        assert_eq!(typed_time("01:30", between, ZONE), Ok(first));
        assert_eq!(
            typed_time("01:30", after, ZONE),
            Ok(Timestamp(first.0 + 3600))
        );
        let spring = moment(2026, 3, 29, 9, 0);
        assert!(
            typed_time("today 01:30", spring, ZONE)
                .expect_err("skipped")
                .contains("went forward")
        );
        assert_eq!(
            typed_time("-20", spring, ZONE),
            Ok(Timestamp(spring.0 - 1200))
        );
    }
}
