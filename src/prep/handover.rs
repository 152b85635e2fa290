//! Handing over: what the next shift has to know, on one page.
//!
//! In the order in which it is asked: what needs somebody at once, what runs and what it showed last, what is next, what
//! must be ordered or thawed, what was decided, what was noted, and what has happened since the last handover. Shifts hand over by a note of the banquet
//! that begins with [`HANDED_OVER`]; so it is an entry like any other, shown in the book and taken back like any other.
//! Where nobody has handed over yet, everything that happened is told.
//!
//! Words are made here, as they stand on the screen, on paper and for programs; nobody's text in them is made harmless
//! yet.

use super::now::{NowAndNext, Of, Runs, Want, Wants, done_words};
use super::{
    ErrandAt, Measured, PrepState, Progress, decision_words, entry_words, goal_words, reading_words,
};
use crate::book::{Entry, EntryId, Happening};
use crate::menu::Menu;
use crate::plan::{DishPlan, Plan, PlanOutcome, StepKey};
use crate::time::{Minute, Minutes, ServiceTime, Timestamp, day_after};

/// How a note begins that says: from here on it is the next shift's.
pub const HANDED_OVER: &str = "handed over";

/// What is said first where only shifts, or the times of some steps, do not hold.
const ONLY_BEHIND: &str = "behind, but every dish can be in time";

/// What is said first where every dish is in time and what one of them is made of has stood or kept too long.
const PAST_LIMIT: &str = "every dish can be in time, but a limit on a card no longer holds";

/// What is said first where a dish is late.
pub const AS_IT_STANDS: &str = "cannot be done as it stands";

/// Returns what is said first of a plan that does not hold although every dish can be in time; none where one cannot.
pub fn in_time_but(outcome: &PlanOutcome) -> Option<&'static str> {
    let forecast = outcome.forecast()?;
    if outcome.only_behind().is_some() {
        return Some(ONLY_BEHIND);
    }
    let mut dishes = forecast.dishes.iter();
    dishes.all(|dish| dish.late.is_none()).then_some(PAST_LIMIT)
}

/// How many lines of what may be long stand on the page.
const LONGEST: usize = 8;

/// How many steps to come are named; those of the next twelve hours are, and this many at the most.
const NEXT: usize = 8;

/// How much of what should have been ordered or thawed by now the next shift is told of.
const ASKED: usize = 4;

/// How far ahead the next shift looks.
const AHEAD: Minutes = Minutes::hours(12);

/// What a handover is made from.
#[derive(Clone, Copy, Debug)]
pub struct HandedOver<'a> {
    /// The menu, with what was decided.
    pub menu: &'a Menu,
    /// Service and zone.
    pub service: ServiceTime,
    /// What became of planning.
    pub outcome: Option<&'a PlanOutcome>,
    /// Every entry about the banquet, oldest first.
    pub entries: &'a [Entry],
    /// They folded.
    pub prep: &'a PrepState,
    /// What calls and was not answered, in words.
    pub calls: &'a [String],
    /// What was made for fewer than are served now, a sentence each.
    pub lacks: &'a [String],
    /// What must be ordered, thawed or soaked for what has not begun, the first first.
    pub errands: &'a [ErrandAt],
    /// The minute it is.
    pub now: Minute,
}

/// What the next shift has to know.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Handover {
    /// Why the plan does not hold, and which dishes are late or left out; none where it does.
    pub trouble: Vec<String>,
    /// What calls.
    pub calls: Vec<String>,
    /// Who works beyond their shifts on a plan that holds, and when.
    pub stays: Vec<String>,
    /// What was made for fewer than are served now.
    pub lacks: Vec<String>,
    /// What runs.
    pub runs: Vec<Running>,
    /// What is to be started next, with how many there are beyond.
    pub next: Vec<Wants>,
    /// How many more are to be started.
    pub more: usize,
    /// What must be ordered, thawed or soaked: what should have been by now, and what must within twelve hours.
    pub ahead: Vec<(Minute, String)>,
    /// What should have been set to soak or thaw by now.
    pub unready: Vec<(Minute, String)>,
    /// What was soaked or thawed too late for the step that takes it, in words.
    pub too_late: Vec<String>,
    /// Whether anything is known of times.
    pub has_times: bool,
    /// What is decided otherwise than the menu says.
    pub decided: Vec<String>,
    /// What was noted.
    pub notes: Vec<Told>,
    /// When was handed over last, and by whom.
    pub last: Option<Told>,
    /// What has happened since, oldest first; what was taken back is left out.
    pub since: Vec<Told>,
    /// Steps that start at other times than the cooks were told: the name, the time told, the time now.
    pub moved: Vec<(String, Minute, Minute)>,
    /// How many steps are over, of how many.
    pub over: (usize, usize),
    /// How many of those will not be done.
    pub skipped: usize,
}

/// A step that runs, with what it showed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Running {
    /// The step.
    pub runs: Runs,
    /// What was measured since it began, oldest first.
    pub readings: Vec<Measured>,
}

/// Something that was said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Told {
    /// When it happened.
    pub at: Timestamp,
    /// By whom; may be empty.
    pub who: String,
    /// What.
    pub text: String,
}

/// A line of the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandoverLine {
    /// A heading.
    Heading(String),
    /// Something that is wrong.
    Alarm(String),
    /// Anything else.
    Plain(String),
}

impl Handover {
    /// Returns what there is to hand over.
    pub fn of(asked: HandedOver<'_>) -> Self {
        let HandedOver {
            menu,
            service,
            outcome,
            entries,
            prep,
            calls,
            lacks,
            errands,
            now,
        } = asked;
        let plan = outcome.and_then(PlanOutcome::times);
        let content = NowAndNext::of(menu, plan, prep, service, now);
        let runs = content.runs.into_iter();
        let runs = runs.map(|runs| running(runs, prep, service)).collect();
        let mut next = content.wants;
        next.retain(|wants| wants.what == Want::Start);
        let all = next.len();
        let soon = next
            .iter()
            .take_while(|wants| wants.at <= now + AHEAD)
            .count();
        next.truncate(soon.clamp(3, NEXT));
        let more = all - next.len();
        let is_last = |entry: &&Entry| {
            prep.counts(entry.id)
                && matches!(&entry.what, Happening::Noted { step: None, text } if text.starts_with(HANDED_OVER))
        };
        let last = entries.iter().rev().find(is_last);
        let after = last.map_or(EntryId(0), |entry| entry.id);
        let zone = service.zone();
        let told = |entry: &Entry| Told {
            at: entry.at,
            who: entry.who.clone(),
            text: entry_words(&entry.what, zone),
        };
        let since = entries.iter().filter(|entry| {
            entry.id > after && prep.counts(entry.id) && is_worth_telling(&entry.what)
        });
        let names = |step: &str| plan.and_then(|plan| name_of(plan, menu, step));
        let notes = prep
            .notes()
            .filter(|note| note.step.is_some() || !note.text.starts_with(HANDED_OVER));
        let notes = notes.map(|note| Told {
            at: note.at,
            who: note.who.clone(),
            text: match &note.step {
                Some(step) => {
                    let name = names(step).unwrap_or_else(|| step.clone());
                    format!("{name}: {}", note.text)
                }
                None => note.text.clone(),
            },
        });
        Self {
            trouble: outcome.map_or_else(Vec::new, trouble),
            calls: calls.to_vec(),
            lacks: lacks.to_vec(),
            stays: outcome.map_or_else(Vec::new, agreed),
            runs,
            next,
            more,
            ahead: errands
                .iter()
                .filter(|it| it.seen_to.is_none() && it.at <= now + AHEAD)
                .filter(|it| it.is_order() || it.at >= now)
                .map(|it| (it.at, it.says.clone()))
                .collect(),
            unready: errands
                .iter()
                .filter(|it| !it.is_order() && it.is_past(now))
                .map(|it| (it.at, it.says.clone()))
                .collect(),
            too_late: errands
                .iter()
                .filter(|it| it.is_too_late())
                .map(|it| it.words(service))
                .collect(),
            has_times: plan.is_some(),
            decided: prep
                .decisions()
                .map(|it| decision_words(it, zone))
                .collect(),
            notes: notes.collect(),
            last: last.map(told),
            since: since.map(told).collect(),
            moved: plan.map_or_else(Vec::new, |plan| moved(plan, menu)),
            over: (content.over, content.steps),
            skipped: content.skipped,
        }
    }

    /// Returns the page, a line each.
    pub fn lines(&self, service: ServiceTime, now: Minute) -> Vec<HandoverLine> {
        use HandoverLine::{Alarm, Heading, Plain};
        let clock = |minute: Minute| clock(service, minute, now);
        let mut lines = Vec::new();
        let (over, steps) = self.over;
        if !self.trouble.is_empty() || !self.calls.is_empty() {
            lines.push(Heading("Needs somebody".to_owned()));
            let needs = self.trouble.iter().chain(&self.calls).cloned();
            short(&mut lines, needs.map(Alarm), "on the sheet, page w");
        }
        if !self.stays.is_empty() {
            lines.push(Heading("Beyond the shift".to_owned()));
            lines.extend(self.stays.iter().cloned().map(Plain));
        }
        let done = done_words(over, self.skipped, steps);
        lines.push(Heading(format!("Runs ({done})")));
        if self.runs.is_empty() {
            lines.push(Plain("nothing".to_owned()));
        }
        for running in &self.runs {
            lines.push(Plain(running.words(service, now)));
        }
        lines.push(Heading("Next".to_owned()));
        if self.next.is_empty() {
            lines.push(Plain("nothing is to be started".to_owned()));
        }
        for wants in &self.next {
            let late = if wants.is_late { "LATE " } else { "" };
            let cooks = wants.of.cooks.join(", ");
            let cooks = if cooks.is_empty() {
                cooks
            } else {
                format!(" · {cooks}")
            };
            let said = format!("{late}{} {}{cooks}", clock(wants.at), full_name(&wants.of));
            lines.push(if wants.is_late {
                Alarm(said)
            } else {
                Plain(said)
            });
        }
        if self.more > 0 {
            lines.push(Plain(format!("and {} more", self.more)));
        }
        self.ahead_lines(&mut lines, service, now);
        if !self.decided.is_empty() {
            lines.push(Heading("Otherwise than the menu says".to_owned()));
            lines.extend(self.decided.iter().cloned().map(Plain));
            lines.extend(self.lacks.iter().cloned().map(Alarm));
        }
        if !self.moved.is_empty() {
            lines.push(Heading("Moved since the cooks were told".to_owned()));
            let said = |(name, was, is): &(String, Minute, Minute)| {
                Plain(format!("{name}: {} instead of {}", clock(*is), clock(*was)))
            };
            short(&mut lines, self.moved.iter().map(said), "on the sheet");
        }
        if !self.notes.is_empty() {
            lines.push(Heading("Notes".to_owned()));
            lines.extend(
                self.notes
                    .iter()
                    .rev()
                    .map(|note| Plain(note.words(service))),
            );
        }
        lines.push(Heading(match &self.last {
            Some(last) => format!("Since the handover of {}", last.when_and_who(service)),
            None => "So far".to_owned(),
        }));
        if self.since.is_empty() {
            lines.push(Plain("nothing was ticked".to_owned()));
        }
        let since = self.since.iter().rev();
        let since = since.map(|told| Plain(told.words(service)));
        short(&mut lines, since, "in the book");
        lines
    }
}

impl Handover {
    /// Puts what must be ordered, thawed or soaked on the page: what still can be in time before what nobody knows of.
    fn ahead_lines(&self, lines: &mut Vec<HandoverLine>, service: ServiceTime, now: Minute) {
        use HandoverLine::{Heading, Plain};
        let heading = Heading("To order, thaw or soak".to_owned());
        if !self.has_times {
            lines.push(heading);
            let said = "by when nobody knows without a plan; what is to be bought stands on the sheet, page o";
            lines.push(Plain(said.to_owned()));
            return;
        }
        if self.ahead.is_empty() && self.unready.is_empty() && self.too_late.is_empty() {
            return;
        }
        lines.push(heading);
        let clock = |minute: Minute| clock(service, minute, now);
        // A step waits for each of these, and no more can be bought: none of them is cut off.
        lines.extend(self.too_late.iter().cloned().map(HandoverLine::Alarm));
        lines.extend(self.unready.iter().map(|(by, said)| {
            let by = clock(*by);
            HandoverLine::Alarm(format!(
                "was to be by {by}, and nobody has ticked it: {said}"
            ))
        }));
        let past = self.ahead.partition_point(|(by, _)| *by < now);
        let (past, to_come) = self.ahead.split_at(past);
        let to_come = to_come
            .iter()
            .map(|(by, said)| Plain(format!("{} {said}", clock(*by))));
        short(lines, to_come, "in the countdown");
        // Seen to and not ticked, or forgotten: what they are for has not begun. The latest may still be helped.
        let earlier = past.len().saturating_sub(ASKED);
        lines.extend(past[earlier..].iter().map(|(by, said)| {
            let by = clock(*by);
            Plain(format!(
                "was to be by {by}, and nobody has ticked it: {said}"
            ))
        }));
        if earlier > 0 {
            let were = format!("and {earlier} that were to be earlier, in the countdown");
            lines.push(Plain(were));
        }
    }
}

/// Puts the first of many lines on the page, and where the rest are: who takes over reads one page.
fn short(lines: &mut Vec<HandoverLine>, all: impl Iterator<Item = HandoverLine>, rest: &str) {
    let mut all = all.fuse();
    lines.extend(all.by_ref().take(LONGEST));
    let more = all.count();
    if more > 0 {
        lines.push(HandoverLine::Plain(format!("and {more} more, {rest}")));
    }
}

impl Running {
    /// Returns the step as a line.
    pub fn words(&self, service: ServiceTime, now: Minute) -> String {
        let clock = |minute: Minute| clock(service, minute, now);
        let runs = &self.runs;
        let end = match (runs.left(now), runs.end) {
            (Some(left), Some(end)) if left > Minutes::ZERO => {
                format!(", until {} ({left} left)", clock(end))
            }
            (Some(Minutes::ZERO), _) => ", to be over by now".to_owned(),
            (Some(_), Some(end)) => format!(", over since {}", clock(end)),
            (_, None) | (None, _) => String::new(),
        };
        let name = full_name(&runs.of);
        let mut said = format!("{name}, since {}{end}", clock(runs.since));
        said.extend(runs.look.map(|look| format!(", look at {}", clock(look))));
        said.extend(self.last_reading(service, now));
        said
    }

    fn last_reading(&self, service: ServiceTime, now: Minute) -> Option<String> {
        let last = self.readings.last()?;
        let at = clock(service, service.minute(last.at), now);
        let goal = self.readings.iter().rev().find_map(|reading| reading.goal);
        let goal = goal.map_or_else(String::new, |goal| format!(", to {}", goal_words(goal)));
        Some(format!("; {} at {at}{goal}", reading_words(last.reading)))
    }
}

impl Told {
    fn when_and_who(&self, service: ServiceTime) -> String {
        let when = self.at.local(service.zone()).weekday_clock();
        if self.who.is_empty() {
            when
        } else {
            format!("{when}, {}", self.who)
        }
    }

    /// Returns it as a line.
    pub fn words(&self, service: ServiceTime) -> String {
        format!("{}: {}", self.when_and_who(service), self.text)
    }
}

/// Returns a time of day, with its weekday where it is not today.
fn clock(service: ServiceTime, minute: Minute, now: Minute) -> String {
    let (then, today) = (service.local(minute), service.local(now));
    let near = then.date >= day_after(today.date, -5) && then.date <= day_after(today.date, 5);
    match (then.date == today.date, near) {
        (true, _) => then.clock(),
        (false, true) => then.weekday_clock(),
        (false, false) => then.to_string(),
    }
}

fn full_name(of: &Of) -> String {
    format!("{} ({})", of.name, of.dish)
}

fn running(runs: Runs, prep: &PrepState, service: ServiceTime) -> Running {
    let mut readings = prep.measured(&runs.of.key);
    let Progress::Running { since } = prep.progress(&runs.of.key) else {
        return Running { runs, readings };
    };
    let begun = service.minute(since);
    readings.retain(|reading| service.minute(reading.at) >= begun);
    Running { runs, readings }
}

/// Whether the next shift wants to hear of an entry by itself: decisions and notes stand under their own headings.
fn is_worth_telling(what: &Happening) -> bool {
    match what {
        Happening::Started { .. }
        | Happening::Finished { .. }
        | Happening::Skipped { .. }
        | Happening::Read { .. }
        | Happening::Expected { .. }
        | Happening::Announced { .. }
        | Happening::Decided { .. }
        | Happening::SeenTo { .. }
        | Happening::Unknown { .. } => true,
        Happening::Undone { .. }
        | Happening::MenuSeen { .. }
        | Happening::Moved { .. }
        | Happening::Noted { .. }
        | Happening::Heeded { .. } => false,
    }
}

/// Returns why a plan does not hold, which dishes are late or left out, and who works beyond their shifts; nothing where
/// it holds.
pub fn trouble(outcome: &PlanOutcome) -> Vec<String> {
    match outcome {
        PlanOutcome::TooLate {
            because, forecast, ..
        } => {
            let why = because.first().cloned().unwrap_or_default();
            let mut said = vec![format!(
                "{}: {why}",
                in_time_but(outcome).unwrap_or(AS_IT_STANDS)
            )];
            let dishes = forecast.iter().flat_map(|plan| &plan.dishes);
            said.extend(dishes.filter_map(DishPlan::late_words));
            said.extend(forecast.iter().flat_map(|plan| plan.overtime_words()));
            said
        }
        PlanOutcome::Impossible(because) => {
            let mut said = vec!["no plan is possible".to_owned()];
            said.extend(because.iter().take(2).cloned());
            said
        }
        PlanOutcome::Planned(_) => Vec::new(),
    }
}

/// Returns who works beyond their shifts on a plan that holds; on one that does not that is among its [`trouble`].
pub fn agreed(outcome: &PlanOutcome) -> Vec<String> {
    match outcome {
        PlanOutcome::Planned(plan) => plan.overtime_words(),
        PlanOutcome::TooLate { .. } | PlanOutcome::Impossible(_) => Vec::new(),
    }
}

fn name_of(plan: &Plan, menu: &Menu, key: &str) -> Option<String> {
    let key: StepKey = key.parse().ok()?;
    let (_, step) = plan.find(&key)?;
    let dish = menu
        .dishes
        .get(step.dish)
        .map_or("", |dish| dish.name.as_str());
    Some(format!("{} ({dish})", step.name))
}

/// Returns what waits and starts at another time than the cooks were told.
fn moved(plan: &Plan, menu: &Menu) -> Vec<(String, Minute, Minute)> {
    let steps = plan.order.iter().filter_map(|&step| plan.steps.get(step));
    let moved = steps
        .filter(|step| step.happened.is_none())
        .filter_map(|step| {
            let was = step.told.filter(|was| *was != step.window.start)?;
            let name = name_of(plan, menu, &step.key.to_string())?;
            Some((name, was, step.window.start))
        });
    moved.collect()
}
