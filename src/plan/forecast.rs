//! What can still be, where a menu cannot be done as it stands.
//!
//! The same menu around the same happenings is planned with courses that may be missed ([`Bound::Late`]): nothing
//! starts before now, every gap, heat, hand and opening is kept as on any plan, times that were told stay where they
//! can, and dishes come to the pass as little late as is found ([`weights`](super::weights) says what is summed).
//! Whoever works may stay on ([`staying_on`](super::staying_on)). Where nothing is found, or nothing but hours too late,
//! times by which cards want steps done may be missed too, their hours overrun as long as anybody stays on, and longest
//! gaps after what has happened stretched; a step of which that is so says by when it was needed. Where still nothing is
//! found, dishes are given up: those that even alone could not be ready within a day of the last course, and if need be
//! more of those of which a step was missed.
//!
//! A gap is stretched only where what comes before it has happened, and the sheet says so: whether what has stood too
//! long may still be served is for the person responsible to say, not for a forecast.

use std::collections::BTreeSet;

use super::answer;
use super::explain::{later_than_wanted, proof, quoted, running_long};
use super::from_menu::{Asked, Bound, Bridge, Stretched, presumed};
use super::late::lateness;
use super::make::{Stopped, checked, keeping, kept, needed_before};
use super::run_sheet::{Announced, Done, Happened, Late, Lateness, Plan, PlannedStep};
use super::staying_on::STAY;
use super::wanted::Wanted;
use crate::menu::{Edge, Menu};
use crate::schedule::cost::cost;
use crate::schedule::reach::{Counted, Reach};
use crate::schedule::search::{Improver, slips};
use crate::schedule::{self, ActivityId, Effort, Placement, Schedule, verify};
use crate::time::{Minute, Minutes, Window};

/// How long something runs over before its tick is taken for forgotten.
const FORGOTTEN: Minutes = Minutes(30);

/// How many epochs are searched for less lateness at a time, after those of any plan; as long as that helps, again.
const EPOCHS: u32 = 6;

/// The same where what was shown last still holds: it has been searched for before, and will be with the next entry.
const EPOCHS_KEPT: u32 = 2;

/// How often at most.
const ROUNDS: u32 = 2;

/// What can still be.
pub(super) enum Forecast {
    /// Something is late, or does not hold.
    Late {
        /// What can still be.
        plan: Plan,
        /// What is to be said before anything else: what runs so long that its tick may have been forgotten.
        first: Vec<String>,
        /// What is to be said after the rest: what is later than its card wants it.
        more: Vec<String>,
    },
    /// Nothing is: a search that had to keep every course missed this plan, which does.
    InTime(Plan),
}

/// Returns what can still be, given what would have been needed, where anything says so, and what of it should have
/// started before now.
pub(super) fn forecast(asked: Asked<'_>, needed: Option<&Plan>, late: &[Late]) -> Option<Forecast> {
    let nothing = BTreeSet::new();
    let looked_for = || {
        let strict = placed(asked, false).ok();
        if strict.as_ref().is_some_and(is_a_little_late) || is_as_strict(&bridge(asked, true)) {
            return strict;
        }
        let either = strict.into_iter().chain(placed(asked, true).ok());
        either.min_by_key(|(bridge, schedule)| missed(bridge, &schedule.placements))
    };
    let whole = still_holds(asked).or_else(looked_for);
    if let Some((bridge, schedule)) = whole {
        if !is_late(&bridge, &schedule)
            && bridge.broken.is_empty()
            && past_gaps(&bridge, &schedule).is_empty()
            && let Some(plan) = in_time(asked, &schedule.placements)
        {
            return Some(Forecast::InTime(plan));
        }
        let plan = shown(asked, (&bridge, &schedule), needed, late, &nothing);
        return Some(explained(plan, &bridge, &schedule, asked.now));
    }
    let missed = missed_on(needed, asked);
    let lost = given_up_for_good(asked, &missed)?;
    let happened = skipped(asked, &lost);
    let rest = Asked {
        happened: &happened,
        ..asked
    };
    let (bridge, schedule) = placed(rest, true).ok()?;
    let plan = shown(asked, (&bridge, &schedule), needed, late, &lost);
    Some(explained(plan, &bridge, &schedule, asked.now))
}

/// Returns a forecast with what is to be said of it.
fn explained(plan: Plan, bridge: &Bridge<'_>, schedule: &Schedule, now: Minute) -> Forecast {
    let late = past_cards(bridge, schedule).into_iter();
    Forecast::Late {
        plan,
        first: running_long(bridge, now, FORGOTTEN),
        more: late
            .map(|(step, by)| later_than_wanted(bridge, schedule, step, by))
            .collect(),
    }
}

/// Returns the dishes without which the rest can be done: those that could not be ready even alone, and then, one after
/// another, those of which a step was missed and, if that is not enough, one more; as few as are found to do.
fn given_up_for_good(asked: Asked<'_>, late: &[Late]) -> Option<BTreeSet<usize>> {
    let doings = super::expand::expand(asked.menu).doings;
    let mut lost = lost(asked);
    let done = |lost: &BTreeSet<usize>| {
        let happened = skipped(asked, lost);
        let rest = Asked {
            happened: &happened,
            ..asked
        };
        let bridge = bridge(rest, true);
        checked(&bridge, Effort::first(&bridge.instance)).is_ok()
    };
    let mut missed: Vec<usize> = Vec::new();
    for one in late {
        let dish = doings[one.step].dish;
        if !lost.contains(&dish) && !missed.contains(&dish) {
            missed.push(dish);
        }
    }
    let to_come = |dish: usize| {
        let mut of_dish = doings.iter().filter(move |doing| doing.dish == dish);
        of_dish.any(|doing| !asked.happened.contains_key(&doing.key))
    };
    // Where none of those helps, two that contend for the same hands may have missed nothing yet: then any may be it.
    let others: Vec<usize> = (0..asked.menu.dishes.len())
        .filter(|dish| !lost.contains(dish) && !missed.contains(dish) && to_come(*dish))
        .collect();
    let one_more = |lost: &BTreeSet<usize>| {
        let mut others = others.iter().copied();
        others.find(|&dish| done(&lost.iter().copied().chain([dish]).collect()))
    };
    let mut given_up = Vec::new();
    let mut missed = missed.into_iter();
    while lost.is_empty() || !done(&lost) {
        let dish = missed.next().or_else(|| one_more(&lost))?;
        lost.insert(dish);
        given_up.push(dish);
    }
    // The last was needed; one before it may not have been.
    given_up.pop();
    for dish in given_up {
        lost.remove(&dish);
        if !done(&lost) {
            lost.insert(dish);
        }
    }
    // Where nothing else is left to do there is nothing to forecast, unless it is the end of an evening that could be done
    // once: who stands at the last dish sees what runs, and that the rest of it is given up.
    let mut rest = (0..asked.menu.dishes.len()).filter(|dish| !lost.contains(dish));
    let is_at_its_end = asked.told.is_some() && !asked.happened.is_empty();
    (is_at_its_end || rest.any(to_come)).then_some(lost)
}

fn bound(asked: Asked<'_>, cards: bool) -> Bound {
    let now = asked.now;
    Bound::Late { now, cards }
}

fn bridge(asked: Asked<'_>, cards: bool) -> Bridge<'_> {
    Bridge::new(asked, bound(asked, cards))
}

/// Whether every dish is late by minutes at the most: then no card and no gap is asked to give. A dish that waits for
/// another day is as good as gone.
fn is_a_little_late((bridge, schedule): &(Bridge<'_>, Schedule)) -> bool {
    let doings = 0..bridge.expanded.doings.len();
    let to_come = doings.filter(|&index| !bridge.has_happened(index));
    let mut late_by = to_come.map(|index| {
        let (_, dish, _) = bridge.doing(index);
        schedule.placements[index].end - bridge.menu.course_of(dish).offset.0
    });
    late_by.all(|by| by <= STAY.0)
}

/// Whether nothing may be missed on a bridge but courses.
fn is_as_strict(bridge: &Bridge<'_>) -> bool {
    let mut activities = bridge.instance.activities.iter();
    bridge.stretched.is_empty() && activities.all(|it| it.due.is_none())
}

/// Returns a bridge with what was shown last, if that still holds, or with one in which less is missed. What may be
/// missed at all is as much as ever: that as little as possible is was looked for when it was first shown, and is again.
fn still_holds(asked: Asked<'_>) -> Option<(Bridge<'_>, Schedule)> {
    if asked.shown.is_none_or(Announced::is_empty) {
        return None;
    }
    let strict = kept(asked, bound(asked, false)).filter(is_a_little_late);
    let (bridge, schedule) = strict.or_else(|| kept(asked, bound(asked, true)))?;
    let schedule = less_late(&bridge, schedule);
    Some((bridge, schedule))
}

/// Returns a bridge with a schedule that is as little late as was found.
fn placed(asked: Asked<'_>, cards: bool) -> Result<(Bridge<'_>, Schedule), Stopped> {
    let (mut bridge, mut found) = keeping(asked, bound(asked, cards));
    if found.is_err() && asked.shown.is_some_and(|shown| !shown.is_empty()) {
        // Nothing was found near what was shown last; there may be something near what was told.
        let told = Asked {
            shown: None,
            ..asked
        };
        (bridge, found) = keeping(told, bound(told, cards));
    }
    let schedule = less_late(&bridge, found?);
    Ok((bridge, schedule))
}

/// Returns what has happened, with what is still to come of some dishes as if it had been skipped now. What must have
/// happened, because what follows it has begun, is left for the bridge to presume.
fn skipped(asked: Asked<'_>, dishes: &BTreeSet<usize>) -> Happened {
    let mut happened = asked.happened.clone();
    let expanded = super::expand::expand(asked.menu);
    let has_happened = presumed(&expanded, asked.happened);
    for (doing, done) in expanded.doings.into_iter().zip(has_happened) {
        if dishes.contains(&doing.dish) && done.is_none() {
            happened
                .entry(doing.key)
                .or_insert(Done::Skipped(asked.now));
        }
    }
    happened
}

/// Returns the dishes that could not be ready even if nothing else had to be done, and those that need something of
/// them.
fn lost(asked: Asked<'_>) -> BTreeSet<usize> {
    let needs = needs(asked.menu);
    (0..asked.menu.dishes.len())
        .filter(|&dish| {
            let happened = alone(asked, dish, &needs);
            let alone = Asked {
                happened: &happened,
                ..asked
            };
            let bridge = bridge(alone, true);
            checked(&bridge, Effort::first(&bridge.instance)).is_err()
        })
        .collect()
}

/// Returns why a dish could not be ready even if nothing else had to be done, where that is proved.
fn cannot_alone(asked: Asked<'_>, dish: usize) -> Option<String> {
    let happened = alone(asked, dish, &needs(asked.menu));
    let alone = Asked {
        happened: &happened,
        ..asked
    };
    proof(&bridge(alone, true))
}

/// Returns which dish needs something of which other.
fn needs(menu: &Menu) -> BTreeSet<(usize, usize)> {
    let expanded = super::expand::expand(menu);
    let dish_of = |doing: usize| expanded.doings[doing].dish;
    let links = expanded.links.iter();
    links
        .map(|link| (dish_of(link.to), dish_of(link.from)))
        .filter(|(to, from)| to != from)
        .collect()
}

/// Returns what would have happened had nothing to be done but a dish and what it needs.
fn alone(asked: Asked<'_>, dish: usize, needs: &BTreeSet<(usize, usize)>) -> Happened {
    let mut kept = BTreeSet::from([dish]);
    loop {
        let more = needs.iter().filter(|(to, _)| kept.contains(to));
        let more: Vec<usize> = more.map(|&(_, from)| from).collect();
        let before = kept.len();
        kept.extend(more);
        if kept.len() == before {
            break;
        }
    }
    let others = (0..asked.menu.dishes.len()).filter(|dish| !kept.contains(dish));
    skipped(asked, &others.collect())
}

/// Returns a schedule in which less is late, where one is found. What was kept is changed for nothing else.
fn less_late(bridge: &Bridge<'_>, found: Schedule) -> Schedule {
    let least = least_missed(bridge);
    let was = missed(bridge, &found.placements);
    if was <= least {
        return found;
    }
    let Ok(mut improver) = Improver::new(&bridge.instance, &found, 1) else {
        return found;
    };
    let epochs = if found.kept { EPOCHS_KEPT } else { EPOCHS };
    let mut better = None;
    let mut least_found = was;
    for _ in 0..ROUNDS {
        let before = improver.cost();
        improver.run(epochs, 1, &|| false);
        let best = improver.best();
        let misses = missed(bridge, &best.placements);
        let helps = misses < least_found || (!found.kept && best.cost < before);
        if !helps {
            break;
        }
        least_found = misses;
        better = Some(best);
    }
    let Some(better) = better else { return found };
    if verify::verify(&bridge.instance, &better).is_empty() {
        better
    } else {
        found
    }
}

/// Returns by how much courses, times on cards and gaps that may be missed are, weighted as in the cost.
fn missed(bridge: &Bridge<'_>, placements: &[Placement]) -> i64 {
    let at = |(id, edge): (ActivityId, schedule::Edge)| match edge {
        schedule::Edge::Start => i64::from(placements[id.0].start),
        schedule::Edge::End => i64::from(placements[id.0].end),
    };
    missed_by(
        bridge,
        |id| at((id, schedule::Edge::End)),
        |from, to| {
            let between = at(to) - at(from);
            (between, between)
        },
    )
}

/// Returns what no schedule misses less than, however much hands and kit there were; what may be missed then is.
fn least_missed(bridge: &Bridge<'_>) -> i64 {
    match Reach::of(&bridge.instance, Counted::Capacity) {
        Ok(reach) => missed_by(
            bridge,
            |id| i64::from(reach.edge((id, schedule::Edge::End)).0),
            |from, to| reach.between(from, to),
        ),
        Err(_) => 0,
    }
}

/// The same, given when an activity ends at the earliest, and how far apart two moments are at least and at most.
fn missed_by(
    bridge: &Bridge<'_>,
    end: impl Fn(ActivityId) -> i64,
    between: impl Fn((ActivityId, schedule::Edge), (ActivityId, schedule::Edge)) -> (i64, i64),
) -> i64 {
    let instance = &bridge.instance;
    let to_come = |id: ActivityId| instance.activities[id.0].fixed.is_none();
    let mut missed = 0;
    for (index, activity) in instance.activities.iter().enumerate() {
        if let Some(due) = activity.due.filter(|_| to_come(ActivityId(index))) {
            let over = end(ActivityId(index)) - i64::from(due);
            missed += instance.weights.late * over.max(0);
        }
    }
    for (wish, wanted) in instance.wishes.iter().zip(&bridge.wanted) {
        let counts = matches!(wanted, Wanted::Course(_) | Wanted::Gap(_));
        if counts && (to_come(wish.from.0) || to_come(wish.to.0)) {
            let (least, most) = between(wish.from, wish.to);
            let short = wish.least.map_or(0, |wanted| i64::from(wanted) - most);
            let past = wish.most.map_or(0, |wanted| least - i64::from(wanted));
            let weight = instance.weights.wish * i64::from(wish.weight);
            missed += weight * (short.max(0) + past.max(0));
        }
    }
    missed
}

/// Whether anything that is still to come ends after its course, or after a time on its card.
fn is_late(bridge: &Bridge<'_>, schedule: &Schedule) -> bool {
    let doings = 0..bridge.expanded.doings.len();
    doings
        .filter(|&index| !bridge.has_happened(index))
        .any(|index| schedule.placements[index].end > latest_end(bridge, index))
}

/// Whether everything that runs or is still to come ends in time for its course.
pub(super) fn has_courses_in_time(bridge: &Bridge<'_>, schedule: &Schedule) -> bool {
    let happened = bridge.happened.iter().enumerate();
    let mut to_end =
        happened.filter(|(_, done)| done.is_none_or(|it| it.running_since().is_some()));
    to_end.all(|(index, _)| {
        let (_, dish, _) = bridge.doing(index);
        schedule.placements[index].end <= bridge.menu.course_of(dish).offset.0
    })
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
    // What has happened may have missed a course already, with everything still to come in time.
    if !bridge.broken.is_empty() {
        return None;
    }
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

/// Returns the plan as it is shown, with what is late of it and why; what is lost stands where it would have been
/// needed.
fn shown(
    asked: Asked<'_>,
    (bridge, schedule): (&Bridge<'_>, &Schedule),
    needed: Option<&Plan>,
    late: &[Late],
    lost: &BTreeSet<usize>,
) -> Plan {
    let now = asked.now;
    let mut plan = answer::plan(bridge, schedule, &can_slip(bridge, schedule), now);
    for (index, step) in plan.steps.iter_mut().enumerate() {
        let is_to_come = !step.is_presumed && !asked.happened.contains_key(&step.key);
        if lost.contains(&step.dish) && is_to_come {
            // Where nothing says when it would have been needed it stands at now, and nobody has skipped it.
            let needed = needed.map_or_else(|| step.clone(), |needed| needed.steps[index].clone());
            *step = PlannedStep {
                told: None,
                happened: None,
                ..needed
            };
        }
    }
    let missed = missed_on(needed, asked);
    let past_gaps = past_gaps(bridge, schedule);
    plan.breaks |= !past_gaps.is_empty();
    let past = past_gaps.into_iter().chain(past_cards(bridge, schedule));
    let softened = past.map(|(step, over)| Late {
        step,
        latest: Minute(schedule.placements[step].start) - over,
    });
    for one in late.iter().copied().chain(softened) {
        if let Some(step) = plan.steps.get_mut(one.step)
            && step.happened.is_none()
        {
            let earlier = step.needed_by.into_iter().chain([one.latest]).min();
            step.needed_by = earlier;
        }
    }
    for dish in 0..plan.dishes.len() {
        plan.dishes[dish].late = if lost.contains(&dish) {
            let of_dish = |one: &&Late| plan.steps[one.step].dish == dish;
            let said = |one: &Late, how: &str| {
                format!(
                    "{} {how} by {}",
                    quoted(bridge, one.step),
                    bridge.service.local(one.latest).weekday_clock()
                )
            };
            let because = match (late.iter().find(of_dish), missed.iter().find(of_dish)) {
                (Some(one), _) => said(one, "should have started"),
                (None, Some(one)) => said(one, "would have had to start"),
                (None, None) => cannot_alone(asked, dish).unwrap_or_else(|| {
                    "what is left of it does not fit into a day after the last course".to_owned()
                }),
            };
            Some(Lateness { by: None, because })
        } else {
            lateness(bridge, schedule, needed, &plan.dishes[dish], now)
        };
        if lost.contains(&dish) {
            let at_pass = plan.dishes[dish].at_pass;
            plan.dishes[dish].ready = needed.map_or(at_pass, |needed| needed.dishes[dish].ready);
        }
    }
    let steps = &plan.steps;
    plan.order.sort_by_key(|&index| {
        let window = steps[index].window;
        (window.start, window.end, index)
    });
    let starts = steps.iter().map(|step| step.window.start);
    let ends = steps.iter().map(|step| step.window.end);
    plan.span = Window::new(
        starts
            .chain([plan.span.start])
            .min()
            .unwrap_or(plan.span.start),
        ends.chain([plan.span.end]).max().unwrap_or(plan.span.end),
    );
    plan
}

/// Returns the steps that would have been needed before now, the earliest first, whatever the cooks were told.
fn missed_on(needed: Option<&Plan>, asked: Asked<'_>) -> Vec<Late> {
    needed.map_or_else(Vec::new, |needed| {
        needed_before(needed, asked.now, |step| {
            let step = &needed.steps[step];
            asked.happened.contains_key(&step.key) || step.is_presumed
        })
    })
}

/// Returns the steps that come longer after what has happened than their gaps allow, with by how much.
fn past_gaps(bridge: &Bridge<'_>, schedule: &Schedule) -> Vec<(usize, Minutes)> {
    let at = |(index, edge): (usize, Edge)| {
        let placed = schedule.placements[index];
        Minute(match edge {
            Edge::Start => placed.start,
            Edge::End => placed.end,
        })
    };
    let gaps = bridge.stretched.iter();
    let over = gaps.map(|&Stretched { from, to, most }| (to.0, at(to) - at(from) - most));
    over.filter(|&(step, over)| over.0 > 0 && !bridge.has_happened(step))
        .collect()
}

/// Returns the steps that end after the time on their card, with by how much.
fn past_cards(bridge: &Bridge<'_>, schedule: &Schedule) -> Vec<(usize, Minutes)> {
    let activities = bridge.instance.activities.iter().enumerate();
    let over = activities.filter_map(|(index, activity)| {
        let over = schedule.placements[index].end - activity.due?;
        Some((index, Minutes(over)))
    });
    over.filter(|&(step, over)| over.0 > 0 && !bridge.has_happened(step))
        .collect()
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
