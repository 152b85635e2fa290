//! Why nothing fits.
//!
//! Explanations are looked for in the order in which a person would: rules that contradict one another (`cycle`),
//! an activity that no start is left for, more work in a stretch of time than there is room for (`overload`), two
//! that cannot share (`pair`), more that cannot even choose among their modes (`choices`), and at last a smallest set
//! found by taking things away (`core`). All but the last are proofs and cheap; [`prove_infeasible`] looks for those.

mod choices;
mod core;
mod cycle;
mod overload;
mod pair;
mod prove;

pub use self::core::{Verdict, core, only};
pub use cycle::cycle;
pub use overload::overload;
pub use pair::pair;
pub(super) use prove::too_much_asked;
pub use prove::{prove_infeasible, prove_infeasible_while};

use super::problem::{ActivityId, ResourceId, StateId, Time};

/// Returns whether a bound of a window is a time, and not that there is none.
///
/// Windows say "never" with a quarter of the largest number, so that lags can still be added to it.
pub fn is_a_time(bound: Time) -> bool {
    (Time::MIN / 8..Time::MAX / 8).contains(&bound)
}

/// What stands in the way of every schedule, or of every one the search tried.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conflict {
    /// Lags that contradict one another: the activities around a cycle whose lags ask for `excess` more
    /// minutes than there are. `lags` are places in [`Instance::lags`](super::Instance::lags), in order; any
    /// one of them that gives way by `excess` undoes the cycle.
    Cycle {
        /// The lags around it.
        lags: Vec<usize>,
        /// By how much they ask too much.
        excess: Time,
    },
    /// An activity whose windows leave it no start, resources not counted: it would have to start by `latest`
    /// and cannot start before `earliest`. Where no start is left from some time on, or none before one, the bound
    /// is no time ([`is_a_time`]).
    Window {
        /// The activity.
        activity: ActivityId,
        /// Its earliest start by lags, releases and fixed activities.
        earliest: Time,
        /// Its latest start by lags and deadlines.
        latest: Time,
        /// The lags that moved these bounds, by their places in the instance: those that hold it early, then
        /// those that hold it late.
        moved_by: Vec<usize>,
    },
    /// An activity asks for more of a resource than there ever is.
    Capacity {
        /// The activity.
        activity: ActivityId,
        /// The resource.
        resource: ResourceId,
        /// The most there ever is.
        most: i32,
    },
    /// More work must be done in a stretch of time than there is room for.
    Overload {
        /// Of which resource.
        resource: ResourceId,
        /// The first minute of the stretch.
        from: Time,
        /// The first minute after it.
        to: Time,
        /// How much there is in it, units times minutes, besides what has happened takes.
        available: i64,
        /// The least these activities use of it in there, wherever they stand.
        needed: i64,
        /// The activities; without any one of them the rest might fit.
        activities: Vec<ActivityId>,
    },
    /// Two activities that cannot go on at once, and neither can wait for the other.
    Pair {
        /// The two.
        activities: [ActivityId; 2],
        /// What they cannot share.
        shared: Contended,
        /// The earliest either can start.
        from: Time,
        /// The latest either can end.
        to: Time,
        /// By how many minutes the better of the two orders misses.
        lacking: Time,
    },
    /// A smallest set: what is left when nothing more can be taken away.
    Core(Box<Core>),
    /// An activity that found no place: searched from `latest` back to `earliest` among those already placed.
    NoPlace {
        /// The activity.
        activity: ActivityId,
        /// The earliest start tried.
        earliest: Time,
        /// The latest start tried.
        latest: Time,
        /// The resource that was missing most often, if one was.
        resource: Option<ResourceId>,
        /// The activities in its way; none where it has no place even alone.
        by: Vec<ActivityId>,
    },
}

/// A set that does not fit, and from which nothing more can be taken away.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Core {
    /// The activities with their demands, hours and bounds.
    pub activities: Vec<ActivityId>,
    /// The lags between them that are needed for it, by their places in the instance.
    pub lags: Vec<usize>,
    /// The resources that are.
    pub resources: Vec<ResourceId>,
    /// The state resources that are.
    pub states: Vec<StateId>,
    /// Whether these together are proved impossible; otherwise no schedule was found for them, and nothing is
    /// proved.
    pub proved: bool,
    /// Whether a schedule was found without each one of the activities; otherwise the search for a smallest set was
    /// broken off.
    pub smallest: bool,
}

/// What two activities cannot share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Contended {
    /// A resource of which both together need more than there is.
    Resource(ResourceId),
    /// A resource that would have to be in two states.
    State(StateId),
}
