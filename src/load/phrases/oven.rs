//! Heats of ovens: degrees, gas marks, and the words of old methods.
//!
//! A word that names one heat is taken at it; one that names a range is refused with the range, because which end of it is
//! meant the method knows and nobody else. The words are those of a chart of NSW Health (Australia), which has them in both
//! scales. Gas marks (from memory): 1 is 275 °F, each more 25 °F more, ½ is 250 and ¼ is 225; in Celsius to the ten
//! degrees that an oven's dial shows, as that chart has them.
//!
//! Left out on purpose: what to take off in an oven with a fan (about 20 degrees, by the same chart). The heat on a card is
//! the one the oven is set to.

use super::{Meant, Trouble, celsius, tidy};
use crate::load::syntax::quoted;

/// Words for heats, from and to, in °C.
const WORDS: [(&str, i32, i32); 7] = [
    ("very slow", 120, 120),
    ("slow", 140, 150),
    ("moderately slow", 160, 160),
    ("moderate", 180, 180),
    ("moderately hot", 190, 190),
    ("hot", 200, 230),
    ("very hot", 250, 260),
];

const INSTEAD: &str = "\"160 C\", \"320 F\", \"gas 4\" or \"moderate oven\"";

/// Returns an oven's heat in tenths of a degree Celsius.
pub(in crate::load) fn heat(text: &str) -> Meant<i32> {
    let tidied = tidy(text);
    if let Some(tenths) = gas(&tidied) {
        return Ok(tenths);
    }
    let word = tidied.strip_suffix(" oven").unwrap_or(&tidied);
    if let Some(&(_, from, to)) = WORDS.iter().find(|(known, ..)| *known == word) {
        if from == to {
            return Ok(from * 10);
        }
        return Err(Trouble::new(
            format!("{} is anything from {from} to {to} C", quoted(text)),
            format!("the heat you mean: \"{from} C\""),
        ));
    }
    let celsius = celsius(&tidied)
        .ok_or_else(|| Trouble::new(format!("{} is not an oven's heat", quoted(text)), INSTEAD))?;
    if !(-50.0..=600.0).contains(&celsius) {
        return Err(Trouble::new(
            format!("{} is no heat an oven has", quoted(text)),
            "from \"-50 C\" to \"600 C\"",
        ));
    }
    Ok((celsius * 10.0).round() as i32)
}

/// Returns the heat of a gas mark, in tenths of a degree Celsius: "gas 4", "gas mark ½".
fn gas(tidied: &str) -> Option<i32> {
    let rest = tidied.strip_prefix("gas")?.trim();
    let mark = rest.strip_prefix("mark").unwrap_or(rest).trim();
    let fahrenheit = match mark {
        "¼" | "1/4" => 225,
        "½" | "1/2" => 250,
        _ => match mark.parse::<i32>() {
            Ok(mark @ 1..=10) => 275 + 25 * (mark - 1),
            _ => return None,
        },
    };
    let tens = (f64::from(fahrenheit - 32) / 18.0).round() as i32;
    Some(tens * 100)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

    use super::*;

    /// NSW Health, conversion chart: the words in both scales. Gas marks from memory; that mark and degrees of the chart go
    /// together is the check.
    #[test]
    fn words_and_gas_marks_as_the_chart_has_them() {
        let of = |text: &str| heat(text).map(|tenths| tenths / 10).unwrap();
        let chart = [
            ("very slow", 250, 120, "gas ½"),
            ("moderately slow", 325, 160, "gas mark 3"),
            ("moderate", 350, 180, "Gas 4"),
            ("moderately hot", 375, 190, "gas 5"),
        ];
        for (word, fahrenheit, celsius, mark) in chart {
            assert_eq!(of(word), celsius, "{word}");
            assert_eq!(of(&format!("{word} oven")), celsius);
            assert_eq!(of(mark), celsius, "{mark}");
            // The chart's own pairs agree with the scales to the ten degrees of a dial.
            let exact = f64::from(fahrenheit - 32) / 1.8;
            assert!((exact - f64::from(celsius)).abs() < 5.0, "{word}: {exact}");
        }
        // Further pairs of the chart: 300 °F is 150 °C, 400 is 200, 450 is 230, 475 is 250.
        for (mark, celsius) in [
            ("gas 2", 150),
            ("gas 6", 200),
            ("gas 8", 230),
            ("gas 9", 250),
        ] {
            assert_eq!(of(mark), celsius, "{mark}");
        }
        assert_eq!((of("gas 1/4"), of("gas 1"), of("gas 7")), (110, 140, 220));
    }

    #[test]
    fn what_could_be_any_of_several_heats_is_not_chosen() {
        for (text, range) in [
            ("slow", "140 to 150 C"),
            ("hot oven", "200 to 230 C"),
            ("very hot", "250 to 260 C"),
        ] {
            assert!(heat(text).unwrap_err().what.contains(range), "{text}");
        }
        for text in [
            "gas", "gas 0", "gas 12", "gas mark", "gas -1", "oven", "warm", "160", "",
        ] {
            assert!(heat(text).is_err(), "{text}");
        }
    }
}
