//! Schedule → the plan as the sheet shows it.

use super::assign::{Given, assign};
use super::explain;
use super::from_menu::{Bridge, HANDS};
use super::hours;
use super::run_sheet::{
    ChosenWay, CookSpan, Course, DishPlan, HandsSpan, KitSpan, Plan, PlannedStep, Quality,
    StepIndex,
};
use super::shared::Shared;
use super::staying_on::beyond_shifts;
use super::ways::on_card;
use crate::schedule::cost::cost;
use crate::schedule::segments::segments;
use crate::schedule::{ActivityId, Edge, Instance, Schedule};
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
    let assignment = assign(bridge, schedule, |index| {
        hand_windows(bridge, schedule, index)
    });
    let open = open_from(&bridge.instance, schedule);
    let steps: Vec<PlannedStep> = (0..doings.len())
        .map(|index| {
            let slack = (open[index], slipped[index]);
            step(bridge, schedule, index, slack, &assignment.given)
        })
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
        overtime: beyond_shifts(bridge, &assignment.overtime, &steps, now),
        quality: Quality {
            cost: cost_unannounced(&bridge.instance, schedule),
            bound: schedule.bound,
        },
        breaks: !bridge.broken.is_empty(),
        anew: !schedule.kept,
        steps,
    }
}

/// Returns the soonest start of each activity by the gaps before it, as a schedule places what they count from; the beginning
/// of the plan where there are none.
fn open_from(instance: &Instance, schedule: &Schedule) -> Vec<Minute> {
    let mut open = vec![Minute(instance.earliest); instance.activities.len()];
    for lag in instance.lags.iter().filter(|lag| lag.to.1 == Edge::Start) {
        let placed = schedule.placements[lag.from.0.0];
        let edge = match lag.from.1 {
            Edge::Start => placed.start,
            Edge::End => placed.end,
        };
        let from = &mut open[lag.to.0.0];
        *from = (*from).max(Minute(edge.saturating_add(lag.least)));
    }
    open
}

/// Returns what a schedule costs but for what moves it from what was announced, as its bound has it.
fn cost_unannounced(instance: &Instance, schedule: &Schedule) -> i64 {
    if instance.has_announced() {
        cost(&instance.unannounced(), &schedule.placements).total()
    } else {
        schedule.cost
    }
}

fn step(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    index: usize,
    (open_from, slipped): (Minute, Minute),
    given: &[Vec<Given>],
) -> PlannedStep {
    let (menu, links) = (bridge.menu, &bridge.expanded.links);
    let doing = &bridge.expanded.doings[index];
    let card = &menu.dishes[doing.dish].steps[doing.step];
    let placed = schedule.placements[index];
    let manner = &bridge.manners[index][placed.mode];
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
        way: manner.way.map(|way| ChosenWay {
            place: way,
            name: card.ways[way].name.clone(),
        }),
        window,
        can_slip_until: slipped.max(window.start),
        open_from,
        hands: hands(bridge, &given[index], hand_windows(bridge, schedule, index)),
        kit: kit(bridge, schedule, index),
        someone_about: on_card(card, manner.way).hands.someone_about,
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
        is_presumed: bridge.has_happened(index) && !bridge.was_ticked(index),
        due: bridge.due(index),
        told: bridge
            .told
            .and_then(|told| told.get(&doing.key))
            .map(|told| told.start)
            .filter(|&start| start != window.start && !bridge.has_happened(index)),
        needed_by: None,
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
    let made = &bridge.expanded.made[dish];
    DishPlan {
        dish,
        name: card.name.clone(),
        at_pass,
        ready,
        batches: made.count(),
        portions: u32::try_from(made.portions()).unwrap_or(u32::MAX),
        past_best: past.max(),
        late: None,
        steps: of,
    }
}

/// Returns the windows in which a doing needs hands, with how many.
fn hand_windows(bridge: &Bridge<'_>, schedule: &Schedule, index: usize) -> Vec<(Window, u32)> {
    let placed = schedule.placements[index];
    let demands = &bridge.instance.activities[index].modes[placed.mode].demands;
    segments(demands, placed.start, placed.end)
        .into_iter()
        .filter(|segment| segment.resource == HANDS)
        .map(|segment| {
            let window = Window::new(Minute(segment.from), Minute(segment.to));
            (window, u32::try_from(segment.quantity).unwrap_or(0))
        })
        .collect()
}

/// Returns the stretches of hands of a doing with the names of the cooks; what has happened names nobody.
fn hands(bridge: &Bridge<'_>, given: &[Given], windows: Vec<(Window, u32)>) -> Vec<HandsSpan> {
    let names = &bridge.menu.kitchen.cooks;
    let who = |window: Window| {
        let found = given.iter().find(|given| given.window == window);
        let cooks = found.map(|given| given.cooks.iter().map(|&cook| names[cook].name.clone()));
        cooks.map(Iterator::collect).unwrap_or_default()
    };
    let windows = windows.into_iter();
    windows
        .map(|(window, hands)| HandsSpan {
            window,
            hands,
            cooks: who(window),
        })
        .collect()
}

/// Returns the kit a doing uses, and what it keeps beyond its end.
fn kit(bridge: &Bridge<'_>, schedule: &Schedule, index: usize) -> Vec<KitSpan> {
    let placed = schedule.placements[index];
    let kinds = &bridge.menu.kitchen.kit;
    let span = |kit: usize, count: u32, window: Window| KitSpan {
        name: kinds[kit].name.clone(),
        count,
        window,
        heat: None,
        which: None,
    };
    let demands = &bridge.instance.activities[index].modes[placed.mode].demands;
    let counted = segments(demands, placed.start, placed.end)
        .into_iter()
        .filter_map(|segment| match bridge.shared[segment.resource.0] {
            Shared::Kit(kit) => {
                let window = Window::new(Minute(segment.from), Minute(segment.to));
                Some(span(
                    kit,
                    u32::try_from(segment.quantity).unwrap_or(0),
                    window,
                ))
            }
            _ => None,
        });
    let whole = Window::new(Minute(placed.start), Minute(placed.end));
    // What was skipped has taken no oven.
    let baked = &bridge.manners[index][placed.mode].ovens;
    let baked = baked
        .iter()
        .filter(|_| !bridge.is_skipped(index) && !whole.is_empty());
    let baked = baked.map(|oven| KitSpan {
        heat: oven.heat,
        which: Some(oven.unit as u32 + 1),
        ..span(oven.kit, oven.shelves, whole)
    });
    let at = |(activity, edge): (ActivityId, Edge)| {
        let placed = schedule.placements[activity.0];
        Minute(if edge == Edge::Start {
            placed.start
        } else {
            placed.end
        })
    };
    let holds = bridge.instance.holds.iter();
    let kept = holds
        .filter(|hold| hold.from.0 == ActivityId(index))
        .filter_map(|hold| {
            let count = u32::try_from(hold.quantity).unwrap_or(0);
            let window = Window::new(at(hold.from), at(hold.to));
            match bridge.shared[hold.resource.0] {
                Shared::Kit(kit) => Some(span(kit, count, window)),
                Shared::Oven { kit, unit } => Some(KitSpan {
                    which: Some(unit as u32 + 1),
                    ..span(kit, count, window)
                }),
                _ => None,
            }
        });
    counted.chain(baked).chain(kept).collect()
}
