//! A plan held against rules for temperatures, as text, JSON and CSV.
//!
//! ```text
//! {
//!   "format": "countback-temperatures-1",
//!   "menu": id,
//!   "deference",                            who decides
//!   "rules": [                              one, or three where the menu names none
//!     {"key", "name", "dated", "cold_at_most", "hot_at_least",
//!      "kit": [finding],
//!      "dishes": [{"dish": id, "name",
//!                  "control": "needed" | "not-needed" | null,     as its card says; null is not known
//!                  "verdict": "within" | "not-known" | "take-care" | "against",    as planned
//!                  "findings": [finding]}],
//!      "measured": [{"step": key, "level", "what"}]}]   what readings say of cooling, as far as they show it
//! }
//! finding: {"level": "note" | "not-known" | "take-care" | "against", "step": key | null, "what",
//!           "remedy": text | null, "source": text | null}
//! ```

use std::io;

use serde_json::{Value, json};

use super::page::hang;
use super::table;
use crate::menu::{Control, Dish, Menu};
use crate::plan::PlanOutcome;
use crate::prep::{AsMeasured, PrepState, measured_against};
use crate::safety::timeline::{Checked, Finding, Verdict};
use crate::safety::{DEFERENCE, Level};
use crate::text::one_line;
use crate::time::{Timestamp, Zone};

/// Writes what is to know of temperatures, dish by dish, as it is known now on the clock of a zone.
pub fn write(
    menu: &Menu,
    prep: &PrepState,
    now: (Timestamp, Zone),
    checked: &[Checked],
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let width = width.max(super::page::NARROWEST);
    writeln!(out, "{}: temperatures", one_line(&menu.name))?;
    if checked.len() > 1 {
        let said = "the menu names no rules; it is held against those that differ most";
        hang(said, 0, width, out)?;
    }
    for one in checked {
        let set = one.set;
        writeln!(out)?;
        hang(
            &format!("By the rules of: {} ({})", set.name, set.dated),
            0,
            width,
            out,
        )?;
        let limits = format!(
            "cold at or below {} °C, hot at or above {} °C",
            set.cold.degrees, set.hot.degrees
        );
        hang(&limits, 2, width, out)?;
        for finding in &one.kit {
            write_finding(finding, width, out)?;
        }
        let measured = measured_against(menu, prep, set, now);
        for dish in &one.dishes {
            let name = menu.dishes.get(dish.dish).map_or("", |dish| &dish.name);
            let card = menu.dishes.get(dish.dish);
            let mut said = card
                .map_or(dish.verdict.word(), |card| dish.word(card))
                .to_owned();
            let readings = measured.iter().filter(|it| it.dish == dish.dish);
            let worst = readings.clone().map(|it| it.level).max();
            if let Some(level) = worst.filter(|&level| level > Level::Note) {
                said = format!("{said}; {}, as measured", level.word());
            }
            hang(&format!("{}: {said}", one_line(name)), 0, width, out)?;
            for reading in readings {
                let AsMeasured {
                    step, level, what, ..
                } = reading;
                let what = format!("{}: measured at {step}: {what}", level.word());
                hang(&one_line(&what), 2, width, out)?;
            }
            for finding in &dish.findings {
                write_finding(finding, width, out)?;
            }
        }
        hang(&format!("raw egg: {}", set.raw_egg), 0, width, out)?;
        hang(&format!("to know: {}", set.remark), 0, width, out)?;
    }
    writeln!(out)?;
    hang(
        &format!("These are summaries for planning: {DEFERENCE}."),
        0,
        width,
        out,
    )
}

fn write_finding(finding: &Finding, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    let what = format!("{}: {}", finding.level.word(), one_line(&finding.what));
    hang(&what, 2, width, out)?;
    if let Some(remedy) = &finding.remedy {
        hang(
            &format!("what would do: {}", one_line(remedy)),
            6,
            width,
            out,
        )?;
    }
    if !finding.source.is_empty() {
        hang(&format!("({})", finding.source), 6, width, out)?;
    }
    Ok(())
}

/// Writes the same for programs.
pub fn write_json(
    menu: &Menu,
    outcome: &PlanOutcome,
    prep: &PrepState,
    now: (Timestamp, Zone),
    checked: &[Checked],
    out: &mut impl io::Write,
) -> io::Result<()> {
    let steps = outcome.times().map(|plan| &plan.steps);
    let finding = |finding: &Finding| {
        let step = finding.doing.and_then(|place| steps?.get(place));
        json!({
            "level": level(finding.level),
            "step": step.map(|step| step.key.to_string()),
            "what": finding.what,
            "remedy": finding.remedy,
            "source": (!finding.source.is_empty()).then_some(finding.source),
        })
    };
    let rules: Vec<Value> = checked
        .iter()
        .map(|one| {
            let dishes: Vec<Value> = one
                .dishes
                .iter()
                .filter_map(|dish| {
                    let card = menu.dishes.get(dish.dish)?;
                    Some(json!({
                        "dish": card.id,
                        "name": card.name,
                        "control": control(card),
                        "verdict": verdict(dish.verdict),
                        "findings": dish.findings.iter().map(finding).collect::<Vec<_>>(),
                    }))
                })
                .collect();
            json!({
                "key": one.set.key,
                "name": one.set.name,
                "dated": one.set.dated,
                "cold_at_most": one.set.cold.degrees,
                "hot_at_least": one.set.hot.degrees,
                "kit": one.kit.iter().map(finding).collect::<Vec<_>>(),
                "dishes": dishes,
                "measured": measured(menu, prep, now, one),
            })
        })
        .collect();
    let whole = json!({
        "format": "countback-temperatures-1",
        "menu": menu.id,
        "deference": DEFERENCE,
        "rules": rules,
    });
    serde_json::to_writer_pretty(&mut *out, &whole)?;
    writeln!(out)
}

/// Writes it for a spreadsheet: a row for each finding, as planned and as measured, and one for a dish of which there is
/// nothing to say but what it comes to. What is to know of kit stands first, without a dish.
pub fn write_csv(
    menu: &Menu,
    outcome: &PlanOutcome,
    prep: &PrepState,
    now: (Timestamp, Zone),
    checked: &[Checked],
    out: &mut impl io::Write,
) -> io::Result<()> {
    let heads = [
        "rules",
        "dish",
        "verdict",
        "step",
        "level",
        "what",
        "what would do",
        "source",
    ];
    let steps = outcome.times().map(|plan| &plan.steps);
    let mut rows: Vec<Vec<String>> = Vec::new();
    for one in checked {
        let measured = measured_against(menu, prep, one.set, now);
        rows.extend(one.kit.iter().map(|finding| {
            let remedy = finding.remedy.as_deref().unwrap_or_default();
            let level = finding.level.word();
            let row = [
                one.set.name,
                "",
                "",
                "",
                level,
                &finding.what,
                remedy,
                finding.source,
            ];
            row.map(str::to_owned).to_vec()
        }));
        for dish in &one.dishes {
            let Some(card) = menu.dishes.get(dish.dish) else {
                continue;
            };
            let row = |rest: [&str; 5]| {
                let of_dish = [one.set.name, &card.name, dish.word(card)];
                of_dish.into_iter().chain(rest).map(str::to_owned).collect()
            };
            let before = rows.len();
            for finding in &dish.findings {
                let step = finding.doing.and_then(|place| steps?.get(place));
                let step = step.map_or_else(String::new, |step| step.key.to_string());
                let remedy = finding.remedy.as_deref().unwrap_or_default();
                let level = finding.level.word();
                rows.push(row([&step, level, &finding.what, remedy, finding.source]));
            }
            for reading in measured.iter().filter(|it| it.dish == dish.dish) {
                let (step, level) = (reading.step.to_string(), reading.level.word());
                let what = format!("measured: {}", reading.what);
                rows.push(row([&step, level, &what, "", reading.source]));
            }
            if rows.len() == before {
                rows.push(row(["", "", "", "", ""]));
            }
        }
    }
    table::write_csv(&heads, rows, out)
}

/// Returns what readings say, step by step.
fn measured(
    menu: &Menu,
    prep: &PrepState,
    now: (Timestamp, Zone),
    checked: &Checked,
) -> Vec<Value> {
    let said = measured_against(menu, prep, checked.set, now).into_iter();
    said.map(|it| json!({"step": it.step.to_string(), "level": level(it.level), "what": it.what}))
        .collect()
}

/// What the card says of temperature control.
fn control(dish: &Dish) -> Option<&'static str> {
    dish.control.map(|control| match control {
        Control::Needed => "needed",
        Control::NotNeeded => "not-needed",
    })
}

fn level(level: Level) -> &'static str {
    match level {
        Level::Note => "note",
        Level::NotKnown => "not-known",
        Level::Advice => "take-care",
        Level::Breaks => "against",
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Within => "within",
        Verdict::NotKnown => "not-known",
        Verdict::Doubtful => "take-care",
        Verdict::Breaks => "against",
    }
}
