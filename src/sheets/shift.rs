//! Now and next, and the handover, as plain text; the handover for other programs too.
//!
//! Text reads the same on a screen, in a pipe and on paper: no colour, no sign beyond ASCII but those that stand in
//! names. The JSON of a handover is one object; a later version may add fields, and changes the name in `format` when it
//! changes the meaning of one. *Moments* are those of the plan's JSON.
//!
//! ```text
//! {
//!   "format": "countback-handover-1",
//!   "menu": {"id", "name"}, "now": moment,
//!   "steps": number, "over": number,     steps in all, and how many are over or will not be done
//!   "trouble": [sentence, …],            why the plan does not hold; empty where it does
//!   "calls": [sentence, …],              what calls for attention and was not answered
//!   "stays": [sentence, …],              who works beyond their shifts, where the plan holds
//!   "runs": [{"key", "name", "dish", "since": moment, "end": moment | null, "look": moment | null,
//!             "readings": [{"at": moment, "says", "goal": text | null}]}],
//!   "next": [{"key", "name", "dish", "start": moment, "hands", "cooks": [name, …], "late": bool}],
//!   "more": number,                      steps to start beyond those
//!   "ahead": [{"by": moment, "says"}],   to order, thaw or soak: overdue where it was not done, and of the next twelve hours
//!   "too_late": [sentence, …],          what was soaked or thawed too late for the step that takes it
//!   "decided": [sentence, …],            otherwise than the menu says
//!   "moved": [{"name", "told": moment, "start": moment}],
//!   "notes": [said, …],                  said: {"at": moment, "who", "says"}, oldest first
//!   "last": said | null,                 the handover before this one
//!   "since": [said, …]                   what has happened since, oldest first; what was taken back is left out
//! }
//! ```

use std::io;

use serde::Serialize;

use super::json::Moment;
use super::page::hang;
use crate::menu::Menu;
use crate::plan::PlanOutcome;
use crate::prep::{
    Handover, HandoverLine, NowAndNext, Runs, Told, Wants, agreed, done_words, goal_words,
    reading_words, trouble,
};
use crate::text::one_line;
use crate::time::{Minute, Minutes, ServiceTime, Timestamp};

/// Writes what calls, what runs and what wants hands, a line each.
pub fn write_now(
    content: &NowAndNext,
    calls: &[String],
    outcome: &PlanOutcome,
    service: ServiceTime,
    now: Minute,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let clock = service.local(now).weekday_clock();
    let steps = content.steps;
    let done = done_words(content.over, content.skipped, steps);
    writeln!(out, "now {clock}, {done}")?;
    for said in trouble(outcome).iter().chain(calls) {
        writeln!(out, "! {}", one_line(said))?;
    }
    for said in agreed(outcome) {
        writeln!(out, "{}", one_line(&said))?;
    }
    writeln!(out, "runs")?;
    if content.runs.is_empty() {
        writeln!(out, "  nothing")?;
    }
    for runs in &content.runs {
        writeln!(out, "  {}", one_line(&running(runs, service, now)))?;
    }
    writeln!(out, "wants hands")?;
    if content.wants.is_empty() {
        writeln!(out, "  nothing")?;
    }
    for wants in &content.wants {
        writeln!(out, "  {}", one_line(&wanting(wants, service, now)))?;
    }
    if content.later > 0 {
        writeln!(out, "  and {} more, later", content.later)?;
    }
    if content.untimed > 0 {
        let untimed = content.untimed;
        writeln!(
            out,
            "not begun, and no plan says when: {untimed} of {steps} steps"
        )?;
    }
    Ok(())
}

fn running(runs: &Runs, service: ServiceTime, now: Minute) -> String {
    let clock = |minute: Minute| service.local(minute).weekday_clock();
    let left = match (runs.left(now), runs.end) {
        (Some(left), Some(end)) if left > Minutes::ZERO => {
            format!("{left} left, until {}", clock(end))
        }
        (Some(Minutes::ZERO), _) => "to be over by now".to_owned(),
        (Some(left), Some(end)) => format!("over for {}, since {}", -left, clock(end)),
        (_, None) | (None, _) => "its end is not known".to_owned(),
    };
    let look = runs
        .look
        .map_or(String::new(), |look| format!(", look at {}", clock(look)));
    let since = clock(runs.since);
    format!(
        "{left}{look}: {} ({}), since {since}",
        runs.of.name, runs.of.dish
    )
}

fn wanting(wants: &Wants, service: ServiceTime, now: Minute) -> String {
    let clock = service.local(wants.at).weekday_clock();
    let was = wants.was.map_or(String::new(), |was| {
        format!(", was {}", service.local(was).weekday_clock())
    });
    let when = match (wants.at - now).0 {
        0 => "now".to_owned(),
        1.. => format!("in {}, {clock}{was}", wants.at - now),
        _ if wants.is_late => format!("{} LATE, {clock}", now - wants.at),
        _ => format!("now, since {clock}"),
    };
    let mut whose = wants.of.cooks.clone();
    whose.extend(wants.of.station.clone());
    let whose = if whose.is_empty() {
        String::new()
    } else {
        format!(": {}", whose.join(", "))
    };
    let hands = if wants.hands > 1 {
        format!(", {} hands", wants.hands)
    } else {
        String::new()
    };
    let what = wants.what.word();
    format!(
        "{when}: {what} {} ({}){hands}{whose}",
        wants.of.name, wants.of.dish
    )
}

/// Writes what the next shift has to know, on one page.
pub fn write_handover(
    handover: &Handover,
    menu: &Menu,
    service: ServiceTime,
    now: Minute,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let (name, clock) = (one_line(&menu.name), service.local(now));
    let at = service.local(Minute::SERVICE);
    writeln!(
        out,
        "{name}: handover, {clock}, {} (service {at})",
        now.countdown()
    )?;
    for line in handover.lines(service, now) {
        match line {
            HandoverLine::Heading(text) => writeln!(out, "\n{}", one_line(&text))?,
            HandoverLine::Alarm(text) => hang(&one_line(&format!("! {text}")), 2, width, out)?,
            HandoverLine::Plain(text) => hang(&one_line(&format!("- {text}")), 2, width, out)?,
        }
    }
    Ok(())
}

#[derive(Serialize)]
struct Said<'a> {
    at: Moment,
    who: &'a str,
    says: &'a str,
}

#[derive(Serialize)]
struct Reading {
    at: Moment,
    says: String,
    goal: Option<String>,
}

#[derive(Serialize)]
struct Run<'a> {
    key: String,
    name: &'a str,
    dish: &'a str,
    since: Moment,
    end: Option<Moment>,
    look: Option<Moment>,
    readings: Vec<Reading>,
}

#[derive(Serialize)]
struct Next<'a> {
    key: String,
    name: &'a str,
    dish: &'a str,
    start: Moment,
    hands: u32,
    cooks: &'a [String],
    late: bool,
}

#[derive(Serialize)]
struct Ahead<'a> {
    by: Moment,
    says: &'a str,
}

#[derive(Serialize)]
struct Moved<'a> {
    name: &'a str,
    told: Moment,
    start: Moment,
}

#[derive(Serialize)]
struct MenuName<'a> {
    id: &'a str,
    name: &'a str,
}

#[derive(Serialize)]
struct Page<'a> {
    format: &'static str,
    menu: MenuName<'a>,
    now: Moment,
    steps: usize,
    over: usize,
    trouble: &'a [String],
    stays: &'a [String],
    calls: &'a [String],
    runs: Vec<Run<'a>>,
    next: Vec<Next<'a>>,
    more: usize,
    ahead: Vec<Ahead<'a>>,
    too_late: &'a [String],
    decided: &'a [String],
    moved: Vec<Moved<'a>>,
    notes: Vec<Said<'a>>,
    last: Option<Said<'a>>,
    since: Vec<Said<'a>>,
}

/// Writes it for other programs.
pub fn write_json(
    handover: &Handover,
    menu: &Menu,
    service: ServiceTime,
    now: Minute,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let moment = |minute: Minute| moment(service, service.timestamp(minute));
    let runs = handover.runs.iter().map(|running| Run {
        key: running.runs.of.key.to_string(),
        name: &running.runs.of.name,
        dish: &running.runs.of.dish,
        since: moment(running.runs.since),
        end: running.runs.end.map(moment),
        look: running.runs.look.map(moment),
        readings: running
            .readings
            .iter()
            .map(|it| Reading {
                at: self::moment(service, it.at),
                says: reading_words(it.reading),
                goal: it.goal.map(goal_words),
            })
            .collect(),
    });
    let next = handover.next.iter().map(|wants| Next {
        key: wants.of.key.to_string(),
        name: &wants.of.name,
        dish: &wants.of.dish,
        start: moment(wants.at),
        hands: wants.hands,
        cooks: &wants.of.cooks,
        late: wants.is_late,
    });
    let ahead = handover.unready.iter().chain(&handover.ahead);
    let ahead = ahead.map(|(by, says)| Ahead {
        by: moment(*by),
        says,
    });
    let moved = handover.moved.iter().map(|(name, was, is)| Moved {
        name,
        told: moment(*was),
        start: moment(*is),
    });
    let page = Page {
        format: "countback-handover-1",
        menu: MenuName {
            id: &menu.id,
            name: &menu.name,
        },
        now: moment(now),
        steps: handover.over.1,
        over: handover.over.0,
        trouble: &handover.trouble,
        stays: &handover.stays,
        calls: &handover.calls,
        runs: runs.collect(),
        next: next.collect(),
        more: handover.more,
        ahead: ahead.collect(),
        too_late: &handover.too_late,
        decided: &handover.decided,
        moved: moved.collect(),
        notes: said_all(&handover.notes, service),
        last: handover.last.as_ref().map(|told| said(told, service)),
        since: said_all(&handover.since, service),
    };
    serde_json::to_writer_pretty(&mut *out, &page)?;
    writeln!(out)
}

fn moment(service: ServiceTime, at: Timestamp) -> Moment {
    Moment {
        at: at.rfc3339_in(service.zone()),
        minute: service.minute(at).0,
    }
}

fn said(told: &Told, service: ServiceTime) -> Said<'_> {
    Said {
        at: moment(service, told.at),
        who: &told.who,
        says: &told.text,
    }
}

fn said_all(told: &[Told], service: ServiceTime) -> Vec<Said<'_>> {
    told.iter().map(|one| said(one, service)).collect()
}
