//! What was made for fewer than are served now.
//!
//! Covers that are raised during the prep change what is still to come. A step that is done once for the whole dish, and
//! is over or runs, stays as it was: a cloth of yoghurt hung for 100 gives 100, whatever the plan says of the pouring. The
//! plan cannot know whether there is enough left over, more can be made, or some go without; so it is said.
//!
//! # Left out
//! Steps done batch by batch: more batches are more steps, which the plan lists. Planning what lacks: how it is made up
//! is for whoever stands there.

use std::collections::BTreeMap;

use super::{PrepState, Progress, ReadCard, decide};
use crate::book::{Entry, Happening};
use crate::menu::{Menu, Multiple};
use crate::plan::{StepKey, named};
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
        let portions = u64::from(wanted.portions_of(dish));
        let mut short = steps.iter().filter(|named| {
            let made = made_for.get(&named.key).copied();
            named.dish == place
                && dish.steps[named.step].each != Multiple::Batch
                && made.is_some_and(|made| made < portions)
        });
        let Some(first) = short.next() else { continue };
        let made = made_for.get(&first.key).copied().unwrap_or_default();
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
    said
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
            let portions = menu.made(dish).portions();
            made.entry(key).or_insert(portions);
        }
    }
    made
}
