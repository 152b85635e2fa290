//! Which steps are listed, and in which lines: tonight, filters, search, and where now lies among them.
//!
//! Without a plan there is neither tonight nor now among the steps: they stand under their dishes, as the menu
//! lists them.

use super::sheet::Sheet;
use super::ui::{ListLine, Ui};
use super::view::{Row, View, day_heading};
use crate::prep::Standing;
use crate::time::{Date, Minute, Minutes, Window};

/// Half hours, in which the end of tonight is moved.
const HALF_HOUR: Minutes = Minutes(30);

impl Ui {
    /// Makes the list anew and keeps the selection on something listed.
    pub(super) fn list(&mut self, sheet: &Sheet) {
        let now = sheet.now_minute();
        if self.boundary.is_some_and(|boundary| boundary <= now) {
            self.boundary = None;
        }
        let tonight = self.tonight_window(sheet);
        self.tonight_sum = tonight_sum(sheet, tonight);
        let mut list = Listing::new(sheet, now);
        let mut errands = (0..sheet.view.errands.len())
            .filter(|&at| self.lists_errand(sheet, at, tonight))
            .peekable();
        for (index, row) in sheet.view.rows.iter().enumerate() {
            let listed = !self.tonight || sheet.has_no_plan() || is_tonight(row, tonight);
            if !self.filter.passes(row) || !listed {
                continue;
            }
            let starts = row.window().map(|window| window.start);
            let before = |&at: &usize| {
                let at = sheet.view.errands[at].at;
                starts.is_some_and(|start| at <= start)
            };
            while let Some(errand) = errands.next_if(before) {
                list.errand(errand);
            }
            list.row(index, row);
        }
        for errand in errands {
            list.errand(errand);
        }
        let lines = list.lines;
        self.lines = lines;
        self.keep_selection(sheet);
    }

    /// Returns whether an errand is listed: among tonight's, as of steps, what is not over: of what is past only a day,
    /// because what is for tonight must be seen; else all.
    fn lists_errand(&self, sheet: &Sheet, at: usize, tonight: Window) -> bool {
        let errand = &sheet.view.errands[at];
        let date = sheet.service.local(errand.at).date;
        self.filter.passes_errand(&errand.dishes, date)
            && (!self.tonight
                || ((errand.seen_to.is_none() || errand.is_too_late())
                    && errand.at >= tonight.start - Minutes::days(1)
                    && errand.at < tonight.end))
    }

    /// Returns the rows listed, in order.
    pub fn listed(&self) -> impl DoubleEndedIterator<Item = usize> + '_ {
        self.lines.iter().filter_map(|line| match line {
            ListLine::Row(row) => Some(*row),
            ListLine::Heading(_) | ListLine::Now | ListLine::Errand(_) => None,
        })
    }

    /// Returns the lines that can be selected, in order.
    pub(super) fn stops(&self) -> impl Iterator<Item = usize> + '_ {
        let lines = self.lines.iter().enumerate();
        lines
            .filter(|(_, line)| matches!(line, ListLine::Row(_) | ListLine::Errand(_)))
            .map(|(at, _)| at)
    }

    /// Returns the line that is selected, where it is listed.
    pub fn selected_line(&self) -> Option<usize> {
        self.line_of_either(self.selected, self.errand)
    }

    /// Returns the line of an errand, or without one of a row, where it is listed.
    pub(super) fn line_of_either(
        &self,
        row: Option<usize>,
        errand: Option<usize>,
    ) -> Option<usize> {
        match errand {
            Some(errand) => self
                .lines
                .iter()
                .position(|line| *line == ListLine::Errand(errand)),
            None => row.and_then(|row| self.line_of(row)),
        }
    }

    /// Returns the line of a row, where it is listed.
    pub fn line_of(&self, row: usize) -> Option<usize> {
        self.lines
            .iter()
            .position(|line| *line == ListLine::Row(row))
    }

    fn keep_selection(&mut self, sheet: &Sheet) {
        if self.errand.is_some() && self.selected_line().is_none() {
            self.errand = None;
        }
        let Some(selected) = self.selected else {
            self.selected = self.next_up(&sheet.view, sheet.now_minute());
            return;
        };
        if self.line_of(selected).is_none() {
            // The nearest one listed after it, else the last before it.
            let after = self.listed().find(|row| *row >= selected);
            self.selected = after.or_else(|| self.listed().next_back());
        }
    }

    /// Returns the row a cook looks for first: what is late, else what starts next.
    pub(super) fn next_up(&self, view: &View, now: Minute) -> Option<usize> {
        let wanted = |row: &usize| !view.rows[*row].given_up;
        let open = |row: &usize| wanted(row) && !view.rows[*row].standing.is_over();
        let late = |row: &usize| wanted(row) && view.rows[*row].standing == Standing::Late;
        self.listed()
            .find(late)
            .or_else(|| {
                self.listed()
                    .filter(open)
                    .find(|row| view.rows[*row].window().is_some_and(|at| at.start >= now))
            })
            .or_else(|| self.listed().find(open))
            .or_else(|| self.listed().next_back())
    }

    /// Returns the time that counts as tonight: from now until the kitchen opens next, or as moved.
    pub fn tonight_window(&self, sheet: &Sheet) -> Window {
        let now = sheet.now_minute();
        let opening = sheet
            .times()
            .map_or(now + Minutes::days(1), |plan| plan.next_opening(now));
        Window::new(now, self.boundary.unwrap_or(opening))
    }

    /// Moves the end of tonight by half an hour; never to now or before.
    pub(super) fn move_boundary(&mut self, sheet: &Sheet, later: bool) {
        let tonight = self.tonight_window(sheet);
        let moved = if later {
            tonight.end + HALF_HOUR
        } else {
            tonight.end - HALF_HOUR
        };
        if moved > tonight.start {
            self.boundary = Some(moved);
        }
    }
}

/// The lines of the list as they are made.
struct Listing<'a> {
    sheet: &'a Sheet,
    now: Minute,
    lines: Vec<ListLine>,
    now_said: bool,
    /// Under which heading the last line stands.
    under: Option<(Option<Date>, Option<usize>)>,
}

impl<'a> Listing<'a> {
    fn new(sheet: &'a Sheet, now: Minute) -> Self {
        Self {
            sheet,
            now,
            lines: Vec::new(),
            now_said: false,
            under: None,
        }
    }

    fn row(&mut self, index: usize, row: &Row) {
        self.now_before(row.window().map(|window| window.start));
        let heading = match row.date() {
            Some(date) => day_heading(date),
            None => row.dish_name.clone(),
        };
        let under = (row.date(), row.times.is_none().then_some(row.dish));
        self.heading(under, heading);
        self.lines.push(ListLine::Row(index));
    }

    fn errand(&mut self, index: usize) {
        let at = self.sheet.view.errands[index].at;
        self.now_before(Some(at));
        let date = self.sheet.service.local(at).date;
        self.heading((Some(date), None), day_heading(date));
        self.lines.push(ListLine::Errand(index));
    }

    fn now_before(&mut self, at: Option<Minute>) {
        if !self.now_said && at.is_some_and(|at| at >= self.now) {
            self.now_said = true;
            self.lines.push(ListLine::Now);
        }
    }

    fn heading(&mut self, under: (Option<Date>, Option<usize>), heading: String) {
        if self.under != Some(under) {
            self.under = Some(under);
            self.lines.push(ListLine::Heading(heading));
        }
    }
}

/// Returns whether a step is listed under tonight: it starts in that time and is not over, or it runs, or it
/// is late.
fn is_tonight(row: &Row, tonight: Window) -> bool {
    let starts = row
        .window()
        .is_some_and(|window| tonight.contains(window.start));
    if row.given_up && !row.standing.is_running() {
        return false;
    }
    match row.standing {
        Standing::Done | Standing::Skipped | Standing::Unticked => false,
        Standing::Late | Standing::Running | Standing::RunningLong => true,
        Standing::Due | Standing::Ready | Standing::Waiting | Standing::ToDo => starts,
    }
}

/// Returns how many steps are still to start tonight, and the minutes of hands that tonight holds.
fn tonight_sum(sheet: &Sheet, tonight: Window) -> (usize, Minutes) {
    let Some(plan) = sheet.times() else {
        return (0, Minutes::ZERO);
    };
    let listed = sheet
        .view
        .rows
        .iter()
        .filter(|row| is_tonight(row, tonight));
    let mut to_start = 0;
    let mut hands: i64 = 0;
    for row in listed {
        if !row.standing.is_running() {
            to_start += 1;
        }
        for span in &plan.steps[row.index].hands {
            let minutes = if row.standing == Standing::Late {
                span.window.length()
            } else {
                span.window.intersect(tonight).length()
            };
            hands += i64::from(minutes.0) * i64::from(span.hands);
        }
    }
    (
        to_start,
        Minutes(hands.clamp(0, i64::from(i32::MAX)) as i32),
    )
}
