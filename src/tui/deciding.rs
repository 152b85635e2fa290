//! What is typed or chosen beyond ticks: readings, ends, notes, decisions, and taking back any entry.

use super::app::App;
use super::choices::{Choices, Does};
use super::effect::Effect;
use super::theme::Tone;
use super::ticking::NO_STEP;
use super::ui::{Open, Prompt, Wanted};
use super::widgets::text::clean;
use super::words;
use crate::book::{Decision, EntryId, Happening};
use crate::plan::StepKey;
use crate::prep::{
    Progress, TypedCard, batches, covers, leading_count, meant, reading_words, to_bring_back,
    to_take_back, typed_card, typed_end, typed_hands, typed_reading, typed_service, typed_stay,
    typed_stretch,
};
use crate::time::Timestamp;

impl App {
    /// Opens the line for something about the selected step.
    pub(super) fn ask_of_step(&mut self, wanted: impl FnOnce(StepKey) -> Wanted) -> Vec<Effect> {
        match self.selected_key() {
            _ if self.ui.errand.is_some() => self.ui.say(Tone::Plain, NO_STEP),
            Some(key) => self.prompt(wanted(key)),
            None => self.ui.say(Tone::Alarm, "no step is selected"),
        }
        Vec::new()
    }

    /// Opens a line to type.
    pub(super) fn prompt(&mut self, wanted: Wanted) {
        self.ui.message = None;
        self.ui.prompt = Some(Prompt {
            wanted,
            text: String::new(),
            fault: None,
        });
    }

    /// Takes a line as given that is neither a search nor a tick; a fault leaves it open.
    pub(super) fn given_more(&mut self, prompt: Prompt) -> Vec<Effect> {
        match self.understood(&prompt) {
            Ok(effects) => effects,
            Err(fault) => {
                self.ui.prompt = Some(Prompt {
                    fault: Some(fault),
                    ..prompt
                });
                Vec::new()
            }
        }
    }

    fn understood(&mut self, prompt: &Prompt) -> Result<Vec<Effect>, String> {
        let (now, zone) = (self.sheet.now, self.sheet.service.zone());
        let text = prompt.text.trim();
        let decision = match &prompt.wanted {
            Wanted::Reading(key) => {
                let typed = typed_reading(text, now, zone)?;
                let what = Happening::Read {
                    step: key.to_string(),
                    reading: typed.reading,
                    goal: typed.goal,
                };
                let name = words::step_name(&self.sheet, key);
                let said = format!("{name}: {}", reading_words(typed.reading));
                return Ok(self.write(what, Some(key.clone()), typed.at, &said));
            }
            Wanted::EndsAt(key) => {
                if !matches!(self.sheet.prep.progress(key), Progress::Running { .. }) {
                    return Err("it is not running; start it first".to_owned());
                }
                let end = typed_end(text, now, zone)?;
                let what = Happening::Expected {
                    step: key.to_string(),
                    end,
                };
                let name = words::step_name(&self.sheet, key);
                let said = format!(
                    "{name} is expected to end {}",
                    end.local(zone).weekday_clock()
                );
                return Ok(self.write(what, Some(key.clone()), now, &said));
            }
            Wanted::Note(key) => {
                if text.is_empty() {
                    return Err("a note says something; Esc leaves it".to_owned());
                }
                let what = Happening::Noted {
                    step: key.as_ref().map(ToString::to_string),
                    text: text.to_owned(),
                };
                return Ok(self.write(what, key.clone(), now, "noted"));
            }
            Wanted::Card => {
                let card = typed_card(text, &self.sheet.menu)?;
                self.ui.say(Tone::Plain, "reading the card…");
                return Ok(vec![Effect::Fetch { card }]);
            }
            Wanted::Covers(dish) => Decision::Covers {
                dish: dish.clone(),
                covers: covers(text)?,
            },
            Wanted::Batches(dish) => Decision::Batches {
                dish: dish.clone(),
                batches: batches(text)?,
            },
            Wanted::ServiceAt => Decision::Service {
                to: typed_service(text, self.sheet.service, now)?,
            },
            Wanted::Away(cook) => {
                let (from, until) = typed_stretch(text, now, zone)?;
                Decision::CookAway {
                    cook: cook.clone(),
                    from,
                    until,
                }
            }
            Wanted::Hands => typed_hands(text, self.sheet.service, now)?,
            Wanted::Stay => typed_stay(text, &self.sheet.menu, self.sheet.service, now)?,
            Wanted::Out(kit) => {
                let (count, rest) = leading_count(text);
                let rest = if rest.is_empty() { "now" } else { rest };
                let (from, until) = typed_stretch(rest, now, zone)?;
                Decision::KitOut {
                    kit: kit.clone(),
                    count,
                    from,
                    until,
                }
            }
            Wanted::Reason(_)
            | Wanted::StartedAt(_)
            | Wanted::DoneAt(_)
            | Wanted::SeenToAt(_)
            | Wanted::Search(..)
            | Wanted::PageSearch => {
                return Ok(Vec::new());
            }
        };
        self.try_out(decision)
            .map_err(|fault| clean(&fault).into_owned())
    }

    /// Begins the trial of a decision.
    fn try_out(&mut self, decision: Decision) -> Result<Vec<Effect>, String> {
        let effect = self.sheet.try_decision(decision)?;
        self.ui.page_top = 0;
        self.ui.open = Some(Open::Trial);
        Ok(vec![effect])
    }

    /// Takes in the text of a card that was fetched.
    pub(super) fn fetched(
        &mut self,
        asked: TypedCard,
        result: Result<String, String>,
    ) -> Vec<Effect> {
        let tried = result.and_then(|card| {
            self.try_out(Decision::DishAdded {
                card,
                course: asked.course,
                covers: asked.covers,
            })
        });
        tried.unwrap_or_else(|fault| {
            self.ui.say_for_good(Tone::Alarm, clean(&fault));
            Vec::new()
        })
    }

    /// Does what the selected line of a list page does.
    pub(super) fn choose(&mut self) -> Vec<Effect> {
        let Some(open) = self.ui.open else {
            return Vec::new();
        };
        let Some(chosen) = Choices::of(&self.sheet, open).chosen(&self.ui) else {
            return Vec::new();
        };
        match chosen.does {
            Does::Heads | Does::Entry(_) => Vec::new(),
            Does::Asks(wanted) => {
                self.prompt(wanted);
                Vec::new()
            }
            Does::Decides(decision) => self.try_out(decision).unwrap_or_else(|fault| {
                self.ui.say(Tone::Alarm, clean(&fault));
                Vec::new()
            }),
            Does::Way(place) => {
                let way = self
                    .sheet
                    .ways_out
                    .as_ref()
                    .and_then(|ways| ways.get(place));
                match way.cloned().map(|way| self.sheet.try_way_out(&way)) {
                    Some(Ok(())) => {
                        self.ui.page_top = 0;
                        self.ui.open = Some(Open::Trial);
                    }
                    Some(Err(fault)) => self.ui.say(Tone::Alarm, clean(&fault)),
                    None => {}
                }
                Vec::new()
            }
        }
    }

    /// Has the decision on trial written.
    pub(super) fn take_decision(&mut self) -> Vec<Effect> {
        match self.sheet.take_decision() {
            Ok(effect) => {
                self.ui.message = None;
                self.ui.open = None;
                self.sheet.trial = None;
                vec![effect]
            }
            Err(refusal) => {
                self.ui.say(Tone::Alarm, refusal);
                Vec::new()
            }
        }
    }

    /// Has an entry taken back, or brought back.
    pub(super) fn take_back(&mut self, back: bool) -> Vec<Effect> {
        let (prep, entries) = (&self.sheet.prep, &self.sheet.entries);
        let chosen = self.chosen_entry();
        let nothing_chosen = self.ui.open == Some(Open::Entries) && chosen.is_none();
        let undone = match back {
            _ if nothing_chosen => Err("no entry is selected".to_owned()),
            true => to_take_back(prep, entries, chosen),
            false => to_bring_back(prep, entries, chosen),
        };
        let undone = match undone {
            Ok(undone) => undone,
            Err(why) => {
                self.ui.say(Tone::Alarm, why);
                return Vec::new();
            }
        };
        let said = if back {
            format!(
                "taken back: {}; R brings it back",
                words::entry_says(&self.sheet, undone)
            )
        } else {
            let meant = meant(&self.sheet.entries, undone, back);
            format!("brought back: {}", words::entry_says(&self.sheet, meant))
        };
        let now = self.sheet.now;
        let what = Happening::Undone { entry: undone };
        vec![self.sheet.append(what, None, now, said)]
    }

    /// Returns the entry selected on the page of the book, where that is open.
    pub(super) fn chosen_entry(&self) -> Option<EntryId> {
        if self.ui.open != Some(Open::Entries) {
            return None;
        }
        match Choices::of(&self.sheet, Open::Entries)
            .chosen(&self.ui)?
            .does
        {
            Does::Entry(id) => Some(id),
            _ => None,
        }
    }

    fn write(
        &mut self,
        what: Happening,
        key: Option<StepKey>,
        at: Timestamp,
        said: &str,
    ) -> Vec<Effect> {
        let done = format!("{}; U takes it back", clean(said));
        vec![self.sheet.append(what, key, at, done)]
    }
}
