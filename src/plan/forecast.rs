//! What can still be, where a menu cannot be done as it stands.
//!
//! The same menu around the same happenings is planned with courses that may be missed ([`Bound::Late`]): nothing
//! starts before now, every gap, heat, hand and opening is kept as on any plan, times that were told stay where they
//! can, and dishes come to the pass as little late as is found ([`weights`](super::weights) says what is summed).
//! Where nothing is found, times by which cards want steps done may be missed too.
//!
//! Left out on purpose: gaps and keeping limits are never stretched. Food that has stood too long is no forecast, and
//! whether it may be served is for the person responsible to say.

use super::answer;
use super::from_menu::{Asked, Bound, Bridge};
use super::late::lateness;
use super::make::checked;
use super::run_sheet::{Late, Plan};
use crate::schedule::cost::cost;
use crate::schedule::search::{Improver, slips};
use crate::schedule::{Effort, Placement, Schedule, verify};
use crate::time::Minute;

/// How many epochs are searched for less lateness, after those of any plan: about as long as one plan takes.
const EPOCHS: u32 = 8;

/// What can still be.
pub(super) enum Forecast {
    /// Something is late.
    Late(Plan),
    /// Nothing is: a search that had to keep every course missed this plan, which does.
    InTime(Plan),
}

/// Returns what can still be, given what would have been needed and what of it should have started before now.
pub(super) fn forecast(asked: Asked<'_>, needed: &Plan, late: &[Late]) -> Option<Forecast> {
    let now = asked.now;
    for cards in [false, true] {
        let bridge = Bridge::new(asked, Bound::Late { now, cards });
        let to_card = |index: usize| bridge.instance.activities[index].due.is_some();
        if cards && !(0..bridge.expanded.doings.len()).any(to_card) {
            return None;
        }
        let Ok(found) = checked(&bridge, Effort::quick(&bridge.instance)) else {
            continue;
        };
        let schedule = less_late(&bridge, found);
        if !is_late(&bridge, &schedule)
            && bridge.broken.is_empty()
            && let Some(plan) = in_time(asked, &schedule.placements)
        {
            return Some(Forecast::InTime(plan));
        }
        return Some(Forecast::Late(shown(&bridge, &schedule, needed, late, now)));
    }
    None
}

/// Returns a schedule in which less is late, where one is found.
fn less_late(bridge: &Bridge<'_>, found: Schedule) -> Schedule {
    if !is_late(bridge, &found) {
        return found;
    }
    let Ok(mut improver) = Improver::new(&bridge.instance, &found, 1) else {
        return found;
    };
    improver.run(EPOCHS, 1, &|| false);
    let better = improver.best();
    if verify::verify(&bridge.instance, &better).is_empty() {
        better
    } else {
        found
    }
}

/// Whether anything that is still to come ends after its course, or after a time on its card.
fn is_late(bridge: &Bridge<'_>, schedule: &Schedule) -> bool {
    let doings = 0..bridge.expanded.doings.len();
    doings
        .filter(|&index| !bridge.has_happened(index))
        .any(|index| schedule.placements[index].end > latest_end(bridge, index))
}

/// Returns by when a doing should be over: its course, or the time on its card where that may be missed.
fn latest_end(bridge: &Bridge<'_>, index: usize) -> i32 {
    let (_, dish, _) = bridge.doing(index);
    let course = bridge.menu.course_of(dish).offset.0;
    let due = bridge.instance.activities[index].due;
    due.map_or(course, |due| due.min(course))
}

/// Returns the plan that keeps every course with these placements, if it is one.
fn in_time(asked: Asked<'_>, placements: &[Placement]) -> Option<Plan> {
    let bridge = Bridge::new(asked, Bound::Now(asked.now));
    let total = cost(&bridge.instance, placements).total();
    let schedule = Schedule {
        placements: placements.to_vec(),
        cost: total,
        ..Schedule::default()
    };
    let schedule = Improver::new(&bridge.instance, &schedule, 1).ok()?.best();
    verify::verify(&bridge.instance, &schedule)
        .is_empty()
        .then(|| super::make::planned(&bridge, &schedule, asked.now))
}

/// Returns the plan as it is shown, with what is late of it and why.
fn shown(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    needed: &Plan,
    late: &[Late],
    now: Minute,
) -> Plan {
    let mut plan = answer::plan(bridge, schedule, &can_slip(bridge, schedule), now);
    for one in late {
        if let Some(step) = plan.steps.get_mut(one.step)
            && step.happened.is_none()
        {
            step.needed_by = Some(one.latest);
        }
    }
    for dish in 0..plan.dishes.len() {
        plan.dishes[dish].late = lateness(bridge, schedule, needed, &plan.dishes[dish], now);
    }
    plan
}

/// Returns how late each doing could start with no dish later than the forecast has it.
fn can_slip(bridge: &Bridge<'_>, schedule: &Schedule) -> Vec<Minute> {
    let mut instance = bridge.instance.clone();
    for index in 0..bridge.expanded.doings.len() {
        let no_later = latest_end(bridge, index).max(schedule.placements[index].end);
        let deadline = &mut instance.activities[index].deadline;
        *deadline = Some(deadline.map_or(no_later, |it| it.min(no_later)));
    }
    let slipped = slips(&instance, schedule);
    slipped.into_iter().map(Minute).collect()
}
