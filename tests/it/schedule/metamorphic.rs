//! Instances that mean the same, or ask for less: what the engine says of one binds what it may say of the other.
//!
//! A plan of the first, carried over, must be right for the second, at the cost that the change implies. And what is
//! claimed of both must fit together: costs and bounds are two ends of an interval around one and the same least
//! cost, so where two instances mean the same the intervals meet, and nothing is impossible that has a plan.

use super::arbitrary::{HORIZON, instance};
use super::{answer, cases};
use countback::schedule::verify::{self, verify};
use countback::schedule::*;
use proptest::prelude::*;
use proptest::test_runner::TestCaseError;

type Plan = Vec<Placement>;

/// Returns the plan, the cost and the bound of an outcome that has them.
fn of(outcome: Outcome) -> Option<Schedule> {
    match outcome {
        Outcome::Optimal(schedule) | Outcome::Feasible(schedule) => Some(schedule),
        Outcome::Infeasible(_) | Outcome::Unknown(_) => None,
    }
}

/// Holds an instance against one for which each of its plans, carried over, is right and costs `times` as much.
fn no_worse(
    instance: &Instance,
    other: &Instance,
    carry: impl Fn(&Plan) -> Plan,
    times: i64,
) -> Result<(), TestCaseError> {
    let Some(plan) = of(answer(instance, 1)) else {
        return Ok(());
    };
    let carried = Schedule {
        placements: carry(&plan.placements),
        cost: plan.cost * times,
        ..Schedule::default()
    };
    prop_assert_eq!(verify(other, &carried), [], "{:?}", carried.placements);
    let answered = answer(other, 1);
    prop_assert!(
        !matches!(answered, Outcome::Infeasible(_)),
        "{answered:?}, and yet there is a plan"
    );
    let proved = matches!(answered, Outcome::Optimal(_));
    if let Some(answered) = of(answered) {
        prop_assert_eq!(verify(other, &answered), []);
        prop_assert!(answered.bound <= carried.cost);
        prop_assert!(!proved || answered.cost <= carried.cost);
    }
    Ok(())
}

/// Holds two instances against one another that mean the same.
fn same(
    instance: &Instance,
    other: &Instance,
    there: impl Fn(&Plan) -> Plan,
    back: impl Fn(&Plan) -> Plan,
) -> Result<(), TestCaseError> {
    no_worse(instance, other, there, 1)?;
    no_worse(other, instance, back, 1)
}

fn as_it_is(plan: &Plan) -> Plan {
    plan.clone()
}

/// Changes every moment of an instance, and every length.
fn with_times(
    instance: &Instance,
    at: impl Fn(Time) -> Time,
    length: impl Fn(Time) -> Time,
) -> Instance {
    let mut new = instance.clone();
    new.earliest = at(new.earliest);
    new.latest = at(new.latest);
    for resource in &mut new.resources {
        let steps = resource.capacity.iter_mut();
        for step in steps.chain(resource.regular.iter_mut().flatten()) {
            step.0 = at(step.0);
        }
    }
    for state in &mut new.states {
        state.change = length(state.change);
    }
    let calendars = new.calendars.iter_mut().flat_map(|it| &mut it.windows);
    let buckets = new.levels.iter_mut().flat_map(|it| &mut it.buckets);
    for window in calendars.chain(buckets) {
        *window = (at(window.0), at(window.1));
    }
    for opening in new.gates.iter_mut().flat_map(|it| &mut it.openings) {
        *opening = at(*opening);
    }
    for activity in &mut new.activities {
        activity.release = activity.release.map(&at);
        activity.deadline = activity.deadline.map(&at);
        activity.due = activity.due.map(&at);
        activity.announced = activity.announced.map(&at);
        activity.fixed = activity.fixed.map(|(start, end)| (at(start), end.map(&at)));
        for mode in &mut activity.modes {
            match &mut mode.duration {
                Duration::Fixed(minutes) => *minutes = length(*minutes),
                Duration::Until { at_least, then, .. } => {
                    (*at_least, *then) = (length(*at_least), length(*then));
                }
            }
            for demand in &mut mode.demands {
                match &mut demand.when {
                    Use::Whole => {}
                    Use::Part { from, to, .. } => (*from, *to) = (length(*from), length(*to)),
                    Use::Every {
                        every,
                        length: each,
                    } => (*every, *each) = (length(*every), length(*each)),
                }
            }
        }
    }
    for lag in &mut new.lags {
        lag.least = length(lag.least);
        lag.most = lag.most.map(&length);
    }
    for wish in &mut new.wishes {
        wish.least = wish.least.map(&length);
        wish.most = wish.most.map(&length);
    }
    new
}

fn moved(plan: &Plan, at: impl Fn(Time) -> Time) -> Plan {
    let placed = plan.iter().map(|placed| Placement {
        mode: placed.mode,
        start: at(placed.start),
        end: at(placed.end),
    });
    placed.collect()
}

/// Gives every activity new places: the activity at `order[i]` comes to stand at `i`.
fn reordered(instance: &Instance, order: &[usize]) -> Instance {
    let mut new = instance.clone();
    new.activities = order
        .iter()
        .map(|&old| instance.activities[old].clone())
        .collect();
    let place = |end: &mut (ActivityId, Edge)| {
        let place = order.iter().position(|&old| old == end.0.0);
        end.0 = ActivityId(place.expect("an order of all"));
    };
    for lag in &mut new.lags {
        place(&mut lag.from);
        place(&mut lag.to);
    }
    for hold in &mut new.holds {
        place(&mut hold.from);
        place(&mut hold.to);
    }
    for wish in &mut new.wishes {
        place(&mut wish.from);
        place(&mut wish.to);
    }
    new
}

/// Turns the lists of everything shared around, and the order of rules.
fn shared_reversed(instance: &Instance) -> Instance {
    let mut new = instance.clone();
    let Instance {
        resources,
        states,
        calendars,
        gates,
        activities,
        lags,
        holds,
        wishes,
        levels,
        ..
    } = &mut new;
    let last = |count: usize| move |id: &mut usize| *id = count - 1 - *id;
    let (resource, state) = (last(resources.len()), last(states.len()));
    let (calendar, gate) = (last(calendars.len()), last(gates.len()));
    for activity in activities.iter_mut() {
        for (id, _) in &mut activity.calendars {
            calendar(&mut id.0);
        }
        activity.calendars.reverse();
        for mode in &mut activity.modes {
            for demand in &mut mode.demands {
                resource(&mut demand.resource.0);
            }
            mode.demands.reverse();
            for (id, _) in &mut mode.states {
                state(&mut id.0);
            }
            mode.states.reverse();
            if let Duration::Until { gate: id, .. } = &mut mode.duration {
                gate(&mut id.0);
            }
        }
    }
    for hold in holds.iter_mut() {
        resource(&mut hold.resource.0);
    }
    for level in levels.iter_mut() {
        resource(&mut level.resource.0);
    }
    resources.reverse();
    states.reverse();
    calendars.reverse();
    gates.reverse();
    lags.reverse();
    holds.reverse();
    wishes.reverse();
    levels.reverse();
    new
}

/// Gives every activity's modes the opposite order.
fn modes_reversed(instance: &Instance) -> Instance {
    let mut new = instance.clone();
    for activity in &mut new.activities {
        activity.modes.reverse();
    }
    new
}

fn other_modes(instance: &Instance, plan: &Plan) -> Plan {
    let activities = instance.activities.iter().zip(plan);
    let placed = activities.map(|(activity, placed)| Placement {
        mode: activity.modes.len() - 1 - placed.mode,
        ..*placed
    });
    placed.collect()
}

/// Splits every demand that holds throughout in two that follow one another.
fn split(instance: &Instance, at: Time) -> Instance {
    let mut new = instance.clone();
    let modes = new.activities.iter_mut().flat_map(|it| &mut it.modes);
    for mode in modes {
        let parts = mode.demands.iter().flat_map(|demand| {
            let part = |from, to| Demand {
                when: Use::Part {
                    anchor: Anchor::Start,
                    from,
                    to,
                },
                ..*demand
            };
            match demand.when {
                Use::Whole => vec![part(0, at), part(at, 3 * HORIZON)],
                _ => vec![*demand],
            }
        });
        mode.demands = parts.collect();
    }
    new
}

fn something_that_happened(from: Time, to: Time, resource: usize, quantity: i32) -> Activity {
    Activity {
        modes: vec![Mode {
            duration: Duration::Fixed(to - from),
            demands: vec![Demand {
                resource: ResourceId(resource),
                quantity,
                when: Use::Whole,
            }],
            states: Vec::new(),
            cost: 0,
        }],
        fixed: Some((from, Some(to))),
        ..Activity::default()
    }
}

/// Puts a fixed activity into each stretch in which there is less of a resource than at other times.
fn gaps_filled(instance: &Instance) -> Instance {
    let mut new = instance.clone();
    for (resource, it) in new.resources.iter_mut().enumerate() {
        // What fills the gap would itself be work beyond the regular amount.
        let counted = it.regular.is_some() || new.levels.iter().any(|it| it.resource.0 == resource);
        let most = it.capacity.iter().map(|step| step.1).max().unwrap_or(0);
        if counted || most == 0 {
            continue;
        }
        let ends = it.capacity.iter().skip(1).map(|step| step.0);
        for (&(from, amount), to) in it.capacity.iter().zip(ends.chain([new.latest])) {
            if amount < most && from < to {
                let less = something_that_happened(from, to, resource, most - amount);
                new.activities.push(less);
            }
        }
        it.capacity = vec![(new.earliest, most)];
    }
    new
}

/// Lets what must fit a calendar as a whole use a resource that something fixed uses up while the calendar is shut.
/// Where that would not mean the same, the calendar falls away on both sides: gives both instances.
fn shut_filled(instance: &Instance) -> (Instance, Instance) {
    let mut plain = instance.clone();
    let apart = |calendar: CalendarId| {
        let windows = &instance.calendars[calendar.0].windows;
        windows.windows(2).all(|pair| pair[0].1 < pair[1].0)
    };
    for activity in &mut plain.activities {
        // What takes no time uses nothing, and may stand anywhere.
        let lasts = activity.fixed.is_none()
            && activity
                .modes
                .iter()
                .all(|mode| !matches!(mode.duration, Duration::Fixed(0)));
        activity
            .calendars
            .retain(|&(id, how)| how != Coverage::Whole || (lasts && apart(id)));
    }
    let mut new = plain.clone();
    for (index, calendar) in plain.calendars.iter().enumerate() {
        let resource = ResourceId(new.resources.len());
        let all = new.activities.len() as i32;
        new.resources.push(Resource {
            capacity: vec![(new.earliest, all)],
            regular: None,
        });
        for activity in &mut new.activities {
            let before = activity.calendars.len();
            activity
                .calendars
                .retain(|&(id, how)| how != Coverage::Whole || id.0 != index);
            if activity.calendars.len() < before {
                for mode in &mut activity.modes {
                    mode.demands.push(Demand {
                        resource,
                        quantity: 1,
                        when: Use::Whole,
                    });
                }
            }
        }
        let opens = calendar.windows.iter().map(|it| it.0).chain([new.latest]);
        let shuts = [new.earliest]
            .into_iter()
            .chain(calendar.windows.iter().map(|it| it.1));
        for (from, to) in shuts.zip(opens) {
            if from < to {
                let shut = something_that_happened(from, to, resource.0, all);
                new.activities.push(shut);
            }
        }
    }
    (plain, new)
}

/// Carries a plan over to an instance that has more activities, all of them fixed.
fn with_fixed(instance: &Instance, plan: &Plan) -> Plan {
    let added = instance.activities.iter().skip(plan.len());
    let happened = added.map(|activity| {
        let (start, end) = activity.fixed.expect("only what has happened is added");
        Placement {
            mode: 0,
            start,
            end: end.expect("its end is known"),
        }
    });
    plan.iter().copied().chain(happened).collect()
}

/// Adds lags that follow from those there are: each once more and looser, each pair that meets as one, and that
/// nothing ends before it starts.
fn with_needless_lags(instance: &Instance) -> Instance {
    let mut new = instance.clone();
    for lag in &instance.lags {
        new.lags.push(Lag {
            least: lag.least - 1,
            most: lag.most.map(|most| most + 1),
            ..*lag
        });
        let past = |id: ActivityId| instance.activities[id.0].fixed.is_some();
        for next in instance.lags.iter().filter(|next| next.from == lag.to) {
            // Lags among what has happened bind nobody, and neither do those that follow from them.
            if past(lag.from.0) || past(lag.to.0) || past(next.to.0) {
                continue;
            }
            new.lags.push(Lag {
                from: lag.from,
                to: next.to,
                least: lag.least + next.least,
                most: lag.most.zip(next.most).map(|(one, other)| one + other),
            });
        }
    }
    for index in 0..instance.activities.len() {
        new.lags.push(Lag {
            from: (ActivityId(index), Edge::Start),
            to: (ActivityId(index), Edge::End),
            least: 0,
            most: None,
        });
    }
    new
}

/// Asks for less: one rule of each kind is loosened or goes, by number.
fn relaxed(instance: &Instance, which: usize) -> Instance {
    let mut new = instance.clone();
    match which {
        0 => {
            let steps = new.resources.iter_mut().flat_map(|it| &mut it.capacity);
            steps.for_each(|step| step.1 += 1);
        }
        1 => {
            for activity in &mut new.activities {
                activity.deadline = activity.deadline.map(|deadline| deadline + 2);
                activity.release = activity.release.map(|release| release - 2);
            }
        }
        2 => drop(new.lags.pop()),
        3 => {
            for lag in &mut new.lags {
                lag.least -= 1;
                lag.most = lag.most.map(|most| most + 1);
            }
        }
        4 => new
            .activities
            .iter_mut()
            .for_each(|activity| activity.calendars.clear()),
        5 => new.states.iter_mut().for_each(|state| state.change = 0),
        6 => {
            for activity in &mut new.activities {
                // A further way to do it; the ways there were keep their places.
                if activity.fixed.is_none() {
                    activity.modes.extend_from_within(..1);
                }
            }
        }
        _ => {
            let windows = new.calendars.iter_mut().flat_map(|it| &mut it.windows);
            // The first opens earlier; the others might run into one another.
            windows.take(1).for_each(|window| window.0 -= 1);
        }
    }
    new
}

/// Takes out what has no mirror image: waits for a gate, looks, what has happened, and costs that look one way.
fn mirrorable(mut instance: Instance) -> Instance {
    for activity in &mut instance.activities {
        activity.fixed = None;
        for mode in &mut activity.modes {
            if let Duration::Until { at_least, .. } = mode.duration {
                mode.duration = Duration::Fixed(at_least);
            }
            mode.demands
                .retain(|it| !matches!(it.when, Use::Every { .. }));
        }
    }
    let weights = &mut instance.weights;
    (weights.late, weights.early) = (0, 0);
    (weights.moved, weights.moved_by) = (0, 0);
    instance
}

fn mirrored_steps(steps: &[(Time, i32)], instance: &Instance) -> Vec<(Time, i32)> {
    let ends = steps.iter().skip(1).map(|step| step.0);
    let stretches = steps.iter().zip(ends.chain([instance.latest]));
    let mut mirrored: Vec<(Time, i32)> = stretches
        .map(|(&(_, amount), end)| (-end, amount))
        .collect();
    mirrored.reverse();
    mirrored
}

/// Lets time run backward.
fn mirrored(instance: &Instance) -> Instance {
    let mut new = with_times(instance, |at| -at, |length| length);
    (new.earliest, new.latest) = (-instance.latest, -instance.earliest);
    for (resource, old) in new.resources.iter_mut().zip(&instance.resources) {
        resource.capacity = mirrored_steps(&old.capacity, instance);
        resource.regular = old
            .regular
            .as_ref()
            .map(|steps| mirrored_steps(steps, instance));
    }
    let swapped = |windows: &mut Vec<(Time, Time)>| {
        for window in windows.iter_mut() {
            *window = (window.1, window.0);
        }
        windows.reverse();
    };
    new.calendars
        .iter_mut()
        .for_each(|it| swapped(&mut it.windows));
    new.levels
        .iter_mut()
        .for_each(|it| swapped(&mut it.buckets));
    for gate in &mut new.gates {
        gate.openings.reverse();
    }
    for activity in &mut new.activities {
        (activity.release, activity.deadline) = (activity.deadline, activity.release);
        for (_, coverage) in &mut activity.calendars {
            *coverage = match *coverage {
                Coverage::Start => Coverage::End,
                Coverage::End => Coverage::Start,
                Coverage::Whole => Coverage::Whole,
            };
        }
        let demands = activity.modes.iter_mut().flat_map(|it| &mut it.demands);
        for demand in demands {
            if let Use::Part { anchor, from, to } = &mut demand.when {
                *anchor = match *anchor {
                    Anchor::Start => Anchor::End,
                    Anchor::End => Anchor::Start,
                };
                (*from, *to) = (-*to, -*from);
            }
        }
    }
    let turned = |(id, edge): (ActivityId, Edge)| match edge {
        Edge::Start => (id, Edge::End),
        Edge::End => (id, Edge::Start),
    };
    for lag in &mut new.lags {
        (lag.from, lag.to) = (turned(lag.to), turned(lag.from));
    }
    for hold in &mut new.holds {
        (hold.from, hold.to) = (turned(hold.to), turned(hold.from));
    }
    for wish in &mut new.wishes {
        (wish.from, wish.to) = (turned(wish.to), turned(wish.from));
    }
    new
}

fn mirrored_plan(plan: &Plan) -> Plan {
    let placed = plan.iter().map(|placed| Placement {
        mode: placed.mode,
        start: -placed.end,
        end: -placed.start,
    });
    placed.collect()
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: cases(64),
        failure_persistence: None,
        max_shrink_iters: 2_000,
        ..ProptestConfig::default()
    })]

    #[test]
    fn a_later_service_moves_the_plan_along(instance in instance(4), by in -5_000..5_000_i32) {
        let later = with_times(&instance, |at| at + by, |length| length);
        same(&instance, &later, |plan| moved(plan, |at| at + by), |plan| moved(plan, |at| at - by))?;
        // And nothing else: the search looks at differences of times alone.
        let (one, other) = (of(answer(&instance, 1)), of(answer(&later, 1)));
        let plan = |schedule: Option<Schedule>, by| schedule.map(|it| (moved(&it.placements, |at| at + by), it.cost));
        prop_assert_eq!(plan(one, by), plan(other, 0));
    }

    #[test]
    fn backward_in_time_it_is_as_hard(instance in instance(4)) {
        let instance = mirrorable(instance);
        prop_assert_eq!(&mirrored(&mirrored(&instance)), &instance);
        same(&instance, &mirrored(&instance), mirrored_plan, mirrored_plan)?;
    }

    #[test]
    fn the_order_of_activities_means_nothing(
        (instance, order) in instance(4).prop_flat_map(|instance| {
            let order: Vec<usize> = (0..instance.activities.len()).collect();
            (Just(instance), Just(order).prop_shuffle())
        })
    ) {
        let other = reordered(&instance, &order);
        let there = |plan: &Plan| order.iter().map(|&old| plan[old]).collect();
        let back = |plan: &Plan| {
            let mut sorted: Vec<_> = order.iter().zip(plan).collect();
            sorted.sort_by_key(|(old, _)| **old);
            sorted.into_iter().map(|(_, placed)| *placed).collect()
        };
        same(&instance, &other, there, back)?;
    }

    #[test]
    fn the_order_of_resources_rules_and_modes_means_nothing(instance in instance(4)) {
        same(&instance, &shared_reversed(&instance), as_it_is, as_it_is)?;
        let other = modes_reversed(&instance);
        let change = |plan: &Plan| other_modes(&instance, plan);
        same(&instance, &other, change, change)?;
    }

    #[test]
    fn a_demand_in_two_halves_is_the_same_demand(instance in instance(4), at in 1..4_i32) {
        same(&instance, &split(&instance, at), as_it_is, as_it_is)?;
    }

    #[test]
    fn what_is_missing_might_as_well_be_in_use(instance in instance(3)) {
        let filled = gaps_filled(&instance);
        let (there, back) = (
            |plan: &Plan| with_fixed(&filled, plan),
            |plan: &Plan| plan[..instance.activities.len()].to_vec(),
        );
        same(&instance, &filled, there, back)?;
        let (plain, filled) = shut_filled(&instance);
        same(&plain, &filled, |plan: &Plan| with_fixed(&filled, plan), back)?;
    }

    #[test]
    fn a_lag_that_follows_from_others_changes_nothing(instance in instance(4)) {
        same(&instance, &with_needless_lags(&instance), as_it_is, as_it_is)?;
    }

    #[test]
    fn asking_for_less_is_never_dearer(instance in instance(4), which in 0..8_usize) {
        no_worse(&instance, &relaxed(&instance, which), as_it_is, 1)?;
    }

    #[test]
    fn in_shorter_minutes_it_is_no_dearer(instance in instance(3), times in 2..4_i32) {
        // A load is squared: in minutes that are `times` as short it counts `times²`, and so must all else.
        let long = |time: Time| time * times;
        let mut fine = with_times(&instance, long, long);
        let (times, weights) = (i64::from(times), &mut fine.weights);
        for each in [&mut weights.late, &mut weights.wish, &mut weights.overtime, &mut weights.early, &mut weights.moved_by] {
            *each *= times;
        }
        for once in [&mut weights.mode, &mut weights.moved] {
            *once *= times * times;
        }
        no_worse(&instance, &fine, |plan| moved(plan, long), times * times)?;
    }

    /// A plan that stands announced and still holds is the plan, and so it is when a change has been taken back.
    #[test]
    fn what_was_announced_stays_as_long_as_it_can(instance in instance(4), which in 0..4_usize, at in 0..HORIZON) {
        let Some(first) = of(answer(&instance, 1)) else { return Ok(()) };
        let announced = |instance: &Instance, plan: &Plan| {
            let mut new = instance.clone();
            for (activity, placed) in new.activities.iter_mut().zip(plan) {
                activity.announced = Some(placed.start);
            }
            // A move costs more than all it could save.
            new.weights.moved = 1_000_000;
            new
        };
        let starts = |plan: &Plan| plan.iter().map(|placed| placed.start).collect::<Vec<_>>();
        let again = announced(&instance, &first.placements);
        let plan = of(answer(&again, 1)).expect("the announced plan is one");
        prop_assert_eq!(starts(&plan.placements), starts(&first.placements));
        // One is released later, perhaps, and what had to move is announced anew; then it is as it was.
        let which = which % instance.activities.len();
        let mut late = again.clone();
        late.activities[which].release = Some(at);
        let Some(changed) = of(answer(&late, 1)) else { return Ok(()) };
        prop_assert_eq!(verify::placements(&late, &changed.placements), []);
        let back = of(answer(&again, 1)).expect("the announced plan is one");
        prop_assert_eq!(starts(&back.placements), starts(&first.placements));
    }
}
