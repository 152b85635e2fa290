//! What was made for fewer than are served now.
//!
//! Covers that are raised during the prep change what is still to come. A step that is done once for the whole dish, and
//! is over or runs, stays as it was: a cloth of yoghurt hung for 100 gives 100, whatever the plan says of the pouring. The
//! plan cannot know whether there is enough left over, more can be made, or some go without; so it is said.
//!
//! A step that is done batch by batch has made so much of that batch; more batches are more steps, which the plan lists.
//!
//! What was ordered for fewer is said too, as far as it is short.
//!
//! # Left out
//! Planning what lacks: how it is made up is for whoever stands there.

use std::collections::BTreeMap;

use super::{PrepState, Progress, ReadCard, decide, short_of};
use crate::book::{Entry, Happening};
use crate::menu::{Batches, Menu, Multiple};
use crate::plan::{Named, StepKey, named};
use crate::quantity::order;
use crate::time::ServiceTime;

/// Returns which dishes were begun for fewer portions than a menu now wants, a sentence each without a full stop. The menu
/// as its file has it says, with the decisions in the book, for how many each step was made.
pub fn lacking(
    (written, service): (&Menu, ServiceTime),
    entries: &[Entry],
    prep: &PrepState,
    card: ReadCard<'_>,
    wanted: &Menu,
) -> Vec<String> {
    let made_for = made_for((written, service), entries, prep, card);
    let steps = named(wanted);
    let mut said = Vec::new();
    for (place, dish) in wanted.dishes.iter().enumerate() {
        let batches = wanted.made(dish);
        let whole = u64::from(wanted.portions_of(dish));
        let is_short = |named: &&Named| {
            let wants = wants(
                &dish.steps[named.step].each,
                named.key.batch,
                &batches,
                whole,
            );
            let made = made_for.get(&named.key).copied();
            made.filter(|made| *made < wants).map(|made| (made, wants))
        };
        let of_dish = steps.iter().filter(|named| named.dish == place);
        let mut short = of_dish.filter_map(|named| Some((named, is_short(&named)?)));
        let Some((first, (made, portions))) = short.next() else {
            continue;
        };
        let which = match short.count() {
            0 => format!("\"{}\" was", first.name),
            1 => format!("\"{}\" and 1 more step were", first.name),
            more => format!("\"{}\" and {more} more steps were", first.name),
        };
        said.push(format!(
            "{}: {which} made for {made} portions, and {portions} are wanted; what lacks is on no plan",
            dish.name
        ));
    }
    said.extend(short_orders(wanted, service, prep));
    said
}

/// Returns what was ordered for fewer, a sentence each: what is to be ordered beside it.
fn short_orders(wanted: &Menu, service: ServiceTime, prep: &PrepState) -> Vec<String> {
    let list = order::list(wanted, service, &|_, _| order::When::Unknown);
    let short = list.lines.iter().filter_map(|line| {
        let (rest, known) = short_of(line, prep)?;
        let (name, more) = (&line.name, rest.buy());
        Some(format!("{name}: {known} ordered, and {more} more wanted"))
    });
    short.collect()
}

/// Returns how many portions a step is done for: those of its batch, where it is done for each, else as many as are said
/// for the whole dish.
fn wants(each: &Multiple, batch: u32, batches: &Batches, whole: u64) -> u64 {
    match each {
        Multiple::Batch => u64::from(batches.batch(batch).portions),
        Multiple::Dish | Multiple::Parts(_) => whole,
    }
}

/// Returns for how many portions each step was made that runs or is over.
fn made_for(
    (written, service): (&Menu, ServiceTime),
    entries: &[Entry],
    prep: &PrepState,
    card: ReadCard<'_>,
) -> BTreeMap<StepKey, u64> {
    let (mut menu, mut service) = (written.clone(), service);
    let mut made = BTreeMap::new();
    for entry in entries.iter().filter(|entry| prep.counts(entry.id)) {
        let step = match &entry.what {
            Happening::Decided { decision, .. } => {
                if let Ok(decided) = decide(&menu, service, decision, card) {
                    (menu, service) = decided;
                }
                continue;
            }
            Happening::Started { step } | Happening::Finished { step } => step,
            _ => continue,
        };
        let Ok(key) = step.parse::<StepKey>() else {
            continue;
        };
        let stands = matches!(
            prep.progress(&key),
            Progress::Running { .. } | Progress::Finished { .. }
        );
        if let (true, Some((_, dish))) = (stands, menu.dish(&key.dish)) {
            let batches = menu.made(dish);
            let each = dish.step(&key.step).map(|(_, step)| &step.each);
            let portions = each.map(|each| wants(each, key.batch, &batches, batches.portions()));
            if let Some(portions) = portions {
                made.entry(key).or_insert(portions);
            }
        }
    }
    made
}
