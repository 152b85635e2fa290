//! Times typed on the command line that need not have passed: `--now` and `--until`.
//!
//! When something *happened* is read by [`typed_time`](crate::prep::typed_time), which only looks back.

use crate::time::{
    Date, Datelike, Local, TimeOfDay, Timestamp, Zone, day_after, time_of_day, weekday_name,
};

/// What a time of day without a day means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bare {
    /// That time today.
    Today,
    /// The next time the clock shows it.
    Next,
}

/// Returns the moment a text names, on the clock of `zone`, or what to write instead.
///
/// Read are: `now`; RFC 3339; `2026-11-26 14:30`; `14:30`; `today`, `yesterday`, `tomorrow` or a weekday (the
/// next one, today included where `bare` allows) with a time.
pub(super) fn read(
    text: &str,
    now: Timestamp,
    zone: Zone,
    bare: Bare,
) -> Result<Timestamp, String> {
    let text = text.trim();
    let unread = || {
        format!(
            "\"{text}\" is not a time; write 14:30, \"2026-11-26 14:30\", \"Fri 06:00\" or \
             2026-11-26T14:30:00+01:00"
        )
    };
    if text == "now" {
        return Ok(now);
    }
    if let Some(moment) = Timestamp::from_rfc3339(text) {
        return Ok(moment);
    }
    let today = now.local(zone).date;
    let on = |date: Date, time: TimeOfDay| Timestamp::from_local(Local { date, time }, zone);
    let parted = text.split_once(' ').or_else(|| text.split_once('T'));
    let (day, clock) = match parted {
        Some((day, clock)) => (Some(day), clock.trim()),
        None => (None, text),
    };
    let time = clock_face(clock).ok_or_else(unread)?;
    let Some(day) = day else {
        let first = on(today, time);
        return Ok(if bare == Bare::Next && first <= now {
            on(day_after(today, 1), time)
        } else {
            first
        });
    };
    let lower = day.to_lowercase();
    let days = match lower.as_str() {
        "today" => Some(0),
        "yesterday" => Some(-1),
        "tomorrow" => Some(1),
        _ => None,
    };
    if let Some(days) = days {
        return Ok(on(day_after(today, days), time));
    }
    if let Ok(date) = day.parse::<Date>() {
        return Ok(on(date, time));
    }
    let three = lower.get(..3).unwrap_or("");
    (0..=7)
        .map(|days| day_after(today, days))
        .filter(|date| weekday_name(date.weekday()).to_lowercase() == three)
        .filter(|_| is_weekday(&lower))
        .map(|date| on(date, time))
        .find(|&moment| bare == Bare::Today || now < moment)
        .ok_or_else(unread)
}

fn is_weekday(lower: &str) -> bool {
    [
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
    ]
    .iter()
    .any(|full| lower == *full || lower == &full[..3])
}

fn clock_face(text: &str) -> Option<TimeOfDay> {
    let mut parts = text.split(':');
    let mut number = |most: u32| -> Option<u32> {
        let part = parts.next()?;
        let digits =
            (1..=2).contains(&part.len()) && part.bytes().all(|byte| byte.is_ascii_digit());
        part.parse().ok().filter(|&number| digits && number <= most)
    };
    let (hour, minute) = (number(23)?, number(59)?);
    // Seconds may be written and mean nothing to a plan of minutes.
    let rest_is_seconds = match text.matches(':').count() {
        1 => true,
        2 => number(60).is_some(),
        _ => false,
    };
    rest_is_seconds.then(|| time_of_day(hour, minute)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    const ROME: Zone = Zone::Europe__Rome;

    /// Thursday 2026-11-26, 14:30 in Rome.
    fn now() -> Timestamp {
        Timestamp::from_rfc3339("2026-11-26T14:30:00+01:00").expect("a moment")
    }

    fn said(text: &str, bare: Bare) -> String {
        read(text, now(), ROME, bare).map_or_else(|error| error, |moment| moment.rfc3339_in(ROME))
    }

    #[test]
    fn every_form_is_read() {
        for (text, moment) in [
            ("now", "2026-11-26T14:30:00+01:00"),
            ("2026-11-26T14:30:00+09:00", "2026-11-26T06:30:00+01:00"),
            ("2026-11-26T14:30:00Z", "2026-11-26T15:30:00+01:00"),
            ("2026-07-01 06:00", "2026-07-01T06:00:00+02:00"),
            ("2026-07-01T06:00", "2026-07-01T06:00:00+02:00"),
            ("2026-07-01T06:00:59", "2026-07-01T06:00:00+02:00"),
            (" 9:05 ", "2026-11-26T09:05:00+01:00"),
            ("23:10", "2026-11-26T23:10:00+01:00"),
            ("tomorrow 06:00", "2026-11-27T06:00:00+01:00"),
            ("yesterday 06:00", "2026-11-25T06:00:00+01:00"),
            ("Fri 06:00", "2026-11-27T06:00:00+01:00"),
            ("thursday 06:00", "2026-11-26T06:00:00+01:00"),
            ("Tue 06:00", "2026-12-01T06:00:00+01:00"),
        ] {
            assert_eq!(said(text, Bare::Today), moment, "{text}");
        }
    }

    #[test]
    fn a_boundary_lies_ahead() {
        for (text, moment) in [
            ("23:10", "2026-11-26T23:10:00+01:00"),
            ("06:00", "2026-11-27T06:00:00+01:00"),
            ("14:30", "2026-11-27T14:30:00+01:00"),
            ("Thu 06:00", "2026-12-03T06:00:00+01:00"),
            ("Thu 23:00", "2026-11-26T23:00:00+01:00"),
        ] {
            assert_eq!(said(text, Bare::Next), moment, "{text}");
        }
    }

    #[test]
    fn what_is_no_time_is_said_with_what_to_write() {
        for text in [
            "",
            "noon",
            "25:00",
            "12:60",
            "1:2:3:4",
            "+1:00",
            "2026-02-30 06:00",
            "Thx 06:00",
            "Thumb 06:00",
            "é 06:00",
            "12",
            "::",
            "2026-11-26T",
            "T",
            "ééé 06:00",
        ] {
            let refused = said(text, Bare::Next);
            assert!(
                refused.contains("is not a time; write 14:30"),
                "{text}: {refused}"
            );
        }
    }
}
