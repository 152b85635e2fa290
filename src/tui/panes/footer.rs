//! The last two lines: what was said or is being typed, and the keys that help here.

use ratatui::buffer::Buffer;
use ratatui::layout::{Position, Rect};

use crate::prep::{
    decision_words, goal_words, reading_words, typed_end, typed_reading, typed_stay, typed_stretch,
    typed_time,
};
use crate::tui::action::{Action, line};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::{Open, Prompt, Spot, Ui, Wanted};
use crate::tui::view::day_and_clock;
use crate::tui::widgets::text::{clean, columns, fit, put};
use crate::tui::words;

/// Draws both lines; returns where the cursor stands while a line is typed.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) -> Option<Position> {
    let (message, hints) = super::split_top(area, 1);
    let cursor = ui
        .prompt
        .as_ref()
        .and_then(|prompt| draw_prompt(buffer, message, prompt, sheet));
    if ui.prompt.is_none() {
        draw_message(buffer, message, sheet, ui);
    }
    match ui
        .prompt
        .as_ref()
        .and_then(|prompt| prompt.fault.as_deref())
    {
        Some(fault) => {
            let text = fit(fault, usize::from(hints.width));
            put(
                buffer,
                hints.x,
                hints.y,
                hints.width,
                &text,
                sheet.colour.style(Tone::Alarm),
            );
        }
        None => draw_hints(buffer, hints, sheet, ui),
    }
    cursor
}

fn draw_prompt(
    buffer: &mut Buffer,
    line: Rect,
    prompt: &Prompt,
    sheet: &Sheet,
) -> Option<Position> {
    if line.height == 0 {
        return None;
    }
    let width = usize::from(line.width);
    let (question, answer) = match &prompt.wanted {
        Wanted::Reason(key) => (
            format!("skip {}, because", words::step_name(sheet, key)),
            None,
        ),
        Wanted::StartedAt(key) => (
            format!("{} started at", words::step_name(sheet, key)),
            read(prompt, sheet),
        ),
        Wanted::DoneAt(key) => (
            format!("{} was done at", words::step_name(sheet, key)),
            read(prompt, sheet),
        ),
        Wanted::SeenToAt(errand) => {
            let says = sheet.errand(errand).map_or("", |it| it.says.as_str());
            (format!("seen to, {}, at", clean(says)), read(prompt, sheet))
        }
        Wanted::Search(..) | Wanted::PageSearch => ("look for".to_owned(), None),
        other => asked(other, prompt, sheet),
    };
    let question = super::super::widgets::text::cut(&question, width / 2);
    let lead = format!("{question}: ");
    let mut x = line.x
        + put(
            buffer,
            line.x,
            line.y,
            line.width,
            &lead,
            sheet.colour.style(Tone::Heading),
        );
    // The end of a long line is what is being typed, so it is the end that is shown.
    let typed = clean(&prompt.text).into_owned();
    let tail = answer
        .map(|answer| format!("  = {answer}"))
        .unwrap_or_default();
    let room = width.saturating_sub(columns(&lead) + columns(&tail) + 1);
    let shown = end_of(&typed, room);
    x += put(
        buffer,
        x,
        line.y,
        room as u16,
        &shown,
        sheet.colour.style(Tone::Plain),
    );
    let cursor = Position::new(x.min(line.right().saturating_sub(1)), line.y);
    put(
        buffer,
        x + 1,
        line.y,
        line.right().saturating_sub(x + 1),
        &tail,
        sheet.colour.style(Tone::Good),
    );
    Some(cursor)
}

/// Returns the question of a line that is neither a tick nor a search, and how what is typed is understood.
fn asked(wanted: &Wanted, prompt: &Prompt, sheet: &Sheet) -> (String, Option<String>) {
    let (now, zone) = (sheet.now, sheet.service.zone());
    let text = prompt.text.trim();
    let clock = |at: crate::time::Timestamp| at.local(zone).weekday_clock();
    let name = |key| words::step_name(sheet, key);
    let stretch = |text: &str| {
        let (from, until) = typed_stretch(text, now, zone).ok()?;
        let until = until.map_or_else(
            || "for good".to_owned(),
            |it| format!("until {}", clock(it)),
        );
        Some(format!("from {} {until}", clock(from)))
    };
    match wanted {
        Wanted::Reading(key) => {
            let read = typed_reading(text, now, zone).ok().map(|typed| {
                let goal = typed
                    .goal
                    .map_or_else(String::new, |goal| format!(" to {}", goal_words(goal)));
                format!(
                    "{}{goal}, {}",
                    reading_words(typed.reading),
                    clock(typed.at)
                )
            });
            (format!("{} shows", name(key)), read)
        }
        Wanted::EndsAt(key) => (
            format!("{} will be over (20 min, 16:40)", name(key)),
            typed_end(text, now, zone).ok().map(clock),
        ),
        Wanted::Note(Some(key)) => (format!("note on {}", name(key)), None),
        Wanted::Note(None) => ("note".to_owned(), None),
        Wanted::Covers(None) => ("covers".to_owned(), None),
        Wanted::Covers(Some(dish)) => (format!("covers of {dish}"), None),
        Wanted::Batches(dish) => (format!("batches of {dish} (3, needed)"), None),
        Wanted::ServiceAt => ("service at (20:00, 2026-11-29 20:00)".to_owned(), None),
        Wanted::Away(cook) => (
            format!("{cook} is away (now, 14:00 to 20:00)"),
            stretch(text),
        ),
        Wanted::Hands => (
            "one more pair of hands (14:00 to 20:00)".to_owned(),
            stretch(text),
        ),
        Wanted::Stay => {
            let until = typed_stay(text, &sheet.menu, sheet.service, now).ok();
            let words = |decision| decision_words(&decision, zone);
            ("stays on until (00:30)".to_owned(), until.map(words))
        }
        Wanted::Out(kit) => (format!("{kit} out of use (1 now, 2 until 18:00)"), None),
        Wanted::Card => (
            "file of the dish card (figs.ron, figs.ron for 40)".to_owned(),
            None,
        ),
        Wanted::Reason(_)
        | Wanted::StartedAt(_)
        | Wanted::DoneAt(_)
        | Wanted::SeenToAt(_)
        | Wanted::Search(..)
        | Wanted::PageSearch => (String::new(), None),
    }
}

/// Returns how a typed time is understood, so that a slip is seen before it is in the book.
fn read(prompt: &Prompt, sheet: &Sheet) -> Option<String> {
    let at = typed_time(&prompt.text, sheet.now, sheet.service.zone()).ok()?;
    Some(day_and_clock(sheet.service, sheet.service.minute(at)))
}

fn end_of(text: &str, room: usize) -> String {
    use unicode_segmentation::UnicodeSegmentation;
    let mut from = 0;
    for (at, cluster) in text.grapheme_indices(true) {
        if columns(&text[from..]) <= room {
            break;
        }
        from = at + cluster.len();
    }
    text[from..].to_owned()
}

fn draw_message(buffer: &mut Buffer, line: Rect, sheet: &Sheet, ui: &Ui) {
    let right = if sheet.planning && sheet.outcome.is_some() {
        "counting back…"
    } else {
        ""
    };
    let room = usize::from(line.width).saturating_sub(columns(right) + 1);
    let said;
    let (text, tone) = match (sheet.writing.first(), &ui.message) {
        (Some(first), _) => {
            said = match (&first.key, &first.errand) {
                (Some(key), _) => format!("writing… {}", words::step_name(sheet, key)),
                (None, Some(_)) => "writing… what was seen to".to_owned(),
                (None, None) => "writing… the plan".to_owned(),
            };
            (said.as_str(), Tone::Quiet)
        }
        (None, Some(message)) => (message.text.as_str(), message.tone),
        (None, None) if sheet.view.moved > 0 => {
            said = words::moved(sheet.view.moved);
            (said.as_str(), Tone::Caution)
        }
        (None, None) => match &sheet.offer {
            Some(offer) if ui.open != Some(Open::Better) => {
                said = words::offer(offer, room);
                (said.as_str(), Tone::Good)
            }
            _ => ("", Tone::Plain),
        },
    };
    put(
        buffer,
        line.x,
        line.y,
        line.width,
        &fit(text, room),
        sheet.colour.style(tone),
    );
    let wide = columns(right) as u16;
    put(
        buffer,
        line.right().saturating_sub(wide),
        line.y,
        wide,
        right,
        sheet.colour.style(Tone::Quiet),
    );
}

/// Returns the keys that help here, the most useful first; the last two are always shown.
fn hinted(ui: &Ui) -> &'static [Action] {
    use Action as A;
    if ui.prompt.is_some() {
        return &[A::Close];
    }
    match ui.open {
        Some(Open::Better) => &[
            A::TakeBetter,
            A::Undo,
            A::Up,
            A::Down,
            A::PageDown,
            A::Close,
        ],
        Some(Open::Change | Open::Ways | Open::Trial) => {
            &[A::Open, A::Up, A::Down, A::PageDown, A::Close]
        }
        Some(Open::Entries) => &[A::Undo, A::RedoLast, A::Up, A::Down, A::PageDown, A::Close],
        Some(Open::Help | Open::Why | Open::Chance | Open::Busy) => {
            &[A::Up, A::Down, A::PageUp, A::PageDown, A::Close]
        }
        Some(Open::Temperatures | Open::Allergens) => {
            &[A::Search, A::Up, A::Down, A::PageUp, A::PageDown, A::Close]
        }
        Some(Open::Now) => &[A::FocusNext, A::PageDown, A::Heed, A::PutOff, A::Close],
        Some(Open::Handover) => &[A::Note, A::Up, A::Down, A::PageUp, A::PageDown, A::Close],
        Some(Open::Orders) => &[
            A::FocusNext,
            A::Search,
            A::SearchNext,
            A::Filter,
            A::Up,
            A::Down,
            A::PageDown,
            A::Close,
        ],
        Some(Open::Amounts) => &[
            A::FocusNext,
            A::ZoomIn,
            A::ZoomOut,
            A::ZoomFit,
            A::Change,
            A::Search,
            A::Filter,
            A::PageDown,
            A::Close,
        ],
        Some(Open::Filter) => &[A::Open, A::Up, A::Down, A::FocusNext, A::Close],
        Some(Open::Card) => &[
            A::Start,
            A::Finish,
            A::Undo,
            A::Skip,
            A::StartAt,
            A::FinishAt,
            A::PageDown,
            A::Help,
            A::Close,
        ],
        None => &[
            A::Start,
            A::Finish,
            A::Undo,
            A::Skip,
            A::Open,
            A::NowView,
            A::Tonight,
            A::Search,
            A::Filter,
            A::Now,
            A::Read,
            A::Heed,
            A::PutOff,
            A::Handover,
            A::Busy,
            A::Entries,
            A::Change,
            A::EndsAt,
            A::Note,
            A::UndoLast,
            A::StartAt,
            A::FinishAt,
            A::ZoomIn,
            A::ZoomOut,
            A::FocusNext,
            A::Why,
            A::Chance,
            A::Better,
            A::Temperatures,
            A::Allergens,
            A::Orders,
            A::Amounts,
            A::Seen,
            A::Help,
            A::Quit,
        ],
    }
}

fn draw_hints(buffer: &mut Buffer, place: Rect, sheet: &Sheet, ui: &mut Ui) {
    if place.height == 0 {
        return;
    }
    let mut hints: Vec<(String, &str, Option<Action>)> = Vec::new();
    if ui.prompt.is_some() {
        hints.push(("Enter".to_owned(), "takes it", None));
    }
    let no_plan = sheet.has_no_plan();
    let helps = |action: &&Action| {
        let means_nothing = no_plan && action.needs_plan();
        let is_refused = sheet.wall && action.writes();
        !means_nothing && !is_refused
    };
    hints.extend(hinted(ui).iter().filter(helps).map(|&action| {
        let doing = line(action);
        let key = doing.keys.first().map(|key| key.name()).unwrap_or_default();
        (key, hint_name(action, ui), Some(action))
    }));
    let wide =
        |(key, name, _): &(String, &str, Option<Action>)| (columns(key) + 1 + columns(name)) as u16;
    // The last two say how to get help and how to leave; they are always shown, the others as far as they fit.
    let kept = hints.len().saturating_sub(2);
    let always: u16 = hints[kept..]
        .iter()
        .map(|hint| wide(hint) + 2)
        .sum::<u16>()
        .saturating_sub(2);
    let mut room = place.width.saturating_sub(always);
    let mut shown = Vec::new();
    for (index, hint) in hints.into_iter().enumerate() {
        if index >= kept {
            shown.push(hint);
        } else if wide(&hint) + 2 <= room {
            room -= wide(&hint) + 2;
            shown.push(hint);
        }
    }
    let mut x = place.x;
    for hint in shown {
        let from = x;
        let (key, name, action) = &hint;
        let most = place.right().saturating_sub(x);
        x += put(buffer, x, place.y, most, key, sheet.colour.style(Tone::Key)) + 1;
        x += put(
            buffer,
            x,
            place.y,
            place.right().saturating_sub(x),
            name,
            sheet.colour.style(Tone::Plain),
        );
        if let Some(action) = action {
            ui.seen.spots.push((
                Rect::new(from, place.y, wide(&hint), 1),
                Spot::Hint(*action),
            ));
        }
        x += 2;
    }
}

/// Returns what an action is called here.
fn hint_name(action: Action, ui: &Ui) -> &'static str {
    match action {
        Action::FocusNext if ui.open == Some(Open::Now) => "whose",
        Action::Open if ui.open == Some(Open::Filter) => "choose",
        Action::FocusNext if ui.open == Some(Open::Filter) => "next kind",
        Action::FocusNext if ui.open == Some(Open::Orders) => "divide otherwise",
        Action::FocusNext if ui.open == Some(Open::Amounts) => "next dish",
        Action::ZoomIn if ui.open == Some(Open::Amounts) => "more covers",
        Action::ZoomOut if ui.open == Some(Open::Amounts) => "fewer",
        Action::ZoomFit if ui.open == Some(Open::Amounts) => "as is",
        Action::Change if ui.open == Some(Open::Amounts) => "decide",
        Action::Close if ui.prompt.is_some() => "leaves it",
        Action::Open if ui.open == Some(Open::Trial) => "take it",
        Action::Open if ui.open.is_some_and(Open::is_list) => "choose",
        Action::Close if ui.open == Some(Open::Trial) => "leave it",
        Action::Undo if matches!(ui.open, Some(Open::Better | Open::Entries)) => "take back",
        Action::Tonight if ui.tonight => "all",
        _ => line(action).name,
    }
}
