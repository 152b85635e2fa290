//! Times typed that need not have passed: `--now` and `--until`, when a step will be over, until when a cook is away.
//!
//! When something *happened* is read by [`typed_time`](super::typed_time()), which only looks back.

use crate::time::{
    Date, Datelike, Local, TimeOfDay, Timestamp, Zone, day_after, time_of_day, weekday_name,
};

/// What a time of day without a day means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bare {
    /// That time today.
    Today,
    /// The next time the clock shows it.
    Next,
}

/// Returns the moment a text names, on the clock of `zone`, or what to write instead.
///
/// Read are: `now`; RFC 3339; `2026-11-26 14:30`; `14:30`; `today`, `yesterday`, `tomorrow` or a weekday (the
/// next one, today included where `bare` allows) with a time. Of a time that the clock shows twice, the first showing
/// is meant, or with [`Bare::Next`] the first that is to come.
pub fn typed_moment(
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
    let on = |date: Date, time: TimeOfDay| {
        let local = Local { date, time };
        let first = Timestamp::from_local(local, zone);
        if bare == Bare::Today || now < first {
            return first;
        }
        let second = second_showing(local, first, zone);
        second.filter(|&moment| now < moment).unwrap_or(first)
    };
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

/// Returns when the clock shows a time again that it showed first at `first`, where it does: clocks go back by an hour, or
/// by half an hour (`Australia/Lord_Howe`).
pub(super) fn second_showing(local: Local, first: Timestamp, zone: Zone) -> Option<Timestamp> {
    [3600, 1800]
        .into_iter()
        .map(|seconds| Timestamp(first.0 + seconds))
        .find(|moment| moment.local(zone) == local)
}

/// Returns the moment a cook means who says when something will be over: `20 min` or `1h30` from now on, or a
/// moment as [`typed_moment`] reads it, the next such.
pub fn typed_end(text: &str, now: Timestamp, zone: Zone) -> Result<Timestamp, String> {
    let lower = text.trim().to_lowercase();
    let length = lower.strip_prefix("in ").unwrap_or(&lower);
    let length = length.strip_suffix(" more").unwrap_or(length);
    if let Some(minutes) = minutes(length.trim()) {
        if !(1..=60 * 24 * 30).contains(&minutes) {
            return Err(format!(
                "\"{lower}\" is not a length of time that a step takes"
            ));
        }
        return Ok(Timestamp(now.0 + 60 * minutes));
    }
    let end = typed_moment(text, now, zone, Bare::Next).map_err(|_| {
        format!(
            "\"{}\" is not an end; write 20 min, 1h30, 16:40 or \"Fri 06:00\"",
            text.trim()
        )
    })?;
    if end <= now {
        return Err(format!(
            "\"{}\" has passed; give a time that is to come",
            text.trim()
        ));
    }
    Ok(end)
}

/// Returns the stretch of time a cook means: `now`, `14:00 to 20:00`, `now until Sat 08:00`, `Fri 14:00..20:00`. The end
/// may be left open; it is the next such moment after the beginning.
pub fn typed_stretch(
    text: &str,
    now: Timestamp,
    zone: Zone,
) -> Result<(Timestamp, Option<Timestamp>), String> {
    let unread = |text: &str| {
        format!(
            "\"{}\" is not a stretch of time; write now, 14:00 to 20:00, or now until \"Sat 08:00\"",
            text.trim()
        )
    };
    let lower = text.trim().to_lowercase();
    let parted = [" until ", " to ", ".."]
        .into_iter()
        .find_map(|word| lower.split_once(word));
    let (from, until) = match parted {
        Some((from, until)) => (from, Some(until)),
        None => match lower.strip_prefix("until ") {
            Some(until) => ("now", Some(until)),
            None => (lower.as_str(), None),
        },
    };
    let from = match from.trim() {
        "" => return Err(unread(text)),
        from => typed_moment(from, now, zone, Bare::Today).map_err(|_| unread(text))?,
    };
    let until = until.map(|until| typed_moment(until, from, zone, Bare::Next));
    let until = until.transpose().map_err(|_| unread(text))?;
    if until.is_some_and(|until| until <= from) {
        return Err(format!("\"{}\" ends before it begins", text.trim()));
    }
    Ok((from, until))
}

/// Returns the minutes of a length as a cook writes it: `20`, `20 min`, `1h`, `1h30`.
fn minutes(text: &str) -> Option<i64> {
    let text = text.strip_prefix('+').unwrap_or(text);
    let number = |text: &str| -> Option<i64> {
        let text = text.trim();
        let digits = (1..=5).contains(&text.len()) && text.bytes().all(|it| it.is_ascii_digit());
        digits.then(|| text.parse().ok()).flatten()
    };
    let bare = text
        .strip_suffix("min")
        .or_else(|| text.strip_suffix("minutes"))
        .or_else(|| text.strip_suffix('m'))
        .unwrap_or(text);
    match bare.split_once('h') {
        Some((hours, "")) => number(hours).map(|hours| hours * 60),
        Some((hours, rest)) => Some(number(hours)? * 60 + number(rest)?),
        None => number(bare),
    }
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
        typed_moment(text, now(), ROME, bare)
            .map_or_else(|error| error, |moment| moment.rfc3339_in(ROME))
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
    fn when_something_will_be_over() {
        let said = |text: &str| {
            typed_end(text, now(), ROME).map_or_else(|error| error, |end| end.rfc3339_in(ROME))
        };
        for (text, moment) in [
            ("20", "2026-11-26T14:50:00+01:00"),
            ("20 min", "2026-11-26T14:50:00+01:00"),
            ("in 20 min", "2026-11-26T14:50:00+01:00"),
            ("20 min more", "2026-11-26T14:50:00+01:00"),
            ("1h30", "2026-11-26T16:00:00+01:00"),
            ("1h 30 min", "2026-11-26T16:00:00+01:00"),
            ("2h", "2026-11-26T16:30:00+01:00"),
            ("16:40", "2026-11-26T16:40:00+01:00"),
            ("06:00", "2026-11-27T06:00:00+01:00"),
        ] {
            assert_eq!(said(text), moment, "{text}");
        }
        for text in [
            "",
            "0",
            "soon",
            "-20",
            "99999h",
            "1h30x",
            "2020-01-01 10:00",
            "now",
        ] {
            let fault = said(text);
            assert!(!fault.starts_with("20"), "{text}: {fault}");
        }
    }

    #[test]
    fn a_stretch_of_time() {
        let said = |text: &str| {
            typed_stretch(text, now(), ROME).map_or_else(
                |error| error,
                |(from, until)| {
                    let until =
                        until.map_or("open".to_owned(), |until| until.local(ROME).weekday_clock());
                    format!("{} {until}", from.local(ROME).weekday_clock())
                },
            )
        };
        for (text, stretch) in [
            ("now", "Thu 14:30 open"),
            ("until 18:00", "Thu 14:30 Thu 18:00"),
            ("now until Sat 08:00", "Thu 14:30 Sat 08:00"),
            ("14:00 to 20:00", "Thu 14:00 Thu 20:00"),
            ("Fri 14:00..20:00", "Fri 14:00 Fri 20:00"),
            ("Fri 22:00 to 02:00", "Fri 22:00 Sat 02:00"),
        ] {
            assert_eq!(said(text), stretch, "{text}");
        }
        for text in ["", "to", " to 20:00", "now to", "tonight"] {
            assert!(
                said(text).contains("is not a stretch"),
                "{text}: {}",
                said(text)
            );
        }
    }

    #[test]
    fn of_a_time_shown_twice_the_next_is_meant() {
        // In Rome the clocks show 02:00 to 03:00 twice on Sunday, 2026-10-25 (tz database).
        let at = |text: &str| Timestamp::from_rfc3339(text).expect("a moment");
        let summer = at("2026-10-25T02:10:00+02:00");
        let winter = at("2026-10-25T02:10:00+01:00");
        for (text, now, moment) in [
            ("02:40", summer, "2026-10-25T02:40:00+02:00"),
            ("02:05", summer, "2026-10-25T02:05:00+01:00"),
            ("02:40", winter, "2026-10-25T02:40:00+01:00"),
            ("Sun 02:40", winter, "2026-10-25T02:40:00+01:00"),
            ("02:05", winter, "2026-10-26T02:05:00+01:00"),
        ] {
            let said = typed_moment(text, now, ROME, Bare::Next);
            assert_eq!(said, Ok(at(moment)), "{text}");
        }
        for text in ["02:40", "today 02:40", "2026-10-25 02:40"] {
            assert_eq!(
                typed_end(text, winter, ROME),
                Ok(at("2026-10-25T02:40:00+01:00")),
                "{text}"
            );
        }
        let stretch = typed_stretch("until 02:40", winter, ROME);
        assert_eq!(stretch, Ok((winter, Some(at("2026-10-25T02:40:00+01:00")))));
        // Where the clock went back by half an hour, likewise.
        let island = Zone::Australia__Lord_Howe;
        let second = at("2026-04-05T01:35:00+10:30");
        assert_eq!(
            typed_end("01:50", second, island),
            Ok(at("2026-04-05T01:50:00+10:30"))
        );
        // What is still to come both times is meant the first time.
        let before = at("2026-10-24T20:00:00+02:00");
        assert_eq!(
            typed_moment("tomorrow 02:40", before, ROME, Bare::Today),
            Ok(at("2026-10-25T02:40:00+02:00"))
        );
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
