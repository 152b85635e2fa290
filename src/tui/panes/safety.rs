//! Two pages about what can hurt someone: temperatures by the rules, and allergens with the guests who need to know.
//!
//! Both list dish by dish, only the dishes of the filter where it names some, and only what has the words looked for;
//! whose rules they are and who decides stands there always. Levels and standings are said in words; colour comes on top.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Line;
use super::pages::{bullet, heading, over};
use crate::menu::{Dish, Rules};
use crate::prep::{AsMeasured, measured_against};
use crate::safety::allergens::{List, Matrix, Reason, Standing, matrix, undeclared};
use crate::safety::cautions::of_dish;
use crate::safety::looks_like::suggestions;
use crate::safety::timeline::{Checked, DishChecked, Finding, Verdict};
use crate::safety::{DEFERENCE, Level, caution_name, caution_source, caution_text, guests};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;
use crate::tui::widgets::text::clean;

/// Draws the plan held against the rules for temperatures.
pub fn draw_temperatures(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = title("temperatures", ui);
    let (search, filter) = (ui.page_search.clone(), ui.filter.dishes.clone());
    let shown = |dish: usize| filter.is_empty() || filter.contains(&dish);
    let lines = |width| temperature_lines(sheet, &search, shown, width);
    over(buffer, area, &title, lines, sheet, ui);
}

/// Draws the matrix of dishes and allergens, the cautions and the guests.
pub fn draw_allergens(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = title("allergens, cautions, guests", ui);
    let (search, filter) = (ui.page_search.clone(), ui.filter.dishes.clone());
    let shown = |dish: usize| filter.is_empty() || filter.contains(&dish);
    let lines = |width| allergen_lines(sheet, &search, shown, width);
    over(buffer, area, &title, lines, sheet, ui);
}

fn title(of: &str, ui: &Ui) -> String {
    if ui.page_search.is_empty() {
        format!("{of}: Esc closes it, / looks for words")
    } else {
        format!(
            "{of} with \"{}\" in it: Esc shows all",
            clean(&ui.page_search)
        )
    }
}

/// Whether a block of lines has the words looked for; every block does where none are.
fn has(block: &[Line], search: &str) -> bool {
    let mut lines = block.iter();
    search.is_empty() || lines.any(|line| line.text.to_lowercase().contains(search))
}

/// Puts a block of lines behind the others, where it has the words looked for.
fn put(lines: &mut Vec<Line>, block: Vec<Line>, search: &str) {
    if has(&block, search) {
        if !lines.is_empty() {
            lines.push(Line::plain("", Tone::Plain));
        }
        lines.extend(block);
    }
}

fn nothing(lines: &mut Vec<Line>, before: usize, width: usize) {
    if lines.len() == before {
        bullet(lines, "no dish has these words in it", width, Tone::Plain);
    }
}

fn level_tone(level: Level) -> Tone {
    match level {
        Level::Breaks => Tone::Alarm,
        Level::Advice | Level::NotKnown => Tone::Caution,
        Level::Note => Tone::Plain,
    }
}

fn verdict_tone(verdict: Verdict) -> Tone {
    match verdict {
        Verdict::Breaks => Tone::Alarm,
        Verdict::Doubtful | Verdict::NotKnown => Tone::Caution,
        Verdict::Within => Tone::Good,
    }
}

fn temperature_lines(
    sheet: &Sheet,
    search: &str,
    shown: impl Fn(usize) -> bool,
    width: usize,
) -> Vec<Line> {
    let mut lines = Vec::new();
    if sheet.outcome.is_none() {
        bullet(&mut lines, "it is being counted back", width, Tone::Plain);
        return lines;
    }
    for checked in &sheet.temperatures {
        head(&mut lines, checked, search, width);
        let before = lines.len();
        let now = (sheet.now, sheet.service.zone());
        let measured = measured_against(&sheet.menu, &sheet.prep, checked.set, now);
        for dish in checked.dishes.iter().filter(|dish| shown(dish.dish)) {
            let mut block = Vec::new();
            let name = sheet
                .menu
                .dishes
                .get(dish.dish)
                .map_or("", |dish| &dish.name);
            let readings: Vec<_> = measured.iter().filter(|it| it.dish == dish.dish).collect();
            let (said, tone) = verdict(dish, sheet.menu.dishes.get(dish.dish), &readings);
            block.push(Line::plain(format!("{}: {said}", clean(name)), tone));
            for reading in readings {
                let said = format!(
                    "{}: measured at {}: {}",
                    reading.level.word(),
                    reading.step,
                    reading.what
                );
                bullet(&mut block, &clean(&said), width, level_tone(reading.level));
            }
            for finding in &dish.findings {
                found(&mut block, finding, width);
            }
            put(&mut lines, block, search);
        }
        nothing(&mut lines, before, width);
        tail(&mut lines, checked, search, width);
    }
    heading(&mut lines, "Who decides");
    bullet(&mut lines, DEFERENCE, width, Tone::Quiet);
    lines
}

/// What a dish comes to, as planned and as measured; the tone is that of the heavier.
fn verdict(checked: &DishChecked, dish: Option<&Dish>, readings: &[&AsMeasured]) -> (String, Tone) {
    let planned = dish.map_or(checked.verdict.word(), |dish| checked.word(dish));
    match readings.iter().map(|it| it.level).max() {
        Some(level) if level > Level::Note => (
            format!("{planned}; {}, as measured", level.word()),
            match (checked.verdict, level) {
                (Verdict::Breaks, _) | (_, Level::Breaks) => Tone::Alarm,
                _ => Tone::Caution,
            },
        ),
        _ => (planned.to_owned(), verdict_tone(checked.verdict)),
    }
}

fn head(lines: &mut Vec<Line>, checked: &Checked, search: &str, width: usize) {
    let set = checked.set;
    heading(lines, set.name);
    bullet(
        lines,
        &format!(
            "cold at or below {} °C, hot at or above {} °C; {}",
            set.cold.degrees, set.hot.degrees, set.dated
        ),
        width,
        Tone::Quiet,
    );
    for finding in &checked.kit {
        let mut block = Vec::new();
        found(&mut block, finding, width);
        if has(&block, search) {
            lines.extend(block);
        }
    }
}

/// What else to know of a set of rules.
fn tail(lines: &mut Vec<Line>, checked: &Checked, search: &str, width: usize) {
    let set = checked.set;
    let said = [
        format!("raw egg: {}", set.raw_egg),
        format!("to know: {}", set.remark),
    ];
    let mut block = Vec::new();
    for said in said {
        let mut told = Vec::new();
        bullet(&mut told, &said, width, Tone::Quiet);
        if has(&told, search) {
            block.extend(told);
        }
    }
    if !block.is_empty() {
        put(lines, block, "");
    }
}

fn found(lines: &mut Vec<Line>, finding: &Finding, width: usize) {
    let source = if finding.source.is_empty() {
        String::new()
    } else {
        format!(" ({})", finding.source)
    };
    bullet(
        lines,
        &format!("{}: {}{source}", finding.level.word(), clean(&finding.what)),
        width,
        level_tone(finding.level),
    );
    if let Some(remedy) = &finding.remedy {
        bullet(
            lines,
            &format!("  what would do: {}", clean(remedy)),
            width,
            Tone::Plain,
        );
    }
}

/// The list that goes with a set of rules; that of Europe where the menu names none.
fn list_of(rules: Option<Rules>) -> List {
    match rules {
        Some(Rules::UsModelCode) => List::Us,
        Some(Rules::AustraliaNewZealand) => List::Anz,
        _ => List::Eu,
    }
}

fn standing_tone(standing: Standing) -> Tone {
    match standing {
        Standing::Contains => Tone::Alarm,
        Standing::NotKnown | Standing::May => Tone::Caution,
        Standing::Free => Tone::Plain,
    }
}

fn allergen_lines(
    sheet: &Sheet,
    search: &str,
    shown: impl Fn(usize) -> bool,
    width: usize,
) -> Vec<Line> {
    let mut lines = Vec::new();
    let list = list_of(sheet.menu.rules);
    guest_lines(&mut lines, sheet, search, width);
    heading(&mut lines, &format!("By the list of {}", list.name()));
    let before = lines.len();
    let matrix = matrix(&sheet.menu, list);
    for (place, dish) in sheet.menu.dishes.iter().enumerate() {
        if !shown(place) {
            continue;
        }
        let mut block = vec![Line::plain(clean(&dish.name).into_owned(), Tone::Heading)];
        cells(&mut block, &matrix, place, width);
        for bearing in of_dish(&sheet.menu, dish) {
            let more = bearing
                .more
                .map_or_else(String::new, |more| format!("; {more}"));
            let said = format!(
                "caution, {} ({}): {}{more} ({})",
                caution_name(bearing.caution),
                bearing.places.join(", "),
                caution_text(bearing.caution),
                caution_source(bearing.caution)
            );
            bullet(&mut block, &clean(&said), width, Tone::Caution);
        }
        for suggestion in suggestions(dish) {
            let said = format!("look again: {}", suggestion.what);
            bullet(&mut block, &clean(&said), width, Tone::Caution);
        }
        put(&mut lines, block, search);
    }
    nothing(&mut lines, before, width);
    heading(&mut lines, "Who decides");
    bullet(
        &mut lines,
        &format!(
            "as the cards declare it; what an ingredient may contain by contact is known only where somebody has declared it; {DEFERENCE}"
        ),
        width,
        Tone::Quiet,
    );
    lines
}

/// What a dish contains, may contain, and what of it is not known; what is left is declared free.
fn cells(block: &mut Vec<Line>, matrix: &Matrix, dish: usize, width: usize) {
    let Some(row) = matrix.rows.get(dish) else {
        return;
    };
    for standing in [Standing::Contains, Standing::May] {
        for (group, cell) in matrix.list.groups().iter().zip(row) {
            let reasons = cell.reasons.iter().filter(|it| it.standing == standing);
            let why: Vec<_> = reasons.map(Reason::sentence).collect();
            if !why.is_empty() {
                let said = format!("{} {}: {}", standing.word(), group.name, why.join("; "));
                bullet(block, &clean(&said), width, standing_tone(standing));
            }
        }
    }
    let (of_all, of_some): (Vec<_>, Vec<_>) = undeclared(row)
        .into_iter()
        .partition(|(_, entries)| entries.len() == row.len());
    if of_all.is_empty() {
        let free = matrix.list.groups().iter().zip(row);
        let free = free.filter(|(_, cell)| cell.standing() == Standing::Free);
        let free: Vec<_> = free.map(|(group, _)| group.name).collect();
        let said = format!("{}: {}", Standing::Free.word(), free.join(", "));
        bullet(block, &said, width, Tone::Quiet);
    }
    for (said, entries) in of_some {
        let names = entries
            .iter()
            .filter_map(|&at| matrix.list.groups().get(at));
        let names: Vec<_> = names.map(|group| group.name).collect();
        let said = format!("not known of {}: {said}", names.join(", "));
        bullet(block, &clean(&said), width, Tone::Caution);
    }
    for (said, _) in of_all {
        let said = format!("not known, so nothing else is free: {said}");
        bullet(block, &clean(&said), width, Tone::Caution);
    }
}

fn guest_lines(lines: &mut Vec<Line>, sheet: &Sheet, search: &str, width: usize) {
    if sheet.menu.guests.is_empty() {
        return;
    }
    heading(lines, "Guests with needs");
    let before = lines.len();
    let name = |dish: usize| {
        let dish = sheet.menu.dishes.get(dish);
        clean(dish.map_or("", |dish| &dish.name)).into_owned()
    };
    for checked in guests::check(&sheet.menu) {
        let guest = &sheet.menu.guests[checked.guest];
        let count = if guest.count == 1 {
            String::new()
        } else {
            format!(" ({} guests)", guest.count)
        };
        let mut block = Vec::new();
        let tone = if checked.clashes.is_empty() {
            Tone::Plain
        } else {
            Tone::Alarm
        };
        block.push(Line::plain(format!("{}{count}", clean(&guest.name)), tone));
        for clash in &checked.clashes {
            let said = format!(
                "NOT {} as it stands: {} ({})",
                name(clash.dish),
                clash.what,
                clash.standing.word()
            );
            bullet(
                &mut block,
                &clean(&said),
                width,
                standing_tone(clash.standing),
            );
        }
        let served: Vec<_> = checked.served.iter().map(|&dish| name(dish)).collect();
        let served = if served.is_empty() {
            "nothing on this menu".to_owned()
        } else {
            served.join(", ")
        };
        bullet(
            &mut block,
            &format!("nothing declared stands against: {served}"),
            width,
            Tone::Plain,
        );
        put(lines, block, search);
    }
    nothing(lines, before, width);
}
