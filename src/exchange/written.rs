//! What an instance looks like when written: the fields of the format in its order.
//!
//! The engine's types know nothing of any format; these are their images. What says no more than leaving it out
//! would say is left out.

use serde::Serialize;

use super::instance::{FORMAT, Named, VERSION};
use crate::schedule::{
    Activity, ActivityId, Anchor, Calendar, Coverage, Demand, Duration, Edge, Gate, Hold, Lag,
    Level, Mode, Resource, StateResource, Time, Use, Weights, Wish,
};

#[derive(Serialize)]
pub(super) struct Document<'a> {
    format: &'static str,
    version: i64,
    earliest: Time,
    latest: Time,
    weights: WrittenWeights,
    resources: Vec<WrittenResource<'a>>,
    states: Vec<WrittenState<'a>>,
    calendars: Vec<WrittenCalendar<'a>>,
    gates: Vec<WrittenGate<'a>>,
    activities: Vec<WrittenActivity<'a>>,
    lags: Vec<WrittenLag>,
    holds: Vec<WrittenHold>,
    wishes: Vec<WrittenWish>,
    levels: Vec<WrittenLevel<'a>>,
}

#[derive(Serialize)]
struct WrittenWeights {
    late: i64,
    wish: i64,
    overtime: i64,
    uneven: i64,
    early: i64,
    mode: i64,
    moved: i64,
    moved_by: i64,
}

#[derive(Serialize)]
struct WrittenResource<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    capacity: &'a [(Time, i32)],
    #[serde(skip_serializing_if = "Option::is_none")]
    regular: Option<&'a [(Time, i32)]>,
}

#[derive(Serialize)]
struct WrittenState<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    change: Time,
}

#[derive(Serialize)]
struct WrittenCalendar<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    windows: &'a [(Time, Time)],
}

#[derive(Serialize)]
struct WrittenGate<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    openings: &'a [Time],
}

#[derive(Serialize)]
struct WrittenActivity<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    modes: Vec<WrittenMode>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    calendars: Vec<WrittenFit>,
    #[serde(skip_serializing_if = "Option::is_none")]
    release: Option<Time>,
    #[serde(skip_serializing_if = "Option::is_none")]
    deadline: Option<Time>,
    #[serde(skip_serializing_if = "Option::is_none")]
    due: Option<Time>,
    #[serde(skip_serializing_if = "Option::is_none")]
    fixed: Option<WrittenFixed>,
    weight: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    announced: Option<Time>,
}

#[derive(Serialize)]
struct WrittenMode {
    duration: WrittenDuration,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    demands: Vec<WrittenDemand>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    states: Vec<WrittenNeed>,
    #[serde(skip_serializing_if = "is_zero")]
    cost: i32,
}

#[derive(Serialize)]
#[serde(untagged)]
enum WrittenDuration {
    Fixed(Time),
    Until {
        gate: usize,
        count: u32,
        at_least: Time,
        then: Time,
    },
}

#[derive(Serialize)]
struct WrittenDemand {
    resource: usize,
    quantity: i32,
    #[serde(skip_serializing_if = "Option::is_none")]
    part: Option<WrittenPart>,
    #[serde(skip_serializing_if = "Option::is_none")]
    looks: Option<WrittenLooks>,
}

#[derive(Serialize)]
struct WrittenPart {
    edge: &'static str,
    from: Time,
    to: Time,
}

#[derive(Serialize)]
struct WrittenLooks {
    every: Time,
    length: Time,
}

#[derive(Serialize)]
struct WrittenNeed {
    state: usize,
    value: i32,
}

#[derive(Serialize)]
struct WrittenFit {
    calendar: usize,
    fit: &'static str,
}

#[derive(Serialize)]
struct WrittenFixed {
    start: Time,
    #[serde(skip_serializing_if = "Option::is_none")]
    end: Option<Time>,
}

type WrittenEdge = (usize, &'static str);

#[derive(Serialize)]
struct WrittenLag {
    from: WrittenEdge,
    to: WrittenEdge,
    least: Time,
    #[serde(skip_serializing_if = "Option::is_none")]
    most: Option<Time>,
}

#[derive(Serialize)]
struct WrittenHold {
    resource: usize,
    quantity: i32,
    from: WrittenEdge,
    to: WrittenEdge,
}

#[derive(Serialize)]
struct WrittenWish {
    from: WrittenEdge,
    to: WrittenEdge,
    #[serde(skip_serializing_if = "Option::is_none")]
    least: Option<Time>,
    #[serde(skip_serializing_if = "Option::is_none")]
    most: Option<Time>,
    weight: i32,
}

#[derive(Serialize)]
struct WrittenLevel<'a> {
    resource: usize,
    buckets: &'a [(Time, Time)],
    weight: i32,
}

impl<'a> Document<'a> {
    pub(super) fn new(named: &'a Named) -> Self {
        let (instance, names) = (&named.instance, &named.names);
        Self {
            format: FORMAT,
            version: VERSION,
            earliest: instance.earliest,
            latest: instance.latest,
            weights: weights(instance.weights),
            resources: each(&instance.resources, &names.resources, resource),
            states: each(
                &instance.states,
                &names.states,
                |state: &StateResource, name| WrittenState {
                    name,
                    change: state.change,
                },
            ),
            calendars: each(
                &instance.calendars,
                &names.calendars,
                |calendar: &'a Calendar, name| WrittenCalendar {
                    name,
                    windows: &calendar.windows,
                },
            ),
            gates: each(&instance.gates, &names.gates, |gate: &'a Gate, name| {
                WrittenGate {
                    name,
                    openings: &gate.openings,
                }
            }),
            activities: each(&instance.activities, &names.activities, activity),
            lags: instance.lags.iter().map(lag).collect(),
            holds: instance.holds.iter().map(hold).collect(),
            wishes: instance.wishes.iter().map(wish).collect(),
            levels: instance.levels.iter().map(level).collect(),
        }
    }
}

/// Returns each thing written with its name, where it has one.
fn each<'a, T, W>(
    things: &'a [T],
    names: &'a [Option<String>],
    write: impl Fn(&'a T, Option<&'a str>) -> W,
) -> Vec<W> {
    things
        .iter()
        .enumerate()
        .map(|(index, thing)| write(thing, names.get(index).and_then(Option::as_deref)))
        .collect()
}

fn weights(weights: Weights) -> WrittenWeights {
    let Weights {
        late,
        wish,
        overtime,
        uneven,
        early,
        mode,
        moved,
        moved_by,
    } = weights;
    WrittenWeights {
        late,
        wish,
        overtime,
        uneven,
        early,
        mode,
        moved,
        moved_by,
    }
}

fn resource<'a>(resource: &'a Resource, name: Option<&'a str>) -> WrittenResource<'a> {
    WrittenResource {
        name,
        capacity: &resource.capacity,
        regular: resource.regular.as_deref(),
    }
}

fn activity<'a>(activity: &'a Activity, name: Option<&'a str>) -> WrittenActivity<'a> {
    WrittenActivity {
        name,
        modes: activity.modes.iter().map(mode).collect(),
        calendars: activity
            .calendars
            .iter()
            .map(|&(calendar, coverage)| WrittenFit {
                calendar: calendar.0,
                fit: match coverage {
                    Coverage::Start => "start",
                    Coverage::End => "end",
                    Coverage::Whole => "whole",
                },
            })
            .collect(),
        release: activity.release,
        deadline: activity.deadline,
        due: activity.due,
        fixed: activity
            .fixed
            .map(|(start, end)| WrittenFixed { start, end }),
        weight: activity.weight,
        announced: activity.announced,
    }
}

fn mode(mode: &Mode) -> WrittenMode {
    WrittenMode {
        duration: match mode.duration {
            Duration::Fixed(length) => WrittenDuration::Fixed(length),
            Duration::Until {
                gate,
                count,
                at_least,
                then,
            } => WrittenDuration::Until {
                gate: gate.0,
                count,
                at_least,
                then,
            },
        },
        demands: mode.demands.iter().map(demand).collect(),
        states: mode
            .states
            .iter()
            .map(|&(state, value)| WrittenNeed {
                state: state.0,
                value,
            })
            .collect(),
        cost: mode.cost,
    }
}

fn demand(demand: &Demand) -> WrittenDemand {
    let (part, looks) = match demand.when {
        Use::Whole => (None, None),
        Use::Part { anchor, from, to } => {
            let edge = match anchor {
                Anchor::Start => "start",
                Anchor::End => "end",
            };
            (Some(WrittenPart { edge, from, to }), None)
        }
        Use::Every { every, length } => (None, Some(WrittenLooks { every, length })),
    };
    WrittenDemand {
        resource: demand.resource.0,
        quantity: demand.quantity,
        part,
        looks,
    }
}

fn edge((activity, edge): (ActivityId, Edge)) -> WrittenEdge {
    let edge = match edge {
        Edge::Start => "start",
        Edge::End => "end",
    };
    (activity.0, edge)
}

fn lag(lag: &Lag) -> WrittenLag {
    WrittenLag {
        from: edge(lag.from),
        to: edge(lag.to),
        least: lag.least,
        most: lag.most,
    }
}

fn hold(hold: &Hold) -> WrittenHold {
    WrittenHold {
        resource: hold.resource.0,
        quantity: hold.quantity,
        from: edge(hold.from),
        to: edge(hold.to),
    }
}

fn wish(wish: &Wish) -> WrittenWish {
    WrittenWish {
        from: edge(wish.from),
        to: edge(wish.to),
        least: wish.least,
        most: wish.most,
        weight: wish.weight,
    }
}

fn level(level: &Level) -> WrittenLevel<'_> {
    WrittenLevel {
        resource: level.resource.0,
        buckets: &level.buckets,
        weight: level.weight,
    }
}

fn is_zero(number: &i32) -> bool {
    *number == 0
}
