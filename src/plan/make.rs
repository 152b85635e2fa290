//! Planning a menu: ask the engine, check its answer, and say honestly what came of it.

use super::answer;
use super::explain;
use super::forecast::{Forecast, forecast};
use super::from_menu::{Asked, Bound, Bridge, Broken};
use super::run_sheet::{Announced, Happened, Late, Plan, PlanOutcome, StepIndex};
use crate::menu::Menu;
use crate::schedule::search::{Push, as_announced, slips};
use crate::schedule::{Effort, Outcome, Schedule, solve, verify};
use crate::time::{Minute, Minutes, ServiceTime};

/// Returns the plan of a menu around what has happened, with nothing left to start before `now`; or why there
/// is none, with what can still be where it is only too late.
///
/// It starts from what the cooks have been told: `announced`, where they took a plan, or else the plan that
/// ignores both the clock and the book. Where its times still hold they stay (or move later), and where they do
/// not the search begins with their order. So the times on the sheet do not change as time passes while they can
/// still be kept, and the same menu, happenings, announcement and minute give the same outcome on every sheet.
pub fn plan(
    menu: &Menu,
    service: ServiceTime,
    happened: &Happened,
    now: Minute,
    announced: Option<&Announced>,
) -> PlanOutcome {
    plan_asked(Asked {
        menu,
        service,
        happened,
        now,
        told: announced,
        shown: None,
    })
}

/// Returns the same, given too what was shown last of steps that could not be kept where they were told.
///
/// The outcome depends on that as well, so whoever asks again and again writes down what was
/// [found anew](Plan::anew), for everybody to ask with.
pub fn plan_asked(asked: Asked<'_>) -> PlanOutcome {
    let timeless = asked.told.is_none().then(|| timeless(asked)).flatten();
    let asked = Asked {
        told: asked.told.or(timeless.as_ref()),
        ..asked
    };
    match as_it_stands(asked) {
        PlanOutcome::TooLate {
            needed,
            late,
            mut because,
            ..
        } => {
            let found = forecast(asked, Some(&needed), &late);
            let forecast = match found {
                Some(Forecast::InTime(plan)) => return PlanOutcome::Planned(plan),
                Some(Forecast::Late { plan, first, more }) => {
                    because = framed(first, because, more);
                    Some(Box::new(plan))
                }
                None => {
                    because.push("the times shown are those it would have needed".to_owned());
                    None
                }
            };
            PlanOutcome::TooLate {
                needed,
                forecast,
                late,
                because,
            }
        }
        // A cook who goes home ill can leave a kitchen that could never have done the menu. Those who stay have been told
        // times, or have pots on the fire, and need those of what can still be done of it.
        PlanOutcome::Impossible(because) if asked.told.is_some() || !asked.happened.is_empty() => {
            match forecast(asked, None, &[]) {
                Some(Forecast::Late { plan, first, more }) => PlanOutcome::TooLate {
                    needed: plan.clone(),
                    forecast: Some(Box::new(plan)),
                    late: Vec::new(),
                    because: framed(first, because, more),
                },
                Some(Forecast::InTime(plan)) => PlanOutcome::Planned(plan),
                None => PlanOutcome::Impossible(because),
            }
        }
        outcome => outcome,
    }
}

/// Returns sentences with others before and after them, each once.
fn framed(first: Vec<String>, because: Vec<String>, more: Vec<String>) -> Vec<String> {
    let mut said: Vec<String> = Vec::new();
    for sentence in first.into_iter().chain(because).chain(more) {
        if !said.contains(&sentence) {
            said.push(sentence);
        }
    }
    said
}

/// Returns the plan of a menu that keeps every course, or why there is none, without a forecast of what is late.
pub(super) fn as_it_stands(asked: Asked<'_>) -> PlanOutcome {
    let Asked {
        menu, service, now, ..
    } = asked;
    let (bounded, found) = keeping(asked, Bound::Now(now));
    match found {
        Ok(schedule) => {
            let plan = planned(&bounded, &schedule, now);
            if bounded.broken.is_empty() {
                return PlanOutcome::Planned(plan);
            }
            let late = late_for_broken(&bounded);
            let because = explain::broken(&bounded);
            return PlanOutcome::TooLate {
                needed: plan,
                forecast: None,
                late,
                because,
            };
        }
        Err(Stopped::Refuted(violations)) => return PlanOutcome::Impossible(violations),
        Err(Stopped::NoSchedule(_)) => {}
    }
    // What would have been needed is no plan, so what was shown of one is nothing to keep to.
    let needed = Asked {
        shown: None,
        ..asked
    };
    let unbounded = Bridge::new(needed, Bound::None);
    // Before the prep begins it says by when to begin, and is worth a search; from then on the forecast is looked at.
    let effort = if asked.happened.is_empty() {
        Effort::quick(&unbounded.instance)
    } else {
        Effort::first(&unbounded.instance)
    };
    match checked(&unbounded, effort) {
        Ok(schedule) => {
            let starts: Vec<Minute> = schedule
                .placements
                .iter()
                .map(|placed| Minute(placed.start))
                .collect();
            let needed = answer::plan(&unbounded, &schedule, &starts, now);
            let from = menu.prep_from.map(|date| service.at_minute_of_day(date, 0));
            let bound = from.map_or(now, |from| from.max(now));
            let mut late = needed_before(&needed, bound, |step| unbounded.has_happened(step));
            if late.is_empty() && unbounded.broken.is_empty() {
                // The search missed a plan that keeps the bound; this one does.
                return PlanOutcome::Planned(needed);
            }
            let missed = late.first().copied();
            as_told(&mut late, &unbounded, &needed, bound);
            late.extend(late_for_broken(&unbounded));
            late.sort_by_key(|late| (late.latest, late.step));
            late.dedup_by_key(|late| late.step);
            let because = match missed.filter(|_| late.is_empty()) {
                Some(missed) => explain::missed(&unbounded, &needed, missed),
                None => explain::too_late(&unbounded, &needed, &late, now, from),
            };
            PlanOutcome::TooLate {
                needed,
                forecast: None,
                late,
                because,
            }
        }
        Err(Stopped::Refuted(violations)) => PlanOutcome::Impossible(violations),
        Err(Stopped::NoSchedule(outcome)) => {
            let because = explain::impossible(&unbounded, &bounded, &outcome);
            overtaken(asked, &bounded, because.clone()).unwrap_or(PlanOutcome::Impossible(because))
        }
    }
}

/// Returns the steps of a plan that would have been needed before a moment and have not happened, the earliest first.
pub(super) fn needed_before(
    needed: &Plan,
    bound: Minute,
    has_happened: impl Fn(StepIndex) -> bool,
) -> Vec<Late> {
    let starts = needed.steps.iter().map(|step| step.window.start);
    let late = starts.enumerate().filter(|&(_, start)| start < bound);
    let mut late: Vec<Late> = late
        .filter(|&(step, _)| !has_happened(step))
        .map(|(step, latest)| Late { step, latest })
        .collect();
    late.sort_by_key(|late| (late.latest, late.step));
    late
}

/// Raises when steps should have started to when they were told last, for nobody was to begin them sooner however early
/// that would have been needed since, and leaves out those for which that is still to come.
fn as_told(late: &mut Vec<Late>, bridge: &Bridge<'_>, needed: &Plan, bound: Minute) {
    late.retain_mut(|one| {
        let told = bridge.last_told(&needed.steps[one.step].key);
        one.latest = told.map_or(one.latest, |told| one.latest.max(told.start));
        one.latest < bound
    });
}

/// Returns the plan of the menu as if nothing had happened, as what would have been needed, when it is what has
/// happened that leaves no plan: the cook keeps the times of every other dish, and is told what broke them.
fn overtaken(asked: Asked<'_>, bounded: &Bridge<'_>, because: Vec<String>) -> Option<PlanOutcome> {
    let now = asked.now;
    if asked.happened.is_empty() {
        return None;
    }
    let nothing = Happened::new();
    let before = Asked {
        happened: &nothing,
        shown: None,
        ..asked
    };
    let first = Bridge::new(before, Bound::None);
    let schedule = checked(&first, Effort::quick(&first.instance)).ok()?;
    let starts: Vec<Minute> = schedule
        .placements
        .iter()
        .map(|placed| Minute(placed.start))
        .collect();
    let needed = answer::plan(&first, &schedule, &starts, now);
    let mut late = needed_before(&needed, now, |step| bounded.has_happened(step));
    as_told(&mut late, bounded, &needed, now);
    let mut said =
        vec!["after what has happened the rest does not fit as the cards stand".to_owned()];
    said.extend(explain::running_long(bounded, now, Minutes::ZERO));
    // The bare conflict speaks of a menu that was never possible; this one was.
    said.extend(
        because
            .into_iter()
            .filter(|line| !line.starts_with("no plan was found")),
    );
    Some(PlanOutcome::TooLate {
        needed,
        forecast: None,
        late,
        because: said,
    })
}

/// Returns the plan that a checked schedule stands for, with how far each step can slip.
pub(super) fn planned(bridge: &Bridge<'_>, schedule: &Schedule, now: Minute) -> Plan {
    let slipped = slips(&bridge.instance, schedule).into_iter().map(Minute);
    answer::plan(bridge, schedule, &slipped.collect::<Vec<_>>(), now)
}

/// Returns what the menu alone tells the cooks: the times of the plan that ignores both the clock and the book, which
/// [`plan()`] keeps where nothing else has been announced. Whoever plans a menu again and again asks once.
pub fn told_by_menu(menu: &Menu, service: ServiceTime) -> Option<Announced> {
    timeless(Asked {
        menu,
        service,
        happened: &Happened::new(),
        now: Minute::SERVICE,
        told: None,
        shown: None,
    })
}

/// Returns the same moments counted from a service that has moved.
#[must_use]
pub fn counted_from(mut told: Announced, was: ServiceTime, is: ServiceTime) -> Announced {
    if was != is {
        for told in told.values_mut() {
            told.start = is.minute(was.timestamp(told.start));
        }
    }
    told
}

/// Returns what the plan that ignores the clock and the book tells the cooks.
pub(super) fn timeless(asked: Asked<'_>) -> Option<Announced> {
    let nothing = Happened::new();
    let asked = Asked {
        happened: &nothing,
        told: None,
        shown: None,
        ..asked
    };
    let bridge = Bridge::new(asked, Bound::Menu);
    let schedule = checked(&bridge, Effort::quick(&bridge.instance)).ok()?;
    Some(bridge.announcement(&schedule))
}

/// Returns the bridge and its checked schedule in which steps stand where they were told, if all of them can; else
/// where they were shown last; else as near to that as is found.
pub(super) fn keeping(asked: Asked<'_>, bound: Bound) -> (Bridge<'_>, Result<Schedule, Stopped>) {
    if asked.shown.is_some_and(|shown| !shown.is_empty()) {
        let told = Asked {
            shown: None,
            ..asked
        };
        if let Some((bridge, schedule)) = standing(told, bound, Push::Never) {
            return (bridge, Ok(schedule));
        }
    }
    let bridge = Bridge::new(asked, bound);
    // Where what has happened breaks a rule, these are times to measure by, and no plan to be made better.
    let effort = if bridge.broken.is_empty() {
        Effort::quick(&bridge.instance)
    } else {
        Effort::first(&bridge.instance)
    };
    let found = checked(&bridge, effort);
    (bridge, found)
}

/// Returns the same where nothing has to be looked for.
pub(super) fn kept(asked: Asked<'_>, bound: Bound) -> Option<(Bridge<'_>, Schedule)> {
    let told = Asked {
        shown: None,
        ..asked
    };
    standing(told, bound, Push::Never).or_else(|| standing(asked, bound, Push::Later))
}

fn standing(asked: Asked<'_>, bound: Bound, push: Push) -> Option<(Bridge<'_>, Schedule)> {
    let bridge = Bridge::new(asked, bound);
    let schedule = as_announced(&bridge.instance, push)?;
    let holds = verify::verify(&bridge.instance, &schedule).is_empty();
    holds.then_some((bridge, schedule))
}

/// Why there is no checked schedule.
pub(super) enum Stopped {
    /// The engine gave none.
    NoSchedule(Outcome),
    /// The engine gave one that the check refuses: a fault of the program, said as such.
    Refuted(Vec<String>),
}

/// Returns the engine's schedule, if it has one and the independent check accepts it.
pub(super) fn checked(bridge: &Bridge<'_>, effort: Effort) -> Result<Schedule, Stopped> {
    let outcome = solve(&bridge.instance, effort);
    let (Outcome::Optimal(schedule) | Outcome::Feasible(schedule)) = outcome else {
        return Err(Stopped::NoSchedule(outcome));
    };
    let violations = verify::verify(&bridge.instance, &schedule);
    if violations.is_empty() {
        return Ok(schedule);
    }
    // A fault in what betters a schedule must not cost the cook the one it began with.
    if effort.improve > 0 {
        let plain = Effort {
            improve: 0,
            ..effort
        };
        return checked(bridge, plain);
    }
    Err(Stopped::Refuted(explain::refuted(&violations)))
}

/// Returns the steps that should have come by now for what they follow, or to be served.
fn late_for_broken(bridge: &Bridge<'_>) -> Vec<Late> {
    let broken = bridge.broken.iter();
    let mut late: Vec<Late> = broken
        .filter_map(|broken| match *broken {
            Broken::Gap { step, by, .. } => Some(Late { step, latest: by }),
            Broken::Keeps { step, until } => Some(Late {
                step,
                latest: until,
            }),
            // It has begun.
            Broken::Course { .. } => None,
        })
        .collect();
    late.sort_by_key(|late| (late.latest, late.step));
    late
}
