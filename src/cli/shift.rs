//! `now` and `handover`: what a cook has to know at this minute, and what the next shift has to.

use std::io::Write;

use super::command::Opened;
use super::report::{Ending, Failure};
use crate::plan::PlanOutcome;
use crate::prep::{ErrandAt, HandedOver, Handover, NowAndNext, PrepState, Watched, calls};
use crate::sheets::shift;
use crate::text::one_line;

/// Prints what runs and what wants hands next.
pub(super) fn now(
    opened: &Opened,
    cook: Option<&str>,
    station: Option<&str>,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let outcome = opened.plan(&prep);
    let menu = &opened.loaded.menu;
    let now = opened.minute();
    let mut content = NowAndNext::of(menu, outcome.times(), &prep, opened.service, now);
    let cook = cook.map(|cook| known("cook", menu.kitchen.cooks.iter().map(|it| &it.name), cook));
    let cook = cook.transpose()?;
    let stations = menu.kitchen.stations.iter().map(|(_, name)| name);
    let station = station
        .map(|station| known("station", stations, station))
        .transpose()?;
    content.only(|of| {
        let mine = cook
            .as_ref()
            .is_none_or(|it| of.cooks.is_empty() || of.cooks.contains(it));
        let here = station
            .as_ref()
            .is_none_or(|it| of.station.as_ref().is_none_or(|is| is == it));
        mine && here
    });
    content.near(now);
    let calls = unanswered(opened, &outcome, &prep, &opened.errands(&prep, &outcome));
    shift::write_now(&content, &calls, &outcome, opened.service, now, out)?;
    Ok(ending(&outcome))
}

/// Prints what the next shift has to know.
pub(super) fn handover(
    opened: &Opened,
    as_json: bool,
    width: usize,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let entries = opened.entries()?;
    let prep = PrepState::fold(&entries);
    let written = opened;
    let opened = &written.as_decided(&prep);
    let lacks = written.lacking(&entries, &prep, &opened.loaded.menu);
    let outcome = opened.plan(&prep);
    let errands = opened.errands(&prep, &outcome);
    let calls = unanswered(opened, &outcome, &prep, &errands);
    let handover = Handover::of(HandedOver {
        menu: &opened.loaded.menu,
        service: opened.service,
        outcome: Some(&outcome),
        entries: &entries,
        prep: &prep,
        calls: &calls,
        lacks: &lacks,
        errands: &errands,
        now: opened.minute(),
    });
    let (menu, service, now) = (&opened.loaded.menu, opened.service, opened.minute());
    if as_json {
        shift::write_json(&handover, menu, service, now, out)?;
    } else {
        shift::write_handover(&handover, menu, service, now, width, out)?;
    }
    Ok(ending(&outcome))
}

fn ending(outcome: &PlanOutcome) -> Ending {
    match outcome {
        PlanOutcome::Planned(_) => Ending::Fine,
        _ => Ending::Faulty,
    }
}

/// Returns what calls and has not been answered, in words. By when what runs must be over is asked only of what should be
/// by now: that takes plans for each, and whoever types a command waits for it.
fn unanswered(
    opened: &Opened,
    outcome: &PlanOutcome,
    prep: &PrepState,
    errands: &[ErrandAt],
) -> Vec<String> {
    let watched = Watched {
        menu: &opened.loaded.menu,
        outcome,
        prep,
        errands,
        latest_ends: &opened.latest_ends(prep, outcome),
        now: opened.minute(),
    };
    let calls = calls(watched).into_iter();
    let unanswered = calls.filter(|call| !prep.is_heeded(&call.name, opened.now));
    unanswered.map(|call| call.says).collect()
}

/// Returns the one of these names that a text means.
fn known<'a>(
    what: &str,
    names: impl Iterator<Item = &'a String>,
    text: &str,
) -> Result<String, Failure> {
    let names: Vec<&String> = names.collect();
    let wanted = text.trim().to_lowercase();
    let found = names.iter().find(|name| name.to_lowercase() == wanted);
    found.map(|name| (*name).clone()).ok_or_else(|| {
        let known: Vec<String> = names.iter().map(|name| one_line(name)).collect();
        let known = known.join(", ");
        Failure::WrongUse(format!(
            "there is no {what} \"{}\"; there are {known}",
            one_line(text)
        ))
    })
}
