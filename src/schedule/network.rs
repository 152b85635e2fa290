//! Time windows: how early and how late each activity can start by lags, gates, calendars, releases and
//! deadlines, resources not counted.
//!
//! # Theory
//! A lag with a least and a most is two arcs of the form `to ≥ from + gap` between edges of activities (a most
//! is the reversed arc with the negated gap). Longest paths over these arcs from the ends of the horizon give
//! the earliest and the latest starts; with one pass each way over an acyclic network this is the critical
//! path method (Kelley and Walker 1959), and slack is latest minus earliest start. Negative gaps make cycles;
//! a cycle of positive total length is a contradiction.
//!
//! # Practice
//! Windows are kept by label correction from a worklist, so that the same code serves the whole network at
//! the start and one placement during search. An activity whose duration ends at a gate has no constant arc
//! between its start and its end; its end is a rising step function of its start, and bounds pass through that
//! function and its inverse. Changes are logged, so that a search can take placements back.
//!
//! An activity with several modes is open until one is chosen; its windows are those of its most favourable
//! mode in each direction.
//!
//! # Departures
//! With gates, calendars and open modes the windows are necessary, not sufficient: a start inside its window may
//! still leave another activity none.

use super::conflict::Conflict;
use super::problem::{Activity, ActivityId, Coverage, Edge, Instance, Mode, Time};

/// One arc: the edge of `to` happens no earlier than the edge of `from` plus `gap`.
#[derive(Clone, Copy, Debug)]
struct Arc {
    from: (usize, Edge),
    to: (usize, Edge),
    gap: Time,
    lag: usize,
}

/// The arcs of an instance, indexed by the activities at their ends, and the modes chosen so far.
#[derive(Clone, Debug)]
pub struct Network<'a> {
    instance: &'a Instance,
    arcs: Vec<Arc>,
    out: Vec<Vec<u32>>,
    into: Vec<Vec<u32>>,
    chosen: Vec<u16>,
}

/// Earliest and latest starts.
#[derive(Clone, Debug)]
pub struct Windows {
    /// The earliest start of each activity.
    pub earliest: Vec<Time>,
    /// The latest start of each activity.
    pub latest: Vec<Time>,
    /// Which placed activity holds the earliest start where it is; `None` where the instance itself does.
    source: Vec<Option<u32>>,
    /// The arc that last raised the earliest, or lowered the latest start.
    raised_by: Vec<u32>,
    lowered_by: Vec<u32>,
    log: Vec<(u32, Time, Time, Option<u32>)>,
    worklist: Worklist,
}

/// What label correction has still to look at; kept between calls so that none of them allocates.
#[derive(Clone, Debug, Default)]
struct Worklist {
    open: std::collections::VecDeque<u32>,
    queued: Vec<bool>,
    visits: Vec<(u32, u32)>,
    call: u32,
}

/// A window that has become empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Empty {
    /// Whose.
    pub activity: ActivityId,
    /// The placed activity that holds its earliest start, if one does.
    pub source: Option<ActivityId>,
    /// By how many minutes the latest start lies before the earliest; at least 1.
    pub lacking: Time,
}

const NO_ARC: u32 = u32::MAX;

/// The arc of a hold, which no lag stands for.
const NO_LAG: usize = usize::MAX;

/// No mode is chosen yet.
const OPEN: u16 = u16::MAX;

impl<'a> Network<'a> {
    /// Returns the network of an instance.
    pub fn new(instance: &'a Instance) -> Self {
        let count = instance.activities.len();
        let mut network = Self {
            instance,
            arcs: Vec::new(),
            out: vec![Vec::new(); count],
            into: vec![Vec::new(); count],
            chosen: instance.activities.iter().map(undecided).collect(),
        };
        for (index, lag) in instance.lags.iter().enumerate() {
            let (from, to) = ((lag.from.0.0, lag.from.1), (lag.to.0.0, lag.to.1));
            network.add(Arc {
                from,
                to,
                gap: lag.least,
                lag: index,
            });
            if let Some(most) = lag.most {
                network.add(Arc {
                    from: to,
                    to: from,
                    gap: -most,
                    lag: index,
                });
            }
        }
        // Nothing is given back before it is taken, whether or not a lag says so.
        for hold in &instance.holds {
            network.add(Arc {
                from: (hold.from.0.0, hold.from.1),
                to: (hold.to.0.0, hold.to.1),
                gap: 0,
                lag: NO_LAG,
            });
        }
        network
    }

    fn add(&mut self, arc: Arc) {
        // What has happened is not held to rules about what has happened.
        if self.activity(arc.from.0).fixed.is_some() && self.activity(arc.to.0).fixed.is_some() {
            return;
        }
        let index = self.arcs.len() as u32;
        self.out[arc.from.0].push(index);
        self.into[arc.to.0].push(index);
        self.arcs.push(arc);
    }

    fn activity(&self, index: usize) -> &'a Activity {
        &self.instance.activities[index]
    }

    /// Returns the mode chosen for an activity, or the first where none is.
    pub fn mode(&self, activity: ActivityId) -> &'a Mode {
        let chosen = usize::from(self.chosen[activity.0]);
        let modes = &self.activity(activity.0).modes;
        modes.get(chosen).unwrap_or(&modes[0])
    }

    /// Chooses a mode, or with `None` leaves the choice open again (where there is one).
    pub fn choose(&mut self, activity: ActivityId, mode: Option<usize>) {
        self.chosen[activity.0] = match mode {
            Some(mode) => mode as u16,
            None => undecided(self.activity(activity.0)),
        };
    }

    /// Returns the modes still possible.
    fn modes(&self, activity: ActivityId) -> &'a [Mode] {
        let modes = &self.activity(activity.0).modes;
        match self.chosen[activity.0] {
            OPEN => modes,
            chosen => &modes[usize::from(chosen)..=usize::from(chosen)],
        }
    }

    fn end_in(&self, mode: &Mode, start: Time) -> Time {
        self.instance.end_of(mode, start).unwrap_or(Time::MAX / 2)
    }

    fn latest_in(&self, mode: &Mode, end: Time) -> Time {
        self.instance
            .latest_start(mode, end)
            .unwrap_or(Time::MIN / 2)
    }

    /// The latest start that ends before `end`, plus one: ends never fall as starts rise.
    fn earliest_in(&self, mode: &Mode, end: Time) -> Time {
        self.instance
            .latest_start(mode, end - 1)
            .map_or(Time::MIN / 2, |start| start + 1)
    }

    /// Returns when an activity that starts at `start` ends (with its mode open, at the earliest); past the last
    /// opening of its gate, the end of time, which no deadline allows.
    pub fn end_of(&self, activity: ActivityId, start: Time) -> Time {
        match self.activity(activity.0).fixed {
            Some((_, Some(end))) => end,
            _ => self
                .modes(activity)
                .iter()
                .map(|mode| self.end_in(mode, start))
                .min()
                .unwrap_or(start),
        }
    }

    /// Returns when an activity that starts at `start` ends at the latest.
    fn latest_end_of(&self, activity: ActivityId, start: Time) -> Time {
        match self.activity(activity.0).fixed {
            Some((_, Some(end))) => end,
            _ => self
                .modes(activity)
                .iter()
                .map(|mode| self.end_in(mode, start))
                .max()
                .unwrap_or(start),
        }
    }

    /// Returns the latest start from which an activity ends by `end`; the beginning of time when none does.
    pub fn latest_start(&self, activity: ActivityId, end: Time) -> Time {
        let modes = self.modes(activity).iter();
        modes
            .map(|mode| self.latest_in(mode, end))
            .max()
            .unwrap_or(end)
    }

    /// Returns the earliest start from which an activity ends no earlier than `end`.
    fn earliest_start(&self, activity: ActivityId, end: Time) -> Time {
        let modes = self.modes(activity).iter();
        modes
            .map(|mode| self.earliest_in(mode, end))
            .min()
            .unwrap_or(end)
    }

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
        }
        let everything: Vec<usize> = (0..count).collect();
        match self.settle(&mut windows, &everything) {
            Ok(()) => {
                windows.log.clear();
                Ok(windows)
            }
            Err(empty) => Err(self.explain(&windows, empty)),
        }
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

    /// Returns a bound on the start from a bound on an edge: the earliest start whose edge is not before it.
    pub fn start_for_edge(&self, (activity, edge): (ActivityId, Edge), moment: Time) -> Time {
        match edge {
            Edge::Start => moment,
            // What has happened may have taken longer than planned.
            Edge::End => match self.activity(activity.0).fixed {
                Some((start, _)) if self.end_of(activity, start) >= moment => start,
                _ => self.earliest_start(activity, moment),
            },
        }
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
        // A window that has moved more often than there are activities moves round a cycle; following it to
        // the end of the horizon would take as many rounds as the horizon has minutes.
        let most = self.instance.activities.len() as u32 + 64;
        while let Some(index) = list.open.pop_front() {
            let index = index as usize;
            list.queued[index] = false;
            if list.visit(index) > most {
                return Err(Empty {
                    lacking: 1,
                    ..windows.empty(index)
                });
            }
            for &at in &self.out[index] {
                let arc = self.arcs[at as usize];
                if self.push_up(windows, arc, at)? {
                    list.put(arc.to.0);
                }
            }
            for &at in &self.into[index] {
                let arc = self.arcs[at as usize];
                if self.push_down(windows, arc, at)? {
                    list.put(arc.from.0);
                }
            }
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
        for id in activities {
            let before = self.into[id.0]
                .iter()
                .map(|&at| self.arcs[at as usize].from.0);
            let after = self.out[id.0].iter().map(|&at| self.arcs[at as usize].to.0);
            touched.extend(before.chain(after));
        }
        touched.sort_unstable();
        touched.dedup();
        self.settle(windows, &touched)
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

    /// Returns the first start at or after `start` that all calendars of the activity allow.
    fn calendar_up(&self, activity: ActivityId, start: Time) -> Option<Time> {
        if self.activity(activity.0).calendars.is_empty() {
            return Some(start);
        }
        let modes = self.modes(activity).iter();
        modes
            .filter_map(|mode| self.calendar_up_in(activity, mode, start))
            .min()
    }

    fn calendar_up_in(&self, activity: ActivityId, mode: &Mode, mut start: Time) -> Option<Time> {
        let calendars = &self.activity(activity.0).calendars;
        loop {
            let before = start;
            for &(calendar, coverage) in calendars {
                let windows = &self.instance.calendars[calendar.0].windows;
                let next = match coverage {
                    Coverage::Start => {
                        let at = windows.partition_point(|&(_, to)| to <= start);
                        windows.get(at)?.0.max(start)
                    }
                    Coverage::End => {
                        let end = self.end_in(mode, start);
                        let at = windows.partition_point(|&(_, to)| to < end);
                        let opens = windows.get(at)?.0;
                        if end > opens {
                            start
                        } else {
                            self.earliest_in(mode, opens + 1)
                        }
                    }
                    Coverage::Whole => {
                        // Not over at once: the window must also reach the end.
                        let mut at = windows.partition_point(|&(_, to)| to < start);
                        loop {
                            let &(from, to) = windows.get(at)?;
                            let candidate = start.max(from);
                            if self.end_in(mode, candidate) <= to {
                                break candidate;
                            }
                            at += 1;
                        }
                    }
                };
                start = start.max(next);
            }
            if start == before {
                return Some(start);
            }
            if start > self.instance.latest {
                return None;
            }
        }
    }

    /// Returns the last start at or before `start` that all calendars of the activity allow.
    pub fn calendar_down(&self, activity: ActivityId, start: Time) -> Option<Time> {
        if self.activity(activity.0).calendars.is_empty() {
            return Some(start);
        }
        let modes = self.modes(activity).iter();
        modes
            .filter_map(|mode| self.calendar_down_in(activity, mode, start))
            .max()
    }

    fn calendar_down_in(&self, activity: ActivityId, mode: &Mode, mut start: Time) -> Option<Time> {
        let calendars = &self.activity(activity.0).calendars;
        loop {
            let before = start;
            for &(calendar, coverage) in calendars {
                let windows = &self.instance.calendars[calendar.0].windows;
                let last = match coverage {
                    Coverage::Start => {
                        let at = windows
                            .partition_point(|&(from, _)| from <= start)
                            .checked_sub(1)?;
                        start.min(windows[at].1 - 1)
                    }
                    Coverage::End => {
                        let end = self.end_in(mode, start);
                        let at = windows
                            .partition_point(|&(from, _)| from < end)
                            .checked_sub(1)?;
                        if end <= windows[at].1 {
                            start
                        } else {
                            self.latest_in(mode, windows[at].1)
                        }
                    }
                    Coverage::Whole => {
                        let mut at = windows
                            .partition_point(|&(from, _)| from <= start)
                            .checked_sub(1)?;
                        loop {
                            let (from, to) = windows[at];
                            let candidate = start.min(self.latest_in(mode, to));
                            if candidate >= from {
                                break candidate;
                            }
                            at = at.checked_sub(1)?;
                        }
                    }
                };
                start = start.min(last);
            }
            if start == before {
                return Some(start);
            }
            if start < self.instance.earliest {
                return None;
            }
        }
    }

    /// Returns which calendar keeps an activity from starting at `start`, if one does.
    pub fn calendar_against(
        &self,
        activity: ActivityId,
        start: Time,
    ) -> Option<(super::CalendarId, Edge)> {
        let end = self.end_of(activity, start);
        let inside = |windows: &[(Time, Time)], moment: Time| {
            windows
                .iter()
                .any(|&(from, to)| from <= moment && moment < to)
        };
        self.activity(activity.0)
            .calendars
            .iter()
            .find_map(|&(calendar, coverage)| {
                let windows = &self.instance.calendars[calendar.0].windows;
                let start_in = inside(windows, start);
                let end_in = windows.iter().any(|&(from, to)| from < end && end <= to);
                let whole = windows.iter().any(|&(from, to)| from <= start && end <= to);
                match coverage {
                    Coverage::Start if !start_in => Some((calendar, Edge::Start)),
                    Coverage::End if !end_in => Some((calendar, Edge::End)),
                    Coverage::Whole if !whole => {
                        Some((calendar, if start_in { Edge::End } else { Edge::Start }))
                    }
                    _ => None,
                }
            })
    }

    /// Returns the latest start that the lags of an activity allow with all others where `start_of` says.
    pub fn latest_by_neighbours(
        &self,
        start_of: impl Fn(ActivityId) -> Time,
        activity: ActivityId,
    ) -> Time {
        let mut latest = Time::MAX / 4;
        for &at in &self.out[activity.0] {
            let arc = self.arcs[at as usize];
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
        for &at in &self.into[activity.0] {
            let arc = self.arcs[at as usize];
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
            for &at in &self.out[index] {
                let arc = self.arcs[at as usize];
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

    /// Returns the activities at the other ends of an activity's lags; some may come twice.
    pub fn neighbours(&self, activity: ActivityId) -> impl Iterator<Item = ActivityId> {
        let before = self.into[activity.0]
            .iter()
            .map(|&at| ActivityId(self.arcs[at as usize].from.0));
        let after = self.out[activity.0]
            .iter()
            .map(|&at| ActivityId(self.arcs[at as usize].to.0));
        before.chain(after)
    }

    /// Returns, for each lag of an activity that starts at `start`, the activity at its other end and the
    /// earliest start the lag then leaves it.
    pub fn pushes(
        &self,
        activity: ActivityId,
        start: Time,
    ) -> impl Iterator<Item = (ActivityId, Time)> {
        self.out[activity.0].iter().map(move |&at| {
            let arc = self.arcs[at as usize];
            let edge = match arc.from.1 {
                Edge::Start => start,
                Edge::End => self.end_of(activity, start),
            };
            let to = (ActivityId(arc.to.0), arc.to.1);
            (to.0, self.start_for_edge(to, edge.saturating_add(arc.gap)))
        })
    }

    /// Returns the first start at or after `start` that all calendars of an activity allow.
    pub fn calendar_after(&self, activity: ActivityId, start: Time) -> Option<Time> {
        self.calendar_up(activity, start)
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
        self.out[activity.0].iter().find_map(|&at| {
            let arc = self.arcs[at as usize];
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
                .map(|at| self.arcs[at as usize].lag)
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
                let arc = self.arcs[at as usize];
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
            let arc = self.arcs[at as usize];
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

fn undecided(activity: &Activity) -> u16 {
    if activity.modes.len() > 1 && activity.fixed.is_none() {
        OPEN
    } else {
        0
    }
}

impl Worklist {
    fn put(&mut self, index: usize) {
        if !std::mem::replace(&mut self.queued[index], true) {
            self.open.push_back(index as u32);
        }
    }

    /// Returns how often this call has come by.
    fn visit(&mut self, index: usize) -> u32 {
        let (call, visits) = &mut self.visits[index];
        if *call != self.call {
            (*call, *visits) = (self.call, 0);
        }
        *visits += 1;
        *visits
    }
}

impl Windows {
    fn note(&mut self, index: usize) {
        self.log.push((
            index as u32,
            self.earliest[index],
            self.latest[index],
            self.source[index],
        ));
    }

    fn empty(&self, index: usize) -> Empty {
        Empty {
            activity: ActivityId(index),
            source: self.source[index].map(|source| ActivityId(source as usize)),
            lacking: (self.earliest[index].saturating_sub(self.latest[index])).max(1),
        }
    }

    /// Forgets what could be taken back: what stands now stays.
    pub fn keep(&mut self) {
        self.log.clear();
    }

    /// Returns the place in the log to come back to.
    pub fn mark(&self) -> usize {
        self.log.len()
    }

    /// Takes back every change since `mark`.
    pub fn back_to(&mut self, mark: usize) {
        while self.log.len() > mark {
            if let Some((index, earliest, latest, source)) = self.log.pop() {
                let index = index as usize;
                self.earliest[index] = earliest;
                self.latest[index] = latest;
                self.source[index] = source;
            }
        }
    }

    /// Returns the placed activity that holds an earliest start where it is.
    pub fn source(&self, activity: ActivityId) -> Option<ActivityId> {
        self.source[activity.0].map(|source| ActivityId(source as usize))
    }
}
