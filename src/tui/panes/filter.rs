//! The filter panel.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Modifier;

use super::{framed, panel, put_extent};
use crate::tui::filters::choices;
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::{Spot, Ui};
use crate::tui::widgets::text::{fit, put};

/// A line of the panel: a heading, or a choice by its place.
enum Shown {
    Heading(&'static str),
    Choice(usize),
}

/// Draws the panel.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let all = choices(sheet);
    let mut shown = Vec::new();
    for (index, choice) in all.iter().enumerate() {
        if index == 0 || all[index - 1].kind() != choice.kind() {
            shown.push(Shown::Heading(choice.kind()));
        }
        shown.push(Shown::Choice(index));
    }
    let wanted = (area.width.min(64), framed(shown.len()));
    let inside = panel(
        buffer,
        area,
        wanted,
        "list only: Space chooses, Tab next kind, Esc closes",
        sheet,
    );
    ui.seen.spots.push((area, Spot::Page));
    let fit_lines = usize::from(inside.height);
    ui.filter_at = ui.filter_at.min(all.len().saturating_sub(1));
    let at = shown
        .iter()
        .position(|line| matches!(line, Shown::Choice(index) if *index == ui.filter_at))
        .unwrap_or(0);
    ui.filter_top = ui
        .filter_top
        .clamp((at + 1).saturating_sub(fit_lines.max(1)), at);
    if ui.filter_top == at && at > 0 && fit_lines > 1 && matches!(shown[at - 1], Shown::Heading(_))
    {
        ui.filter_top -= 1;
    }
    ui.filter_top = ui.filter_top.min(shown.len().saturating_sub(fit_lines));
    for (line, y) in shown
        .iter()
        .skip(ui.filter_top)
        .zip(inside.y..inside.bottom())
    {
        match line {
            Shown::Heading(kind) => {
                put(
                    buffer,
                    inside.x,
                    y,
                    inside.width,
                    kind,
                    sheet.colour.style(Tone::Heading),
                );
            }
            Shown::Choice(index) => {
                let choice = &all[*index];
                let chosen = if choice.is_chosen(&ui.filter) {
                    "[x]"
                } else {
                    "[ ]"
                };
                let selected = ui.filter_at == *index;
                let marker = if selected { "▸" } else { " " };
                let text = format!("{marker} {chosen} {}", choice.name(sheet));
                let mut style = sheet.colour.style(Tone::Plain);
                if selected {
                    style = style.add_modifier(Modifier::REVERSED);
                }
                put(
                    buffer,
                    inside.x,
                    y,
                    inside.width,
                    &fit(&text, usize::from(inside.width)),
                    style,
                );
                let place = Rect {
                    y,
                    height: 1,
                    ..inside
                };
                ui.seen.spots.push((place, Spot::Choice(*index)));
            }
        }
    }
    put_extent(buffer, inside, ui.filter_top, shown.len(), sheet);
}
