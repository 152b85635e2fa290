//! `plan` and `tonight`: a sheet on standard output.

use std::io::Write;

use super::command::Opened;

use super::report::{Ending, Failure};
use crate::plan::PlanOutcome;
use crate::prep::PrepState;
use crate::prep::{Bare, typed_moment};
use crate::sheets::{json, text};
use crate::time::Minute;
use crate::tui;

/// The width of a page that goes to no terminal: what a sheet of paper takes across.
const PAGE: usize = 100;

/// What of the plan is wanted.
#[derive(Clone, Copy, Debug)]
pub(super) enum Part<'a> {
    /// All of it.
    Whole,
    /// What must start before a boundary: a time typed, or the kitchen's next opening.
    Tonight(Option<&'a str>),
}

/// Prints a plan, or what stands in its way.
pub(super) fn print(
    opened: &Opened,
    part: Part<'_>,
    as_json: bool,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let now = opened.minute();
    let typed = match part {
        Part::Tonight(Some(text)) => Some(boundary(opened, text)?),
        Part::Tonight(None) | Part::Whole => None,
    };
    let outcome = opened.plan(&prep);
    let until = match part {
        Part::Whole => None,
        Part::Tonight(_) => typed.or_else(|| outcome.times().map(|plan| plan.next_opening(now))),
    };
    let menu = &opened.loaded.menu;
    let ways = match part {
        Part::Whole => opened.ways_out(&prep, &outcome),
        // Whoever asks for tonight's work wants it at once.
        Part::Tonight(_) => Vec::new(),
    };
    // What starts tonight is wanted at once, and says nothing of chance.
    let chance = match part {
        Part::Tonight(_) if !as_json => None,
        _ => opened.chance(&prep, &outcome),
    };
    if as_json {
        let asked = json::Asked {
            service: opened.service,
            now,
            until,
            chance: chance.as_ref(),
            ways_out: &ways,
        };
        json::write(&outcome, menu, &prep, asked, out)?;
    } else if let Some(until) = until {
        text::write_tonight(&outcome, menu, &prep, now, until, width(), out)?;
    } else {
        text::write(&outcome, chance.as_ref(), menu, &prep, now, width(), out)?;
        if !matches!(outcome, PlanOutcome::Planned(_)) {
            text::write_ways_out(&ways, width(), out)?;
        }
    }
    Ok(match outcome {
        PlanOutcome::Planned(_) => Ending::Fine,
        _ => Ending::Faulty,
    })
}

fn boundary(opened: &Opened, text: &str) -> Result<Minute, Failure> {
    let until = typed_moment(text, opened.now, opened.service.zone(), Bare::Next)
        .map_err(|said| Failure::WrongUse(format!("--until: {said}")))?;
    if until <= opened.now {
        return Err(Failure::WrongUse(format!(
            "--until: \"{text}\" is over; give a time after now"
        )));
    }
    Ok(opened.service.minute(until))
}

/// Returns how wide what is printed may be: as the terminal, or as a page.
pub(super) fn width() -> usize {
    tui::columns().map_or(PAGE, usize::from)
}
