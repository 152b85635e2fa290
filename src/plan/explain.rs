//! Engine words → sentences a cook reads.

use super::from_menu::{Bridge, HANDS, Meaning};
use super::run_sheet::{Done, Late, Plan};
use crate::menu::Gap;
use crate::schedule::conflict::{Conflict, Shared};
use crate::schedule::verify::Violation;
use crate::schedule::{ActivityId, Blocking, Edge, Lag, Outcome, ResourceId, Schedule, Time};
use crate::time::{Minute, Minutes};

/// Returns why a doing stands where it does, as a sentence without a full stop.
pub(super) fn reason(bridge: &Bridge<'_>, schedule: &Schedule, index: usize) -> String {
    let start = |activity: ActivityId| clock(bridge, schedule.placements[activity.0].start);
    let end = |activity: ActivityId| clock(bridge, schedule.placements[activity.0].end);
    // A wait for the night is no step of its own; what holds step and wait together is the reason.
    let hidden = bridge.expanded.doings.len() + bridge.menu.courses.len();
    let held = match &schedule.blocking[index] {
        Blocking::Lag { other, .. } if other.0 >= hidden => &schedule.as_one[index],
        held => held,
    };
    match held {
        Blocking::Fixed => "it has happened".into(),
        Blocking::Deadline => {
            let by = bridge.instance.activities[index].deadline.unwrap_or(0);
            format!("must be over by {}, as its card says", clock(bridge, by))
        }
        Blocking::Horizon => "nothing later is looked at".into(),
        Blocking::Gate => {
            format!(
                "started any later it would not be over by {}",
                end(ActivityId(index))
            )
        }
        Blocking::Lag { lag, other, most } => match bridge.meaning[*lag] {
            Meaning::Course(doing) => {
                let dish = &bridge.menu.dishes[bridge.expanded.doings[doing].dish];
                let course = bridge.menu.course_of(dish);
                let at = clock(bridge, course.offset.0);
                match bridge.instance.lags[*lag].least {
                    0 => format!("must be at the pass by {at}"),
                    hand => format!(
                        "must be at the pass by {at}, with {} in hand",
                        Minutes(hand)
                    ),
                }
            }
            Meaning::Together => format!("must be ready together with {}", name(bridge, *other)),
            Meaning::Keeps => format!("{} keeps only so long", name(bridge, *other)),
            Meaning::InTurn => {
                format!(
                    "batches go in turn, and {} begins at {}",
                    name(bridge, *other),
                    start(*other)
                )
            }
            Meaning::After(link) => {
                if *most {
                    let most = bridge.instance.lags[*lag].most.unwrap_or(0);
                    let before = name(bridge, *other);
                    return match most {
                        0 => format!("goes straight on from {before}, over at {}", end(*other)),
                        most => format!("no later than {} after {before}", Minutes(most)),
                    };
                }
                let next = ActivityId(link.to);
                if link.gap == Gap::default() || bridge.instance.lags[*lag].least == 0 {
                    format!("{} at {} waits for it", name(bridge, next), start(next))
                } else {
                    let least = bridge.instance.lags[*lag].least;
                    format!(
                        "{} at {} comes {} after it",
                        name(bridge, next),
                        start(next),
                        Minutes(least)
                    )
                }
            }
        },
        Blocking::Resource { resource, by, at } => {
            busy(bridge, *resource, by, *at, ActivityId(index))
        }
        Blocking::Calendar { edge, .. } => {
            let step = step_of(bridge, index);
            let placed = schedule.placements[index];
            match (edge, step.and_then(|step| step.within)) {
                (Edge::End, Some(_)) => {
                    format!(
                        "its card lets it run no later than {}",
                        clock(bridge, placed.end)
                    )
                }
                (Edge::End, None) => {
                    format!(
                        "somebody must be in the building, and the last leave at {}",
                        clock(bridge, placed.end)
                    )
                }
                (Edge::Start, _) => "its hours allow no later start".into(),
            }
        }
    }
}

fn busy(
    bridge: &Bridge<'_>,
    resource: ResourceId,
    by: &[ActivityId],
    at: Time,
    but: ActivityId,
) -> String {
    let users: Vec<String> = by
        .iter()
        .filter(|&&user| user != but)
        .take(3)
        .map(|&user| name(bridge, user))
        .collect();
    let (what, when) = (resource_name(bridge, resource), clock(bridge, at));
    let capacity = bridge.instance.resources[resource.0].capacity_at(at);
    if resource == HANDS {
        return match (capacity, users.is_empty()) {
            (0, _) => format!("nobody is on shift at {when}"),
            (_, true) => format!("not enough hands are on shift at {when}"),
            (_, false) => format!("from {when} hands are needed for {}", list(&users)),
        };
    }
    match (capacity, users.is_empty()) {
        (0, _) | (_, true) => format!("the {what} is taken by others from {when}"),
        (_, false) => format!("the {what} is needed from {when} for {}", list(&users)),
    }
}

/// Returns why there is no plan although everything may start as early as it takes.
pub(super) fn impossible(
    unbounded: &Bridge<'_>,
    bounded: &Bridge<'_>,
    outcome: &Outcome,
) -> Vec<String> {
    let bridge = unbounded;
    match outcome {
        Outcome::Infeasible(conflict) => conflict_sentences(bridge, conflict),
        Outcome::Unknown(conflict) => {
            let mut said =
                vec!["no plan was found, though it is not proved that there is none".to_owned()];
            said.extend(conflict_sentences(bounded, conflict));
            said
        }
        _ => vec!["no plan was found".to_owned()],
    }
}

fn conflict_sentences(bridge: &Bridge<'_>, conflict: &Conflict) -> Vec<String> {
    match conflict {
        Conflict::Cycle { lags, excess } => {
            let mut said = vec![format!(
                "these gaps together ask for {} more than there is; one of them must give:",
                Minutes(*excess)
            )];
            said.extend(rules_on_cycle(bridge, lags, *excess));
            said.dedup();
            said
        }
        Conflict::Overload {
            resource,
            from,
            to,
            available,
            needed,
            activities,
        } => {
            let mut said = vec![format!(
                "{} {}, and {} need {needed} there at the least:",
                between(bridge, *from, *to),
                has_minutes(bridge, *resource, (*from, *to), *available),
                these_steps(activities.len())
            )];
            said.extend(named(bridge, activities));
            said
        }
        Conflict::Pair {
            activities: [one, other],
            shared,
            from,
            to,
            lacking,
        } => {
            let (one, other) = (name(bridge, *one), name(bridge, *other));
            let what = match shared {
                Shared::Resource(resource) => {
                    format!("both need the {}", resource_name(bridge, *resource))
                }
                Shared::State(_) => "need one oven at different heats".to_owned(),
            };
            vec![
                format!(
                    "{one} and {other} {what} {}, and neither can wait for the other",
                    between(bridge, *from, *to)
                ),
                format!("{} more between them would do", Minutes(*lacking)),
            ]
        }
        Conflict::Core {
            activities,
            lags,
            resources,
            proved,
            smallest,
            ..
        } => {
            let (steps, these) = (activities.len(), these_steps(activities.len()));
            let mut said = vec![match (steps, proved, smallest) {
                (1, true, _) => "this step does not fit even alone:".to_owned(),
                (1, false, _) => "no place was found for this step even alone:".to_owned(),
                (_, true, true) => {
                    format!("{these} do not fit together, and with any one of them less they would:")
                }
                (_, true, false) => format!("among {these} are some that do not fit together:"),
                (_, false, true) => format!(
                    "no way was found to fit {these} together; with any one of them less there is one:"
                ),
                (_, false, false) => format!("no way was found to fit {these} together:"),
            }];
            said.extend(named(bridge, activities));
            if !resources.is_empty() {
                let what: Vec<String> = resources
                    .iter()
                    .map(|&resource| match resource_name(bridge, resource) {
                        hands if resource == HANDS => hands,
                        kit => format!("the {kit}"),
                    })
                    .collect();
                said.push(format!("what they contend for: {}", list(&what)));
            }
            let mut rules: Vec<String> = lags.iter().map(|&lag| rule(bridge, lag)).collect();
            rules.dedup();
            if !rules.is_empty() {
                said.push(format!("what holds them to their times: {}", rules.join("; ")));
            }
            said
        }
        Conflict::Window {
            activity,
            earliest,
            latest,
            moved_by,
        } if activity.0 >= bridge.expanded.doings.len() => {
            // A course stands still; what cannot reach it is a dish that keeps too short a time.
            let kept = moved_by.iter().find_map(|&lag| match bridge.meaning[lag] {
                Meaning::Course(doing) => Some((doing, bridge.instance.lags[lag].most?)),
                _ => None,
            });
            let Some((doing, keeps)) = kept else {
                return vec![format!(
                    "{} cannot be reached in time",
                    name(bridge, *activity)
                )];
            };
            let at = bridge.instance.activities[activity.0]
                .fixed
                .map_or(0, |(at, _)| at);
            vec![
                format!(
                    "{} keeps at most {}, and cannot be made so late that it still keeps until {}: {} are missing",
                    quoted(bridge, doing),
                    Minutes(keeps),
                    clock(bridge, at),
                    Minutes(earliest.saturating_sub(*latest).abs()),
                ),
                "let it keep longer, or let the step be done later".to_owned(),
            ]
        }
        Conflict::Window {
            activity,
            earliest,
            latest,
            ..
        } => {
            let doing = name(bridge, *activity);
            let mut said = vec![format!(
                "{doing} would have to start by {} and cannot start before {}",
                clock(bridge, *latest),
                clock(bridge, *earliest)
            )];
            said.push(format!(
                "look at the hours, gaps and times of {doing} and of what it waits for: {} earlier would do",
                Minutes(earliest.saturating_sub(*latest))
            ));
            said
        }
        Conflict::Capacity {
            activity,
            resource,
            most,
        } => vec![format!(
            "{} needs more of the {} than there ever is ({most})",
            name(bridge, *activity),
            resource_name(bridge, *resource)
        )],
        Conflict::NoPlace {
            activity,
            earliest,
            latest,
            resource,
            by,
        } => {
            let doing = name(bridge, *activity);
            let mut said = vec![format!(
                "no room was found for {doing} between {} and {}",
                clock(bridge, *earliest),
                clock(bridge, *latest)
            )];
            if let Some(resource) = resource {
                let users: Vec<String> =
                    by.iter().take(4).map(|&user| name(bridge, user)).collect();
                let what = resource_name(bridge, *resource);
                said.push(if users.is_empty() {
                    format!("what is missing: {what}, of which there is not enough at those hours")
                } else {
                    format!("what is missing: {what}, needed then for {}", list(&users))
                });
            }
            said
        }
    }
}

/// Returns the rules on a cycle, each with what would have to stand there instead where that can be said.
fn rules_on_cycle(bridge: &Bridge<'_>, lags: &[usize], excess: Time) -> Vec<String> {
    let all = &bridge.instance.lags;
    // A rule is followed from its first step to its second where its least binds, and back where its most does.
    let ends = |lag: usize, back: bool| {
        let Lag { from, to, .. } = all[lag];
        if back { (to.0, from.0) } else { (from.0, to.0) }
    };
    let ways: Vec<Vec<bool>> = [false, true]
        .into_iter()
        .filter_map(|first| {
            let mut ways = Vec::new();
            let (begin, mut on) = ends(*lags.first()?, first);
            ways.push(first);
            for &lag in &lags[1..] {
                let back = [false, true].into_iter().find(|&back| ends(lag, back).0 == on)?;
                on = ends(lag, back).1;
                ways.push(back);
            }
            let bound = |(&lag, &back): (&usize, &bool)| !back || all[lag].most.is_some();
            (on == begin && lags.iter().zip(&ways).all(bound)).then_some(ways)
        })
        .collect();
    let instead = |lag: usize, back: bool| {
        let Lag { least, most, .. } = all[lag];
        let told = matches!(bridge.meaning[lag], Meaning::After(_) | Meaning::Keeps);
        match (back, most) {
            (true, Some(most)) => told.then(|| Minutes(most + excess)),
            _ => (told && least - excess >= 0).then(|| Minutes(least - excess)),
        }
    };
    lags.iter()
        .enumerate()
        .map(|(at, &lag)| {
            let rule = rule(bridge, lag);
            // Where it can be followed both ways round, no number is surely right.
            let instead = match ways.as_slice() {
                [only] => instead(lag, only[at]),
                _ => None,
            };
            match instead {
                Some(instead) if instead.0 > 0 => format!("{rule}; {instead} would do"),
                Some(_) => format!("{rule}; no wait at all would do"),
                None => rule,
            }
        })
        .collect()
}

/// Returns what there is of a resource in a stretch: "two people have 480 minutes".
fn has_minutes(
    bridge: &Bridge<'_>,
    resource: ResourceId,
    (from, to): (Time, Time),
    available: i64,
) -> String {
    let it = &bridge.instance.resources[resource.0];
    let first = it.capacity_at(from);
    let mut steps = it.capacity.iter();
    let steady = !steps.any(|&(at, amount)| from < at && at < to && amount != first);
    let whole = i64::from(first) * i64::from(to - from);
    match (resource == HANDS, steady && whole == available) {
        (true, true) if first == 1 => format!("one person has {available} minutes"),
        (true, true) => format!("{} people have {available} minutes", in_words(first)),
        (true, false) => format!("the hands on shift have {available} minutes in all"),
        (false, true) if first == 1 => {
            format!("the {} has {available} minutes", resource_name(bridge, resource))
        }
        (false, _) => format!(
            "the {} has {available} minutes in all",
            resource_name(bridge, resource)
        ),
    }
}

/// Returns a stretch of time: "between Fri 14:00 and Fri 18:00".
fn between(bridge: &Bridge<'_>, from: Time, to: Time) -> String {
    format!("between {} and {}", clock(bridge, from), clock(bridge, to))
}

fn these_steps(count: usize) -> String {
    match i32::try_from(count) {
        Ok(1) => "this step".to_owned(),
        Ok(count) => format!("these {} steps", in_words(count)),
        Err(_) => "these steps".to_owned(),
    }
}

/// Returns a number as it is said, up to twelve.
fn in_words(number: i32) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    let word = usize::try_from(number).ok().and_then(|it| WORDS.get(it));
    word.map_or_else(|| number.to_string(), |word| (*word).to_owned())
}

/// Returns the names of steps, a line each, and how many more there are where they are many.
fn named(bridge: &Bridge<'_>, activities: &[ActivityId]) -> Vec<String> {
    const MOST: usize = 12;
    let mut said: Vec<String> = activities.iter().map(|&it| name(bridge, it)).collect();
    if said.len() > MOST {
        let more = said.len() - (MOST - 1);
        said.truncate(MOST - 1);
        said.push(format!("and {more} more"));
    }
    said
}

/// Returns what to say of a plan that should have begun before now (or before the menu lets it).
pub(super) fn too_late(
    bridge: &Bridge<'_>,
    needed: &Plan,
    late: &[Late],
    now: Minute,
    from: Option<Minute>,
) -> Vec<String> {
    let mut said = Vec::new();
    let first = late[0];
    let step = &needed.steps[first.step];
    let count = match late.len() {
        1 => "one step".to_owned(),
        count => format!("{count} steps"),
    };
    let local = bridge.service.local(first.latest);
    match from {
        Some(from) if from > now => said.push(format!(
            "{count} would have to start before {}, when the menu lets work begin; the first, {}, by {local}, {} earlier",
            bridge.service.local(from),
            quoted(bridge, first.step),
            from - first.latest
        )),
        _ => said.push(format!(
            "{count} should have started before now; the first, {}, by {local}, {} ago",
            quoted(bridge, first.step),
            now - first.latest
        )),
    }
    said.push(format!("why by then: {}", step.reason));
    said.extend(broken(bridge));
    said
}

/// Returns what to say of gaps that what has happened has broken.
pub(super) fn broken(bridge: &Bridge<'_>) -> Vec<String> {
    bridge
        .broken
        .iter()
        .map(|&(step, last, before)| {
            let at = bridge.service.local(last).weekday_clock();
            if step == before {
                format!(
                    "{} was made too early: it keeps only until {at}; make it again or ask the person responsible",
                    quoted(bridge, step)
                )
            } else {
                format!(
                    "{} should have followed {} by {at}; that has passed",
                    quoted(bridge, step),
                    quoted(bridge, before)
                )
            }
        })
        .collect()
}

/// Returns what to say of steps that should have been over by now and that nobody has ticked done.
pub(super) fn running_long(bridge: &Bridge<'_>, now: Minute) -> Vec<String> {
    let running = bridge
        .happened
        .iter()
        .enumerate()
        .filter_map(|(index, done)| match done {
            Some(Done::Started(at)) => Some((index, *at)),
            _ => None,
        });
    running
        .filter_map(|(index, at)| {
            let end = bridge
                .instance
                .end_of(&bridge.instance.activities[index].modes[0], at.0)?;
            (end <= now.0).then(|| {
                format!(
                    "{} should have been over by {}; if it is, tick it done at that time",
                    quoted(bridge, index),
                    clock(bridge, end)
                )
            })
        })
        .collect()
}

/// Returns what to say when the engine's answer does not pass its check.
pub(super) fn refuted(violations: &[Violation]) -> Vec<String> {
    vec![
        "the planner's own answer did not pass its check, so it is not shown".to_owned(),
        format!(
            "this is a fault of countback; keep the menu file and report it with these words: {}",
            violations
                .iter()
                .take(5)
                .map(ToString::to_string)
                .collect::<Vec<_>>()
                .join(", ")
        ),
    ]
}

/// Returns a rule of the menu as a sentence.
fn rule(bridge: &Bridge<'_>, lag: usize) -> String {
    let Lag {
        from,
        to,
        least,
        most,
    } = bridge.instance.lags[lag];
    let (one, other) = (name(bridge, from.0), name(bridge, to.0));
    match bridge.meaning[lag] {
        Meaning::Course(_) => format!("{one} must be over before its course"),
        Meaning::Together => format!("{one} and {other} must be ready together"),
        Meaning::InTurn => format!("{one} is begun before {other}"),
        Meaning::Keeps => format!("{one} keeps at most {}", Minutes(most.unwrap_or(0))),
        Meaning::After(_) => match (least, most) {
            (0, None) => format!("{other} comes after {one}"),
            (0, Some(0)) => format!("{other} goes straight on from {one}"),
            (0, Some(most)) => format!("{other} comes within {} of {one}", Minutes(most)),
            (least, None) => format!("{other} comes at least {} after {one}", Minutes(least)),
            (least, Some(most)) => {
                format!(
                    "{other} comes {} to {} after {one}",
                    Minutes(least),
                    Minutes(most)
                )
            }
        },
    }
}

fn step_of<'a>(bridge: &Bridge<'a>, index: usize) -> Option<&'a crate::menu::Step> {
    let doing = bridge.expanded.doings.get(index)?;
    Some(&bridge.menu.dishes[doing.dish].steps[doing.step])
}

fn quoted(bridge: &Bridge<'_>, index: usize) -> String {
    let doing = &bridge.expanded.doings[index];
    format!(
        "\"{}\" of {}",
        doing.name, bridge.menu.dishes[doing.dish].name
    )
}

fn name(bridge: &Bridge<'_>, activity: ActivityId) -> String {
    let doings = bridge.expanded.doings.len();
    if activity.0 < doings {
        return quoted(bridge, activity.0);
    }
    match bridge.menu.courses.get(activity.0 - doings) {
        Some(course) => format!("the course \"{}\"", course.name),
        // A wait for the kitchen to open, named by what it follows.
        None => bridge
            .instance
            .lags
            .iter()
            .find(|lag| lag.to.0 == activity)
            .map_or_else(
                || "the night".to_owned(),
                |lag| format!("the night after {}", name(bridge, lag.from.0)),
            ),
    }
}

fn resource_name(bridge: &Bridge<'_>, resource: ResourceId) -> String {
    if resource == HANDS {
        return "hands".to_owned();
    }
    bridge.menu.kitchen.kit[resource.0 - 1].name.clone()
}

fn clock(bridge: &Bridge<'_>, minute: Time) -> String {
    bridge.service.local(Minute(minute)).weekday_clock()
}

fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}
