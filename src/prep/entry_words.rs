//! What an entry says, in words for a line of the book.

use crate::book::{Decision, Errand, Goal, Happening, Reading};
use crate::load;
use crate::time::{Timestamp, Zone};

/// Returns what an entry says, without a full stop; moments on the clock of `zone`. What a cook typed stands in it
/// as it was typed.
pub fn entry_words(what: &Happening, zone: Zone) -> String {
    let clock = |moment: &Timestamp| moment.local(zone).weekday_clock();
    match what {
        Happening::Started { step } => format!("{step} started"),
        Happening::Finished { step } => format!("{step} done"),
        Happening::Skipped { step, reason } => format!("{step} skipped: {reason}"),
        Happening::Read {
            step,
            reading,
            goal,
        } => {
            let goal = goal.map_or_else(String::new, |goal| {
                format!(", on its way to {}", goal_words(goal))
            });
            format!("{step}: {}{goal}", reading_words(*reading))
        }
        Happening::Expected { step, end } => format!("{step} expected to end {}", clock(end)),
        Happening::Noted {
            step: Some(step),
            text,
        } => format!("note on {step}: {text}"),
        Happening::Noted { step: None, text } => format!("note: {text}"),
        Happening::Decided { decision, .. } => decision_words(decision, zone),
        Happening::SeenTo { errand } => seen_to_words(errand),
        Happening::Heeded { call, again: None } => format!("\"{call}\" heeded"),
        Happening::Heeded {
            call,
            again: Some(again),
        } => format!("\"{call}\" put off until {}", clock(again)),
        Happening::Undone { entry } => format!("entry {} taken back", entry.0),
        Happening::Announced { steps } => format!("plan announced, {} steps", steps.len()),
        Happening::Moved { steps } if steps.is_empty() => "every step when it was told".to_owned(),
        Happening::Moved { steps } if steps.len() == 1 => "1 step shown at another time".to_owned(),
        Happening::Moved { steps } => format!("{} steps shown at other times", steps.len()),
        Happening::MenuSeen { steps } => format!("menu seen, {} steps", steps.len()),
        Happening::Unknown { kind, body } => format!("not known to this version: {kind} {body}"),
    }
}

/// Returns what was seen to, as a line of the book: "ordered: milk (3 × 5 l)", "begun: soak 1 kg dried figs".
fn seen_to_words(errand: &Errand) -> String {
    match errand {
        Errand::Order { goods } => {
            let each = goods
                .iter()
                .map(|(name, much)| format!("{name} ({})", much.says));
            format!("ordered: {}", each.collect::<Vec<_>>().join(", "))
        }
        Errand::Ahead {
            what, name, much, ..
        } => format!("begun: {what} {} {name}", much.says),
    }
}

/// Returns a reading as a cook writes it: "84.3 °C", "1.8 l", "640 g", "test passed".
pub fn reading_words(reading: Reading) -> String {
    /// A number of thousandths without the zeros at its end.
    fn thousandths(number: i64) -> String {
        let text = format!(
            "{}{}.{:03}",
            if number < 0 { "−" } else { "" },
            number.unsigned_abs() / 1000,
            number.unsigned_abs() % 1000
        );
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    }
    match reading {
        Reading::Temperature(tenths) => format!("{} °C", thousandths(i64::from(tenths) * 100)),
        Reading::Volume(millilitres) if millilitres.abs() < 1000 => format!("{millilitres} ml"),
        Reading::Volume(millilitres) => format!("{} l", thousandths(millilitres)),
        Reading::Weight(grams) if grams.abs() < 1000 => format!("{grams} g"),
        Reading::Weight(grams) => format!("{} kg", thousandths(grams)),
        Reading::Test(true) => "test passed".to_owned(),
        Reading::Test(false) => "test not passed".to_owned(),
    }
}

/// Returns a goal as a cook writes it: "5 °C in 3 °C".
pub fn goal_words(goal: Goal) -> String {
    let to = reading_words(goal.reading);
    match goal.around {
        Some(around) => format!("{to} in {}", reading_words(Reading::Temperature(around))),
        None => to,
    }
}

/// Returns what was decided, as a line of the book.
pub fn decision_words(decision: &Decision, zone: Zone) -> String {
    let clock = |moment: &Timestamp| moment.local(zone).weekday_clock();
    let stretch = |from: &Timestamp, until: &Option<Timestamp>| match until {
        Some(until) => format!("from {} until {}", clock(from), clock(until)),
        None => format!("from {} on", clock(from)),
    };
    match decision {
        Decision::Service { to } => format!("service at {}", to.local(zone)),
        Decision::Covers { dish: None, covers } => format!("{covers} covers"),
        Decision::Covers {
            dish: Some(dish),
            covers,
        } => format!("{covers} covers of {dish}"),
        Decision::Batches {
            dish,
            batches: Some(1),
        } => format!("1 batch of {dish}"),
        Decision::Batches {
            dish,
            batches: Some(batches),
        } => format!("{batches} batches of {dish}"),
        Decision::Batches {
            dish,
            batches: None,
        } => format!("as many batches of {dish} as are needed"),
        Decision::CookAway { cook, from, until } => format!("{cook} away {}", stretch(from, until)),
        Decision::KitOut {
            kit,
            count,
            from,
            until,
        } => format!("{count} {kit} out of use {}", stretch(from, until)),
        Decision::HandsAdded { stretches } => {
            let each = stretches
                .iter()
                .map(|(from, to)| format!("{} to {}", clock(from), clock(to)));
            let each: Vec<String> = each.collect();
            format!("one more pair of hands, {}", each.join(", "))
        }
        Decision::StayingOn { from, until } => format!(
            "whoever works until {} stays until {}",
            clock(from),
            clock(until)
        ),
        Decision::KitAdded { kit, count } => format!("{count} more {kit}"),
        Decision::WorkFrom { day } => format!("work may begin on {}", day.local(zone).date),
        Decision::DishDropped { dish } => format!("without {dish}"),
        Decision::DishAdded {
            card,
            course,
            covers,
        } => {
            let name = load::dish_text("card", card).ok();
            let name = name.map(|dish| format!(": {}", dish.name));
            let covers = covers.map(|covers| format!(", {covers} covers"));
            let course = course.as_ref().map(|course| format!(", in {course}"));
            let more: Vec<String> = [name, covers, course].into_iter().flatten().collect();
            format!("one dish more{}", more.concat())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_dish_is_called_by_its_own_name() {
        let words = |card: &str| {
            let added = Decision::DishAdded {
                card: card.to_owned(),
                course: None,
                covers: Some(12),
            };
            decision_words(&added, Zone::UTC)
        };
        let card = r#"Dish(id: "f", ingredients: [Ingredient(name: "fig", amount: "1 kg")], name: "Fig tart",
            steps: [Step(id: "bake", name: "Bake", time: "20 min")])"#;
        assert_eq!(words(card), "one dish more: Fig tart, 12 covers");
        assert_eq!(words("Dish("), "one dish more, 12 covers");
    }

    #[test]
    fn readings_are_written_as_a_cook_writes_them() {
        for (reading, words) in [
            (Reading::Temperature(843), "84.3 °C"),
            (Reading::Temperature(50), "5 °C"),
            (Reading::Temperature(-185), "−18.5 °C"),
            (Reading::Temperature(-5), "−0.5 °C"),
            (Reading::Volume(750), "750 ml"),
            (Reading::Volume(1800), "1.8 l"),
            (Reading::Volume(12_000), "12 l"),
            (Reading::Weight(640), "640 g"),
            (Reading::Weight(2005), "2.005 kg"),
            (Reading::Test(true), "test passed"),
        ] {
            assert_eq!(reading_words(reading), words);
        }
    }
}
