//! The plan as plain text, a page a day: for a wall, a pipe, a printer.
//!
//! Every line of a day stands in the order of its time. A step that began on an earlier day stands at the head
//! of each later day on which it needs hands or ends, because a page is read on its day alone. Cells that are
//! too long for their column go on below; nothing is cut off. Pages are parted by a blank line and a rule, so
//! that the text reads the same on a screen and through any printer.
//!
//! Cautions stand beside their steps by name and are said in full at the end, with who decides.
//!
//! Left out on purpose: methods and amounts (those are on the card), and colour.

use std::io;

use super::order::errands_of;
use super::page::{NARROWEST, Sheet, full_name, going_on, hang};
use crate::menu::Menu;
use crate::plan::{Chance, Late, Plan, PlanOutcome, StepIndex, Verdict, WayOut};
use crate::prep::{PrepState, Progress, agreed, in_time_but, is_to_start};
use crate::text::one_line;
use crate::time::{Minute, Window};

/// Writes the whole plan, with its chances where they have been reckoned. Where there is none, sentences, and after
/// them what can still be.
pub fn write(
    outcome: &PlanOutcome,
    chance: Option<&Chance>,
    menu: &Menu,
    prep: &PrepState,
    now: Minute,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let Some(plan) = begin(outcome, menu, now, width, out)? else {
        return Ok(());
    };
    let page = width.max(NARROWEST);
    if matches!(outcome, PlanOutcome::Planned(_)) {
        hang(&Verdict::of(menu, plan).sentence(), 0, page, out)?;
        for said in plan.overtime_words() {
            hang(&one_line(&said), 0, page, out)?;
        }
    }
    if let Some(chance) = chance {
        let said = chance.whole.sentences(menu, plan).join("; ");
        hang(&one_line(&format!("everything {said}")), 0, page, out)?;
    }
    let errands = errands_of(menu, plan, prep);
    let mut steps = plan.order.clone();
    steps.retain(|&step| !plan.is_given_up(step));
    let sheet = Sheet::new(plan, menu, prep, now, width, (steps, errands));
    for date in sheet.dates() {
        sheet.day(date, out)?;
    }
    sheet.pass(chance, out)?;
    sheet.cautions(out)?;
    sheet.legend(out)
}

/// Writes what runs, and what has to start from now until `until`.
pub fn write_tonight(
    outcome: &PlanOutcome,
    menu: &Menu,
    prep: &PrepState,
    now: Minute,
    until: Minute,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let Some(plan) = begin(outcome, menu, now, width, out)? else {
        return match outcome {
            PlanOutcome::TooLate { needed, .. } => {
                still_needed(needed, menu, prep, now, until, width, out)
            }
            _ => Ok(()),
        };
    };
    let service = plan.service;
    for said in agreed(outcome) {
        hang(&one_line(&said), 0, width.max(NARROWEST), out)?;
    }
    writeln!(out, "\nto start until {}", service.local(until))?;
    let running: Vec<StepIndex> = plan
        .order
        .iter()
        .copied()
        .filter(|&step| runs(plan, prep, step))
        .collect();
    for &step in &running {
        writeln!(
            out,
            "running: {}",
            going_on(plan, menu, step, Window::new(now, until))
        )?;
    }
    let mut errands = errands_of(menu, plan, prep);
    let past = errands.iter().filter(|it| it.is_past(now)).count();
    errands.retain(|it| it.seen_to.is_none() && now <= it.at && it.at < until);
    if past > 0 {
        let said = match past {
            1 => "1 thing should have been ordered or set to soak or thaw by now".to_owned(),
            past => format!("{past} things should have been ordered or set to soak or thaw by now"),
        };
        hang(
            &format!("{said}: countback order says which"),
            0,
            width.max(NARROWEST),
            out,
        )?;
    }
    let to_start = to_start(plan, prep, until);
    if to_start.is_empty() && !errands.is_empty() {
        let sheet = Sheet::new(plan, menu, prep, now, width, (to_start, errands));
        return sheet
            .dates_of_starts()
            .into_iter()
            .try_for_each(|date| sheet.day(date, out));
    }
    if to_start.is_empty() {
        let next = plan
            .order
            .iter()
            .find(|&&step| is_to_start(plan, prep, step))
            .map(|&step| &plan.steps[step]);
        return match next {
            Some(next) => writeln!(
                out,
                "nothing; the next is {}, {}",
                full_name(menu, next),
                service.local(next.window.start)
            ),
            None => writeln!(out, "nothing; every step has been started"),
        };
    }
    let sheet = Sheet::new(plan, menu, prep, now, width, (to_start, errands));
    for date in sheet.dates_of_starts() {
        sheet.day(date, out)?;
    }
    sheet.cautions(out)?;
    sheet.legend(out)
}

/// Writes what would still have to start from now on, although not everything can be ready any more: the rest of
/// the night's work does not go away because one step is late.
fn still_needed(
    needed: &Plan,
    menu: &Menu,
    prep: &PrepState,
    now: Minute,
    until: Minute,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let service = needed.service;
    let mut steps = to_start(needed, prep, until);
    steps.retain(|&step| needed.steps[step].window.start >= now);
    writeln!(
        out,
        "\nstill to start until {}, each no later than it says:",
        service.local(until)
    )?;
    if steps.is_empty() {
        writeln!(out, "  nothing")?;
    }
    steps.into_iter().try_for_each(|step| {
        let step = &needed.steps[step];
        let said = format!(
            "{}  {} ({})",
            service.local(step.window.start).weekday_clock(),
            full_name(menu, step),
            one_line(&step.key.to_string())
        );
        hang(&said, 2, width.max(NARROWEST), out)
    })
}

/// Returns the steps that wait and have to start before `until`, in the order of their starts.
pub fn to_start(plan: &Plan, prep: &PrepState, until: Minute) -> Vec<StepIndex> {
    plan.order
        .iter()
        .copied()
        .filter(|&step| is_to_start(plan, prep, step))
        .filter(|&step| plan.steps[step].window.start < until)
        .collect()
}

fn runs(plan: &Plan, prep: &PrepState, step: StepIndex) -> bool {
    matches!(
        prep.progress(&plan.steps[step].key),
        Progress::Running { .. }
    )
}

/// Writes the head of the sheet, and where there is no plan the sentences that stand in its place.
fn begin<'a>(
    outcome: &'a PlanOutcome,
    menu: &Menu,
    now: Minute,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<Option<&'a Plan>> {
    let width = width.max(NARROWEST);
    writeln!(out, "{}", one_line(&menu.name))?;
    if let Some(plan) = outcome.times() {
        let service = plan.service;
        writeln!(
            out,
            "{} covers, service {} ({})",
            menu.covers,
            service.local(Minute::SERVICE),
            service.zone()
        )?;
        writeln!(out, "as of {}, {}", service.local(now), now.countdown())?;
    }
    match outcome {
        PlanOutcome::Planned(plan) => return Ok(Some(plan)),
        PlanOutcome::TooLate {
            needed,
            forecast,
            late,
            because,
        } => {
            let how = in_time_but(outcome);
            let how = how.unwrap_or("too late: this cannot all be ready in time any more");
            writeln!(out, "\n{how}")?;
            sentences(because, width, out)?;
            if !late.is_empty() {
                writeln!(out, "\nwhat should have started:")?;
            }
            for late in late {
                let said = should_have_started(needed, menu, *late, now);
                hang(&said, 2, width, out)?;
            }
            if let Some(plan) = forecast {
                still(plan, width, out)?;
                return Ok(Some(plan));
            }
        }
        PlanOutcome::Impossible(because) => {
            writeln!(out, "\nthis cannot be done, however early it starts")?;
            sentences(because, width, out)?;
        }
    }
    Ok(None)
}

/// Writes which dishes are late on a forecast, by how much and because of what.
fn still(plan: &Plan, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    writeln!(out, "\nwhat can still be, on the times below:")?;
    sentences(&still_lines(plan), width, out)
}

/// Returns which dishes are late on a forecast, by how much and because of what, and how many are in time: a sentence a
/// line.
pub fn still_lines(plan: &Plan) -> Vec<String> {
    let late = plan.dishes.iter().filter_map(|dish| {
        let late = dish.late.as_ref()?;
        let ready = plan.service.local(dish.ready).weekday_clock();
        let how = match late.by {
            Some(by) => format!("{by} late, ready {ready}"),
            None => "is left out of what can still be".to_owned(),
        };
        Some(format!("{}: {how}; {}", dish.name, late.because))
    });
    let mut said: Vec<String> = late.collect();
    let late = said.len();
    said.extend(plan.overtime_words());
    said.push(match (plan.dishes.len() - late, late) {
        (_, 0) => "every dish in time for its course".to_owned(),
        (0, _) => "no dish in time for its course".to_owned(),
        (1, _) => "one other dish in time for its course".to_owned(),
        (more, _) => format!("{more} other dishes in time for their courses"),
    });
    said
}

/// Writes what would make a menu possible that is not, each way planned.
pub fn write_ways_out(ways: &[WayOut], width: usize, out: &mut impl io::Write) -> io::Result<()> {
    let width = width.max(NARROWEST);
    if ways.is_empty() {
        let said = "no single change that was tried makes it possible; W on the sheet tries what saves some of it";
        out.write_all(b"\n")?;
        return hang(said, 0, width, out);
    }
    writeln!(out, "\nwhat would make it possible, each of them planned:")?;
    ways.iter()
        .try_for_each(|way| hang(&one_line(&way.says), 2, width, out))
}

fn sentences(lines: &[String], width: usize, out: &mut impl io::Write) -> io::Result<()> {
    lines
        .iter()
        .try_for_each(|line| hang(&one_line(line), 2, width, out))
}

/// Returns when a step should have started, and how long ago that was, or in how long it will be.
pub fn should_have_started(needed: &Plan, menu: &Menu, late: Late, now: Minute) -> String {
    let step = &needed.steps[late.step];
    let ago = if late.latest <= now {
        format!("{} ago", now - late.latest)
    } else {
        format!("in {}", late.latest - now)
    };
    format!(
        "{} ({}): by {}, {}",
        full_name(menu, step),
        one_line(&step.key.to_string()),
        needed.service.local(late.latest),
        ago
    )
}
