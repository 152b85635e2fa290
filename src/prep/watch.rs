//! What calls for attention: said before it goes wrong, with the last moment at which it can still be saved.
//!
//! A call has a name that stays the same from minute to minute, so that an answer to it (an entry of the book) holds
//! at every terminal, and a call that is answered does not come again. At the last moment at which a step can begin or
//! end it calls by another name, once more: who answered the first may have been called away since.
//!
//! | call | from | until |
//! |---|---|---|
//! | start a step | five minutes before it starts | it has begun; the last moment is the one the plan can stand |
//! | tick a step | something that follows it has begun, so that it must be over | it is ticked |
//! | take off a step, or end its wait | its planned end | it is done; the last moment is the one after which a course is late |
//! | look at a step (stir, skim, turn) | each time the card asks for, an hour past its end at the most | the next time |
//! | colder in time | half an hour before the rule for cooling wants it, from two readings on | it is read to be there |
//! | see to an order or a soak | half an hour before it must be out or begun | it is seen to, two hours past it at the most |
//! | past its best | a quarter of an hour before | the step that takes it has begun |
//!
//! What is left out of what can still be calls for nothing: [`Plan::is_given_up`].
//!
//! # Left out
//! What only a plan of other times would need: it calls when those times are the plan's. Readings that should have been
//! taken and were not: no card says how often.

use std::collections::BTreeMap;

use super::temperatures::{believed, cooling_of};
use super::{ErrandAt, PrepState, Progress, rule_sets};
use crate::menu::{Edge, Menu, Step};
use crate::plan::{Done, Late, Plan, PlanOutcome, PlannedStep, StepIndex, StepKey};
use crate::safety::readings;
use crate::time::{Minute, Minutes};

/// How long before its start a step calls.
const AHEAD: Minutes = Minutes(5);

/// How close its last moment is when a start is urgent. Plans are as late as they can be, so that most steps have no
/// more time than this in hand; what calls them all urgent calls none.
const NOW_OR_NEVER: Minutes = Minutes(2);

/// How close its last moment is when a start or an end calls once more.
const LAST: Minutes = Minutes(1);

/// How close its last moment is when an end is urgent.
const URGENT: Minutes = Minutes(10);

/// How long before a rule wants food colder a call says so: time to change the water or divide the pan.
const COOL: Minutes = Minutes(30);

/// How long after its end what still runs is looked at.
pub(super) const LOOKED_AT: Minutes = Minutes::hours(1);

/// How long before an order must be out a call says so: whoever has to be rung may not answer at once.
const ERRAND: Minutes = Minutes(30);

/// How long after that it still calls; what nobody saw to by then stands in the countdown and in the handover.
const ERRAND_LATE: Minutes = Minutes::hours(2);

/// How long before it food is past its best a call says so.
const BEST: Minutes = Minutes(15);

/// Something that calls for attention.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Call {
    /// What it is known by in the book: `start pears/poach`. Two calls never share one.
    pub name: String,
    /// The step it is about; none where it is about an errand.
    pub step: Option<StepKey>,
    /// What kind of call it is.
    pub kind: Kind,
    /// What it says, without a full stop.
    pub says: String,
    /// When it begins to call.
    pub at: Minute,
    /// The last moment at which it can still be saved, where there is one.
    pub by: Option<Minute>,
    /// Whether that is upon us, or has passed.
    pub is_urgent: bool,
}

/// What kind of call it is, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// A step has to begin.
    Start,
    /// A step has to end.
    End,
    /// An order has to be out, or something has to be soaked or thawed.
    Errand,
    /// A step has to be looked at.
    Look,
    /// Food has to be colder by a certain time, by the rules for temperatures.
    Cool,
    /// Food will be past its best.
    Best,
    /// A step that must be over was not ticked.
    Tick,
}

/// What calls are made from.
#[derive(Clone, Copy, Debug)]
pub struct Watched<'a> {
    /// The menu, with what was decided.
    pub menu: &'a Menu,
    /// What became of planning.
    pub outcome: &'a PlanOutcome,
    /// What has happened.
    pub prep: &'a PrepState,
    /// What is to be seen to.
    pub errands: &'a [ErrandAt],
    /// For each running step, the last minute at which it may end with every course in time, as far as known.
    pub latest_ends: &'a BTreeMap<StepKey, Minute>,
    /// The minute it is.
    pub now: Minute,
}

/// Returns what calls at this minute, answered or not: the urgent first, then by the last moment, then by the time
/// from which it calls.
pub fn calls(watched: Watched<'_>) -> Vec<Call> {
    let Some(plan) = watched.outcome.times() else {
        return Vec::new();
    };
    let late = match watched.outcome {
        PlanOutcome::TooLate { late, .. } => late.as_slice(),
        _ => &[],
    };
    let errands = watched.errands.iter();
    let mut calls: Vec<Call> = errands.filter_map(|it| errand(watched, plan, it)).collect();
    for (index, planned) in plan.steps.iter().enumerate() {
        let Some(step) = step_of(watched.menu, planned) else {
            continue;
        };
        match watched.prep.progress(&planned.key) {
            Progress::Waiting if plan.is_given_up(index) => {}
            Progress::Waiting if planned.is_presumed => {
                calls.push(tick(watched, planned));
            }
            Progress::Waiting => {
                calls.extend(start(watched, plan, index, late));
                calls.extend(best(watched, plan, index));
            }
            Progress::Running { .. } => {
                calls.extend(end(watched, plan, planned));
                calls.extend(look(watched, plan, planned, step));
                calls.extend(cool(watched, plan, planned));
            }
            Progress::Finished { .. } | Progress::Skipped { .. } => {}
        }
    }
    calls.retain(|call| call.at <= watched.now);
    calls.sort_by(|one, other| {
        let key = |call: &Call| {
            (
                !call.is_urgent,
                call.by.unwrap_or(Minute(i32::MAX)),
                call.at,
            )
        };
        key(one)
            .cmp(&key(other))
            .then_with(|| one.name.cmp(&other.name))
    });
    calls
}

/// Returns the last moment at which a step that waits may begin by the gaps and keeping limits of its card after what
/// has happened, and which that is, in words.
pub fn limit(menu: &Menu, plan: &Plan, step: StepIndex) -> Option<(Minute, String)> {
    let planned = plan.steps.get(step)?;
    let card = step_of(menu, planned)?;
    let mut limits = Vec::new();
    for before in done_before(plan, planned) {
        let Some(other) = step_of(menu, before) else {
            continue;
        };
        if let Some(keeps) = other.fresh.keeps {
            let said = format!("what \"{}\" makes keeps {keeps}", before.name);
            limits.push((before.window.end + keeps, said));
        }
        let after = card.after.iter();
        for after in after.filter(|it| names(&it.step, before, planned)) {
            let Some(most) = after.gap.most else { continue };
            let from = match after.from {
                Edge::Start => before.window.start,
                Edge::End => before.window.end,
            };
            // A gap to its end leaves its own length less.
            let length = match after.to {
                Edge::Start => Minutes::ZERO,
                Edge::End => planned.window.length(),
            };
            let said = match most {
                Minutes::ZERO => format!("straight on after \"{}\"", before.name),
                most => format!("at most {most} after \"{}\"", before.name),
            };
            limits.push((from + most - length, said));
        }
    }
    limits.into_iter().min()
}

/// Returns the steps before one of which the food is there: what was skipped has made none, and no gap counts from it.
fn done_before<'a>(
    plan: &'a Plan,
    planned: &'a PlannedStep,
) -> impl Iterator<Item = &'a PlannedStep> {
    let before = planned.follows.iter();
    let before = before.filter_map(|&at| plan.steps.get(at));
    before.filter(|before| {
        before
            .happened
            .is_some_and(|done| !matches!(done, Done::Skipped(_)))
    })
}

/// Returns what a call is known by: at the last moment by another name.
fn named(what: &str, planned: &PlannedStep, by: Option<Minute>, now: Minute) -> String {
    let last = if by.is_some_and(|by| by <= now + LAST) {
        "last "
    } else {
        ""
    };
    format!("{last}{what} {}", planned.key)
}

fn step_of<'a>(menu: &'a Menu, planned: &PlannedStep) -> Option<&'a Step> {
    menu.dishes.get(planned.dish)?.steps.get(planned.step)
}

fn full_name(menu: &Menu, planned: &PlannedStep) -> String {
    let dish = menu.dishes.get(planned.dish);
    format!(
        "{} ({})",
        planned.name,
        dish.map_or("", |dish| dish.name.as_str())
    )
}

fn start(watched: Watched<'_>, plan: &Plan, index: StepIndex, late: &[Late]) -> Option<Call> {
    let planned = plan.steps.get(index)?;
    let name = full_name(watched.menu, planned);
    let clock = |minute: Minute| plan.service.local(minute).weekday_clock();
    let missed = late.iter().find(|late| late.step == index);
    let limit = limit(watched.menu, plan, index);
    let (at, by, says) = if let Some(missed) = missed.filter(|it| it.latest <= watched.now) {
        let latest = missed.latest;
        let stands = if planned.window.start > watched.now {
            format!("; it stands at {} now", clock(planned.window.start))
        } else {
            String::new()
        };
        let says = format!("{name} should have started by {}{stands}", clock(latest));
        (latest, Some(latest), says)
    } else {
        let slips = planned.can_slip_until.max(planned.window.start);
        let by = limit.as_ref().map_or(slips, |(limit, _)| slips.min(*limit));
        let because = match &limit {
            Some((limit, said)) if *limit <= slips => format!(", {said}"),
            _ => String::new(),
        };
        let starts = planned.window.start;
        // Past what its card says it cannot be; past what the plan says, others have to make room, and may not.
        let is_hard = limit.as_ref().is_some_and(|(limit, _)| *limit <= slips);
        let says = if let Some(missed) = missed {
            let (at, latest) = (clock(starts), clock(missed.latest));
            format!("{name} is needed by {latest} and cannot start before {at}")
        } else if starts > watched.now {
            let latest = match (by > starts, is_hard) {
                (true, true) => format!(", by {} at the latest", clock(by)),
                (true, false) => format!(", by {} to be sure", clock(by)),
                (false, true) => " and no later".to_owned(),
                (false, false) => " to be sure".to_owned(),
            };
            format!("start {name} at {}{latest}{because}", clock(starts))
        } else if is_hard {
            format!("start {name}: by {} at the latest{because}", clock(by))
        } else {
            format!("start {name}: by {} to be sure", clock(by))
        };
        (planned.window.start - AHEAD, Some(by), says)
    };
    // What it takes must be soaked or thawed by then, and nobody has said so. A short line keeps how a call begins.
    let mut errands = watched.errands.iter();
    let unready = errands.find_map(|it| it.unready(planned.dish, planned.step));
    let says = match unready {
        Some(unready) => format!("not ready for it: {says}; {unready}"),
        None => says,
    };
    Some(Call {
        name: named("start", planned, by, watched.now),
        step: Some(planned.key.clone()),
        kind: Kind::Start,
        says,
        at,
        is_urgent: by.is_some_and(|by| by <= watched.now + NOW_OR_NEVER),
        by,
    })
}

/// Returns that something is to be seen to: by then, or late.
fn errand(watched: Watched<'_>, plan: &Plan, errand: &ErrandAt) -> Option<Call> {
    let (now, by) = (watched.now, errand.at);
    if errand.seen_to.is_some() || now > by + ERRAND_LATE {
        return None;
    }
    let clock = plan.service.local(by).weekday_clock();
    let says = &errand.says;
    let (is_last, is_late) = (by <= now + LAST, by < now);
    Some(Call {
        name: format!("{}see to {says}", if is_last { "last " } else { "" }),
        step: None,
        kind: Kind::Errand,
        says: if is_late {
            format!("was to be by {clock}: {says}; is it?")
        } else {
            format!("by {clock}: {says}")
        },
        at: by - ERRAND,
        // Nothing on the stove waits behind what can no more be in time.
        by: (!is_late).then_some(by),
        is_urgent: !is_late && by <= now + URGENT,
    })
}

/// Whether a name on the card of a step is that of another.
fn names(name: &str, other: &PlannedStep, of: &PlannedStep) -> bool {
    let key = &other.key;
    (key.dish == of.key.dish && name == key.step) || name == format!("{}/{}", key.dish, key.step)
}

/// Whether a step begins only when another has ended, by the card.
fn waits_for_end(menu: &Menu, step: &PlannedStep, before: &PlannedStep) -> bool {
    let after = step_of(menu, step).into_iter().flat_map(|card| &card.after);
    let mut after = after.filter(|after| names(&after.step, before, step));
    after.any(|after| (after.from, after.to) == (Edge::End, Edge::Start))
}

/// Returns that a step is to be ticked: what follows it has begun.
fn tick(watched: Watched<'_>, planned: &PlannedStep) -> Call {
    let name = full_name(watched.menu, planned);
    Call {
        name: format!("tick {}", planned.key),
        step: Some(planned.key.clone()),
        kind: Kind::Tick,
        says: format!("is {name} done? What follows it has begun; tick it, or take that back"),
        at: planned.window.end,
        by: None,
        is_urgent: false,
    }
}

/// Returns by when a step with which a dish ends has to be over for it to be in time, where it still is on this plan.
fn pass_of(plan: &Plan, planned: &PlannedStep) -> Option<Minute> {
    let dish = plan.dishes.iter().find(|dish| dish.dish == planned.dish)?;
    let in_time = dish.late.is_none() && planned.window.end <= dish.at_pass;
    (in_time && planned.followed_by.is_empty()).then_some(dish.at_pass)
}

fn end(watched: Watched<'_>, plan: &Plan, planned: &PlannedStep) -> Option<Call> {
    let clock = |minute: Minute| plan.service.local(minute).weekday_clock();
    let name = full_name(watched.menu, planned);
    let by = watched.latest_ends.get(&planned.key).copied();
    let by = by.or_else(|| pass_of(plan, planned));
    let Progress::Running { since } = watched.prep.progress(&planned.key) else {
        return None;
    };
    let ends = planned.to_end();
    let over = ends <= watched.now + Minutes(1);
    let has_gone_on = planned.followed_by.iter().any(|&next| {
        let next = plan.steps.get(next);
        next.is_some_and(|next| {
            next.happened.is_some() && waits_for_end(watched.menu, next, planned)
        })
    });
    let says = match (over, by) {
        _ if has_gone_on => {
            format!("is {name} done? What follows it has begun; tick it, or take that back")
        }
        (false, Some(by)) if by > ends => format!(
            "{name} is over at {}, by {} at the latest",
            clock(ends),
            clock(by)
        ),
        (false, _) => format!("{name} is over at {}", clock(ends)),
        (true, Some(by)) if by > watched.now => format!(
            "{name} is to be over by now; by {} at the latest, or a course is late",
            clock(by)
        ),
        (true, Some(_)) => {
            format!("{name} is to be over by now; each minute more makes a course later")
        }
        (true, None) => format!("{name} is to be over by now, running since {}", {
            since.local(plan.service.zone()).weekday_clock()
        }),
    };
    // What is held up by it makes a forgotten tick worth a look.
    let mut waits = planned.followed_by.iter().filter_map(|&next| {
        let next = plan.steps.get(next)?;
        let told = next.told.unwrap_or(next.window.start);
        let is_held = next.happened.is_none() && !next.is_presumed && told < watched.now;
        (is_held && waits_for_end(watched.menu, next, planned)).then_some(&next.name)
    });
    let says = match waits.next().filter(|_| over && !has_gone_on) {
        Some(next) => format!("{says}; {next} waits for it"),
        None => says,
    };
    Some(Call {
        name: named("end", planned, by.filter(|_| over), watched.now),
        step: Some(planned.key.clone()),
        kind: Kind::End,
        says,
        at: ends - Minutes(1),
        by,
        is_urgent: over && by.is_some_and(|by| by <= watched.now + URGENT),
    })
}

/// Returns the look that is due: its number is in the name, so that each is called for and answered by itself.
fn look(watched: Watched<'_>, plan: &Plan, planned: &PlannedStep, step: &Step) -> Option<Call> {
    let look = planned
        .way
        .as_ref()
        .and_then(|way| step.ways.get(way.place))
        .map_or(step.hands.look, |way| way.hands.look)?;
    let every = look.every.0.max(1);
    let gone = (watched.now - planned.window.start).0;
    let number = gone / every;
    let at = planned.window.start + Minutes(number * every);
    // What runs long is looked at while it does; after an hour it is rather the tick that was forgotten.
    let runs_long = planned.is_overdue(watched.now);
    let until = planned.to_end() + if runs_long { LOOKED_AT } else { Minutes::ZERO };
    let is_within = |at: Minute| at < until;
    if number < 1 || !is_within(at) {
        return None;
    }
    let next = at + Minutes(every);
    let clock = |minute: Minute| plan.service.local(minute).clock();
    let again = if is_within(next) {
        format!(", again at {}", clock(next))
    } else {
        String::new()
    };
    Some(Call {
        name: format!("look {} {number}", planned.key),
        step: Some(planned.key.clone()),
        kind: Kind::Look,
        says: format!("look at {} now{again}", full_name(watched.menu, planned)),
        at,
        by: None,
        is_urgent: false,
    })
}

/// Returns by when what is being cooled has to be colder: by the rules of the menu, or the strictest where it names none.
fn cool(watched: Watched<'_>, plan: &Plan, planned: &PlannedStep) -> Option<Call> {
    let readings = watched.prep.temperatures_of(&planned.key);
    let &(_, now) = readings.last().filter(|_| readings.len() > 1)?;
    let believed = believed(&readings);
    let sets = rule_sets(watched.menu);
    let legs = sets.iter().flat_map(|set| {
        let legs = cooling_of(watched.menu, set, &planned.key, &believed);
        let now = plan.service.timestamp(watched.now);
        let read = (readings.as_slice(), believed.as_slice());
        let legs = readings::cooling_in_doubt(set, &legs, read, now).into_iter();
        legs.filter_map(|leg| Some((plan.service.minute(leg.by?), leg.leg.to, set.name)))
    });
    let (by, to, rules) = legs.min_by_key(|(by, ..)| *by)?;
    Some(Call {
        name: format!("cool {} to {to}", planned.key),
        step: Some(planned.key.clone()),
        kind: Kind::Cool,
        says: format!(
            "{} is to be at {to} °C by {} ({rules}); it was at {now} °C",
            full_name(watched.menu, planned),
            plan.service.local(by).weekday_clock()
        ),
        at: by - COOL,
        by: Some(by),
        is_urgent: by <= watched.now + URGENT,
    })
}

/// Returns that what a step takes will be past its best before it begins.
fn best(watched: Watched<'_>, plan: &Plan, index: StepIndex) -> Option<Call> {
    let planned = plan.steps.get(index)?;
    let soonest = done_before(plan, planned)
        .filter_map(|before| {
            let best = step_of(watched.menu, before)?.fresh.best?;
            Some((before.window.end + best, before))
        })
        .min_by_key(|(until, _)| *until)?;
    let (until, before) = soonest;
    if planned.window.start <= until {
        return None;
    }
    Some(Call {
        name: format!("best {}", planned.key),
        step: Some(planned.key.clone()),
        kind: Kind::Best,
        says: format!(
            "what \"{}\" made is at its best until {}; {} takes it at {}",
            before.name,
            plan.service.local(until).weekday_clock(),
            full_name(watched.menu, planned),
            plan.service.local(planned.window.start).weekday_clock()
        ),
        at: until - BEST,
        by: Some(until),
        is_urgent: false,
    })
}
