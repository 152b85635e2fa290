//! The state of the prep: entries folded in order.

use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

use crate::book::{Announcement, Entry, EntryId, Happening, StepDigest};
use crate::plan::{Announced, Done, Happened, StepKey, Told};
use crate::time::{ServiceTime, Timestamp};

/// Where the prep of one banquet stands.
///
/// An entry counts unless an [`Happening::Undone`] that itself counts names it; so an undo can be undone.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PrepState {
    /// The entries about each step, oldest first, whether they count or not.
    steps: BTreeMap<String, Vec<Kept>>,
    /// Undo entries: which entry each takes back.
    undos: BTreeMap<EntryId, EntryId>,
    /// The entries that no longer count; follows from `undos`.
    gone: BTreeSet<EntryId>,
    seen: Option<BTreeMap<String, StepDigest>>,
    /// Plans that were taken, oldest first, whether they count or not.
    announced: Vec<(EntryId, BTreeMap<String, Announcement>)>,
    last: Option<EntryId>,
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

/// What a cook asks of a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ask {
    /// It starts.
    Start,
    /// It is done.
    Finish,
    /// Take back the last thing said of it.
    Undo,
    /// It will not be done, for this reason.
    Skip(String),
}

/// Why an ask makes no sense, in words for the cook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Refusal(pub String);

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Refusal {}

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
        let (step, what) = match &entry.what {
            Happening::Started { step } => (step, Tick::Start),
            Happening::Finished { step } => (step, Tick::Finish),
            Happening::Skipped { step, reason } => (step, Tick::Skip(reason.clone())),
            Happening::Undone { entry: undone } => {
                self.undos.insert(entry.id, *undone);
                // An undo of an ordinary entry takes away just that one; one of an undo brings others back.
                if self.undos.contains_key(undone) || *undone >= entry.id {
                    self.gone = self.undone();
                } else {
                    self.gone.insert(*undone);
                }
                return;
            }
            Happening::MenuSeen { steps } => {
                self.seen = Some(steps.clone());
                return;
            }
            Happening::Announced { steps } => {
                self.announced.push((entry.id, steps.clone()));
                return;
            }
            Happening::Unknown { .. } => return,
        };
        self.steps.entry(step.clone()).or_default().push(Kept {
            id: entry.id,
            at: entry.at,
            what,
        });
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

    /// Returns what the planner needs to know of what has happened.
    pub fn happened(&self, service: ServiceTime) -> Happened {
        let mut happened = Happened::new();
        for text in self.steps.keys() {
            let Ok(key) = text.parse::<StepKey>() else {
                continue;
            };
            let done = match self.progress_of(text) {
                Progress::Waiting => continue,
                Progress::Running { since } => Done::Started(service.minute(since)),
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
        let told = |(key, told): (&String, &Announcement)| {
            let told = Told {
                start: service.minute(told.start),
                way: told.way.clone(),
                ovens: told.ovens.clone(),
            };
            Some((key.parse().ok()?, told))
        };
        Some(steps.iter().filter_map(told).collect())
    }

    fn announcement(&self) -> Option<&(EntryId, BTreeMap<String, Announcement>)> {
        let plans = self.announced.iter().rev();
        plans.into_iter().find(|(id, _)| !self.gone.contains(id))
    }

    /// Returns the entry to write when a cook takes a plan: what it tells of every step.
    pub fn announce(told: &Announced, service: ServiceTime) -> Happening {
        let of = |(key, told): (&StepKey, &Told)| {
            let told = Announcement {
                start: service.timestamp(told.start),
                way: told.way.clone(),
                ovens: told.ovens.clone(),
            };
            (key.to_string(), told)
        };
        Happening::Announced {
            steps: told.iter().map(of).collect(),
        }
    }

    /// Returns the entry to write when a cook goes back to what was announced before the plan taken last, where
    /// one was taken that counts.
    pub fn take_back_announcement(&self) -> Option<Happening> {
        let &(entry, _) = self.announcement()?;
        Some(Happening::Undone { entry })
    }

    /// Returns the entry to write for what a cook asks of a step at a moment, or why it makes no sense.
    pub fn ask(&self, step: &StepKey, ask: Ask, at: Timestamp) -> Result<Happening, Refusal> {
        let key = step.to_string();
        let refuse = |text: &str| Err(Refusal(format!("{key} {text}")));
        match (ask, self.progress_of(&key)) {
            (Ask::Start, Progress::Waiting) => Ok(Happening::Started { step: key }),
            (Ask::Start, Progress::Running { .. }) => refuse("is running already; undo it first"),
            (Ask::Start | Ask::Finish, Progress::Finished { .. }) => {
                refuse("is done already; undo it first")
            }
            (Ask::Start | Ask::Finish, Progress::Skipped { .. }) => {
                refuse("was skipped; undo that first")
            }
            (Ask::Finish, Progress::Running { since }) if at < since => {
                refuse("cannot end before it was started; undo the start or give a later time")
            }
            (Ask::Finish, Progress::Waiting | Progress::Running { .. }) => {
                Ok(Happening::Finished { step: key })
            }
            (Ask::Skip(_), Progress::Finished { .. }) => refuse("is done already; undo it first"),
            (Ask::Skip(_), Progress::Skipped { .. }) => refuse("is skipped already"),
            (Ask::Skip(reason), _) if reason.trim().is_empty() => {
                refuse("can only be skipped for a reason; give one")
            }
            (Ask::Skip(reason), _) => Ok(Happening::Skipped {
                step: key,
                reason: reason.trim().to_owned(),
            }),
            (Ask::Undo, _) => match self.latest_of(&key) {
                Some(entry) => Ok(Happening::Undone { entry }),
                None => refuse("has nothing to undo"),
            },
        }
    }

    /// Returns whether an entry that comes next would change anything. Of two terminals that say the same of a step at
    /// the same moment both entries stand in the book, and the second changes nothing.
    pub fn is_moved_by(&self, entry: &Entry) -> bool {
        let (step, tick) = match &entry.what {
            Happening::Started { step } => (step, Tick::Start),
            Happening::Finished { step } => (step, Tick::Finish),
            Happening::Skipped { step, reason } => (step, Tick::Skip(reason.clone())),
            Happening::Undone { entry } => return !self.gone.contains(entry),
            _ => return true,
        };
        let progress = self.progress_of(step);
        tick.after(entry.at, progress.clone()) != progress
    }

    /// Returns the last entry about a step that counts.
    fn latest_of(&self, key: &str) -> Option<EntryId> {
        self.steps
            .get(key)?
            .iter()
            .rev()
            .map(|kept| kept.id)
            .find(|id| !self.gone.contains(id))
    }

    /// Returns the entries that no longer count. Undo entries are resolved from the newest back, because only
    /// a later entry can take back an earlier one.
    fn undone(&self) -> BTreeSet<EntryId> {
        let mut gone = BTreeSet::new();
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

#[cfg(test)]
mod tests {
    use super::*;

    fn key() -> StepKey {
        StepKey::first("pears", "poach")
    }

    struct Cook {
        state: PrepState,
        next: i64,
    }

    impl Cook {
        fn new() -> Self {
            Self {
                state: PrepState::default(),
                next: 1,
            }
        }

        fn asks(&mut self, ask: Ask, at: i64) -> Result<(), Refusal> {
            let what = self.state.ask(&key(), ask, Timestamp(at))?;
            self.writes(what, at);
            Ok(())
        }

        fn writes(&mut self, what: Happening, at: i64) {
            let entry = Entry {
                id: EntryId(self.next),
                event: "e".into(),
                at: Timestamp(at),
                written: Timestamp(at),
                who: String::new(),
                place: String::new(),
                what,
            };
            self.next += 1;
            self.state.apply(&entry);
        }

        fn progress(&self) -> Progress {
            self.state.progress(&key())
        }
    }

    #[test]
    fn a_step_is_started_and_done_and_each_can_be_taken_back() {
        let mut cook = Cook::new();
        cook.asks(Ask::Start, 100).expect("starts");
        cook.asks(Ask::Finish, 200).expect("ends");
        assert_eq!(
            cook.progress(),
            Progress::Finished {
                started: Some(Timestamp(100)),
                at: Timestamp(200)
            }
        );
        cook.asks(Ask::Undo, 210).expect("undoes the end");
        assert_eq!(
            cook.progress(),
            Progress::Running {
                since: Timestamp(100)
            }
        );
        cook.asks(Ask::Undo, 220).expect("undoes the start");
        assert_eq!(cook.progress(), Progress::Waiting);
        assert!(cook.asks(Ask::Undo, 230).is_err());
        assert_eq!(cook.state.ticked().count(), 0);
    }

    #[test]
    fn an_undo_can_be_undone() {
        let mut cook = Cook::new();
        cook.asks(Ask::Start, 100).expect("starts");
        cook.asks(Ask::Undo, 110).expect("undoes");
        cook.writes(Happening::Undone { entry: EntryId(2) }, 120);
        assert_eq!(
            cook.progress(),
            Progress::Running {
                since: Timestamp(100)
            }
        );
    }

    #[test]
    fn what_is_gone_is_what_looking_at_every_undo_says() {
        let mut cook = Cook::new();
        let mut drawn = 7_i64;
        for at in 1..400 {
            drawn = (drawn * 1_103 + 12_345) % 65_536;
            if drawn % 3 == 0 {
                cook.writes(
                    Happening::Started {
                        step: key().to_string(),
                    },
                    at,
                );
            } else {
                // Of anything, itself and what is still to come included.
                cook.writes(
                    Happening::Undone {
                        entry: EntryId(drawn % (at + 3)),
                    },
                    at,
                );
            }
            assert_eq!(cook.state.gone, cook.state.undone(), "after entry {at}");
        }
    }

    #[test]
    fn the_plan_taken_last_is_what_the_cooks_are_told() {
        let date = crate::time::Date::from_ymd_opt(2026, 11, 28).expect("a date");
        let time = crate::time::time_of_day(19, 30).expect("a time");
        let local = crate::time::Local { date, time };
        let service = ServiceTime::new(local, crate::time::Zone::UTC);
        let told = |minute: i32, way: Option<&str>| {
            let told = Told {
                start: crate::time::Minute(minute),
                way: way.map(str::to_owned),
                ovens: vec![("Oven".to_owned(), 2)],
            };
            Announced::from([(key(), told)])
        };
        let mut cook = Cook::new();
        assert_eq!(cook.state.announced(service), None);
        assert_eq!(cook.state.take_back_announcement(), None);
        let (first, second) = (told(-300, None), told(-200, Some("in a falling oven")));
        cook.writes(PrepState::announce(&first, service), 100);
        cook.writes(PrepState::announce(&second, service), 110);
        assert_eq!(cook.state.announced(service), Some(second));
        let back = cook.state.take_back_announcement().expect("one was taken");
        cook.writes(back, 120);
        assert_eq!(cook.state.announced(service), Some(first));
        assert_eq!(
            cook.progress(),
            Progress::Waiting,
            "no step has begun by it"
        );
    }

    #[test]
    fn an_undo_of_something_later_counts_for_nothing() {
        let mut cook = Cook::new();
        cook.writes(Happening::Undone { entry: EntryId(2) }, 1);
        cook.asks(Ask::Start, 100).expect("starts");
        assert_eq!(
            cook.progress(),
            Progress::Running {
                since: Timestamp(100)
            }
        );
    }

    #[test]
    fn nonsense_is_refused_with_a_way_out() {
        let mut cook = Cook::new();
        assert!(cook.asks(Ask::Skip("  ".into()), 1).is_err());
        cook.asks(Ask::Start, 100).expect("starts");
        assert!(cook.asks(Ask::Start, 101).is_err());
        assert!(cook.asks(Ask::Finish, 99).is_err());
        cook.asks(Ask::Skip("burnt".into()), 150).expect("skips");
        let refusal = cook.asks(Ask::Finish, 200).expect_err("was skipped");
        assert_eq!(
            refusal.to_string(),
            "pears/poach was skipped; undo that first"
        );
    }

    #[test]
    fn the_first_of_two_equal_ticks_stands() {
        let mut cook = Cook::new();
        for at in [100, 130] {
            cook.writes(
                Happening::Started {
                    step: key().to_string(),
                },
                at,
            );
        }
        assert_eq!(
            cook.progress(),
            Progress::Running {
                since: Timestamp(100)
            }
        );
    }
}
