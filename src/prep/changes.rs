//! What changed in a menu since the book last saw it.

use std::collections::BTreeMap;

use crate::book::StepDigest;
use crate::menu::{Batch, Last, Makes, Menu, Multiple, StepTime, words};
use crate::plan::{Named, named};

/// Under this label stands what a doing makes, of steps whose time grows with it. It is kept for what is learnt from the
/// book, and is no change to tell of: what a cook does stays the same.
pub(super) const AMOUNT: &str = "amount";

/// One change of a menu that is being cooked.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Change {
    /// A step is new.
    Added {
        /// Its key.
        step: String,
    },
    /// A step is gone; its ticks stay in the book.
    Removed {
        /// Its key.
        step: String,
    },
    /// A step says something else now.
    Changed {
        /// Its key.
        step: String,
        /// What: "time", "hands".
        label: String,
        /// What it said.
        was: String,
        /// What it says.
        is: String,
    },
}

impl Change {
    /// Returns the change as a line for the sheet.
    pub fn sentence(&self) -> String {
        match self {
            Self::Added { step } => format!("{step} is new"),
            Self::Removed { step } => format!("{step} is gone; its ticks stay in the book"),
            Self::Changed {
                step,
                label,
                was,
                is,
            } => match (was.is_empty(), is.is_empty()) {
                (true, _) => format!("{step}: {label} now {is}"),
                (_, true) => format!("{step}: {label} was {was}, now none"),
                _ => format!("{step}: {label} was {was}, now {is}"),
            },
        }
    }
}

/// Returns what changed from `was` to `is`, by step.
pub fn changes(
    was: &BTreeMap<String, StepDigest>,
    is: &BTreeMap<String, StepDigest>,
) -> Vec<Change> {
    let mut found = Vec::new();
    for (step, now) in is {
        let Some(before) = was.get(step) else {
            found.push(Change::Added { step: step.clone() });
            continue;
        };
        let mut labels: Vec<&String> = before.keys().chain(now.keys()).collect();
        labels.sort();
        labels.dedup();
        labels.retain(|label| *label != AMOUNT);
        for label in labels {
            let text = |digest: &StepDigest| digest.get(label).cloned().unwrap_or_default();
            if text(before) != text(now) {
                found.push(Change::Changed {
                    step: step.clone(),
                    label: label.clone(),
                    was: text(before),
                    is: text(now),
                });
            }
        }
    }
    found.extend(
        was.keys()
            .filter(|step| !is.contains_key(*step))
            .map(|step| Change::Removed { step: step.clone() }),
    );
    found
}

/// Returns what each step of a menu says, for [`changes`].
pub fn digest(menu: &Menu) -> BTreeMap<String, StepDigest> {
    named(menu)
        .into_iter()
        .map(|planned| {
            let step = &menu.dishes[planned.dish].steps[planned.step];
            let mut says = StepDigest::new();
            let mut put = |label: &str, text: String| {
                if !text.is_empty() {
                    says.insert(label.to_owned(), text);
                }
            };
            put("name", step.name.clone());
            put("time", words::time(&step.time));
            put("hands", words::hands(&step.hands));
            put("kit", words::kit(&step.uses, &step.keeps_kit));
            put("after", words::after(&step.after));
            put("method", step.method.clone().unwrap_or_default());
            put("until", step.until.clone().unwrap_or_default());
            let temperature = step.temperature.as_ref();
            put(
                "temperature",
                temperature.map(words::temperature).unwrap_or_default(),
            );
            put("fresh", words::fresh(step.fresh));
            let mark = step.sugar.as_ref();
            put("boiled to", mark.map(words::sugar).unwrap_or_default());
            put("makes", makes(menu, &planned));
            put(AMOUNT, amount(menu, &planned));
            (planned.key.to_string(), says)
        })
        .collect()
}

/// Returns what a batch makes and fills, where that is not the same for every batch and stands on no card.
fn makes(menu: &Menu, planned: &Named) -> String {
    let dish = &menu.dishes[planned.dish];
    let varies = |batch: &Batch| batch.also.is_some() || batch.last == Last::Part;
    let per_batch = dish.steps[planned.step].each == Multiple::Batch;
    if !per_batch || !dish.batch.as_ref().is_some_and(varies) {
        return String::new();
    }
    let made = menu.made(dish);
    let batch = made.batch(planned.key.batch);
    let vessels = batch.vessels.iter().filter_map(|&(kit, count)| {
        let name = &menu.kitchen.kit.get(kit)?.name;
        Some(format!(", {count} {name}"))
    });
    format!("{} portions{}", batch.portions, vessels.collect::<String>())
}

/// Returns what a doing makes, where its time grows with that, as [`amount_of`] reads it.
fn amount(menu: &Menu, planned: &Named) -> String {
    let dish = &menu.dishes[planned.dish];
    let step = &dish.steps[planned.step];
    match &step.time {
        StepTime::Elapsed(work) if work.grows() => {}
        _ => return String::new(),
    }
    let makes = menu.makes(dish, &menu.made(dish), &step.each, planned.key.batch);
    format!(
        "{} portions, {} batches, {} ml, {} of a batch",
        makes.portions, makes.batches, makes.millilitres, makes.of_card
    )
}

/// Returns what a doing made, by the step's digest; none where that does not say.
pub(super) fn amount_of(digest: &StepDigest) -> Option<Makes> {
    let mut parts = digest.get(AMOUNT)?.split(", ");
    let mut number = |of: &str| parts.next()?.strip_suffix(of)?.parse::<f64>().ok();
    let makes = Makes {
        portions: number(" portions")? as u32,
        batches: number(" batches")? as u32,
        millilitres: number(" ml")?,
        of_card: number(" of a batch")?,
    };
    let is_sound = makes.millilitres.is_finite() && makes.of_card.is_finite();
    is_sound.then_some(makes)
}
