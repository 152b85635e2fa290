//! Pages that are lists to choose from: what can be decided, the ways out, the entries of the book.
//!
//! The lines are made from the sheet whenever they are drawn or a key meets them; only which of them is selected is
//! kept, in [`Ui`]. Of the book only those are put into words that are looked at: it may hold a hundred thousand.

use std::fmt::Write as _;

use super::sheet::Sheet;
use super::theme::Tone;
use super::ui::{Open, Ui, Wanted};
use super::view::day_and_clock;
use crate::book::{Decision, Entry, EntryId, Happening};
use crate::prep::entry_words;
use crate::time::Minute;

/// One line of such a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// What it says.
    pub text: String,
    /// How.
    pub tone: Tone,
    /// What choosing it does.
    pub does: Does,
}

/// What choosing a line does.
#[derive(Clone, Debug, PartialEq)]
pub enum Does {
    /// Nothing: it is a heading, and cannot be selected.
    Heads,
    /// It asks for more.
    Asks(Wanted),
    /// It is decided as it stands, on trial first.
    Decides(Decision),
    /// It is one of the ways out.
    Way(usize),
    /// It is an entry of the book.
    Entry(EntryId),
}

impl Choice {
    fn heading(text: impl Into<String>) -> Self {
        Self {
            text: text.into(),
            tone: Tone::Heading,
            does: Does::Heads,
        }
    }

    fn new(text: impl Into<String>, does: Does) -> Self {
        Self {
            text: text.into(),
            tone: Tone::Plain,
            does,
        }
    }

    /// Returns whether it can be selected.
    pub fn can_be_chosen(&self) -> bool {
        self.does != Does::Heads
    }
}

/// The lines of a list page.
#[derive(Debug)]
pub enum Choices<'a> {
    /// All of them.
    Few(Vec<Choice>),
    /// A heading and the entries of the book, the newest first.
    Book(&'a Sheet),
}

impl<'a> Choices<'a> {
    /// Returns the lines of a page; none of one that is no list.
    pub fn of(sheet: &'a Sheet, open: Open) -> Self {
        match open {
            Open::Change => Self::Few(decisions(sheet)),
            Open::Ways => Self::Few(ways(sheet)),
            Open::Entries => Self::Book(sheet),
            _ => Self::Few(Vec::new()),
        }
    }

    /// Returns how many there are.
    pub fn count(&self) -> usize {
        match self {
            Self::Few(lines) => lines.len(),
            Self::Book(sheet) => sheet.entries.len() + 1,
        }
    }

    /// Returns whether there is such a line, and it can be selected.
    pub fn can_be_chosen(&self, at: usize) -> bool {
        match self {
            Self::Few(lines) => lines.get(at).is_some_and(Choice::can_be_chosen),
            Self::Book(_) => at > 0 && at < self.count(),
        }
    }

    /// Returns a line; none where there is no such.
    pub fn get(&self, at: usize) -> Option<Choice> {
        match self {
            Self::Few(lines) => lines.get(at).cloned(),
            Self::Book(sheet) if at == 0 => Some(Choice::heading(match sheet.entries.len() {
                0 => "the book has no entries of this banquet".to_owned(),
                1 => "1 entry".to_owned(),
                many => format!("{many} entries, the newest first"),
            })),
            Self::Book(sheet) => {
                let place = sheet.entries.len().checked_sub(at)?;
                sheet.entries.get(place).map(|entry| line(sheet, entry))
            }
        }
    }

    /// Returns the place of the selected line, held to one that can be chosen.
    pub fn selected(&self, ui: &Ui) -> Option<usize> {
        let can = |at: &usize| self.can_be_chosen(*at);
        let from = ui.choice_at.min(self.count());
        (from..self.count())
            .find(can)
            .or_else(|| (0..from).rev().find(can))
    }

    /// Returns the selected line.
    pub fn chosen(&self, ui: &Ui) -> Option<Choice> {
        self.get(self.selected(ui)?)
    }
}

/// Returns the line of an entry on the page of the book.
pub(super) fn line_of(sheet: &Sheet, id: EntryId) -> Option<usize> {
    // What was asked about last is mostly among the newest.
    let from_the_end = sheet
        .entries
        .iter()
        .rev()
        .position(|entry| entry.id == id)?;
    Some(from_the_end + 1)
}

/// Moves the selection by so many lines that can be chosen.
pub(super) fn step_by(sheet: &Sheet, ui: &mut Ui, by: i64) {
    let Some(open) = ui.open else { return };
    let choices = Choices::of(sheet, open);
    let can: Vec<usize> = (0..choices.count())
        .filter(|&at| choices.can_be_chosen(at))
        .collect();
    let Some(now) = choices.selected(ui) else {
        return;
    };
    let place = can.iter().position(|&at| at == now).unwrap_or(0) as i64;
    let to = place.saturating_add(by).clamp(0, can.len() as i64 - 1);
    if let Some(&to) = can.get(to as usize) {
        ui.choice_at = to;
    }
}

fn decisions(sheet: &Sheet) -> Vec<Choice> {
    let menu = &sheet.menu;
    let asks = |text: String, wanted: Wanted| Choice::new(text, Does::Asks(wanted));
    let mut lines = vec![
        Choice::heading("The banquet"),
        asks(format!("covers: {} now", menu.covers), Wanted::Covers(None)),
        asks(
            format!(
                "service: {} now",
                day_and_clock(sheet.service, Minute::SERVICE)
            ),
            Wanted::ServiceAt,
        ),
        asks("a dish more, from a dish card".to_owned(), Wanted::Card),
    ];
    for dish in &menu.dishes {
        lines.push(asks(
            format!("covers of {}: {} now", dish.name, menu.covers_of(dish)),
            Wanted::Covers(Some(dish.id.clone())),
        ));
    }
    for dish in menu.dishes.iter().filter(|dish| dish.batch.is_some()) {
        lines.push(asks(
            format!("batches of {}: {} now", dish.name, menu.batches_of(dish)),
            Wanted::Batches(dish.id.clone()),
        ));
    }
    for dish in &menu.dishes {
        lines.push(Choice::new(
            format!("leave out {}", dish.name),
            Does::Decides(Decision::DishDropped {
                dish: dish.id.clone(),
            }),
        ));
    }
    lines.push(Choice::heading("The kitchen"));
    for cook in &menu.kitchen.cooks {
        lines.push(asks(
            format!("{} is away", cook.name),
            Wanted::Away(cook.name.clone()),
        ));
    }
    lines.push(asks("one more pair of hands".to_owned(), Wanted::Hands));
    lines.push(asks(
        "whoever works stays on after the shift".to_owned(),
        Wanted::Stay,
    ));
    for kit in &menu.kitchen.kit {
        lines.push(asks(
            format!("out of use: {} ({} now)", kit.name, kit.count),
            Wanted::Out(kit.id.clone()),
        ));
        lines.push(Choice::new(
            format!("one more: {}", kit.name),
            Does::Decides(Decision::KitAdded {
                kit: kit.id.clone(),
                count: 1,
            }),
        ));
    }
    lines
}

fn ways(sheet: &Sheet) -> Vec<Choice> {
    let text = match (&sheet.ways_out, sheet.reasons().is_empty()) {
        (_, true) => "the plan holds; no way out is needed",
        (None, _) => "ways out are being tried…",
        (Some(ways), _) if ways.is_empty() => {
            "no single change was found that makes it possible; page w says what does not fit"
        }
        (Some(ways), _) if ways.iter().any(|way| way.gives.in_time.is_some()) => {
            "no single change makes all of it possible; these save some of it"
        }
        (Some(_), _) => "what would make it possible, each of them planned",
    };
    let mut lines = vec![Choice::heading(text)];
    for (place, way) in sheet.ways_out.iter().flatten().enumerate() {
        lines.push(Choice::new(way.says.clone(), Does::Way(place)));
    }
    lines
}

fn line(sheet: &Sheet, entry: &Entry) -> Choice {
    let zone = sheet.service.zone();
    let counts = sheet.prep.counts(entry.id);
    let mut text = format!(
        "{:>5}  {}  {}",
        entry.id.0,
        entry.at.local(zone).weekday_clock(),
        entry_words(&entry.what, zone)
    );
    if !counts {
        text.push_str(" – taken back");
    }
    let late = entry.written.0.abs_diff(entry.at.0) >= 60;
    let written = late.then(|| format!("written {}", entry.written.local(zone).weekday_clock()));
    let who = (!entry.who.is_empty()).then(|| entry.who.clone());
    let place = (!entry.place.is_empty()).then(|| format!("at {}", entry.place));
    let about: Vec<String> = [who, place, written].into_iter().flatten().collect();
    if !about.is_empty() {
        let _ = write!(text, "  ({})", about.join(", "));
    }
    let quiet = !counts
        || matches!(
            entry.what,
            Happening::Undone { .. } | Happening::MenuSeen { .. }
        );
    Choice {
        text,
        tone: if quiet { Tone::Quiet } else { Tone::Plain },
        does: Does::Entry(entry.id),
    }
}
