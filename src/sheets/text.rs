//! The plan as plain text, a page a day: for a wall, a pipe, a printer.
//!
//! Every line of a day stands in the order of its time. A step that began on an earlier day stands at the head
//! of each later day on which it needs hands or ends, because a page is read on its day alone. Cells that are
//! too long for their column go on below; nothing is cut off. Pages are parted by a blank line and a rule, so
//! that the text reads the same on a screen and through any printer.
//!
//! Left out on purpose: methods and amounts (those are on the card), and colour.

use std::io;

use super::plain::{clean, pad, width, wrap};
use crate::menu::Menu;
use crate::plan::{Late, NotPlanned, Plan, PlanOutcome, PlannedStep, StepIndex};
use crate::prep::{PrepState, Progress, standing};
use crate::time::{Date, Minute, ServiceTime, Window};

/// The narrowest page that has kit and cook in columns of their own.
const WIDE: usize = 100;
/// No page is made narrower than this; a narrower terminal folds the lines itself.
const NARROWEST: usize = 40;
/// Looks named by their times before the rest are counted.
const TIMES_NAMED: usize = 4;
const GAP: &str = "  ";

/// Writes the whole plan; sentences instead where there is none.
pub fn write(
    outcome: &PlanOutcome,
    menu: &Menu,
    prep: &PrepState,
    now: Minute,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let Some(plan) = begin(outcome, menu, now, width, out)? else {
        return Ok(());
    };
    let sheet = Sheet::new(plan, menu, prep, now, width, plan.order.clone());
    for date in sheet.dates() {
        sheet.day(date, out)?;
    }
    sheet.pass(out)?;
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
        return Ok(());
    };
    let service = plan.service;
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
    let to_start = to_start(plan, prep, until);
    if to_start.is_empty() {
        let next = plan
            .order
            .iter()
            .find(|&&step| waits(plan, prep, step))
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
    let sheet = Sheet::new(plan, menu, prep, now, width, to_start);
    for date in sheet.dates_of_starts() {
        sheet.day(date, out)?;
    }
    sheet.legend(out)
}

/// Returns the steps that wait and have to start before `until`, in the order of their starts.
pub fn to_start(plan: &Plan, prep: &PrepState, until: Minute) -> Vec<StepIndex> {
    plan.order
        .iter()
        .copied()
        .filter(|&step| waits(plan, prep, step) && plan.steps[step].window.start < until)
        .collect()
}

fn waits(plan: &Plan, prep: &PrepState, step: StepIndex) -> bool {
    prep.progress(&plan.steps[step].key) == Progress::Waiting
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
    writeln!(out, "{}", clean(&menu.name))?;
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
            late,
            because,
        } => {
            writeln!(out, "\ntoo late: this cannot all be ready in time any more")?;
            sentences(because, width, out)?;
            writeln!(out, "\nwhat should have started:")?;
            for late in late {
                let said = should_have_started(needed, menu, *late, now);
                hang(&said, 2, width, out)?;
            }
        }
        PlanOutcome::Impossible(because) => {
            writeln!(out, "\nthis cannot be done, however early it starts")?;
            sentences(because, width, out)?;
        }
        PlanOutcome::NotPlanned(refusals) => {
            writeln!(out, "\nthis menu asks for what cannot be planned yet")?;
            let said: Vec<String> = refusals.iter().map(NotPlanned::sentence).collect();
            sentences(&said, width, out)?;
        }
    }
    Ok(None)
}

fn sentences(lines: &[String], width: usize, out: &mut impl io::Write) -> io::Result<()> {
    lines
        .iter()
        .try_for_each(|line| hang(&clean(line), 2, width, out))
}

/// Returns when a step should have started, and how long ago that was.
pub fn should_have_started(needed: &Plan, menu: &Menu, late: Late, now: Minute) -> String {
    let step = &needed.steps[late.step];
    format!(
        "{} ({}): by {}, {} ago",
        full_name(menu, step),
        clean(&step.key.to_string()),
        needed.service.local(late.latest),
        now - late.latest
    )
}

/// Returns the dish and the step by name.
fn full_name(menu: &Menu, step: &PlannedStep) -> String {
    format!("{} – {}", dish_name(menu, step), clean(&step.name))
}

fn dish_name(menu: &Menu, step: &PlannedStep) -> String {
    menu.dishes
        .get(step.dish)
        .map_or_else(|| clean(&step.key.dish), |dish| clean(&dish.name))
}

/// Returns what a step that has begun before still asks within a stretch of time, and when it ends.
fn going_on(plan: &Plan, menu: &Menu, step: StepIndex, within: Window) -> String {
    let step = &plan.steps[step];
    let mut said = format!(
        "{}, until {}",
        full_name(menu, step),
        plan.service.local(step.window.end).weekday_clock()
    );
    if let Some(times) = hands_times(step, plan.service, within) {
        said.push_str("; ");
        said.push_str(&times);
    }
    said
}

/// Returns the times at which a step wants hands within a stretch, where that is not throughout.
fn hands_times(step: &PlannedStep, service: ServiceTime, within: Window) -> Option<String> {
    let times: Vec<String> = step
        .hands
        .iter()
        .filter(|span| within.contains(span.window.start))
        .map(|span| service.local(span.window.start).clock())
        .collect();
    if times.is_empty() {
        return None;
    }
    let named = times[..times.len().min(TIMES_NAMED)].join(", ");
    let last = times.last()?;
    Some(if times.len() > TIMES_NAMED {
        format!("hands {named} … {last} ({} times)", times.len())
    } else {
        format!("hands {named}")
    })
}

/// One cell of a line: a paragraph a string.
type Cell = Vec<String>;

struct Sheet<'a> {
    plan: &'a Plan,
    menu: &'a Menu,
    prep: &'a PrepState,
    now: Minute,
    width: usize,
    /// The steps that have lines, in the order of their starts.
    steps: Vec<StepIndex>,
    heads: Vec<&'static str>,
    columns: Vec<usize>,
}

impl<'a> Sheet<'a> {
    fn new(
        plan: &'a Plan,
        menu: &'a Menu,
        prep: &'a PrepState,
        now: Minute,
        width: usize,
        steps: Vec<StepIndex>,
    ) -> Self {
        let heads = if width >= WIDE {
            vec![
                "time", "T−", "dish", "step", "length", "hands", "kit", "cook", "state",
            ]
        } else {
            vec!["time", "T−", "dish", "step", "length", "hands", "state"]
        };
        let mut sheet = Self {
            plan,
            menu,
            prep,
            now,
            width: width.max(NARROWEST),
            steps,
            columns: Vec::new(),
            heads,
        };
        sheet.columns = sheet.fit();
        sheet
    }

    fn is_wide(&self) -> bool {
        self.heads.contains(&"kit")
    }

    /// Returns the width of each column: what its longest cell wants where all fit; otherwise the columns of
    /// names share what the columns of numbers leave.
    fn fit(&self) -> Vec<usize> {
        let mut wanted: Vec<usize> = self.heads.iter().map(|head| width(head)).collect();
        for &step in &self.steps {
            for (column, cell) in self.cells(step).iter().enumerate() {
                let longest = cell.iter().map(|line| width(line)).max().unwrap_or(0);
                wanted[column] = wanted[column].max(longest);
            }
        }
        let is_name =
            |column: usize| matches!(self.heads[column], "dish" | "step" | "kit" | "cook");
        let gaps = GAP.len() * (wanted.len() - 1);
        let numbers: usize = (0..wanted.len())
            .filter(|&column| !is_name(column))
            .map(|column| wanted[column])
            .sum();
        let mut names: Vec<usize> = (0..wanted.len())
            .filter(|&column| is_name(column))
            .collect();
        names.sort_by_key(|&column| wanted[column]);
        let mut left = self
            .width
            .saturating_sub(gaps + numbers)
            .max(6 * names.len());
        // The narrowest first, so that what one does not need goes to those that do.
        for (place, &column) in names.iter().enumerate() {
            let share = left / (names.len() - place);
            wanted[column] = wanted[column].min(share);
            left -= wanted[column];
        }
        wanted
    }

    fn cells(&self, index: StepIndex) -> Vec<Cell> {
        let step = &self.plan.steps[index];
        let service = self.plan.service;
        let start = step.window.start;
        let mut name = vec![clean(&step.name)];
        let state = standing(self.plan, self.prep, index, self.now);
        let (kit, cooks) = (kit(step), cooks(step).join(", "));
        if !self.is_wide() {
            for (label, text) in [("kit", &kit), ("cook", &cooks)] {
                if !text.is_empty() {
                    name.push(format!("{label}: {text}"));
                }
            }
        }
        if !step.hands_throughout()
            && let Some(times) = hands_times(step, service, self.day_of(start))
        {
            name.push(times);
        }
        if step.someone_about {
            name.push("somebody must be in the building".to_owned());
        }
        if let Progress::Skipped { reason, .. } = self.prep.progress(&step.key) {
            name.push(format!("skipped: {}", clean(&reason)));
        }
        if !state.is_over() && step.happened.is_none() && step.can_slip_until > start {
            name.push(format!(
                "can slip until {}",
                service.local(step.can_slip_until).weekday_clock()
            ));
        }
        let mut cells = vec![
            vec![service.local(start).clock()],
            vec![start.countdown()],
            vec![dish_name(self.menu, step)],
            name,
            vec![step.window.length().to_string()],
            vec![hands(step)],
        ];
        if self.is_wide() {
            cells.push(vec![kit]);
            cells.push(vec![cooks]);
        }
        cells.push(vec![state.word().to_owned()]);
        cells
    }

    fn date_of(&self, minute: Minute) -> Date {
        self.plan.service.local(minute).date
    }

    /// Returns the day, on the kitchen's clock, in which a minute lies.
    fn day_of(&self, minute: Minute) -> Window {
        let service = self.plan.service;
        let date = self.date_of(minute);
        Window::new(
            service.at_minute_of_day(date, 0),
            service.at_minute_of_day(date, 1440),
        )
    }

    fn dates_of_starts(&self) -> Vec<Date> {
        let mut dates: Vec<Date> = self
            .steps
            .iter()
            .map(|&step| self.date_of(self.plan.steps[step].window.start))
            .collect();
        dates.sort_unstable();
        dates.dedup();
        dates
    }

    /// Returns the dates on which anything starts, ends or wants hands.
    fn dates(&self) -> Vec<Date> {
        let mut dates = self.dates_of_starts();
        for &step in &self.steps {
            let step = &self.plan.steps[step];
            if !step.window.is_empty() {
                dates.push(self.date_of(step.window.end));
            }
            dates.extend(
                step.hands
                    .iter()
                    .map(|span| self.date_of(span.window.start)),
            );
        }
        dates.sort_unstable();
        dates.dedup();
        dates
    }

    fn day(&self, date: Date, out: &mut impl io::Write) -> io::Result<()> {
        let service = self.plan.service;
        let begins = service.at_minute_of_day(date, 0);
        let day = self.day_of(begins);
        self.rule(&heading(date, service.service_date()), out)?;
        let started = |step: StepIndex| self.plan.steps[step].window.start;
        for &step in &self.steps {
            let planned = &self.plan.steps[step];
            let asks = day.contains(planned.window.end)
                || planned
                    .hands
                    .iter()
                    .any(|span| day.contains(span.window.start));
            if started(step) < day.start && day.start < planned.window.end && asks {
                let line = format!("going on: {}", going_on(self.plan, self.menu, step, day));
                hang(&line, 0, self.width, out)?;
            }
        }
        let today: Vec<StepIndex> = self
            .steps
            .iter()
            .copied()
            .filter(|&step| day.contains(started(step)))
            .collect();
        if today.is_empty() {
            return Ok(());
        }
        let heads: Vec<Cell> = self
            .heads
            .iter()
            .map(|head| vec![(*head).to_owned()])
            .collect();
        self.line(&heads, out)?;
        today
            .into_iter()
            .try_for_each(|step| self.line(&self.cells(step), out))
    }

    /// Writes one line of cells, with as many lines below as the longest cell needs.
    fn line(&self, cells: &[Cell], out: &mut impl io::Write) -> io::Result<()> {
        let wrapped: Vec<Vec<String>> = cells
            .iter()
            .zip(&self.columns)
            .map(|(cell, &columns)| cell.iter().flat_map(|text| wrap(text, columns)).collect())
            .collect();
        let height = wrapped.iter().map(Vec::len).max().unwrap_or(0);
        for row in 0..height {
            let mut line = String::new();
            for (cell, &columns) in wrapped.iter().zip(&self.columns) {
                line.push_str(&pad(cell.get(row).map_or("", String::as_str), columns));
                line.push_str(GAP);
            }
            writeln!(out, "{}", line.trim_end())?;
        }
        Ok(())
    }

    fn rule(&self, heading: &str, out: &mut impl io::Write) -> io::Result<()> {
        writeln!(out, "\n{heading}\n{}", "─".repeat(self.width))
    }

    /// Writes the courses with their dishes, and what is past its best by then.
    fn pass(&self, out: &mut impl io::Write) -> io::Result<()> {
        self.rule("at the pass", out)?;
        for (course, of_menu) in self.plan.courses.iter().zip(&self.menu.courses) {
            writeln!(
                out,
                "{}  {}",
                self.plan.service.local(course.at).weekday_clock(),
                clean(&course.name)
            )?;
            for dish in &self.plan.dishes {
                let belongs = self
                    .menu
                    .dishes
                    .get(dish.dish)
                    .is_some_and(|of| self.menu.course_of(of).id == of_menu.id);
                if !belongs {
                    continue;
                }
                let past_best = dish
                    .past_best
                    .map_or_else(String::new, |by| format!("; past its best by {by}"));
                let said = format!(
                    "{}, {} portions, ready {}{past_best}",
                    clean(&dish.name),
                    dish.portions,
                    self.plan.service.local(dish.ready).weekday_clock()
                );
                hang(&said, 11, self.width, out)?;
            }
        }
        Ok(())
    }

    fn legend(&self, out: &mut impl io::Write) -> io::Result<()> {
        writeln!(out)?;
        let legend = "hands: 2 = two throughout; 1 ×3 = one, three times; – = left alone. \
                      T− = hours and minutes before service.";
        hang(legend, 0, self.width, out)
    }
}

/// Writes a text at an indent, and what does not fit on the line below it, two columns further in.
fn hang(text: &str, indent: usize, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    for (row, line) in wrap(text, width.saturating_sub(indent + 2))
        .iter()
        .enumerate()
    {
        let further = if row == 0 { 0 } else { 2 };
        writeln!(out, "{:indent$}{line}", "", indent = indent + further)?;
    }
    Ok(())
}

fn heading(date: Date, service: Date) -> String {
    use crate::time::{Datelike, weekday_name};
    let days = date.signed_duration_since(service).num_days();
    let countdown = match days {
        0 => "day of service".to_owned(),
        -1 => "T−1 day".to_owned(),
        1 => "T+1 day".to_owned(),
        days if days < 0 => format!("T−{} days", -days),
        days => format!("T+{days} days"),
    };
    format!("{} {date}, {countdown}", weekday_name(date.weekday()))
}

fn hands(step: &PlannedStep) -> String {
    match step.most_hands() {
        0 => "–".to_owned(),
        most if step.hands_throughout() => most.to_string(),
        most => format!("{most} ×{}", step.hands.len()),
    }
}

fn kit(step: &PlannedStep) -> String {
    let names: Vec<String> = step
        .kit
        .iter()
        .map(|kit| match kit.count {
            1 => clean(&kit.name),
            count => format!("{count} {}", clean(&kit.name)),
        })
        .collect();
    names.join(", ")
}

/// Returns the cooks a step is given to, each once, in the order of their work.
fn cooks(step: &PlannedStep) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in step.hands.iter().flat_map(|span| &span.cooks) {
        let name = clean(name);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}
