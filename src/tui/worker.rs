//! The threads beside the screen: one plans, one writes the book and watches it. Keys wait for neither.
//!
//! Once it has planned, the planner's thread goes on for as long as nothing else is asked of it: it finds out
//! how long what runs may still run, reckons the chances of what it answered, then looks for a better plan, a bounded number of rounds each longer than the one
//! before; where it answered that there is none, it tries what would make one possible. What lies on the desk ends either at once, and nothing of it is told.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::{self, RecvTimeoutError, Sender};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::{Builder, JoinHandle};
use std::time::Duration;

use super::effect::{Pen, Ticket};
use super::event::Event;
use crate::book::{EntryId, Note};
use crate::menu::Menu;
use crate::plan::{Announced, Better, Chance, Happened, Plan, PlanOutcome, StepKey, WayOut};
use crate::time::{Minute, ServiceTime};

/// Where the prep stands when a plan is asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Situation {
    /// What has happened.
    pub happened: Happened,
    /// What the cooks have been told, where a plan was taken.
    pub announced: Option<Announced>,
    /// What they have been shown since of steps that could not be kept there.
    pub shown: Announced,
    /// The menu and its service, where something about them was decided since the file was written.
    pub changed: Option<Arc<(Menu, ServiceTime)>>,
    /// What time it is.
    pub now: Minute,
}

/// Plans what is left, given where the prep stands.
pub trait Planner: Send {
    /// Returns the plan, or why there is none.
    fn plan(&mut self, situation: &Situation) -> PlanOutcome;

    /// Returns the last minute found at which each running step of what it gave for this situation may end with every
    /// course in time; what it has by then where `stop` says that something else is asked.
    fn latest_ends(
        &mut self,
        _: &Situation,
        _: &PlanOutcome,
        _: &(dyn Fn() -> bool + Sync),
    ) -> BTreeMap<StepKey, Minute> {
        BTreeMap::new()
    }

    /// Returns the chances of a plan it gave for this situation; none where there are none to give, or where
    /// `stop` has said that nobody waits for them any more.
    fn chance(&mut self, _: &Situation, _: &Plan, _: &(dyn Fn() -> bool + Sync)) -> Option<Chance> {
        None
    }

    /// Tries what would make a plan possible for this situation where it said that there is none, until `stop` says
    /// that something else is asked.
    fn ways_out(
        &mut self,
        _: &Situation,
        _: &PlanOutcome,
        _: &(dyn Fn() -> bool + Sync),
    ) -> Vec<WayOut> {
        Vec::new()
    }

    /// Looks for a better plan for this situation, in each `round` from 0 on longer than in the one before, until
    /// `stop` says that something else is asked; the same round finds the same plan.
    fn better(&mut self, _: &Situation, _: u32, _: &(dyn Fn() -> bool + Sync)) -> Option<Better> {
        None
    }
}

/// Rounds in which a better plan is looked for.
const ROUNDS: u32 = 4;

/// A plan asked for.
pub(super) struct Request {
    pub(super) generation: u64,
    pub(super) situation: Situation,
    /// Whether it is only asked what would become of it.
    pub(super) trial: bool,
}

/// The place where the next request lies. A newer request takes the place of an older one that has not been
/// begun: nobody wants the plan of a moment that has passed.
#[derive(Default)]
struct Desk {
    next: Mutex<Laid>,
    laid: Condvar,
}

/// What lies on the desk: the plan asked for last, and the trial asked for last. Neither takes the other's place.
#[derive(Default)]
struct Laid {
    plan: Option<Request>,
    trial: Option<Request>,
}

impl Desk {
    fn lay(&self, request: Request) {
        let mut next = self.next.lock().unwrap_or_else(PoisonError::into_inner);
        if request.trial {
            next.trial = Some(request);
        } else {
            next.plan = Some(request);
        }
        self.laid.notify_one();
    }

    fn is_empty(&self) -> bool {
        let next = self.next.lock().unwrap_or_else(PoisonError::into_inner);
        next.plan.is_none() && next.trial.is_none()
    }

    fn take(&self) -> Request {
        let mut next = self.next.lock().unwrap_or_else(PoisonError::into_inner);
        loop {
            if let Some(request) = next.plan.take() {
                return request;
            }
            if let Some(request) = next.trial.take() {
                return request;
            }
            next = self.laid.wait(next).unwrap_or_else(PoisonError::into_inner);
        }
    }
}

/// The planner's thread. It is never joined: a plan under way when the program ends is of no use.
pub(super) struct PlannerWorker {
    desk: Arc<Desk>,
}

impl PlannerWorker {
    pub(super) fn start(
        mut planner: Box<dyn Planner>,
        events: Sender<Event>,
    ) -> std::io::Result<Self> {
        let desk = Arc::new(Desk::default());
        let theirs = Arc::clone(&desk);
        Builder::new().name("planner".to_owned()).spawn(move || {
            loop {
                let request = theirs.take();
                let mut answers = Answers {
                    desk: &theirs,
                    events: &events,
                    is_heard: true,
                };
                let worked = catch_unwind(AssertUnwindSafe(|| {
                    answers.give(planner.as_mut(), &request);
                }));
                if worked.is_err() {
                    answers.tell(Event::Broken("the planner has failed".to_owned()));
                    return;
                }
                if !answers.is_heard {
                    return;
                }
            }
        })?;
        Ok(Self { desk })
    }

    pub(super) fn plan(&self, request: Request) {
        self.desk.lay(request);
    }
}

/// What the planner's thread says to one request.
struct Answers<'a> {
    desk: &'a Desk,
    events: &'a Sender<Event>,
    is_heard: bool,
}

impl Answers<'_> {
    fn tell(&mut self, event: Event) {
        self.is_heard &= self.events.send(event).is_ok();
    }

    /// Plans, and then goes on for as long as nothing else lies on the desk.
    fn give(&mut self, planner: &mut dyn Planner, request: &Request) {
        let (generation, situation) = (request.generation, &request.situation);
        let outcome = planner.plan(situation);
        if request.trial {
            self.tell(Event::TriedDecision {
                generation,
                outcome,
            });
            return;
        }
        self.tell(Event::Planned {
            generation,
            outcome: outcome.clone(),
        });
        let desk = self.desk;
        let stop = move || !desk.is_empty();
        let ends = planner.latest_ends(situation, &outcome, &stop);
        if stop() {
            return;
        }
        self.tell(Event::LatestEnds { generation, ends });
        let PlanOutcome::Planned(plan) = outcome else {
            let ways = planner.ways_out(situation, &outcome, &stop);
            if !stop() {
                self.tell(Event::WaysOut { generation, ways });
            }
            return;
        };
        let chance = planner.chance(situation, &plan, &stop);
        if stop() {
            return;
        }
        self.tell(Event::Reckoned { generation, chance });
        for round in 0..ROUNDS {
            let better = planner.better(situation, round, &stop);
            if stop() || !self.is_heard {
                return;
            }
            if let Some(better) = better {
                self.tell(Event::Better { generation, better });
            }
        }
    }
}

/// How often the book is looked at for what other terminals have written; at most a second may pass until it is seen.
const WATCH: Duration = Duration::from_millis(250);

/// What the book's thread is to write.
enum ToWrite {
    /// An entry of the cook's, who waits for it.
    Entry(Ticket, Note),
    /// What the sheet has found out, after an entry.
    Remark(Note, Option<EntryId>),
}

/// The book's thread: entries are written in the order they were asked for, every one of them, and what other
/// terminals write is told in the order of the book. So of what they wrote before an entry of ours the sheet hears
/// before it.
pub(super) struct BookWorker {
    notes: Sender<ToWrite>,
    thread: JoinHandle<()>,
}

impl BookWorker {
    pub(super) fn start(mut pen: Box<dyn Pen>, events: Sender<Event>) -> std::io::Result<Self> {
        let (notes, waiting) = mpsc::channel::<ToWrite>();
        let thread = Builder::new().name("book".to_owned()).spawn(move || {
            loop {
                let told = match waiting.recv_timeout(WATCH) {
                    Ok(ToWrite::Entry(ticket, note)) => written(pen.as_mut(), ticket, &note),
                    Ok(ToWrite::Remark(note, last)) => {
                        remarked(pen.as_mut(), &note, last).into_iter().collect()
                    }
                    Err(RecvTimeoutError::Timeout) => watched(pen.as_mut()).into_iter().collect(),
                    Err(RecvTimeoutError::Disconnected) => return,
                };
                for event in told {
                    let failed = matches!(event, Event::Broken(_));
                    if events.send(event).is_err() || failed {
                        return;
                    }
                }
            }
        })?;
        Ok(Self { notes, thread })
    }

    pub(super) fn write(&self, ticket: Ticket, note: Note) {
        // A thread that has ended has said so with `Broken`, which ends the program.
        let _ = self.notes.send(ToWrite::Entry(ticket, note));
    }

    pub(super) fn remark(&self, note: Note, last: Option<EntryId>) {
        let _ = self.notes.send(ToWrite::Remark(note, last));
    }

    pub(super) fn finish(self) {
        drop(self.notes);
        let _ = self.thread.join();
    }
}

/// Has a note written; returns what to tell of it, what others wrote before it first.
fn written(pen: &mut dyn Pen, ticket: Ticket, note: &Note) -> Vec<Event> {
    let worked = catch_unwind(AssertUnwindSafe(|| {
        let result = pen.write(note);
        let news = match &result {
            Ok(_) => pen.news(),
            Err(_) => Ok(Vec::new()),
        };
        (result, news)
    }));
    let Ok((result, news)) = worked else {
        return vec![Event::Broken("the book has failed".to_owned())];
    };
    let own = result.as_ref().ok().map(|entry| entry.id);
    let mut told = Vec::new();
    let mut later = Vec::new();
    match news {
        Ok(news) => {
            let (before, after) = news
                .into_iter()
                .filter(|entry| Some(entry.id) != own)
                .partition::<Vec<_>, _>(|entry| Some(entry.id) < own);
            if !before.is_empty() {
                told.push(Event::News(Ok(before)));
            }
            if !after.is_empty() {
                later.push(Event::News(Ok(after)));
            }
        }
        Err(why) => later.push(Event::News(Err(why))),
    }
    told.push(Event::Recorded { ticket, result });
    told.extend(later);
    told
}

/// Has a remark written, and looks what has been written since, which may be that.
fn remarked(pen: &mut dyn Pen, note: &Note, last: Option<EntryId>) -> Option<Event> {
    match catch_unwind(AssertUnwindSafe(|| pen.remark(note, last))) {
        Ok(()) => watched(pen),
        Err(_) => Some(Event::Broken("the book has failed".to_owned())),
    }
}

/// Looks what others have written.
fn watched(pen: &mut dyn Pen) -> Option<Event> {
    match catch_unwind(AssertUnwindSafe(|| pen.news())) {
        Ok(Ok(entries)) if entries.is_empty() => None,
        Ok(news) => Some(Event::News(news)),
        Err(_) => Some(Event::Broken("the book has failed".to_owned())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Slow {
        begun: Sender<()>,
        go: mpsc::Receiver<()>,
    }

    impl Planner for Slow {
        fn plan(&mut self, _: &Situation) -> PlanOutcome {
            let _ = self.begun.send(());
            let _ = self.go.recv_timeout(Duration::from_secs(30));
            PlanOutcome::Impossible(Vec::new())
        }
    }

    /// Plans at once, then says in which round it looks for a better plan, and waits to be let go on.
    struct Diligent {
        rounds: Sender<u32>,
        go: mpsc::Receiver<()>,
    }

    impl Planner for Diligent {
        fn plan(&mut self, _: &Situation) -> PlanOutcome {
            PlanOutcome::Planned(plan())
        }

        fn better(
            &mut self,
            _: &Situation,
            round: u32,
            stop: &(dyn Fn() -> bool + Sync),
        ) -> Option<Better> {
            let _ = self.rounds.send(round);
            let _ = self.go.recv_timeout(Duration::from_secs(30));
            (!stop()).then(|| Better {
                plan: plan(),
                gains: vec![format!("round {round}")],
                moved: 1,
            })
        }
    }

    fn plan() -> Plan {
        use crate::time::{Date, Local, ServiceTime, Window, Zone, time_of_day};
        let date = Date::from_ymd_opt(2026, 11, 28).expect("a date");
        let time = time_of_day(19, 30).expect("a time");
        Plan {
            service: ServiceTime::new(Local { date, time }, Zone::UTC),
            steps: Vec::new(),
            order: Vec::new(),
            dishes: Vec::new(),
            courses: Vec::new(),
            openings: Vec::new(),
            nights: Vec::new(),
            shifts: Vec::new(),
            span: Window::new(Minute(-60), Minute(0)),
            overtime: Vec::new(),
            quality: crate::plan::Quality::default(),
            breaks: false,
            anew: false,
        }
    }

    #[test]
    fn a_better_plan_is_looked_for_until_something_else_is_asked() {
        let (events, woken) = mpsc::channel();
        let (rounds, looked) = mpsc::channel();
        let (go, may_go) = mpsc::channel();
        let diligent = Diligent { rounds, go: may_go };
        let worker = PlannerWorker::start(Box::new(diligent), events).expect("a thread");
        let request = |generation| Request {
            generation,
            situation: Situation::default(),
            trial: false,
        };
        worker.plan(request(1));
        assert_eq!(looked.recv(), Ok(0));
        go.send(()).expect("the planner waits");
        assert_eq!(looked.recv(), Ok(1));
        // What comes of the second round is not told any more.
        worker.plan(request(2));
        go.send(()).expect("the planner waits");
        for round in 0..ROUNDS {
            assert_eq!(looked.recv(), Ok(round));
            go.send(()).expect("the planner waits");
        }
        drop(worker);
        let told: Vec<String> = woken
            .iter()
            .take(6 + 1 + ROUNDS as usize)
            .map(|event| match event {
                Event::Planned { generation, .. } => format!("{generation} planned"),
                Event::LatestEnds { generation, .. } => format!("{generation} latest ends"),
                Event::Reckoned { generation, .. } => format!("{generation} reckoned"),
                Event::Better { generation, better } => format!("{generation} {}", better.gains[0]),
                other => format!("{other:?}"),
            })
            .collect();
        assert_eq!(
            told,
            [
                "1 planned",
                "1 latest ends",
                "1 reckoned",
                "1 round 0",
                "2 planned",
                "2 latest ends",
                "2 reckoned",
                "2 round 0",
                "2 round 1",
                "2 round 2",
                "2 round 3"
            ]
        );
        assert!(looked.try_recv().is_err(), "the rounds are bounded");
    }

    #[test]
    fn a_newer_request_takes_the_place_of_one_not_begun() {
        let (events, woken) = mpsc::channel();
        let (begun, has_begun) = mpsc::channel();
        let (go, may_go) = mpsc::channel();
        let worker =
            PlannerWorker::start(Box::new(Slow { begun, go: may_go }), events).expect("a thread");
        let request = |generation| Request {
            generation,
            situation: Situation::default(),
            trial: false,
        };
        worker.plan(request(1));
        has_begun.recv().expect("the first begins");
        for generation in 2..=5 {
            worker.plan(request(generation));
        }
        go.send(()).expect("planner waits");
        has_begun.recv().expect("the last begins");
        go.send(()).expect("planner waits");
        let answered: Vec<u64> = woken
            .iter()
            .take(2)
            .map(|event| match event {
                Event::Planned { generation, .. } => generation,
                _ => 0,
            })
            .collect();
        assert_eq!(answered, [1, 5]);
    }

    struct Dropped;

    impl Pen for Dropped {
        fn write(&mut self, _: &Note) -> Result<crate::book::Entry, String> {
            std::panic::resume_unwind(Box::new("broken"))
        }
    }

    #[test]
    fn a_book_that_fails_outright_is_reported() {
        let (events, woken) = mpsc::channel();
        let worker = BookWorker::start(Box::new(Dropped), events).expect("a thread");
        let moment = crate::time::Timestamp(0);
        worker.write(
            Ticket(1),
            Note {
                event: String::new(),
                at: moment,
                written: moment,
                who: String::new(),
                place: String::new(),
                what: crate::book::Happening::Started {
                    step: "a/b".to_owned(),
                },
            },
        );
        worker.finish();
        assert!(matches!(woken.recv(), Ok(Event::Broken(_))));
    }
}
