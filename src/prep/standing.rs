//! What a step is to a cook at this moment.

use super::{PrepState, Progress};
use crate::book::Happening;
use crate::plan::{Plan, StepIndex, StepKey};
use crate::time::{Minute, Minutes, Timestamp};

/// What a step is to a cook now.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Standing {
    /// Should have started by now and has not.
    Late,
    /// Runs past its planned end.
    RunningLong,
    /// Runs.
    Running,
    /// Is to be started within the next quarter of an hour.
    Due,
    /// Must be over, by what has begun since; nobody has ticked it.
    Unticked,
    /// Nothing it waits for is open; it could start.
    Ready,
    /// Waits for other steps.
    Waiting,
    /// Is to be done, and no plan says when.
    ToDo,
    /// Is over.
    Done,
    /// Will not be done.
    Skipped,
}

impl Standing {
    /// How long before its start a step is due.
    pub const DUE_WITHIN: Minutes = Minutes(15);

    /// Every standing, the most urgent first.
    pub const ALL: [Self; 10] = [
        Self::Late,
        Self::RunningLong,
        Self::Running,
        Self::Due,
        Self::Unticked,
        Self::Ready,
        Self::Waiting,
        Self::ToDo,
        Self::Done,
        Self::Skipped,
    ];

    /// Returns the word on the sheet.
    pub fn word(self) -> &'static str {
        match self {
            Self::Late => "late",
            Self::RunningLong => "long",
            Self::Running => "running",
            Self::Due => "due",
            Self::Unticked => "unticked",
            Self::Ready => "ready",
            Self::Waiting => "waiting",
            Self::ToDo => "to do",
            Self::Done => "done",
            Self::Skipped => "skipped",
        }
    }

    /// Returns whether it has begun and is not over.
    pub fn is_running(self) -> bool {
        matches!(self, Self::Running | Self::RunningLong)
    }

    /// Returns whether nothing is left to do.
    pub fn is_over(self) -> bool {
        matches!(self, Self::Done | Self::Skipped)
    }
}

/// Returns what a step is to a cook where there is no plan to hold it against.
pub fn standing_unplanned(prep: &PrepState, key: &StepKey) -> Standing {
    match prep.progress(key) {
        Progress::Finished { .. } => Standing::Done,
        Progress::Skipped { .. } => Standing::Skipped,
        Progress::Running { .. } => Standing::Running,
        Progress::Waiting => Standing::ToDo,
    }
}

/// Returns whether a step is still to be started: it waits, its dish is not left out of what can still be, and nothing
/// that follows it has begun.
pub fn is_to_start(plan: &Plan, prep: &PrepState, step: StepIndex) -> bool {
    let planned = &plan.steps[step];
    prep.progress(&planned.key) == Progress::Waiting
        && !planned.is_presumed
        && !plan.is_given_up(step)
}

/// Returns what a step of the plan is to a cook at `now`.
pub fn standing(plan: &Plan, prep: &PrepState, step: StepIndex, now: Minute) -> Standing {
    let planned = &plan.steps[step];
    match prep.progress(&planned.key) {
        Progress::Finished { .. } => Standing::Done,
        Progress::Skipped { .. } => Standing::Skipped,
        Progress::Running { .. } if planned.is_overdue(now) => Standing::RunningLong,
        Progress::Running { .. } => Standing::Running,
        Progress::Waiting if planned.is_presumed => Standing::Unticked,
        Progress::Waiting
            if planned.needed_by.is_some_and(|by| by <= now) || planned.can_slip_until < now =>
        {
            Standing::Late
        }
        Progress::Waiting if planned.window.start <= now + Standing::DUE_WITHIN => Standing::Due,
        Progress::Waiting => {
            let free = planned.follows.iter().all(|&before| {
                matches!(
                    prep.progress(&plan.steps[before].key),
                    Progress::Finished { .. } | Progress::Skipped { .. }
                )
            });
            if free && planned.open_from <= now {
                Standing::Ready
            } else {
                Standing::Waiting
            }
        }
    }
}

/// How much sooner than by the plan a step is begun or ended is asked about, where nothing but the plan says when.
const MUCH_SOONER: Minutes = Minutes(15);

/// Returns why a tick of a step at a moment may be a slip, in a few words; none where it may well be. The state is that
/// before it.
pub fn slip(
    plan: Option<&Plan>,
    prep: &PrepState,
    what: &Happening,
    key: &StepKey,
    at: Timestamp,
) -> Option<String> {
    match (what, prep.progress(key)) {
        (Happening::Finished { .. }, Progress::Running { .. }) => {
            let (lasted, booked) = too_soon(plan, prep, key, at)?;
            Some(format!("after {lasted} of {booked}"))
        }
        (Happening::Started { .. } | Happening::Finished { .. }, Progress::Waiting) => {
            let plan = plan?;
            let (_, step) = plan.find(key)?;
            let at = plan.service.minute(at);
            let clock = |minute: Minute| plan.service.local(minute).weekday_clock();
            let mut follows = step.follows.iter().map(|&before| &plan.steps[before].key);
            let all_over = follows.all(|before| {
                matches!(
                    prep.progress(before),
                    Progress::Finished { .. } | Progress::Skipped { .. }
                )
            });
            if all_over && at < step.open_from {
                Some(format!("not before {} by its card", clock(step.open_from)))
            } else if at + MUCH_SOONER < step.open_from {
                let open = clock(step.open_from);
                Some(format!("what it follows is there at {open}"))
            } else if matches!(what, Happening::Finished { .. })
                && at + MUCH_SOONER < step.window.start
            {
                let start = clock(step.window.start);
                Some(format!("it was to start at {start}"))
            } else {
                None
            }
        }
        _ => None,
    }
}

/// A step done in less than this part of the time it was booked for is asked about.
const TOO_SOON: i32 = 4;

/// What is booked for less than this is over in a moment anyway.
const WORTH_ASKING: Minutes = Minutes(8);

/// Returns how long a step lasted that ends at a moment, and how long it was booked for, where it lasted so little of
/// that that two keys may have been struck for one.
fn too_soon(
    plan: Option<&Plan>,
    prep: &PrepState,
    key: &StepKey,
    at: Timestamp,
) -> Option<(Minutes, Minutes)> {
    let Progress::Running { since } = prep.progress(key) else {
        return None;
    };
    let plan = plan?;
    let (_, step) = plan.find(key)?;
    let booked = step.due.unwrap_or(step.window.end) - step.window.start;
    let lasted = plan.service.minute(at) - plan.service.minute(since);
    (booked >= WORTH_ASKING && lasted.0 < booked.0 / TOO_SOON).then_some((lasted, booked))
}
