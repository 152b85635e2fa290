//! Projects: the part of the model in which nothing changes over time.
//!
//! The published instances ask one question, the shortest makespan of activities with constant durations, demands
//! and capacities and start-to-start lags; read backward it is "how late can all of this start?". What a kitchen
//! asks is wider, and is answered by [`search`](super::search); this kernel is leaner, because it has less to
//! look after.

pub mod exact;

/// A project: activities with constant demands, start-to-start lags, constant capacities.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Project {
    /// Minutes each activity takes. The first and the last activity are the beginning and the end: they take
    /// nothing, need nothing, and lie before and after all others.
    pub durations: Vec<i32>,
    /// What each activity uses of each resource while it lasts: one row for each activity.
    pub demands: Vec<Vec<i32>>,
    /// How much there is of each resource.
    pub capacities: Vec<i32>,
    /// `(from, to, lag)`: `to` starts no earlier than `lag` minutes after `from` starts. A negative lag is a
    /// maximum, reversed.
    pub arcs: Vec<(usize, usize, i32)>,
}
