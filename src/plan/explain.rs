//! Engine words → sentences a cook reads.

use super::conflicts::{CONTEND, conflict_sentences, least_unfitting};
use super::from_menu::{Bridge, Broken, Meaning};
use super::run_sheet::{Done, Late, Plan};
use super::shared::Shared;
use super::wanted::Wanted;
use crate::menu::{Gap, words};
use crate::schedule::conflict::prove_infeasible;
use crate::schedule::cost::cost;
use crate::schedule::verify::Violation;
use crate::schedule::{
    ActivityId, Blocking, Edge, Outcome, Placement, ResourceId, Schedule, StateId, Time, Wish,
};
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
        Blocking::Choice => gained(bridge, schedule, index),
        Blocking::State { state, by, at } => {
            other_heat(bridge, schedule, *state, by, *at, ActivityId(index))
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
                format!("must be at the pass by {}", clock(bridge, course.offset.0))
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

/// Returns what is gained by a step not starting later, though it could.
fn gained(bridge: &Bridge<'_>, schedule: &Schedule, index: usize) -> String {
    let instance = &bridge.instance;
    let now = cost(instance, &schedule.placements);
    let mut placements = schedule.placements.clone();
    placements[index].start += 1;
    placements[index].end += 1;
    let later = cost(instance, &placements);
    let dish = &bridge.menu.dishes[bridge.expanded.doings[index].dish];
    let by = clock(bridge, bridge.menu.course_of(dish).offset.0);
    if later.wish > now.wish {
        let worse = instance
            .wishes
            .iter()
            .zip(&bridge.wanted)
            .find(|(wish, _)| {
                let of = |placements: &[Placement]| wish_fault(wish, placements);
                of(&placements) > of(&schedule.placements)
            });
        match worse.map(|(_, wanted)| *wanted) {
            Some(Wanted::Margin(_)) => {
                let end = schedule.placements[index].end;
                let hand = Minutes(bridge.menu.course_of(dish).offset.0 - end);
                return format!("must be at the pass by {by}, with {hand} in hand");
            }
            Some(Wanted::Course(_))
                if schedule.placements[index].end > bridge.menu.course_of(dish).offset.0 =>
            {
                return "any later, it would be later still at the pass".to_owned();
            }
            Some(Wanted::Course(_)) => return format!("must be at the pass by {by}"),
            Some(Wanted::Next(_)) => return "it is next".to_owned(),
            Some(Wanted::Gap(_)) => {
                return "any later, it would be longer after what it follows".to_owned();
            }
            Some(Wanted::Best(of)) => {
                return format!("any later, {} would be past its best", quoted(bridge, of));
            }
            None => {}
        }
    }
    if later.overtime > now.overtime {
        "any later, somebody would have to stay beyond their shift".into()
    } else if later.uneven > now.uneven {
        "the hours after it have enough to do".into()
    } else if later.moved > now.moved {
        "it was announced for this time".into()
    } else {
        "it could start later, and nothing would be gained by it".into()
    }
}

/// Returns by how many minutes a wish is not granted.
fn wish_fault(wish: &Wish, placements: &[Placement]) -> Time {
    let at = |(activity, edge): (ActivityId, Edge)| match edge {
        Edge::Start => placements[activity.0].start,
        Edge::End => placements[activity.0].end,
    };
    let between = at(wish.to) - at(wish.from);
    let short = wish.least.map_or(0, |least| (least - between).max(0));
    short + wish.most.map_or(0, |most| (between - most).max(0))
}

/// Returns which oven is at which other heat, for what, and from when: "from 14:40 the oven is at 160 C for …".
fn other_heat(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    state: StateId,
    by: &[ActivityId],
    at: Time,
    but: ActivityId,
) -> String {
    let others = || by.iter().filter(|&&user| user != but);
    let users: Vec<String> = others().take(3).map(|&user| name(bridge, user)).collect();
    let needed = others().find_map(|user| {
        let placed = schedule.placements[user.0];
        let states = &bridge.instance.activities[user.0].modes[placed.mode].states;
        let heat = states.iter().find(|(id, _)| *id == state)?.1;
        Some((words::heat(heat), placed.start))
    });
    let oven = bridge.oven_of(state).map_or_else(
        || "oven".to_owned(),
        |(kit, unit)| oven_name(bridge, kit, unit),
    );
    let change = bridge.instance.states[state.0].change;
    let when = clock(bridge, needed.as_ref().map_or(at, |&(_, start)| start));
    match needed {
        Some((heat, start)) if change > 0 => format!(
            "the {oven} goes to {heat} from {} for {} at {when}",
            clock(bridge, start - change),
            list(&users)
        ),
        Some((heat, _)) => format!("from {when} the {oven} is at {heat} for {}", list(&users)),
        None => format!("from {when} the {oven} is at another heat"),
    }
}

/// Returns the name of an oven, with its number where there are several.
pub(super) fn oven_name(bridge: &Bridge<'_>, kit: usize, unit: usize) -> String {
    let kit = &bridge.menu.kitchen.kit[kit];
    match kit.count {
        1 => kit.name.clone(),
        _ => format!("{} {}", kit.name, unit + 1),
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
    let (none, nobody) = (capacity == 0, users.is_empty());
    let users = list(&users);
    let kit = match &bridge.shared[resource.0] {
        Shared::Hands if none => return format!("nobody is on shift at {when}"),
        Shared::Hands if nobody => return format!("not enough hands are on shift at {when}"),
        Shared::Hands => return format!("from {when} hands are needed for {users}"),
        Shared::Able(skills) => {
            let skill = any_of(skills);
            return match (none, nobody) {
                (true, _) => format!("nobody who can do {skill} is on shift at {when}"),
                (_, true) => format!("too few who can do {skill} are on shift at {when}"),
                _ => format!("from {when} those who can do {skill} are needed for {users}"),
            };
        }
        Shared::Somebody => {
            return format!("somebody must be in the building, and the last leave at {when}");
        }
        Shared::Kit(kit) | Shared::Oven { kit, .. } => *kit,
    };
    if none || nobody {
        let by = bridge.taken_by(kit, Minute(at)).unwrap_or("others");
        return format!("the {what} is taken by {by} from {when}");
    }
    format!("the {what} is needed from {when} for {users}")
}

/// Returns skills in words: `sugar`, `sugar or ice`.
fn any_of(skills: &[String]) -> String {
    skills.join(" or ")
}

/// Returns why there is no plan although everything may start as early as it takes.
pub(super) fn impossible(
    unbounded: &Bridge<'_>,
    bounded: &Bridge<'_>,
    outcome: &Outcome,
) -> Vec<String> {
    let instance = &unbounded.instance;
    match outcome {
        Outcome::Infeasible(conflict) => {
            // Of several proofs the plainest is told.
            let plainest = prove_infeasible(instance);
            conflict_sentences(unbounded, plainest.as_ref().unwrap_or(conflict))
        }
        Outcome::Unknown(stopped) => {
            if let Some(proof) = prove_infeasible(instance) {
                return conflict_sentences(unbounded, &proof);
            }
            let mut said =
                vec!["no plan was found, though it is not proved that there is none".to_owned()];
            match least_unfitting(instance) {
                Some(core) => said.extend(conflict_sentences(unbounded, &core)),
                None => said.extend(conflict_sentences(bounded, stopped)),
            }
            said
        }
        _ => vec!["no plan was found".to_owned()],
    }
}

/// Returns in a few words what proves that nothing fits, where that is proved.
pub(super) fn proof(bridge: &Bridge<'_>) -> Option<String> {
    let proof = prove_infeasible(&bridge.instance)?;
    let said = conflict_sentences(bridge, &proof);
    // What leads a list is nothing by itself; what the steps on it contend for says more than their names.
    let mut wanted = said.iter().filter_map(|line| line.strip_prefix(CONTEND));
    match (said.first(), wanted.next()) {
        (Some(first), _) if !first.ends_with(':') => Some(first.clone()),
        (_, Some(wanted)) => Some(format!("even alone it does not fit, for want of {wanted}")),
        _ => None,
    }
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
    let Some(&first) = late.first() else {
        return broken(bridge);
    };
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

/// Returns what to say where no step is late by what was told, but one would have been needed before now as things have
/// gone since.
pub(super) fn missed(bridge: &Bridge<'_>, needed: &Plan, missed: Late) -> Vec<String> {
    let step = &needed.steps[missed.step];
    vec![
        format!(
            "as things have gone, {} would have been needed by {}",
            quoted(bridge, missed.step),
            bridge.service.local(missed.latest)
        ),
        format!("why by then: {}", step.reason),
    ]
}

/// Returns what to say of the rules that what has happened has broken.
pub(super) fn broken(bridge: &Bridge<'_>) -> Vec<String> {
    let at = |minute: Minute| bridge.service.local(minute).weekday_clock();
    let said = |broken: &Broken| match *broken {
        Broken::Gap { step, by, after } => format!(
            "{} should have followed {} by {}; that has passed",
            quoted(bridge, step),
            quoted(bridge, after),
            at(by)
        ),
        Broken::Keeps { step, until } => format!(
            "{} was made too early: it keeps only until {}; make it again or ask the person responsible",
            quoted(bridge, step),
            at(until)
        ),
        Broken::Course { step, end } => {
            let (_, dish, _) = bridge.doing(step);
            let course = Minute::SERVICE + bridge.menu.course_of(dish).offset;
            format!(
                "{} runs until {} and is wanted by {}; if it is over, tick it done",
                quoted(bridge, step),
                at(end),
                at(course)
            )
        }
    };
    bridge.broken.iter().map(said).collect()
}

/// Returns what to say of steps that should have been over so long ago and that nobody has ticked done.
pub(super) fn running_long(bridge: &Bridge<'_>, now: Minute, by: Minutes) -> Vec<String> {
    let running = bridge
        .happened
        .iter()
        .enumerate()
        .filter_map(|(index, done)| match done {
            Some(Done::Started(at)) => Some((index, *at, None)),
            Some(Done::Expected { since, end }) => Some((index, *since, Some(end.0))),
            _ => None,
        });
    running
        .filter_map(|(index, at, expected)| {
            let planned = || {
                let mode = &bridge.instance.activities[index].modes[0];
                bridge.instance.end_of(mode, at.0)
            };
            let end = expected.or_else(planned)?;
            (end + by.0 <= now.0).then(|| {
                format!(
                    "{} should have been over by {}; if it is, tick it done at that time",
                    quoted(bridge, index),
                    clock(bridge, end)
                )
            })
        })
        .collect()
}

/// Returns what to say of a step that is over so much later on a forecast than its card wants it.
pub(super) fn later_than_wanted(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    step: usize,
    by: Minutes,
) -> String {
    let end = schedule.placements[step].end;
    format!(
        "{} is over at {}, later than its card lets it run, {}",
        quoted(bridge, step),
        clock(bridge, end),
        clock(bridge, end - by.0)
    )
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

fn step_of<'a>(bridge: &Bridge<'a>, index: usize) -> Option<&'a crate::menu::Step> {
    let doing = bridge.expanded.doings.get(index)?;
    Some(&bridge.menu.dishes[doing.dish].steps[doing.step])
}

pub(super) fn quoted(bridge: &Bridge<'_>, index: usize) -> String {
    let doing = &bridge.expanded.doings[index];
    format!(
        "\"{}\" of {}",
        doing.name, bridge.menu.dishes[doing.dish].name
    )
}

pub(super) fn name(bridge: &Bridge<'_>, activity: ActivityId) -> String {
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

pub(super) fn resource_name(bridge: &Bridge<'_>, resource: ResourceId) -> String {
    let kit = |kit: usize| bridge.menu.kitchen.kit[kit].name.clone();
    match &bridge.shared[resource.0] {
        Shared::Hands => "hands".to_owned(),
        Shared::Able(skills) => format!("hands that can do {}", any_of(skills)),
        Shared::Somebody => "somebody in the building".to_owned(),
        Shared::Kit(place) => kit(*place),
        Shared::Oven { kit, unit } => oven_name(bridge, *kit, *unit),
    }
}

pub(super) fn clock(bridge: &Bridge<'_>, minute: Time) -> String {
    bridge.service.local(Minute(minute)).weekday_clock()
}

pub(super) fn list(names: &[String]) -> String {
    match names {
        [] => String::new(),
        [one] => one.clone(),
        [all @ .., last] => format!("{} and {last}", all.join(", ")),
    }
}
