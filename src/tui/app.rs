//! The sheet as a machine: an event in, effects out. It reads no clock, writes no file and waits for nothing.
//!
//! A tick becomes [`Effect::Append`]; only when the book answers that the entry is on disk does it change what
//! is shown. What keys that tick do stands in `ticking`, what the mouse and the typed line do in `mouse` and `prompt`, how
//! the selection and the timeline move in `moving`, the search in `searching`.

use super::action::{Action, action_of};
use super::attention::Rung;
use super::effect::Effect;
use super::event::{Event, Signal};
use super::sheet::{Opening, Sheet};
use super::theme::Tone;
use super::ui::{Focus, MustShow, Open, Prompt, Ui, Wanted};
use super::{choices, filters, words};
use crate::book::{EntryId, Errand};
use crate::plan::{PlanOutcome, StepKey};
use crate::prep::ErrandAt;
use crate::time::Timestamp;

/// A step and an errand that were selected.
type Kept = (Option<StepKey>, Option<Errand>);

/// The sheet: what is true, and what the cook looks at.
#[derive(Debug)]
pub struct App {
    /// What is true.
    pub sheet: Sheet,
    /// What the cook looks at.
    pub ui: Ui,
    /// Why the program must end, where something it cannot do without has failed.
    pub broken: Option<String>,
    /// Ticks that the book refused and the cook has been told of only on a screen about to close.
    pub unwritten: Option<String>,
    pub(super) rung: Rung,
    changed: bool,
    disturbed: bool,
    ending: bool,
}

impl App {
    /// Returns the sheet as it opens, and what it wants done first.
    pub fn new(opening: Opening, now: Timestamp) -> (Self, Vec<Effect>) {
        let mut sheet = Sheet::new(opening, now);
        let ui = Ui {
            notices: !sheet.notices.is_empty(),
            // On a wall, what can be read from afar.
            open: sheet.wall.then_some(Open::Now),
            must_show: MustShow {
                selected: true,
                now: true,
            },
            ..Ui::default()
        };
        let effects = vec![sheet.replan()];
        let mut app = Self {
            sheet,
            ui,
            broken: None,
            unwritten: None,
            rung: Rung::default(),
            changed: true,
            disturbed: false,
            ending: false,
        };
        app.tell_times_to_come();
        (app, effects)
    }

    /// Returns whether anything has changed since this was last asked.
    pub fn take_changed(&mut self) -> bool {
        std::mem::take(&mut self.changed)
    }

    /// Returns whether what stands on the terminal may not be what was drawn last, since this was last asked.
    pub fn take_disturbed(&mut self) -> bool {
        std::mem::take(&mut self.disturbed)
    }

    /// Takes in an event; returns what it wants done.
    pub fn update(&mut self, event: Event) -> Vec<Effect> {
        let mut effects = self.taken_in(event);
        effects.extend(self.attend());
        effects
    }

    fn taken_in(&mut self, event: Event) -> Vec<Effect> {
        match event {
            Event::Time(now) => return self.time(now),
            Event::TurnPage => return self.turn_page(),
            Event::Mouse(mouse) => return self.mouse(mouse),
            _ => {}
        }
        self.changed = true;
        match event {
            Event::Key(key) if key.is_release() => Vec::new(),
            Event::Key(key) if self.ui.too_small => match action_of(key) {
                Some(Action::Quit) => vec![Effect::Quit],
                _ => Vec::new(),
            },
            Event::Key(key) if self.ui.prompt.is_some() => self.typed(key),
            Event::Key(key) => action_of(key).map_or_else(Vec::new, |action| self.act(action)),
            Event::Paste(text) => {
                self.pasted(&text);
                Vec::new()
            }
            Event::Planned {
                generation,
                outcome,
            } => {
                self.planned(generation, outcome);
                self.sheet.remark().into_iter().collect()
            }
            Event::LatestEnds { generation, ends } => {
                self.sheet.told_latest_ends(generation, ends);
                Vec::new()
            }
            Event::Reckoned { generation, chance } => {
                self.sheet.reckoned(generation, chance);
                Vec::new()
            }
            Event::Better { generation, better } => {
                self.sheet.offered(generation, better);
                Vec::new()
            }
            Event::WaysOut { generation, ways } => {
                self.sheet.tried(generation, ways);
                Vec::new()
            }
            Event::TriedDecision {
                generation,
                outcome,
            } => {
                self.sheet.tried_decision(generation, outcome);
                Vec::new()
            }
            Event::Fetched { card, result } => self.fetched(card, result),
            Event::Recorded { ticket, result } => self.recorded(ticket, result),
            Event::AlertFailed(why) => {
                self.alert_failed(&why);
                Vec::new()
            }
            Event::Clock(noticed) => {
                self.noticed(noticed);
                vec![self.sheet.replan()]
            }
            Event::News(news) => self.news(news),
            Event::Signal(Signal::End) => vec![Effect::Quit],
            Event::Signal(Signal::StandAside) => vec![Effect::StandAside],
            Event::Broken(what) => {
                self.broken = Some(what);
                vec![Effect::Quit]
            }
            Event::Resized => {
                // A terminal that has been made small and large again has forgotten part of what it showed,
                // though it has the size it had.
                self.disturbed = true;
                self.ui.must_show.selected = true;
                Vec::new()
            }
            Event::Time(_) | Event::TurnPage | Event::Mouse(_) => Vec::new(),
        }
    }

    /// Notes that something is to be drawn anew.
    pub(super) fn touch(&mut self) {
        self.changed = true;
    }

    /// Says that the screen will not be drawn again, so that a late refusal of the book must be told otherwise.
    pub(super) fn ending(&mut self) {
        self.ending = true;
    }

    fn time(&mut self, now: Timestamp) -> Vec<Effect> {
        let kept = self.kept();
        if !self.sheet.time(now) {
            return Vec::new();
        }
        self.changed = true;
        self.reselect(&kept);
        let stale = self.sheet.view.depends_on_now(self.sheet.now_minute());
        if stale && !self.sheet.planning {
            return vec![self.sheet.replan()];
        }
        Vec::new()
    }

    fn planned(&mut self, generation: u64, outcome: PlanOutcome) {
        let kept = self.kept();
        let first = self.sheet.outcome.is_none();
        if self.sheet.planned(generation, outcome) {
            self.reselect(&kept);
            if self.ui.open == Some(Open::Temperatures) {
                self.sheet.hold_temperatures();
            }
            if first {
                self.tell_clock_changes();
                self.ui.must_show.selected = true;
                self.ui.must_show.now = true;
            }
        }
    }

    fn recorded(
        &mut self,
        ticket: super::effect::Ticket,
        result: Result<crate::book::Entry, String>,
    ) -> Vec<Effect> {
        let (kept, entry) = (self.kept(), self.chosen_entry());
        match self.sheet.recorded(ticket, result) {
            None => Vec::new(),
            Some(Err(why)) => {
                let why = format!("not written into the book, nothing was ticked: {why}");
                if self.ending {
                    self.unwritten = Some(why.clone());
                }
                self.ui.say_for_good(Tone::Alarm, why);
                Vec::new()
            }
            Some(Ok(writing)) => {
                if writing.second {
                    self.ui
                        .say_for_good(Tone::Alarm, words::second(&self.sheet, &writing));
                } else {
                    self.say_done(&writing);
                }
                self.reselect(&kept);
                self.stay_at(entry);
                vec![self.sheet.replan()]
            }
        }
    }

    fn news(&mut self, news: Result<Vec<crate::book::Entry>, String>) -> Vec<Effect> {
        let (kept, entry) = (self.kept(), self.chosen_entry());
        match news {
            Ok(entries) => {
                self.sheet.told(&entries);
                self.stay_at(entry);
                if self.ui.open == Some(Open::Trial) && self.sheet.trial.is_none() {
                    self.ui.open = None;
                    self.ui.say_for_good(
                        Tone::Alarm,
                        "something else was decided meanwhile, so what you looked at no longer holds; look again",
                    );
                }
                let stays = self.ui.message.as_ref().is_some_and(|said| said.stays);
                if !stays && let Some(said) = words::told(&self.sheet, &entries) {
                    self.ui.say(Tone::Plain, said);
                }
                self.reselect(&kept);
                vec![self.sheet.replan()]
            }
            Err(why) => {
                self.ui.say_for_good(
                    Tone::Alarm,
                    format!("nothing can be ticked any more: {why}"),
                );
                Vec::new()
            }
        }
    }

    /// Keeps an entry selected on the page of the book when others have come before it: what is taken back must be the
    /// one the cook looks at.
    fn stay_at(&mut self, entry: Option<EntryId>) {
        if let Some(line) = entry.and_then(|id| choices::line_of(&self.sheet, id)) {
            self.ui.choice_at = line;
        }
    }

    /// Returns the key of the selected step.
    pub fn selected_key(&self) -> Option<StepKey> {
        self.ui
            .selected
            .and_then(|row| self.sheet.view.rows.get(row))
            .map(|row| row.key.clone())
    }

    /// Returns the selected errand, where one is.
    pub fn selected_errand(&self) -> Option<&ErrandAt> {
        self.sheet.view.errands.get(self.ui.errand?)
    }

    /// Returns what is selected, by what it is known by whatever becomes of the view.
    fn kept(&self) -> Kept {
        let errand = self.selected_errand();
        (self.selected_key(), errand.map(|it| it.errand.clone()))
    }

    /// Finds what was selected again in a view made anew.
    fn reselect(&mut self, (key, errand): &Kept) {
        let view = &self.sheet.view;
        self.ui.selected = key.as_ref().and_then(|key| view.find(key));
        // Another plan may want part of an order on another day: what of it was seen last is still what is meant.
        let find = |is: &dyn Fn(&ErrandAt) -> bool| view.errands.iter().position(is);
        self.ui.errand = errand.as_ref().and_then(|errand| {
            find(&|it| it.errand == *errand).or_else(|| find(&|it| it.is_about(errand)))
        });
        self.relist();
    }

    pub(super) fn relist(&mut self) {
        let Self { sheet, ui, .. } = self;
        ui.list(sheet);
    }

    /// Selects a row and lets the timeline follow.
    pub(super) fn select(&mut self, row: usize) {
        if self.ui.selected != Some(row) {
            self.ui.card_top = 0;
        }
        self.ui.selected = Some(row);
        self.ui.errand = None;
        self.ui.must_show.selected = true;
    }

    /// Returns why an action means nothing here, where it does not.
    fn refusal(&self, action: Action) -> Option<&'static str> {
        if action.needs_plan() && self.ui.open.is_none() && self.sheet.has_no_plan() {
            return Some("without a plan no step has a time; w says why");
        }
        let takes = action == Action::Open && self.ui.open == Some(Open::Trial);
        let writes = action.writes() || takes;
        (self.sheet.wall && writes)
            .then_some("this sheet hangs on the wall; nothing is written on it")
    }

    /// Does what is asked.
    #[allow(
        clippy::too_many_lines,
        reason = "an arm for each line of the table of actions"
    )]
    pub fn act(&mut self, action: Action) -> Vec<Effect> {
        self.changed = true;
        self.ui.hush();
        if let Some(why) = self.refusal(action) {
            self.ui.say(Tone::Plain, why);
            return Vec::new();
        }
        match action {
            Action::Quit | Action::Close if self.ui.open == Some(Open::Trial) => {
                return self.leave_trial();
            }
            // The page a wall is for is no page over another.
            Action::Quit if self.sheet.wall && self.ui.open == Some(Open::Now) => {
                return vec![Effect::Quit];
            }
            Action::Quit if self.ui.open.is_some() => self.shut(),
            Action::Quit => return vec![Effect::Quit],
            Action::Suspend => return vec![Effect::StandAside],
            Action::Close => self.close(),
            Action::Help => self.toggle(Open::Help),
            Action::Why => self.toggle(Open::Why),
            Action::Chance => self.toggle(Open::Chance),
            Action::NowView => self.toggle(Open::Now),
            Action::Busy => self.toggle(Open::Busy),
            Action::Handover => self.toggle(Open::Handover),
            Action::Heed => return self.answer(false),
            Action::PutOff => return self.answer(true),
            Action::Better => self.toggle(Open::Better),
            Action::Temperatures => self.temperatures(),
            Action::Allergens => self.toggle(Open::Allergens),
            Action::TakeBetter => return self.take_better(),
            Action::Seen => {
                let seen = self.sheet.seen();
                return self.asked_of_plan(seen);
            }
            Action::Undo if self.ui.open == Some(Open::Better) => {
                let undone = self.sheet.take_back_plan();
                return self.asked_of_plan(undone);
            }
            Action::Orders => self.toggle(Open::Orders),
            Action::Amounts => self.toggle_amounts(),
            Action::Filter => self.toggle_filter(),
            _ if self.ui.open.is_some_and(Open::is_page) && self.on_list(action) => {}
            Action::Undo if self.ui.open == Some(Open::Entries) => return self.take_back(true),
            Action::UndoLast => return self.take_back(true),
            Action::RedoLast => return self.take_back(false),
            Action::Read => return self.ask_of_step(Wanted::Reading),
            Action::EndsAt => return self.ask_of_step(Wanted::EndsAt),
            Action::Note if self.ui.open == Some(Open::Handover) => {
                self.prompt(Wanted::Note(None));
            }
            Action::Note => return self.ask_of_step(|key| Wanted::Note(Some(key))),
            Action::WaysOut => self.toggle(Open::Ways),
            Action::Change => self.toggle(Open::Change),
            Action::Entries => self.toggle(Open::Entries),
            Action::Open if self.ui.open == Some(Open::Trial) => return self.take_decision(),
            Action::Open if self.ui.open.is_some_and(Open::is_list) => return self.choose(),
            Action::Open => self.open(),
            Action::Start
            | Action::Finish
            | Action::Undo
            | Action::Skip
            | Action::StartAt
            | Action::FinishAt => {
                return self.tick(action);
            }
            Action::Search if self.is_narrowed() => self.ask_for_words(),
            // All that has the words is on the page already.
            Action::SearchNext | Action::SearchPrevious if self.is_narrowed() => {}
            Action::Search => {
                self.ui.open = None;
                self.ui.page_top = 0;
                self.ui.search.clear();
                self.ui.prompt = Some(Prompt {
                    wanted: Wanted::Search(self.ui.selected, self.ui.errand),
                    text: String::new(),
                    fault: None,
                });
            }
            Action::SearchNext => self.search_on(true),
            Action::SearchPrevious => self.search_on(false),
            Action::Tonight => {
                self.ui.tonight = !self.ui.tonight;
                self.ui.must_show.now = true;
                self.relist();
            }
            Action::BoundaryEarlier => self.boundary(Some(false)),
            Action::BoundaryLater => self.boundary(Some(true)),
            Action::BoundaryDefault => self.boundary(None),
            Action::FocusNext | Action::FocusPrevious => {
                self.turn_focus(action == Action::FocusNext);
            }
            Action::Up => self.step_by(-1),
            Action::Down => self.step_by(1),
            Action::PageUp => self.step_by(-self.page()),
            Action::PageDown => self.step_by(self.page()),
            Action::First => self.step_by(i64::MIN / 2),
            Action::Last => self.step_by(i64::MAX / 2),
            Action::Now => self.go_to_now(),
            Action::TimeEarlier => self.scroll_time(-1),
            Action::TimeLater => self.scroll_time(1),
            Action::ZoomIn => self.zoom(true),
            Action::ZoomOut => self.zoom(false),
            Action::ZoomFit => self.ui.zoom = None,
        }
        Vec::new()
    }

    fn take_better(&mut self) -> Vec<Effect> {
        let taken = self.sheet.take_offer();
        let gone_by = taken.is_err() && self.sheet.offer.is_some() && !self.sheet.planning;
        let mut effects = self.asked_of_plan(taken);
        if effects.is_empty() && gone_by && self.sheet.writing.is_empty() {
            effects.push(self.sheet.replan());
        }
        effects
    }

    fn asked_of_plan(&mut self, asked: Result<Effect, String>) -> Vec<Effect> {
        match asked {
            Ok(effect) => {
                self.ui.message = None;
                self.ui.open = None;
                vec![effect]
            }
            Err(refusal) => {
                self.ui.say(Tone::Alarm, refusal);
                Vec::new()
            }
        }
    }

    /// Leaves a decision untaken; what the planner laid aside for it is asked again.
    fn leave_trial(&mut self) -> Vec<Effect> {
        self.ui.open = None;
        self.sheet.trial = None;
        vec![self.sheet.replan()]
    }

    /// Shows the next page of what turns its pages by itself.
    fn turn_page(&mut self) -> Vec<Effect> {
        let (_, pages) = self.ui.seen.page_lines;
        if self.ui.open == Some(Open::Now) && pages > 1 {
            self.ui.page_top = (self.ui.page_top + 1) % pages;
            self.changed = true;
        }
        Vec::new()
    }

    pub(super) fn toggle(&mut self, open: Open) {
        self.ui.page_top = 0;
        self.ui.page_search.clear();
        self.ui.choice_at = 0;
        self.ui.choice_top = 0;
        self.ui.open = if self.ui.open == Some(open) {
            None
        } else {
            Some(open)
        };
    }

    fn close(&mut self) {
        let ui = &mut self.ui;
        if ui.open.is_some() && !ui.page_search.is_empty() {
            ui.page_search.clear();
            ui.page_top = 0;
        } else if ui.open.is_some() {
            self.shut();
        } else if ui.focus == Focus::Card {
            // Whoever has read the card goes on in the list; a tick there must not meet the step before.
            ui.focus = Focus::Countdown;
        } else if ui.notices {
            ui.notices = false;
        } else if !ui.search.is_empty() {
            ui.search.clear();
        } else if !ui.filter.is_empty() {
            ui.filter = super::ui::Filter::default();
            self.relist();
        } else {
            ui.message = None;
        }
    }

    /// Closes what is open; the page behind the filters comes back.
    pub(super) fn shut(&mut self) {
        let behind = self.ui.behind.take();
        self.ui.open = behind.filter(|_| self.ui.open == Some(Open::Filter));
        self.ui.page_top = 0;
    }

    fn open(&mut self) {
        match self.ui.open {
            Some(Open::Filter) => {
                filters::choose(&self.sheet, &mut self.ui);
                self.relist();
            }
            Some(_) => self.shut(),
            None if self.ui.seen.card_beside => {
                self.ui.focus = if self.ui.focus == Focus::Card {
                    Focus::Countdown
                } else {
                    Focus::Card
                };
            }
            None if self.ui.selected_line().is_some() => {
                self.ui.card_top = 0;
                self.ui.open = Some(Open::Card);
            }
            None => {}
        }
    }

    fn temperatures(&mut self) {
        self.sheet.hold_temperatures();
        self.toggle(Open::Temperatures);
    }

    fn boundary(&mut self, later: Option<bool>) {
        match later {
            Some(later) => {
                let Self { sheet, ui, .. } = self;
                ui.move_boundary(sheet, later);
            }
            None => self.ui.boundary = None,
        }
        self.ui.tonight = true;
        self.relist();
    }

    fn turn_focus(&mut self, forward: bool) {
        if self.ui.open == Some(Open::Filter) {
            filters::next_kind(&self.sheet, &mut self.ui, forward);
            return;
        }
        if self.ui.open == Some(Open::Now) {
            filters::next_whose(&self.sheet, &mut self.ui, forward);
            self.relist();
            return;
        }
        let panes: &[Focus] = match (self.ui.seen.card_beside, self.sheet.has_no_plan()) {
            (true, false) => &[Focus::Countdown, Focus::Dishes, Focus::Card],
            (true, true) => &[Focus::Countdown, Focus::Card],
            (false, false) => &[Focus::Countdown, Focus::Dishes],
            (false, true) => &[Focus::Countdown],
        };
        let at = panes
            .iter()
            .position(|pane| *pane == self.ui.focus)
            .unwrap_or(0);
        let step = if forward { 1 } else { panes.len() - 1 };
        self.ui.focus = panes[(at + step) % panes.len()];
    }
}
