//! What the lags of one activity say with all others where they stand.

use super::{NO_LAG, Network};
use crate::schedule::problem::{ActivityId, Duration, Edge, Time};

impl Network<'_> {
    /// Returns the latest start that the lags of an activity allow with all others where `start_of` says.
    pub fn latest_by_neighbours(
        &self,
        start_of: impl Fn(ActivityId) -> Time,
        activity: ActivityId,
    ) -> Time {
        let mut latest = Time::MAX / 4;
        for (_, arc) in self.arcs_out_of(activity) {
            let to = ActivityId(arc.to.0);
            let edge = match arc.to.1 {
                Edge::Start => start_of(to),
                Edge::End => self.end_of(to, start_of(to)),
            };
            let by = edge.saturating_sub(arc.gap);
            latest = latest.min(match arc.from.1 {
                Edge::Start => by,
                Edge::End => self.latest_start(activity, by),
            });
        }
        latest
    }

    /// Returns the earliest start that the lags of an activity allow with all others where `start_of` says.
    pub fn earliest_by_neighbours(
        &self,
        start_of: impl Fn(ActivityId) -> Time,
        activity: ActivityId,
    ) -> Time {
        let mut earliest = Time::MIN / 4;
        for (_, arc) in self.arcs_into(activity) {
            let from = ActivityId(arc.from.0);
            let edge = match arc.from.1 {
                Edge::Start => start_of(from),
                Edge::End => self.end_of(from, start_of(from)),
            };
            let bound = edge.saturating_add(arc.gap);
            earliest = earliest.max(self.start_for_edge((activity, arc.to.1), bound));
        }
        earliest
    }

    /// Returns the latest start no later than `start` at which the lags of an activity to itself may hold, in the mode
    /// chosen for it; where there are none, that is `start`.
    ///
    /// Bounds cannot hold these: between two openings of its gate a wait may be too short or too long, and right again
    /// before the earlier.
    pub fn by_own_lags(&self, activity: ActivityId, mut start: Time) -> Time {
        for arc in &self.arcs.own[activity.0] {
            let end = self.end_of(activity, start);
            let edge = |edge| if edge == Edge::Start { start } else { end };
            if edge(arc.to.1) >= edge(arc.from.1).saturating_add(arc.gap) {
                continue;
            }
            if let Duration::Fixed(_) = self.mode(activity).duration {
                return Time::MIN / 2;
            }
            start = match (arc.from.1, arc.to.1) {
                // Whoever starts earlier ends no later, and so starts before this end less the gap.
                (Edge::Start, Edge::End) => end.saturating_sub(arc.gap),
                // An earlier start must end within the most after itself.
                (Edge::End, Edge::Start) => {
                    self.latest_start(activity, (start - 1).saturating_sub(arc.gap))
                }
                // An edge after itself: never.
                _ => Time::MIN / 2,
            };
        }
        start
    }

    /// Returns the activities whose lags to or from a placed one do not hold, of those that stand.
    pub fn broken_lags(
        &self,
        activity: ActivityId,
        start_of: impl Fn(ActivityId) -> Option<Time>,
    ) -> Vec<ActivityId> {
        let edge_of = |(index, edge): (usize, Edge)| {
            let id = ActivityId(index);
            let start = start_of(id)?;
            Some(match edge {
                Edge::Start => start,
                Edge::End => self.end_of(id, start),
            })
        };
        let arcs = self
            .arcs_out_of(activity)
            .iter()
            .chain(self.arcs_into(activity));
        let mut found: Vec<ActivityId> = arcs
            .filter_map(|(_, arc)| {
                let (from, to) = (edge_of(arc.from)?, edge_of(arc.to)?);
                let other = if arc.from.0 == activity.0 {
                    arc.to.0
                } else {
                    arc.from.0
                };
                (to < from.saturating_add(arc.gap)).then_some(ActivityId(other))
            })
            .collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// Returns the activities at the other ends of an activity's lags; some may come twice.
    pub fn neighbours(&self, activity: ActivityId) -> impl Iterator<Item = ActivityId> {
        let before = self.arcs_into(activity).iter().map(|(_, arc)| arc.from.0);
        let after = self.arcs_out_of(activity).iter().map(|(_, arc)| arc.to.0);
        before.chain(after).map(ActivityId)
    }

    /// Returns, for each lag of an activity that starts at `start`, the activity at its other end and the
    /// earliest start the lag then leaves it.
    pub fn pushes(
        &self,
        activity: ActivityId,
        start: Time,
    ) -> impl Iterator<Item = (ActivityId, Time)> {
        self.arcs_out_of(activity).iter().map(move |(_, arc)| {
            let edge = match arc.from.1 {
                Edge::Start => start,
                Edge::End => self.end_of(activity, start),
            };
            let to = (ActivityId(arc.to.0), arc.to.1);
            (to.0, self.start_for_edge(to, edge.saturating_add(arc.gap)))
        })
    }

    /// Returns a lag that keeps an activity from starting at `start` with all others at `starts`: its place
    /// in the instance, the activity at its other end, and whether its most is what binds.
    pub fn lag_against(
        &self,
        starts: &[Time],
        activity: ActivityId,
        start: Time,
    ) -> Option<(usize, ActivityId, bool)> {
        let edge_of = |(index, edge): (usize, Edge)| {
            let at = if index == activity.0 {
                start
            } else {
                starts[index]
            };
            match edge {
                Edge::Start => at,
                Edge::End => self.end_of(ActivityId(index), at),
            }
        };
        self.arcs_out_of(activity).iter().find_map(|(_, arc)| {
            if arc.lag == NO_LAG {
                return None;
            }
            let broken = edge_of(arc.to) < edge_of(arc.from).saturating_add(arc.gap);
            let lag = &self.instance.lags[arc.lag];
            broken.then_some((arc.lag, ActivityId(arc.to.0), lag.from.0.0 != activity.0))
        })
    }

    /// Returns, for each activity, those that a non-negative least lag puts after it.
    pub fn successors(&self) -> Vec<Vec<u32>> {
        let mut successors: Vec<Vec<u32>> = vec![Vec::new(); self.instance.activities.len()];
        for lag in &self.instance.lags {
            if lag.least >= 0 && lag.from.0 != lag.to.0 {
                successors[lag.from.0.0].push(lag.to.0.0 as u32);
            }
        }
        for list in &mut successors {
            list.sort_unstable();
            list.dedup();
        }
        successors
    }
}
