//! What may be answered: a schedule with what holds each activity back, or why there is none.

use super::conflict::Conflict;
use super::problem::{ActivityId, CalendarId, Edge, ResourceId, StateId, Time};

/// Where one activity stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placement {
    /// The mode chosen, by its place in the activity's modes.
    pub mode: usize,
    /// Its first minute.
    pub start: Time,
    /// The first minute after it.
    pub end: Time,
}

/// A placement for every activity, in the order of the instance.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Schedule {
    /// The placements.
    pub placements: Vec<Placement>,
    /// What keeps each activity from starting a minute later with all others where they are.
    pub blocking: Vec<Blocking>,
    /// The same for each activity together with those that stand at fixed distances from it.
    pub as_one: Vec<Blocking>,
    /// What it costs, by [`Weights`](super::Weights).
    pub cost: i64,
    /// No schedule costs less than this; equal to `cost` where it is proved best.
    pub bound: i64,
    /// Whether whatever was announced stands where it was announced, or only as much later as it must: nothing had
    /// to be looked for.
    pub kept: bool,
}

/// What keeps an activity from starting a minute later.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Blocking {
    /// It has already happened.
    Fixed,
    /// Its own deadline.
    Deadline,
    /// The end of the instance.
    Horizon,
    /// A lag to or from another activity, by its place in [`Instance::lags`](super::Instance::lags); the
    /// other activity; and whether the lag's maximum is what binds.
    Lag {
        /// Which lag.
        lag: usize,
        /// The activity at its other end.
        other: ActivityId,
        /// Whether its maximum binds, rather than its minimum.
        most: bool,
    },
    /// A resource is in use by these activities, or there is less of it then.
    Resource {
        /// Which resource.
        resource: ResourceId,
        /// Who uses it at the first minute that is missing; empty when capacity itself is missing.
        by: Vec<ActivityId>,
        /// That minute.
        at: Time,
    },
    /// A state resource is in another state for these activities.
    State {
        /// Which state resource.
        state: StateId,
        /// Who has it in another state at the first minute that is in the way.
        by: Vec<ActivityId>,
        /// That minute.
        at: Time,
    },
    /// A calendar.
    Calendar {
        /// Which calendar.
        calendar: CalendarId,
        /// Which end of the activity runs out of it.
        edge: Edge,
    },
    /// A minute later and the wait would end at a later opening than what follows allows.
    Gate,
    /// Nothing: it could start later, and costs less where it is.
    Choice,
}

/// What the engine can say of an instance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// A schedule proved best.
    Optimal(Schedule),
    /// A schedule; better ones may exist.
    Feasible(Schedule),
    /// Proved impossible, with why.
    Infeasible(Conflict),
    /// Nothing found within the effort given, with where the search was stopped; nothing is proved.
    Unknown(Conflict),
}
