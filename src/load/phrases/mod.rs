//! The cook's phrases → values: "6h..7h", "put on 5 min, look 2 min every 30 min", "14:00 1 day before".
//!
//! Case and the number of blanks do not matter. [`crate::menu::words`] says the same values back.
//! Lengths of time and numbers stand here, [`work`] has times of steps, gaps and hands, and [`calendar`] has
//! clocks, days and moments.

mod calendar;
mod degrees;
mod goods;
mod oven;
#[cfg(test)]
mod tests;
mod work;

use super::syntax::quoted;
use super::units;
use crate::menu::words::FRACTIONS;
use crate::menu::{Amount, Goal, Unit};
use crate::time::{Minutes, Zone};

pub(super) use calendar::{course_at, date, days, moment, service, span, spans, time_of_day};
pub(super) use degrees::{across, breadth, degrees, milligrams, temperature};
pub(super) use goods::{ahead, altitude, density, loss, price, strength, sugar};
pub(super) use oven::heat;
pub(super) use work::{gap, hands, step_time};

/// The longest wait a menu may ask for, in seconds: 60 days. Nothing on a banquet is older, and sums of many
/// such waits still fit whole minutes.
const LONGEST: i64 = 60 * 86_400;

/// How a length of time may be written.
const LENGTHS: &str = "\"90 min\", \"1h30\", \"6h\" or \"2 days\"";

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
    let instead = LENGTHS;
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

/// Returns how far ahead an ingredient must be ordered.
pub(super) fn order_ahead(text: &str) -> Meant<Minutes> {
    let text = tidy(text);
    duration(text.strip_suffix(" ahead").unwrap_or(&text))
        .map_err(|trouble| Trouble::new(trouble.what, "\"5 days ahead\""))
}

/// Returns the degrees Celsius of a tidy phrase: "160 C", "-18 °C", "41 F".
fn celsius(tidied: &str) -> Option<f64> {
    let (negative, rest) = match tidied.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, tidied),
    };
    let (number, rest) = leading_number(rest)?;
    let number = if negative { -number } else { number };
    let scale = rest.trim_start();
    let scale = scale.strip_prefix('°').unwrap_or(scale).trim();
    match scale {
        "c" | "celsius" => Some(number),
        "f" | "fahrenheit" => Some((number - 32.0) / 1.8),
        _ => None,
    }
}

/// Returns the reading that ends a step.
pub(super) fn goal(text: &str) -> Meant<Goal> {
    let tidied = tidy(text);
    let unread = || {
        Trouble::new(
            format!("{} is no reading that ends a step", quoted(text)),
            "\"5 C\", \"5 C in 3 C\", \"1.2 l\" or \"640 g\"",
        )
    };
    let (to, around) = match tidied.split_once(" in ") {
        Some((to, around)) => (to.trim(), Some(heat(around.trim()).map_err(|_| unread())?)),
        None => (tidied.as_str(), None),
    };
    if let Ok(tenths) = heat(to) {
        return Ok(Goal::Heat { tenths, around });
    }
    if around.is_some() {
        return Err(unread());
    }
    let whole = |number: f64| number.round() as i64;
    if let Ok(millilitres) = units::volume(to) {
        return Ok(Goal::Volume(whole(millilitres)));
    }
    match units::amount(to, None).map_err(|_| unread())? {
        Amount::Measured {
            number,
            unit: Unit::Gram,
        } => Ok(Goal::Weight(whole(number))),
        Amount::Measured {
            number,
            unit: Unit::Kilogram,
        } => Ok(Goal::Weight(whole(number * 1000.0))),
        _ => Err(unread()),
    }
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
