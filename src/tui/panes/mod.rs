//! The panes, one a file, and how they share the screen.
//!
//! Drawing reads the [`Sheet`] and may change only the [`Ui`]: it holds scroll offsets inside their bounds and
//! notes what it drew where, for the mouse. No pane calls another.

pub mod amounts;
pub mod busy;
pub mod card;
pub mod choices;
pub mod countdown;
pub mod filter;
pub mod footer;
pub mod handover;
pub mod header;
pub mod now;
pub mod orders;
mod others;
pub mod outlook;
pub mod pages;
mod ruler;
pub mod safety;
pub mod timeline;

use ratatui::buffer::{Buffer, CellWidth};
use ratatui::layout::{Position, Rect};
use ratatui::style::Style;

use super::action::Action;
use super::sheet::Sheet;
use super::theme::Tone;
use super::ui::{Open, Seen, Ui};
use super::widgets::text::{columns, fit, put};

/// The smallest terminal the sheet can be read on.
pub const SMALLEST: (u16, u16) = (80, 24);

/// The width from which the card stands beside the list.
const CARD_BESIDE: u16 = 110;

/// The height from which the legend stands under the timeline.
const LEGEND_FROM: u16 = 30;

/// Draws one frame; returns where the cursor stands, where a line is being typed.
pub fn draw(buffer: &mut Buffer, sheet: &Sheet, ui: &mut Ui) -> Option<Position> {
    let area = buffer.area;
    ui.seen = Seen::default();
    ui.too_small = area.width < SMALLEST.0 || area.height < SMALLEST.1;
    if ui.too_small {
        too_small(buffer, sheet);
        return None;
    }
    let header = header::height(sheet, ui, area.width);
    let (top, rest) = split_top(area, header);
    let (content, bottom) = split_top(rest, rest.height - 2);
    header::draw(buffer, top, sheet, ui);
    if sheet.outcome.is_none() {
        let line = Rect {
            y: content.y + content.height / 2,
            height: 1,
            ..content
        };
        centred(
            buffer,
            line,
            "counting back…",
            sheet.colour.style(Tone::Heading),
        );
    } else {
        draw_content(buffer, content, sheet, ui);
    }
    match ui.open {
        Some(Open::Card) => {
            wipe(buffer, content);
            card::draw(buffer, content, sheet, ui);
        }
        Some(Open::Help) => pages::draw_help(buffer, content, sheet, ui),
        Some(Open::Why) => pages::draw_why(buffer, content, sheet, ui),
        Some(Open::Chance) => outlook::draw_chance(buffer, content, sheet, ui),
        Some(Open::Better) => outlook::draw_better(buffer, content, sheet, ui),
        Some(Open::Temperatures) => safety::draw_temperatures(buffer, content, sheet, ui),
        Some(Open::Allergens) => safety::draw_allergens(buffer, content, sheet, ui),
        Some(Open::Orders) => orders::draw(buffer, content, sheet, ui),
        Some(Open::Amounts) => amounts::draw(buffer, content, sheet, ui),
        Some(Open::Filter) => filter::draw(buffer, content, sheet, ui),
        Some(open @ (Open::Change | Open::Ways | Open::Entries)) => {
            choices::draw_list(buffer, content, open, sheet, ui);
        }
        Some(Open::Now) => now::draw(buffer, content, sheet, ui),
        Some(Open::Busy) => busy::draw(buffer, content, sheet, ui),
        Some(Open::Handover) => handover::draw(buffer, content, sheet, ui),
        Some(Open::Trial) => choices::draw_trial(buffer, content, sheet, ui),
        None => {}
    }
    footer::draw(buffer, bottom, sheet, ui)
}

fn draw_content(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let mut left = area;
    if area.width >= CARD_BESIDE {
        let card = (area.width - SMALLEST.0).clamp(30, 62);
        left.width = area.width - card - 1;
        let edge = left.right();
        for y in area.y..area.bottom() {
            put(buffer, edge, y, 1, "│", sheet.colour.style(Tone::Quiet));
        }
        let right = Rect::new(edge + 1, area.y, card, area.height);
        ui.seen.card_beside = true;
        if ui.open == Some(Open::Card) {
            ui.open = None;
            ui.focus = super::ui::Focus::Card;
        }
        card::draw(buffer, right, sheet, ui);
    } else if ui.focus == super::ui::Focus::Card {
        ui.focus = super::ui::Focus::Countdown;
    }
    if sheet.has_no_plan() {
        if ui.focus == super::ui::Focus::Dishes {
            ui.focus = super::ui::Focus::Countdown;
        }
        let taken = pages::draw_no_plan(buffer, left, sheet);
        let (_, bottom) = split_top(left, taken);
        countdown::draw(buffer, bottom, sheet, ui);
        return;
    }
    let legend = u16::from(area.height >= LEGEND_FROM - 3);
    let dishes = sheet.view.dishes.len() as u16;
    let room = area.height.saturating_sub(ruler::LINES + legend + 2);
    let rows = dishes.min((room * 2 / 5).max(3));
    let (top, bottom) = split_top(left, ruler::LINES + rows + legend);
    timeline::draw(buffer, top, legend == 1, sheet, ui);
    countdown::draw(buffer, bottom, sheet, ui);
}

/// The one message that must be readable on any terminal, however small.
fn too_small(buffer: &mut Buffer, sheet: &Sheet) {
    let area = buffer.area;
    let text = format!(
        "countback needs {}×{}; this terminal is {}×{}",
        SMALLEST.0, SMALLEST.1, area.width, area.height
    );
    let lines = super::widgets::text::wrap(&text, usize::from(area.width));
    let top = area.y + area.height.saturating_sub(lines.len() as u16) / 2;
    for (line, y) in lines.iter().zip(top..area.bottom()) {
        centred(
            buffer,
            Rect::new(area.x, y, area.width, 1),
            line,
            sheet.colour.style(Tone::Plain),
        );
    }
}

fn centred(buffer: &mut Buffer, line: Rect, text: &str, style: Style) {
    let indent = usize::from(line.width).saturating_sub(columns(text)) / 2;
    let indent = indent as u16;
    put(
        buffer,
        line.x.saturating_add(indent),
        line.y,
        line.width.saturating_sub(indent),
        text,
        style,
    );
}

/// Splits so many lines off the top, as far as there are any.
fn split_top(area: Rect, height: u16) -> (Rect, Rect) {
    let height = height.min(area.height);
    (
        Rect { height, ..area },
        Rect {
            y: area.y + height,
            height: area.height - height,
            ..area
        },
    )
}

/// Empties an area, minding wide characters that reach into it.
fn wipe(buffer: &mut Buffer, area: Rect) {
    let area = area.intersection(buffer.area);
    for y in area.y..area.bottom() {
        if area.x > buffer.area.x {
            let before = &mut buffer[(area.x - 1, y)];
            if before.symbol().cell_width() > 1 {
                before.set_symbol(" ");
            }
        }
        for x in area.x..area.right() {
            buffer[(x, y)].reset();
        }
    }
}

/// Fills a line with one sign.
fn fill(buffer: &mut Buffer, line: Rect, sign: &str, style: Style) {
    let line = line.intersection(buffer.area);
    let signs = sign.repeat(usize::from(line.width));
    put(buffer, line.x, line.y, line.width, &signs, style);
}

/// Draws a title with a rule behind it, and something at its right end.
fn title(buffer: &mut Buffer, line: Rect, text: &str, right: &str, style: Style, rule: Style) {
    if line.height == 0 {
        return;
    }
    let width = usize::from(line.width);
    fill(buffer, line, "─", rule);
    let most = width.saturating_sub(if right.is_empty() {
        3
    } else {
        columns(right) + 6
    });
    let text = super::widgets::text::cut(text, most);
    if !text.is_empty() {
        put(
            buffer,
            line.x.saturating_add(2),
            line.y,
            (most + 2) as u16,
            &format!(" {text} "),
            style,
        );
    }
    if !right.is_empty() && width > columns(right) + 4 {
        let x = line.right() - (columns(right) + 3) as u16;
        put(
            buffer,
            x,
            line.y,
            (columns(right) + 2) as u16,
            &format!(" {right} "),
            rule,
        );
    }
}

/// Returns "12–22 of 96" where not all is in view.
fn extent(top: usize, fit: usize, all: usize) -> String {
    if all <= fit {
        return String::new();
    }
    format!("{}–{} of {all}", top + 1, (top + fit).min(all))
}

/// Returns how high a panel of so many lines wants to be, its frame included.
fn framed(lines: usize) -> u16 {
    u16::try_from(lines.saturating_add(2)).unwrap_or(u16::MAX)
}

/// Writes into the lower edge of a panel which of its lines are in view, where not all are.
fn put_extent(buffer: &mut Buffer, inside: Rect, top: usize, all: usize, sheet: &Sheet) {
    let seen = extent(top, usize::from(inside.height), all);
    let wide = columns(&seen) as u16;
    let x = inside.right().saturating_sub(wide);
    let style = sheet.colour.style(Tone::Key);
    put(buffer, x, inside.bottom(), wide, &seen, style);
}

/// Draws a box in the middle of an area and returns the room inside it.
fn panel(
    buffer: &mut Buffer,
    area: Rect,
    wanted: (u16, u16),
    heading: &str,
    sheet: &Sheet,
) -> Rect {
    let (width, height) = (wanted.0.min(area.width), wanted.1.min(area.height));
    let frame = Rect::new(
        area.x + (area.width - width) / 2,
        area.y + (area.height - height) / 2,
        width,
        height,
    );
    wipe(buffer, frame);
    if width < 4 || height < 3 {
        return Rect {
            width: 0,
            height: 0,
            ..frame
        };
    }
    let style = sheet.colour.style(Tone::Heading);
    let inside = usize::from(width - 2);
    put(
        buffer,
        frame.x,
        frame.y,
        width,
        &format!("┌{}┐", "─".repeat(inside)),
        style,
    );
    put(
        buffer,
        frame.x,
        frame.bottom() - 1,
        width,
        &format!("└{}┘", "─".repeat(inside)),
        style,
    );
    for y in frame.y + 1..frame.bottom() - 1 {
        put(buffer, frame.x, y, 1, "│", style);
        put(buffer, frame.right() - 1, y, 1, "│", style);
    }
    put(
        buffer,
        frame.x + 2,
        frame.y,
        width.saturating_sub(4),
        &format!(" {heading} "),
        style,
    );
    Rect::new(frame.x + 2, frame.y + 1, width - 4, height - 2)
}

/// Draws lines from a scroll offset, which is held inside its bounds; returns the offset.
fn scrolled(buffer: &mut Buffer, area: Rect, lines: &[Line], top: usize, sheet: &Sheet) -> usize {
    let fit_lines = usize::from(area.height);
    let top = top.min(lines.len().saturating_sub(fit_lines));
    for (line, y) in lines.iter().skip(top).zip(area.y..area.bottom()) {
        let text = fit(&line.text, usize::from(area.width));
        put(
            buffer,
            area.x,
            y,
            area.width,
            &text,
            sheet.colour.style(line.tone),
        );
        if line.lead > 0 {
            let lead = Rect::new(area.x, y, line.lead.min(area.width), 1);
            buffer.set_style(
                lead.intersection(buffer.area),
                sheet.colour.style(line.lead_tone),
            );
        }
    }
    top
}

/// A line of running text; its first columns may be drawn in another tone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// The whole text.
    pub text: String,
    /// How it is drawn.
    pub tone: Tone,
    /// Columns of the lead.
    pub lead: u16,
    /// How the lead is drawn.
    pub lead_tone: Tone,
    /// What a click on it does.
    pub does: Option<Action>,
}

impl Line {
    fn plain(text: impl Into<String>, tone: Tone) -> Self {
        Self {
            text: text.into(),
            tone,
            lead: 0,
            lead_tone: tone,
            does: None,
        }
    }
}
