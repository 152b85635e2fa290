//! Rules that need the whole menu in view.
//!
//! [`check()`] says everything that is wrong with a menu, not the first thing: names that nothing has, orders
//! that go in a circle, gaps that contradict one another, kit and hands that do not exist, times that cannot
//! fit before service. A [`Finding`] names what it is about, and [`crate::load`] knows where that was written.
//!
//! A finding is certain: it holds whatever the planner would do. What only planning can tell (too few hobs at
//! noon) is left to the planner.

mod dish;
mod gaps;
mod kitchen;
mod larder;
#[cfg(test)]
mod tests;
mod work;

use std::collections::BTreeMap;

use super::{Dish, Kitchen, Larder, Last, Menu, Moment, ServiceDay, words};
use crate::time::{Date, Datelike, Minutes, Timelike};

/// What a finding is about, by name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// The menu.
    Menu,
    /// A course, by id.
    Course(String),
    /// The kitchen.
    Kitchen,
    /// A cook, by name.
    Cook(String),
    /// A station, by id.
    Station(String),
    /// Kit, by id.
    Kit(String),
    /// What the menu says of a dish (its course, its covers), by the dish's id.
    Serve(String),
    /// The larder.
    Larder,
    /// A supplier, by name.
    Supplier(String),
    /// Goods, by name.
    Goods(String),
    /// A dish, by id.
    Dish(String),
    /// A step: its dish's id and its own.
    Step(String, String),
}

/// What kind of rule a finding breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// A name that nothing has, or that two things have.
    Name,
    /// Something that cannot be.
    Limit,
    /// Something that can be, but is unwise: a warning.
    Unwise,
}

/// Something that is wrong with a menu as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What it is about.
    pub subject: Subject,
    /// Which of several of that name, from 0.
    pub which: usize,
    /// The field it is about, where it is about one.
    pub field: Option<&'static str>,
    /// What kind of rule is broken.
    pub about: About,
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub instead: Option<String>,
}

impl Finding {
    fn new(about: About, subject: Subject, what: impl Into<String>) -> Self {
        Self {
            subject,
            which: 0,
            field: None,
            about,
            what: what.into(),
            instead: None,
        }
    }

    fn name(subject: Subject, what: impl Into<String>) -> Self {
        Self::new(About::Name, subject, what)
    }

    fn limit(subject: Subject, what: impl Into<String>) -> Self {
        Self::new(About::Limit, subject, what)
    }

    fn unwise(subject: Subject, what: impl Into<String>) -> Self {
        Self::new(About::Unwise, subject, what)
    }

    fn at(mut self, field: &'static str) -> Self {
        self.field = Some(field);
        self
    }

    fn instead(mut self, instead: impl Into<String>) -> Self {
        self.instead = Some(instead.into());
        self
    }
}

/// What is in view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Scope {
    /// One dish card, which may name steps of dishes that are not here.
    Card,
    /// All dishes of a menu.
    Menu,
}

/// Returns everything that is wrong with a menu.
pub fn check(menu: &Menu) -> Vec<Finding> {
    let mut findings = kitchen::check(&menu.kitchen);
    findings.extend(larder::check(&menu.larder));
    findings.extend(courses(menu));
    for dish in &menu.dishes {
        findings.extend(dish::check(dish));
        findings.extend(kitchen::needs(&menu.kitchen, dish));
        findings.extend(larder::needs(&menu.larder, dish));
        findings.extend(served(menu, dish));
    }
    let dishes: Vec<_> = menu.dishes.iter().collect();
    let (order, longest) = gaps::check(&dishes, Scope::Menu);
    findings.extend(order);
    findings.extend(too_long(menu, &longest));
    findings.extend(too_many(menu));
    findings
}

/// A banquet of this many doings fills a week of a large brigade; more is a slip of the pen, and a planner that
/// took it at its word would not come back.
const MOST_DOINGS: u64 = 5_000;

fn too_many(menu: &Menu) -> Option<Finding> {
    let counts = menu.dishes.iter().map(|dish| (menu.doings_of(dish), dish));
    let total = counts
        .clone()
        .fold(0_u64, |total, (count, _)| total.saturating_add(count));
    if total <= MOST_DOINGS {
        return None;
    }
    let (count, dish) = counts.max_by_key(|(count, _)| *count)?;
    let what = format!(
        "{} asks for {count} doings of its steps ({} batches), and the menu for {total} in all; at most {MOST_DOINGS} can be planned",
        dish.name,
        menu.batches_of(dish),
    );
    let instead = "let a batch make more portions, or do a step once for the dish";
    Some(Finding::limit(Subject::Serve(dish.id.clone()), what).instead(instead))
}

/// Returns everything that is wrong with a kitchen by itself.
pub fn check_kitchen(kitchen: &Kitchen) -> Vec<Finding> {
    kitchen::check(kitchen)
}

/// Returns everything that is wrong with a larder by itself.
pub fn check_larder(larder: &Larder) -> Vec<Finding> {
    larder::check(larder)
}

/// Returns everything that is wrong with a dish by itself.
pub fn check_dish(dish: &Dish) -> Vec<Finding> {
    let mut findings = dish::check(dish);
    findings.extend(gaps::check(&[dish], Scope::Card).0);
    findings
}

/// Returns the known word nearest to one that is not known, where one is near.
pub(crate) fn nearest<'k>(word: &str, known: impl IntoIterator<Item = &'k str>) -> Option<&'k str> {
    // A long word is near nothing on a menu, and the distance takes time with its square.
    if word.chars().count() > 60 {
        return None;
    }
    let lower = word.to_lowercase();
    // No kitchen has more kit and no card more steps than this; a file of nonsense may.
    known
        .into_iter()
        .take(500)
        .filter(|known| known.len() <= 240)
        .map(|known| {
            let distance = strsim::damerau_levenshtein(&lower, &known.to_lowercase());
            (distance, known)
        })
        .filter(|&(distance, known)| {
            // Half of a short word is another word: "Nuts" is not a slip for "Oats".
            let known = known.to_lowercase();
            let begins = lower.len().min(known.len()) >= 3
                && lower.len().abs_diff(known.len()) <= 2
                && (lower.starts_with(&known) || known.starts_with(&lower));
            distance <= (known.chars().count() / 3).max(1) || begins
        })
        .min_by_key(|&(distance, _)| distance)
        .map(|(_, known)| known)
}

/// Returns what to write instead of a name that nothing has.
fn instead_of<'k>(word: &str, known: impl IntoIterator<Item = &'k str>, none: &str) -> String {
    /// A suggestion longer than this is not read.
    const SHOWN: usize = 8;
    let known: Vec<_> = known.into_iter().take(500).collect();
    if let Some(near) = nearest(word, known.iter().copied()) {
        return format!("\"{near}\"");
    }
    if known.is_empty() {
        return none.to_owned();
    }
    let names = known.iter().take(SHOWN);
    let names: Vec<_> = names.map(|name| format!("\"{name}\"")).collect();
    let more = if known.len() > SHOWN { ", …" } else { "" };
    if let [only] = names.as_slice() {
        return only.clone();
    }
    format!("one of {}{more}", names.join(", "))
}

/// Returns a finding for each name that comes a second time, with which of the bearers it is.
fn twice<'n>(
    names: impl IntoIterator<Item = &'n str>,
    kind: &str,
    subject: impl Fn(String) -> Subject,
) -> Vec<Finding> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let mut findings = Vec::new();
    for name in names {
        let before = seen.entry(name).or_default();
        if *before > 0 {
            let mut finding = Finding::name(
                subject(name.to_owned()),
                format!("a second {kind} is called \"{name}\""),
            )
            .instead(format!("give each {kind} a name of its own"));
            finding.which = *before;
            findings.push(finding);
        }
        *before += 1;
    }
    findings
}

/// Returns a finding when a name says nothing.
fn unnamed(name: &str, subject: Subject) -> Option<Finding> {
    name.trim().is_empty().then(|| {
        Finding::limit(subject, "the name is empty")
            .at("name")
            .instead("a name the cooks will know it by")
    })
}

fn courses(menu: &Menu) -> Vec<Finding> {
    let mut findings = Vec::new();
    findings.extend(unnamed(&menu.name, Subject::Menu));
    if menu.covers == 0 {
        findings.push(
            Finding::limit(Subject::Menu, "a menu for nobody")
                .at("covers")
                .instead("the number of guests"),
        );
    }
    if menu.dishes.is_empty() {
        findings.push(Finding::limit(Subject::Menu, "the menu has no dishes").at("dishes"));
    }
    findings.extend(guests(menu));
    let ids = menu.courses.iter().map(|course| course.id.as_str());
    findings.extend(twice(ids, "course", Subject::Course));
    for course in &menu.courses {
        // A course that the menu did not name bears the menu's name, which has been looked at.
        if course.name != menu.name {
            findings.extend(unnamed(&course.name, Subject::Course(course.id.clone())));
        }
    }
    let ids = menu.dishes.iter().map(|dish| dish.id.as_str());
    findings.extend(twice(ids, "dish", Subject::Serve));
    if let (Some(from), ServiceDay::On(day)) = (menu.prep_from, menu.service.day)
        && from > day
    {
        findings.push(
            Finding::limit(
                Subject::Menu,
                format!("preparation would begin on {from}, after the service on {day}"),
            )
            .at("prep_from"),
        );
    }
    findings
}

/// Returns what is wrong with the guests a menu names.
fn guests(menu: &Menu) -> Vec<Finding> {
    let mut findings = Vec::new();
    let mut push = |finding: Finding| findings.push(finding.at("guests"));
    for guest in &menu.guests {
        if guest.name.trim().is_empty() {
            push(
                Finding::limit(Subject::Menu, "a guest without a name")
                    .instead("where they sit: \"table 4, seat 2\""),
            );
        }
        if guest.count == 0 {
            let what = format!("\"{}\" is nobody", guest.name);
            push(Finding::limit(Subject::Menu, what).instead("count: 1 or more"));
        }
        for dish in &guest.without {
            if menu.dish(dish).is_none() && !menu.dropped.contains(dish) {
                let what = format!(
                    "\"{}\" goes without \"{dish}\", and no dish is called that",
                    guest.name
                );
                let known = menu.dishes.iter().map(|dish| dish.id.as_str());
                let instead = instead_of(dish, known, "the id of a dish");
                push(Finding::name(Subject::Menu, what).instead(instead));
            }
        }
    }
    findings
}

/// Returns what is wrong with how a menu serves a dish, and with moments that need the date of service.
fn served(menu: &Menu, dish: &Dish) -> Vec<Finding> {
    let mut findings = Vec::new();
    let subject = || Subject::Serve(dish.id.clone());
    let courses = || menu.courses.iter().map(|course| course.id.as_str());
    if courses().all(|id| id != dish.course) {
        findings.push(
            Finding::name(
                subject(),
                format!("no course is called \"{}\"", dish.course),
            )
            .at("course")
            .instead(instead_of(&dish.course, courses(), "a course of this menu")),
        );
    }
    if dish.covers == Some(0) {
        findings.push(
            Finding::limit(subject(), "a dish for nobody")
                .at("covers")
                .instead("the number of portions, or leave the dish out"),
        );
    }
    findings.extend(decided(menu, dish));
    let day = match menu.service.day {
        ServiceDay::On(day) => Some(day),
        ServiceDay::InDays(_) => None,
    };
    for step in &dish.steps {
        let moments = (step.not_before.as_ref(), step.done_by.as_ref());
        let (Some(from), Some(to)) = moments else {
            continue;
        };
        let subject = Subject::Step(dish.id.clone(), step.id.clone());
        let (Some(begin), Some(end)) = (minutes(from, day), minutes(to, day)) else {
            continue;
        };
        let room = Minutes(end - begin);
        let (from, to) = (words::moment(from), words::moment(to));
        if room < Minutes::ZERO {
            findings.push(
                Finding::limit(
                    subject,
                    format!(
                        "it may not begin before {from}, and must be done by {to}, which is earlier"
                    ),
                )
                .at("done_by")
                .instead("an earlier `not_before` or a later `done_by`"),
            );
        } else if work::shortest(step) > room {
            findings.push(
                Finding::limit(
                    subject,
                    format!(
                        "it takes at least {}, and from {from} to {to} there are only {room}",
                        work::shortest(step)
                    ),
                )
                .at("done_by")
                .instead("an earlier `not_before` or a later `done_by`"),
            );
        }
    }
    findings
}

/// Returns what is wrong with the number of batches the cook has decided on.
fn decided(menu: &Menu, dish: &Dish) -> Option<Finding> {
    let decided = dish.batches?;
    let subject = Subject::Serve(dish.id.clone());
    let Some(batch) = &dish.batch else {
        return Some(
            Finding::limit(
                subject,
                "it is to be made in batches, and its card does not say what a batch is",
            )
            .at("batches")
            .instead("give the card a `batch`, or leave `batches` out"),
        );
    };
    if decided == 0 {
        return Some(
            Finding::limit(subject, "a dish made in no batches")
                .at("batches")
                .instead("1 or more, or leave it out"),
        );
    }
    let wanted = menu.portions_of(dish);
    if batch.last == Last::Part && decided > wanted {
        return Some(
            Finding::limit(
                subject,
                format!("{wanted} portions cannot be divided among {decided} batches"),
            )
            .at("batches")
            .instead("fewer batches, or leave it out"),
        );
    }
    let makes = menu.made(dish).portions();
    (makes < u64::from(wanted)).then(|| {
        let enough = wanted.div_ceil(batch.portions.max(1));
        Finding::unwise(
            subject,
            match decided {
                1 => format!("1 batch makes {makes} portions, and {wanted} are wanted"),
                _ => format!("{decided} batches make {makes} portions, and {wanted} are wanted"),
            },
        )
        .at("batches")
        .instead(format!("batches: {enough}, or fewer covers"))
    })
}

/// Returns a moment as minutes of the clock from midnight of the day of service; nothing when that takes the
/// date and there is none.
fn minutes(moment: &Moment, service: Option<Date>) -> Option<i32> {
    let (days_before, time) = match moment {
        Moment::BeforeService(days, time) => (i64::from(*days), time),
        Moment::Weekday(day, time) => {
            let service = service?.weekday().num_days_from_monday() + 7;
            let back = (service - day.num_days_from_monday()) % 7;
            (i64::from(back), time)
        }
        Moment::On(date, time) => (days_between(*date, service?), time),
    };
    let minute = i64::from(60 * time.hour() + time.minute());
    i32::try_from(minute - 1440 * days_before).ok()
}

/// Returns the days from one date to another.
fn days_between(from: Date, to: Date) -> i64 {
    i64::from(to.num_days_from_ce()) - i64::from(from.num_days_from_ce())
}

/// Returns a finding for each dish whose steps cannot fit between the first day of work and its course.
fn too_long(menu: &Menu, longest: &[Minutes]) -> Vec<Finding> {
    let (Some(from), ServiceDay::On(day)) = (menu.prep_from, menu.service.day) else {
        return Vec::new();
    };
    if from > day {
        return Vec::new();
    }
    let service = i64::from(60 * menu.service.time.hour() + menu.service.time.minute());
    // An hour is granted for a clock change in between, because this must hold whatever the clock does.
    let until_service = 1440 * days_between(from, day) + service + 60;
    let mut findings = Vec::new();
    for (dish, &longest) in menu.dishes.iter().zip(longest) {
        let course = menu.courses.iter().find(|course| course.id == dish.course);
        let offset = course.map_or(0, |course| i64::from(course.offset.0));
        let there_is = until_service + offset - i64::from(dish.margin.0);
        if i64::from(longest.0) <= there_is {
            continue;
        }
        let room = Minutes(i32::try_from((there_is - 60).max(0)).unwrap_or(i32::MAX));
        findings.push(
            Finding::limit(
                Subject::Dish(dish.id.clone()),
                format!(
                    "its steps take at least {longest} one after another, and from {from} to its course there are only {room}"
                ),
            )
            .at("steps")
            .instead("begin preparing earlier (`prep_from`), or serve a dish that takes less"),
        );
    }
    findings
}
