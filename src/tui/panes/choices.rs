//! Pages that are lists to choose from, and the page that shows a decision before it is taken.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Modifier;

use super::pages::{bullet, heading, over};
use super::{Line, framed, panel, put_extent};
use crate::plan::PlanOutcome;
use crate::prep::in_time_but;
use crate::tui::choices::Choices;
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::{Open, Spot, Ui};
use crate::tui::widgets::text::{clean, fit, put};

/// Columns of a list page at most.
const WIDEST: u16 = 120;

/// Draws the list page that is open.
pub fn draw_list(buffer: &mut Buffer, area: Rect, open: Open, sheet: &Sheet, ui: &mut Ui) {
    let title = match open {
        Open::Change => "otherwise than the menu says: Enter shows what would come of it",
        Open::Ways => "ways out: Enter shows what comes of one, Esc closes",
        _ => "the book: u takes the selected entry back, R brings it back, Esc closes",
    };
    let lines = Choices::of(sheet, open);
    let wanted = (area.width.min(WIDEST), framed(lines.count()));
    let inside = panel(buffer, area, wanted, title, sheet);
    ui.seen.spots.push((area, Spot::Page));
    let fit_lines = usize::from(inside.height);
    ui.seen.page_lines = (fit_lines, lines.count());
    let at = lines.selected(ui);
    if let Some(at) = at {
        ui.choice_at = at;
    }
    let at = at.unwrap_or(0);
    ui.choice_top = ui
        .choice_top
        .clamp((at + 1).saturating_sub(fit_lines.max(1)), at);
    if ui.choice_top == at && at > 0 && fit_lines > 1 && !lines.can_be_chosen(at - 1) {
        ui.choice_top -= 1;
    }
    ui.choice_top = ui.choice_top.min(lines.count().saturating_sub(fit_lines));
    for (place, y) in (ui.choice_top..).zip(inside.y..inside.bottom()) {
        let Some(line) = lines.get(place) else { break };
        let mut style = sheet.colour.style(line.tone);
        let chosen = line.can_be_chosen() && place == at;
        let text = match (line.can_be_chosen(), chosen) {
            (false, _) => line.text.clone(),
            (true, false) => format!("  {}", line.text),
            (true, true) => format!("▸ {}", line.text),
        };
        if chosen {
            style = style.add_modifier(Modifier::REVERSED);
        }
        let text = fit(&clean(&text), usize::from(inside.width));
        put(buffer, inside.x, y, inside.width, &text, style);
        if line.can_be_chosen() {
            let spot = Rect {
                y,
                height: 1,
                ..inside
            };
            ui.seen.spots.push((spot, Spot::Choice(place)));
        }
    }
    put_extent(buffer, inside, ui.choice_top, lines.count(), sheet);
}

/// Draws what would become of a decision.
pub fn draw_trial(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = "before it is decided: Enter takes it, Esc leaves everything as it is";
    let lines = |width| trial_lines(sheet, width);
    over(buffer, area, title, lines, sheet, ui);
}

/// Says why something cannot be done, below what comes of it.
fn explained(lines: &mut Vec<Line>, why: &[String], width: usize) {
    if !why.is_empty() {
        heading(lines, "Why");
    }
    for why in why {
        bullet(lines, &clean(why), width, Tone::Plain);
    }
}

fn trial_lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut why = Vec::new();
    let Some(trial) = &sheet.trial else {
        return lines;
    };
    heading(&mut lines, &clean(&trial.says));
    match &trial.outcome {
        None => bullet(&mut lines, "it is being planned…", width, Tone::Quiet),
        Some(PlanOutcome::Planned(_)) => {
            let said = match &sheet.outcome {
                Some(PlanOutcome::Planned(_)) => "it can be done, as before",
                _ => "it can then be done",
            };
            bullet(&mut lines, said, width, Tone::Good);
        }
        Some(
            outcome @ (PlanOutcome::TooLate { because, .. } | PlanOutcome::Impossible(because)),
        ) => {
            let (said, tone) = match in_time_but(outcome) {
                Some(said) => (said, Tone::Caution),
                None => ("it cannot then be done in time", Tone::Alarm),
            };
            bullet(&mut lines, said, width, tone);
            let behind = outcome.only_behind();
            for stays in behind.iter().flat_map(|plan| plan.overtime_words()) {
                bullet(&mut lines, &clean(&stays), width, Tone::Plain);
            }
            why.extend(because.iter().cloned());
        }
    }
    let Some(comparison) = sheet.comparison() else {
        explained(&mut lines, &why, width);
        return lines;
    };
    heading(&mut lines, "Dishes, before → after");
    for dish in &comparison.dishes {
        bullet(&mut lines, &clean(&dish.words()), width, Tone::Plain);
    }
    if comparison.dishes.is_empty() {
        bullet(&mut lines, "every dish as before", width, Tone::Plain);
    }
    for said in &trial.remarks {
        bullet(&mut lines, &clean(said), width, Tone::Caution);
    }
    explained(&mut lines, &why, width);
    heading(&mut lines, "Steps that move");
    for one in &comparison.moves {
        bullet(
            &mut lines,
            &clean(&one.words(sheet.service)),
            width,
            Tone::Plain,
        );
    }
    if comparison.moves.is_empty() {
        bullet(&mut lines, "none", width, Tone::Plain);
    }
    for (title, names) in [
        ("Steps there are more", &comparison.new),
        ("Steps there are no more", &comparison.gone),
    ] {
        if !names.is_empty() {
            heading(&mut lines, title);
            for name in names {
                bullet(&mut lines, &clean(name), width, Tone::Plain);
            }
        }
    }
    lines
}
