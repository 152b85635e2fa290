//! Why nothing fits.

use super::problem::{ActivityId, ResourceId, Time};

/// What stands in the way of every schedule, or of every one the search tried.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conflict {
    /// Lags that contradict one another: the activities around a cycle whose lags ask for `excess` more
    /// minutes than there are. `lags` are places in [`Instance::lags`](super::Instance::lags), in order.
    Cycle {
        /// The lags around it.
        lags: Vec<usize>,
        /// By how much they ask too much.
        excess: Time,
    },
    /// An activity whose windows leave it no start, resources not counted: it would have to start by `latest`
    /// and cannot start before `earliest`.
    Window {
        /// The activity.
        activity: ActivityId,
        /// Its earliest start by lags, releases and fixed activities.
        earliest: Time,
        /// Its latest start by lags and deadlines.
        latest: Time,
        /// The lags that moved these bounds last, by their places in the instance.
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
        /// The activities in its way.
        by: Vec<ActivityId>,
    },
}
