//! Steps as the card lists them → doings as they are done: once for each batch, part and round.
//!
//! Which doing waits for which follows one rule: where both steps are done per batch (per part, in the same
//! rounds), a doing waits for its own batch (part, round); where only one of them is, it waits for all.

use std::collections::BTreeMap;

use super::StepKey;
use super::ways::every_way;
use crate::menu::{After, Batches, Dish, Edge, Gap, Makes, Menu, Multiple, Step, StepTime};
use crate::time::Minutes;

/// One doing of one step.
#[derive(Clone, Debug)]
pub(super) struct Doing {
    pub(super) key: StepKey,
    pub(super) dish: usize,
    pub(super) step: usize,
    pub(super) name: String,
    /// What it makes.
    pub(super) makes: Makes,
    /// The most elapsed minutes it takes in any of its ways; `None` where the clock ends one of them.
    pub(super) longest: Option<Minutes>,
}

/// One doing waits for another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Link {
    pub(super) from: usize,
    pub(super) to: usize,
    pub(super) gap: Gap,
    pub(super) from_edge: Edge,
    pub(super) to_edge: Edge,
}

/// All doings of a menu and what waits for what.
#[derive(Clone, Debug, Default)]
pub(super) struct Expanded {
    pub(super) doings: Vec<Doing>,
    pub(super) links: Vec<Link>,
    /// Doings that must end together.
    pub(super) together: Vec<(usize, usize)>,
    /// The same step of one batch and of the next: batches are alike but for the last, so the first is begun first.
    pub(super) turns: Vec<(usize, usize)>,
    /// The batches of each dish, in the order of the menu.
    pub(super) made: Vec<Batches>,
}

/// One doing of a step by name: its key, and the places of its dish and step in the menu.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Its name in the book.
    pub key: StepKey,
    /// The line on the sheet, with batch, part or round where there are several.
    pub name: String,
    /// The dish's place in the menu.
    pub dish: usize,
    /// The step's place in the dish.
    pub step: usize,
}

/// Returns the names of everything a menu asks to be done, in the order of the menu, without planning it.
pub fn named(menu: &Menu) -> Vec<Named> {
    let doings = expand(menu).doings;
    doings
        .into_iter()
        .map(|it| Named {
            key: it.key,
            name: it.name,
            dish: it.dish,
            step: it.step,
        })
        .collect()
}

/// Returns every doing of every step of a menu.
pub(super) fn expand(menu: &Menu) -> Expanded {
    let mut expanded = Expanded::default();
    for (dish_index, dish) in menu.dishes.iter().enumerate() {
        let made = menu.made(dish);
        let batches = made.count();
        for (step_index, step) in dish.steps.iter().enumerate() {
            let batches_of_step = if step.each == Multiple::Batch {
                batches
            } else {
                1
            };
            let rounds = rounds_of(dish, &step.id);
            let parts: Vec<Option<&String>> = match &step.each {
                Multiple::Parts(parts) if !parts.is_empty() => parts.iter().map(Some).collect(),
                _ => vec![None],
            };
            for batch in 1..=batches_of_step {
                let makes = menu.makes(dish, &made, &step.each, batch);
                for round in 1..=rounds {
                    for part in &parts {
                        expanded.doings.push(Doing {
                            key: StepKey {
                                dish: dish.id.clone(),
                                step: step.id.clone(),
                                part: part.cloned(),
                                round,
                                batch,
                            },
                            dish: dish_index,
                            step: step_index,
                            name: name(step, *part, (round, rounds), (batch, batches_of_step)),
                            makes,
                            longest: longest(step, makes),
                        });
                    }
                }
            }
        }
        expanded.made.push(made);
    }
    link(menu, &mut expanded);
    expanded.turns = turns(&expanded.doings);
    expanded
}

fn turns(doings: &[Doing]) -> Vec<(usize, usize)> {
    let next = |key: &StepKey| StepKey {
        batch: key.batch + 1,
        ..key.clone()
    };
    let places: BTreeMap<&StepKey, usize> = doings
        .iter()
        .enumerate()
        .map(|(at, doing)| (&doing.key, at))
        .collect();
    doings
        .iter()
        .enumerate()
        .filter_map(|(at, doing)| Some((at, *places.get(&next(&doing.key))?)))
        .collect()
}

fn rounds_of(dish: &Dish, step: &str) -> u32 {
    let repeat = dish
        .repeats
        .iter()
        .find(|repeat| repeat.steps.iter().any(|id| id == step));
    repeat.map_or(1, |repeat| repeat.times.max(1))
}

fn name(step: &Step, part: Option<&String>, round: (u32, u32), batch: (u32, u32)) -> String {
    let mut of = Vec::new();
    if let Some(part) = part {
        of.push(part.clone());
    }
    if round.1 > 1 {
        of.push(format!("round {} of {}", round.0, round.1));
    }
    if batch.1 > 1 {
        of.push(format!("batch {} of {}", batch.0, batch.1));
    }
    if of.is_empty() {
        step.name.clone()
    } else {
        format!("{} ({})", step.name, of.join(", "))
    }
}

fn longest(step: &Step, makes: Makes) -> Option<Minutes> {
    let mut longest = Minutes::ZERO;
    for (_, card) in every_way(step) {
        longest = longest.max(minutes(makes, card.time)?);
    }
    Some(longest)
}

/// Returns how long one doing of a step takes, by what it makes; `None` for a wait that the clock ends.
pub(super) fn minutes(makes: Makes, time: &StepTime) -> Option<Minutes> {
    let StepTime::Elapsed(work) = time else {
        return None;
    };
    // Nothing is planned over more than a year; a number this large is a slip of the pen, and finds no place.
    let seconds = work.seconds(work.booked(), makes).clamp(0, 400 * 86_400) as i64;
    Some(Minutes::from_seconds_rounded_up(seconds))
}

fn link(menu: &Menu, expanded: &mut Expanded) {
    let doings = &expanded.doings;
    let (mut links, mut together) = (Vec::new(), Vec::new());
    let find = |dish: &str, step: &str| -> Vec<usize> {
        (0..doings.len())
            .filter(|&at| doings[at].key.dish == dish && doings[at].key.step == step)
            .collect()
    };
    for dish in &menu.dishes {
        for step in &dish.steps {
            let these = find(&dish.id, &step.id);
            for After {
                step: other,
                gap,
                from,
                to,
            } in &step.after
            {
                let (other_dish, other_step) = other
                    .split_once('/')
                    .unwrap_or((dish.id.as_str(), other.as_str()));
                let same_rounds = dish.id == other_dish && in_one_group(dish, other_step, &step.id);
                let those = find(other_dish, other_step);
                for (before, after) in
                    pairs(doings, &those, &these, dish.id == other_dish, same_rounds)
                {
                    links.push(Link {
                        from: before,
                        to: after,
                        gap: *gap,
                        from_edge: *from,
                        to_edge: *to,
                    });
                }
            }
            for other in &step.together {
                let those = find(&dish.id, other);
                let same_rounds = in_one_group(dish, other, &step.id);
                // Where one goes round more often than the other, it is the last rounds that are ready.
                let last = |all: &[usize]| all.iter().map(|&at| doings[at].key.round).max();
                let (last_that, last_this) = (last(&those), last(&these));
                for (one, another) in by_batch_and_part(doings, &those, &these, true) {
                    let rounds = (doings[one].key.round, doings[another].key.round);
                    let meet = if same_rounds {
                        rounds.0 == rounds.1
                    } else {
                        (Some(rounds.0), Some(rounds.1)) == (last_that, last_this)
                    };
                    if !meet {
                        continue;
                    }
                    let pair = (one.min(another), one.max(another));
                    if one != another && !together.contains(&pair) {
                        together.push(pair);
                    }
                }
            }
        }
        for repeat in &dish.repeats {
            let (Some(first), Some(last)) = (repeat.steps.first(), repeat.steps.last()) else {
                continue;
            };
            let (those, these) = (find(&dish.id, last), find(&dish.id, first));
            for round in 1..repeat.times {
                let of = |all: &[usize], round| -> Vec<usize> {
                    all.iter()
                        .copied()
                        .filter(|&at| doings[at].key.round == round)
                        .collect()
                };
                for (from, to) in
                    by_batch_and_part(doings, &of(&those, round), &of(&these, round + 1), true)
                {
                    let (from_edge, to_edge) = (Edge::End, Edge::Start);
                    links.push(Link {
                        from,
                        to,
                        gap: repeat.gap,
                        from_edge,
                        to_edge,
                    });
                }
            }
        }
    }
    (expanded.links, expanded.together) = (links, together);
}

/// Returns whether two steps of a dish are done in the same rounds.
pub(super) fn in_one_group(dish: &Dish, one: &str, other: &str) -> bool {
    dish.repeats.iter().any(|repeat| {
        let has = |step: &str| repeat.steps.iter().any(|id| id == step);
        has(one) && has(other)
    })
}

/// Returns which of `before` each of `after` waits for.
fn pairs(
    doings: &[Doing],
    before: &[usize],
    after: &[usize],
    same_dish: bool,
    same_rounds: bool,
) -> Vec<(usize, usize)> {
    let last = before
        .iter()
        .map(|&at| doings[at].key.round)
        .max()
        .unwrap_or(1);
    by_batch_and_part(doings, before, after, same_dish)
        .into_iter()
        .filter(|&(one, other)| {
            let (round, next) = (doings[one].key.round, doings[other].key.round);
            // Into a group of rounds leads its first, out of it its last.
            if same_rounds {
                round == next
            } else {
                round == last && next == 1
            }
        })
        .collect()
}

fn by_batch_and_part(
    doings: &[Doing],
    before: &[usize],
    after: &[usize],
    same_dish: bool,
) -> Vec<(usize, usize)> {
    let several = |all: &[usize]| all.iter().any(|&at| doings[at].key.batch > 1);
    let by_batch = same_dish && several(before) && several(after);
    let mut found = Vec::new();
    for &one in before {
        for &other in after {
            let (one_key, other_key) = (&doings[one].key, &doings[other].key);
            let batch_fits = !by_batch || one_key.batch == other_key.batch;
            let part_fits = match (&one_key.part, &other_key.part) {
                (Some(part), Some(other)) if same_dish => {
                    // A part that the other step does not know waits for all of them.
                    part == other
                        || !before
                            .iter()
                            .any(|&at| doings[at].key.part == other_key.part)
                }
                _ => true,
            };
            if batch_fits && part_fits {
                found.push((one, other));
            }
        }
    }
    found
}
