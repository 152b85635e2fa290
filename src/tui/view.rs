//! The plan as the panes want it: made once when something changes, not once a frame.
//!
//! All words of a row are cut from the plan here; drawing only places them. Where there is no plan the rows are
//! what the menu asks for, in its own order and without a time, so that ticks never depend on one.

use std::collections::BTreeSet;

use super::sheet::Sheet;
use crate::menu::{Hands, Menu, words};
use crate::plan::{Lateness, Named, Plan, PlannedStep, StepIndex, StepKey, named};
use crate::prep::{Begin, ErrandAt, Standing, begins, errands, standing, standing_unplanned};
use crate::quantity::order::{self, OrderList, When};
use crate::time::{Date, Datelike, Minute, Minutes, ServiceTime, Window, weekday_name};

/// The whole sheet in rows.
#[derive(Clone, Debug, Default)]
pub struct View {
    /// One for each step, in the order of their starts; of the menu where there is no plan.
    pub rows: Vec<Row>,
    /// One for each dish, in the order of the menu.
    pub dishes: Vec<DishRow>,
    /// What must be bought, and what is to be done beside the steps.
    pub orders: OrderList,
    /// What is to be seen to beside the steps, in the order of time.
    pub errands: Vec<ErrandAt>,
    /// Whether the times are those that would have been needed, not a plan.
    pub needed_only: bool,
    /// How many steps start at another time than was told.
    pub moved: usize,
    /// The columns of the longest countdown.
    pub countdown_columns: u16,
}

/// One step.
#[derive(Clone, Debug)]
pub struct Row {
    /// Its place in the plan; in the menu's own list where there is none.
    pub index: StepIndex,
    /// Its name in the book.
    pub key: StepKey,
    /// What it is to a cook now.
    pub standing: Standing,
    /// When, where a plan says so.
    pub times: Option<Times>,
    /// Its dish's place in the menu.
    pub dish: usize,
    /// Its step's place in the dish.
    pub step: usize,
    /// How long it takes, by the plan or else by the menu.
    pub length: String,
    /// The dish's name.
    pub dish_name: String,
    /// The step's name.
    pub name: String,
    /// "2", "1 ends", "1 looks", "about", "none".
    pub hands: String,
    /// Who.
    pub cooks: Vec<String>,
    /// "hob, 2 moulds".
    pub kit: String,
    /// Where.
    pub station: Option<String>,
    /// Whether its dish is given up for the others, so that its time is only when it would have been needed.
    pub given_up: bool,
    /// Dish, step and method in small letters, for the search.
    pub words: String,
}

/// When a row's step stands on a plan.
#[derive(Clone, Debug)]
pub struct Times {
    /// When it runs.
    pub window: Window,
    /// When it must start at the latest.
    pub can_slip_until: Minute,
    /// The date it starts on.
    pub date: Date,
    /// "Fri 07:00".
    pub when: String,
    /// "T−36h30".
    pub countdown: String,
    /// Where it was told for another time: "was 18:20", or "was Fri 18:20" where that is another day.
    pub was: Option<String>,
    /// When it would have been needed at the latest, where that has passed: "Fri 14:10".
    pub needed_by: Option<String>,
}

/// One dish.
#[derive(Clone, Debug)]
pub struct DishRow {
    /// Its name.
    pub name: String,
    /// Steps that are over.
    pub over: usize,
    /// Steps in all.
    pub steps: usize,
    /// When it is ready.
    pub ready: Minute,
    /// "Sat 18:40".
    pub ready_text: String,
    /// When its course is at the pass.
    pub at_pass: Minute,
    /// "Sat 19:30".
    pub at_pass_text: String,
    /// The most urgent standing among its steps.
    pub worst: Standing,
    /// "by 0h50" where it is in time, "0h25 late", "left out" where it is given up for the others; nothing where no plan and
    /// no forecast says.
    pub in_time: String,
    /// On a forecast: how late it is, and because of what.
    pub late: Option<Lateness>,
    /// How far past its best it will be.
    pub past_best: Option<Minutes>,
    /// The parts of its bar.
    pub strokes: Vec<DishStroke>,
}

/// One part of a dish's bar.
#[derive(Clone, Copy, Debug)]
pub struct DishStroke {
    /// The row of its step in [`View::rows`].
    pub row: usize,
    /// When.
    pub window: Window,
    /// What it asks of people.
    pub care: Care,
}

/// What a stretch of a step asks of people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Care {
    /// Nothing.
    LeftAlone,
    /// A look now and then, or somebody in the building.
    LookIn,
    /// Hands.
    Hands,
}

impl View {
    /// Returns the dishes in the order in which they are listed: what is late or left out comes first, so that it does not
    /// stand where one has to scroll to; else as on the menu.
    pub fn dish_order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.dishes.len()).collect();
        order.sort_by_key(|&dish| self.dishes[dish].late.is_none());
        order
    }

    /// Returns the view of what a sheet knows.
    pub(super) fn of(sheet: &Sheet) -> Self {
        let Some(plan) = sheet.times() else {
            return Self::without_plan(sheet);
        };
        let now = sheet.now_minute();
        let rows: Vec<Row> = plan
            .order
            .iter()
            .map(|&step| row(sheet, plan, step, now))
            .collect();
        let mut row_of = vec![0; plan.steps.len()];
        for (index, row) in rows.iter().enumerate() {
            row_of[row.index] = index;
        }
        let dishes = plan
            .dishes
            .iter()
            .map(|dish| dish_row(sheet, plan, dish, &rows, &row_of))
            .collect();
        let begins = begins(plan, &sheet.prep);
        let when = |dish, step| match begins.get(&(dish, step)) {
            Some(Begin::At(minute)) => When::At(*minute),
            Some(Begin::Begun) => When::Over,
            None => When::Unknown,
        };
        let orders = order::list(&sheet.menu, sheet.service, &when);
        let needed_only = sheet.shows_needed_only();
        let moved = rows.iter().filter(|row| row.was().is_some()).count();
        let times = rows.iter().filter_map(|row| row.times.as_ref());
        let steps = times.map(|times| times.was.as_ref().unwrap_or(&times.countdown).clone());
        let errands = errands(&orders, &sheet.menu, &sheet.prep, sheet.service);
        let ahead = errands.iter().map(|it| it.at.countdown());
        let countdown_columns = steps.chain(ahead).map(|it| it.chars().count()).max();
        let countdown_columns = countdown_columns.unwrap_or(0) as u16;
        Self {
            rows,
            dishes,
            orders,
            errands,
            needed_only,
            moved,
            countdown_columns,
        }
    }

    /// Returns the rows of a menu that has no plan; none before the planner has said so.
    fn without_plan(sheet: &Sheet) -> Self {
        if !sheet.has_no_plan() {
            return Self::default();
        }
        let rows = named(&sheet.menu)
            .into_iter()
            .enumerate()
            .map(|(index, named)| unplanned_row(sheet, index, named))
            .collect();
        Self {
            rows,
            orders: order::list(&sheet.menu, sheet.service, &|_, _| When::Unknown),
            ..Self::default()
        }
    }

    /// Returns the row of a step by its key.
    pub fn find(&self, key: &StepKey) -> Option<usize> {
        self.rows.iter().position(|row| row.key == *key)
    }

    /// Returns the dates on which steps start, rising.
    pub fn dates(&self) -> Vec<Date> {
        let dates: BTreeSet<Date> = self.rows.iter().filter_map(Row::date).collect();
        dates.into_iter().collect()
    }

    /// Returns the cooks the plan names.
    pub fn cooks(&self) -> Vec<String> {
        let cooks: BTreeSet<&String> = self.rows.iter().flat_map(|row| &row.cooks).collect();
        cooks.into_iter().cloned().collect()
    }

    /// Returns the stations the plan names.
    pub fn stations(&self) -> Vec<String> {
        let stations: BTreeSet<&String> = self
            .rows
            .iter()
            .filter_map(|row| row.station.as_ref())
            .collect();
        stations.into_iter().cloned().collect()
    }

    /// Returns whether it would look otherwise with every minute that passes: something that should have
    /// started has not, or something that should have ended runs.
    pub fn depends_on_now(&self, now: Minute) -> bool {
        self.rows
            .iter()
            .any(|row| match (row.standing, row.window()) {
                (_, None) => false,
                (Standing::Running | Standing::RunningLong, Some(window)) => window.end <= now,
                (standing, Some(window)) => !standing.is_over() && window.start < now,
            })
    }
}

impl Row {
    /// Returns when it runs, where a plan says so.
    pub fn window(&self) -> Option<Window> {
        self.times.as_ref().map(|times| times.window)
    }

    /// Returns when it was told to start, where that is another time than it starts at now.
    pub fn was(&self) -> Option<&str> {
        self.times.as_ref()?.was.as_deref()
    }

    /// Returns the date it starts on, where a plan says so.
    pub fn date(&self) -> Option<Date> {
        self.times.as_ref().map(|times| times.date)
    }
}

fn row(sheet: &Sheet, plan: &Plan, index: StepIndex, now: Minute) -> Row {
    let planned = &plan.steps[index];
    let (dish_name, words) = words_of(&sheet.menu, planned.dish, planned.step, &planned.name);
    let local = plan.service.local(planned.window.start);
    let standing = standing(plan, &sheet.prep, index, now);
    let given_up = plan.is_given_up(index);
    // Of what should have begun the card says since when; that it moves with every minute is no news.
    let is_put_off = planned.window.start > now;
    let is_news = !standing.is_over()
        && !standing.is_running()
        && (standing != Standing::Late || is_put_off)
        && !given_up
        && !sheet.shows_needed_only();
    let was = planned.told.filter(|_| is_news).map(|told| {
        let told = plan.service.local(told);
        if told.date == local.date {
            format!("was {}", told.clock())
        } else {
            format!("was {}", told.weekday_clock())
        }
    });
    Row {
        index,
        key: planned.key.clone(),
        standing,
        given_up,
        times: Some(Times {
            window: planned.window,
            can_slip_until: planned.can_slip_until,
            date: local.date,
            when: local.weekday_clock(),
            countdown: planned.window.start.countdown(),
            was,
            needed_by: planned
                .needed_by
                .map(|needed| plan.service.local(needed).weekday_clock()),
        }),
        dish: planned.dish,
        step: planned.step,
        length: planned.window.length().to_string(),
        words,
        dish_name,
        name: planned.name.clone(),
        hands: hands_text(planned),
        cooks: cooks_of(planned),
        kit: kit_text(planned),
        station: planned.station.clone(),
    }
}

fn unplanned_row(sheet: &Sheet, index: usize, named: Named) -> Row {
    let (dish_name, words) = words_of(&sheet.menu, named.dish, named.step, &named.name);
    let step = sheet.menu.dishes[named.dish].steps.get(named.step);
    let station = step.and_then(|step| {
        let stations = &sheet.menu.kitchen.stations;
        let wanted = step.station.as_ref()?;
        let found = stations.iter().find(|(id, _)| id == wanted)?;
        Some(found.1.clone())
    });
    Row {
        index,
        standing: standing_unplanned(&sheet.prep, &named.key),
        key: named.key,
        times: None,
        dish: named.dish,
        step: named.step,
        length: step.map_or(String::new(), |step| words::time(&step.time)),
        dish_name,
        name: named.name,
        hands: step.map_or(String::new(), |step| hands_asked(&step.hands)),
        cooks: Vec::new(),
        kit: step.map_or(String::new(), |step| kit_asked(&sheet.menu, step)),
        station,
        given_up: false,
        words,
    }
}

/// Returns the name of the dish, and what the search looks through.
fn words_of(menu: &Menu, dish: usize, step: usize, name: &str) -> (String, String) {
    let dish = menu.dishes.get(dish);
    let dish_name = dish.map_or(String::new(), |dish| dish.name.clone());
    let method = dish
        .and_then(|dish| dish.steps.get(step)?.method.as_deref())
        .unwrap_or_default();
    let words = format!("{dish_name}\n{name}\n{method}").to_lowercase();
    (dish_name, words)
}

/// Returns whose hands a step asks for, in the words of [`hands_text`].
fn hands_asked(hands: &Hands) -> String {
    let ends = [hands.put_on, hands.take_off].into_iter().flatten();
    let ends = ends.map(|touch| touch.hands).max();
    match (hands.throughout, hands.look, ends) {
        (1.., _, _) => hands.throughout.to_string(),
        (0, Some(look), ends) => format!("{} looks", look.hands.max(ends.unwrap_or(0))),
        (0, None, Some(ends)) => format!("{ends} ends"),
        (0, None, None) if hands.someone_about => "about".to_owned(),
        (0, None, None) => "none".to_owned(),
    }
}

/// Returns the kit a step asks for, by the names of the kitchen.
fn kit_asked(menu: &Menu, step: &crate::menu::Step) -> String {
    let used = step.uses.iter().map(|used| (&used.kit, used.count));
    let kept = step.keeps_kit.iter().map(|kept| (&kept.kit, kept.count));
    let name = |id: &str| {
        let kit = menu.kitchen.kit.iter().find(|kit| kit.id == id);
        kit.map_or("", |kit| kit.name.as_str())
    };
    let said = used.chain(kept).map(|(id, count)| counted(name(id), count));
    once_each(said).join(", ")
}

fn counted(name: &str, count: u32) -> String {
    match count {
        1 => name.to_owned(),
        count => format!("{count} {name}"),
    }
}

fn once_each(said: impl Iterator<Item = String>) -> Vec<String> {
    let mut each: Vec<String> = Vec::new();
    for one in said {
        if !each.contains(&one) {
            each.push(one);
        }
    }
    each
}

fn cooks_of(planned: &PlannedStep) -> Vec<String> {
    let cooks: BTreeSet<&String> = planned.hands.iter().flat_map(|span| &span.cooks).collect();
    cooks.into_iter().cloned().collect()
}

/// Returns whose hands in a word or two: how many, and whether throughout, at its ends or to look.
fn hands_text(planned: &PlannedStep) -> String {
    let most = planned.most_hands();
    if most == 0 {
        return if planned.someone_about {
            "about"
        } else {
            "none"
        }
        .to_owned();
    }
    if planned.hands_throughout() {
        return most.to_string();
    }
    let at_an_end = |span: &crate::plan::HandsSpan| {
        span.window.start == planned.window.start || span.window.end == planned.window.end
    };
    let how = if planned.hands.iter().all(at_an_end) {
        "ends"
    } else {
        "looks"
    };
    format!("{most} {how}")
}

fn kit_text(planned: &PlannedStep) -> String {
    let said = planned.kit.iter().map(|kit| counted(&kit.name, kit.count));
    once_each(said).join(", ")
}

fn dish_row(
    sheet: &Sheet,
    plan: &Plan,
    dish: &crate::plan::DishPlan,
    rows: &[Row],
    row_of: &[usize],
) -> DishRow {
    let of_dish = || {
        dish.steps
            .iter()
            .filter_map(|&step| row_of.get(step))
            .map(|&row| &rows[row])
    };
    let mut strokes = Vec::new();
    for &step in &dish.steps {
        let planned = &plan.steps[step];
        let look = sheet
            .menu
            .dishes
            .get(planned.dish)
            .and_then(|dish| dish.steps.get(planned.step))
            .is_some_and(|step| step.hands.look.is_some());
        step_strokes(planned, look, row_of[step], &mut strokes);
    }
    DishRow {
        name: dish.name.clone(),
        over: of_dish().filter(|row| row.standing.is_over()).count(),
        steps: dish.steps.len(),
        ready: dish.ready,
        ready_text: if dish.is_given_up() {
            "–".to_owned()
        } else {
            plan.service.local(dish.ready).weekday_clock()
        },
        at_pass: dish.at_pass,
        at_pass_text: plan.service.local(dish.at_pass).weekday_clock(),
        worst: of_dish()
            .map(|row| row.standing)
            .min()
            .unwrap_or(Standing::Done),
        in_time: if sheet.shows_needed_only() {
            String::new()
        } else {
            in_time(dish)
        },
        late: dish.late.clone(),
        past_best: dish.past_best,
        strokes,
    }
}

/// Returns in nine columns at most whether a dish is in time, and by how much.
fn in_time(dish: &crate::plan::DishPlan) -> String {
    if dish.is_given_up() {
        return "left out".to_owned();
    }
    let short = |minutes: i32| match minutes {
        0..600 => format!("{}h{:02}", minutes / 60, minutes % 60),
        600..6000 => format!("{}h", minutes / 60),
        _ => format!("{} d", minutes / 1440),
    };
    let hand = dish.in_hand().0;
    if hand < 0 {
        format!("{} late", short(hand.saturating_neg()))
    } else {
        format!("by {}", short(hand))
    }
}

/// A look inside a long step is drawn as a look, though hands do it; hands that put on and take off are drawn
/// as hands.
fn step_strokes(planned: &PlannedStep, look: bool, row: usize, into: &mut Vec<DishStroke>) {
    let care = if planned.someone_about {
        Care::LookIn
    } else {
        Care::LeftAlone
    };
    into.push(DishStroke {
        row,
        window: planned.window,
        care,
    });
    for span in &planned.hands {
        let inside =
            span.window.start > planned.window.start && span.window.end < planned.window.end;
        let care = if look && inside {
            Care::LookIn
        } else {
            Care::Hands
        };
        into.push(DishStroke {
            row,
            window: span.window,
            care,
        });
    }
}

/// Returns a date as a heading: "Thu 26 Nov".
pub fn day_heading(date: Date) -> String {
    format!(
        "{} {} {}",
        weekday_name(date.weekday()),
        date.day(),
        month_name(date.month())
    )
}

/// Returns the month's short English name.
fn month_name(month: u32) -> &'static str {
    const NAMES: [&str; 12] = [
        "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
    ];
    NAMES
        .get(month.saturating_sub(1) as usize)
        .copied()
        .unwrap_or("")
}

/// Returns a moment with its date: "Sat 28 Nov 19:30".
pub fn day_and_clock(service: ServiceTime, minute: Minute) -> String {
    let local = service.local(minute);
    format!("{} {}", day_heading(local.date), local.clock())
}
