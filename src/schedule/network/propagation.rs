//! Label correction: what a changed window does to those its lags reach, until none moves any more or one is empty.

use super::windows::{Empty, NO_ARC, Windows, Worklist};
use super::{Arc, NO_LAG, Network};
use crate::schedule::conflict::{Conflict, cycle};
use crate::schedule::problem::{ActivityId, Edge, Time};

impl Network<'_> {
    /// Returns the windows of the whole instance, or why there are none.
    pub fn windows(&self) -> Result<Windows, Conflict> {
        let count = self.instance.activities.len();
        let mut windows = Windows {
            earliest: vec![self.instance.earliest; count],
            latest: vec![0; count],
            source: vec![None; count],
            raised_by: vec![NO_ARC; count],
            lowered_by: vec![NO_ARC; count],
            log: Vec::new(),
            worklist: Worklist {
                queued: vec![false; count],
                visits: vec![(0, 0); count],
                ..Worklist::default()
            },
        };
        for index in 0..count {
            let (id, activity) = (ActivityId(index), self.activity(index));
            if let Some((start, _)) = activity.fixed {
                (windows.earliest[index], windows.latest[index]) = (start, start);
                continue;
            }
            let release = activity.release.unwrap_or(self.instance.earliest);
            windows.earliest[index] = self
                .calendar_up(id, release.max(self.instance.earliest))
                .unwrap_or(Time::MAX / 4);
            let deadline = activity
                .deadline
                .map_or(self.instance.latest, |by| by.min(self.instance.latest));
            windows.latest[index] = self
                .calendar_down(id, self.latest_start(id, deadline))
                .unwrap_or(Time::MIN / 4);
            if windows.earliest[index] > windows.latest[index] {
                return Err(self.explain(&windows, windows.empty(index)));
            }
        }
        let everything: Vec<usize> = (0..count).collect();
        if let Err(empty) = self.settle(&mut windows, &everything) {
            return Err(self.explain(&windows, empty));
        }
        // What was not followed to its end may go round lags that contradict one another.
        if windows.worklist.left_off
            && let Some(cycle) = cycle(self.instance)
        {
            return Err(cycle);
        }
        windows.log.clear();
        Ok(windows)
    }

    /// Places an activity: its window shrinks to one start and its neighbours follow.
    pub fn place(
        &self,
        windows: &mut Windows,
        activity: ActivityId,
        start: Time,
    ) -> Result<(), Empty> {
        let index = activity.0;
        windows.note(index);
        windows.earliest[index] = start;
        windows.latest[index] = start;
        windows.source[index] = Some(index as u32);
        self.settle(windows, &[index])
    }

    /// Forbids an activity to start before `start`, on behalf of the placed activity `source`.
    pub fn raise(
        &self,
        windows: &mut Windows,
        activity: ActivityId,
        start: Time,
        source: ActivityId,
    ) -> Result<(), Empty> {
        if start > windows.earliest[activity.0] {
            windows.note(activity.0);
            windows.earliest[activity.0] = start;
            windows.source[activity.0] = Some(source.0 as u32);
            if start > windows.latest[activity.0] {
                return Err(windows.empty(activity.0));
            }
            return self.settle(windows, &[activity.0]);
        }
        Ok(())
    }

    /// Notes that an activity stands at a start, where everything its lags reach stands too.
    pub fn stand(&self, windows: &mut Windows, activity: ActivityId, start: Time) {
        let index = activity.0;
        (windows.earliest[index], windows.latest[index]) = (start, start);
        windows.source[index] = Some(index as u32);
    }

    /// Opens activities again that stood: their windows are what `first` and what stands around them leave.
    pub fn reopen(
        &self,
        windows: &mut Windows,
        first: &Windows,
        activities: &[ActivityId],
    ) -> Result<(), Empty> {
        for id in activities {
            windows.earliest[id.0] = first.earliest[id.0];
            windows.latest[id.0] = first.latest[id.0];
            windows.source[id.0] = None;
        }
        let mut touched: Vec<usize> = activities.iter().map(|id| id.0).collect();
        for &id in activities {
            touched.extend(self.neighbours(id).map(|other| other.0));
        }
        touched.sort_unstable();
        touched.dedup();
        self.settle(windows, &touched)
    }

    /// Carries changed windows to everything they reach.
    fn settle(&self, windows: &mut Windows, changed: &[usize]) -> Result<(), Empty> {
        let mut list = std::mem::take(&mut windows.worklist);
        let settled = self.settle_with(windows, &mut list, changed);
        while let Some(index) = list.open.pop_front() {
            list.queued[index as usize] = false;
        }
        windows.worklist = list;
        settled
    }

    fn settle_with(
        &self,
        windows: &mut Windows,
        list: &mut Worklist,
        changed: &[usize],
    ) -> Result<(), Empty> {
        for &index in changed {
            list.put(index);
        }
        list.call += 1;
        list.left_off = false;
        // A window that has moved more often than there are activities moves round a cycle, or from one opening to the
        // next; following it to the end of the horizon might take as many rounds as the horizon has minutes. Where it
        // stands then is wider than it need be and holds all the same: whatever is placed is followed at least once, so
        // no lag between two that stand is passed over.
        let most = self.instance.activities.len() as u32 + 64;
        while let Some(index) = list.open.pop_front() {
            let index = index as usize;
            list.queued[index] = false;
            if list.visit(index) > most {
                list.left_off = true;
                continue;
            }
            for &(at, arc) in self.arcs_out_of(ActivityId(index)) {
                if self.push_up(windows, arc, at)? {
                    list.put(arc.to.0);
                }
            }
            for &(at, arc) in self.arcs_into(ActivityId(index)) {
                if self.push_down(windows, arc, at)? {
                    list.put(arc.from.0);
                }
            }
        }
        Ok(())
    }

    /// Raises the earliest start at the head of an arc; returns whether it rose.
    fn push_up(&self, windows: &mut Windows, arc: Arc, at: u32) -> Result<bool, Empty> {
        let (from, to) = (ActivityId(arc.from.0), ActivityId(arc.to.0));
        let earliest = windows.earliest[from.0];
        let edge = match arc.from.1 {
            Edge::Start => earliest,
            Edge::End => self.end_of(from, earliest),
        };
        let bound = self.start_for_edge((to, arc.to.1), edge.saturating_add(arc.gap));
        if bound <= windows.earliest[to.0] {
            return Ok(false);
        }
        windows.note(to.0);
        windows.raised_by[to.0] = at;
        windows.source[to.0] = windows.source[from.0];
        windows.earliest[to.0] = if self.activity(to.0).fixed.is_some() {
            bound
        } else {
            self.calendar_up(to, bound).unwrap_or(Time::MAX / 4)
        };
        if windows.earliest[to.0] > windows.latest[to.0] {
            return Err(windows.empty(to.0));
        }
        Ok(true)
    }

    /// Lowers the latest start at the tail of an arc; returns whether it fell.
    fn push_down(&self, windows: &mut Windows, arc: Arc, at: u32) -> Result<bool, Empty> {
        let (from, to) = (ActivityId(arc.from.0), ActivityId(arc.to.0));
        let latest = windows.latest[to.0];
        let edge = match arc.to.1 {
            Edge::Start => latest,
            Edge::End => self.latest_end_of(to, latest),
        };
        let by = edge.saturating_sub(arc.gap);
        let bound = match arc.from.1 {
            Edge::Start => by,
            Edge::End => match self.activity(from.0).fixed {
                Some((start, _)) if self.end_of(from, start) <= by => start,
                _ => self.latest_start(from, by),
            },
        };
        if bound >= windows.latest[from.0] {
            return Ok(false);
        }
        windows.note(from.0);
        windows.lowered_by[from.0] = at;
        windows.latest[from.0] = if self.activity(from.0).fixed.is_some() {
            bound
        } else {
            self.calendar_down(from, bound).unwrap_or(Time::MIN / 4)
        };
        if windows.earliest[from.0] > windows.latest[from.0] {
            return Err(windows.empty(from.0));
        }
        Ok(true)
    }

    /// Returns the earliest and the latest start that windows leave an activity in the mode now chosen for it.
    pub fn in_chosen_mode(&self, windows: &Windows, activity: ActivityId) -> (Time, Time) {
        let index = activity.0;
        let (mut earliest, mut latest) = (windows.earliest[index], windows.latest[index]);
        if self.activity(index).modes.len() > 1 {
            let item = self.activity(index);
            let by = item
                .deadline
                .map_or(self.instance.latest, |by| by.min(self.instance.latest));
            latest = latest.min(self.latest_start(activity, by));
            for (_, arc) in self.arcs_out_of(activity) {
                let to = ActivityId(arc.to.0);
                let edge = match arc.to.1 {
                    Edge::Start => windows.latest[to.0],
                    Edge::End => self.latest_end_of(to, windows.latest[to.0]),
                };
                let by = edge.saturating_sub(arc.gap);
                latest = latest.min(match arc.from.1 {
                    Edge::Start => by,
                    Edge::End => self.latest_start(activity, by),
                });
            }
            let start_of = |from: ActivityId| windows.earliest[from.0];
            earliest = earliest.max(self.earliest_by_neighbours(start_of, activity));
        }
        (earliest, latest)
    }

    /// Returns why a window is empty: a cycle of lags if following what moved it leads back to itself, else
    /// the window.
    fn explain(&self, windows: &Windows, empty: Empty) -> Conflict {
        for raised in [true, false] {
            if let Some(cycle) = self.cycle(windows, empty.activity.0, raised) {
                return cycle;
            }
        }
        let index = empty.activity.0;
        let moved_by = [windows.raised_by[index], windows.lowered_by[index]];
        Conflict::Window {
            activity: empty.activity,
            earliest: windows.earliest[index],
            latest: windows.latest[index],
            moved_by: moved_by
                .into_iter()
                .filter(|&at| at != NO_ARC)
                .map(|at| self.arcs.all[at as usize].lag)
                .filter(|&lag| lag != NO_LAG)
                .collect(),
        }
    }

    fn cycle(&self, windows: &Windows, from: usize, raised: bool) -> Option<Conflict> {
        let moved_by = if raised {
            &windows.raised_by
        } else {
            &windows.lowered_by
        };
        let back = |index: usize| {
            let at = moved_by[index];
            (at != NO_ARC).then(|| {
                let arc = self.arcs.all[at as usize];
                (at, if raised { arc.from.0 } else { arc.to.0 })
            })
        };
        // After as many steps back as there are activities, a walk that goes on is on a cycle.
        let mut on = from;
        for _ in 0..self.instance.activities.len() {
            on = back(on)?.1;
        }
        let (start, mut lags, mut excess) = (on, Vec::new(), 0);
        loop {
            let (at, next) = back(on)?;
            let arc = self.arcs.all[at as usize];
            if arc.lag != NO_LAG {
                lags.push(arc.lag);
            }
            // With the length of the activity whose start and end the path joins.
            let (head, tail) = (ActivityId(arc.to.0), ActivityId(arc.from.0));
            let into_head = match arc.to.1 {
                Edge::Start => 0,
                Edge::End => windows.earliest[head.0] - self.end_of(head, windows.earliest[head.0]),
            };
            let out_of_tail = match arc.from.1 {
                Edge::Start => 0,
                Edge::End => self.end_of(tail, windows.earliest[tail.0]) - windows.earliest[tail.0],
            };
            excess += arc.gap + into_head + out_of_tail;
            on = next;
            if on == start {
                break;
            }
        }
        if !raised {
            lags.reverse();
        }
        (excess > 0).then_some(Conflict::Cycle { lags, excess })
    }
}
