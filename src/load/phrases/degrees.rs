//! Temperatures of food, how deep and how far across it stands, and how much sulphite is in it.

use super::{Meant, Trouble, celsius, leading_number, tidy, work_seconds};
use crate::load::syntax::quoted;
use crate::menu::{Across, Temperature};

/// How a temperature may be written.
const DEGREES: &str = "\"5 C\" or \"41 F\", from \"-60 C\" to \"250 C\"";

fn tenths(text: &str) -> Option<i32> {
    let celsius = celsius(text.trim())?;
    ((-60.0..=250.0).contains(&celsius)).then(|| (celsius * 10.0).round() as i32)
}

/// Returns a temperature of food or of a fridge, in tenths of a degree Celsius.
pub(in crate::load) fn degrees(text: &str) -> Meant<i32> {
    tenths(&tidy(text))
        .ok_or_else(|| Trouble::new(format!("{} is not a temperature", quoted(text)), DEGREES))
}

/// Returns what a step does to the temperature of food.
pub(in crate::load) fn temperature(text: &str) -> Meant<Temperature> {
    let tidied = tidy(text);
    let trouble = || {
        Trouble::new(
            format!(
                "{} does not say what becomes of the temperature",
                quoted(text)
            ),
            "\"held at 3 C\", \"cooked to 82 C\", \"cooled from 82 C to 5 C\" or \"reheated to 75 C for 30 s\"",
        )
    };
    if let Some(at) = tidied.strip_prefix("held at ") {
        let at = tenths(at).ok_or_else(trouble)?;
        return Ok(Temperature::Held { at });
    }
    if let Some(rest) = tidied.strip_prefix("cooled from ") {
        let (from, to) = rest.split_once(" to ").ok_or_else(trouble)?;
        let (from, to) = tenths(from).zip(tenths(to)).ok_or_else(trouble)?;
        if from <= to {
            return Err(Trouble::new(
                format!("{} does not cool", quoted(text)),
                "from the warmer to the colder: \"cooled from 82 C to 5 C\"",
            ));
        }
        return Ok(Temperature::Cooled { from, to });
    }
    let (rest, again) = match tidied.strip_prefix("cooked to ") {
        Some(rest) => (rest, false),
        None => (
            tidied.strip_prefix("reheated to ").ok_or_else(trouble)?,
            true,
        ),
    };
    let (to, lasting) = match rest.split_once(" for ") {
        Some((to, lasting)) => (to, Some(work_seconds(lasting)?)),
        None => (rest, None),
    };
    let to = tenths(to).ok_or_else(trouble)?;
    let lasting = lasting.map(|seconds| u32::try_from(seconds).unwrap_or(u32::MAX));
    Ok(if again {
        Temperature::Reheated { to, lasting }
    } else {
        Temperature::Cooked { to, lasting }
    })
}

/// Returns a breadth of the kitchen in tenths of a millimetre, from one of them to ten metres.
fn tenths_of_mm(number: f64, unit: &str) -> Option<u32> {
    let each = match unit.trim() {
        "mm" => 1.0,
        "cm" => 10.0,
        "m" => 1000.0,
        "in" | "inch" | "inches" => 25.4,
        _ => return None,
    };
    let tenths = (number * each * 10.0).round();
    ((1.0..100_000.0).contains(&tenths)).then_some(tenths as u32)
}

fn one_breadth(text: &str) -> Option<u32> {
    let (number, unit) = leading_number(text.trim())?;
    tenths_of_mm(number, unit)
}

/// Returns a breadth in tenths of a millimetre.
pub(in crate::load) fn breadth(text: &str) -> Meant<u32> {
    one_breadth(&tidy(text)).ok_or_else(|| {
        Trouble::new(
            format!("{} is not a depth", quoted(text)),
            "\"60 mm\", \"6 cm\" or \"2.5 in\", below 10 m",
        )
    })
}

/// Returns how far across food stands.
pub(in crate::load) fn across(text: &str) -> Meant<Across> {
    let tidied = tidy(text).replace('×', "x");
    let trouble = || {
        Trouble::new(
            format!("{} does not say how far across it is", quoted(text)),
            "two sides \"300 x 200 mm\", round \"240 mm\" or \"ball of 90 mm\"",
        )
    };
    if let Some(ball) = tidied.strip_prefix("ball of ") {
        return one_breadth(ball).map(Across::Ball).ok_or_else(trouble);
    }
    let Some((one, other)) = tidied.split_once('x') else {
        return one_breadth(&tidied).map(Across::Round).ok_or_else(trouble);
    };
    // "300 x 200 mm": the unit behind both is that of both.
    let (second, unit) = leading_number(other.trim()).ok_or_else(trouble)?;
    let (first, own) = leading_number(one.trim()).ok_or_else(trouble)?;
    let own = if own.trim().is_empty() { unit } else { own };
    tenths_of_mm(first, own)
        .zip(tenths_of_mm(second, unit))
        .map(|(first, second)| Across::Sides(first, second))
        .ok_or_else(trouble)
}

/// Returns milligrams in a kilogram or a litre.
pub(in crate::load) fn milligrams(text: &str) -> Meant<u32> {
    let tidied = tidy(text);
    let number = tidied
        .strip_suffix("mg/kg")
        .or_else(|| tidied.strip_suffix("mg/l"))
        .or_else(|| tidied.strip_suffix("ppm"));
    number
        .and_then(|number| number.trim().parse().ok())
        .filter(|&number| number <= 1_000_000)
        .ok_or_else(|| {
            Trouble::new(
                format!("{} is not an amount of sulphites", quoted(text)),
                "a whole number of \"8 mg/kg\" or \"8 mg/l\"",
            )
        })
}
