//! A decision as it is typed on the command line.
//!
//! | written | decided |
//! |---|---|
//! | `covers 90`, `covers 60 of pears` | how many are served |
//! | `batches 3 of pears`, `batches needed of pears` | in how many batches a dish is made |
//! | `service 20:00`, `service "2026-11-29 19:00"` | when |
//! | `without pears` | a dish is not made |
//! | `with dishes/figs.ron`, `with dishes/figs.ron for 40 in dessert` | one is, from its card |
//! | `away "first cook" now until Sat 08:00` | a cook is not there |
//! | `out hob`, `out hob 2 until 18:00` | kit cannot be used |
//! | `hands 14:00..20:00` | one more pair of hands |
//! | `stay 00:30` | whoever works until the end of the shift before that stays until then |
//! | `more hob`, `more hob 2` | more of a kind of kit |
//!
//! Dishes, cooks and kit are named by their id or name, or any part that fits one alone. Stretches of time are those of
//! [`typed_stretch`].

use super::typed_moment::{Bare, typed_moment, typed_stretch};
use crate::book::Decision;
use crate::menu::Menu;
use crate::plan::stays_from;
use crate::time::{Minute, ServiceTime, Timestamp};

/// The most covers that a typing finger may ask for.
const MOST_COVERS: u32 = 100_000;

const HOW: &str = "write covers 90, batches 3 of DISH, service 20:00, without DISH, with FILE for 40 in COURSE, away COOK now, out KIT 2 until 18:00, \
                   hands 14:00..20:00, stay 00:30 or more KIT";

/// Returns the decision that these words are, or what to write instead. `fetch` returns the text of a dish card's file.
pub fn typed_decision(
    words: &[&str],
    menu: &Menu,
    service: ServiceTime,
    now: Timestamp,
    fetch: &dyn Fn(&str) -> Result<String, String>,
) -> Result<Decision, String> {
    let (Some(kind), rest) = (words.first(), words.get(1..).unwrap_or_default()) else {
        return Err(HOW.to_owned());
    };
    let zone = service.zone();
    let named = rest.first().copied();
    let behind = rest.get(1..).unwrap_or_default().join(" ");
    let missing = |what: &str| format!("{kind} {what}? {HOW}");
    match kind.to_lowercase().as_str() {
        "covers" => {
            let covers = covers(named.ok_or_else(|| missing("how many"))?)?;
            let dish = match behind.trim() {
                "" => None,
                behind => Some(dish(menu, behind.strip_prefix("of ").unwrap_or(behind))?),
            };
            Ok(Decision::Covers { dish, covers })
        }
        "batches" => {
            let batches = batches(named.ok_or_else(|| missing("how many"))?)?;
            let behind = behind.trim();
            if behind.is_empty() {
                return Err(missing("of which dish"));
            }
            let dish = dish(menu, behind.strip_prefix("of ").unwrap_or(behind))?;
            Ok(Decision::Batches { dish, batches })
        }
        "service" => Ok(Decision::Service {
            to: typed_service(&rest.join(" "), service, now)?,
        }),
        "without" => Ok(Decision::DishDropped {
            dish: dish(menu, &rest.join(" "))?,
        }),
        "with" => {
            named.ok_or_else(|| missing("which file"))?;
            let typed = typed_card(&rest.join(" "), menu)?;
            Ok(Decision::DishAdded {
                card: fetch(&typed.file)?,
                course: typed.course,
                covers: typed.covers,
            })
        }
        "away" => {
            let cooks = menu.kitchen.cooks.iter();
            let cooks = cooks.map(|cook| (cook.name.as_str(), cook.name.as_str()));
            let cook = one_of("cook", cooks, named.ok_or_else(|| missing("who"))?)?;
            let (from, until) = typed_stretch(or_now(&behind), now, zone)?;
            Ok(Decision::CookAway { cook, from, until })
        }
        "out" => {
            let kit = kit(menu, named.ok_or_else(|| missing("what"))?)?;
            let (count, stretch) = leading_count(&behind);
            let (from, until) = typed_stretch(or_now(stretch), now, zone)?;
            Ok(Decision::KitOut {
                kit,
                count,
                from,
                until,
            })
        }
        "hands" => typed_hands(&rest.join(" "), service, now),
        "stay" => typed_stay(&rest.join(" "), menu, service, now),
        "more" => {
            let kit = kit(menu, named.ok_or_else(|| missing("what"))?)?;
            let (count, left) = leading_count(&behind);
            if !left.is_empty() || count == 0 {
                return Err(format!("\"{behind}\" is not how many more"));
            }
            Ok(Decision::KitAdded { kit, count })
        }
        _ => Err(format!("\"{kind}\" is nothing that can be decided; {HOW}")),
    }
}

/// A dish card as it is named, and how it is to be served.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TypedCard {
    /// The name of its file.
    pub file: String,
    /// The id of the course; none for the first.
    pub course: Option<String>,
    /// Covers, where they differ from the menu's.
    pub covers: Option<u32>,
}

/// Returns which card a text names, for how many and in which course: `figs.ron`, `figs.ron for 40 in dessert`. What
/// stands behind the `.ron` of a name is no part of it; any other name is one whole.
pub fn typed_card(text: &str, menu: &Menu) -> Result<TypedCard, String> {
    let text = text.trim();
    if text.is_empty() {
        return Err("the file of which dish card? figs.ron, figs.ron for 40 in dessert".to_owned());
    }
    let end = text.to_ascii_lowercase().find(".ron ");
    let (file, mut behind) = end.map_or((text, ""), |end| text.split_at(end + ".ron ".len()));
    let mut typed = TypedCard {
        file: file.trim_end().to_owned(),
        course: None,
        covers: None,
    };
    while !behind.trim().is_empty() {
        behind = behind.trim_start();
        if let Some(said) = behind.strip_prefix("for ") {
            let (count, rest) = said.trim_start().split_once(' ').unwrap_or((said, ""));
            (typed.covers, behind) = (Some(covers(count)?), rest);
        } else if let Some(said) = behind.strip_prefix("in ") {
            let (course, rest) = match said.rfind(" for ") {
                Some(at) => said.split_at(at),
                None => (said, ""),
            };
            let courses = menu.courses.iter();
            let courses = courses.map(|it| (it.id.as_str(), it.name.as_str()));
            (typed.course, behind) = (Some(one_of("course", courses, course)?), rest);
        } else {
            return Err(format!(
                "\"{behind}\" says nothing of a dish; write for 40, in COURSE or both"
            ));
        }
    }
    Ok(typed)
}

/// Returns how many covers a text says.
pub fn covers(text: &str) -> Result<u32, String> {
    let read = text.trim().parse().ok();
    let read = read.filter(|covers| (1..=MOST_COVERS).contains(covers));
    read.ok_or_else(|| "covers are a whole number, at least 1".to_owned())
}

/// Returns how many batches a text says; none where it says as many as are needed.
pub fn batches(text: &str) -> Result<Option<u32>, String> {
    let text = text.trim();
    if text.eq_ignore_ascii_case("needed") {
        return Ok(None);
    }
    let read = text.parse().ok();
    let read = read.filter(|&batches| batches > 0);
    let wrong = "batches are a whole number, at least 1, or needed: as many as the portions need";
    read.map(Some).ok_or_else(|| wrong.to_owned())
}

/// Returns the moment a service is moved to; a bare time of day is one on the day of service.
pub fn typed_service(
    text: &str,
    service: ServiceTime,
    now: Timestamp,
) -> Result<Timestamp, String> {
    let zone = service.zone();
    let day = service.timestamp(Minute::SERVICE).local(zone).date;
    let on_the_day = typed_moment(&format!("{day} {text}"), now, zone, Bare::Next);
    let to = on_the_day.or_else(|_| typed_moment(text, now, zone, Bare::Next))?;
    if to <= now {
        return Err("a service that has passed".to_owned());
    }
    Ok(to)
}

/// Returns when one more pair of hands is there.
pub fn typed_hands(text: &str, service: ServiceTime, now: Timestamp) -> Result<Decision, String> {
    let (from, until) = typed_stretch(text, now, service.zone())?;
    let until = until.ok_or("until when? 14:00 to 20:00, Fri 14:00..20:00")?;
    Ok(Decision::HandsAdded {
        stretches: vec![(from, until)],
    })
}

/// Returns that whoever works until the end of a shift stays until a moment; the shift is the last that ends in the six
/// hours before it.
pub fn typed_stay(
    text: &str,
    menu: &Menu,
    service: ServiceTime,
    now: Timestamp,
) -> Result<Decision, String> {
    let text = text.trim();
    let text = text.strip_prefix("until ").unwrap_or(text);
    if text.is_empty() {
        return Err("until when? stay 00:30".to_owned());
    }
    let until = typed_moment(text, now, service.zone(), Bare::Next)?;
    if until <= now {
        return Err(format!("\"{text}\" has passed; give a time to come"));
    }
    let from = stays_from(&menu.kitchen, service, service.minute(until));
    let from = from.ok_or_else(|| {
        let until = until.local(service.zone()).weekday_clock();
        format!("nobody's shift ends in the six hours before {until}; hands says who comes")
    })?;
    Ok(Decision::StayingOn {
        from: service.timestamp(from),
        until,
    })
}

/// Splits a count off the front of a text; one where it gives none: `2 until 18:00`, `until 18:00`.
pub fn leading_count(text: &str) -> (u32, &str) {
    let text = text.trim();
    let digits = text
        .find(|letter: char| !letter.is_ascii_digit())
        .unwrap_or(text.len());
    let (number, rest) = text.split_at(digits);
    match number.parse() {
        // "14:00 to 20:00" begins with a time.
        Ok(count) if !rest.starts_with(':') => (count, rest.trim_start()),
        _ => (1, text),
    }
}

fn or_now(stretch: &str) -> &str {
    match stretch.trim() {
        "" => "now",
        stretch => stretch,
    }
}

fn dish(menu: &Menu, text: &str) -> Result<String, String> {
    let dishes = menu.dishes.iter();
    one_of(
        "dish",
        dishes.map(|dish| (dish.id.as_str(), dish.name.as_str())),
        text,
    )
}

fn kit(menu: &Menu, text: &str) -> Result<String, String> {
    let kit = menu.kitchen.kit.iter();
    one_of(
        "kit",
        kit.map(|kit| (kit.id.as_str(), kit.name.as_str())),
        text,
    )
}

/// Returns the id of the one that a text means: its id or name whole, else a part of either that fits one alone.
fn one_of<'a>(
    what: &str,
    all: impl Iterator<Item = (&'a str, &'a str)>,
    text: &str,
) -> Result<String, String> {
    let all: Vec<(&str, &str)> = all.collect();
    let wanted = text.trim().to_lowercase();
    let whole = |it: &&(&str, &str)| it.0.to_lowercase() == wanted || it.1.to_lowercase() == wanted;
    if let Some((id, _)) = all.iter().find(whole) {
        return Ok((*id).to_owned());
    }
    let part = |it: &&(&str, &str)| {
        it.0.to_lowercase().contains(&wanted) || it.1.to_lowercase().contains(&wanted)
    };
    let fitting: Vec<&str> = if wanted.is_empty() {
        Vec::new()
    } else {
        all.iter().filter(part).map(|it| it.0).collect()
    };
    match fitting.as_slice() {
        [only] => Ok((*only).to_owned()),
        [] => {
            let known: Vec<&str> = all.iter().map(|it| it.0).collect();
            Err(format!(
                "there is no {what} \"{text}\"; there are {}",
                known.join(", ")
            ))
        }
        several => Err(format!(
            "\"{text}\" could be {}; write more of the name",
            several.join(", ")
        )),
    }
}
