//! Now and next, to be read from two metres: large minutes, few words, what matters most on top.
//!
//! Where it is wide enough, what wants hands stands on the left and what runs on the right; else one stands below the
//! other, and each gets half of what fits, or more where the other needs less. What does not fit is on further pages.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use super::{extent, split_top, title, wipe};
use crate::prep::{NowAndNext, Of, Runs, Want, Wants, done_words, limit};
use crate::time::{Minute, Minutes};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::{Filter, Spot, Ui};
use crate::tui::widgets::digits;
use crate::tui::widgets::text::{cut, put, wrap};

/// The width from which the two lists stand side by side.
const BESIDE: u16 = 110;

/// The height from which the time of day stands on top, large.
const CLOCK_FROM: u16 = 27;

/// Lines of one entry, with the empty one after it.
const BLOCK: u16 = digits::LINES + 1;

/// Columns of the number, and of it with its unit and the room before the words.
const NUMBER: u16 = 15;
const LEAD: u16 = NUMBER + 6;

/// One entry as it is drawn.
struct Block {
    /// The number, as `digits` draws it.
    number: String,
    /// What stands behind it in small letters.
    unit: &'static str,
    /// How the number and the name are drawn.
    tone: Tone,
    /// What it is, in capitals.
    name: String,
    /// What else there is to know, a line each.
    about: Vec<String>,
}

/// Returns what the page shows: what the sheet knows, as far as its filters let it pass.
pub fn content(sheet: &Sheet, filter: &Filter) -> NowAndNext {
    let now = sheet.now_minute();
    let mut content = NowAndNext::of(&sheet.menu, sheet.times(), &sheet.prep, sheet.service, now);
    content.only(|of| passes(sheet, filter, of));
    content.near(now);
    content
}

/// Whether the filters of the list let something pass. What is nobody's in particular is everybody's.
fn passes(sheet: &Sheet, filter: &Filter, of: &Of) -> bool {
    let dish = sheet
        .menu
        .dishes
        .iter()
        .position(|dish| dish.id == of.key.dish);
    (filter.dishes.is_empty() || dish.is_some_and(|dish| filter.dishes.contains(&dish)))
        && (filter.cooks.is_empty()
            || of.cooks.is_empty()
            || of.cooks.iter().any(|cook| filter.cooks.contains(cook)))
        && (filter.stations.is_empty()
            || of
                .station
                .as_ref()
                .is_none_or(|it| filter.stations.contains(it)))
}

/// Draws the page.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    wipe(buffer, area);
    ui.seen.spots.push((area, Spot::Page));
    let content = content(sheet, &ui.filter);
    let (top, rest) = split_top(
        area,
        if area.height >= CLOCK_FROM {
            BLOCK + 1
        } else {
            0
        },
    );
    draw_clock(buffer, top, sheet, &content, ui);
    let now = sheet.now_minute();
    let needed = sheet.view.needed_only;
    let wants: Vec<Block> = content
        .wants
        .iter()
        .map(|it| want(sheet, it, now, needed))
        .collect();
    let runs: Vec<Block> = content.runs.iter().map(|it| run(sheet, it, now)).collect();
    let whose = whose(&ui.filter);
    let (one, other) = parted(rest, wants.len(), runs.len());
    let pages = pages(one, wants.len()).max(pages(other, runs.len()));
    ui.seen.page_lines = (1, pages);
    ui.page_top = ui.page_top.min(pages - 1);
    let nothing = match (
        content.over == content.steps,
        content.untimed,
        &sheet.outcome,
    ) {
        (_, _, None) => "counting back…".to_owned(),
        (true, ..) => "everything is done".to_owned(),
        (false, 0, _) => "nothing wants hands".to_owned(),
        (false, 1, _) => "1 step has not begun, and no plan says when".to_owned(),
        (false, many, _) => format!("{many} steps have not begun, and no plan says when"),
    };
    let untimed = match content.untimed {
        0 => String::new(),
        1 => " · 1 step has no time".to_owned(),
        many => format!(" · {many} steps have no time"),
    };
    let heading = format!("wants hands{whose}{untimed}");
    list(buffer, one, &heading, &wants, &nothing, sheet, ui);
    list(buffer, other, "runs", &runs, "nothing runs", sheet, ui);
}

/// Parts the room between the two lists.
fn parted(area: Rect, wants: usize, runs: usize) -> (Rect, Rect) {
    if area.width >= BESIDE {
        let left = area.width / 2;
        let right = Rect::new(area.x + left, area.y, area.width - left, area.height);
        return (
            Rect {
                width: left - 1,
                ..area
            },
            right,
        );
    }
    let all = usize::from((area.height.saturating_sub(2) + 1) / BLOCK).max(2);
    let half = all - all / 2;
    let least = |count: usize| count.max(1);
    let first = if least(runs) < all / 2 {
        (all - least(runs)).min(least(wants))
    } else {
        half.min(least(wants))
    };
    split_top(area, 1 + first as u16 * BLOCK)
}

/// Returns how many entries fit under the heading of a list.
fn fits(area: Rect) -> usize {
    usize::from(area.height / BLOCK).max(1)
}

fn pages(area: Rect, count: usize) -> usize {
    count.div_ceil(fits(area)).max(1)
}

fn whose(filter: &Filter) -> String {
    let named: Vec<&str> = filter
        .cooks
        .iter()
        .chain(&filter.stations)
        .map(String::as_str)
        .collect();
    match named.as_slice() {
        [] => String::new(),
        named => format!(": {}", named.join(", ")),
    }
}

fn list(
    buffer: &mut Buffer,
    area: Rect,
    heading: &str,
    blocks: &[Block],
    nothing: &str,
    sheet: &Sheet,
    ui: &Ui,
) {
    let (head, body) = split_top(area, 1);
    let fit = fits(area);
    let page = ui.page_top.min(blocks.len().div_ceil(fit).max(1) - 1);
    let style = |tone| sheet.colour.style(tone);
    let seen = extent(page * fit, fit, blocks.len());
    title(
        buffer,
        head,
        heading,
        &seen,
        style(Tone::Heading),
        style(Tone::Quiet),
    );
    if blocks.is_empty() {
        let (x, most) = (body.x + 2, body.width.saturating_sub(2));
        let upper = cut(&nothing.to_uppercase(), usize::from(most));
        put(
            buffer,
            x,
            body.y + 1.min(body.height.saturating_sub(1)),
            most,
            &upper,
            style(Tone::Heading),
        );
        return;
    }
    let mut top = body;
    for block in blocks.iter().skip(page * fit).take(fit) {
        draw_block(buffer, top, block, sheet, ui);
        (_, top) = split_top(top, BLOCK);
    }
}

fn draw_block(buffer: &mut Buffer, area: Rect, block: &Block, sheet: &Sheet, ui: &Ui) {
    let style: Style = sheet.colour.style(block.tone);
    let bottom = area.bottom().min(area.y.saturating_add(digits::LINES));
    if area.height < digits::LINES {
        return;
    }
    let right = (area.x + NUMBER, area.y);
    digits::put_right(buffer, right, NUMBER, &block.number, ui.signs, style);
    put(
        buffer,
        area.x + NUMBER + 1,
        bottom - 1,
        4,
        block.unit,
        sheet.colour.style(Tone::Plain),
    );
    let (x, room) = (area.x + LEAD, area.width.saturating_sub(LEAD));
    let mut names = wrap(&block.name, usize::from(room));
    if names.len() > 2 {
        let tail = names.split_off(1).join(" ");
        names.push(cut(&tail, usize::from(room)));
    }
    let about = block.about.iter().map(|text| (text.as_str(), Tone::Plain));
    let lines = names
        .iter()
        .map(|name| (name.as_str(), block.tone))
        .chain(about);
    for ((text, tone), y) in lines.zip(area.y..bottom) {
        let tone = if tone == Tone::Plain {
            tone
        } else {
            weight(tone)
        };
        put(
            buffer,
            x,
            y,
            room,
            &cut(text, usize::from(room)),
            sheet.colour.style(tone),
        );
    }
}

/// Names are bold whatever they mean.
fn weight(tone: Tone) -> Tone {
    match tone {
        Tone::Alarm | Tone::Now => tone,
        _ => Tone::Heading,
    }
}

fn draw_clock(buffer: &mut Buffer, area: Rect, sheet: &Sheet, content: &NowAndNext, ui: &Ui) {
    if area.height < BLOCK {
        return;
    }
    let now = sheet.now_minute();
    let clock = sheet.now.local(sheet.service.zone());
    let style = sheet.colour.style(Tone::Now);
    let y = area.y + 1;
    let taken = digits::put_right(
        buffer,
        (area.x + 20, y),
        19,
        &clock.clock(),
        ui.signs,
        style,
    );
    let x = area.x + 20 + 3;
    debug_assert!(taken <= 19);
    let most = area.width.saturating_sub(23);
    let day = crate::tui::view::day_heading(clock.date);
    put(
        buffer,
        x,
        y,
        most,
        &day.to_uppercase(),
        sheet.colour.style(Tone::Heading),
    );
    put(buffer, x, y + 1, most, &now.countdown(), style);
    let done = done_words(content.over, content.skipped, content.steps);
    put(
        buffer,
        x,
        y + 2,
        most,
        &done,
        sheet.colour.style(Tone::Plain),
    );
}

fn want(sheet: &Sheet, wants: &Wants, now: Minute, needed: bool) -> Block {
    let clock = |minute: Minute| sheet.service.local(minute).clock();
    let left = wants.at - now;
    let due = left <= Minutes::ZERO;
    let when = match (wants.what, needed && wants.what == Want::Start) {
        (_, true) => format!("needed by {}", clock(wants.at)),
        (Want::Start, false) => match wants.was {
            Some(was) => format!("at {}, was {}", clock(wants.at), near(sheet, was, now)),
            None => format!("at {}", clock(wants.at)),
        },
        (Want::Look | Want::TakeOff, false) => clock(wants.at),
    };
    let is_overdue = wants.is_late && left < Minutes::ZERO;
    let latest = latest(sheet, wants).map(|latest| near(sheet, latest, now));
    let when = match latest {
        // How late it is says when it should have been.
        Some(latest) if is_overdue => format!("latest {latest}"),
        Some(latest) => format!("{when}, latest {latest}"),
        None => when,
    };
    let mut about = Vec::new();
    if is_overdue {
        about.push(format!("{} LATE", spelt(-left)));
    }
    about.push(when);
    if wants.hands > 1 {
        about.push(format!("{} hands", wants.hands));
    }
    let cooks = wants.of.cooks.join(", ");
    about.extend((!cooks.is_empty()).then_some(cooks));
    about.extend(wants.of.station.clone());
    let (number, unit) = if due {
        ("now".to_owned(), "")
    } else {
        number(left)
    };
    let tone = match (wants.is_late, due) {
        (true, _) => Tone::Alarm,
        (false, true) => Tone::Now,
        (false, false) => Tone::Heading,
    };
    Block {
        number,
        unit,
        tone,
        name: format!("{}: {}", wants.what.word(), wants.of.name).to_uppercase(),
        about: vec![about.join(" · "), wants.of.dish.clone()],
    }
}

/// Returns the last moment at which what wants hands can still be done with every course in time, where that is known and
/// is not the moment planned.
fn latest(sheet: &Sheet, wants: &Wants) -> Option<Minute> {
    let latest = match wants.what {
        Want::Start => {
            let plan = sheet.times().filter(|_| !sheet.view.needed_only)?;
            let (index, step) = plan.find(&wants.of.key)?;
            let card = limit(&sheet.menu, plan, index).map(|(limit, _)| limit);
            card.into_iter().fold(step.can_slip_until, Minute::min)
        }
        Want::TakeOff => *sheet.latest_ends.get(&wants.of.key)?,
        Want::Look => return None,
    };
    (latest > wants.at).then_some(latest)
}

/// Returns the clock at a minute, with the day where that is not today.
fn near(sheet: &Sheet, minute: Minute, now: Minute) -> String {
    let (then, today) = (sheet.service.local(minute), sheet.service.local(now));
    if then.date == today.date {
        then.clock()
    } else {
        then.weekday_clock()
    }
}

fn run(sheet: &Sheet, runs: &Runs, now: Minute) -> Block {
    let clock = |minute: Minute| near(sheet, minute, now);
    let mut about = Vec::new();
    let (number, unit, tone) = match runs.left(now) {
        Some(left) if left > Minutes::ZERO => {
            about.extend(runs.end.map(|end| format!("until {}", clock(end))));
            let (number, unit) = self::number(left);
            (number, unit, Tone::Heading)
        }
        Some(Minutes::ZERO) => {
            about.push("to be OVER by now".to_owned());
            ("now".to_owned(), "", Tone::Now)
        }
        Some(left) => {
            about.extend(runs.end.map(|end| format!("OVER since {}", clock(end))));
            let (number, _) = self::number(-left);
            (number, "over", Tone::Alarm)
        }
        None => {
            let (number, _) = self::number(now - runs.since);
            about.push("its end is not known".to_owned());
            (number, "gone", Tone::Heading)
        }
    };
    about.extend(runs.look.map(|look| format!("look at {}", clock(look))));
    about.push(format!("since {}", clock(runs.since)));
    let test = runs.until.as_ref().map(|until| format!("until {until}"));
    let second = match test {
        Some(test) => format!("{test} · {}", runs.of.dish),
        None => runs.of.dish.clone(),
    };
    Block {
        number,
        unit,
        tone,
        name: runs.of.name.to_uppercase(),
        about: vec![about.join(" · "), second],
    }
}

/// Returns a length as it is drawn large, and its unit: `12` min, `1h05`, `26h`, `5d`.
fn number(length: Minutes) -> (String, &'static str) {
    let total = length.0.max(0);
    match (total / 60, total % 60) {
        (0, minutes) => (minutes.to_string(), "min"),
        (hours @ 1..=9, minutes) => (format!("{hours}h{minutes:02}"), ""),
        (hours @ 10..=99, _) => (format!("{hours}h"), ""),
        (hours, _) => (format!("{}d", (hours / 24).min(999)), ""),
    }
}

fn spelt(length: Minutes) -> String {
    length.to_string().to_uppercase()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widgets::text::columns;

    #[test]
    fn lengths_fit_their_number() {
        for (minutes, said) in [
            (0, "0"),
            (59, "59"),
            (65, "1h05"),
            (599, "9h59"),
            (601, "10h"),
            (6001, "4d"),
        ] {
            let (number, unit) = number(Minutes(minutes));
            assert_eq!(number, said);
            assert_eq!(unit == "min", minutes < 60);
        }
        for minutes in [-5, 0, 59, 599, 5999, i32::MAX] {
            let lines = digits::lines(&number(Minutes(minutes)).0, digits::Signs::Blocks);
            let wide = lines.iter().map(|line| columns(line)).max();
            assert!(wide <= Some(usize::from(NUMBER)), "{minutes}");
        }
    }

    #[test]
    fn each_list_gets_what_the_other_does_not_need() {
        let area = Rect::new(0, 1, 80, 21);
        let share = |wants, runs| {
            let (one, other) = parted(area, wants, runs);
            assert_eq!(one.height + other.height, area.height);
            (fits(one), fits(other))
        };
        assert_eq!(share(9, 0), (4, 1));
        assert_eq!(share(9, 9), (3, 2));
        assert_eq!(share(1, 9), (1, 4));
        assert_eq!(share(0, 0), (1, 4));
        assert_eq!(share(1, 1), (1, 4));
    }
}
