//! Planning a menu: ask the engine, check its answer, and say honestly what came of it.

use std::collections::BTreeMap;

use super::answer;
use super::explain;
use super::from_menu::{Bound, Bridge, Margin, not_planned};
use super::key::StepKey;
use super::run_sheet::{Happened, Late, PlanOutcome};
use crate::menu::Menu;
use crate::schedule::search::slips;
use crate::schedule::{Effort, Outcome, Schedule, solve, verify};
use crate::time::{Minute, ServiceTime};

/// Returns the plan of a menu around what has happened, with nothing left to start before `now`; or why there
/// is none.
///
/// It starts from the plan that ignores both the clock and the book: where its times still hold they stay (or
/// move later), and where they do not the search begins with their order. So the times on the sheet do not
/// change as time passes while they can still be kept, and the same menu, happenings and minute give the same
/// outcome on every sheet.
pub fn plan(menu: &Menu, service: ServiceTime, happened: &Happened, now: Minute) -> PlanOutcome {
    let refused = not_planned(menu);
    if !refused.is_empty() {
        return PlanOutcome::NotPlanned(refused);
    }
    let bridge = |bound, margin| Bridge::new(menu, service, happened, now, bound, margin);
    let has_margin = menu.dishes.iter().any(|dish| dish.margin.0 > 0);
    // Margin is kept where it can be, and given up before the banquet is.
    let margins = if has_margin {
        &[Margin::Kept, Margin::Spent][..]
    } else {
        &[Margin::Kept]
    };
    let announced = margins.iter().find_map(|&margin| {
        let timeless = Bridge::new(menu, service, &Happened::new(), now, Bound::Menu, margin);
        let schedule = checked(&timeless, None).ok()?;
        Some(timeless.starts(&schedule))
    });
    let bounded = bridge(Bound::Now(now), Margin::Kept);
    for &margin in margins {
        let bridge = bridge(Bound::Now(now), margin);
        match checked(&bridge, announced.as_ref()) {
            Ok(schedule) => {
                let loosest =
                    Bridge::new(menu, service, happened, now, Bound::Now(now), Margin::Spent);
                let slipped = slips(&loosest.instance, &schedule).into_iter().map(Minute);
                let plan = answer::plan(&bridge, &schedule, &slipped.collect::<Vec<_>>(), now);
                if bridge.broken.is_empty() {
                    return PlanOutcome::Planned(plan);
                }
                let late = late_for_broken(&bridge);
                let because = explain::broken(&bridge);
                return PlanOutcome::TooLate {
                    needed: plan,
                    late,
                    because,
                };
            }
            Err(Stopped::Refuted(violations)) => return PlanOutcome::Impossible(violations),
            Err(Stopped::NoSchedule(_)) => {}
        }
    }
    let unbounded = bridge(Bound::None, Margin::Spent);
    match checked(&unbounded, announced.as_ref()) {
        Ok(schedule) => {
            let starts: Vec<Minute> = schedule
                .placements
                .iter()
                .map(|placed| Minute(placed.start))
                .collect();
            let needed = answer::plan(&unbounded, &schedule, &starts, now);
            let from = menu.prep_from.map(|date| service.at_minute_of_day(date, 0));
            let bound = from.map_or(now, |from| from.max(now));
            let mut late: Vec<Late> = needed
                .order
                .iter()
                .filter(|&&step| needed.steps[step].happened.is_none())
                .filter(|&&step| !unbounded.has_happened(step))
                .filter(|&&step| needed.steps[step].window.start < bound)
                .map(|&step| Late {
                    step,
                    latest: needed.steps[step].window.start,
                })
                .collect();
            late.extend(late_for_broken(&unbounded));
            late.sort_by_key(|late| (late.latest, late.step));
            late.dedup_by_key(|late| late.step);
            if late.is_empty() {
                // The search missed a plan that keeps the bound; this one does.
                return PlanOutcome::Planned(needed);
            }
            let because = explain::too_late(&unbounded, &needed, &late, now, from);
            PlanOutcome::TooLate {
                needed,
                late,
                because,
            }
        }
        Err(Stopped::Refuted(violations)) => PlanOutcome::Impossible(violations),
        Err(Stopped::NoSchedule(outcome)) => {
            let because = explain::impossible(&unbounded, &bounded, &outcome);
            overtaken(menu, service, happened, now, &bounded, because.clone())
                .unwrap_or(PlanOutcome::Impossible(because))
        }
    }
}

/// Returns the plan of the menu as if nothing had happened, as what would have been needed, when it is what has
/// happened that leaves no plan: the cook keeps the times of every other dish, and is told what broke them.
fn overtaken(
    menu: &Menu,
    service: ServiceTime,
    happened: &Happened,
    now: Minute,
    bounded: &Bridge<'_>,
    because: Vec<String>,
) -> Option<PlanOutcome> {
    if happened.is_empty() {
        return None;
    }
    let first = Bridge::new(
        menu,
        service,
        &Happened::new(),
        now,
        Bound::None,
        Margin::Spent,
    );
    let schedule = checked(&first, None).ok()?;
    let starts: Vec<Minute> = schedule
        .placements
        .iter()
        .map(|placed| Minute(placed.start))
        .collect();
    let needed = answer::plan(&first, &schedule, &starts, now);
    let to_come = || {
        needed
            .order
            .iter()
            .copied()
            .filter(|&step| !bounded.has_happened(step))
    };
    let missed = to_come().filter(|&step| needed.steps[step].window.start < now);
    let mut late: Vec<Late> = missed
        .map(|step| Late {
            step,
            latest: needed.steps[step].window.start,
        })
        .collect();
    if late.is_empty() {
        let step = to_come().next()?;
        late.push(Late {
            step,
            latest: needed.steps[step].window.start,
        });
    }
    let mut said = vec![
        "after what has happened the rest does not fit as the cards stand; the times shown are those it would have needed".to_owned(),
    ];
    said.extend(explain::running_long(bounded, now));
    // The bare conflict speaks of a menu that was never possible; this one was.
    said.extend(
        because
            .into_iter()
            .filter(|line| !line.starts_with("no plan was found")),
    );
    Some(PlanOutcome::TooLate {
        needed,
        late,
        because: said,
    })
}

/// Why there is no checked schedule.
enum Stopped {
    /// The engine gave none.
    NoSchedule(Outcome),
    /// The engine gave one that the check refuses: a fault of the program, said as such.
    Refuted(Vec<String>),
}

/// When each step starts, by its name in the book.
type Starts = BTreeMap<StepKey, Minute>;

/// Returns the engine's schedule, if it has one and the independent check accepts it.
fn checked(bridge: &Bridge<'_>, announced: Option<&Starts>) -> Result<Schedule, Stopped> {
    let mut instance = bridge.instance.clone();
    if let Some(starts) = announced {
        let starts = bridge.announced(starts);
        for (activity, start) in instance.activities.iter_mut().zip(starts) {
            activity.announced = start;
        }
    }
    let outcome = solve(&instance, Effort::quick(&instance));
    let (Outcome::Optimal(schedule) | Outcome::Feasible(schedule)) = outcome else {
        return Err(Stopped::NoSchedule(outcome));
    };
    let violations = verify::verify(&instance, &schedule);
    if violations.is_empty() {
        Ok(schedule)
    } else {
        Err(Stopped::Refuted(explain::refuted(&violations)))
    }
}

fn late_for_broken(bridge: &Bridge<'_>) -> Vec<Late> {
    let mut late: Vec<Late> = bridge
        .broken
        .iter()
        .map(|&(step, latest, _)| Late { step, latest })
        .collect();
    late.sort_by_key(|late| (late.latest, late.step));
    late
}
