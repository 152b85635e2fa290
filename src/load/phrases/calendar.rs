//! What the clock and the calendar say: hours, days, moments, services.

use super::{Meant, Trouble, digits, duration, tidy};
use crate::load::syntax::quoted;
use crate::menu::{Days, Moment, Service, ServiceDay, Span};
use crate::time::{Date, Minutes, TimeOfDay, Timelike, Weekday};

/// Returns the minute of the day a clock shows, up to 24:00.
fn face(text: &str) -> Option<u32> {
    let (hours, minutes) = text.trim().split_once(':')?;
    let number = |text: &str, longest: usize| {
        let fits = (1..=longest).contains(&text.len()) && digits(text) == text.len();
        fits.then(|| text.parse::<u32>().ok()).flatten()
    };
    let minute = number(minutes, 2).filter(|&minute| minute < 60 && minutes.len() == 2)?;
    let minute = 60 * number(hours, 2)? + minute;
    (minute <= 1440).then_some(minute)
}

fn not_a_time(text: &str) -> Trouble {
    Trouble::new(
        format!("{} is not a time of day", quoted(text)),
        "\"06:00\", from 00:00 to 23:59",
    )
}

/// Returns a time of day.
pub(super) fn time(text: &str) -> Meant<TimeOfDay> {
    face(text)
        .and_then(|minute| crate::time::time_of_day(minute / 60, minute % 60))
        .ok_or_else(|| not_a_time(text))
}

/// Returns a time of day by itself.
pub(in crate::load) fn time_of_day(text: &str) -> Meant<TimeOfDay> {
    time(&tidy(text))
}

/// Returns hours of the clock face.
pub(in crate::load) fn span(text: &str) -> Meant<Span> {
    let text = tidy(text);
    let Some((from, to)) = text.split_once("..") else {
        return Err(Trouble::new(
            format!("{} does not say from when to when", quoted(&text)),
            "\"07:00..22:00\"",
        ));
    };
    let (to, next_day) = match to.strip_suffix(" next day") {
        Some(to) => (to, true),
        None => (to, false),
    };
    let begin = time(from)?;
    let begin = 60 * begin.hour() + begin.minute();
    let end = face(to).ok_or_else(|| not_a_time(to))?;
    let end = if next_day || end < begin {
        end + 1440
    } else {
        end
    };
    if end == begin || end > begin + 1440 {
        return Err(Trouble::new(
            format!("{} is no stretch of a day", quoted(&text)),
            if end == begin {
                format!("\"{text} next day\" for a whole day, or a later end")
            } else {
                "a stretch of at most 24 hours".to_owned()
            },
        ));
    }
    Ok(Span {
        from: begin,
        to: end,
    })
}

/// Returns several hours, joined by commas.
pub(in crate::load) fn spans(text: &str) -> Meant<Vec<Span>> {
    text.split(',').map(span).collect()
}

/// Returns a weekday by its English name or the first three letters of it.
fn weekday(text: &str) -> Option<Weekday> {
    let names = [
        ("monday", Weekday::Mon),
        ("tuesday", Weekday::Tue),
        ("wednesday", Weekday::Wed),
        ("thursday", Weekday::Thu),
        ("friday", Weekday::Fri),
        ("saturday", Weekday::Sat),
        ("sunday", Weekday::Sun),
    ];
    let found = names
        .iter()
        .find(|(name, _)| *name == text || name[..3] == *text);
    found.map(|&(_, day)| day)
}

/// Returns a date.
pub(in crate::load) fn date(text: &str) -> Meant<Date> {
    let text = text.trim();
    let parts: Vec<_> = text.split('-').collect();
    let read = match parts[..] {
        [year, month, day]
            if year.len() == 4 && month.len() == 2 && day.len() == 2 && text.len() == 10 =>
        {
            let number = |part: &str| {
                (digits(part) == part.len())
                    .then(|| part.parse().ok())
                    .flatten()
            };
            number(year).zip(number(month)).zip(number(day))
        }
        _ => None,
    };
    let found = read.filter(|((year, _), _)| *year >= 1900);
    found
        .and_then(|((year, month), day)| Date::from_ymd_opt(year as i32, month, day))
        .ok_or_else(|| {
            Trouble::new(
                format!("{} is not a date", quoted(text)),
                "year, month and day: \"2026-11-28\"",
            )
        })
}

/// Returns "the day", "1 day before" and so on as days before service.
fn days_before(text: &str) -> Option<u32> {
    match text {
        "the day" | "on the day" => return Some(0),
        "the day before" => return Some(1),
        _ => {}
    }
    let count = text
        .strip_suffix(" days before")
        .or_else(|| text.strip_suffix(" day before"))?;
    count.parse().ok().filter(|&days| days <= 60)
}

/// Returns days.
pub(in crate::load) fn days(text: &str) -> Meant<Days> {
    let text = tidy(text);
    if text == "every day" {
        return Ok(Days::Every);
    }
    let parts: Vec<_> = text.split(',').map(str::trim).collect();
    let first = parts[0];
    let days = if days_before(first).is_some() {
        let days = parts.iter().map(|part| days_before(part).ok_or(*part));
        days.collect::<Result<_, _>>().map(Days::BeforeService)
    } else if weekday(first.split("..").next().unwrap_or_default()).is_some() {
        let days = parts.iter().map(|part| weekdays(part).ok_or(*part));
        let days: Result<Vec<_>, _> = days.collect();
        days.map(|days| Days::Weekdays(days.concat()))
    } else if first.starts_with(|c: char| c.is_ascii_digit()) {
        let mut dates = Vec::new();
        for part in &parts {
            dates.extend(date_range(part)?);
            if dates.len() > 400 {
                return Err(Trouble::new(
                    "more than 400 dates in one list",
                    "\"every day\", weekdays, or a shorter list",
                ));
            }
        }
        Ok(Days::Dates(dates))
    } else {
        Err(first)
    };
    let days = days.map_err(|part| {
        Trouble::new(
            format!("{} is not a day like the others", quoted(part)),
            "\"every day\", \"Mon, Tue\", \"Mon..Fri\", \"2026-11-28\", or \"the day, 1 day before\"",
        )
    })?;
    let twice = match &days {
        Days::Every => false,
        Days::Weekdays(days) => repeats(days),
        Days::Dates(days) => repeats(days),
        Days::BeforeService(days) => repeats(days),
    };
    if twice {
        return Err(Trouble::new(
            format!("{} names a day twice", quoted(&text)),
            "each day once",
        ));
    }
    Ok(days)
}

fn repeats<T: PartialEq>(items: &[T]) -> bool {
    // A year of dates at most comes here.
    items
        .iter()
        .enumerate()
        .any(|(place, item)| items[..place].contains(item))
}

fn weekdays(part: &str) -> Option<Vec<Weekday>> {
    let Some((first, last)) = part.split_once("..") else {
        return weekday(part).map(|day| vec![day]);
    };
    let (mut day, last) = (weekday(first.trim())?, weekday(last.trim())?);
    let mut days = vec![day];
    while day != last {
        day = day.succ();
        days.push(day);
    }
    Some(days)
}

fn date_range(part: &str) -> Meant<Vec<Date>> {
    let Some((first, last)) = part.split_once("..") else {
        return Ok(vec![date(part)?]);
    };
    let (first, last) = (date(first)?, date(last)?);
    let dates: Vec<_> = first
        .iter_days()
        .take_while(|date| *date <= last)
        .take(367)
        .collect();
    if dates.is_empty() || dates.len() > 366 {
        return Err(Trouble::new(
            format!("{} is no stretch of days", quoted(part)),
            "the first date, \"..\", and a last date within a year of it",
        ));
    }
    Ok(dates)
}

/// Returns a moment.
pub(in crate::load) fn moment(text: &str) -> Meant<Moment> {
    let text = tidy(text);
    let trouble = || {
        Trouble::new(
            format!("{} is not a moment", quoted(&text)),
            "\"06:00 on the day\", \"14:00 1 day before\", \"Fri 14:00\" or \"2026-11-27 14:00\"",
        )
    };
    let (first, rest) = text.split_once(' ').ok_or_else(trouble)?;
    if let Some(day) = weekday(first) {
        return Ok(Moment::Weekday(day, time(rest)?));
    }
    if first.contains('-') {
        return Ok(Moment::On(date(first)?, time(rest)?));
    }
    let days = days_before(rest).ok_or_else(trouble)?;
    Ok(Moment::BeforeService(days, time(first)?))
}

/// Returns when the banquet is served.
pub(in crate::load) fn service(text: &str) -> Meant<Service> {
    let text = tidy(text);
    let trouble = || {
        Trouble::new(
            format!("{} is not a date and a time", quoted(&text)),
            "\"2026-11-28 19:30\", or \"in 2 days at 19:30\"",
        )
    };
    if let Some(rest) = text.strip_prefix("in ") {
        let (days, at) = rest.split_once(" at ").ok_or_else(trouble)?;
        let count = days
            .strip_suffix(" days")
            .or_else(|| days.strip_suffix(" day"))
            .and_then(|count| count.parse().ok())
            .filter(|&days| days <= 366);
        return Ok(Service {
            day: ServiceDay::InDays(count.ok_or_else(trouble)?),
            time: time(at)?,
        });
    }
    let (day, at) = text.split_once(' ').ok_or_else(trouble)?;
    if !day.contains('-') {
        return Err(trouble());
    }
    Ok(Service {
        day: ServiceDay::On(date(day)?),
        time: time(at.strip_prefix("at ").unwrap_or(at))?,
    })
}

/// Returns how long after the service (before, when negative) a course is at the pass.
///
/// A time of day is on the day of service; it counts as clock time, so a clock change between service and
/// course is not seen here.
pub(in crate::load) fn course_at(text: &str, service: Option<TimeOfDay>) -> Meant<Minutes> {
    let text = tidy(text);
    if let Some(length) = text.strip_prefix('+') {
        return duration(length);
    }
    if let Some(length) = text.strip_prefix('-') {
        return duration(length).map(|length| -length);
    }
    let (at, days) = match text.strip_suffix(" next day") {
        Some(at) => (at, 1),
        None => (text.as_str(), 0),
    };
    let at = time(at).map_err(|_| {
        Trouble::new(
            format!("{} is not a time for a course", quoted(&text)),
            "\"21:00\", \"00:30 next day\", \"+1h30\" or \"-30 min\" from service",
        )
    })?;
    let minute = |time: TimeOfDay| (60 * time.hour() + time.minute()) as i32;
    Ok(Minutes(
        minute(at) + 1440 * days - service.map_or(0, minute),
    ))
}
