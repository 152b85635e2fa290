//! Why nothing fits, in the cook's words.
//!
//! Every kind of [`Conflict`] is said with the names of the menu, the times of the kitchen's clock and the numbers
//! that would have to change: the rules that contradict one another and what would do instead, the stretch that is
//! too full with what there is and what is needed, the steps that do not go together.

use super::explain::{clock, list, name, quoted, resource_name};
use super::from_menu::{Bridge, Meaning};
use super::shared::Shared;
use crate::schedule::conflict::{
    Conflict, Contended, Core, Verdict, core, is_a_time, prove_infeasible,
};
use crate::schedule::{ActivityId, Effort, Instance, Lag, Outcome, ResourceId, Time, solve};
use crate::time::Minutes;

/// How many of the rules that hold steps to their times are named.
const RULES: usize = 6;

/// How many parts of a menu are tried in the search for the smallest that does not fit.
const PARTS: u32 = 60;

/// How hard each is tried: enough for what is not tight, and where it is not enough the part is told as one that
/// no place was found for.
const ORDERS: u32 = 6;

/// Returns a smallest set of activities for which the search finds no schedule.
pub(super) fn least_unfitting(instance: &Instance) -> Option<Conflict> {
    let core = core(instance, PARTS, &mut |part| {
        let effort = Effort {
            orders: ORDERS,
            ..Effort::first(part)
        };
        match solve(part, effort) {
            Outcome::Optimal(_) | Outcome::Feasible(_) => Verdict::Feasible,
            Outcome::Infeasible(_) => Verdict::Infeasible,
            Outcome::Unknown(_) => match prove_infeasible(part) {
                Some(_) => Verdict::Infeasible,
                None => Verdict::Unknown,
            },
        }
    })?;
    Some(Conflict::Core(Box::new(core)))
}

/// Returns a conflict as sentences without full stops, a line each.
pub(super) fn conflict_sentences(bridge: &Bridge<'_>, conflict: &Conflict) -> Vec<String> {
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
                Contended::Resource(resource) => {
                    format!("both need {}", articled(bridge, *resource))
                }
                Contended::State(_) => "need one oven at different heats".to_owned(),
            };
            vec![
                format!(
                    "{one} and {other} {what} {}, and neither can wait for the other",
                    between(bridge, *from, *to)
                ),
                format!("{} more between them would do", Minutes(*lacking)),
            ]
        }
        Conflict::Core(core) => of_core(bridge, core),
        Conflict::Window { .. } => of_window(bridge, conflict),
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
                let back = [false, true]
                    .into_iter()
                    .find(|&back| ends(lag, back).0 == on)?;
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
    let steady = steady && whole == available;
    let people = if first == 1 { "one person" } else { "people" };
    let what = match &bridge.shared[resource.0] {
        Shared::Hands if steady && first == 1 => people.to_owned(),
        Shared::Hands if steady => format!("{} {people}", in_words(first)),
        Shared::Hands => "the hands on shift".to_owned(),
        Shared::Able(_) | Shared::Somebody => resource_name(bridge, resource),
        Shared::Kit(_) | Shared::Oven { .. } => articled(bridge, resource),
    };
    let one = steady && first == 1;
    let has = match bridge.shared[resource.0] {
        Shared::Kit(_) | Shared::Oven { .. } | Shared::Somebody => "has",
        Shared::Hands if one => "has",
        Shared::Hands | Shared::Able(_) => "have",
    };
    let in_all = if steady { "" } else { " in all" };
    format!("{what} {has} {available} minutes{in_all}")
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

/// Returns what a resource is called, with its article where it is kit.
fn articled(bridge: &Bridge<'_>, resource: ResourceId) -> String {
    let name = resource_name(bridge, resource);
    match bridge.shared[resource.0] {
        Shared::Kit(_) | Shared::Oven { .. } => format!("the {name}"),
        _ => name,
    }
}

/// What leads what steps that do not go together contend for.
pub(super) const CONTEND: &str = "what they contend for: ";

/// Returns what does not go together, and what it contends for.
fn of_core(bridge: &Bridge<'_>, core: &Core) -> Vec<String> {
    let Core {
        activities,
        lags,
        resources,
        proved,
        smallest,
        ..
    } = core;
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
            .map(|&resource| articled(bridge, resource))
            .collect();
        said.push(format!("{CONTEND}{}", list(&what)));
    }
    // What leaves little room first: that each is over before its course goes without saying.
    let mut lags = lags.clone();
    lags.sort_by_key(
        |&lag| match (bridge.meaning[lag], bridge.instance.lags[lag].most) {
            (Meaning::Course(_), _) => 2,
            (_, None) => 1,
            (_, Some(_)) => 0,
        },
    );
    let mut rules: Vec<String> = lags.iter().map(|&lag| rule(bridge, lag)).collect();
    rules.dedup();
    if rules.len() > RULES {
        let more = rules.len() - RULES;
        rules.truncate(RULES);
        rules.push(format!("and {more} more"));
    }
    if !rules.is_empty() {
        said.push(format!(
            "what holds them to their times: {}",
            rules.join("; ")
        ));
    }
    said
}

/// Returns how long a doing keeps, and the course it has to keep until, where nothing else holds it to its earliest
/// start.
fn kept_until(
    bridge: &Bridge<'_>,
    activity: ActivityId,
    earliest: i32,
    moved_by: &[usize],
) -> Option<(i32, i32)> {
    let instance = &bridge.instance;
    let of = &instance.activities[activity.0];
    moved_by.iter().find_map(|&lag| {
        if !matches!(bridge.meaning[lag], Meaning::Course(doing) if doing == activity.0) {
            return None;
        }
        let keeps = instance.lags[lag].most?;
        let (course, _) = instance.activities[instance.lags[lag].to.0.0].fixed?;
        let mut ends = of
            .modes
            .iter()
            .filter_map(|it| instance.end_of(it, earliest));
        ends.any(|end| end == course - keeps)
            .then_some((keeps, course))
    })
}

/// Returns what is wrong with a doing that keeps too short a time to reach its course.
fn does_not_keep(
    bridge: &Bridge<'_>,
    doing: usize,
    keeps: i32,
    course: i32,
    missing: i32,
) -> Vec<String> {
    vec![
        format!(
            "{} keeps at most {}, and cannot be made so late that it still keeps until {}: {} are missing",
            quoted(bridge, doing),
            Minutes(keeps),
            clock(bridge, course),
            Minutes(missing.abs()),
        ),
        "let it keep longer, or let the step be done later".to_owned(),
    ]
}

/// Returns the same where an activity finds no hour on one side of a bound, however early or late.
fn no_hour_left(
    bridge: &Bridge<'_>,
    activity: ActivityId,
    earliest: i32,
    latest: i32,
) -> Option<Vec<String>> {
    let doing = name(bridge, activity);
    let said = match (is_a_time(earliest), is_a_time(latest)) {
        (true, true) => return None,
        (false, true) => format!(
            "{doing} would have to start by {}, and there is no hour left for it",
            clock(bridge, latest)
        ),
        (true, false) => format!(
            "{doing} cannot start before {}, and there is no hour for it that is over in time",
            clock(bridge, earliest)
        ),
        (false, false) => format!("there is no hour left for {doing}"),
    };
    Some(vec![
        said,
        format!("look at the hours of {doing}, and of those who can do it"),
    ])
}

/// Returns why an activity has no start.
fn of_window(bridge: &Bridge<'_>, conflict: &Conflict) -> Vec<String> {
    match conflict {
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
            does_not_keep(bridge, doing, keeps, at, earliest.saturating_sub(*latest))
        }
        Conflict::Window {
            activity,
            earliest,
            latest,
            moved_by,
        } => {
            if let Some(said) = no_hour_left(bridge, *activity, *earliest, *latest) {
                return said;
            }
            if let Some((keeps, course)) = kept_until(bridge, *activity, *earliest, moved_by) {
                let missing = earliest.saturating_sub(*latest);
                return does_not_keep(bridge, activity.0, keeps, course, missing);
            }
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
        _ => Vec::new(),
    }
}
