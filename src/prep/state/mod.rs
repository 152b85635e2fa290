//! The state of the prep: entries folded in order.

mod ask;
mod seen_to;

use std::collections::{BTreeMap, BTreeSet};

use super::expected_end;
use crate::book::{
    Announcement, Decision, Entry, EntryId, Errand, Goal, Happening, Reading, StepDigest,
};
use crate::menu::Menu;
use crate::plan::{Announced, Done, Happened, PlanOutcome, StepKey, Told};
use crate::time::{ServiceTime, Timestamp};

pub use ask::{Ask, Refusal};

/// Where the prep of one banquet stands.
///
/// An entry counts unless an [`Happening::Undone`] that itself counts names it; so an undo can be undone. An undo of
/// what is gone already never counts: of two that take back the same the first stands, as of two equal ticks, and taking
/// that one back brings back what it took.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PrepState {
    /// The entries about each step, oldest first, whether they count or not.
    steps: BTreeMap<String, Vec<Kept>>,
    /// Undo entries: which entry each takes back.
    undos: BTreeMap<EntryId, EntryId>,
    /// Undo entries that found gone already what they name.
    idle: BTreeSet<EntryId>,
    /// The entries that do not count; follows from `undos` and `idle`.
    gone: BTreeSet<EntryId>,
    seen: Option<BTreeMap<String, StepDigest>>,
    /// Plans that were taken, oldest first, whether they count or not.
    announced: Vec<(EntryId, BTreeMap<String, Announcement>)>,
    /// What was measured at each step, in the order of the entries.
    measured: BTreeMap<String, Vec<Measured>>,
    /// When each running step is expected to end: entry, when that was said, the end.
    expected: BTreeMap<String, Vec<(EntryId, Timestamp, Timestamp)>>,
    notes: Vec<Noted>,
    decisions: Vec<(EntryId, Decision)>,
    /// What was seen to that is no step: entry, when, what.
    seen_to: Vec<(EntryId, Timestamp, Errand)>,
    /// Calls that were answered, oldest first.
    heeded: Vec<Heeded>,
    /// What was shown last of the steps that could not be kept when they were told, and when that was.
    moved: Option<(EntryId, Timestamp, BTreeMap<String, Announcement>)>,
    /// Every entry that a cook can take back, in order.
    acts: Vec<EntryId>,
    last: Option<EntryId>,
}

/// By how many seconds the clocks of two stations may differ.
const CLOCKS_DIFFER: i64 = 5 * 60;

/// A call that was answered.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Heeded {
    id: EntryId,
    call: String,
    at: Timestamp,
    /// From when on it may call again.
    again: Option<Timestamp>,
}

/// Something measured at a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Measured {
    /// The entry.
    pub id: EntryId,
    /// When it was measured.
    pub at: Timestamp,
    /// What it was.
    pub reading: Reading,
    /// What it is on its way to, where that was said with it.
    pub goal: Option<Goal>,
}

/// Something the next shift should know.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Noted {
    /// The entry.
    pub id: EntryId,
    /// When.
    pub at: Timestamp,
    /// Who says so; may be empty.
    pub who: String,
    /// The key of the step it is about.
    pub step: Option<String>,
    /// What.
    pub text: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Kept {
    id: EntryId,
    at: Timestamp,
    what: Tick,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Tick {
    Start,
    Finish,
    Skip(String),
}

/// How far one step has come.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Progress {
    /// Nothing has happened.
    #[default]
    Waiting,
    /// It runs.
    Running {
        /// Since when.
        since: Timestamp,
    },
    /// It is over.
    Finished {
        /// When it was started, if anybody ticked that.
        started: Option<Timestamp>,
        /// When it ended.
        at: Timestamp,
    },
    /// It will not be done.
    Skipped {
        /// Since when that is known.
        at: Timestamp,
        /// Why.
        reason: String,
    },
}

impl PrepState {
    /// Returns the state that these entries, in this order, lead to.
    pub fn fold<'a>(entries: impl IntoIterator<Item = &'a Entry>) -> Self {
        let mut state = Self::default();
        for entry in entries {
            state.apply(entry);
        }
        state
    }

    /// Takes in the next entry.
    pub fn apply(&mut self, entry: &Entry) {
        self.last = Some(entry.id);
        if is_act(&entry.what) {
            self.acts.push(entry.id);
        }
        let (step, what) = match &entry.what {
            Happening::Started { step } => (step, Tick::Start),
            Happening::Finished { step } => (step, Tick::Finish),
            Happening::Skipped { step, reason } => (step, Tick::Skip(reason.clone())),
            other => return self.apply_other(entry, other),
        };
        self.steps.entry(step.clone()).or_default().push(Kept {
            id: entry.id,
            at: entry.at,
            what,
        });
    }

    /// Takes in what is no tick.
    fn apply_other(&mut self, entry: &Entry, what: &Happening) {
        match what {
            Happening::Undone { entry: undone } if self.gone.contains(undone) => {
                self.idle.insert(entry.id);
                self.gone.insert(entry.id);
            }
            Happening::Undone { entry: undone } => {
                self.undos.insert(entry.id, *undone);
                // An undo of an ordinary entry takes away just that one; one of an undo brings others back.
                if self.undos.contains_key(undone) || *undone >= entry.id {
                    self.gone = self.undone();
                } else {
                    self.gone.insert(*undone);
                }
            }
            Happening::MenuSeen { steps } => self.seen = Some(steps.clone()),
            Happening::Moved { steps } => {
                self.moved = Some((entry.id, entry.at, steps.clone()));
            }
            Happening::Announced { steps } => self.announced.push((entry.id, steps.clone())),
            Happening::Read {
                step,
                reading,
                goal,
            } => self
                .measured
                .entry(step.clone())
                .or_default()
                .push(Measured {
                    id: entry.id,
                    at: entry.at,
                    reading: *reading,
                    goal: *goal,
                }),
            Happening::Expected { step, end } => {
                let said = (entry.id, entry.at, *end);
                self.expected.entry(step.clone()).or_default().push(said);
            }
            Happening::Noted { step, text } => self.notes.push(Noted {
                id: entry.id,
                at: entry.at,
                who: entry.who.clone(),
                step: step.clone(),
                text: text.clone(),
            }),
            Happening::Decided { decision, steps } => {
                self.decisions.push((entry.id, decision.clone()));
                if !steps.is_empty() {
                    self.announced.push((entry.id, steps.clone()));
                }
            }
            Happening::SeenTo { errand } => {
                self.seen_to.push((entry.id, entry.at, errand.clone()));
            }
            Happening::Heeded { call, again } => {
                self.heeded.push(Heeded {
                    id: entry.id,
                    call: call.clone(),
                    at: entry.at,
                    again: *again,
                });
            }
            // Ticks have been taken in; what nobody here knows means nothing here.
            Happening::Started { .. }
            | Happening::Finished { .. }
            | Happening::Skipped { .. }
            | Happening::Unknown { .. } => {}
        }
    }

    /// Returns the last entry taken in.
    pub fn last(&self) -> Option<EntryId> {
        self.last
    }

    /// Returns the menu's steps as the book last saw them.
    pub fn seen(&self) -> Option<&BTreeMap<String, StepDigest>> {
        self.seen.as_ref()
    }

    /// Returns how far a step has come.
    pub fn progress(&self, step: &StepKey) -> Progress {
        self.progress_of(&step.to_string())
    }

    /// Returns the keys of all steps about which anything counts, in the order of their text.
    pub fn ticked(&self) -> impl Iterator<Item = &str> {
        self.steps
            .iter()
            .filter(|(_, kept)| kept.iter().any(|entry| !self.gone.contains(&entry.id)))
            .map(|(key, _)| key.as_str())
    }

    /// Returns what the planner needs to know of what has happened; of the menu it wants what running steps are on
    /// their way to.
    pub fn happened(&self, menu: &Menu, service: ServiceTime) -> Happened {
        let mut happened = Happened::new();
        for text in self.steps.keys() {
            let Ok(key) = text.parse::<StepKey>() else {
                continue;
            };
            let done = match self.progress_of(text) {
                Progress::Waiting => continue,
                Progress::Running { since } => match expected_end(menu, self, &key) {
                    Some(end) => Done::Expected {
                        since: service.minute(since),
                        end: service.minute(end),
                    },
                    None => Done::Started(service.minute(since)),
                },
                Progress::Finished { started, at } => Done::Finished(
                    started.map(|moment| service.minute(moment)),
                    service.minute(at),
                ),
                Progress::Skipped { at, .. } => Done::Skipped(service.minute(at)),
            };
            happened.insert(key, done);
        }
        happened
    }

    /// Returns what the cooks have been told, where a plan was taken and that still counts.
    pub fn announced(&self, service: ServiceTime) -> Option<Announced> {
        let (_, steps) = self.announcement()?;
        Some(told_at(steps, service))
    }

    /// Returns what the cooks have been shown last of steps that could not be kept when they were told; none of it
    /// counts any more once a plan has been taken since.
    pub fn shown(&self, service: ServiceTime) -> Announced {
        self.moved_since()
            .map(|steps| told_at(steps, service))
            .unwrap_or_default()
    }

    fn moved_since(&self) -> Option<&BTreeMap<String, Announcement>> {
        let (moved, _, steps) = self.moved.as_ref()?;
        let taken = self.announcement().map(|(id, _)| id);
        // What was shown because of an entry that was taken back since, or without one that was brought back, is no times
        // to come back to. No time hangs on a note, on an order or on an answer to a call.
        let moves_nothing = |id: &EntryId| {
            self.notes.iter().any(|note| note.id == *id)
                || self.seen_to.iter().any(|(seen, ..)| seen == id)
                || self.heeded.iter().any(|answer| answer.id == *id)
        };
        let is_of_others = self
            .undos
            .range(moved..)
            .any(|(_, undone)| undone < moved && !moves_nothing(undone));
        (Some(moved) > taken && !is_of_others).then_some(steps)
    }

    /// Returns the entry to write when a plan shows steps at times that had to be looked for, so that every terminal,
    /// and the next plan, keeps to them; none where the book says so already, or has said so in this minute and nothing
    /// has happened since: two terminals whose searches differ must not answer each other for ever.
    pub fn moved_by(
        &self,
        outcome: &PlanOutcome,
        service: ServiceTime,
        now: Timestamp,
    ) -> Option<Happening> {
        if let Some((moved, at, _)) = &self.moved
            && self.last == Some(*moved)
            && service.minute(*at) == service.minute(now)
        {
            return None;
        }
        let plan = match outcome {
            PlanOutcome::Planned(plan) => plan,
            PlanOutcome::TooLate { .. } | PlanOutcome::Impossible(_) => outcome.forecast()?,
        };
        if !plan.anew {
            return None;
        }
        let steps = Self::announcement_of(&plan.moved(), service);
        let nothing = BTreeMap::new();
        let known = self.moved_since().unwrap_or(&nothing);
        (steps != *known).then_some(Happening::Moved { steps })
    }

    fn announcement(&self) -> Option<&(EntryId, BTreeMap<String, Announcement>)> {
        let plans = self.announced.iter().rev();
        plans.into_iter().find(|(id, _)| !self.gone.contains(id))
    }

    /// Returns the entry to write when a cook takes a plan: what it tells of every step.
    pub fn announce(told: &Announced, service: ServiceTime) -> Happening {
        let steps = Self::announcement_of(told, service);
        Happening::Announced { steps }
    }

    /// Returns what is told of every step, as an entry has it.
    pub fn announcement_of(
        told: &Announced,
        service: ServiceTime,
    ) -> BTreeMap<String, Announcement> {
        let of = |(key, told): (&StepKey, &Told)| {
            let told = Announcement {
                start: service.timestamp(told.start),
                way: told.way.clone(),
                ovens: told.ovens.clone(),
            };
            (key.to_string(), told)
        };
        told.iter().map(of).collect()
    }

    /// Returns the entry to write when a cook goes back to what was announced before the plan taken last, where
    /// one was taken that counts.
    pub fn take_back_announcement(&self) -> Option<Happening> {
        let &(entry, _) = self.announcement()?;
        Some(Happening::Undone { entry })
    }

    /// Returns whether an entry that comes next would change anything. Of two terminals that say the same of a step at
    /// the same moment both entries stand in the book, and the second changes nothing.
    pub fn is_moved_by(&self, entry: &Entry) -> bool {
        let (step, tick) = match &entry.what {
            Happening::Started { step } => (step, Tick::Start),
            Happening::Finished { step } => (step, Tick::Finish),
            Happening::Skipped { step, reason } => (step, Tick::Skip(reason.clone())),
            Happening::Undone { entry } => return !self.gone.contains(entry),
            Happening::SeenTo { errand } => return !self.is_seen_to(errand),
            _ => return true,
        };
        let progress = self.progress_of(step);
        tick.after(entry.at, progress.clone()) != progress
    }

    /// Returns the last entry about a step that counts.
    fn latest_of(&self, key: &str) -> Option<EntryId> {
        let ticks = self.steps.get(key).into_iter().flatten();
        let measured = self.measured.get(key).into_iter().flatten();
        let expected = self.expected.get(key).into_iter().flatten();
        let noted = self.notes.iter();
        let noted = noted.filter(|note| note.step.as_deref() == Some(key));
        ticks
            .map(|kept| kept.id)
            .chain(measured.map(|measured| measured.id))
            .chain(expected.map(|(id, ..)| *id))
            .chain(noted.map(|note| note.id))
            .filter(|&id| self.counts(id))
            .max()
    }

    /// Returns whether an entry counts: whether no undo that counts names it.
    pub fn counts(&self, id: EntryId) -> bool {
        !self.gone.contains(&id)
    }

    /// Returns the undo that took an entry back, where one counts: taking *that* back brings the entry back.
    pub fn undone_by(&self, id: EntryId) -> Option<EntryId> {
        let mut undos = self.undos.iter().rev();
        undos
            .find(|&(undo, undone)| *undone == id && undone < undo && self.counts(*undo))
            .map(|(undo, _)| *undo)
    }

    /// Returns the last entry of anybody that can be taken back and counts.
    pub fn last_act(&self) -> Option<EntryId> {
        self.acts.iter().rev().copied().find(|&id| self.counts(id))
    }

    /// Returns the undo that was written last, where nothing has been done since that it would meet again; taking
    /// it back brings back what it took.
    pub fn last_undo(&self) -> Option<EntryId> {
        let mut undos = self.undos.iter().rev();
        let (&undo, _) = undos.find(|&(undo, undone)| {
            // One that brings something back is no undo of what was done.
            !self.undos.contains_key(undone) && undone < undo && self.counts(*undo)
        })?;
        let done_since = self.acts.last().is_some_and(|&act| act > undo);
        (!done_since).then_some(undo)
    }

    /// Returns what was measured at a step and counts, in the order of the times.
    pub fn measured(&self, step: &StepKey) -> Vec<Measured> {
        let all = self.measured.get(&step.to_string()).into_iter().flatten();
        let mut counting: Vec<Measured> = all.filter(|it| self.counts(it.id)).copied().collect();
        counting.sort_by_key(|it| (it.at, it.id));
        counting
    }

    /// Returns the temperatures that were measured at a step and count, in degrees Celsius, in the order of the times.
    pub fn temperatures_of(&self, step: &StepKey) -> Vec<(Timestamp, f64)> {
        let measured = self.measured(step).into_iter();
        let degrees = measured.filter_map(|it| match it.reading {
            Reading::Temperature(tenths) => Some((it.at, f64::from(tenths) / 10.0)),
            _ => None,
        });
        degrees.collect()
    }

    /// Returns the same for every step that was measured twice or more, because one reading shows no cooling.
    pub fn temperatures(&self) -> Vec<(StepKey, Vec<(Timestamp, f64)>)> {
        let steps = self.measured.keys().filter_map(|key| key.parse().ok());
        steps
            .map(|step| {
                let degrees = self.temperatures_of(&step);
                (step, degrees)
            })
            .filter(|(_, degrees)| degrees.len() > 1)
            .collect()
    }

    /// Returns when a cook said last that a running step will be over, and when that was said; none where nobody has
    /// since it began.
    pub fn expected(&self, step: &StepKey) -> Option<(Timestamp, Timestamp)> {
        let key = step.to_string();
        let Progress::Running { since } = self.progress_of(&key) else {
            return None;
        };
        // Said after it, by the clock or by the book: a clock that was set back must not unsay it.
        let starts = self.steps.get(&key).into_iter().flatten();
        let mut starts = starts.filter(|it| it.what == Tick::Start && self.counts(it.id));
        let started = starts.next().map(|it| it.id);
        let said = self.expected.get(&key)?.iter().rev();
        let mut said = said.filter(|(id, at, _)| {
            self.counts(*id) && (*at >= since || started.is_some_and(|start| *id > start))
        });
        said.next().map(|&(_, at, end)| (at, end))
    }

    /// Returns the notes that count, oldest first.
    pub fn notes(&self) -> impl Iterator<Item = &Noted> {
        self.notes.iter().filter(|note| self.counts(note.id))
    }

    /// Returns what was decided and counts, in order.
    pub fn decisions(&self) -> impl Iterator<Item = &Decision> {
        let all = self.decisions.iter();
        all.filter(|(id, _)| self.counts(*id))
            .map(|(_, decision)| decision)
    }

    /// Returns whether a call for attention has been answered and does not call again by `now`. What was put off before
    /// the clock was set back calls again at once: nobody can say for how much longer it was meant.
    pub fn is_heeded(&self, call: &str, now: Timestamp) -> bool {
        let mut answers = self.heeded.iter().rev();
        let last = answers.find(|answer| self.counts(answer.id) && answer.call == call);
        last.is_some_and(|answer| {
            let was_set_back = answer.at.0 > now.0 + CLOCKS_DIFFER;
            answer
                .again
                .is_none_or(|again| now < again && !was_set_back)
        })
    }

    /// Returns the entries that do not count. Undo entries are resolved from the newest back, because only
    /// a later entry can take back an earlier one.
    fn undone(&self) -> BTreeSet<EntryId> {
        let mut gone = self.idle.clone();
        for (undo, undone) in self.undos.iter().rev() {
            if !gone.contains(undo) && undone < undo {
                gone.insert(*undone);
            }
        }
        gone
    }

    fn progress_of(&self, key: &str) -> Progress {
        let Some(entries) = self.steps.get(key) else {
            return Progress::Waiting;
        };
        let mut progress = Progress::Waiting;
        for kept in entries.iter().filter(|kept| !self.gone.contains(&kept.id)) {
            progress = kept.what.after(kept.at, progress);
        }
        progress
    }
}

impl Tick {
    /// Returns how far a step has come when this is said of it. Two terminals may say the same thing twice; the first
    /// that makes sense stands.
    fn after(&self, at: Timestamp, progress: Progress) -> Progress {
        match (self, progress) {
            (Self::Start, Progress::Waiting) => Progress::Running { since: at },
            (Self::Finish, Progress::Waiting) => Progress::Finished { started: None, at },
            (Self::Finish, Progress::Running { since }) => Progress::Finished {
                started: Some(since),
                at,
            },
            (Self::Skip(reason), Progress::Waiting | Progress::Running { .. }) => {
                Progress::Skipped {
                    at,
                    reason: reason.clone(),
                }
            }
            (_, unchanged) => unchanged,
        }
    }
}

/// Returns what an entry tells of each step, in minutes from a service.
fn told_at(steps: &BTreeMap<String, Announcement>, service: ServiceTime) -> Announced {
    let told = |(key, told): (&String, &Announcement)| {
        let told = Told {
            start: service.minute(told.start),
            way: told.way.clone(),
            ovens: told.ovens.clone(),
        };
        Some((key.parse().ok()?, told))
    };
    steps.iter().filter_map(told).collect()
}

/// Whether an entry is something that a cook did, and can take back.
fn is_act(what: &Happening) -> bool {
    match what {
        Happening::Started { .. }
        | Happening::Finished { .. }
        | Happening::Skipped { .. }
        | Happening::Read { .. }
        | Happening::Expected { .. }
        | Happening::Noted { .. }
        | Happening::Decided { .. }
        | Happening::SeenTo { .. }
        | Happening::Announced { .. } => true,
        Happening::Undone { .. }
        | Happening::Heeded { .. }
        | Happening::MenuSeen { .. }
        | Happening::Moved { .. }
        | Happening::Unknown { .. } => false,
    }
}

#[cfg(test)]
mod tests;
