//! Schedule → the plan as the sheet shows it.

use super::explain;
use super::from_menu::{Bridge, HANDS};
use super::hours;
use super::run_sheet::{
    CookSpan, Course, DishPlan, Done, HandsSpan, KitSpan, Plan, PlannedStep, Quality, StepIndex,
};
use crate::schedule::search::segments;
use crate::schedule::{ActivityId, Edge, ResourceId, Schedule};
use crate::time::{Minute, Minutes, Window};

/// Returns the plan that a checked schedule stands for.
pub(super) fn plan(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    slipped: &[Minute],
    now: Minute,
) -> Plan {
    let menu = bridge.menu;
    let doings = &bridge.expanded.doings;
    let cooks = assign(bridge, schedule);
    let steps: Vec<PlannedStep> = (0..doings.len())
        .map(|index| step(bridge, schedule, index, slipped[index], &cooks))
        .collect();
    let mut order: Vec<StepIndex> = (0..steps.len()).collect();
    order.sort_by_key(|&index| (steps[index].window.start, steps[index].window.end, index));
    let courses: Vec<Course> = menu
        .courses
        .iter()
        .map(|course| Course {
            name: course.name.clone(),
            at: Minute::SERVICE + course.offset,
        })
        .collect();
    let last = courses
        .iter()
        .map(|course| course.at)
        .max()
        .unwrap_or(Minute::SERVICE);
    let end = steps
        .iter()
        .map(|step| step.window.end)
        .max()
        .map_or(last, |end| end.max(last));
    let start = steps
        .iter()
        .map(|step| step.window.start)
        .min()
        .unwrap_or(Minute::SERVICE);
    let start = start.min(now.max(start - Minutes::days(1)));
    let span = Window::new(start, end);
    Plan {
        service: bridge.service,
        order,
        dishes: (0..menu.dishes.len())
            .map(|dish| dish_plan(bridge, &steps, dish))
            .collect(),
        courses,
        openings: bridge.first_openings.clone(),
        nights: hours::between(
            &bridge.open,
            Window::new(start - Minutes::days(1), end + Minutes::days(1)),
        ),
        shifts: menu
            .kitchen
            .cooks
            .iter()
            .zip(&bridge.shifts)
            .map(|(cook, windows)| CookSpan {
                cook: cook.name.clone(),
                windows: windows.clone(),
            })
            .collect(),
        span,
        overtime: Minutes::ZERO,
        quality: Quality {
            cost: schedule.cost,
            bound: schedule.bound,
        },
        steps,
    }
}

fn step(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    index: usize,
    slipped: Minute,
    cooks: &[Vec<Given>],
) -> PlannedStep {
    let (menu, links) = (bridge.menu, &bridge.expanded.links);
    let doing = &bridge.expanded.doings[index];
    let card = &menu.dishes[doing.dish].steps[doing.step];
    let placed = schedule.placements[index];
    let window = Window::new(Minute(placed.start), Minute(placed.end));
    let unique = |mut all: Vec<StepIndex>| {
        all.sort_unstable();
        all.dedup();
        all
    };
    let station = card.station.as_ref().map(|id| {
        let named = menu
            .kitchen
            .stations
            .iter()
            .find(|(station, _)| station == id);
        named.map_or_else(|| id.clone(), |(_, name)| name.clone())
    });
    PlannedStep {
        key: doing.key.clone(),
        dish: doing.dish,
        step: doing.step,
        name: doing.name.clone(),
        way: None,
        window,
        can_slip_until: slipped.max(window.start),
        hands: hands(bridge, schedule, index, cooks),
        kit: kit(bridge, schedule, index),
        someone_about: card.hands.someone_about,
        station,
        reason: explain::reason(bridge, schedule, index),
        follows: unique(
            links
                .iter()
                .filter(|it| it.to == index)
                .map(|it| it.from)
                .collect(),
        ),
        followed_by: unique(
            links
                .iter()
                .filter(|it| it.from == index)
                .map(|it| it.to)
                .collect(),
        ),
        happened: bridge.happened[index].filter(|_| bridge.was_ticked(index)),
    }
}

fn dish_plan(bridge: &Bridge<'_>, steps: &[PlannedStep], dish: usize) -> DishPlan {
    let of: Vec<StepIndex> = (0..steps.len())
        .filter(|&index| steps[index].dish == dish)
        .collect();
    let card = &bridge.menu.dishes[dish];
    let at_pass = Minute::SERVICE + bridge.menu.course_of(card).offset;
    let ready = of
        .iter()
        .map(|&index| steps[index].window.end)
        .max()
        .unwrap_or(at_pass);
    let past = of.iter().filter_map(|&index| {
        let step = &steps[index];
        let own = card.steps[step.step].fresh.best;
        let waits_until = step
            .followed_by
            .iter()
            .map(|&next| steps[next].window.start)
            .max();
        let (best, until) = match waits_until {
            Some(until) => (own?, until),
            None => (own.into_iter().chain(card.fresh.best).min()?, at_pass),
        };
        let over = until - step.window.end - best;
        (over.0 > 0).then_some(over)
    });
    let batches = bridge.menu.batches_of(card);
    DishPlan {
        dish,
        name: card.name.clone(),
        at_pass,
        ready,
        batches,
        portions: card.batch.as_ref().map_or_else(
            || bridge.menu.portions_of(card),
            |batch| batches.saturating_mul(batch.portions),
        ),
        past_best: past.max(),
        steps: of,
    }
}

/// Returns the windows in which a doing needs hands, with how many.
fn hand_windows(bridge: &Bridge<'_>, schedule: &Schedule, index: usize) -> Vec<(Window, u32)> {
    let placed = schedule.placements[index];
    let demands = &bridge.instance.activities[index].modes[0].demands;
    segments(demands, placed.start, placed.end)
        .into_iter()
        .filter(|segment| segment.resource == HANDS)
        .map(|segment| {
            let window = Window::new(Minute(segment.from), Minute(segment.to));
            (window, u32::try_from(segment.quantity).unwrap_or(0))
        })
        .collect()
}

/// A stretch of hands with the cooks it is given to.
type Given = (Window, u32, Vec<usize>);

fn hands(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    index: usize,
    cooks: &[Vec<Given>],
) -> Vec<HandsSpan> {
    let names = &bridge.menu.kitchen.cooks;
    let given = |window: Window| {
        let found = cooks[index].iter().find(|(given, ..)| *given == window);
        found.map(|(_, _, who)| who.iter().map(|&cook| names[cook].name.clone()).collect())
    };
    hand_windows(bridge, schedule, index)
        .into_iter()
        .map(|(window, hands)| HandsSpan {
            window,
            hands,
            cooks: given(window).unwrap_or_default(),
        })
        .collect()
}

/// Gives every stretch of hands to cooks on shift: whoever began the step goes on with it, then whoever has
/// worked on the dish, then whoever has least to do. Where nobody can stay to the end, one hands over to
/// another and both are named.
fn assign(bridge: &Bridge<'_>, schedule: &Schedule) -> Vec<Vec<Given>> {
    let doings = &bridge.expanded.doings;
    let mut wanted: Vec<(Window, u32, usize)> = (0..doings.len())
        .filter(|&index| {
            !matches!(
                bridge.happened[index],
                Some(Done::Finished(..) | Done::Skipped(_))
            )
        })
        .flat_map(|index| {
            hand_windows(bridge, schedule, index)
                .into_iter()
                .map(move |(window, hands)| (window, hands, index))
        })
        .collect();
    // Long stretches first among those that begin together: they are the hardest to cover whole.
    wanted.sort_by_key(|&(window, _, index)| (window.start, -window.length().0, index));
    let count = bridge.shifts.len();
    let mut busy: Vec<Vec<Window>> = vec![Vec::new(); count];
    let mut load = vec![0_i32; count];
    let mut on_dish = vec![vec![0_i32; bridge.menu.dishes.len()]; count];
    let mut given: Vec<Vec<Given>> = vec![Vec::new(); doings.len()];
    for (window, hands, index) in wanted {
        let dish = doings[index].dish;
        let begun: Vec<usize> = given[index]
            .iter()
            .flat_map(|(_, _, who)| who.clone())
            .collect();
        let mut who: Vec<usize> = Vec::new();
        let mut ranked: Vec<usize> = (0..count).collect();
        ranked.sort_by_key(|&cook| {
            (
                !begun.contains(&cook),
                on_dish[cook][dish] == 0,
                load[cook],
                cook,
            )
        });
        let free = |cook: usize, window: Window, busy: &[Vec<Window>]| {
            bridge.shifts[cook]
                .iter()
                .any(|on| on.start <= window.start && window.end <= on.end)
                && !busy[cook].iter().any(|taken| taken.overlaps(window))
        };
        for &cook in &ranked {
            if who.len() < hands as usize && free(cook, window, &busy) {
                who.push(cook);
                busy[cook].push(window);
                load[cook] += window.length().0;
                on_dish[cook][dish] += 1;
            }
        }
        // The hands are there minute by minute; who they are may change within.
        let mut missing = hands as usize - who.len();
        while missing > 0 {
            let mut at = window.start;
            while at < window.end {
                let reach = |cook: usize| {
                    let on = bridge.shifts[cook].iter().find(|on| on.contains(at))?;
                    if busy[cook].iter().any(|taken| taken.contains(at)) {
                        return None;
                    }
                    let taken = busy[cook]
                        .iter()
                        .map(|taken| taken.start)
                        .filter(|&from| from > at);
                    Some(
                        taken
                            .chain([on.end, window.end])
                            .min()
                            .unwrap_or(window.end),
                    )
                };
                let best = ranked
                    .iter()
                    .filter_map(|&cook| Some((reach(cook)?, cook)))
                    .max_by_key(|&(until, cook)| {
                        (
                            until,
                            std::cmp::Reverse(ranked.iter().position(|&it| it == cook)),
                        )
                    });
                let Some((until, cook)) = best else { break };
                busy[cook].push(Window::new(at, until));
                load[cook] += (until - at).0;
                if !who.contains(&cook) {
                    who.push(cook);
                }
                at = until;
            }
            missing -= 1;
        }
        given[index].push((window, hands, who));
    }
    given
}

fn kit(bridge: &Bridge<'_>, schedule: &Schedule, index: usize) -> Vec<KitSpan> {
    let placed = schedule.placements[index];
    let name = |resource: ResourceId| bridge.menu.kitchen.kit[resource.0 - 1].name.clone();
    let demands = &bridge.instance.activities[index].modes[0].demands;
    let used = segments(demands, placed.start, placed.end)
        .into_iter()
        .filter(|segment| segment.resource != HANDS)
        .map(|segment| KitSpan {
            name: name(segment.resource),
            count: u32::try_from(segment.quantity).unwrap_or(0),
            window: Window::new(Minute(segment.from), Minute(segment.to)),
            heat: None,
            which: None,
        });
    let at = |(activity, edge): (ActivityId, Edge)| {
        let placed = schedule.placements[activity.0];
        Minute(if edge == Edge::Start {
            placed.start
        } else {
            placed.end
        })
    };
    let kept = bridge
        .instance
        .holds
        .iter()
        .filter(|hold| hold.from.0 == ActivityId(index))
        .map(|hold| KitSpan {
            name: name(hold.resource),
            count: u32::try_from(hold.quantity).unwrap_or(0),
            window: Window::new(at(hold.from), at(hold.to)),
            heat: None,
            which: None,
        });
    used.chain(kept).collect()
}
