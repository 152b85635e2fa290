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
//! # Where what is
//! The arcs and the modes chosen are here; windows and the log of their changes in `windows`, what carries a change
//! on in `propagation`, what calendars allow in `calendars`, and what is asked about the lags of one activity with
//! all others where they stand in `neighbours`.
//!
//! # Departures
//! With gates, calendars and open modes the windows are necessary, not sufficient: a start inside its window may
//! still leave another activity none.

mod calendars;
mod neighbours;
mod propagation;
mod windows;

pub use windows::{Empty, Windows};

use super::problem::{Activity, ActivityId, Edge, Instance, Mode, Time};

/// One arc: the edge of `to` happens no earlier than the edge of `from` plus `gap`.
#[derive(Clone, Copy, Debug)]
struct Arc {
    from: (usize, Edge),
    to: (usize, Edge),
    gap: Time,
    lag: usize,
}

/// The arcs of an instance, by the activities at their ends, and the modes chosen so far; cheap to clone.
#[derive(Clone, Debug)]
pub struct Network<'a> {
    instance: &'a Instance,
    arcs: std::sync::Arc<Arcs>,
    chosen: Vec<u16>,
}

/// The arcs themselves, twice over: whoever asks for them asks for all that lead out of one activity, or into it.
#[derive(Debug)]
struct Arcs {
    all: Vec<Arc>,
    /// With the place of each among all.
    out: Vec<Vec<(u32, Arc)>>,
    into: Vec<Vec<(u32, Arc)>>,
    /// From each activity to itself, but for those that hold wherever it stands.
    own: Vec<Vec<Arc>>,
}

/// The arc of a hold, which no lag stands for.
const NO_LAG: usize = usize::MAX;

/// No mode is chosen yet.
const OPEN: u16 = u16::MAX;

impl Arcs {
    fn none(activities: usize) -> Self {
        Self {
            all: Vec::new(),
            out: vec![Vec::new(); activities],
            into: vec![Vec::new(); activities],
            own: vec![Vec::new(); activities],
        }
    }

    fn add(&mut self, arc: Arc) {
        let at = self.all.len() as u32;
        self.out[arc.from.0].push((at, arc));
        self.into[arc.to.0].push((at, arc));
        // Nothing ends before it starts, and each edge is no time after itself.
        let always = arc.gap <= 0 && (arc.from.1, arc.to.1) != (Edge::End, Edge::Start);
        if arc.from.0 == arc.to.0 && !always {
            self.own[arc.from.0].push(arc);
        }
        self.all.push(arc);
    }
}

impl<'a> Network<'a> {
    /// Returns the network of an instance.
    pub fn new(instance: &'a Instance) -> Self {
        let mut arcs = Arcs::none(instance.activities.len());
        // What has happened is not held to rules about what has happened.
        let has_happened = |index: usize| instance.activities[index].fixed.is_some();
        let mut add = |arc: Arc| {
            if !has_happened(arc.from.0) || !has_happened(arc.to.0) {
                arcs.add(arc);
            }
        };
        for (index, lag) in instance.lags.iter().enumerate() {
            let (from, to) = ((lag.from.0.0, lag.from.1), (lag.to.0.0, lag.to.1));
            add(Arc {
                from,
                to,
                gap: lag.least,
                lag: index,
            });
            if let Some(most) = lag.most {
                add(Arc {
                    from: to,
                    to: from,
                    gap: -most,
                    lag: index,
                });
            }
        }
        // Nothing is given back before it is taken, whether or not a lag says so.
        for hold in &instance.holds {
            add(Arc {
                from: (hold.from.0.0, hold.from.1),
                to: (hold.to.0.0, hold.to.1),
                gap: 0,
                lag: NO_LAG,
            });
        }
        Self {
            instance,
            arcs: std::sync::Arc::new(arcs),
            chosen: instance.activities.iter().map(undecided).collect(),
        }
    }

    /// Returns the arcs that lead out of an activity, each with its place among all.
    fn arcs_out_of(&self, activity: ActivityId) -> &[(u32, Arc)] {
        &self.arcs.out[activity.0]
    }

    /// Returns the arcs that lead into an activity, likewise.
    fn arcs_into(&self, activity: ActivityId) -> &[(u32, Arc)] {
        &self.arcs.into[activity.0]
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

    /// Returns the mode chosen for an activity; the first where none is.
    pub fn chosen(&self, activity: ActivityId) -> usize {
        match self.chosen[activity.0] {
            OPEN => 0,
            chosen => usize::from(chosen),
        }
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

    /// Returns when an activity that starts at `start` ends at the latest, whichever mode is chosen.
    pub fn latest_end_of(&self, activity: ActivityId, start: Time) -> Time {
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
}

fn undecided(activity: &Activity) -> u16 {
    // What has begun in a mode that nobody has said, and will end when that mode does, is open too.
    let ends_by_mode = !matches!(activity.fixed, Some((_, Some(_))));
    if activity.modes.len() > 1 && ends_by_mode {
        OPEN
    } else {
        0
    }
}
