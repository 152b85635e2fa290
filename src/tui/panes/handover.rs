//! The handover: what the next shift has to know.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Line;
use super::pages::{bullet, heading, over};
use crate::prep::{HandedOver, Handover, HandoverLine};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;

/// Draws the handover over the sheet.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = "handover: Esc closes it, ↑ ↓ scroll, i notes something";
    over(buffer, area, title, |width| lines(sheet, width), sheet, ui);
}

fn lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let calls: Vec<String> = sheet.calls.iter().map(|call| call.says.clone()).collect();
    let now = sheet.now_minute();
    let handover = Handover::of(HandedOver {
        menu: &sheet.menu,
        service: sheet.service,
        outcome: sheet.outcome.as_ref(),
        entries: &sheet.entries,
        prep: &sheet.prep,
        calls: &calls,
        lacks: &sheet.lacks,
        errands: &sheet.view.errands,
        now,
    });
    let mut lines = Vec::new();
    for line in handover.lines(sheet.service, now) {
        match line {
            HandoverLine::Heading(text) => heading(&mut lines, &text),
            HandoverLine::Alarm(text) => {
                bullet(&mut lines, &text, width, Tone::Alarm);
            }
            HandoverLine::Plain(text) => bullet(&mut lines, &text, width, Tone::Plain),
        }
    }
    // Blank lines between headings would cost the page its end at 24 lines.
    lines.retain(|line| !line.text.is_empty());
    lines
}
