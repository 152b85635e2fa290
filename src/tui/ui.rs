//! What the cook looks at: selection, scroll, filters, what is open. None of it is in the book.

use std::collections::BTreeSet;

use ratatui::layout::{Position, Rect};

use super::action::Action;
use super::theme::Tone;
use super::view::{Row, day_heading};
use super::widgets::digits::Signs;
use crate::book::Errand;
use crate::plan::StepKey;
use crate::prep::Standing;
use crate::quantity::order::By;
use crate::time::{Date, Minute, Minutes};

/// What the cook looks at.
#[derive(Debug, Default)]
pub struct Ui {
    /// Which pane has the keys.
    pub focus: Focus,
    /// The selected row of the view.
    pub selected: Option<usize>,
    /// The selected errand of the view, where one is: then no key means the row, which is where the cook came from.
    pub errand: Option<usize>,
    /// What is open over the sheet.
    pub open: Option<Open>,
    /// The line being typed.
    pub prompt: Option<Prompt>,
    /// The last thing said.
    pub message: Option<Message>,
    /// Whether the terminal is too small to show anything, so that no key may do what cannot be seen.
    pub too_small: bool,
    /// Whether the notices of the opening still stand under the header.
    pub notices: bool,
    /// Whether only tonight is listed.
    pub tonight: bool,
    /// When tonight ends, where the cook has moved it.
    pub boundary: Option<Minute>,
    /// The words looked for, in small letters; empty for none.
    pub search: String,
    /// What the list is narrowed to.
    pub filter: Filter,
    /// The rows listed, and their days; made in `listing`.
    pub lines: Vec<ListLine>,
    /// How many steps start tonight, and the minutes of hands in them.
    pub tonight_sum: (usize, Minutes),
    /// Minutes a column of the timeline; none for all days at once.
    pub zoom: Option<i32>,
    /// The first minute of the timeline when zoomed.
    pub time_from: Minute,
    /// What the next frame must have in view.
    pub must_show: MustShow,
    /// The first line listed.
    pub list_top: usize,
    /// The first dish shown.
    pub dish_top: usize,
    /// Lines of the card scrolled past.
    pub card_top: usize,
    /// Lines of the open page scrolled past.
    pub page_top: usize,
    /// The words looked for on the open page, in small letters; empty for none.
    pub page_search: String,
    /// How the order list is divided.
    pub orders_by: By,
    /// The dish whose amounts are shown, where it is not that of the selected step.
    pub amounts_of: Option<usize>,
    /// Covers tried out on the page of amounts.
    pub covers_tried: Option<u32>,
    /// The page to come back to when the filters close.
    pub behind: Option<Open>,
    /// The selected line of the list page that is open.
    pub choice_at: usize,
    /// The first line of it shown.
    pub choice_top: usize,
    /// The line of the filter panel that is selected.
    pub filter_at: usize,
    /// The first line of the filter panel shown.
    pub filter_top: usize,
    /// What large numbers are made of.
    pub signs: Signs,
    /// What the last frame showed where.
    pub seen: Seen,
}

/// What the next frame must have in view; drawing scrolls there and forgets it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MustShow {
    /// The selected step, on the timeline.
    pub selected: bool,
    /// Now, at the head of the list.
    pub now: bool,
}

/// Which pane has the keys.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Focus {
    /// The countdown.
    #[default]
    Countdown,
    /// The dishes.
    Dishes,
    /// The card beside them, on a wide screen.
    Card,
}

/// What is open over the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Open {
    /// The card of the selected step.
    Card,
    /// The help.
    Help,
    /// Why it cannot be done, and the notices.
    Why,
    /// How good the plan is, and how likely it comes out.
    Chance,
    /// What a better plan would move.
    Better,
    /// The plan held against the rules for temperatures.
    Temperatures,
    /// Allergens, cautions and guests with needs.
    Allergens,
    /// What to buy.
    Orders,
    /// What a dish takes.
    Amounts,
    /// The filters.
    Filter,
    /// What can be decided otherwise than the menu says.
    Change,
    /// The ways out.
    Ways,
    /// What would become of a decision.
    Trial,
    /// The entries of the book.
    Entries,
    /// Now and next, large.
    Now,
    /// Hands and kit over the days.
    Busy,
    /// What the next shift has to know.
    Handover,
}

impl Open {
    /// Returns whether it is a page that shows only what has the words looked for.
    pub fn is_narrowed(self) -> bool {
        matches!(self, Self::Temperatures | Self::Allergens)
    }

    /// Returns whether it is a list to choose from.
    pub fn is_list(self) -> bool {
        matches!(self, Self::Change | Self::Ways | Self::Entries)
    }
}

impl Open {
    /// Returns whether it is a page that can be searched, and that the filters narrow.
    pub fn is_page(self) -> bool {
        matches!(self, Self::Orders | Self::Amounts)
    }
}

/// The line being typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prompt {
    /// What for.
    pub wanted: Wanted,
    /// What has been typed.
    pub text: String,
    /// What was wrong with it when it was last given.
    pub fault: Option<String>,
}

/// What a line is typed for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// Why this step is skipped.
    Reason(StepKey),
    /// When this step started.
    StartedAt(StepKey),
    /// When this step was done.
    DoneAt(StepKey),
    /// When this errand was seen to.
    SeenToAt(Errand),
    /// What to look for; the row and the errand selected before.
    Search(Option<usize>, Option<usize>),
    /// What to look for on the open page.
    PageSearch,
    /// What this step shows.
    Reading(StepKey),
    /// When this running step will be over.
    EndsAt(StepKey),
    /// What the next shift should know; of a step, or of the banquet.
    Note(Option<StepKey>),
    /// How many are served; of one dish, by its id, or of all.
    Covers(Option<String>),
    /// In how many batches this dish is made.
    Batches(String),
    /// When the service is.
    ServiceAt,
    /// When this cook is away.
    Away(String),
    /// How many of this kit are out of use, and when.
    Out(String),
    /// When one more pair of hands is there.
    Hands,
    /// Until when whoever works stays on.
    Stay,
    /// The file of a dish card.
    Card,
}

/// Something said to the cook.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// What.
    pub text: String,
    /// How it is meant.
    pub tone: Tone,
    /// Whether it stands until it is put away; others go with the next key.
    pub stays: bool,
}

/// One line of the countdown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ListLine {
    /// A day begins, or without a plan a dish.
    Heading(String),
    /// Now lies here.
    Now,
    /// A row of the view.
    Row(usize),
    /// What is to be ordered or done ahead by then: its place among the errands of the view.
    Errand(usize),
}

/// What the list is narrowed to: within a kind any of those chosen, and every kind that has some chosen.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Dishes, by their place in the menu.
    pub dishes: BTreeSet<usize>,
    /// Cooks.
    pub cooks: BTreeSet<String>,
    /// Stations.
    pub stations: BTreeSet<String>,
    /// Days on which steps start.
    pub days: BTreeSet<Date>,
    /// Standings.
    pub states: BTreeSet<Standing>,
}

impl Filter {
    /// Returns whether nothing is chosen.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Returns whether a row passes. What only a plan can say narrows nothing where there is none: no step may
    /// be out of reach because it has no time.
    pub fn passes(&self, row: &Row) -> bool {
        let unplanned = row.times.is_none();
        let any = |chosen: &BTreeSet<String>, mut of: std::slice::Iter<'_, String>| {
            chosen.is_empty() || of.any(|one| chosen.contains(one))
        };
        let open = |state: &Standing| !state.is_over() && !state.is_running();
        (self.dishes.is_empty() || self.dishes.contains(&row.dish))
            && (unplanned || any(&self.cooks, row.cooks.iter()))
            && any(&self.stations, row.station.as_slice().iter())
            && (unplanned
                || self.days.is_empty()
                || row.date().is_some_and(|date| self.days.contains(&date)))
            && (self.states.is_empty()
                || self.states.contains(&row.standing)
                || (row.standing == Standing::ToDo && self.states.iter().any(open)))
    }

    /// Returns whether something beside the steps passes, for these dishes on this day. Nobody in particular has it and it
    /// is done nowhere in particular, so it is everybody's; it has no standing, so it is not among those of any.
    pub fn passes_errand(&self, dishes: &[usize], date: Date) -> bool {
        self.states.is_empty()
            && (self.dishes.is_empty() || dishes.iter().any(|dish| self.dishes.contains(dish)))
            && (self.days.is_empty() || self.days.contains(&date))
    }

    /// Returns what is chosen, in words; `dish_name` tells the name of a dish.
    pub fn words(&self, dish_name: impl Fn(usize) -> String) -> String {
        let mut said = Vec::new();
        said.extend(self.dishes.iter().map(|&dish| dish_name(dish)));
        said.extend(self.cooks.iter().cloned());
        said.extend(self.stations.iter().cloned());
        said.extend(self.days.iter().map(|&day| day_heading(day)));
        said.extend(self.states.iter().map(|state| state.word().to_owned()));
        said.join(", ")
    }
}

/// What the last frame showed where; written by drawing, read when the mouse or a page key needs it.
#[derive(Debug, Default)]
pub struct Seen {
    /// What can be clicked, the topmost last.
    pub spots: Vec<(Rect, Spot)>,
    /// Lines of the list that fit.
    pub list_lines: usize,
    /// Dishes that fit.
    pub dish_lines: usize,
    /// Lines of the card or the open page that fit, and how many there are.
    pub card_lines: (usize, usize),
    /// As `card_lines`, for the open page.
    pub page_lines: (usize, usize),
    /// Lines of the open page that the search finds.
    pub page_found: Vec<usize>,
    /// Minutes a column, and columns, of the timeline.
    pub axis: Option<super::widgets::bars::Axis>,
    /// Whether the card stands beside the list.
    pub card_beside: bool,
}

/// Something that can be clicked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// A row of the view, in the list.
    Row(usize),
    /// An errand of the view, in the list.
    Errand(usize),
    /// A dish, by name.
    Dish(usize),
    /// A dish's bar.
    Bar(usize),
    /// A hint of the footer.
    Hint(Action),
    /// A line of the filter panel.
    Choice(usize),
    /// Somewhere in the list.
    List,
    /// Somewhere among the dishes.
    Dishes,
    /// Somewhere on the card.
    Card,
    /// Somewhere on the open page.
    Page,
}

impl Ui {
    /// Returns the topmost thing at a place on the screen, and its rectangle.
    pub fn spot(&self, x: u16, y: u16) -> Option<(Rect, Spot)> {
        let place = Position::new(x, y);
        self.seen
            .spots
            .iter()
            .rev()
            .find(|(area, _)| area.contains(place))
            .copied()
    }

    /// Says something, until the next key.
    pub fn say(&mut self, tone: Tone, text: impl Into<String>) {
        self.message = Some(Message {
            text: text.into(),
            tone,
            stays: false,
        });
    }

    /// Says something that stands until Esc or the next tick.
    pub fn say_for_good(&mut self, tone: Tone, text: impl Into<String>) {
        self.message = Some(Message {
            text: text.into(),
            tone,
            stays: true,
        });
    }

    /// Takes away what was said, unless it stays.
    pub(super) fn hush(&mut self) {
        self.message.take_if(|message| !message.stays);
    }
}
