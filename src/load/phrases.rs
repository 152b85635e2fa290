//! The cook's phrases → values: "6h..7h", "put on 5 min, look 2 min every 30 min", "14:00 1 day before".
//!
//! Case and the number of blanks do not matter. [`crate::menu::words`] says the same values back.

use super::syntax::quoted;
use crate::menu::words::{FRACTIONS, ORDINALS};
use crate::menu::{
    ClockWait, Days, Gap, GapLeast, Hands, Look, Moment, Service, ServiceDay, Span, StepTime,
    Touch, Work,
};
use crate::time::{Date, Minutes, TimeOfDay, Timelike, Weekday, Zone, time_of_day};

/// The longest wait a menu may ask for, in seconds: 60 days. Nothing on a banquet is older, and sums of many
/// such waits still fit whole minutes.
const LONGEST: i64 = 60 * 86_400;

/// Why a phrase means nothing, and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Trouble {
    /// What is wrong.
    pub(super) what: String,
    /// What to write instead.
    pub(super) instead: String,
}

impl Trouble {
    /// Returns a trouble of these words.
    pub(super) fn new(what: impl Into<String>, instead: impl Into<String>) -> Self {
        Self {
            what: what.into(),
            instead: instead.into(),
        }
    }
}

type Meant<T> = Result<T, Trouble>;

/// Returns a phrase in small letters, with single blanks, and with plain minus signs and dots for ranges.
fn tidy(text: &str) -> String {
    let words: Vec<_> = text.split_whitespace().collect();
    words
        .join(" ")
        .to_lowercase()
        .replace('−', "-")
        .replace('…', "..")
}

/// Reads the number a text begins with: `12`, `1.5`, `½`, `1½`, `1 1/2`. Returns it and the rest.
pub(super) fn leading_number(text: &str) -> Option<(f64, &str)> {
    let glyph = |text: &str| {
        let first = text.chars().next()?;
        let &(_, part) = FRACTIONS.iter().find(|&&(glyph, _)| glyph == first)?;
        Some((part, first.len_utf8()))
    };
    if let Some((part, length)) = glyph(text) {
        return Some((part, &text[length..]));
    }
    let whole_length = digits(text);
    let after = &text[whole_length..];
    if let Some(decimals) = after
        .strip_prefix('.')
        .map(digits)
        .filter(|&count| count > 0)
    {
        let length = whole_length + 1 + decimals;
        let number: f64 = text[..length].parse().ok()?;
        return Some((number, &text[length..]));
    }
    if whole_length == 0 {
        return None;
    }
    let whole: f64 = text[..whole_length].parse().ok()?;
    if let Some(below) = after.strip_prefix('/') {
        let length = digits(below);
        let divisor: f64 = below[..length].parse().ok()?;
        return (divisor > 0.0).then(|| (whole / divisor, &below[length..]));
    }
    let next = after.strip_prefix(' ').unwrap_or(after);
    if let Some((part, length)) = glyph(next) {
        return Some((whole + part, &next[length..]));
    }
    let above = digits(next);
    if above > 0 && next.len() < after.len() && next[above..].starts_with('/') {
        let (part, rest) = leading_number(next)?;
        return Some((whole + part, rest));
    }
    Some((whole, after))
}

fn digits(text: &str) -> usize {
    text.bytes().take_while(u8::is_ascii_digit).count()
}

/// Returns the seconds a tidy phrase means: "1h30", "2 days", "40 s", "half an hour".
fn plain_seconds(text: &str) -> Option<f64> {
    match text {
        "half an hour" => return Some(1800.0),
        "a quarter of an hour" => return Some(900.0),
        "an hour" => return Some(3600.0),
        "a day" => return Some(86_400.0),
        "half a day" => return Some(43_200.0),
        _ => {}
    }
    let mut total = 0.0;
    let mut finer_than = f64::INFINITY;
    let mut rest = text;
    while !rest.is_empty() {
        let (number, after) = leading_number(rest)?;
        let after = after.trim_start();
        let length = after
            .find(|c: char| !c.is_alphabetic())
            .unwrap_or(after.len());
        let unit = match &after[..length] {
            "week" | "weeks" => 604_800.0,
            "d" | "day" | "days" => 86_400.0,
            "h" | "hr" | "hrs" | "hour" | "hours" => 3600.0,
            "m" | "min" | "mins" | "minute" | "minutes" => 60.0,
            "s" | "sec" | "secs" | "second" | "seconds" => 1.0,
            // "1h30": a bare number behind hours is minutes.
            "" if finer_than.to_bits() == 3600_f64.to_bits() && number < 60.0 => 60.0,
            _ => return None,
        };
        if unit >= finer_than {
            return None;
        }
        finer_than = unit;
        total += number * unit;
        rest = after[length..].trim_start();
        rest = rest.strip_prefix("and ").unwrap_or(rest);
    }
    (finer_than < f64::INFINITY).then_some(total)
}

/// Returns a length of work in whole seconds.
fn work_seconds(text: &str) -> Meant<i64> {
    let text = text.trim();
    let instead = "\"90 min\", \"1h30\", \"6h\" or \"2 days\"";
    let seconds = plain_seconds(text).ok_or_else(|| {
        let what = if text.is_empty() {
            "a length of time is missing".to_owned()
        } else {
            format!("{} is not a length of time", quoted(text))
        };
        Trouble::new(what, instead)
    })?;
    let whole = seconds.round();
    if (seconds - whole).abs() > 1e-6 {
        return Err(Trouble::new(
            format!("{} is not a whole number of seconds", quoted(text)),
            instead,
        ));
    }
    if whole > LONGEST as f64 {
        return Err(Trouble::new(
            format!("{} is longer than 60 days", quoted(text)),
            "at most \"60 days\"",
        ));
    }
    Ok(whole as i64)
}

/// Returns a length of time in whole minutes.
pub(super) fn duration(text: &str) -> Meant<Minutes> {
    let seconds = work_seconds(&tidy(text))?;
    if seconds % 60 != 0 {
        return Err(Trouble::new(
            format!("{} is not a whole number of minutes", quoted(text)),
            format!("\"{}\"", Minutes::from_seconds_rounded_up(seconds)),
        ));
    }
    Ok(Minutes((seconds / 60) as i32))
}

fn positive(text: &str) -> Meant<Minutes> {
    let length = duration(text)?;
    if length == Minutes::ZERO {
        return Err(Trouble::new("no time at all", "\"5 min\", or leave it out"));
    }
    Ok(length)
}

/// Returns how long a step takes.
pub(super) fn step_time(text: &str) -> Meant<StepTime> {
    let text = tidy(text);
    if let Some(wait) = clock_wait(&text)? {
        return Ok(wait);
    }
    let mut work = Work {
        usual: Some(0),
        ..Work::default()
    };
    let mut fixed = false;
    for part in text.split('+').map(str::trim) {
        if let Some((length, of)) = growth(part) {
            let seconds = work_seconds(length)?;
            let grows = match of {
                'p' => &mut work.per_piece,
                'b' => &mut work.per_batch,
                _ => &mut work.per_litre,
            };
            if *grows != 0 {
                return Err(Trouble::new(
                    format!("{} is said twice", quoted(part)),
                    "add the two up",
                ));
            }
            *grows = seconds;
            continue;
        }
        if fixed {
            return Err(Trouble::new(
                format!("{} is a second length of time", quoted(part)),
                "\"10 min + 40 s a piece\": behind + stands what grows, a piece, a batch or a litre",
            ));
        }
        fixed = true;
        let lengths = part.split("..").map(work_seconds);
        let lengths = lengths.collect::<Meant<Vec<_>>>()?;
        if !lengths.is_sorted() {
            return Err(Trouble::new(
                format!(
                    "{} does not rise from the shortest to the longest",
                    quoted(part)
                ),
                "\"20 min..25 min..40 min\": shortest, usual, longest",
            ));
        }
        (work.shortest, work.usual, work.longest) = match lengths[..] {
            [only] => (only, Some(only), only),
            [shortest, longest] => (shortest, None, longest),
            [shortest, usual, longest] => (shortest, Some(usual), longest),
            _ => {
                return Err(Trouble::new(
                    format!("{} has more than three points", quoted(part)),
                    "\"20 min..25 min..40 min\": shortest, usual, longest",
                ));
            }
        };
    }
    Ok(StepTime::Elapsed(work))
}

/// Splits "40 s a piece" into the length and what it grows with.
fn growth(part: &str) -> Option<(&str, char)> {
    const OF: [(&str, char); 9] = [
        ("piece", 'p'),
        ("portion", 'p'),
        ("glass", 'p'),
        ("plate", 'p'),
        ("mould", 'p'),
        ("batch", 'b'),
        ("litre", 'l'),
        ("liter", 'l'),
        ("l", 'l'),
    ];
    let (before, of) = part.rsplit_once(' ')?;
    let &(_, kind) = OF.iter().find(|&&(word, _)| word == of)?;
    let (length, article) = before.rsplit_once(' ')?;
    matches!(article, "a" | "an" | "per" | "each").then_some((length, kind))
}

/// Returns a wait that the clock on the wall ends, when the phrase is one.
fn clock_wait(text: &str) -> Meant<Option<StepTime>> {
    let (head, tail) = match text.split_once(',') {
        Some((head, tail)) => (head.trim(), Some(tail.trim())),
        None => (text, None),
    };
    let until = if matches!(head, "overnight" | "until the kitchen opens") {
        ClockWait::KitchenOpens(1)
    } else if let Some(when) = head.strip_prefix("until ") {
        let ordinal = when
            .strip_prefix("the ")
            .and_then(|when| when.strip_suffix(" morning"));
        let mornings = ordinal.map(|ordinal| ORDINALS.iter().position(|&word| word == ordinal));
        match mornings {
            Some(Some(place)) => ClockWait::KitchenOpens(place as u32 + 1),
            Some(None) => {
                return Err(Trouble::new(
                    format!("{} is not a morning that can be waited for", quoted(when)),
                    "\"until the second morning\", up to the seventh",
                ));
            }
            None => ClockWait::TimeOfDay(time(when)?),
        }
    } else {
        return Ok(None);
    };
    let at_least = match tail {
        None => Minutes::ZERO,
        Some(tail) => match tail.strip_prefix("at least ") {
            Some(length) => duration(length)?,
            None => {
                return Err(Trouble::new(
                    format!("{} cannot stand behind {}", quoted(tail), quoted(head)),
                    format!("\"{head}, at least 8h\""),
                ));
            }
        },
    };
    Ok(Some(StepTime::Clock { until, at_least }))
}

/// Returns a gap between two steps.
pub(super) fn gap(text: &str) -> Meant<Gap> {
    let text = tidy(text);
    let (head, most) = match text.split_once(',') {
        Some((head, tail)) => match tail.trim().strip_prefix("at most ") {
            Some(length) => (head.trim(), Some(duration(length)?)),
            None => {
                return Err(Trouble::new(
                    format!("{} cannot stand behind a gap", quoted(tail.trim())),
                    format!("\"{}, at most 2 days\"", head.trim()),
                ));
            }
        },
        None => (text.as_str(), None),
    };
    let elapsed = |least, most| Gap {
        least: GapLeast::Elapsed(least),
        most,
    };
    let nights = |nights| Gap {
        least: GapLeast::Nights(nights),
        most,
    };
    if head == "overnight" {
        return Ok(nights(1));
    }
    if let Some(least) = head.strip_prefix("at least ") {
        if matches!(least, "a night" | "1 night" | "one night") {
            return Ok(nights(1));
        }
        if let Some(count) = least.strip_suffix(" nights") {
            let words = ["two", "three", "four", "five", "six", "seven"];
            let spelt = words.iter().position(|&word| word == count);
            let count = spelt
                .map(|place| place as u32 + 2)
                .or_else(|| count.parse().ok());
            return match count {
                Some(count @ 1..=60) => Ok(nights(count)),
                _ => Err(Trouble::new(
                    format!("{} is no number of nights", quoted(least)),
                    "\"at least 2 nights\"",
                )),
            };
        }
        return Ok(elapsed(duration(least)?, most));
    }
    if most.is_some() {
        return Err(Trouble::new(
            format!("\"at most\" cannot stand behind {}", quoted(head)),
            "\"8h..24h\", or \"at least 8h, at most 24h\"",
        ));
    }
    if let Some(longest) = head.strip_prefix("within ") {
        return Ok(elapsed(Minutes::ZERO, Some(duration(longest)?)));
    }
    if head == "straight on" {
        return Ok(elapsed(Minutes::ZERO, Some(Minutes::ZERO)));
    }
    if let Some((least, longest)) = head.split_once("..") {
        let (least, longest) = (duration(least)?, duration(longest)?);
        if longest < least {
            return Err(Trouble::new(
                format!("{} ends before it begins", quoted(head)),
                format!("\"{longest}..{least}\""),
            ));
        }
        return Ok(elapsed(least, Some(longest)));
    }
    Err(Trouble::new(
        format!("{} is not a gap", quoted(&text)),
        "\"straight on\", \"within 20 min\", \"at least 8h\", \"8h..24h\", \"overnight\" or \"at least 2 nights\"",
    ))
}

/// Returns whose hands a step needs.
pub(super) fn hands(text: &str) -> Meant<Hands> {
    let text = tidy(text);
    let mut hands = Hands::default();
    if text == "left alone" {
        return Ok(hands);
    }
    for clause in text.split(',').map(str::trim) {
        let (what, by) = match clause.rsplit_once(" by ") {
            Some((what, count)) => match count.parse() {
                Ok(count @ 1..=99_u32) => (what.trim(), count),
                _ => {
                    return Err(Trouble::new(
                        format!("{} is no number of hands", quoted(count)),
                        format!("\"{} by 2\"", what.trim()),
                    ));
                }
            },
            None => (clause, 1),
        };
        let touch = |length| positive(length).map(|time| Some(Touch { time, hands: by }));
        let twice = if what == "throughout" {
            std::mem::replace(&mut hands.throughout, by) != 0
        } else if what == "someone about" && by == 1 {
            std::mem::replace(&mut hands.someone_about, true)
        } else if let Some(length) = what.strip_prefix("put on ") {
            std::mem::replace(&mut hands.put_on, touch(length)?).is_some()
        } else if let Some(length) = what.strip_prefix("take off ") {
            std::mem::replace(&mut hands.take_off, touch(length)?).is_some()
        } else if let Some(length) = what.strip_prefix("each end ") {
            let on = std::mem::replace(&mut hands.put_on, touch(length)?);
            let off = std::mem::replace(&mut hands.take_off, touch(length)?);
            on.or(off).is_some()
        } else if let Some(how) = what.strip_prefix("look ") {
            hands.look.replace(look(how, by)?).is_some()
        } else if what == "left alone" {
            return Err(Trouble::new(
                "\"left alone\" stands alone",
                "\"left alone\", or what hands are needed without it",
            ));
        } else {
            return Err(Trouble::new(
                format!("{} says nothing about hands", quoted(clause)),
                "\"throughout\", \"put on 5 min\", \"take off 10 min\", \"each end 5 min\", \"look 2 min every 30 min\", \"someone about\" or \"left alone\"",
            ));
        };
        if twice {
            return Err(Trouble::new(
                format!("{} is said twice", quoted(what)),
                "say it once",
            ));
        }
    }
    Ok(hands)
}

fn look(how: &str, hands: u32) -> Meant<Look> {
    if let Some(time) = how.strip_suffix(" once a day") {
        return Ok(Look {
            every: Minutes::days(1),
            time: positive(time)?,
            hands,
        });
    }
    let Some((time, every)) = how.split_once(" every ") else {
        return Err(Trouble::new(
            format!("{} does not say how often", quoted(&format!("look {how}"))),
            "\"look 2 min every 30 min\" or \"look 5 min once a day\"",
        ));
    };
    Ok(Look {
        every: positive(if every == "hour" { "1h" } else { every })?,
        time: positive(time)?,
        hands,
    })
}

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
fn time(text: &str) -> Meant<TimeOfDay> {
    face(text)
        .and_then(|minute| time_of_day(minute / 60, minute % 60))
        .ok_or_else(|| not_a_time(text))
}

/// Returns hours of the clock face.
pub(super) fn span(text: &str) -> Meant<Span> {
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
pub(super) fn spans(text: &str) -> Meant<Vec<Span>> {
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
pub(super) fn date(text: &str) -> Meant<Date> {
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
pub(super) fn days(text: &str) -> Meant<Days> {
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
pub(super) fn moment(text: &str) -> Meant<Moment> {
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
pub(super) fn service(text: &str) -> Meant<Service> {
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
pub(super) fn course_at(text: &str, service: Option<TimeOfDay>) -> Meant<Minutes> {
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

/// Returns how far ahead an ingredient must be ordered.
pub(super) fn order_ahead(text: &str) -> Meant<Minutes> {
    let text = tidy(text);
    duration(text.strip_suffix(" ahead").unwrap_or(&text))
        .map_err(|trouble| Trouble::new(trouble.what, "\"5 days ahead\""))
}

/// Returns an oven's heat in tenths of a degree Celsius.
pub(super) fn heat(text: &str) -> Meant<i32> {
    let tidied = tidy(text);
    let trouble = || {
        Trouble::new(
            format!("{} is not an oven's heat", quoted(text)),
            "\"160 C\" or \"320 F\"",
        )
    };
    let (negative, rest) = match tidied.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, tidied.as_str()),
    };
    let (number, rest) = leading_number(rest).ok_or_else(trouble)?;
    let number = if negative { -number } else { number };
    let scale = rest.trim_start();
    let scale = scale.strip_prefix('°').unwrap_or(scale).trim();
    let celsius = match scale {
        "c" | "celsius" => number,
        "f" | "fahrenheit" => (number - 32.0) / 1.8,
        _ => return Err(trouble()),
    };
    if !(-50.0..=600.0).contains(&celsius) {
        return Err(Trouble::new(
            format!("{} is no heat an oven has", quoted(text)),
            "from \"-50 C\" to \"600 C\"",
        ));
    }
    Ok((celsius * 10.0).round() as i32)
}

/// Returns a time zone.
pub(super) fn zone(text: &str) -> Meant<Zone> {
    text.trim().parse().map_err(|_| {
        Trouble::new(
            format!("{} is not a time zone of the tz database", quoted(text)),
            "\"Europe/London\", or leave it out for this machine's own",
        )
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

    use super::*;
    use crate::menu::words;

    #[test]
    fn lengths_of_time_in_a_cooks_hand() {
        let table = [
            ("90 min", 90),
            ("90min", 90),
            ("1h30", 90),
            ("1 h 30 min", 90),
            ("1H30", 90),
            ("1.5 h", 90),
            ("1½ hours", 90),
            ("half an hour", 30),
            ("an hour", 60),
            ("1 hour and 5 minutes", 65),
            ("2 days", 2880),
            ("1 day 6h", 1800),
            ("1 day 1h05", 1505),
            ("2 days 5 min", 2885),
            ("1 week", 10_080),
            ("120 s", 2),
            ("0 min", 0),
            ("60 days", 86_400),
        ];
        for (text, minutes) in table {
            assert_eq!(duration(text), Ok(Minutes(minutes)), "{text}");
        }
        for text in [
            "",
            "min",
            "90",
            "1h90min5",
            "1h60",
            "30 min 1h",
            "1h 1h",
            "-5 min",
            "5 min later",
            "1e3 min",
            "∞ h",
            "60 days 1 min",
            "99999999999999999999 h",
            "1/0 h",
            "0.1 min",
            "90 s",
        ] {
            assert!(duration(text).is_err(), "{text}");
        }
    }

    #[test]
    fn times_of_steps_in_all_their_forms() {
        let table = [
            ("90 min", "1h30"),
            ("6h..7h", "6h..7h"),
            ("20 min..25 min..40 min", "20 min..25 min..40 min"),
            ("10 min + 40 s a piece", "10 min + 40 s a piece"),
            ("40 s a glass", "40 s a piece"),
            (
                "6 min per litre + 1h + 5 min a batch",
                "1h + 5 min a batch + 6 min a litre",
            ),
            ("Overnight", "overnight"),
            ("until the kitchen opens", "overnight"),
            ("until the first morning", "overnight"),
            ("overnight, at least 8h", "overnight, at least 8h"),
            ("until the  second morning", "until the second morning"),
            ("until 6:00, at least 3h", "until 06:00, at least 3h"),
        ];
        for (text, said) in table {
            assert_eq!(words::time(&step_time(text).unwrap()), said, "{text}");
        }
        let StepTime::Elapsed(work) = step_time("6h..7h + 40 s a piece").unwrap() else {
            panic!("elapsed");
        };
        assert_eq!(
            (work.shortest, work.usual, work.longest, work.per_piece),
            (21_600, None, 25_200, 40)
        );
    }

    #[test]
    fn gaps_and_hands_in_all_their_forms() {
        for (text, said) in [
            ("straight on", "straight on"),
            ("0 min..0 min", "straight on"),
            ("within 20 min", "within 20 min"),
            ("at least 8h", "at least 8h"),
            ("at least 8h, at most 24h", "8h..24h"),
            ("at least a night", "overnight"),
            (
                "at least two nights, at most 3 days",
                "at least 2 nights, at most 3 days",
            ),
        ] {
            assert_eq!(words::gap(&gap(text).unwrap()), said, "{text}");
        }
        for (text, said) in [
            ("throughout", "throughout"),
            ("put on 5 min, take off 5 min", "each end 5 min"),
            (
                "put on 5 min by 2, take off 10 min",
                "put on 5 min by 2, take off 10 min",
            ),
            (
                "look 1 min every hour, someone about",
                "look 1 min every 1h, someone about",
            ),
            ("Look 5 min once a day by 2", "look 5 min once a day by 2"),
            ("left alone", "left alone"),
        ] {
            assert_eq!(words::hands(&hands(text).unwrap()), said, "{text}");
        }
    }

    #[test]
    fn hours_days_and_moments_in_all_their_forms() {
        for (text, said) in [
            ("7:00..22:00", "07:00..22:00"),
            ("18:00..02:00", "18:00..02:00"),
            ("18:00..00:00", "18:00..24:00"),
            ("07:00..07:00 next day", "07:00..07:00 next day"),
        ] {
            assert_eq!(words::span(&span(text).unwrap()), said, "{text}");
        }
        for text in [
            "24:00..25:00",
            "07:00..07:00",
            "7..22",
            "22:00",
            "07:00..08:00 next day",
        ] {
            assert!(span(text).is_err(), "{text}");
        }
        for (text, said) in [
            ("Every day", "every day"),
            ("Friday, sat", "Fri, Sat"),
            ("Fri..Mon", "Fri, Sat, Sun, Mon"),
            (
                "2026-11-28..2026-11-30",
                "2026-11-28, 2026-11-29, 2026-11-30",
            ),
            (
                "the day, the day before, 2 days before",
                "the day, 1 day before, 2 days before",
            ),
        ] {
            assert_eq!(words::days(&days(text).unwrap()), said, "{text}");
        }
        for (text, said) in [
            ("06:00 on the day", "06:00 on the day"),
            ("14:00 the day before", "14:00 1 day before"),
            ("friday 14:00", "Fri 14:00"),
            ("2026-11-27 14:00", "2026-11-27 14:00"),
        ] {
            assert_eq!(words::moment(&moment(text).unwrap()), said, "{text}");
        }
    }

    #[test]
    fn services_and_courses() {
        for (text, said) in [
            ("2026-11-28 19:30", "2026-11-28 19:30"),
            ("2026-11-28 at 19:30", "2026-11-28 19:30"),
            ("in 2 days at 19:30", "in 2 days at 19:30"),
            ("in 1 day at 9:00", "in 1 day at 09:00"),
        ] {
            assert_eq!(words::service(&service(text).unwrap()), said, "{text}");
        }
        let at = |text| course_at(text, time_of_day(19, 30)).unwrap().0;
        assert_eq!(at("19:30"), 0);
        assert_eq!(at("21:00"), 90);
        assert_eq!(at("00:30 next day"), 300);
        assert_eq!(at("+1h30"), 90);
        assert_eq!(at("−30 min"), -30);
    }

    /// °F = 1.8 °C + 32, exactly.
    #[test]
    fn an_ovens_heat_in_either_scale() {
        for (text, tenths) in [
            ("160 C", 1600),
            ("160°c", 1600),
            ("320 F", 1600),
            ("162.5 °C", 1625),
            ("-40 F", -400),
            ("41 F", 50),
        ] {
            assert_eq!(heat(text), Ok(tenths), "{text}");
        }
    }
}
