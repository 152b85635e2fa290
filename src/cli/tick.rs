//! `tick`: one entry in the book, from the command line.

use std::io::{self, Write};

use super::args::Tick;
use super::command::Opened;
use super::report::{self, Ending, Failure};
use super::{seen, step_name, who};
use crate::book::{Book, Entry, EntryId, Happening, Note, access};
use crate::plan::{self, Plan, PlanOutcome, StepKey};
use crate::prep::{
    Ask, PrepState, Progress, Standing, entry_words, in_time_but, is_to_start, slip, standing,
    typed_time,
};
use crate::sheets::text::still_lines;
use crate::text::one_line;
use crate::time::{Minute, ServiceTime};

/// What is to be ticked, as typed.
#[derive(Debug)]
pub(super) struct Asked<'a> {
    /// The step.
    pub(super) step: &'a str,
    /// What happened.
    pub(super) what: Tick,
    /// When.
    pub(super) at: Option<&'a str>,
    /// Why it is skipped.
    pub(super) reason: Option<&'a str>,
}

/// Writes a tick and prints what stands now.
pub(super) fn tick(
    opened: &Opened,
    asked: &Asked<'_>,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let ask = ask(asked)?;
    let zone = opened.service.zone();
    let at = match asked.at {
        None => opened.now,
        Some(text) => typed_time(text, opened.now, zone)
            .map_err(|said| Failure::WrongUse(format!("--at: {said}")))?,
    };
    // What makes no sense is found before a book is made for it.
    let before = PrepState::fold(&opened.looked()?.0);
    let steps = plan::named(&opened.as_decided(&before).loaded.menu);
    let key = &step_name::find(&steps, asked.step)
        .map_err(Failure::WrongUse)?
        .key;
    before
        .ask(key, ask.clone(), at)
        .map_err(|refusal| Failure::WrongUse(refusal.to_string()))?;

    let access = access::to_write(&opened.book, opened.now)?;
    for remark in opened.remarks(&access) {
        report::say(&remark, &mut io::stderr().lock());
    }
    let mut book = access.book;
    let mut entries = book.entries(&opened.event)?;
    let changes = seen::note_changes(opened, &mut book, &mut entries)?;
    // Asked again of what the book says now: another terminal may have ticked meanwhile.
    let what = PrepState::fold(&entries)
        .ask(key, ask, at)
        .map_err(|refusal| Failure::WrongUse(refusal.to_string()))?;
    let entry = book.append(&Note {
        event: opened.event.clone(),
        at,
        written: opened.now,
        who: who::name(),
        place: who::place(),
        what: what.clone(),
    })?;
    // What another terminal wrote in this moment comes before it.
    let seen = entries.last().map_or(EntryId(0), |entry| entry.id);
    let news = book.entries_after(&opened.event, seen)?;
    entries.extend(news.into_iter().filter(|other| other.id < entry.id));
    let before = PrepState::fold(&entries);
    entries.push(entry.clone());

    let prep = PrepState::fold(&entries);
    let opened = &opened.as_decided(&prep);
    if !before.is_moved_by(&entry) {
        writeln!(
            out,
            "another terminal was first; what it said stands, and this tick is in the book beside it:"
        )?;
    }
    for change in changes {
        writeln!(out, "the menu has changed: {}", one_line(&change))?;
    }
    let undone = match what {
        Happening::Undone { entry: undone } => entries.iter().find(|entry| entry.id == undone),
        _ => None,
    };
    writeln!(out, "{}", stands(key, undone, &prep, opened.service))?;
    if matches!(what, Happening::Started { .. } | Happening::Finished { .. }) {
        // What was to be is known to the plan from before.
        let planned = opened.plan(&before);
        if let Some(slip) = slip(planned.times(), &before, &what, key, at) {
            writeln!(out, "{slip}: a slip? undo takes it back")?;
        }
    }
    plan_on(opened, &mut book, &prep, Some(key), out)?;
    Ok(Ending::Fine)
}

/// Plans what is left after an entry, about a step or not, and prints what comes of it. Times that had to be looked for are
/// written down for every sheet.
pub(super) fn plan_on(
    opened: &Opened,
    book: &mut Book,
    prep: &PrepState,
    key: Option<&StepKey>,
    out: &mut impl Write,
) -> Result<(), Failure> {
    let outcome = opened.plan(prep);
    if let Some(what) = prep.moved_by(&outcome, opened.service, opened.now) {
        let moved = Note {
            event: opened.event.clone(),
            at: opened.now,
            written: opened.now,
            who: who::name(),
            place: who::place(),
            what,
        };
        // The entry is in the book; times that could not be written are found again.
        let _ = book.append_after(&moved, prep.last());
    }
    follow_up(&outcome, prep, key, (opened.minute(), out))
}

fn ask(asked: &Asked<'_>) -> Result<Ask, Failure> {
    match (asked.what, asked.reason) {
        (Tick::Skip, Some(reason)) if !reason.trim().is_empty() => Ok(Ask::Skip(reason.to_owned())),
        (Tick::Skip, _) => Err(Failure::WrongUse(
            "a step is skipped for a reason; give it with --reason TEXT".into(),
        )),
        (_, Some(_)) => Err(Failure::WrongUse(
            "only a skipped step takes --reason".into(),
        )),
        (Tick::Start, None) => Ok(Ask::Start),
        (Tick::Done, None) => Ok(Ask::Finish),
        (Tick::Undo, None) => Ok(Ask::Undo),
    }
}

/// Returns how the step stands now, and before it which entry was taken back, where one was.
fn stands(key: &StepKey, undone: Option<&Entry>, prep: &PrepState, service: ServiceTime) -> String {
    let clock = |moment: crate::time::Timestamp| moment.local(service.zone()).weekday_clock();
    let now = match prep.progress(key) {
        Progress::Waiting => "waits".to_owned(),
        Progress::Running { since } => format!("started {}", clock(since)),
        Progress::Finished {
            started: Some(started),
            at,
        } => format!("done {}, started {}", clock(at), clock(started)),
        Progress::Finished { started: None, at } => format!("done {}", clock(at)),
        Progress::Skipped { at, reason } => format!("skipped {}: {}", clock(at), one_line(&reason)),
    };
    let key = one_line(&key.to_string());
    match undone {
        Some(entry) => {
            let said = entry_words(&entry.what, service.zone());
            format!("taken back: {}\n{key} {now}", one_line(&said))
        }
        None => format!("{key} {now}"),
    }
}

/// Prints when the step ends by the new plan, and what is next; where it does not fit any more why, and by what can still
/// be. The tick stands either way.
fn follow_up(
    outcome: &PlanOutcome,
    prep: &PrepState,
    key: Option<&StepKey>,
    (now, out): (Minute, &mut impl Write),
) -> Result<(), Failure> {
    let plan = match outcome {
        PlanOutcome::Planned(plan) => plan,
        PlanOutcome::TooLate {
            because, forecast, ..
        } => {
            let how = in_time_but(outcome);
            let how = how.unwrap_or("what is left does not fit any more");
            told(&format!("{how}:"), because, out)?;
            let Some(plan) = forecast else { return Ok(()) };
            told("what can still be:", &still_lines(plan), out)?;
            plan
        }
        PlanOutcome::Impossible(because) => {
            return told("no plan says what comes next:", because, out);
        }
    };
    let said = |minute: Minute| plan.service.local(minute).weekday_clock();
    if let Some((index, step)) = key.and_then(|key| plan.find(key))
        && matches!(standing(plan, prep, index, now), Standing::Running)
    {
        writeln!(out, "it runs until {}", said(step.window.end))?;
    }
    match next(plan, prep) {
        Some(next) => {
            let step = &plan.steps[next];
            let slip = if step.can_slip_until > step.window.start {
                format!(", can slip until {}", said(step.can_slip_until))
            } else {
                String::new()
            };
            writeln!(
                out,
                "next: {} at {}{slip}",
                one_line(&step.key.to_string()),
                said(step.window.start)
            )?;
        }
        None if waits(plan, prep).any(|step| plan.is_given_up(step)) => {
            writeln!(out, "nothing comes next: what still waits is left out")?;
        }
        None => writeln!(out, "every step has been started")?,
    }
    Ok(())
}

fn told(heading: &str, because: &[String], out: &mut impl Write) -> Result<(), Failure> {
    writeln!(out, "{heading}")?;
    for sentence in because {
        writeln!(out, "  {}", one_line(sentence))?;
    }
    Ok(())
}

fn next(plan: &Plan, prep: &PrepState) -> Option<usize> {
    let mut order = plan.order.iter().copied();
    order.find(|&step| is_to_start(plan, prep, step))
}

fn waits<'a>(plan: &'a Plan, prep: &'a PrepState) -> impl Iterator<Item = usize> + 'a {
    let order = plan.order.iter().copied();
    order.filter(|&step| prep.progress(&plan.steps[step].key) == Progress::Waiting)
}
