//! Pages about the plan as a whole: how good it is and how likely it comes out, and what a better one would move.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Line;
use super::pages::{bullet, heading, over};
use crate::plan::{Chance, InTime, Plan, PlanOutcome, Verdict};
use crate::time::Minutes;
use crate::tui::sheet::{Offer, Sheet};
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;
use crate::tui::widgets::text::clean;

/// Draws how likely each dish is in time, and how good the plan is.
pub fn draw_chance(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = "chance, and how good the plan is: Esc closes it";
    let lines = |width| chance_lines(sheet, width);
    over(buffer, area, title, lines, sheet, ui);
}

/// Draws what a better plan gains and moves.
pub fn draw_better(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = match sheet.offer {
        Some(_) => "a better plan: B takes it, Esc leaves everything as it is",
        None => "a better plan: Esc closes it",
    };
    let lines = |width| better_lines(sheet, width);
    over(buffer, area, title, lines, sheet, ui);
}

fn chance_lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let Some(PlanOutcome::Planned(plan)) = &sheet.outcome else {
        bullet(
            &mut lines,
            "there is no plan that holds, so there is no chance to tell; w says why",
            width,
            Tone::Plain,
        );
        return lines;
    };
    heading(&mut lines, "How good the plan is");
    bullet(
        &mut lines,
        &Verdict::of(&sheet.menu, plan).sentence(),
        width,
        Tone::Plain,
    );
    match sheet.chance() {
        Some(chance) => in_time(&mut lines, sheet, plan, chance, width),
        None => {
            heading(&mut lines, "At the pass in time");
            let said = if sheet.reckons() {
                "it is being reckoned"
            } else {
                "the cards give every time to come as one length, so nothing is left to chance"
            };
            bullet(&mut lines, said, width, Tone::Plain);
        }
    }
    lines
}

fn in_time(lines: &mut Vec<Line>, sheet: &Sheet, plan: &Plan, chance: &Chance, width: usize) {
    heading(lines, "At the pass in time");
    let mut say = |name: &str, of: &InTime| {
        let tone = if of.is_likely() {
            Tone::Plain
        } else {
            Tone::Caution
        };
        let said = of.sentences(&sheet.menu, plan);
        bullet(
            lines,
            &format!("{}: {}", clean(name), clean(&said.join("; "))),
            width,
            tone,
        );
    };
    say("everything", &chance.whole);
    if plan.courses.len() > 1 {
        for (course, of) in plan.courses.iter().zip(&chance.courses) {
            say(&format!("the course \"{}\"", course.name), of);
        }
    }
    // What is least likely is what a cook looks for first.
    let mut dishes: Vec<_> = plan.dishes.iter().zip(&chance.dishes).collect();
    dishes.sort_by_key(|(_, of)| of.in_time);
    for (dish, of) in dishes {
        say(&dish.name, of);
    }
    let broken = chance.broken_sentences(&sheet.menu, plan);
    if !broken.is_empty() {
        heading(lines, "Gaps and times on the cards");
        for said in broken {
            bullet(lines, &clean(&said), width, Tone::Plain);
        }
    }
    heading(lines, "How this is reckoned");
    bullet(
        lines,
        &format!(
            "{} evenings are laid out with times between the shortest and the longest on the cards, in the order of \
             this plan; nobody starts before the time planned, and nobody plans anew on the day",
            chance.samples
        ),
        width,
        Tone::Quiet,
    );
}

fn better_lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    match &sheet.offer {
        Some(offer) => offered(&mut lines, sheet, offer, width),
        None => {
            heading(&mut lines, "A better plan");
            let said = match (&sheet.outcome, sheet.verdict()) {
                (_, Some(Verdict::Best)) => "no better plan exists",
                (Some(PlanOutcome::Planned(_)), _) => {
                    "none has been found that is worth moving steps for"
                }
                _ => "there is no plan that holds; w says why",
            };
            bullet(&mut lines, said, width, Tone::Plain);
        }
    }
    if sheet.prep.announced(sheet.service).is_some() {
        heading(&mut lines, "The plan taken last");
        bullet(
            &mut lines,
            "its times are kept as far as they can be; u takes it back",
            width,
            Tone::Plain,
        );
    }
    lines
}

fn offered(lines: &mut Vec<Line>, sheet: &Sheet, offer: &Offer, width: usize) {
    heading(lines, "What it gains");
    for gain in &offer.better.gains {
        bullet(lines, gain, width, Tone::Good);
    }
    let verdict = Verdict::of(&sheet.menu, &offer.better.plan);
    bullet(
        lines,
        &format!("of that plan: {}", verdict.sentence()),
        width,
        Tone::Plain,
    );
    heading(lines, "What moves");
    let clock = |minute| sheet.service.local(minute).weekday_clock();
    for one in &offer.moves {
        let by = one.later();
        let how = match by.0 {
            0 => String::new(),
            1.. => format!(", {by} later"),
            _ => format!(", {} earlier", Minutes(by.0.abs())),
        };
        let way = one
            .way
            .as_ref()
            .map_or_else(String::new, |way| format!(", done {}", clean(way)));
        bullet(
            lines,
            &format!(
                "{} → {}{how}{way}: {}",
                clock(one.from),
                clock(one.to),
                clean(&one.name)
            ),
            width,
            Tone::Plain,
        );
    }
    heading(lines, "Taking it");
    bullet(
        lines,
        "nothing moves unless B takes it; then these times are in the book and on every sheet, and later plans keep them as far as they can",
        width,
        Tone::Quiet,
    );
}
