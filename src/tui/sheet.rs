//! What is true: the menu, the plan, the prep, the time. Drawing reads it and cannot change it.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::effect::{Effect, Ticket};
use super::theme::Colour;
use super::trial::Trial;
use super::view::{Row, View, day_and_clock};
use super::words;
use super::worker::Situation;
use crate::book::{Entry, Errand, Happening, Note};
use crate::menu::{Dish, Menu};
use crate::plan::{Announced, Better, Chance, Plan, PlanOutcome, StepKey, Verdict, WayOut};
use crate::prep::{
    Ask, Call, ErrandAt, Move, PrepState, Progress, Refusal, Standing, decided, held_against,
    lacking, rule_sets,
};
use crate::safety::timeline::Checked;
use crate::time::{Minute, ServiceTime, Timestamp};

/// What is known when the sheet opens.
#[derive(Clone, Debug)]
pub struct Opening {
    /// The menu.
    pub menu: Menu,
    /// Service and zone.
    pub service: ServiceTime,
    /// The banquet's name in the book.
    pub event: String,
    /// The book's entries about it, oldest first.
    pub entries: Vec<Entry>,
    /// Who ticks.
    pub who: String,
    /// Where.
    pub place: String,
    /// What to say once.
    pub notices: Vec<String>,
    /// Whether colours are used.
    pub colour: Colour,
    /// Reads dish cards, for a dish that is added.
    pub cards: Cards,
    /// Whether it only hangs on a wall: nothing is ticked there.
    pub wall: bool,
}

/// How dish cards are read; the sheet itself knows no file and no notation.
#[derive(Clone, Copy, Debug)]
pub struct Cards {
    /// Returns the text of the file of that name, or why it cannot be read.
    pub fetch: fn(&str) -> Result<String, String>,
    /// Returns the dish that a card's text describes, or what is wrong with it.
    pub read: fn(&str) -> Result<Dish, String>,
}

/// What is true.
#[derive(Debug)]
pub struct Sheet {
    /// The menu, with what was decided since.
    pub menu: Menu,
    /// Service and zone, likewise.
    pub service: ServiceTime,
    /// The menu and its service as the file has them.
    pub written: (Menu, ServiceTime),
    /// The same as [`Sheet::menu`] and [`Sheet::service`], where anything was decided.
    changed: Option<Arc<(Menu, ServiceTime)>>,
    /// Reads dish cards.
    pub cards: Cards,
    /// Whether it only hangs on a wall.
    pub wall: bool,
    /// Every entry of the book about this banquet, oldest first.
    pub entries: Vec<Entry>,
    /// A decision on trial.
    pub trial: Option<Trial>,
    /// Whether colours are used.
    pub colour: Colour,
    /// What to tell the cook of, kept for the whole sitting.
    pub notices: Vec<String>,
    /// What was made for fewer than are served now, a sentence each.
    pub lacks: Vec<String>,
    /// Where the prep stands.
    pub prep: PrepState,
    /// What became of planning; none until the planner has answered once.
    pub outcome: Option<PlanOutcome>,
    /// The time.
    pub now: Timestamp,
    /// Ticks on their way to the book.
    pub writing: Vec<Writing>,
    /// Whether a plan has been asked for that has not come.
    pub planning: bool,
    /// The plan in rows.
    pub view: View,
    /// What calls for attention and has not been answered, the most urgent first.
    pub calls: Vec<Call>,
    /// A better plan, offered.
    pub offer: Option<Offer>,
    /// What would make a plan possible where there is none; none until it has been tried.
    pub ways_out: Option<Vec<WayOut>>,
    /// The plan held against rules for temperatures, by each set; made when its page is opened.
    pub temperatures: Vec<Checked>,
    /// The last minute found at which each running step may end with every course in time, as of the plan they were
    /// last told of: a minute that passes changes little of it, and a warning that comes and goes is none. Empty where
    /// no plan holds.
    pub latest_ends: BTreeMap<StepKey, Minute>,
    /// The chances reckoned last, with the plan they are of.
    reckoned: Option<(u64, Option<Chance>)>,
    event: String,
    who: String,
    place: String,
    generation: u64,
    trials: u64,
    tickets: u64,
}

/// A tick on its way to the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Writing {
    /// Comes back with the answer.
    pub ticket: Ticket,
    /// The step it is about; none where it is about the whole plan.
    pub key: Option<StepKey>,
    /// The errand it is about.
    pub errand: Option<Errand>,
    /// What to say once it is written: "started …".
    pub done: String,
    /// Whether another terminal was first, so that it changed nothing.
    pub second: bool,
}

/// A better plan, as it is offered.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// The plan, and what it gains.
    pub better: Better,
    /// What moves, in the order of the new times.
    pub moves: Vec<Move>,
}

impl Sheet {
    /// Returns the sheet as it opens.
    pub fn new(opening: Opening, now: Timestamp) -> Self {
        let mut sheet = Self {
            prep: PrepState::fold(&opening.entries),
            written: (opening.menu.clone(), opening.service),
            changed: None,
            cards: opening.cards,
            wall: opening.wall,
            entries: opening.entries,
            trial: None,
            menu: opening.menu,
            service: opening.service,
            colour: opening.colour,
            notices: opening.notices,
            lacks: Vec::new(),
            outcome: None,
            now,
            writing: Vec::new(),
            planning: false,
            view: View::default(),
            calls: Vec::new(),
            offer: None,
            ways_out: None,
            temperatures: Vec::new(),
            latest_ends: BTreeMap::new(),
            reckoned: None,
            event: opening.event,
            who: opening.who,
            place: opening.place,
            generation: 0,
            trials: 0,
            tickets: 0,
        };
        sheet.decide();
        sheet
    }

    /// Applies what was decided to the menu as the file has it.
    fn decide(&mut self) {
        let (menu, service) = &self.written;
        let any = self.prep.decisions().next().is_some();
        let decided = decided(menu, *service, self.prep.decisions(), &self.cards.read);
        for why in decided.passed_over {
            let said = format!("a decision no longer fits the menu and is passed over: {why}");
            if !self.notices.contains(&said) {
                self.notices.push(said);
            }
        }
        self.changed = any.then(|| Arc::new((decided.menu.clone(), decided.service)));
        if decided.service != self.service {
            // Its minutes are counted from a service that has moved.
            self.latest_ends.clear();
        }
        (self.menu, self.service) = (decided.menu, decided.service);
        self.lacks = if any {
            self.lacking(&self.menu)
        } else {
            Vec::new()
        };
    }

    /// Returns what was made for fewer than a menu wants.
    pub(super) fn lacking(&self, wanted: &Menu) -> Vec<String> {
        let (menu, service) = &self.written;
        let written = (menu, *service);
        lacking(written, &self.entries, &self.prep, &self.cards.read, wanted)
    }

    /// Returns what the cooks have been told, in minutes from a service.
    pub(super) fn announced_for(&self, service: ServiceTime) -> Option<Announced> {
        self.prep.announced(service)
    }

    pub(super) fn next_generation(&mut self) -> u64 {
        self.trials += 1;
        self.trials
    }

    /// Takes in an entry that stands in the book: one written here, or at another terminal.
    pub(super) fn take_in(&mut self, entry: Entry) {
        self.note(entry);
        self.rebuild();
    }

    fn note(&mut self, entry: Entry) {
        self.prep.apply(&entry);
        let decides = matches!(
            entry.what,
            Happening::Decided { .. } | Happening::Undone { .. }
        );
        self.entries.push(entry);
        if decides {
            // What was planned of another menu is no answer any more.
            self.trial = None;
            self.decide();
        }
        let prep = &self.prep;
        let runs = |key: &StepKey| matches!(prep.progress(key), Progress::Running { .. });
        self.latest_ends.retain(|key, _| runs(key));
    }

    /// Returns now as a minute of the plan.
    pub fn now_minute(&self) -> Minute {
        self.service.minute(self.now)
    }

    /// Returns the times to show, where there are any.
    pub fn times(&self) -> Option<&Plan> {
        self.outcome.as_ref().and_then(PlanOutcome::times)
    }

    /// Returns whether the planner has said that there is no plan at all.
    pub fn has_no_plan(&self) -> bool {
        matches!(self.outcome, Some(PlanOutcome::Impossible(_)))
    }

    /// Returns whether the times are those that would have been needed, because not even a forecast says what can be.
    pub fn shows_needed_only(&self) -> bool {
        matches!(
            self.outcome,
            Some(PlanOutcome::TooLate { forecast: None, .. })
        )
    }

    /// Returns what can still be, where no plan holds and that is known.
    pub fn forecast(&self) -> Option<&Plan> {
        self.outcome.as_ref().and_then(PlanOutcome::forecast)
    }

    /// Returns whether a tick of this step is on its way to the book.
    pub fn is_writing(&self, key: &StepKey) -> bool {
        self.writing
            .iter()
            .any(|writing| writing.key.as_ref() == Some(key))
    }

    /// Returns whether an errand's tick is on its way to the book.
    pub fn is_being_seen_to(&self, errand: &Errand) -> bool {
        let mut writing = self.writing.iter();
        writing.any(|writing| writing.errand.as_ref() == Some(errand))
    }

    /// Returns an errand of the view by what an entry says of it.
    pub fn errand(&self, errand: &Errand) -> Option<&ErrandAt> {
        self.view.errands.iter().find(|it| it.errand == *errand)
    }

    /// Has it written that an errand was seen to at a moment, or, without one, that it was not; or says why that makes no
    /// sense.
    pub(super) fn see_to(
        &mut self,
        errand: &Errand,
        at: Option<Timestamp>,
    ) -> Result<Effect, String> {
        if self.is_being_seen_to(errand) {
            return Err("that is still being written; wait for it".to_owned());
        }
        let Some(known) = self.errand(errand) else {
            return Err("that is not to be seen to any more".to_owned());
        };
        let says = &known.says;
        let (what, done) = match (at, known.seen_to) {
            (Some(_), Some(_)) => return Err(format!("{says}: is seen to already; undo it first")),
            (None, None) => return Err(format!("{says}: has nothing to undo")),
            (Some(at), None) => {
                let clock = day_and_clock(self.service, self.service.minute(at));
                let errand = errand.clone();
                let done = format!("seen to {clock}: {says}");
                (Happening::SeenTo { errand }, done)
            }
            // Where two terminals said so, the other still does.
            (None, Some((entry, _))) if self.prep.is_said_twice(entry) => (
                Happening::Undone { entry },
                format!("one of two ticks is taken back, the other stands: {says}"),
            ),
            (None, Some((entry, _))) => (
                Happening::Undone { entry },
                format!("not seen to: {says}; R brings it back"),
            ),
        };
        let done = super::widgets::text::clean(&done).into_owned();
        let effect = self.append(what, None, at.unwrap_or(self.now), done);
        if let Some(writing) = self.writing.last_mut() {
            writing.errand = Some(errand.clone());
        }
        Ok(effect)
    }

    /// Returns whether a row's time is one that would have been needed, not one of a plan.
    pub fn is_needed_only(&self, row: &Row) -> bool {
        (self.view.needed_only || row.given_up)
            && matches!(
                row.standing,
                Standing::Due | Standing::Ready | Standing::Waiting
            )
    }

    /// Returns the sentences about why there is no plan that holds, where there is none.
    pub fn reasons(&self) -> Vec<String> {
        match &self.outcome {
            Some(PlanOutcome::TooLate { late, because, .. }) => {
                let mut said = super::words::late_dishes(self);
                let behind = self.outcome.as_ref().and_then(PlanOutcome::only_behind);
                let overtime = self.forecast().map_or_else(Vec::new, Plan::overtime_words);
                if said.is_empty() {
                    said.push(super::words::too_late(self, late, because));
                    // The first of them is said already.
                    let rest = if behind.is_some() && !overtime.is_empty() {
                        [&overtime[1..], because.as_slice()].concat()
                    } else {
                        because.iter().skip(1).cloned().collect()
                    };
                    said.extend(rest);
                } else {
                    said.extend(because.iter().cloned().chain(overtime));
                }
                said
            }
            Some(PlanOutcome::Impossible(because)) => because.clone(),
            Some(PlanOutcome::Planned(_)) | None => Vec::new(),
        }
    }

    /// Returns the chances of the plan shown; none before they have been reckoned, and where there are none.
    pub fn chance(&self) -> Option<&Chance> {
        let (generation, chance) = self.reckoned.as_ref()?;
        let planned = matches!(self.outcome, Some(PlanOutcome::Planned(_)));
        chance
            .as_ref()
            .filter(|_| planned && *generation == self.generation)
    }

    /// Returns whether the menu leaves anything to chance, as far as that has been reckoned once.
    pub fn tells_chance(&self) -> bool {
        matches!(self.reckoned, Some((_, Some(_))))
    }

    /// Returns whether chances are still being reckoned.
    pub fn reckons(&self) -> bool {
        self.reckoned
            .as_ref()
            .is_none_or(|(generation, _)| *generation != self.generation)
    }

    /// Returns how good the plan shown is; none where none is shown.
    pub fn verdict(&self) -> Option<Verdict> {
        match &self.outcome {
            Some(PlanOutcome::Planned(plan)) => Some(Verdict::of(&self.menu, plan)),
            _ => None,
        }
    }

    pub(super) fn rebuild(&mut self) {
        self.view = View::of(self);
        self.calls = self.unanswered();
    }

    /// Asks for a plan as of now.
    pub(super) fn replan(&mut self) -> Effect {
        self.generation += 1;
        self.planning = true;
        // It was better than what is no longer asked for.
        self.offer = None;
        Effect::Replan {
            generation: self.generation,
            situation: Situation {
                happened: self.prep.happened(&self.menu, self.service),
                announced: self.prep.announced(self.service),
                shown: self.prep.shown(self.service),
                changed: self.changed.clone(),
                now: self.planned_from(),
            },
        }
    }

    /// Takes in an answer of the planner; returns whether it is the one waited for, or the first of all.
    pub(super) fn planned(&mut self, generation: u64, outcome: PlanOutcome) -> bool {
        let latest = generation == self.generation;
        if latest {
            self.planning = false;
        }
        if !latest && self.outcome.is_some() {
            return false;
        }
        // Of one that cannot be done, what was tried a minute ago stands until it has been tried anew.
        if matches!(outcome, PlanOutcome::Planned(_)) {
            self.ways_out = None;
        } else if outcome.only_behind().is_none() {
            self.latest_ends.clear();
        }
        self.outcome = Some(outcome);
        self.rebuild();
        true
    }

    /// Holds the plan against the rules for temperatures: those of the menu, else the three that differ most.
    pub(super) fn hold_temperatures(&mut self) {
        let sets = rule_sets(&self.menu);
        self.temperatures = held_against(&self.menu, self.service, self.outcome.as_ref(), &sets);
    }

    /// Takes in how long what runs may still run; returns whether it is about the plan asked for last.
    pub(super) fn told_latest_ends(
        &mut self,
        generation: u64,
        ends: BTreeMap<StepKey, Minute>,
    ) -> bool {
        let wanted = generation == self.generation;
        if wanted {
            self.latest_ends = ends;
        }
        wanted
    }

    /// Takes in the chances of a plan; returns whether it is the one asked for last.
    pub(super) fn reckoned(&mut self, generation: u64, chance: Option<Chance>) -> bool {
        let latest = generation == self.generation;
        if latest {
            self.reckoned = Some((generation, chance));
        }
        latest
    }

    /// Takes in what would make a plan possible; returns whether it is about the one asked for last.
    pub(super) fn tried(&mut self, generation: u64, ways: Vec<WayOut>) -> bool {
        let wanted = generation == self.generation
            && !matches!(self.outcome, None | Some(PlanOutcome::Planned(_)));
        if wanted {
            self.ways_out = Some(ways);
        }
        wanted
    }

    /// Takes in a better plan; returns whether it is better than the one asked for last.
    pub(super) fn offered(&mut self, generation: u64, better: Better) -> bool {
        let Some(PlanOutcome::Planned(plan)) = &self.outcome else {
            return false;
        };
        if generation != self.generation {
            return false;
        }
        let moves = self.moves(plan, &better.plan);
        if moves.is_empty() {
            return false;
        }
        self.offer = Some(Offer { better, moves });
        true
    }

    /// Returns what moves from one plan to another.
    fn moves(&self, shown: &Plan, offered: &Plan) -> Vec<Move> {
        let order = offered.order.iter();
        let moves = order.filter_map(|&index| {
            let (was, is) = (shown.steps.get(index)?, offered.steps.get(index)?);
            let same = was.window.start == is.window.start && was.way == is.way;
            if same || was.key != is.key {
                return None;
            }
            let dish = self.menu.dishes.get(is.dish);
            let own = || "as the card says".to_owned();
            let way = || is.way.as_ref().map_or_else(own, |way| way.name.clone());
            Some(Move {
                name: format!(
                    "{} – {}",
                    dish.map_or("", |dish| dish.name.as_str()),
                    is.name
                ),
                from: was.window.start,
                to: is.window.start,
                way: (was.way != is.way).then(way),
            })
        });
        moves.collect()
    }

    /// Has the better plan announced, or says why that makes no sense.
    pub(super) fn take_offer(&mut self) -> Result<Effect, String> {
        let Some(offer) = &self.offer else {
            return Err("no better plan is ready".to_owned());
        };
        if self.writing.iter().any(|writing| writing.key.is_none()) {
            return Err("the plan is still being written; wait for it".to_owned());
        }
        let now = self.now_minute();
        let mut to_come = offer.better.plan.steps.iter();
        if to_come.any(|step| step.happened.is_none() && step.window.start < now) {
            return Err("that plan would have begun by now; another is looked for".to_owned());
        }
        let what = PrepState::announce(&offer.better.plan.announced(), self.service);
        let said = match offer.moves.len() {
            1 => "1 step moves".to_owned(),
            many => format!("{many} steps move"),
        };
        let done = format!("the better plan is announced, {said}; b and then u takes it back");
        Ok(self.append(what, None, self.now, done))
    }

    /// Has the times shown announced, so that no step counts as moved any more; or says why that makes no sense.
    pub(super) fn seen(&mut self) -> Result<Effect, String> {
        if self.writing.iter().any(|writing| writing.key.is_none()) {
            return Err("the plan is still being written; wait for it".to_owned());
        }
        let plan = self.times().filter(|_| self.view.moved > 0);
        let Some(plan) = plan else {
            return Err("no step has moved since its time was told".to_owned());
        };
        let what = PrepState::announce(&plan.announced(), self.service);
        let said = match self.view.moved {
            1 => "1 step has".to_owned(),
            many => format!("{many} steps have"),
        };
        let done = format!("seen: {said} a new time; b and then u takes it back");
        Ok(self.append(what, None, self.now, done))
    }

    /// Has the plan taken last taken back, or says why that makes no sense.
    pub(super) fn take_back_plan(&mut self) -> Result<Effect, String> {
        let Some(what) = self.prep.take_back_announcement() else {
            return Err("no plan was taken that could be taken back".to_owned());
        };
        let done = "the plan taken last is taken back".to_owned();
        Ok(self.append(what, None, self.now, done))
    }

    /// Takes in the time; returns whether the minute is another.
    pub(super) fn time(&mut self, now: Timestamp) -> bool {
        let before = self.now_minute();
        self.now = now;
        let changed = self.now_minute() != before;
        if changed {
            self.rebuild();
        }
        changed
    }

    /// Has a tick written, or says why it makes no sense.
    pub(super) fn ask(
        &mut self,
        key: &StepKey,
        ask: Ask,
        at: Timestamp,
    ) -> Result<Effect, Refusal> {
        if self.is_writing(key) {
            return Err(Refusal(
                "the last tick of this step is still being written; wait for it".to_owned(),
            ));
        }
        let what = self.prep.ask(key, ask, at)?;
        let done = words::ticked(self, &what, key, at);
        Ok(self.append(what, Some(key.clone()), at, done))
    }

    pub(super) fn append(
        &mut self,
        what: Happening,
        key: Option<StepKey>,
        at: Timestamp,
        done: String,
    ) -> Effect {
        self.tickets += 1;
        let ticket = Ticket(self.tickets);
        self.writing.push(Writing {
            ticket,
            key,
            errand: None,
            done,
            second: false,
        });
        let note = self.note_of(what, at);
        Effect::Append { ticket, note }
    }

    fn note_of(&self, what: Happening, at: Timestamp) -> Note {
        Note {
            event: self.event.clone(),
            at,
            written: self.now,
            who: self.who.clone(),
            place: self.place.clone(),
            what,
        }
    }

    /// Returns what is to be written where the answer shows steps at times that had to be looked for.
    pub(super) fn remark(&self) -> Option<Effect> {
        if self.wall || self.planning || !self.writing.is_empty() {
            return None;
        }
        let what = self
            .prep
            .moved_by(self.outcome.as_ref()?, self.service, self.now)?;
        Some(Effect::Remark {
            note: self.note_of(what, self.now),
            last: self.prep.last(),
        })
    }

    /// Takes in an answer of the book; returns what was waited for. Only an entry that stands in the book
    /// changes the prep.
    pub(super) fn recorded(
        &mut self,
        ticket: Ticket,
        result: Result<Entry, String>,
    ) -> Option<Result<Writing, String>> {
        let place = self
            .writing
            .iter()
            .position(|writing| writing.ticket == ticket)?;
        let mut writing = self.writing.remove(place);
        Some(result.map(|entry| {
            writing.second = !self.prep.is_moved_by(&entry);
            self.take_in(entry);
            writing
        }))
    }

    /// Takes in what other terminals have written.
    pub(super) fn told(&mut self, entries: &[Entry]) {
        for entry in entries {
            self.note(entry.clone());
        }
        self.rebuild();
    }
}
