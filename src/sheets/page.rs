//! A page of the plan: its columns, its lines, and the remarks below them.
//!
//! Columns hold what every step has and a cook runs an eye down; whatever else is to be said of a step stands on
//! the lines below it, across the page, so that a long remark costs a line and not a column.

use std::collections::BTreeSet;
use std::io;

use crate::menu::{Caution, Menu};
use crate::plan::{Chance, Plan, PlannedStep, StepIndex};
use crate::prep::{ErrandAt, PrepState, Progress, standing};
use crate::safety::{DEFERENCE, caution_name, caution_text};
use crate::text::{columns, one_line, pad, wrap};
use crate::time::{Date, Minute, ServiceTime, Window};

/// The narrowest page that has kit and cook in columns of their own.
const WIDE: usize = 130;
/// No page is made narrower than this; a narrower terminal folds the lines itself.
pub(super) const NARROWEST: usize = 40;
/// Looks named by their times before the rest are counted.
const TIMES_NAMED: usize = 4;
const GAP: &str = "  ";

/// Returns the dish and the step by name.
pub(super) fn full_name(menu: &Menu, step: &PlannedStep) -> String {
    format!("{} – {}", dish_name(menu, step), one_line(&step.name))
}

pub(super) fn dish_name(menu: &Menu, step: &PlannedStep) -> String {
    menu.dishes
        .get(step.dish)
        .map_or_else(|| one_line(&step.key.dish), |dish| one_line(&dish.name))
}

/// Returns what a step that has begun before still asks within a stretch of time, and when it ends.
pub(super) fn going_on(plan: &Plan, menu: &Menu, step: StepIndex, within: Window) -> String {
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

/// The lines of some steps, on pages of one width.
pub(super) struct Sheet<'a> {
    plan: &'a Plan,
    menu: &'a Menu,
    prep: &'a PrepState,
    now: Minute,
    width: usize,
    /// The steps that have lines, in the order of their starts.
    steps: Vec<StepIndex>,
    /// What is to be done beside the steps, in the order of time.
    errands: Vec<ErrandAt>,
    heads: Vec<&'static str>,
    columns: Vec<usize>,
}

impl<'a> Sheet<'a> {
    pub(super) fn new(
        plan: &'a Plan,
        menu: &'a Menu,
        prep: &'a PrepState,
        now: Minute,
        width: usize,
        (steps, errands): (Vec<StepIndex>, Vec<ErrandAt>),
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
            errands,
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
        let mut wanted: Vec<usize> = self.heads.iter().map(|head| columns(head)).collect();
        for &step in &self.steps {
            for (column, cell) in self.cells(step).iter().enumerate() {
                wanted[column] = wanted[column].max(columns(cell));
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

    fn cells(&self, index: StepIndex) -> Vec<String> {
        let step = &self.plan.steps[index];
        let start = step.window.start;
        let state = standing(self.plan, self.prep, index, self.now);
        let mut cells = vec![
            self.plan.service.local(start).clock(),
            start.countdown(),
            dish_name(self.menu, step),
            one_line(&step.name),
            step.window.length().to_string(),
            hands(step),
        ];
        if self.is_wide() {
            cells.push(kit(step));
            cells.push(cooks(step).join(", "));
        }
        cells.push(state.word().to_owned());
        cells
    }

    /// Returns what stands below a step's line: what has no column of its own.
    fn remarks(&self, index: StepIndex) -> String {
        let step = &self.plan.steps[index];
        let service = self.plan.service;
        let start = step.window.start;
        let state = standing(self.plan, self.prep, index, self.now);
        let mut said = Vec::new();
        if !self.is_wide() {
            for (label, text) in [("kit", kit(step)), ("cook", cooks(step).join(", "))] {
                if !text.is_empty() {
                    said.push(format!("{label}: {text}"));
                }
            }
        }
        // Hands only to put it on are wanted when it starts, which the line has said.
        let only_at_start = matches!(step.hands.as_slice(), [only] if only.window.start == start);
        if !only_at_start {
            said.extend(hands_times(step, service, self.day_of(start)));
        }
        if step.someone_about {
            said.push("somebody must be in the building".to_owned());
        }
        if let Progress::Skipped { reason, .. } = self.prep.progress(&step.key) {
            said.push(format!("skipped: {}", one_line(&reason)));
        }
        let clock = |minute| service.local(minute).weekday_clock();
        match (step.needed_by, step.told) {
            (Some(needed), _) => said.push(format!("was needed by {}", clock(needed))),
            (None, Some(told)) => said.push(format!("moved from {}", clock(told))),
            (None, None) => {}
        }
        if !state.is_over() && step.happened.is_none() && step.can_slip_until > start {
            said.push(format!(
                "can slip until {}",
                service.local(step.can_slip_until).weekday_clock()
            ));
        }
        let cautions: Vec<&str> = cautions(self.menu, step)
            .into_iter()
            .map(caution_name)
            .collect();
        if !cautions.is_empty() {
            said.push(format!("mind: {}", cautions.join(", ")));
        }
        said.join("; ")
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

    pub(super) fn dates_of_starts(&self) -> Vec<Date> {
        let mut dates: Vec<Date> = self
            .steps
            .iter()
            .map(|&step| self.plan.steps[step].window.start)
            .chain(self.errands.iter().map(|errand| errand.at))
            .map(|minute| self.date_of(minute))
            .collect();
        dates.sort_unstable();
        dates.dedup();
        dates
    }

    /// Returns the dates on which anything starts, ends or wants hands.
    pub(super) fn dates(&self) -> Vec<Date> {
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

    pub(super) fn day(&self, date: Date, out: &mut impl io::Write) -> io::Result<()> {
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
        let errands = self.errands.iter();
        let mut errands = errands.filter(|errand| day.contains(errand.at)).peekable();
        if today.is_empty() {
            return errands.try_for_each(|errand| self.errand(errand, out));
        }
        let heads: Vec<String> = self.heads.iter().map(|&head| head.to_owned()).collect();
        self.line(&heads, out)?;
        let indent = self.columns[0] + self.columns[1] + 2 * GAP.len();
        for step in today {
            while let Some(errand) = errands.next_if(|it| it.at <= started(step)) {
                self.errand(errand, out)?;
            }
            self.line(&self.cells(step), out)?;
            hang(&self.remarks(step), indent, self.width, out)?;
        }
        errands.try_for_each(|errand| self.errand(errand, out))
    }

    /// Writes what is to be done beside the steps, across the columns from the third on.
    fn errand(&self, errand: &ErrandAt, out: &mut impl io::Write) -> io::Result<()> {
        let past = if errand.is_past(self.now) {
            "past: "
        } else {
            ""
        };
        let sign = if errand.seen_to.is_some() {
            "✓"
        } else {
            "◇"
        };
        let lead = format!(
            "{}{GAP}{}{GAP}",
            pad(&self.plan.service.local(errand.at).clock(), self.columns[0]),
            pad(&errand.at.countdown(), self.columns[1]),
        );
        let said = format!(
            "{sign} {past}{}",
            one_line(&errand.words(self.plan.service))
        );
        let room = self.width.saturating_sub(columns(&lead));
        for (row, line) in wrap(&said, room).iter().enumerate() {
            let lead = if row == 0 {
                lead.clone()
            } else {
                " ".repeat(columns(&lead))
            };
            writeln!(out, "{lead}{line}")?;
        }
        Ok(())
    }

    /// Writes one line of cells; a cell too long for its column goes on below.
    fn line(&self, cells: &[String], out: &mut impl io::Write) -> io::Result<()> {
        let wrapped: Vec<Vec<String>> = cells
            .iter()
            .zip(&self.columns)
            .map(|(cell, &columns)| wrap(cell, columns))
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

    /// Writes the courses with their dishes, how likely each is in time, and what is past its best by then.
    pub(super) fn pass(&self, chance: Option<&Chance>, out: &mut impl io::Write) -> io::Result<()> {
        self.rule("at the pass", out)?;
        for (course, of_menu) in self.plan.courses.iter().zip(&self.menu.courses) {
            writeln!(
                out,
                "{}  {}",
                self.plan.service.local(course.at).weekday_clock(),
                one_line(&course.name)
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
                let ready = self.plan.service.local(dish.ready).weekday_clock();
                let ready = match dish.late.as_ref().map(|late| late.by) {
                    None => format!("ready {ready}"),
                    Some(Some(by)) => format!("ready {ready}, {by} late"),
                    Some(None) => "is left out of what can still be".to_owned(),
                };
                let said = format!(
                    "{}, {} portions, {ready}{past_best}",
                    one_line(&dish.name),
                    dish.portions
                );
                hang(&said, 11, self.width, out)?;
                if let Some(of) = chance.and_then(|chance| chance.dishes.get(dish.dish)) {
                    let said = of.sentences(self.menu, self.plan).join("; ");
                    hang(&one_line(&said), 13, self.width, out)?;
                }
            }
        }
        if let Some(chance) = chance {
            for said in chance.broken_sentences(self.menu, self.plan) {
                hang(&one_line(&said), 0, self.width, out)?;
            }
        }
        Ok(())
    }

    /// Writes the cautions of the steps on the sheet, each once, and who decides.
    pub(super) fn cautions(&self, out: &mut impl io::Write) -> io::Result<()> {
        let found: BTreeSet<Caution> = self
            .steps
            .iter()
            .flat_map(|&step| cautions(self.menu, &self.plan.steps[step]))
            .collect();
        if found.is_empty() {
            return Ok(());
        }
        self.rule("mind", out)?;
        for caution in found {
            let said = format!("{}: {}", caution_name(caution), caution_text(caution));
            hang(&said, 0, self.width, out)?;
        }
        hang(DEFERENCE, 0, self.width, out)
    }

    pub(super) fn legend(&self, out: &mut impl io::Write) -> io::Result<()> {
        writeln!(out)?;
        let legend = "hands: 2 = two throughout; 1 ×3 = one, three times; – = left alone. \
                      T− = hours and minutes before service.";
        hang(legend, 0, self.width, out)?;
        if self.errands.is_empty() {
            return Ok(());
        }
        let legend = "◇ = to order, or to set to soak or thaw, by then";
        let any = self.errands.iter().any(|errand| errand.seen_to.is_some());
        let seen_to = if any { "; ✓ = seen to." } else { "." };
        hang(&format!("{legend}{seen_to}"), 0, self.width, out)
    }
}

/// Writes a text at an indent, and what does not fit on the line below it, two columns further in.
pub(super) fn hang(
    text: &str,
    indent: usize,
    width: usize,
    out: &mut impl io::Write,
) -> io::Result<()> {
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
            1 => one_line(&kit.name),
            count => format!("{count} {}", one_line(&kit.name)),
        })
        .collect();
    names.join(", ")
}

/// Returns the cooks a step is given to, each once, in the order of their work.
fn cooks(step: &PlannedStep) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for name in step.hands.iter().flat_map(|span| &span.cooks) {
        let name = one_line(name);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

/// Returns what can hurt someone at a step: by what it does, and by what goes into it.
pub(super) fn cautions(menu: &Menu, step: &PlannedStep) -> BTreeSet<Caution> {
    let Some(dish) = menu.dishes.get(step.dish) else {
        return BTreeSet::new();
    };
    let of_step = dish.steps.iter().filter(|card| card.id == step.key.step);
    let goes_in = dish.taken_by(&step.key.step, step.key.part.as_deref());
    of_step
        .flat_map(|card| &card.cautions)
        .chain(goes_in.flat_map(|ingredient| &ingredient.cautions))
        .copied()
        .collect()
}
