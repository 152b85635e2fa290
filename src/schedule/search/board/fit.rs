//! What fits on the board: the latest start at which nothing lacks, what lacks where it does not, and who has it.

use super::{Board, Fit, Lack, Missing};
use crate::schedule::problem::{ActivityId, Edge, Time};
use crate::schedule::segments::Moves;
use crate::schedule::solution::Placement;

impl Board<'_> {
    /// Returns the latest placement in this mode, no later than `latest` and no earlier than `earliest`, that
    /// calendars, its lags to itself, states and free resources allow, or what was lacking. The mode is chosen when it returns.
    ///
    /// Each failed start is left by a jump to the latest start that could clear what was lacking, if what is used moves
    /// with its edge as it is; none in between could. Of waits that is not quite so: what is used from the start of one
    /// ends with it at the latest, an earlier opening may cut it shorter, and a start in between that fits is then
    /// passed over.
    pub(in crate::schedule::search) fn latest_fit(
        &mut self,
        activity: ActivityId,
        mode: usize,
        earliest: Time,
        latest: Time,
    ) -> Fit {
        self.network.choose(activity, Some(mode));
        // Another way may end in time from here where this one waits for a gate that opens no more.
        let in_time = self.network.latest_start(activity, self.instance.latest);
        let (mut start, mut lacked) = (latest.min(in_time), None);
        loop {
            if start < earliest || self.looks_left() == 0 {
                return Err(lacked);
            }
            start = self.network.calendar_down(activity, start).ok_or(lacked)?;
            if start < earliest {
                return Err(lacked);
            }
            let kept = self.network.by_own_lags(activity, start);
            if kept < start {
                start = kept;
                continue;
            }
            let placed = Placement {
                mode,
                start,
                end: self.network.end_of(activity, start),
            };
            let Some((lack, next)) = self.lack(activity, placed) else {
                return Ok(placed);
            };
            if self.is_taken(lack) {
                self.lacked = Some(lack);
            }
            (lacked, start) = (Some(lack), next);
        }
    }

    /// Returns whether it is others who have what lacks, and not that there is none at that hour.
    fn is_taken(&self, lack: Lack) -> bool {
        match lack.what {
            Missing::Resource(resource) => {
                self.instance.resources[resource.0].capacity_at(lack.at) > 0
            }
            Missing::State(..) => true,
        }
    }

    /// Returns what lacks for a placement, and the latest start that could clear it; `None` when it fits.
    fn lack(&self, activity: ActivityId, placed: Placement) -> Option<(Lack, Time)> {
        let Placement { mode, start, end } = placed;
        let mut found: Option<(Lack, Time)> = None;
        let mut note = |what: Missing, at: Time, next: Time| {
            if found.is_none_or(|(_, least)| next < least) {
                found = Some((Lack { what, at }, next));
            }
        };
        let mut looks = 4;
        self.facts.each_segment(activity, placed, |segment| {
            looks += 1;
            let profile = &self.ledger.profiles[segment.resource.0];
            if let Some(at) = profile.first_lack(segment.from, segment.to, segment.quantity) {
                // What lacks here may have lacked for hours: whoever is not there before eight is not there at seven.
                let free = profile.free_until(at, segment.quantity);
                let back = segment.to - free.max(self.instance.earliest);
                let next = match segment.moves {
                    Moves::Start => start - back,
                    Moves::End | Moves::Both => self
                        .network
                        .latest_start(activity, end - back)
                        .min(start - 1),
                };
                note(Missing::Resource(segment.resource), at, next);
            }
            true
        });
        self.looked(looks);
        for &(state, value) in &self.instance.activities[activity.0].modes[mode].states {
            let change = self.instance.states[state.0].change;
            for other in &self.in_state[state.0] {
                if other.start >= end + change {
                    break;
                }
                if other.value != value && start < other.end + change {
                    let before = self.network.latest_start(activity, other.start - change);
                    let at = other.start.max(start);
                    note(Missing::State(state, value), at, before.min(start - 1));
                }
            }
        }
        for &index in &self.facts.holds_of[activity.0] {
            if let Some((at, before)) = self.hold_lack(index as usize, activity, start, end) {
                let resource = self.instance.holds[index as usize].resource;
                note(Missing::Resource(resource), at, before.min(start - 1));
            }
        }
        found
    }

    /// Returns the first minute in `[from, to)` at which less than `quantity` of a resource is free.
    pub(in crate::schedule::search) fn first_lack(
        &self,
        resource: usize,
        from: Time,
        to: Time,
        quantity: i32,
    ) -> Option<Time> {
        self.ledger.profiles[resource].first_lack(from, to, quantity)
    }

    /// Returns whether an activity fits in this mode at just this start, with every hold that begins at it
    /// reaching back no further than what is free.
    pub(in crate::schedule::search) fn fits(
        &mut self,
        activity: ActivityId,
        mode: usize,
        start: Time,
    ) -> bool {
        self.network.choose(activity, Some(mode));
        let end = self.network.end_of(activity, start);
        let reaches = self.facts.holds_of[activity.0].iter().all(|&index| {
            let hold = self.instance.holds[index as usize];
            let opened = self.wary && hold.from.0 == activity && self.edge(hold.to).is_some();
            let from = if hold.from.1 == Edge::Start {
                start
            } else {
                end
            };
            !opened || self.taken[index as usize].is_none_or(|(since, _)| since <= from)
        });
        reaches && self.latest_fit(activity, mode, start, start).is_ok()
    }

    /// Returns the activities that stand where their lags to a placed one do not hold.
    pub(in crate::schedule::search) fn against(&self, activity: ActivityId) -> Vec<ActivityId> {
        let placed = self.placed[activity.0];
        placed.map_or_else(Vec::new, |placed| self.against_at(activity, placed.start))
    }

    /// Returns the same for one that would stand there.
    pub(in crate::schedule::search) fn against_at(
        &self,
        activity: ActivityId,
        start: Time,
    ) -> Vec<ActivityId> {
        self.network.broken_lags(activity, |id| {
            if id == activity {
                Some(start)
            } else {
                self.placed[id.0].map(|placed| placed.start)
            }
        })
    }

    /// Returns whether an activity keeps anything, or gives back what another kept.
    pub(in crate::schedule::search) fn keeps(&self, activity: ActivityId) -> bool {
        !self.facts.holds_of[activity.0].is_empty()
    }

    /// Returns what a placed activity takes that is not there, itself counted.
    pub(in crate::schedule::search) fn overdrawn(&self, activity: ActivityId) -> Option<Lack> {
        let placed = self.placed[activity.0]?;
        let mut found: Option<Lack> = None;
        self.facts.each_segment(activity, placed, |segment| {
            let profile = &self.ledger.profiles[segment.resource.0];
            if let Some(at) = profile.first_lack(segment.from, segment.to, 0) {
                let what = Missing::Resource(segment.resource);
                found = Some(Lack { what, at });
            }
            found.is_none()
        });
        let kept = self.facts.holds_of[activity.0].iter().find_map(|&index| {
            let resource = self.instance.holds[index as usize].resource;
            let (from, to) = self.taken[index as usize]?;
            let at = self.ledger.profiles[resource.0].first_lack(from, to, 0)?;
            Some(Lack {
                what: Missing::Resource(resource),
                at,
            })
        });
        let clash = || {
            let mode = &self.instance.activities[activity.0].modes[placed.mode];
            mode.states.iter().find_map(|&(state, value)| {
                let change = self.instance.states[state.0].change;
                let other = self.in_state[state.0].iter().find(|it| {
                    it.value != value
                        && it.start < placed.end + change
                        && placed.start < it.end + change
                })?;
                Some(Lack {
                    what: Missing::State(state, value),
                    at: other.start,
                })
            })
        };
        found.or(kept).or_else(clash)
    }

    /// Returns whether a placed activity takes more than there is: what it uses and what it keeps may each fit
    /// by themselves and not together.
    pub(in crate::schedule::search) fn overdraws(&self, activity: ActivityId) -> bool {
        // Without a hold there is nothing to add up: segments of one activity never overlap.
        self.facts.holds_of[activity.0].iter().any(|&index| {
            let resource = self.instance.holds[index as usize].resource;
            self.taken[index as usize].is_some_and(|(from, to)| {
                self.ledger.profiles[resource.0]
                    .first_lack(from, to, 0)
                    .is_some()
            })
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
        let profile = &self.ledger.profiles[hold.resource.0];
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
                    // It may last no time at all; on a bold board its other end is asked for the way to it.
                    None if !self.wary => return None,
                    None => {
                        let free = profile.free_until(to, hold.quantity);
                        return (free < to).then(|| (to - 1, start_for(hold.to.1, free)));
                    }
                }
            };
            let at = profile.first_lack(from, to, hold.quantity)?;
            return Some((at, start_for(hold.to.1, at)));
        }
        // It begins here. With its other end placed, a wary board already bounds this activity from below; on a
        // bold one the way to what is taken must be free, and going earlier only makes it longer.
        let from = edge_of(hold.from.1);
        if self.edge(hold.to).is_some() {
            let (since, _) = self.taken[index].filter(|_| !self.wary)?;
            let at = profile.first_lack(from, since, hold.quantity)?;
            return Some((at, Time::MIN / 2));
        }
        if !self.wary {
            return None;
        }
        // With neither placed, only the first minute can be asked for.
        let at = profile.first_lack(from, from + 1, hold.quantity)?;
        let free = profile.free_until(from, hold.quantity);
        Some((at, start_for(hold.from.1, (free - 1).min(from - 1))))
    }

    /// Returns the activities in the way at a minute, holds counted to the activity that took them.
    pub(in crate::schedule::search) fn users(&self, lack: Lack) -> Vec<ActivityId> {
        let mut users = Vec::new();
        match lack.what {
            Missing::State(state, value) => {
                let change = self.instance.states[state.0].change;
                let list = self.in_state[state.0].iter().filter(|it| {
                    it.value != value
                        && it.start - change <= lack.at
                        && lack.at < (it.end + change).max(it.start + 1)
                });
                users.extend(list.map(|it| it.activity));
            }
            Missing::Resource(resource) => {
                for (index, placed) in self.placed.iter().enumerate() {
                    let Some(placed) = *placed else { continue };
                    let id = ActivityId(index);
                    let spans = placed.start <= lack.at && lack.at < placed.end;
                    let uses = spans
                        && !self.facts.each_segment(id, placed, |segment| {
                            segment.resource != resource
                                || segment.from > lack.at
                                || lack.at >= segment.to
                        });
                    if uses {
                        users.push(id);
                    }
                }
                for (hold, taken) in self.instance.holds.iter().zip(&self.taken) {
                    let holds = taken.is_some_and(|(from, to)| from <= lack.at && lack.at < to);
                    if hold.resource == resource && holds {
                        users.push(hold.from.0);
                    }
                }
            }
        }
        users.sort_unstable();
        users.dedup();
        users
    }

    /// Returns the placed activities that would have to go earlier for what lacks to be there: for a hold, the
    /// one that gives it back.
    pub(in crate::schedule::search) fn standing_users(&self, lack: Lack) -> Vec<ActivityId> {
        let mut users = self.users(lack);
        users.retain(|user| self.placed[user.0].is_some());
        if let Missing::Resource(resource) = lack.what {
            for (hold, taken) in self.instance.holds.iter().zip(&self.taken) {
                let holds = taken.is_some_and(|(from, to)| from <= lack.at && lack.at < to);
                if hold.resource == resource && holds && self.placed[hold.to.0.0].is_some() {
                    users.push(hold.to.0);
                }
            }
        }
        users.sort_unstable();
        users.dedup();
        users
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::generate::generate;
    use crate::schedule::search::prepared::{Past, Prepared};

    #[test]
    fn nothing_is_found_beyond_what_may_be_looked_at() {
        let instance = generate(1, 6).0;
        let prepared = Prepared::new(&instance, &Past::new()).unwrap();
        let id = prepared.structure.blocks[prepared.to_come()[0]].members[0].id;
        let mut board = prepared.board();
        let fit = |board: &mut Board<'_>| {
            board.latest_fit(id, 0, instance.earliest, prepared.first.latest[id.0])
        };
        assert!(fit(&mut board).is_ok());
        board.allow(0);
        assert!(matches!(fit(&mut board), Err(None)));
        board.allow(u64::MAX);
        assert!(fit(&mut board).is_ok());
    }
}
