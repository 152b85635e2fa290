//! The menu as it stands after what was decided during the prep.
//!
//! The file stays as it was written; what the planner and the screen work from is the file's menu with every
//! decision of the book that counts applied to it, in order. So undoing a decision is undoing an entry, and every
//! terminal comes to the same menu.
//!
//! When a service moves to another day, the kitchen's hours stay on the dates they were on: people were asked to
//! come on a Friday, not "a day before". Moments on the cards ("06:00 on the day") move with the service, because
//! they belong to the food.
//!
//! # Left out
//! Changing a step. A step that is done otherwise is ticked at its real times, given another end, or skipped; a card
//! that is wrong is corrected in its file.

use crate::book::Decision;
use crate::menu::{About, Days, Dish, Hours, Kitchen, Menu, Service, ServiceDay, Taken, check};
use crate::plan::{Way, by_day, hours_of, more_hands, with_staying_on};
use crate::time::{Minute, Minutes, ServiceTime, Timestamp, Window, day_after};

/// Reads the text of a dish card, or says in words why it cannot be read.
pub type ReadCard<'a> = &'a dyn Fn(&str) -> Result<Dish, String>;

/// How long something that is gone for good is taken to be gone after the last course: past any plan.
const FOR_GOOD: Minutes = Minutes::days(3);

/// What was decided, applied.
#[derive(Clone, Debug, PartialEq)]
pub struct Decided {
    /// The menu as it stands.
    pub menu: Menu,
    /// When it is served.
    pub service: ServiceTime,
    /// Decisions that no longer fit the menu, a sentence each without a full stop; they are passed over.
    pub passed_over: Vec<String>,
}

/// Returns the menu after these decisions, in order. One that does not fit it any more (its dish has gone from the
/// file) is passed over and said.
pub fn decided<'a>(
    menu: &Menu,
    service: ServiceTime,
    decisions: impl IntoIterator<Item = &'a Decision>,
    card: ReadCard<'_>,
) -> Decided {
    let mut now = Decided {
        menu: menu.clone(),
        service,
        passed_over: Vec::new(),
    };
    for decision in decisions {
        match decide(&now.menu, now.service, decision, card) {
            Ok((menu, service)) => (now.menu, now.service) = (menu, service),
            Err(why) => now.passed_over.push(why),
        }
    }
    now
}

/// Returns the menu and the service after one decision, or why it does not fit the menu.
pub fn decide(
    menu: &Menu,
    service: ServiceTime,
    decision: &Decision,
    card: ReadCard<'_>,
) -> Result<(Menu, ServiceTime), String> {
    let before = menu;
    let mut menu = menu.clone();
    let mut service = service;
    match decision {
        Decision::Service { to } => service = move_service(&mut menu, service, *to),
        Decision::Covers { dish, covers } => {
            if *covers == 0 {
                return Err("a banquet for nobody; leave dishes out instead".to_owned());
            }
            match dish {
                None => menu.covers = *covers,
                Some(id) => dish_of(&mut menu, id)?.covers = Some(*covers),
            }
        }
        Decision::Batches { dish, batches } => dish_of(&mut menu, dish)?.batches = *batches,
        Decision::CookAway { cook, from, until } => {
            let gone = hours(gone(&menu, service, *from, *until)?, service);
            let of_cook = menu.kitchen.cooks.iter_mut().find(|it| it.name == *cook);
            let of_cook = of_cook.ok_or_else(|| format!("nobody called {cook} cooks here"))?;
            of_cook.away.extend(gone);
        }
        Decision::KitOut {
            kit,
            count,
            from,
            until,
        } => {
            let gone = hours(gone(&menu, service, *from, *until)?, service);
            let of_kit = menu.kitchen.kit.iter_mut().find(|it| it.id == *kit);
            let of_kit = of_kit.ok_or_else(|| format!("the kitchen has no {kit}"))?;
            if *count == 0 || *count > of_kit.count {
                return Err(format!(
                    "the kitchen has {} {}, not {count}",
                    of_kit.count, of_kit.name
                ));
            }
            of_kit.taken.extend(gone.into_iter().map(|hours| Taken {
                hours,
                count: Some(*count),
                by: Some("being out of use".to_owned()),
            }));
        }
        Decision::HandsAdded { stretches } => {
            let windows: Vec<Window> = stretches
                .iter()
                .map(|(from, to)| Window::new(service.minute(*from), service.minute(*to)))
                .filter(|window| !window.is_empty())
                .flat_map(|window| by_day(window, service))
                .collect();
            if windows.is_empty() {
                return Err("hands that come for no time".to_owned());
            }
            let more = more_hands(&menu.kitchen, &windows, service);
            menu.kitchen.cooks.push(more);
        }
        Decision::StayingOn { from, until } => {
            let stay = Window::new(service.minute(*from), service.minute(*until));
            if stay.is_empty() || stay.length() > Minutes::days(1) {
                return Err("staying on ends after it begins, within a day".to_owned());
            }
            let kitchen = with_staying_on(&menu, service, stay);
            menu.kitchen = kitchen.ok_or_else(|| {
                let end = service.local(stay.start).weekday_clock();
                format!("nobody's shift ends at {end}")
            })?;
        }
        Decision::KitAdded { kit, count } => {
            let of_kit = menu.kitchen.kit.iter_mut().find(|it| it.id == *kit);
            let of_kit = of_kit.ok_or_else(|| format!("the kitchen has no {kit}"))?;
            of_kit.count = of_kit.count.saturating_add(*count);
        }
        Decision::WorkFrom { day } => menu.prep_from = Some(day.local(service.zone()).date),
        Decision::DishDropped { dish } => drop_dish(&mut menu, dish)?,
        Decision::DishAdded {
            card: text,
            course,
            covers,
        } => {
            let mut dish = card(text)?;
            if menu.dish(&dish.id).is_some() {
                return Err(format!("the menu has a dish {} already", dish.id));
            }
            let of_course = match course {
                None => menu.courses.first(),
                Some(id) => menu.courses.iter().find(|it| it.id == *id),
            };
            let of_course = of_course.ok_or_else(|| "the menu has no such course".to_owned())?;
            dish.course.clone_from(&of_course.id);
            dish.covers = *covers;
            menu.dishes.push(dish);
        }
    }
    // What was wrong with the menu before is no fault of the decision.
    let known = check(before);
    let mut faults = check(&menu).into_iter();
    let fault = faults.find(|it| it.about != About::Unwise && !known.contains(it));
    match fault {
        None => Ok((menu, service)),
        Some(fault) => Err(fault.what),
    }
}

/// Returns what a cook decides who takes a way out; none where nothing is to be decided.
pub fn decision_of(
    way: &Way,
    menu: &Menu,
    service: ServiceTime,
    begins: Option<Minute>,
) -> Option<Decision> {
    let stretch = |window: &Window| {
        (
            service.timestamp(window.start),
            service.timestamp(window.end),
        )
    };
    Some(match way {
        Way::Kit(place) => Decision::KitAdded {
            kit: menu.kitchen.kit.get(*place)?.id.clone(),
            count: 1,
        },
        Way::StayingOn(stay) => {
            let (from, until) = stretch(stay);
            Decision::StayingOn { from, until }
        }
        Way::Hands(window) => Decision::HandsAdded {
            stretches: vec![stretch(window)],
        },
        Way::HandsThroughout(windows) => Decision::HandsAdded {
            stretches: windows.iter().map(stretch).collect(),
        },
        Way::Earlier(_) => Decision::WorkFrom {
            day: service.timestamp(begins?),
        },
        Way::Later(by) => Decision::Service {
            to: service.timestamp(Minute::SERVICE + *by),
        },
        Way::Without(place) => Decision::DishDropped {
            dish: menu.dishes.get(*place)?.id.clone(),
        },
    })
}

fn dish_of<'a>(menu: &'a mut Menu, id: &str) -> Result<&'a mut Dish, String> {
    let dish = menu.dishes.iter_mut().find(|dish| dish.id == id);
    dish.ok_or_else(|| format!("the menu has no dish {id}"))
}

fn drop_dish(menu: &mut Menu, id: &str) -> Result<(), String> {
    dish_of(menu, id)?;
    let taken = format!("{id}/");
    let takes = |dish: &&Dish| {
        let mut after = dish.steps.iter().flat_map(|step| &step.after);
        dish.id != id && after.any(|after| after.step.starts_with(&taken))
    };
    if let Some(other) = menu.dishes.iter().find(takes) {
        return Err(format!(
            "{} is made from {id}; leave that out first",
            other.id
        ));
    }
    if menu.dishes.len() == 1 {
        return Err("nothing would be left to serve".to_owned());
    }
    menu.dishes.retain(|dish| dish.id != id);
    menu.dropped.push(id.to_owned());
    Ok(())
}

fn move_service(menu: &mut Menu, service: ServiceTime, to: Timestamp) -> ServiceTime {
    let local = to.local(service.zone());
    if local.date != service.service_date() {
        keep_dates(&mut menu.kitchen, service);
    }
    menu.service = Service {
        day: ServiceDay::On(local.date),
        time: local.time,
    };
    ServiceTime::new(local, service.zone())
}

/// Ties hours that are counted back from service to the dates they fall on.
fn keep_dates(kitchen: &mut Kitchen, service: ServiceTime) {
    let tie = |hours: &mut Hours| {
        if let Days::BeforeService(counts) = &hours.days {
            let dates = counts
                .iter()
                .map(|&count| day_after(service.service_date(), -i64::from(count)));
            hours.days = Days::Dates(dates.collect());
        }
    };
    let cooks = kitchen.cooks.iter_mut().flat_map(|cook| {
        let shifts = cook.shifts.iter_mut().chain(cook.overtime.iter_mut());
        shifts.chain(cook.away.iter_mut())
    });
    let kit = kitchen.kit.iter_mut().flat_map(|kit| &mut kit.taken);
    cooks
        .chain(kit.map(|taken| &mut taken.hours))
        .chain(kitchen.open.iter_mut())
        .chain(kitchen.watched.iter_mut())
        .for_each(tie);
}

fn gone(
    menu: &Menu,
    service: ServiceTime,
    from: Timestamp,
    until: Option<Timestamp>,
) -> Result<Window, String> {
    let last = menu.courses.iter().map(|course| course.offset).max();
    let for_good = Minute::SERVICE + last.unwrap_or_default() + FOR_GOOD;
    let until = until.map_or(for_good, |until| service.minute(until));
    let window = Window::new(service.minute(from), until);
    if window.is_empty() {
        return Err("that ends before it begins".to_owned());
    }
    if window.length() > Minutes::days(400) {
        return Err("that lasts more than a year; check the dates".to_owned());
    }
    Ok(window)
}

fn hours(window: Window, service: ServiceTime) -> Vec<Hours> {
    let days = by_day(window, service).into_iter();
    days.map(|day| hours_of(day, service)).collect()
}
