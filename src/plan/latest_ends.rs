//! How long what runs may still run.
//!
//! For each running step the end is put later and later ([`Done::Expected`]) and the rest planned around it, and
//! between an end that leaves a plan and one that does not the gap is halved, to the minute. Every minute answered is
//! one that a checked plan was found for; a later one may exist, because a search that finds nothing proves nothing.
//!
//! A running step's slack on one plan would be cheaper and mean less: what follows can be done in another order. Where
//! no plan holds but a forecast has every dish in time, that slack is all that is asked for, in the order of the forecast:
//! what could still be saved otherwise is what forecasts are searched for.

use std::collections::BTreeMap;

use super::StepKey;
use super::forecast::has_courses_in_time;
use super::from_menu::{Asked, Bound, Bridge};
use super::make::{checked, kept};
use super::run_sheet::{Done, Happened, Plan, PlanOutcome, PlannedStep};
use crate::schedule::Effort;
use crate::time::{Minute, Minutes};

/// Plannings for one step at most: six doublings from a quarter of an hour reach sixteen hours, and as many halvings
/// and a few more come back to the minute.
const PLANNINGS: u32 = 18;

/// The first that is added to an end.
const FIRST: Minutes = Minutes(15);

/// Returns, for each step wanted that runs on what [`plan()`](super::plan()) gave for the same menu, happenings and
/// minute, the last minute found at which it may end with every course still in time; nothing where a course is late
/// anyway.
///
/// `stop` is asked between plannings; what has been found whole by then is returned. The step that ends first by the
/// plan comes first.
pub fn latest_ends(
    asked: Asked<'_>,
    outcome: &PlanOutcome,
    is_wanted: impl Fn(&PlannedStep) -> bool,
    stop: &dyn Fn() -> bool,
) -> BTreeMap<StepKey, Minute> {
    let (plan, is_behind) = match outcome {
        PlanOutcome::Planned(plan) => (plan, false),
        behind => match behind.only_behind() {
            Some(plan) => (plan, true),
            None => return BTreeMap::new(),
        },
    };
    let told = plan.announced();
    let asked = Asked {
        told: Some(&told),
        shown: None,
        ..asked
    };
    let may_end = |happened: &Happened| {
        let asked = Asked { happened, ..asked };
        if is_behind {
            holds_behind(asked, plan)
        } else {
            holds(asked)
        }
    };
    let mut running: Vec<(Minute, Minute, &StepKey)> = plan
        .steps
        .iter()
        .filter(|step| is_wanted(step))
        .filter_map(|step| {
            let since = step.happened?.running_since()?;
            Some((step.window.end, since, &step.key))
        })
        .collect();
    running.sort_unstable();
    let last = plan.courses.iter().map(|course| course.at).max();
    let last = last.unwrap_or(Minute::SERVICE);
    let mut found = BTreeMap::new();
    for (end, since, key) in running {
        let mut happened = asked.happened.clone();
        // Whatever serves a course is over by the last of them.
        let (mut works, mut fails) = (end, last.max(end) + Minutes(1));
        let mut step = FIRST;
        for _ in 0..PLANNINGS {
            if fails - works <= Minutes(1) {
                break;
            }
            if stop() {
                return found;
            }
            let halved = works + Minutes((fails - works).0 / 2);
            let tried = halved.min(works + step);
            happened.insert(key.clone(), Done::Expected { since, end: tried });
            if may_end(&happened) {
                works = tried;
                step = step + step;
            } else {
                fails = tried;
            }
        }
        found.insert(key.clone(), works);
    }
    found
}

/// Whether there is a plan around what has happened that keeps every course and breaks no gap.
fn holds(asked: Asked<'_>) -> bool {
    let bridge = Bridge::new(asked, Bound::Now(asked.now));
    bridge.broken.is_empty() && checked(&bridge, Effort::first(&bridge.instance)).is_ok()
}

/// Whether the times of a forecast stand, or go along later, around what has happened with every course in time.
fn holds_behind(asked: Asked<'_>, forecast: &Plan) -> bool {
    let bound = Bound::Late {
        now: asked.now,
        cards: forecast.steps.iter().any(|step| step.needed_by.is_some()),
    };
    kept(asked, bound).is_some_and(|(bridge, schedule)| {
        bridge.stretched.is_empty() && has_courses_in_time(&bridge, &schedule)
    })
}
