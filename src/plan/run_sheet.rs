//! The plan as the sheet shows it.

use std::collections::BTreeMap;

use super::StepKey;
use super::staying_on::STAY;
use crate::time::{Minute, Minutes, ServiceTime, Window};

/// Names a planned step by its place in [`Plan::steps`].
pub type StepIndex = usize;

/// What has already happened to steps, by their keys: the fold of the book, reduced to what the planner needs.
pub type Happened = BTreeMap<StepKey, Done>;

/// What has happened to one step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Done {
    /// It is running since then.
    Started(Minute),
    /// It is running, and its end is expected at a moment: a cook has said so, or readings do. Once that has passed
    /// it is over in the next minute, as whatever runs long.
    Expected {
        /// Since when it runs.
        since: Minute,
        /// When it will be over.
        end: Minute,
    },
    /// It is over: from, to. A step ticked done without a start ended then and is given its planned length.
    Finished(Option<Minute>, Minute),
    /// It will not be done; whatever waits for it need not wait after this moment.
    Skipped(Minute),
}

/// What the cooks have been told, by the keys of the steps.
pub type Announced = BTreeMap<StepKey, Told>;

/// What the cooks have been told of one step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// When it starts.
    pub start: Minute,
    /// Which of the other ways on its card, by its name; `None` is the card's own.
    pub way: Option<String>,
    /// For ovens of which there are several, or that have a heat: the name of each, and which of them, from 1.
    pub ovens: Vec<(String, u32)>,
}

/// A whole plan: every step with its times. Only ever built from a schedule that `verify` has accepted.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Service and zone.
    pub service: ServiceTime,
    /// Every doing of every step, in the order of the menu (not of time).
    pub steps: Vec<PlannedStep>,
    /// Indices of [`Plan::steps`] in the order of their starts; ties in the order of the menu.
    pub order: Vec<StepIndex>,
    /// One for each dish of the menu, in its order.
    pub dishes: Vec<DishPlan>,
    /// The courses with their times, in the order of the menu.
    pub courses: Vec<Course>,
    /// The first openings of the kitchen on each day, rising; "tonight" ends at the next of them.
    pub openings: Vec<Minute>,
    /// Stretches in which the kitchen is shut, rising, over all of the plan: the nights of the timeline.
    pub nights: Vec<Window>,
    /// Cooks on shift: each with the windows they work.
    pub shifts: Vec<CookSpan>,
    /// From the first step (or the first opening, if earlier) to the last course.
    pub span: Window,
    /// Cooks who must stay beyond their shifts, each with when; only those who must.
    pub overtime: Vec<CookSpan>,
    /// How good it is.
    pub quality: Quality,
    /// Whether a longest gap or a keeping limit does not hold: then what is in time may not be fit to be served.
    pub breaks: bool,
    /// Whether times had to be looked for, because what was told and shown could neither be kept nor only be put off
    /// by as much as it must.
    pub anew: bool,
}

/// How good a plan is, by the formula of [`Weights`](crate::schedule::Weights) with the numbers of
/// `plan/weights.rs`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Quality {
    /// What it costs.
    pub cost: i64,
    /// No plan costs less; equal to the cost where it is proved best.
    pub bound: i64,
}

/// A course at the pass.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Course {
    /// Its name.
    pub name: String,
    /// When it is at the pass.
    pub at: Minute,
}

/// One cook and the stretches they work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CookSpan {
    /// The name.
    pub cook: String,
    /// When.
    pub windows: Vec<Window>,
}

/// One dish on the plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DishPlan {
    /// Its place in the menu.
    pub dish: usize,
    /// Its name.
    pub name: String,
    /// When its course is at the pass.
    pub at_pass: Minute,
    /// When the last of its steps ends on this plan.
    pub ready: Minute,
    /// How many batches.
    pub batches: u32,
    /// Portions made.
    pub portions: u32,
    /// Its steps.
    pub steps: Vec<StepIndex>,
    /// Warnings that do not forbid: past its best by so long.
    pub past_best: Option<Minutes>,
    /// On a forecast: by how much it comes too late to the pass, and because of what; none where it is in time.
    pub late: Option<Lateness>,
}

/// How late a dish is at the pass.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lateness {
    /// By so much; positive. None where it cannot be ready within a day of the last course: then its steps that wait
    /// are no part of the forecast and stand where they would have been needed.
    pub by: Option<Minutes>,
    /// Because of what, as a sentence without a full stop, with the menu's own names.
    pub because: String,
}

/// One doing of one step, placed in time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PlannedStep {
    /// Its name in the book.
    pub key: StepKey,
    /// The dish's place in the menu.
    pub dish: usize,
    /// The step's place in the dish.
    pub step: usize,
    /// The line on the sheet, with batch, part or round where there are several: "Bake the shells (2 of 3)".
    pub name: String,
    /// Which of the other ways on its card it is done; `None` is the way the card itself gives.
    pub way: Option<ChosenWay>,
    /// When it runs on this plan. For what has happened, the real times.
    pub window: Window,
    /// It may start as late as this and all courses can still be served, if what follows moves along, and what must be
    /// ready together with it.
    pub can_slip_until: Minute,
    /// It may start no sooner than this, by the gaps on its card and as what it follows stands on this plan.
    pub open_from: Minute,
    /// When hands are needed within it, in order; disjoint.
    pub hands: Vec<HandsSpan>,
    /// Kit it occupies, with kit kept past its end.
    pub kit: Vec<KitSpan>,
    /// Whether somebody must be in the building throughout.
    pub someone_about: bool,
    /// The station's name, where the card gives one.
    pub station: Option<String>,
    /// Why it stands at this time, as a sentence without a full stop.
    pub reason: String,
    /// The steps it waits for.
    pub follows: Vec<StepIndex>,
    /// The steps that wait for it.
    pub followed_by: Vec<StepIndex>,
    /// Whether the book says it has started, or is over.
    pub happened: Option<Done>,
    /// Whether it must be over although nobody has ticked it: something that follows it has begun.
    pub is_presumed: bool,
    /// When a step that runs is due to end, by its card, the cook's word or its readings. Its window ends later where
    /// that has passed: what has not ended yet ends in a minute at the soonest.
    pub due: Option<Minute>,
    /// When the cooks were told it starts, where it waits and starts at another time now.
    pub told: Option<Minute>,
    /// On a forecast: when it would have been needed at the latest, where that has passed and it waits.
    pub needed_by: Option<Minute>,
}

impl PlannedStep {
    fn as_told(&self) -> Told {
        let ovens = self.kit.iter();
        Told {
            start: self.window.start,
            way: self.way.as_ref().map(|way| way.name.clone()),
            ovens: ovens
                .filter_map(|kit| Some((kit.name.clone(), kit.which?)))
                .collect(),
        }
    }
}

/// One of the other ways to do a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChosenWay {
    /// Its place in [`Step::ways`](crate::menu::Step::ways).
    pub place: usize,
    /// What the card calls it.
    pub name: String,
}

/// Hands needed for a while.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct HandsSpan {
    /// When.
    pub window: Window,
    /// How many.
    pub hands: u32,
    /// The cooks the plan gives it to; more names than hands where one hands over
    /// to another within it.
    pub cooks: Vec<String>,
}

/// Kit occupied for a while.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitSpan {
    /// Its name.
    pub name: String,
    /// How many; for an oven used at a heat, shelves of it.
    pub count: u32,
    /// When.
    pub window: Window,
    /// For an oven at a heat: the heat in tenths of a degree Celsius.
    pub heat: Option<i32>,
    /// For an oven at a heat, and where any step uses it at one: which of its kind, from 1.
    pub which: Option<u32>,
}

/// A step that would have had to start before now.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Late {
    /// Which.
    pub step: StepIndex,
    /// When it would have had to start at the latest.
    pub latest: Minute,
}

/// What became of planning.
#[derive(Clone, Debug, PartialEq)]
pub enum PlanOutcome {
    /// It can be done.
    Planned(Plan),
    /// It could have been done, had these steps started in time; `needed` shows when everything would have
    /// had to happen and must not be shown as a plan. What can still be is the `forecast`.
    TooLate {
        /// The plan that would have been needed; the forecast where there is none.
        needed: Plan,
        /// What can still be: nothing starts before now, and dishes come to the pass as little late as was found;
        /// none where nothing of the kind was found, or where it has not been asked for.
        forecast: Option<Box<Plan>>,
        /// The steps that should have started before now, the earliest first; none where only what runs is late, or where
        /// the kitchen could never have done the menu. The forecast has them in the same places.
        late: Vec<Late>,
        /// What to say, a sentence a line.
        because: Vec<String>,
    },
    /// It cannot be done however early it starts; sentences saying what does not fit.
    Impossible(Vec<String>),
}

impl Done {
    /// Returns the latest moment at which something is known to have happened.
    pub fn known_at(self) -> Minute {
        match self {
            Self::Started(at)
            | Self::Expected { since: at, .. }
            | Self::Finished(_, at)
            | Self::Skipped(at) => at,
        }
    }
}

impl Plan {
    /// Returns the step with this key and its place.
    pub fn find(&self, key: &StepKey) -> Option<(StepIndex, &PlannedStep)> {
        self.steps
            .iter()
            .enumerate()
            .find(|(_, step)| step.key == *key)
    }

    /// Returns whether a step waits and is no part of this forecast, because its dish is given up for the others.
    pub fn is_given_up(&self, step: StepIndex) -> bool {
        self.steps.get(step).is_some_and(|step| {
            let mut dishes = self.dishes.iter();
            let dish = dishes.find(|dish| dish.dish == step.dish);
            let is_to_come = step.happened.is_none() && !step.is_presumed;
            is_to_come && dish.is_some_and(DishPlan::is_given_up)
        })
    }

    /// Returns who works beyond their shifts, and when. Who is wanted again within the hour does not go home between.
    pub fn stays(&self) -> Vec<(&str, Vec<Window>)> {
        let of_cook = |cook: &CookSpan| {
            let shifts = self.shifts.iter().filter(|it| it.cook == cook.cook);
            let ends: Vec<Minute> = shifts.flat_map(|it| &it.windows).map(|it| it.end).collect();
            let mut stays: Vec<Window> = Vec::new();
            for window in &cook.windows {
                let follows =
                    |before: &Minute| (Minutes::ZERO..STAY).contains(&(window.start - *before));
                if let Some(stay) = stays.last_mut().filter(|stay| follows(&stay.end)) {
                    stay.end = window.end;
                } else {
                    let since = ends.iter().copied().find(follows);
                    stays.push(Window::new(since.unwrap_or(window.start), window.end));
                }
            }
            stays
        };
        let cooks = self.overtime.iter();
        cooks
            .map(|cook| (cook.cook.as_str(), of_cook(cook)))
            .collect()
    }

    /// Returns who works beyond their shifts and when, each as a sentence without a full stop, the soonest first.
    pub fn overtime_words(&self) -> Vec<String> {
        let clock = |minute: Minute| self.service.local(minute).weekday_clock();
        let mut cooks = self.stays();
        cooks.sort_by_key(|(_, stays)| stays.first().map(|it| it.start));
        let said = |(cook, stays): (&str, Vec<Window>)| {
            let stays = stays.iter();
            let stays = stays.map(|it| format!("{} to {}", clock(it.start), clock(it.end)));
            let stays: Vec<String> = stays.collect();
            format!("{cook} works beyond the shift, {}", stays.join(", "))
        };
        cooks.into_iter().map(said).collect()
    }

    /// Returns what this plan tells the cooks, to be kept by later plans.
    pub fn announced(&self) -> Announced {
        let steps = self.steps.iter();
        steps
            .map(|step| (step.key.clone(), step.as_told()))
            .collect()
    }

    /// Returns what this plan shows of the steps to come that do not start when they were told.
    pub fn moved(&self) -> Announced {
        let steps = self.steps.iter().enumerate();
        steps
            .filter(|(index, step)| step.told.is_some() && !self.is_given_up(*index))
            .map(|(_, step)| (step.key.clone(), step.as_told()))
            .collect()
    }

    /// Returns the first moment, strictly after `now`, at which the kitchen opens for a new day; a day later
    /// where it never opens again.
    pub fn next_opening(&self, now: Minute) -> Minute {
        let after = self.openings.partition_point(|&opening| opening <= now);
        self.openings
            .get(after)
            .copied()
            .unwrap_or(now + Minutes::days(1))
    }
}

impl PlanOutcome {
    /// Returns the times to show: the plan, or what can still be, or else what would have been needed.
    pub fn times(&self) -> Option<&Plan> {
        match self {
            Self::TooLate {
                forecast: Some(plan),
                ..
            } => Some(plan),
            Self::Planned(plan) | Self::TooLate { needed: plan, .. } => Some(plan),
            Self::Impossible(_) => None,
        }
    }

    /// Returns the forecast where it has every dish in time and keeps every gap: only shifts, hours on cards, or the
    /// times of some steps, do not hold.
    pub fn only_behind(&self) -> Option<&Plan> {
        let plan = self.forecast()?;
        let in_time = plan.dishes.iter().all(|dish| dish.late.is_none());
        (in_time && !plan.breaks).then_some(plan)
    }

    /// Returns what can still be where it cannot be done as it stands.
    pub fn forecast(&self) -> Option<&Plan> {
        match self {
            Self::TooLate { forecast, .. } => forecast.as_deref(),
            Self::Planned(_) | Self::Impossible(_) => None,
        }
    }
}

impl Done {
    /// Returns since when it runs; none where it does not, or no more.
    pub fn running_since(self) -> Option<Minute> {
        match self {
            Self::Started(since) | Self::Expected { since, .. } => Some(since),
            Self::Finished(..) | Self::Skipped(_) => None,
        }
    }
}

impl DishPlan {
    /// Returns whether left out of what can still be.
    pub fn is_given_up(&self) -> bool {
        self.late.as_ref().is_some_and(|late| late.by.is_none())
    }

    /// Returns that it is late or left out, by how much and because of what, as a sentence without a full stop; none
    /// where it is in time.
    pub fn late_words(&self) -> Option<String> {
        let late = self.late.as_ref()?;
        let how = match late.by {
            Some(by) => format!("{by} late at the pass"),
            None => "is left out of what can still be".to_owned(),
        };
        Some(format!("{} {how}: {}", self.name, late.because))
    }

    /// Returns how much time is in hand when it is ready; negative where it is late.
    pub fn in_hand(&self) -> Minutes {
        self.at_pass - self.ready
    }
}

impl PlannedStep {
    /// Returns when it is to be over: of what runs, when it is due, also where that has passed.
    pub fn to_end(&self) -> Minute {
        self.due.unwrap_or(self.window.end)
    }

    /// Returns whether it was to be over by `now`.
    pub fn is_overdue(&self, now: Minute) -> bool {
        self.to_end() <= now
    }

    /// Returns the most hands it needs at once.
    pub fn most_hands(&self) -> u32 {
        self.hands.iter().map(|span| span.hands).max().unwrap_or(0)
    }

    /// Returns whether hands are needed from its start to its end.
    pub fn hands_throughout(&self) -> bool {
        matches!(self.hands.as_slice(), [only] if only.window == self.window)
    }
}
