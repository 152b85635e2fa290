//! The first lines: which banquet, what time it is, and what must be known before anything else.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use crate::plan::PlanOutcome;
use crate::prep::Call;
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;
use crate::tui::view::day_and_clock;
use crate::tui::widgets::text::{columns, cut, fit, put, wrap};
use crate::tui::words;

/// Notices shown under the header at most; the others are a key away.
const NOTICES: usize = 3;

/// Calls shown under the header at most.
const CALLS: usize = 2;

/// Returns how many lines the header takes.
pub(super) fn height(sheet: &Sheet, ui: &Ui, width: u16) -> u16 {
    1 + below(sheet, ui, width).len() as u16
}

/// Draws the header.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &Ui) {
    if area.height == 0 {
        return;
    }
    let now = sheet.now_minute();
    let clock = sheet.now.local(sheet.service.zone()).weekday_clock();
    let right = format!("now {clock}  {}", now.countdown());
    let covers = sheet.menu.covers;
    let tail = format!(
        " · {} · {covers} covers",
        day_and_clock(sheet.service, crate::time::Minute::SERVICE)
    );
    let room = usize::from(area.width).saturating_sub(columns(&right) + 2);
    let name = cut(&sheet.menu.name, room.saturating_sub(columns(&tail)));
    let heading = sheet.colour.style(Tone::Heading);
    let taken = put(buffer, area.x, area.y, room as u16, &name, heading);
    put(
        buffer,
        area.x + taken,
        area.y,
        (room as u16).saturating_sub(taken),
        &tail,
        sheet.colour.style(Tone::Plain),
    );
    let wide = (columns(&right) as u16).min(area.width);
    put(
        buffer,
        area.right() - wide,
        area.y,
        wide,
        &right,
        sheet.colour.style(Tone::Now),
    );
    let lines = below(sheet, ui, area.width);
    for ((text, tone), y) in lines.into_iter().zip(area.y + 1..area.bottom()) {
        put(
            buffer,
            area.x,
            y,
            area.width,
            &fit(&text, usize::from(area.width)),
            sheet.colour.style(tone),
        );
    }
}

/// What calls and has not been answered, the most urgent in full.
fn calls(sheet: &Sheet, width: usize) -> Vec<(String, Tone)> {
    let hint = "  A heeds, P puts off";
    let hint = if sheet.wall { "" } else { hint };
    let shown = sheet.calls.iter().take(CALLS).enumerate();
    let more = sheet.calls.len().saturating_sub(CALLS);
    let line = |(index, call): (usize, &Call)| {
        let tail = match (index, more) {
            (0, _) => hint.to_owned(),
            (_, 0) => String::new(),
            (_, more) => format!("  and {more} more"),
        };
        let (sign, tone) = if call.is_urgent {
            ("!", Tone::Alarm)
        } else {
            ("•", Tone::Now)
        };
        let room = width.saturating_sub(columns(&tail) + 2);
        let text = match moment(sheet, call) {
            Some(moment) => cut_around(&call.says, &moment, room),
            None => cut(&call.says, room),
        };
        (format!("{sign} {text}{tail}"), tone)
    };
    shown.map(line).collect()
}

/// Returns the moment in what a call says that must be read, as it is written there: the last moment, where that is said.
fn moment(sheet: &Sheet, call: &Call) -> Option<String> {
    let step = call.step.as_ref();
    let window = step.and_then(|step| sheet.times()?.find(step));
    let window = window.map(|(_, step)| step.window);
    [call.by, window.map(|it| it.start), window.map(|it| it.end)]
        .into_iter()
        .flatten()
        .map(|minute| sheet.service.local(minute).weekday_clock())
        .find(|clock| call.says.contains(clock.as_str()))
}

/// Cuts a sentence to so many columns in the names that stand before a moment, and only then behind it: the moment and
/// the word that leads to it ("by", "until") stay.
fn cut_around(text: &str, moment: &str, room: usize) -> String {
    let Some((before, after)) = text.split_once(moment) else {
        return cut(text, room);
    };
    let word = before.trim_end().rfind(' ').unwrap_or(0);
    let (names, word) = before.split_at(word);
    let names = cut(names, room.saturating_sub(columns(word) + columns(moment)));
    let kept = format!("{names}{word}{moment}");
    let after = cut(after, room.saturating_sub(columns(&kept)));
    cut(&format!("{kept}{after}"), room)
}

fn below(sheet: &Sheet, ui: &Ui, width: u16) -> Vec<(String, Tone)> {
    let width = usize::from(width);
    let mut lines = vec![words::at_the_pass(sheet, width)];
    if let Some(PlanOutcome::TooLate { late, because, .. }) = &sheet.outcome {
        let said = words::banner(sheet, late, because);
        let mut banner = wrap(&format!("! {said}; w says more"), width);
        if banner.len() > 2 {
            // Where to read the rest must not be what is cut off.
            let hint = "… w says more";
            let room = width.saturating_sub(columns(hint) + 1);
            banner.truncate(2);
            banner[1] = format!(
                "{} {hint}",
                cut(&banner[1], room).trim_end_matches('…').trim_end()
            );
        }
        lines.extend(banner.into_iter().map(|line| (line, Tone::Alarm)));
    }
    lines.extend(calls(sheet, width));
    if ui.notices {
        let hint = "  (Esc puts away, w reads again)";
        let shown = sheet.notices.len().min(NOTICES);
        for (index, notice) in sheet.notices.iter().take(shown).enumerate() {
            let more = sheet.notices.len() - shown;
            let last = index + 1 == shown;
            let tail = match (last, more) {
                (false, _) => String::new(),
                (true, 0) => hint.to_owned(),
                (true, more) => format!("  (and {more} more: w; Esc puts away)"),
            };
            let text = cut(notice, width.saturating_sub(columns(&tail) + 2));
            lines.push((format!("· {text}{tail}"), Tone::Plain));
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moment_is_never_what_is_cut_off() {
        let says = "start Let the juice settle (Sea-buckthorn ice): by Thu 16:50 at the latest, straight on";
        for (room, cut) in [
            (200, says),
            (
                76,
                "start Let the juice settle (Sea-buckthorn ice): by Thu 16:50 at the latest,…",
            ),
            (
                60,
                "start Let the juice settle (Sea-buckthorn ice): by Thu 16:50",
            ),
            (40, "start Let the juice settle… by Thu 16:50"),
            (3, " b…"),
        ] {
            assert_eq!(cut_around(says, "Thu 16:50", room), cut, "{room}");
        }
        let said = cut_around(
            "what \"Smoke the tea\" made is at its best until Fri 10:00; x",
            "Fri 10:00",
            40,
        );
        assert_eq!(said, "what \"Smoke the tea\" ma… until Fri 10:00");
        assert_eq!(cut_around("look at it now", "Fri 10:00", 8), "look at…");
    }
}
