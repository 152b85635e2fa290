//! Pages of text: the help, why it cannot be done, and what fills the sheet where there is no plan.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Line, framed, panel, put_extent, scrolled, split_top, timeline, title};
use crate::plan::PlanOutcome;
use crate::prep::Standing;
use crate::tui::action::{Group, TABLE};
use crate::tui::sheet::Sheet;
use crate::tui::theme::{Tone, mark};
use crate::tui::ui::{Spot, Ui};
use crate::tui::widgets::text::{clean, fit, wrap};

/// No page of text is wider: longer lines are hard to read.
const READABLE: u16 = 100;

/// Columns of the keys on the help page.
const KEYS: usize = 18;

/// Draws the help, made from the table of actions.
pub fn draw_help(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let heading = "help: Esc or q closes it, ↑ ↓ scroll";
    over(buffer, area, heading, help_lines, sheet, ui);
}

/// Draws why the menu cannot be done, and the notices.
pub fn draw_why(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let heading = "why, and what to know: Esc closes it";
    over(
        buffer,
        area,
        heading,
        |width| why_lines(sheet, width),
        sheet,
        ui,
    );
}

/// Draws lines made for its width in a panel over the sheet.
pub(super) fn over(
    buffer: &mut Buffer,
    area: Rect,
    heading: &str,
    lines: impl FnOnce(usize) -> Vec<Line>,
    sheet: &Sheet,
    ui: &mut Ui,
) {
    let width = area.width.min(READABLE);
    let lines = lines(usize::from(width).saturating_sub(4));
    let inside = panel(buffer, area, (width, framed(lines.len())), heading, sheet);
    page(buffer, area, inside, &lines, sheet, ui);
}

/// Draws lines in a panel over the sheet as [`over`] does, those that the search of the page finds marked.
pub(super) fn over_searched(
    buffer: &mut Buffer,
    area: Rect,
    heading: &str,
    lines: impl FnOnce(usize) -> Vec<Line>,
    sheet: &Sheet,
    ui: &mut Ui,
) {
    let width = area.width.min(READABLE);
    let mut lines = lines(usize::from(width).saturating_sub(4));
    let mut found = Vec::new();
    if !ui.page_search.is_empty() {
        for (at, line) in lines.iter_mut().enumerate() {
            if line.text.to_lowercase().contains(&ui.page_search) {
                line.tone = Tone::Match;
                found.push(at);
            }
        }
    }
    ui.seen.page_found = found;
    over(buffer, area, heading, |_| lines, sheet, ui);
}

/// Draws why there is no plan, over the steps that can be ticked all the same; returns the lines it took.
pub fn draw_no_plan(buffer: &mut Buffer, area: Rect, sheet: &Sheet) -> u16 {
    let heading = "this menu cannot be done, however early it starts";
    let width = usize::from(area.width.saturating_sub(4));
    let mut lines = Vec::new();
    for reason in sheet.reasons() {
        bullet(&mut lines, &reason, width, Tone::Plain);
    }
    let most = usize::from(area.height / 3).max(3);
    if lines.len() > most {
        lines.truncate(most - 1);
        lines.push(Line::plain("  … w reads all of it", Tone::Quiet));
    }
    let (head, body) = split_top(area, 1);
    title(
        buffer,
        head,
        heading,
        "",
        sheet.colour.style(Tone::Alarm),
        sheet.colour.style(Tone::Quiet),
    );
    let (body, _) = split_top(body, lines.len() as u16);
    let body = Rect {
        x: body.x.saturating_add(2),
        width: body.width.saturating_sub(4),
        ..body
    };
    scrolled(buffer, body, &lines, 0, sheet);
    1 + body.height
}

fn page(buffer: &mut Buffer, area: Rect, inside: Rect, lines: &[Line], sheet: &Sheet, ui: &mut Ui) {
    ui.seen.spots.push((area, Spot::Page));
    ui.seen.page_lines = (usize::from(inside.height), lines.len());
    ui.page_top = scrolled(buffer, inside, lines, ui.page_top, sheet);
    for (line, y) in lines
        .iter()
        .skip(ui.page_top)
        .zip(inside.top()..inside.bottom())
    {
        if let Some(action) = line.does {
            let spot = Rect::new(inside.x, y, inside.width, 1);
            ui.seen.spots.push((spot, Spot::Hint(action)));
        }
    }
    put_extent(buffer, inside, ui.page_top, lines.len(), sheet);
}

fn help_lines(width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    for group in Group::ALL {
        heading(&mut lines, group.heading());
        for doing in TABLE.iter().filter(|doing| doing.group == group) {
            let keys: Vec<String> = doing.keys.iter().map(|key| key.name()).collect();
            let keys = format!("  {}", keys.join(" or "));
            for (index, line) in wrap(doing.help, width.saturating_sub(KEYS))
                .into_iter()
                .enumerate()
            {
                let keys = if index == 0 { keys.as_str() } else { "" };
                lines.push(Line {
                    text: format!("{}{line}", fit(keys, KEYS)),
                    tone: Tone::Plain,
                    lead: KEYS as u16,
                    lead_tone: Tone::Key,
                    does: Some(doing.action),
                });
            }
        }
    }
    heading(&mut lines, "The mouse");
    for text in [
        "a click selects a step, a dish or a part of a bar; another opens its card",
        "the wheel scrolls what is under it; the words in the last line can be clicked, and so can each line of this page: it does what its key does",
        "most terminals let you mark text as usual while Shift is held",
    ] {
        lines.extend(
            wrap(text, width.saturating_sub(2))
                .into_iter()
                .map(|line| Line::plain(format!("  {line}"), Tone::Plain)),
        );
    }
    heading(&mut lines, "Marks of the countdown");
    for standing in Standing::ALL {
        lines.push(Line {
            text: format!(
                "  {} {:10} {}",
                mark(standing),
                standing.word(),
                meaning(standing)
            ),
            tone: Tone::Plain,
            lead: 14,
            lead_tone: Tone::State(standing),
            does: None,
        });
    }
    lines.push(Line::plain(
        "  ? needed     no plan holds: when it would have had to start",
        Tone::Plain,
    ));
    heading(&mut lines, "Signs of the timeline");
    lines.extend(timeline::legend_lines());
    lines.push(Line::plain(
        "  The selected step is underlined.",
        Tone::Plain,
    ));
    lines
}

fn meaning(standing: Standing) -> &'static str {
    match standing {
        Standing::Late => "should have started by now and has not",
        Standing::RunningLong => "runs past its planned end",
        Standing::Running => "has been started",
        Standing::Due => "starts within a quarter of an hour",
        Standing::Unticked => "must be over, by what has begun since; tick it",
        Standing::Ready => "nothing it waits for is open",
        Standing::Waiting => "waits for other steps",
        Standing::ToDo => "not begun, and no plan says when",
        Standing::Done => "is over",
        Standing::Skipped => "will not be done",
    }
}

fn why_lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let reasons = sheet.reasons();
    heading(&mut lines, "The plan");
    if reasons.is_empty() {
        let said = match sheet.outcome {
            Some(PlanOutcome::Planned(_)) => "it can be done as planned",
            _ => "it is being counted back",
        };
        bullet(&mut lines, said, width, Tone::Plain);
    }
    for reason in &reasons {
        bullet(&mut lines, reason, width, Tone::Plain);
    }
    ways_out(&mut lines, sheet, width);
    if let Some(PlanOutcome::TooLate { needed, late, .. }) = &sheet.outcome {
        if !late.is_empty() {
            heading(&mut lines, "Steps that come too late");
        }
        for one in late {
            if let Some(step) = needed.steps.get(one.step) {
                let when = super::super::view::day_and_clock(sheet.service, one.latest);
                bullet(
                    &mut lines,
                    &format!("{} ({}): by {when}", step.name, step.key),
                    width,
                    Tone::State(Standing::Late),
                );
            }
        }
    }
    if !sheet.lacks.is_empty() {
        heading(&mut lines, "Made for fewer");
        for lacks in &sheet.lacks {
            bullet(&mut lines, &clean(lacks), width, Tone::Caution);
        }
    }
    let past: Vec<_> = sheet
        .view
        .dishes
        .iter()
        .filter_map(|dish| Some((dish, dish.past_best?)))
        .collect();
    if !past.is_empty() {
        heading(&mut lines, "Past its best");
        for (dish, by) in past {
            bullet(
                &mut lines,
                &format!("{}: by {by} when it is served", dish.name),
                width,
                Tone::Plain,
            );
        }
    }
    heading(&mut lines, "Notices");
    if sheet.notices.is_empty() {
        bullet(&mut lines, "none", width, Tone::Plain);
    }
    for notice in &sheet.notices {
        bullet(&mut lines, notice, width, Tone::Plain);
    }
    lines
}

/// What would make a plan possible, where there is none.
fn ways_out(lines: &mut Vec<Line>, sheet: &Sheet, width: usize) {
    if !matches!(
        sheet.outcome,
        Some(PlanOutcome::TooLate { .. } | PlanOutcome::Impossible(_))
    ) {
        return;
    }
    heading(lines, "Ways out, each of them planned");
    let said = match sheet.ways_out.as_deref() {
        None => "being tried, one after another",
        Some([]) => "no single change that was tried makes it possible",
        Some(ways) => {
            for way in ways {
                bullet(lines, &way.says, width, Tone::Plain);
            }
            return;
        }
    };
    bullet(lines, said, width, Tone::Quiet);
}

pub(super) fn heading(lines: &mut Vec<Line>, text: &str) {
    if !lines.is_empty() {
        lines.push(Line::plain("", Tone::Plain));
    }
    lines.push(Line::plain(text, Tone::Heading));
}

pub(super) fn bullet(lines: &mut Vec<Line>, text: &str, width: usize, tone: Tone) {
    for (index, line) in wrap(text, width.saturating_sub(2)).into_iter().enumerate() {
        let sign = if index == 0 { "·" } else { " " };
        lines.push(Line::plain(format!("{sign} {line}"), tone));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widgets::text::columns;

    #[test]
    fn the_help_names_every_key_and_how_to_leave() {
        let text: String = help_lines(76)
            .into_iter()
            .map(|line| line.text + "\n")
            .collect();
        for doing in TABLE {
            for key in doing.keys {
                assert!(text.contains(&key.name()), "{} is missing", key.name());
            }
        }
        assert!(text.contains("q or Ctrl-C"));
    }

    #[test]
    fn the_help_never_exceeds_its_width() {
        for width in [76, 96] {
            for line in help_lines(width) {
                assert!(
                    columns(&line.text) <= width.max(60),
                    "{width}: {:?}",
                    line.text
                );
            }
        }
    }
}
