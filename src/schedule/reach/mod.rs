//! How early and how late each activity can stand in any of its modes, whatever the others do.
//!
//! # What it is for
//! [`bound`](super::bound) and [`conflict`](super::conflict) conclude what no schedule can escape, so they look
//! at every mode at once and take nothing from the search; [`network`](super::network) serves the search,
//! one placement after another. Both propagate the same lags, and neither relies on the other.
//!
//! # Theory
//! Four bounds for each activity (earliest and latest start, earliest and latest end) are carried along the lags
//! by label correction (longest paths, as in [`network`](super::network)). Between two edges of one activity
//! stand its modes: each has a first and a last start, and the bounds of the activity are the loosest over the
//! modes that still have one. A mode's first and last start respect calendars and, where [`Counted::Capacity`] is
//! asked for, what of a resource is to be had at all: no other activity frees capacity that is not there.
//!
//! # Left out
//! What activities leave each other (that is for the conclusions drawn from these windows), and starts inside a
//! window that no calendar allows: a window is the hull of what is possible.

mod uses;
mod walks;

use std::collections::VecDeque;

pub use uses::{Lacks, Piece, Supply, Tail, Uses, supply, taken, uses};

use uses::{InState, states_taken};

use super::problem::{ActivityId, Duration, Edge, Instance, Mode, Time};

/// What the windows take into account.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// Lags, gates, calendars, releases, deadlines, and what has happened.
    LagsAlone,
    /// These, and what of each resource is to be had at all, and in which state what has happened leaves it.
    Capacity,
}

/// One arc: the edge of `to` happens no earlier than the edge of `from` plus `gap`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Arc {
    /// From this edge.
    pub from: (usize, Edge),
    /// To this edge.
    pub to: (usize, Edge),
    /// Minutes between them at least.
    pub gap: Time,
    /// The lag it comes from, by its place in the instance; `None` for a hold, which never ends before it begins.
    pub lag: Option<usize>,
}

/// An activity that no start is left for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stuck {
    /// Which.
    pub activity: ActivityId,
    /// It cannot start before.
    pub earliest: Time,
    /// It would have to start by.
    pub latest: Time,
    /// The lags that hold it early and late, from the outermost in.
    pub lags: Vec<usize>,
    /// The activities at their ends.
    pub activities: Vec<ActivityId>,
}

/// The windows of an instance.
#[derive(Clone, Debug)]
pub struct Reach<'a> {
    instance: &'a Instance,
    arcs: Vec<Arc>,
    out: Vec<Vec<u32>>,
    into: Vec<Vec<u32>>,
    uses: Vec<Vec<Uses>>,
    lacks: Option<Lacks>,
    supplies: Vec<Supply>,
    /// When what has happened has each state resource in which state; empty where that is not counted.
    states: Vec<Vec<InState>>,
    /// First and last start of each mode.
    modes: Vec<Vec<(Time, Time)>>,
    edges: Vec<Edges>,
    /// What the lags ask of each activity.
    asked: Vec<Edges>,
    raised_by: Vec<Option<u32>>,
    lowered_by: Vec<Option<u32>>,
}

/// Bounds on both edges of an activity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Edges {
    start: (Time, Time),
    end: (Time, Time),
}

const FREE: (Time, Time) = (Time::MIN / 4, Time::MAX / 4);

/// Returns the arcs of an instance: its lags, and that no hold ends before it begins.
pub fn arcs(instance: &Instance) -> Vec<Arc> {
    let mut arcs = Vec::with_capacity(2 * instance.lags.len());
    let happened = |id: ActivityId| instance.activities[id.0].fixed.is_some();
    for (index, lag) in instance.lags.iter().enumerate() {
        // What has happened is not held to rules about what has happened.
        if happened(lag.from.0) && happened(lag.to.0) {
            continue;
        }
        let (from, to) = ((lag.from.0.0, lag.from.1), (lag.to.0.0, lag.to.1));
        arcs.push(Arc {
            from,
            to,
            gap: lag.least,
            lag: Some(index),
        });
        if let Some(most) = lag.most {
            arcs.push(Arc {
                from: to,
                to: from,
                gap: -most,
                lag: Some(index),
            });
        }
    }
    for hold in &instance.holds {
        if !(happened(hold.from.0) && happened(hold.to.0)) {
            arcs.push(Arc {
                from: (hold.from.0.0, hold.from.1),
                to: (hold.to.0.0, hold.to.1),
                gap: 0,
                lag: None,
            });
        }
    }
    arcs
}

impl<'a> Reach<'a> {
    /// Returns the windows of an instance, or an activity that none is left for.
    pub fn of(instance: &'a Instance, counted: Counted) -> Result<Self, Stuck> {
        let mut reach = Self::wide(instance, counted);
        reach.settle()?;
        Ok(reach)
    }

    fn wide(instance: &'a Instance, counted: Counted) -> Self {
        let count = instance.activities.len();
        let arcs = arcs(instance);
        let (mut out, mut into) = (vec![Vec::new(); count], vec![Vec::new(); count]);
        for (index, arc) in arcs.iter().enumerate() {
            out[arc.from.0].push(index as u32);
            into[arc.to.0].push(index as u32);
        }
        let uses: Vec<Vec<Uses>> = instance
            .activities
            .iter()
            .map(|activity| activity.modes.iter().map(uses).collect())
            .collect();
        let supplies: Vec<Supply> = instance
            .resources
            .iter()
            .zip(taken(instance))
            .map(|(resource, taken)| supply(instance, &resource.capacity, &taken))
            .collect();
        let lacks = (counted == Counted::Capacity).then(|| {
            let wanted = uses.iter().flatten().flat_map(|uses| {
                let pieces = uses.pieces.iter().map(|it| (it.resource, it.quantity));
                let tails = uses.tails.iter().map(|it| (it.resource, it.quantity));
                pieces.chain(tails)
            });
            Lacks::new(&supplies, wanted)
        });
        let asked = instance
            .activities
            .iter()
            .map(|activity| {
                if activity.fixed.is_some() {
                    return Edges {
                        start: FREE,
                        end: FREE,
                    };
                }
                let release = activity.release.unwrap_or(instance.earliest);
                let deadline = activity.deadline.unwrap_or(instance.latest);
                Edges {
                    start: (release.max(instance.earliest), FREE.1),
                    end: (FREE.0, deadline.min(instance.latest)),
                }
            })
            .collect();
        Self {
            instance,
            arcs,
            out,
            into,
            uses,
            lacks,
            supplies,
            states: match counted {
                Counted::Capacity => states_taken(instance),
                Counted::LagsAlone => vec![Vec::new(); instance.states.len()],
            },
            modes: instance
                .activities
                .iter()
                .map(|activity| vec![FREE; activity.modes.len()])
                .collect(),
            edges: vec![
                Edges {
                    start: FREE,
                    end: FREE
                };
                count
            ],
            asked,
            raised_by: vec![None; count],
            lowered_by: vec![None; count],
        }
    }

    /// Returns the instance.
    pub fn instance(&self) -> &'a Instance {
        self.instance
    }

    /// Returns the earliest and the latest moment of an edge.
    pub fn edge(&self, (activity, edge): (ActivityId, Edge)) -> (Time, Time) {
        let edges = self.edges[activity.0];
        if edge == Edge::Start {
            edges.start
        } else {
            edges.end
        }
    }

    /// Returns the first and the last start of each mode; a mode that cannot be chosen has its first after its
    /// last.
    pub fn modes(&self, activity: ActivityId) -> &[(Time, Time)] {
        &self.modes[activity.0]
    }

    /// Returns what each mode of an activity is certain to use.
    pub fn uses(&self, activity: ActivityId) -> &[Uses] {
        &self.uses[activity.0]
    }

    /// Returns what there is of each resource besides what has happened takes.
    pub fn supplies(&self) -> &[Supply] {
        &self.supplies
    }

    /// Returns how far apart two edges are at least and at most: by their windows, and by lags between their
    /// activities.
    pub fn between(&self, from: (ActivityId, Edge), to: (ActivityId, Edge)) -> (i64, i64) {
        let (from_window, to_window) = (self.edge(from), self.edge(to));
        let wide = i64::from;
        let mut least = wide(to_window.0) - wide(from_window.1);
        let mut most = wide(to_window.1) - wide(from_window.0);
        // The distance of an edge from another edge of the same activity.
        let within = |activity: ActivityId, from: Edge, to: Edge| match (from, to) {
            (Edge::Start, Edge::End) => self.length(activity),
            (Edge::End, Edge::Start) => {
                let (shortest, longest) = self.length(activity);
                (-longest, -shortest)
            }
            _ => (0, 0),
        };
        if from.0 == to.0 {
            let (shortest, longest) = within(from.0, from.1, to.1);
            return (least.max(shortest), most.min(longest));
        }
        let arcs = self.out[from.0.0].iter().chain(&self.into[from.0.0]);
        for &at in arcs {
            let arc = self.arcs[at as usize];
            let (tail, head) = (
                (ActivityId(arc.from.0), arc.from.1),
                (ActivityId(arc.to.0), arc.to.1),
            );
            if tail.0 == from.0 && head.0 == to.0 {
                let before = within(from.0, from.1, tail.1).0;
                let after = within(to.0, head.1, to.1).0;
                least = least.max(before + wide(arc.gap) + after);
            } else if tail.0 == to.0 && head.0 == from.0 {
                let before = within(to.0, to.1, tail.1).0;
                let after = within(from.0, head.1, from.1).0;
                most = most.min(-(before + wide(arc.gap) + after));
            }
        }
        (least, most)
    }

    /// Returns the shortest and the longest an activity can last.
    fn length(&self, activity: ActivityId) -> (i64, i64) {
        let it = &self.instance.activities[activity.0];
        if let Some((start, Some(end))) = it.fixed {
            let length = i64::from(end - start);
            return (length, length);
        }
        let edges = self.edges[activity.0];
        let hull = i64::from(edges.end.1) - i64::from(edges.start.0);
        let lengths = it.modes.iter().map(|mode| match mode.duration {
            Duration::Fixed(length) => (i64::from(length), i64::from(length)),
            Duration::Until { at_least, then, .. } => {
                (i64::from(at_least.max(1)) + i64::from(then), hull)
            }
        });
        lengths
            .reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)))
            .unwrap_or((0, hull))
    }

    fn settle(&mut self) -> Result<(), Stuck> {
        let count = self.instance.activities.len();
        for index in 0..count {
            self.rise(index)?;
            self.fall(index)?;
        }
        // Starts rise with the ids and ends fall against them in most instances.
        let mut up: VecDeque<usize> = (0..count).collect();
        let mut down: VecDeque<usize> = (0..count).rev().collect();
        let (mut in_up, mut in_down) = (vec![true; count], vec![true; count]);
        // A window that has moved more often than there are activities moves round a cycle, or from one opening
        // to the next; where it stands then holds all the same, and nobody waits for its last minute.
        let (most, mut visits) = (2 * count as u32 + 64, vec![0_u32; count]);
        loop {
            let (index, upward) = match (up.pop_front(), down.is_empty()) {
                (Some(index), _) => (index, true),
                (None, false) => match down.pop_front() {
                    Some(index) => (index, false),
                    None => return Ok(()),
                },
                (None, true) => return Ok(()),
            };
            (if upward { &mut in_up } else { &mut in_down })[index] = false;
            visits[index] += 1;
            if visits[index] > most {
                continue;
            }
            let of = if upward { &self.out } else { &self.into };
            for place in 0..of[index].len() {
                let of = if upward { &self.out } else { &self.into };
                let at = of[index][place];
                let arc = self.arcs[at as usize];
                let moved = if upward { arc.to.0 } else { arc.from.0 };
                let was = self.edges[moved];
                if upward {
                    self.push_up(at)?;
                } else {
                    self.push_down(at)?;
                }
                // A mode that falls away may move both ends of a window.
                let is = self.edges[moved];
                if (is.start.0, is.end.0) != (was.start.0, was.end.0) && !in_up[moved] {
                    in_up[moved] = true;
                    up.push_back(moved);
                }
                if (is.start.1, is.end.1) != (was.start.1, was.end.1) && !in_down[moved] {
                    in_down[moved] = true;
                    down.push_back(moved);
                }
            }
        }
    }

    fn push_up(&mut self, at: u32) -> Result<(), Stuck> {
        let arc = self.arcs[at as usize];
        let from = self.edge((ActivityId(arc.from.0), arc.from.1)).0;
        let bound = from.saturating_add(arc.gap);
        let asked = &mut self.asked[arc.to.0];
        let edge = if arc.to.1 == Edge::Start {
            &mut asked.start.0
        } else {
            &mut asked.end.0
        };
        if bound <= *edge {
            return Ok(());
        }
        *edge = bound;
        let window = self.edge((ActivityId(arc.to.0), arc.to.1));
        if bound <= window.0 {
            return Ok(());
        }
        self.raised_by[arc.to.0] = Some(at);
        self.rise(arc.to.0)
    }

    fn push_down(&mut self, at: u32) -> Result<(), Stuck> {
        let arc = self.arcs[at as usize];
        let to = self.edge((ActivityId(arc.to.0), arc.to.1)).1;
        let bound = to.saturating_sub(arc.gap);
        let asked = &mut self.asked[arc.from.0];
        let edge = if arc.from.1 == Edge::Start {
            &mut asked.start.1
        } else {
            &mut asked.end.1
        };
        if bound >= *edge {
            return Ok(());
        }
        *edge = bound;
        let window = self.edge((ActivityId(arc.from.0), arc.from.1));
        if bound >= window.1 {
            return Ok(());
        }
        self.lowered_by[arc.from.0] = Some(at);
        self.fall(arc.from.0)
    }

    /// Raises the first start of every mode to what is asked.
    fn rise(&mut self, index: usize) -> Result<(), Stuck> {
        let activity = &self.instance.activities[index];
        if let Some((start, end)) = activity.fixed {
            return self.stand(index, start, end);
        }
        let asked = self.asked[index];
        for (mode, it) in activity.modes.iter().enumerate() {
            let for_end = earliest_start(self.instance, it, asked.end.0);
            let first = asked.start.0.max(for_end).max(self.modes[index][mode].0);
            self.modes[index][mode].0 = self.up(index, mode, first).unwrap_or(FREE.1);
        }
        self.hull(index)
    }

    /// Lowers the last start of every mode to what is asked.
    fn fall(&mut self, index: usize) -> Result<(), Stuck> {
        let activity = &self.instance.activities[index];
        if let Some((start, end)) = activity.fixed {
            return self.stand(index, start, end);
        }
        let asked = self.asked[index];
        for (mode, it) in activity.modes.iter().enumerate() {
            let for_end = self
                .instance
                .latest_start(it, asked.end.1)
                .unwrap_or(FREE.0);
            let last = asked.start.1.min(for_end).min(self.modes[index][mode].1);
            self.modes[index][mode].1 = self.down(index, mode, last).unwrap_or(FREE.0);
        }
        self.hull(index)
    }

    /// What has happened stands where it does.
    fn stand(&mut self, index: usize, start: Time, end: Option<Time>) -> Result<(), Stuck> {
        let ends = match end {
            Some(end) => (end, end),
            None => self.instance.activities[index]
                .modes
                .iter()
                .filter_map(|mode| self.instance.end_of(mode, start))
                .map(|end| (end, end))
                .reduce(|one, other| (one.0.min(other.0), one.1.max(other.1)))
                .unwrap_or((start, FREE.1)),
        };
        self.modes[index].fill((start, start));
        let asked = self.asked[index];
        // Of what is still asked, only the part that no length of it can meet is a contradiction.
        self.edges[index] = Edges {
            start: (start, start),
            end: ends,
        };
        let fits = asked.start.0 <= start
            && start <= asked.start.1
            && asked.end.0 <= ends.1
            && ends.0 <= asked.end.1;
        if fits { Ok(()) } else { Err(self.stuck(index)) }
    }

    /// Draws the bounds of an activity round those of its modes.
    fn hull(&mut self, index: usize) -> Result<(), Stuck> {
        let activity = &self.instance.activities[index];
        let mut hull: Option<Edges> = None;
        for (mode, &(first, last)) in activity.modes.iter().zip(&self.modes[index]) {
            if first > last {
                continue;
            }
            // Past the last opening there is no end, and so no start either.
            let ends = if last >= FREE.1 {
                (self.instance.end_of(mode, first), Some(FREE.1))
            } else {
                (
                    if first <= FREE.0 {
                        Some(FREE.0)
                    } else {
                        self.instance.end_of(mode, first)
                    },
                    self.instance.end_of(mode, last),
                )
            };
            let (Some(first_end), Some(last_end)) = ends else {
                continue;
            };
            let own = Edges {
                start: (first, last),
                end: (first_end, last_end),
            };
            hull = Some(hull.map_or(own, |hull| Edges {
                start: (hull.start.0.min(first), hull.start.1.max(last)),
                end: (hull.end.0.min(first_end), hull.end.1.max(last_end)),
            }));
        }
        match hull {
            Some(hull) => {
                self.edges[index] = hull;
                Ok(())
            }
            None => Err(self.stuck(index)),
        }
    }

    fn stuck(&self, index: usize) -> Stuck {
        let mut lags = Vec::new();
        let mut activities = vec![ActivityId(index)];
        for upward in [true, false] {
            let mut chain = Vec::new();
            let mut seen = vec![index];
            let mut on = index;
            let by = if upward {
                &self.raised_by
            } else {
                &self.lowered_by
            };
            while let Some(at) = by[on] {
                let arc = self.arcs[at as usize];
                chain.extend(arc.lag);
                on = if upward { arc.from.0 } else { arc.to.0 };
                if seen.contains(&on) {
                    break;
                }
                seen.push(on);
            }
            if upward {
                chain.reverse();
            }
            lags.extend(chain);
            activities.extend(seen.into_iter().map(ActivityId));
        }
        lags.dedup();
        activities.sort_unstable();
        activities.dedup();
        let asked = self.asked[index];
        let (mut earliest, mut latest) = (FREE.1, FREE.0);
        for (mode, &(first, last)) in self.instance.activities[index]
            .modes
            .iter()
            .zip(&self.modes[index])
        {
            let asked_first = earliest_start(self.instance, mode, asked.end.0).max(asked.start.0);
            earliest = earliest.min(first.max(asked_first));
            let asked_last = self.instance.latest_start(mode, asked.end.1);
            latest = latest.max(last.min(asked_last.unwrap_or(FREE.0)).min(asked.start.1));
        }
        Stuck {
            activity: ActivityId(index),
            earliest,
            latest,
            lags,
            activities,
        }
    }
}

/// Returns the earliest start from which a mode ends no earlier than `end`: ends never fall as starts rise.
fn earliest_start(instance: &Instance, mode: &Mode, end: Time) -> Time {
    instance
        .latest_start(mode, end.saturating_sub(1))
        .map_or(FREE.0, |start| start.saturating_add(1))
}
