//! The reading a cook types: "62 C", "1.8 l to 1.2 l", "640 g at 14:05", "passed".
//!
//! The order is the one it is said in: what the instrument shows, what it is on its way to, what surrounds it, and
//! when it was read. The screen and the command line read it with this one function. Fahrenheit, and measures that
//! are not metric, are read and turned into metric whole units here, because an entry of the book must mean the
//! same whatever the menu says later; a pint is refused, because it does not say whose.

use super::typed_time;
use crate::book::{Goal, Reading};
use crate::time::{Timestamp, Zone};

/// A reading as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TypedReading {
    /// What was measured.
    pub reading: Reading,
    /// What it is on its way to.
    pub goal: Option<Goal>,
    /// When.
    pub at: Timestamp,
}

const HOW: &str = "write 62 C, 144 F, 1.8 l, 640 g, passed or not passed; behind it, where you like, what it is on \
                   its way to (to 5 C), what surrounds it (in 3 C) and when it was read (at 14:05)";

/// Returns the reading a cook means, or what to write instead.
pub fn typed_reading(text: &str, now: Timestamp, zone: Zone) -> Result<TypedReading, String> {
    let said = text.trim();
    if said.is_empty() {
        return Err(format!("nothing read; {HOW}"));
    }
    let lower = said.to_lowercase();
    let (rest, at) = part(&lower, "at");
    let at = match at {
        Some(time) => typed_time(time, now, zone)?,
        None => now,
    };
    let (rest, around) = part(rest, "in");
    let (rest, to) = part(rest, "to");
    let reading = reading(rest)?;
    let around = match around.map(self::reading).transpose()? {
        None => None,
        Some(Reading::Temperature(tenths)) => Some(tenths),
        Some(_) => return Err(format!("what surrounds it is a temperature; {HOW}")),
    };
    let goal = match to.map(self::reading).transpose()? {
        None if around.is_some() => {
            return Err("say what it is on its way to as well: 62 C to 5 C in 3 C".to_owned());
        }
        None => None,
        Some(Reading::Test(_)) => return Err(format!("a test has no goal; {HOW}")),
        Some(goal) if std::mem::discriminant(&goal) != std::mem::discriminant(&reading) => {
            return Err("what it shows and what it is on its way to are not of a kind".to_owned());
        }
        Some(goal) => Some(Goal {
            reading: goal,
            around,
        }),
    };
    Ok(TypedReading { reading, goal, at })
}

/// Returns a goal a cook or a card names by itself: "5 C", "1.2 l in 3 C".
pub fn typed_goal(text: &str) -> Result<Goal, String> {
    let lower = text.trim().to_lowercase();
    let (rest, around) = part(&lower, "in");
    let around = match around.map(reading).transpose()? {
        None => None,
        Some(Reading::Temperature(tenths)) => Some(tenths),
        Some(_) => return Err(format!("what surrounds it is a temperature; {HOW}")),
    };
    match reading(rest)? {
        Reading::Test(_) => Err(format!("a test has no goal; {HOW}")),
        reading => Ok(Goal { reading, around }),
    }
}

/// Splits what stands behind a word off its text.
fn part<'a>(text: &'a str, word: &str) -> (&'a str, Option<&'a str>) {
    let spaced = format!(" {word} ");
    match text.rfind(&spaced) {
        Some(at) => (
            text[..at].trim_end(),
            Some(text[at + spaced.len()..].trim()),
        ),
        None => (text, None),
    }
}

fn reading(text: &str) -> Result<Reading, String> {
    match text.trim() {
        "passed" | "pass" | "yes" => return Ok(Reading::Test(true)),
        "not passed" | "failed" | "fail" | "no" | "not yet" => return Ok(Reading::Test(false)),
        _ => {}
    }
    let unread = || format!("\"{}\" is no reading; {HOW}", text.trim());
    let text = text.trim().replace(['−', '–'], "-");
    let digits = text
        .find(|letter: char| !(letter.is_ascii_digit() || matches!(letter, '.' | ',' | '-')))
        .unwrap_or(text.len());
    let (number, unit) = text.split_at(digits);
    // A thousand's comma would be read as a decimal one; nobody writes a thousand without it on a label.
    let number: f64 = number.replace(',', ".").parse().map_err(|_| unread())?;
    let whole = |value: f64, most: f64, what: &str| {
        let rounded = value.round();
        // Also refuses what is no number.
        if rounded.abs() <= most {
            Ok(rounded)
        } else {
            Err(format!("{what} is beyond any kitchen; check the unit"))
        }
    };
    let temperature = |celsius: f64| {
        whole(celsius * 10.0, 5000.0, "this temperature").map(|it| Reading::Temperature(it as i32))
    };
    let volume = |millilitres: f64| {
        let millilitres = whole(millilitres, 10_000_000.0, "this volume")?;
        if millilitres < 0.0 {
            Err(unread())
        } else {
            Ok(Reading::Volume(millilitres as i64))
        }
    };
    let weight = |grams: f64| {
        let grams = whole(grams, 10_000_000.0, "this weight")?;
        if grams < 0.0 {
            Err(unread())
        } else {
            Ok(Reading::Weight(grams as i64))
        }
    };
    match unit.trim() {
        "c" | "°c" | "° c" | "°" | "degrees" => temperature(number),
        "f" | "°f" | "° f" => temperature((number - 32.0) / 1.8),
        "ml" => volume(number),
        "cl" => volume(number * 10.0),
        "dl" => volume(number * 100.0),
        "l" | "litre" | "litres" | "liter" | "liters" => volume(number * 1000.0),
        "g" => weight(number),
        "kg" => weight(number * 1000.0),
        // International avoirdupois: 1 lb = 453.59237 g exactly.
        "oz" => weight(number * 28.349_523_125),
        "lb" => weight(number * 453.592_37),
        "pt" | "pint" | "pints" | "cup" | "cups" | "gal" | "qt" => Err(format!(
            "\"{}\" is not the same everywhere; write millilitres or litres",
            unit.trim()
        )),
        _ => Err(unread()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prep::{goal_words, reading_words};

    fn said(text: &str) -> String {
        let now = Timestamp::from_rfc3339("2026-11-26T14:30:00Z").expect("a moment");
        match typed_reading(text, now, Zone::UTC) {
            Ok(typed) => {
                let goal = typed
                    .goal
                    .map_or_else(String::new, |goal| format!(" → {}", goal_words(goal)));
                format!(
                    "{}{goal} {}",
                    reading_words(typed.reading),
                    typed.at.local(Zone::UTC).clock()
                )
            }
            Err(fault) => fault,
        }
    }

    #[test]
    fn what_a_cook_types_is_read() {
        for (text, read) in [
            ("62 C", "62 °C 14:30"),
            ("62.5c to 5c in 3c at 14:05", "62.5 °C → 5 °C in 3 °C 14:05"),
            ("144 F", "62.2 °C 14:30"),
            ("-18 °C", "−18 °C 14:30"),
            ("−18 C", "−18 °C 14:30"),
            ("1,8 l to 12 dl", "1.8 l → 1.2 l 14:30"),
            ("640 g at -10", "640 g 14:20"),
            ("2 lb", "907 g 14:30"),
            ("passed", "test passed 14:30"),
            ("Not passed at 14:00", "test not passed 14:00"),
        ] {
            assert_eq!(said(text), read, "{text}");
        }
    }

    #[test]
    fn what_is_no_reading_is_said_with_what_to_write() {
        for text in [
            "",
            "warm",
            "62",
            "62 C to",
            "to 5 C",
            "--3 C",
            "1.2.3 C",
            "-2 l",
            "é",
            "62 C at noon",
        ] {
            let said = said(text);
            assert!(
                said.contains("write ") || said.contains("give "),
                "{text}: {said}"
            );
        }
        assert!(said("1 pint").contains("not the same everywhere"));
        assert!(said("62 C to 1 l").contains("not of a kind"));
        assert!(said("62 C in 3 C").contains("on its way to"));
        assert!(said("1e9 l").contains("is no reading"));
        assert!(said("999999999 l").contains("beyond any kitchen"));
    }

    #[test]
    fn a_fahrenheit_reading_is_the_celsius_the_food_code_prints_beside_it() {
        // FDA Food Code §3-501.14 prints 135 °F as 57 °C and 41 °F as 5 °C, rounded.
        assert!(said("135 F").starts_with("57.2 °C"));
        assert!(said("41 F").starts_with("5 °C"));
    }
}
