//! What is asked of the engine: the instance, as plain data.

/// A moment or a length in whole minutes. Zero is wherever the caller puts it; countback puts it at service.
pub type Time = i32;

/// Names an activity by its place in [`Instance::activities`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ActivityId(pub usize);

/// Names a resource by its place in [`Instance::resources`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct ResourceId(pub usize);

/// Names a state resource by its place in [`Instance::states`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct StateId(pub usize);

/// Names a calendar by its place in [`Instance::calendars`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CalendarId(pub usize);

/// Names a gate by its place in [`Instance::gates`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct GateId(pub usize);

/// A whole problem.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Instance {
    /// The first minute anything may occupy.
    pub earliest: Time,
    /// The first minute nothing may occupy any more.
    pub latest: Time,
    /// What is shared by count.
    pub resources: Vec<Resource>,
    /// What is shared by state (a temperature).
    pub states: Vec<StateResource>,
    /// When things may happen.
    pub calendars: Vec<Calendar>,
    /// When waits end.
    pub gates: Vec<Gate>,
    /// What must be placed.
    pub activities: Vec<Activity>,
    /// Lags between edges of activities.
    pub lags: Vec<Lag>,
    /// Resources kept from an edge of one activity to an edge of another.
    pub holds: Vec<Hold>,
    /// Distances that are wanted and not required.
    pub wishes: Vec<Wish>,
    /// Resources whose work is to be spread.
    pub levels: Vec<Level>,
    /// What each minute of each fault costs.
    pub weights: Weights,
}

/// A resource shared by count, with a capacity that changes over time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Resource {
    /// Steps `(from, capacity)`, rising in time; the capacity before the first step is zero.
    pub capacity: Vec<(Time, i32)>,
    /// Steps of the same shape: what may be used before it is overtime; `None` where nothing is.
    pub regular: Option<Vec<(Time, i32)>>,
}

/// A resource that is in one state at a time; activities share it only in the same state.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct StateResource {
    /// Minutes to go from any state to any other.
    pub change: Time,
}

/// When something may happen: sorted, disjoint, half-open windows.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Calendar {
    /// The windows inside which it may.
    pub windows: Vec<(Time, Time)>,
}

/// Moments at which waits end: sorted.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Gate {
    /// The openings.
    pub openings: Vec<Time>,
}

/// Something that takes time.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Activity {
    /// The ways it can be done; exactly one is chosen. Never empty.
    pub modes: Vec<Mode>,
    /// Calendars it must fit, each with what of it must fit.
    pub calendars: Vec<(CalendarId, Coverage)>,
    /// It starts no earlier than this.
    pub release: Option<Time>,
    /// It has ended by this.
    pub deadline: Option<Time>,
    /// It should have ended by this; each minute after it is a minute late.
    pub due: Option<Time>,
    /// What has already happened: its start, and its end where that is known. A fixed activity is exempt from
    /// calendars, releases and deadlines, because the past is what it is. It has happened in one mode; where there
    /// are more, which is left open, and a search looks at the first that fits.
    pub fixed: Option<(Time, Option<Time>)>,
    /// How much a minute earlier than need be costs; never negative.
    pub weight: i32,
    /// The start it was announced with, if it was.
    pub announced: Option<Time>,
}

/// What of an activity must lie inside a calendar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coverage {
    /// Its start (the first minute).
    Start,
    /// Its end (the moment it ends; the end of a window counts as inside).
    End,
    /// All of it.
    Whole,
}

/// One way to do an activity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mode {
    /// How long it lasts.
    pub duration: Duration,
    /// What it uses, and when within it.
    pub demands: Vec<Demand>,
    /// The states it needs of state resources while it lasts.
    pub states: Vec<(StateId, i32)>,
    /// What choosing this mode costs; never negative.
    pub cost: i32,
}

/// How long an activity lasts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Duration {
    /// So many minutes; never negative.
    Fixed(Time),
    /// From its start to the first opening of a gate that is both the `count`-th strictly after the start (or a
    /// later one) and at least `at_least` minutes after it; and `then` minutes more.
    Until {
        /// The gate.
        gate: GateId,
        /// Which opening after the start, from 1.
        count: u32,
        /// The least time from its start to that opening.
        at_least: Time,
        /// What follows the opening and still belongs to it; never negative.
        then: Time,
    },
}

/// What an activity uses of a resource.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Demand {
    /// Of which resource.
    pub resource: ResourceId,
    /// How much; positive.
    pub quantity: i32,
    /// When within the activity.
    pub when: Use,
}

/// When within an activity a demand holds; always cut to the activity itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Use {
    /// All of it.
    Whole,
    /// From one offset up to another, both counted from an edge (`0..5` from the start, `-5..0` from the end).
    Part {
        /// The edge counted from.
        anchor: Anchor,
        /// The first minute.
        from: Time,
        /// The first minute after.
        to: Time,
    },
    /// At `every`, `2 × every`, … minutes after the start, for `length` minutes each, as long as the whole
    /// look lies inside the activity.
    Every {
        /// From start to start; positive.
        every: Time,
        /// How long each.
        length: Time,
    },
}

/// The edge of an activity that offsets count from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its start.
    Start,
    /// Its end.
    End,
}

/// One edge of an activity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Its start.
    Start,
    /// Its end.
    End,
}

/// A lag: `to` happens at least `least` and at most `most` minutes after `from`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Lag {
    /// The edge counted from.
    pub from: (ActivityId, Edge),
    /// The edge counted to.
    pub to: (ActivityId, Edge),
    /// The minimum; may be negative.
    pub least: Time,
    /// The maximum, where there is one.
    pub most: Option<Time>,
}

/// A resource kept from an edge of one activity to an edge of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hold {
    /// Of which resource.
    pub resource: ResourceId,
    /// How much.
    pub quantity: i32,
    /// Taken at this edge.
    pub from: (ActivityId, Edge),
    /// Given back at this edge; never before it is taken.
    pub to: (ActivityId, Edge),
}

/// A distance that is wanted: `to` no less than `least` and no more than `most` minutes after `from`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Wish {
    /// The edge counted from.
    pub from: (ActivityId, Edge),
    /// The edge counted to.
    pub to: (ActivityId, Edge),
    /// The least, where one is wanted.
    pub least: Option<Time>,
    /// The most, where one is wanted.
    pub most: Option<Time>,
    /// How much a minute short of the least, or past the most, counts; never negative.
    pub weight: i32,
}

/// A resource whose work is to be spread over time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Level {
    /// Which resource.
    pub resource: ResourceId,
    /// Sorted, disjoint windows; the load of each is the sum over its minutes of what is used.
    pub buckets: Vec<(Time, Time)>,
    /// How much the square of a load counts; never negative.
    pub weight: i32,
}

/// What each kind of fault costs. The cost of a schedule is
///
/// ```text
///   late     × Σ minutes that activities end after they are due
/// + wish     × Σ weight of the wish × minutes short of its least or past its most
/// + overtime × Σ over resources and minutes: what is used beyond the regular amount
/// + uneven   × Σ weight of the level × Σ over its buckets: load²
/// + early    × Σ weight of the activity × minutes from its start to the end of the horizon
/// + mode     × Σ cost of the mode
/// + moved    × number of activities that do not start when announced
/// + moved_by × Σ minutes between announced and actual start
/// ```
///
/// What has happened (a fixed activity) is late, early, in a mode and moved for free, and so is a wish between
/// two fixed activities; what it uses counts in overtime and loads. Only minutes inside the horizon count.
/// This is the one place that says what the cost is; [`cost`](super::cost) computes it for the search, and
/// [`verify`](super::verify) a second time.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Weights {
    /// A minute late.
    pub late: i64,
    /// A minute of a wish of weight 1.
    pub wish: i64,
    /// A unit used for a minute beyond the regular amount.
    pub overtime: i64,
    /// A unit of squared load.
    pub uneven: i64,
    /// A minute early of an activity of weight 1.
    pub early: i64,
    /// A unit of a mode's cost.
    pub mode: i64,
    /// An activity that moves.
    pub moved: i64,
    /// A minute it moves by.
    pub moved_by: i64,
}

impl Resource {
    /// Returns the capacity at a moment.
    pub fn capacity_at(&self, time: Time) -> i32 {
        let after = self.capacity.partition_point(|&(from, _)| from <= time);
        after.checked_sub(1).map_or(0, |step| self.capacity[step].1)
    }
}

impl Gate {
    /// Returns when a wait that starts at `start` ends, or `None` when the gate does not open often enough.
    pub fn end_of(&self, start: Time, count: u32, at_least: Time) -> Option<Time> {
        let counted =
            self.openings.partition_point(|&opening| opening <= start) + count.max(1) as usize - 1;
        let after = start.saturating_add(at_least);
        let enough = self.openings.partition_point(|&opening| opening < after);
        self.openings.get(counted.max(enough)).copied()
    }

    /// Returns the latest start from which a wait ends by `end`, or `None` when there is none: every earlier
    /// start ends by then too, because a wait that starts earlier never ends later.
    pub fn latest_start(&self, end: Time, count: u32, at_least: Time) -> Option<Time> {
        let opened = self.openings.partition_point(|&opening| opening <= end);
        let counted = *self
            .openings
            .get(opened.checked_sub(count.max(1) as usize)?)?;
        let last = self.openings[opened - 1];
        Some((counted - 1).min(last.saturating_sub(at_least)))
    }
}

impl Activity {
    /// Returns how long an activity lasts where that is the same in every mode and wherever it stands.
    pub fn length(&self) -> Option<Time> {
        let mut lengths = self.modes.iter().map(|mode| match mode.duration {
            Duration::Fixed(length) => Some(length),
            Duration::Until { .. } => None,
        });
        let first = lengths.next()??;
        lengths.all(|length| length == Some(first)).then_some(first)
    }
}

impl Instance {
    /// Returns the instance as if nothing of it had been announced, to bound what could be had then. The modes of what was
    /// announced cost nothing there: what they cost says how far each is from what was announced.
    #[must_use]
    pub fn unannounced(&self) -> Self {
        let mut free = self.clone();
        for activity in &mut free.activities {
            if activity.announced.take().is_some() {
                activity.modes.iter_mut().for_each(|mode| mode.cost = 0);
            }
        }
        free
    }

    /// Returns whether anything has been announced.
    pub fn has_announced(&self) -> bool {
        self.activities.iter().any(|it| it.announced.is_some())
    }

    /// Returns the capacity-free duration of a mode that starts at `start`, or `None` past the last opening.
    pub fn end_of(&self, mode: &Mode, start: Time) -> Option<Time> {
        match mode.duration {
            Duration::Fixed(length) => Some(start + length),
            Duration::Until {
                gate,
                count,
                at_least,
                then,
            } => Some(self.gates[gate.0].end_of(start, count, at_least)? + then),
        }
    }

    /// Returns the latest start from which a mode ends by `end`, or `None` when there is none.
    pub fn latest_start(&self, mode: &Mode, end: Time) -> Option<Time> {
        match mode.duration {
            Duration::Fixed(length) => Some(end - length),
            Duration::Until {
                gate,
                count,
                at_least,
                then,
            } => self.gates[gate.0].latest_start(end - then, count, at_least),
        }
    }
}
