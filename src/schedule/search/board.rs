//! The board: what stands where, and what is free beside it.
//!
//! A hold (a resource kept from one activity to another) is known in full only when both stand. While only its
//! later end stands, it takes the whole unbroken free stretch before it, and the activity at its other end may
//! not reach further back than that; placing that activity gives the rest back. While only its earlier end
//! stands (it has happened), it takes what it is sure to need: until the other end can come at the earliest.

use super::segments::{Moves, Segment, segments};
use crate::schedule::network::Network;
use crate::schedule::problem::{ActivityId, Edge, Instance, ResourceId, Time};
use crate::schedule::profile::Profile;
use crate::schedule::solution::Placement;

/// Placements and the resources they leave.
#[derive(Clone, Debug)]
pub(super) struct Board<'a> {
    pub(super) instance: &'a Instance,
    pub(super) network: &'a Network<'a>,
    pub(super) placed: Vec<Option<Placement>>,
    profiles: Vec<Profile>,
    holds_of: Vec<Vec<u32>>,
    /// What each hold takes at present.
    taken: Vec<Option<(Time, Time)>>,
    /// How early each activity can start, resources not counted.
    earliest: &'a [Time],
}

/// What stood in the way of a placement.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lack {
    pub(super) resource: ResourceId,
    pub(super) at: Time,
}

/// The latest placement found, and the last thing that was lacking at a later one.
pub(super) type Fit = Result<Placement, Option<Lack>>;

impl<'a> Board<'a> {
    /// Returns a board on which only what has happened stands; `earliest` is how early each activity can start,
    /// resources not counted.
    pub(super) fn new(
        instance: &'a Instance,
        network: &'a Network<'a>,
        earliest: &'a [Time],
    ) -> Self {
        let count = instance.activities.len();
        let mut holds_of = vec![Vec::new(); count];
        for (index, hold) in instance.holds.iter().enumerate() {
            holds_of[hold.from.0.0].push(index as u32);
            if hold.to.0 != hold.from.0 {
                holds_of[hold.to.0.0].push(index as u32);
            }
        }
        let mut board = Self {
            instance,
            network,
            placed: vec![None; count],
            profiles: instance.resources.iter().map(Profile::new).collect(),
            holds_of,
            taken: vec![None; instance.holds.len()],
            earliest,
        };
        for (index, activity) in instance.activities.iter().enumerate() {
            if let Some((start, _)) = activity.fixed {
                board.place(ActivityId(index), start);
            }
        }
        board
    }

    fn edge(&self, (activity, edge): (ActivityId, Edge)) -> Option<Time> {
        self.placed[activity.0].map(|placed| match edge {
            Edge::Start => placed.start,
            Edge::End => placed.end,
        })
    }

    /// Puts an activity at a start without asking whether it fits.
    pub(super) fn place(&mut self, activity: ActivityId, start: Time) -> Placement {
        let placement = Placement {
            mode: 0,
            start,
            end: self.network.end_of(activity, start),
        };
        self.count(activity, placement, -1);
        self.placed[activity.0] = Some(placement);
        self.reckon_holds(activity);
        placement
    }

    /// Takes an activity off again.
    pub(super) fn remove(&mut self, activity: ActivityId) {
        if let Some(placement) = self.placed[activity.0].take() {
            self.count(activity, placement, 1);
            self.reckon_holds(activity);
        }
    }

    fn count(&mut self, activity: ActivityId, placement: Placement, sign: i32) {
        for segment in segments(
            &self.network.mode(activity).demands,
            placement.start,
            placement.end,
        ) {
            self.profiles[segment.resource.0].add(
                segment.from,
                segment.to,
                sign * segment.quantity,
            );
        }
    }

    fn reckon_holds(&mut self, activity: ActivityId) {
        for at in 0..self.holds_of[activity.0].len() {
            let index = self.holds_of[activity.0][at] as usize;
            let hold = self.instance.holds[index];
            if let Some((from, to)) = self.taken[index].take() {
                self.profiles[hold.resource.0].add(from, to, hold.quantity);
            }
            let profile = &self.profiles[hold.resource.0];
            self.taken[index] = match (self.edge(hold.from), self.edge(hold.to)) {
                (Some(from), Some(to)) => Some((from, to)),
                (None, Some(to)) => Some((
                    profile.free_since(to, hold.quantity, self.instance.earliest),
                    to,
                )),
                (Some(from), None) => {
                    let (other, edge) = hold.to;
                    let start = self.earliest[other.0];
                    let end = match edge {
                        Edge::Start => start,
                        Edge::End => self.network.end_of(other, start),
                    };
                    Some((from, end.clamp(from, self.instance.latest.max(from))))
                }
                (None, None) => None,
            };
            if let Some((from, to)) = self.taken[index] {
                self.profiles[hold.resource.0].add(from, to, -hold.quantity);
            }
        }
    }

    /// Returns, for each open hold that ends at `activity`, the activity at its other end and the earliest
    /// moment it may begin at.
    pub(super) fn open_before(&self, activity: ActivityId) -> Vec<((ActivityId, Edge), Time)> {
        self.holds_of[activity.0]
            .iter()
            .filter_map(|&index| {
                let hold = self.instance.holds[index as usize];
                let open = hold.to.0 == activity && self.edge(hold.from).is_none();
                let (since, _) = self.taken[index as usize].filter(|_| open)?;
                Some((hold.from, since))
            })
            .collect()
    }

    /// Returns the latest placement no later than `latest` and no earlier than `earliest` that calendars and
    /// free resources allow, or what was lacking.
    ///
    /// Each failed start is left by a jump to the latest start that could clear what was lacking; no start in
    /// between could, so none is skipped.
    pub(super) fn latest_fit(&self, activity: ActivityId, earliest: Time, latest: Time) -> Fit {
        let demands = &self.network.mode(activity).demands;
        let (mut start, mut lacked) = (latest, None);
        loop {
            start = self.network.calendar_down(activity, start).ok_or(lacked)?;
            if start < earliest {
                return Err(lacked);
            }
            let end = self.network.end_of(activity, start);
            let mut next = start;
            for segment in segments(demands, start, end) {
                if let Some(at) = self.lack(segment) {
                    lacked = Some(Lack {
                        resource: segment.resource,
                        at,
                    });
                    let back = segment.to - at;
                    next = next.min(match segment.moves {
                        Moves::Start => start - back,
                        Moves::End | Moves::Both => self
                            .network
                            .latest_start(activity, end - (segment.to - at))
                            .min(start - 1),
                    });
                }
            }
            for &index in &self.holds_of[activity.0] {
                if let Some((at, before)) = self.hold_lack(index as usize, activity, start, end) {
                    let resource = self.instance.holds[index as usize].resource;
                    lacked = Some(Lack { resource, at });
                    next = next.min(before.min(start - 1));
                }
            }
            if next == start {
                return Ok(Placement {
                    mode: 0,
                    start,
                    end,
                });
            }
            start = next;
        }
    }

    fn lack(&self, segment: Segment) -> Option<Time> {
        self.profiles[segment.resource.0].first_lack(segment.from, segment.to, segment.quantity)
    }

    /// Returns whether an activity fits at just this start, with every hold that begins at it reaching back no
    /// further than what is free.
    pub(super) fn fits(&self, activity: ActivityId, start: Time) -> bool {
        let end = self.network.end_of(activity, start);
        let reaches = self.holds_of[activity.0].iter().all(|&index| {
            let hold = self.instance.holds[index as usize];
            let opened = hold.from.0 == activity && self.edge(hold.to).is_some();
            let from = if hold.from.1 == Edge::Start {
                start
            } else {
                end
            };
            !opened || self.taken[index as usize].is_none_or(|(since, _)| since <= from)
        });
        reaches && self.latest_fit(activity, start, start).is_ok()
    }

    /// Returns whether a placed activity takes more than there is: what it uses and what it keeps may each fit
    /// by themselves and not together.
    pub(super) fn overdraws(&self, activity: ActivityId) -> bool {
        let lacks = |resource: ResourceId, from, to| {
            self.profiles[resource.0].first_lack(from, to, 0).is_some()
        };
        let holds = &self.holds_of[activity.0];
        // Without a hold there is nothing to add up: segments of one activity never overlap.
        holds.iter().any(|&index| {
            let hold = self.instance.holds[index as usize];
            self.taken[index as usize].is_some_and(|(from, to)| lacks(hold.resource, from, to))
        })
    }

    /// Returns where a hold that ends (or only just begins) at this activity lacks its resource, and the latest
    /// start that clears it.
    fn hold_lack(
        &self,
        index: usize,
        activity: ActivityId,
        start: Time,
        end: Time,
    ) -> Option<(Time, Time)> {
        let hold = self.instance.holds[index];
        let profile = &self.profiles[hold.resource.0];
        let edge_of = |edge| if edge == Edge::Start { start } else { end };
        let start_for = |edge, moment| match edge {
            Edge::Start => moment,
            Edge::End => self.network.latest_start(activity, moment),
        };
        if hold.to.0 == activity {
            let to = edge_of(hold.to.1);
            // What stands at the other end takes from its own edge on; before that nothing can lack.
            let from = if hold.from.0 == activity {
                edge_of(hold.from.1)
            } else {
                let standing = self.edge(hold.from).zip(self.taken[index]);
                match standing {
                    Some((_, (_, taken_to))) if to <= taken_to => return None,
                    Some((from, (_, taken_to))) => taken_to.max(from),
                    None => {
                        let free = profile.free_until(to, hold.quantity);
                        return (free < to).then(|| (to - 1, start_for(hold.to.1, free)));
                    }
                }
            };
            let at = profile.first_lack(from, to, hold.quantity)?;
            return Some((at, start_for(hold.to.1, at)));
        }
        // It begins here. With its other end placed, the open hold already bounds this activity from below;
        // with neither placed, only the first minute can be asked for.
        if self.edge(hold.to).is_some() {
            return None;
        }
        let from = edge_of(hold.from.1);
        let at = profile.first_lack(from, from + 1, hold.quantity)?;
        let free = profile.free_until(from, hold.quantity);
        Some((at, start_for(hold.from.1, (free - 1).min(from - 1))))
    }

    /// Returns the activities that use a resource at a minute, holds counted to the activity that took them.
    pub(super) fn users(&self, resource: ResourceId, at: Time) -> Vec<ActivityId> {
        let mut users = Vec::new();
        for (index, placed) in self.placed.iter().enumerate() {
            let Some(placed) = placed else { continue };
            let id = ActivityId(index);
            let uses = segments(&self.network.mode(id).demands, placed.start, placed.end)
                .iter()
                .any(|segment| {
                    segment.resource == resource && segment.from <= at && at < segment.to
                });
            if uses {
                users.push(id);
            }
        }
        for (hold, taken) in self.instance.holds.iter().zip(&self.taken) {
            let holds = taken.is_some_and(|(from, to)| from <= at && at < to);
            if hold.resource == resource && holds {
                users.push(hold.from.0);
            }
        }
        users.sort_unstable();
        users.dedup();
        users
    }

    /// Returns the placed activities that would have to go earlier for a resource to be free at a minute: for a
    /// hold, the one that gives it back.
    pub(super) fn standing_users(&self, resource: ResourceId, at: Time) -> Vec<ActivityId> {
        let mut users = self.users(resource, at);
        users.retain(|user| self.placed[user.0].is_some());
        for (hold, taken) in self.instance.holds.iter().zip(&self.taken) {
            let holds = taken.is_some_and(|(from, to)| from <= at && at < to);
            if hold.resource == resource && holds && self.placed[hold.to.0.0].is_some() {
                users.push(hold.to.0);
            }
        }
        users.sort_unstable();
        users.dedup();
        users
    }

    /// Returns every placement.
    pub(super) fn placements(&self) -> Vec<Placement> {
        self.placed
            .iter()
            .map(|placed| {
                placed.unwrap_or(Placement {
                    mode: 0,
                    start: 0,
                    end: 0,
                })
            })
            .collect()
    }
}
