//! By when: the last hour at which an order can be given, or at which somebody is there to set something to soak.

use crate::menu::{Days, Menu, Supplier};
use crate::time::{
    Date, Datelike, Local, Minute, Minutes, ServiceTime, TimeOfDay, Timelike, day_after,
};

/// Returns the last time an order can be given for something that is fetched at a minute: so far ahead, on the clock of
/// the kitchen, and then the last hour before at which the supplier takes orders. Nothing where the supplier takes none
/// in the two months before.
pub(super) fn order_by(
    service: ServiceTime,
    fetched: Minute,
    ahead: Minutes,
    supplier: Option<&Supplier>,
) -> Option<Minute> {
    const DAY: i32 = 1440;
    // Days are days of the calendar: across a clock change the hour stays.
    let local = service.local(fetched);
    let days = ahead.0 / DAY;
    let date = day_after(local.date, -i64::from(days));
    let latest = service.at(Local { date, ..local }) - Minutes(ahead.0 % DAY);
    let Some(supplier) = supplier else {
        return Some(latest);
    };
    let last = service.local(latest);
    (0..62).find_map(|back| {
        let date = day_after(last.date, -back);
        if !is_on(supplier.days.as_ref(), date, service) {
            return None;
        }
        let end_of_day = service.at_minute_of_day(date, 1440) - Minutes(1);
        let by = supplier.by.map_or(end_of_day, |by| at(service, date, by));
        match back {
            0 if supplier.by.is_none() => Some(latest),
            0 if by > latest => None,
            _ => Some(by),
        }
    })
}

/// Returns the last minute up to this one at which the kitchen is open, so that somebody can do it; the minute itself where
/// it has not been open in the fortnight before.
pub(super) fn while_open(menu: &Menu, service: ServiceTime, at: Minute) -> Minute {
    let date = service.local(at).date;
    let mut latest: Option<Minute> = None;
    for back in 0..14 {
        let date = day_after(date, -back);
        for hours in &menu.kitchen.open {
            if !is_on(Some(&hours.days), date, service) {
                continue;
            }
            for span in &hours.spans {
                let from = service.at_minute_of_day(date, span.from);
                let last = service.at_minute_of_day(date, span.to) - Minutes(1);
                if from <= at {
                    latest = latest.max(Some(last.min(at)));
                }
            }
        }
        // Hours of an earlier day end earlier, but for the one that reaches past midnight.
        if latest.is_some() && back > 0 {
            break;
        }
    }
    latest.unwrap_or(at)
}

fn at(service: ServiceTime, date: Date, time: TimeOfDay) -> Minute {
    service.at_minute_of_day(date, 60 * time.hour() + time.minute())
}

/// Returns whether a date is one of these days; all are where none are named.
fn is_on(days: Option<&Days>, date: Date, service: ServiceTime) -> bool {
    match days {
        None | Some(Days::Every) => true,
        Some(Days::Weekdays(days)) => days.contains(&date.weekday()),
        Some(Days::Dates(dates)) => dates.contains(&date),
        Some(Days::BeforeService(before)) => before
            .iter()
            .any(|&days| day_after(service.service_date(), -i64::from(days)) == date),
    }
}
