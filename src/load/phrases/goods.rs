//! What is said of goods and syrups: densities, strengths, prices, losses, sugar, heights above the sea.

use super::{Meant, Trouble, duration, leading_number, tidy};
use crate::load::syntax::quoted;
use crate::menu::words::STAGES;
use crate::menu::{Ahead, Density, Leaf, Strength, Sugar, SugarMark};
use crate::time::Minutes;

/// Returns what is done to an ingredient ahead, and how long: "soak 12h", "defrost in the cold 1 day".
pub(in crate::load) fn ahead(text: &str) -> Meant<Ahead> {
    let trouble = || {
        Trouble::new(
            format!(
                "{} does not say what is done ahead, and for how long",
                quoted(text)
            ),
            "\"soak 12h\" or \"defrost in the cold 1 day\"",
        )
    };
    let words: Vec<_> = text.split_whitespace().collect();
    let words = words.join(" ");
    // What is done has no figures in it; the length of time begins with the first.
    let at = words
        .char_indices()
        .find(|&(at, _)| leading_number(&words[at..]).is_some())
        .map(|(at, _)| at)
        .ok_or_else(trouble)?;
    let (what, length) = words.split_at(at);
    let what = what.trim();
    if !what.starts_with(char::is_alphabetic) {
        return Err(trouble());
    }
    let time = duration(length)?;
    if time == Minutes::ZERO {
        return Err(trouble());
    }
    Ok(Ahead {
        what: what.to_owned(),
        time,
    })
}

/// Returns a density with its source.
pub(in crate::load) fn density(text: &str) -> Meant<Density> {
    const INSTEAD: &str =
        "\"1.03 g/ml, the dairy's sheet\": a number of grams, a comma, and who says so";
    let trouble = |what: &str| Trouble::new(format!("{} {what}", quoted(text)), INSTEAD);
    let (number, source) = match text.split_once(',') {
        Some((number, source)) => (number.trim(), source.trim()),
        None => (text.trim(), ""),
    };
    let (grams, unit) = leading_number(number).ok_or_else(|| trouble("is not a density"))?;
    let unit = tidy(unit).replace(' ', "");
    if !matches!(unit.as_str(), "g/ml" | "kg/l" | "g/cm3" | "g/cm³") {
        return Err(trouble("is not a density in g/ml"));
    }
    // Nothing in a kitchen is lighter than whipped air or heavier than a metal.
    if !(0.01..=25.0).contains(&grams) {
        return Err(trouble("is no density of food"));
    }
    if source.is_empty() {
        return Err(trouble("does not say where it is from"));
    }
    Ok(Density {
        grams_per_millilitre: grams,
        source: source.to_owned(),
    })
}

/// Returns a strength of gelatine.
pub(in crate::load) fn strength(text: &str) -> Meant<Strength> {
    let tidied = tidy(text);
    let trouble = || {
        Trouble::new(
            format!("{} is not a strength of gelatine", quoted(text)),
            "\"200 bloom\" (from 30 to 325), or \"bronze leaf\", \"silver leaf\", \"gold leaf\" or \"platinum leaf\"",
        )
    };
    if let Some(grade) = tidied.strip_suffix(" leaf") {
        let leaf = match grade {
            "bronze" => Leaf::Bronze,
            "silver" => Leaf::Silver,
            "gold" => Leaf::Gold,
            "platinum" => Leaf::Platinum,
            _ => return Err(trouble()),
        };
        return Ok(Strength::Leaf(leaf));
    }
    let number = tidied.strip_suffix(" bloom").ok_or_else(trouble)?;
    let bloom: u32 = number.parse().map_err(|_| trouble())?;
    // What the trade sells lies between 30 and 300; a little beyond is a generous label, more is a slip of the pen.
    if !(30..=325).contains(&bloom) {
        return Err(trouble());
    }
    Ok(Strength::Bloom(bloom))
}

/// Returns how far a syrup is boiled.
pub(in crate::load) fn sugar(text: &str) -> Meant<SugarMark> {
    let tidied = tidy(text);
    let trouble = || {
        let stages: Vec<_> = STAGES
            .iter()
            .map(|(name, _)| format!("\"{name}\""))
            .collect();
        Trouble::new(
            format!("{} does not say how far a syrup is boiled", quoted(text)),
            format!(
                "\"20 to 65 Brix\", \"65 Brix\", or a stage: {}",
                stages.join(", ")
            ),
        )
    };
    let brix = |text: &str| {
        let (number, rest) = leading_number(text)?;
        let bare = matches!(rest.trim(), "" | "brix" | "bx" | "°bx");
        (bare && number > 0.0 && number < 100.0).then_some(number)
    };
    let (from, to) = match tidied.split_once(" to ") {
        Some((from, to)) => (Some(brix(from).ok_or_else(trouble)?), to),
        None => (None, tidied.as_str()),
    };
    let stage = STAGES.iter().find(|(name, _)| *name == to);
    let to = match stage {
        Some(&(_, stage)) => Sugar::Stage(stage),
        None if to.ends_with("brix") || to.ends_with("bx") => {
            Sugar::Brix(brix(to).ok_or_else(trouble)?)
        }
        None => return Err(trouble()),
    };
    Ok(SugarMark { from, to })
}

/// Returns metres above the sea.
pub(in crate::load) fn altitude(text: &str) -> Meant<i32> {
    let tidied = tidy(text);
    let trouble = || {
        Trouble::new(
            format!("{} is not a height above the sea", quoted(text)),
            "\"350 m\" or \"1150 ft\", from -450 m to 6000 m",
        )
    };
    let (negative, rest) = match tidied.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, tidied.as_str()),
    };
    let (number, unit) = leading_number(rest).ok_or_else(trouble)?;
    let metres = match unit.trim() {
        "m" | "metres" | "meters" => number,
        "ft" | "feet" => number * 0.3048,
        _ => return Err(trouble()),
    };
    let metres = if negative { -metres } else { metres };
    // From the shore of the Dead Sea to the highest towns.
    if !(-450.0..=6000.0).contains(&metres) {
        return Err(trouble());
    }
    Ok(metres.round() as i32)
}

/// Returns a price in hundredths of the currency.
pub(in crate::load) fn price(text: &str) -> Meant<u64> {
    let trouble = || {
        Trouble::new(
            format!("{} is not a price", quoted(text)),
            "\"12.50\": whole coins, a point, two figures; the currency stands once in the larder",
        )
    };
    let tidied = text.trim();
    let (whole, part) = tidied.split_once('.').unwrap_or((tidied, "00"));
    let figures = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    if !figures(whole) || !figures(part) || part.len() != 2 || whole.len() > 9 {
        return Err(trouble());
    }
    let (whole, part): (u64, u64) = whole
        .parse()
        .ok()
        .zip(part.parse().ok())
        .ok_or_else(trouble)?;
    Ok(whole * 100 + part)
}

/// Returns what is thrown away of what is bought, in thousandths.
pub(in crate::load) fn loss(text: &str) -> Meant<u32> {
    let trouble = || {
        Trouble::new(
            format!("{} is not a share that is thrown away", quoted(text)),
            "\"18 %\", from 0 % to 95 %",
        )
    };
    let tidied = tidy(text);
    let (number, rest) = leading_number(&tidied).ok_or_else(trouble)?;
    let thousandths = number * 10.0;
    let whole = (thousandths - thousandths.round()).abs() < 1e-9;
    if rest.trim() != "%" || !(0.0..=950.0).contains(&thousandths) || !whole {
        return Err(trouble());
    }
    Ok(thousandths.round() as u32)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

    use super::*;
    use crate::menu::words;

    #[test]
    fn goods_in_a_cooks_hand() {
        let said = |text| words::ahead(&ahead(text).unwrap());
        assert_eq!(said("soak 12h"), "soak 12h");
        assert_eq!(
            said("defrost in the  cold 1 day"),
            "defrost in the cold 24h"
        );
        assert_eq!(
            words::density(&density("1.03 kg/l, the dairy, its sheet").unwrap()),
            "1.03 g/ml, the dairy, its sheet"
        );
        assert_eq!(words::strength(strength("Gold leaf").unwrap()), "gold leaf");
        assert_eq!(words::strength(strength("240 Bloom").unwrap()), "240 bloom");
        assert_eq!(
            words::sugar(&sugar("20 to 65 brix").unwrap()),
            "20 to 65 Brix"
        );
        assert_eq!(words::sugar(&sugar("Soft  ball").unwrap()), "soft ball");
        assert_eq!(words::altitude(altitude("1150 ft").unwrap()), "351 m");
        assert_eq!(words::price(price("12.50").unwrap()), "12.50");
        assert_eq!(words::price(price("7").unwrap()), "7.00");
        assert_eq!(words::share(loss("12.5 %").unwrap()), "12.5 %");
    }

    #[test]
    fn what_means_nothing_is_refused() {
        assert!(ahead("12h").is_err() && ahead("soak").is_err() && ahead("soak 0 min").is_err());
        assert!(density("1.03 g/ml").is_err(), "a density needs a source");
        assert!(density("1.03 g/ml, ").is_err() && density("1030 g/ml, me").is_err());
        assert!(strength("200").is_err() && strength("copper leaf").is_err());
        assert!(strength("2000 bloom").is_err());
        assert!(sugar("65").is_err() && sugar("100 Brix").is_err() && sugar("caramel").is_err());
        assert!(altitude("350").is_err() && altitude("9000 m").is_err());
        assert!(price("12.5").is_err() && price("-1.00").is_err() && price("1,50").is_err());
        assert!(loss("18").is_err() && loss("100 %").is_err() && loss("1.23 %").is_err());
    }
}
