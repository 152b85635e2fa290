//! The whole card of the selected step: when, why, how far it can slip, with what, and how.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::{Line, extent, scrolled, split_top, title};
use crate::book::Errand;
use crate::menu::{Dish, Step, words};
use crate::plan::{Plan, PlannedStep, StepIndex};
use crate::prep::{ErrandAt, Progress, Standing, foreseen, reading_words};
use crate::quantity::{for_doing, sugar};
use crate::safety::{DEFERENCE, caution_text};
use crate::time::{Minute, Window};
use crate::tui::sheet::Sheet;
use crate::tui::theme::{Tone, mark};
use crate::tui::ui::{Focus, Open, Spot, Ui};
use crate::tui::view::{Row, day_and_clock};
use crate::tui::widgets::text::{clean, wrap};

/// Columns of the labels.
const LABEL: usize = 10;

/// Stretches of hands told one by one; more of them are summed up.
const TOLD: usize = 4;

/// Draws the card.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    ui.seen.spots.push((area, Spot::Card));
    let (head, body) = split_top(area, 1);
    let body = Rect {
        x: body.x.saturating_add(1),
        width: body.width.saturating_sub(2),
        ..body
    };
    let errand = ui.errand.and_then(|at| sheet.view.errands.get(at));
    let lines = match errand {
        Some(errand) => lines_of_errand(sheet, errand, usize::from(body.width)),
        None => lines(sheet, ui.selected, usize::from(body.width)),
    };
    let fit_lines = usize::from(body.height);
    ui.seen.card_lines = (fit_lines, lines.len());
    ui.card_top = scrolled(buffer, body, &lines, ui.card_top, sheet);
    let has_keys = ui.focus == Focus::Card || ui.open == Some(Open::Card);
    let tone = if has_keys {
        Tone::Focused
    } else {
        Tone::Heading
    };
    let right = extent(ui.card_top, fit_lines, lines.len());
    title(
        buffer,
        head,
        "card",
        &right,
        sheet.colour.style(tone),
        sheet.colour.style(Tone::Quiet),
    );
}

/// Returns what there is to know of an errand, at a width.
fn lines_of_errand(sheet: &Sheet, errand: &ErrandAt, width: usize) -> Vec<Line> {
    let mut card = Writer {
        width,
        lines: Vec::new(),
    };
    card.text(&errand.says, Tone::Heading);
    card.gap();
    let by = if errand.is_order() {
        "order by"
    } else {
        "begin by"
    };
    card.labelled(by, &day_and_clock(sheet.service, errand.at));
    let dishes = errand.dishes.iter();
    let dishes: Vec<&str> = dishes
        .filter_map(|&dish| Some(sheet.menu.dishes.get(dish)?.name.as_str()))
        .collect();
    card.labelled("for", &dishes.join(", "));
    if let Errand::Order { goods } = &errand.errand {
        card.heading(if errand.seen_to.is_some() {
            "ordered"
        } else {
            "to order"
        });
        for (name, much) in goods {
            card.bullet("·", &format!("{name}: {}", much.says), Tone::Plain);
        }
    }
    card.gap();
    if let Some((_, at)) = errand.seen_to {
        let at = day_and_clock(sheet.service, sheet.service.minute(at));
        card.labelled("seen to", &at);
        if let Some(off) = errand.off {
            card.text(&off.words(), Tone::Caution);
        }
    } else {
        card.text(
            "s or d: it is seen to now; D: it was, at another time; u takes that back",
            Tone::Quiet,
        );
    }
    card.lines
}

/// Returns the card's lines at a width.
pub fn lines(sheet: &Sheet, selected: Option<usize>, width: usize) -> Vec<Line> {
    let mut card = Writer {
        width,
        lines: Vec::new(),
    };
    let row = selected.and_then(|row| sheet.view.rows.get(row));
    let Some(row) = row else {
        card.text("no step is selected", Tone::Quiet);
        return card.lines;
    };
    let planned = sheet
        .times()
        .and_then(|plan| Some((plan, plan.steps.get(row.index)?)));
    let dish = sheet.menu.dishes.get(row.dish);
    let step = dish.and_then(|dish| dish.steps.get(row.step));
    card.text(&row.name, Tone::Heading);
    card.text(&row.dish_name, Tone::Plain);
    card.text(&row.key.to_string(), Tone::Quiet);
    state(&mut card, sheet, row);
    if !row.standing.is_over() && !row.standing.is_running() {
        let errands = sheet.view.errands.iter();
        for unready in errands.filter_map(|it| it.unready(row.dish, row.step)) {
            card.text(&unready, Tone::Caution);
        }
    }
    measured(&mut card, sheet, row);
    card.gap();
    if let Some((_, planned)) = planned {
        times(&mut card, sheet, row, planned);
    } else {
        card.labelled("takes", &row.length);
    }
    if let Some(until) = step.and_then(|step| step.until.as_deref()) {
        card.labelled("until", until);
    }
    match (planned, step) {
        (Some((_, planned)), _) => {
            hands(&mut card, sheet, planned);
            kit(&mut card, sheet, planned);
        }
        (None, Some(step)) => asked(&mut card, row, step),
        (None, None) => {}
    }
    if let Some(station) = &row.station {
        card.labelled("at", station);
    }
    if let (Some(dish), Some(step)) = (dish, step) {
        let part = row.key.part.as_deref();
        cautions(&mut card, dish, step, part);
        amounts(&mut card, sheet, dish, step, (part, row.key.batch));
        if let Some(mark) = &step.sugar {
            card.heading("boil it to");
            for said in sugar::sentences(mark, sheet.menu.kitchen.altitude) {
                card.bullet("·", &said, Tone::Plain);
            }
        }
        if let Some(method) = &step.method {
            card.heading("method");
            card.text(method, Tone::Plain);
        }
    }
    if let Some((plan, planned)) = planned {
        for (heading, steps) in [
            ("waits for", &planned.follows),
            ("waiting for it", &planned.followed_by),
        ] {
            neighbours(&mut card, sheet, plan, heading, steps);
        }
        portions(&mut card, sheet, plan, row.dish);
    }
    if let Some(dish) = dish {
        about_dish(&mut card, dish);
    }
    card.lines
}

/// What the menu asks for, where no plan says when.
fn asked(card: &mut Writer, row: &Row, step: &Step) {
    card.labelled("hands", &words::hands(&step.hands));
    for (label, said) in [
        ("kit", row.kit.clone()),
        ("comes", words::after(&step.after)),
    ] {
        if !said.is_empty() {
            card.labelled(label, &said);
        }
    }
}

fn kit(card: &mut Writer, sheet: &Sheet, planned: &PlannedStep) {
    for (index, kit) in planned.kit.iter().enumerate() {
        let count = if kit.count == 1 {
            String::new()
        } else {
            format!("{} ", kit.count)
        };
        let label = if index == 0 { "kit" } else { "" };
        let when = span(sheet, kit.window, planned.window);
        card.labelled(label, &format!("{count}{}, {when}", kit.name));
    }
}

fn state(card: &mut Writer, sheet: &Sheet, row: &Row) {
    let now = sheet.now_minute();
    let clock = |moment: crate::time::Timestamp| moment.local(sheet.service.zone()).weekday_clock();
    let said = match sheet.prep.progress(&row.key) {
        Progress::Running { since } => {
            let over = row.window().map(|window| now - window.end);
            let tail = match over {
                Some(over) if over.0 > 0 => format!(", {over} longer than planned"),
                _ => String::new(),
            };
            format!("since {}{tail}", clock(since))
        }
        Progress::Finished {
            started: Some(from),
            at,
        } => format!("{} to {}", clock(from), clock(at)),
        Progress::Finished { started: None, at } => format!("at {}", clock(at)),
        Progress::Skipped { at, reason } => format!("at {}: {reason}", clock(at)),
        Progress::Waiting => waits(sheet, row),
    };
    let word = if sheet.is_writing(&row.key) {
        "… writing".to_owned()
    } else if sheet.is_needed_only(row) {
        "? needed".to_owned()
    } else {
        format!("{} {}", mark(row.standing), row.standing.word())
            .trim()
            .to_owned()
    };
    card.text(&format!("{word}: {said}"), Tone::State(row.standing));
}

/// Readings shown on a card at most; the book has the others.
const READINGS: usize = 4;

/// What was measured and noted at the step, and what that foretells.
fn measured(card: &mut Writer, sheet: &Sheet, row: &Row) {
    let zone = sheet.service.zone();
    let readings = sheet.prep.measured(&row.key);
    let older = readings.len().saturating_sub(READINGS);
    for (index, reading) in readings[older..].iter().enumerate() {
        let label = if index == 0 { "read" } else { "" };
        let more = match (index, older) {
            (0, 1..) => format!(" ({older} before)"),
            _ => String::new(),
        };
        card.labelled(
            label,
            &format!(
                "{} at {}{more}",
                reading_words(reading.reading),
                reading.at.local(zone).weekday_clock()
            ),
        );
    }
    if let Some(foreseen) = foreseen(&sheet.menu, &sheet.prep, &row.key) {
        card.labelled("foreseen", &foreseen.sentence(zone));
    }
    if let Some((_, end)) = sheet.prep.expected(&row.key) {
        let said = format!("over at {}, a cook says", end.local(zone).weekday_clock());
        card.labelled("expected", &said);
    }
    let key = row.key.to_string();
    let notes = sheet.prep.notes();
    for note in notes.filter(|note| note.step.as_deref() == Some(&key)) {
        let who = if note.who.is_empty() {
            String::new()
        } else {
            format!(" ({})", note.who)
        };
        card.labelled("note", &format!("{}{who}", note.text));
    }
}

/// Returns how long a step that has not begun still has, as far as a plan says so.
fn waits(sheet: &Sheet, row: &Row) -> String {
    let now = sheet.now_minute();
    match &row.times {
        None => "no plan says when; see w".to_owned(),
        Some(_) if row.given_up => "its dish is left out of what can still be; see w".to_owned(),
        Some(times) if times.needed_by.is_some() => format!(
            "it was needed by {}; what can still be is below",
            times.needed_by.as_deref().unwrap_or_default()
        ),
        Some(times) if row.standing == Standing::Late => format!(
            "it could slip until {}, {} ago",
            at(sheet, times.can_slip_until),
            now - times.can_slip_until
        ),
        Some(_) if sheet.view.needed_only => "no plan holds; see w".to_owned(),
        Some(times) if times.window.start <= now => "it starts now".to_owned(),
        Some(times) => format!("it starts in {}", times.window.start - now),
    }
}

fn times(card: &mut Writer, sheet: &Sheet, row: &Row, planned: &PlannedStep) {
    let window = planned.window;
    let (start, end) = (
        sheet.service.local(window.start),
        sheet.service.local(window.end),
    );
    let until = if start.date == end.date {
        end.clock()
    } else {
        end.weekday_clock()
    };
    let from = day_and_clock(sheet.service, window.start);
    let label = if sheet.is_needed_only(row) {
        "needed"
    } else {
        "when"
    };
    card.labelled(label, &format!("{from} to {until}"));
    card.labelled(
        "takes",
        &format!("{}, from {}", row.length, window.start.countdown()),
    );
    if let Some(was) = row.was() {
        card.labelled("moved", was);
    }
    card.labelled("why then", &planned.reason);
    let waits = sheet.prep.progress(&row.key) == Progress::Waiting;
    if waits && !sheet.is_needed_only(row) && !row.given_up && !sheet.view.needed_only {
        let slack = planned.can_slip_until - window.start;
        let said = if slack.0 <= 0 && row.standing == Standing::Late {
            "no further; each minute makes it later".to_owned()
        } else if slack.0 <= 0 {
            "no further, to be sure of its course".to_owned()
        } else {
            format!("until {} ({slack})", at(sheet, planned.can_slip_until))
        };
        card.labelled("can slip", &said);
    }
}

fn hands(card: &mut Writer, sheet: &Sheet, planned: &PlannedStep) {
    if planned.hands.is_empty() {
        let said = if planned.someone_about {
            "none, but somebody must be about"
        } else {
            "none; it is left alone"
        };
        card.labelled("hands", said);
        return;
    }
    let told = |spans: usize| spans <= TOLD;
    let spans = &planned.hands;
    for (index, part) in spans.iter().enumerate() {
        if !told(spans.len()) && index > 1 && index + 1 < spans.len() {
            if index == 2 {
                card.labelled("", &format!("and {} more like it", spans.len() - 3));
            }
            continue;
        }
        let who = if part.cooks.is_empty() {
            String::new()
        } else {
            format!(": {}", part.cooks.join(", "))
        };
        let label = if index == 0 { "hands" } else { "" };
        card.labelled(
            label,
            &format!(
                "{}, {}{who}",
                part.hands,
                span(sheet, part.window, planned.window)
            ),
        );
    }
    if planned.someone_about {
        card.labelled("", "somebody must be about throughout");
    }
}

fn cautions(card: &mut Writer, dish: &Dish, step: &Step, part: Option<&str>) {
    let mut all = step.cautions.clone();
    let taken = dish.taken_by(&step.id, part);
    all.extend(taken.flat_map(|ingredient| ingredient.cautions.iter().copied()));
    all.sort_unstable();
    all.dedup();
    if all.is_empty() {
        return;
    }
    card.heading("take care");
    for caution in all {
        card.bullet("!", caution_text(caution), Tone::Caution);
    }
    card.text(&format!("({DEFERENCE})"), Tone::Quiet);
}

fn amounts(
    card: &mut Writer,
    sheet: &Sheet,
    dish: &Dish,
    step: &Step,
    (part, batch): (Option<&str>, u32),
) {
    let mut taken = dish.taken_by(&step.id, part).peekable();
    if taken.peek().is_none() {
        return;
    }
    card.heading("amounts");
    let made = sheet.menu.made(dish);
    for ingredient in taken {
        let amount = for_doing(&sheet.menu, dish, &made, (step, batch), ingredient);
        let amount = words::amount(&amount);
        card.bullet("·", &format!("{amount} {}", ingredient.name), Tone::Plain);
    }
}

fn neighbours(
    card: &mut Writer,
    sheet: &Sheet,
    plan: &Plan,
    heading: &'static str,
    steps: &[StepIndex],
) {
    let mut found = steps
        .iter()
        .filter_map(|&index| Some((index, plan.steps.get(index)?)))
        .peekable();
    if found.peek().is_none() {
        return;
    }
    card.heading(heading);
    for (index, step) in found {
        let row = sheet.view.rows.iter().find(|row| row.index == index);
        let standing = row.map_or(Standing::Waiting, |row| row.standing);
        let when = match heading {
            "waits for" => format!("until {}", at(sheet, step.window.end)),
            _ => format!("from {}", at(sheet, step.window.start)),
        };
        let dish = row.map_or("", |row| row.dish_name.as_str());
        let word = row.map_or("", |row| {
            if sheet.is_needed_only(row) {
                "needed"
            } else {
                standing.word()
            }
        });
        card.bullet(
            mark(standing),
            &format!("{} ({dish}), {word}, {when}", step.name),
            Tone::State(standing),
        );
    }
}

fn portions(card: &mut Writer, sheet: &Sheet, plan: &Plan, dish: usize) {
    let Some(planned) = plan.dishes.iter().find(|planned| planned.dish == dish) else {
        return;
    };
    card.heading("the dish");
    let batches = if planned.batches == 1 {
        String::new()
    } else {
        format!(" in {} batches", planned.batches)
    };
    let portions = planned.portions;
    card.text(
        &format!(
            "{portions} portions{batches}, ready {}, at the pass {}",
            at(sheet, planned.ready),
            at(sheet, planned.at_pass)
        ),
        Tone::Plain,
    );
    match &planned.late {
        Some(late) => {
            let how = match late.by {
                Some(by) => format!("{by} late"),
                None => "left out of what can still be".to_owned(),
            };
            card.text(&format!("{how}: {}", late.because), Tone::Alarm);
        }
        None if sheet.view.needed_only => {}
        None => card.text(&format!("in time by {}", planned.in_hand()), Tone::Plain),
    }
    if let Some(chance) = sheet.chance().and_then(|chance| chance.dishes.get(dish)) {
        let tone = if chance.is_likely() {
            Tone::Plain
        } else {
            Tone::Caution
        };
        card.text(&chance.sentences(&sheet.menu, plan).join("; "), tone);
    }
    if let Some(past) = planned.past_best {
        card.text(&format!("it will be {past} past its best"), Tone::Caution);
    }
}

fn about_dish(card: &mut Writer, dish: &Dish) {
    if let Some(note) = &dish.note {
        card.text(note, Tone::Plain);
    }
    for rescue in &dish.rescues {
        card.heading("if it goes wrong");
        card.text(&rescue.name, Tone::Plain);
        if let Some(method) = &rescue.method {
            card.text(method, Tone::Plain);
        }
    }
}

/// Returns "Fri 07:00".
fn at(sheet: &Sheet, minute: Minute) -> String {
    sheet.service.local(minute).weekday_clock()
}

/// Returns a stretch within a step: "throughout", or its clock times.
fn span(sheet: &Sheet, part: Window, whole: Window) -> String {
    if part == whole {
        return "throughout".to_owned();
    }
    let (start, end) = (
        sheet.service.local(part.start),
        sheet.service.local(part.end),
    );
    let until = if start.date == end.date {
        end.clock()
    } else {
        end.weekday_clock()
    };
    format!("{} to {until}", start.weekday_clock())
}

/// Writes lines of a card, wrapped.
struct Writer {
    width: usize,
    lines: Vec<Line>,
}

impl Writer {
    fn gap(&mut self) {
        self.lines.push(Line::plain("", Tone::Plain));
    }

    fn heading(&mut self, text: &str) {
        self.gap();
        self.lines.push(Line::plain(text, Tone::Heading));
    }

    fn text(&mut self, text: &str, tone: Tone) {
        self.lines.extend(
            wrap(text, self.width)
                .into_iter()
                .map(|line| Line::plain(line, tone)),
        );
    }

    fn bullet(&mut self, sign: &str, text: &str, tone: Tone) {
        for (index, line) in wrap(text, self.width.saturating_sub(2))
            .into_iter()
            .enumerate()
        {
            let sign = if index == 0 { sign } else { " " };
            self.lines.push(Line::plain(format!("{sign} {line}"), tone));
        }
    }

    fn labelled(&mut self, label: &str, text: &str) {
        for (index, line) in wrap(&clean(text), self.width.saturating_sub(LABEL))
            .into_iter()
            .enumerate()
        {
            let label = if index == 0 { label } else { "" };
            self.lines.push(Line {
                text: format!("{label:LABEL$}{line}"),
                tone: Tone::Plain,
                lead: LABEL as u16,
                lead_tone: Tone::Quiet,
                does: None,
            });
        }
    }
}
