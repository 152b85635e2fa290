//! Clock hours of the kitchen → windows of minutes from service.

use crate::menu::{Days, Hours, Kitchen, Moment, Span};
use crate::time::{
    Date, Datelike, Local, Minute, Minutes, ServiceTime, TimeOfDay, Timelike, Window, day_after,
};

/// The stretch of dates that hours are laid out over.
#[derive(Clone, Copy, Debug)]
pub(super) struct Dates {
    pub(super) first: Date,
    pub(super) last: Date,
}

impl Dates {
    /// Returns the dates that the kitchen's wall ever shows: a place that crosses the date line skips one.
    pub(super) fn iter(self, service: ServiceTime) -> impl Iterator<Item = Date> {
        let mut date = self.first;
        let all = std::iter::from_fn(move || {
            let today = date;
            date = day_after(date, 1);
            (today <= self.last).then_some(today)
        });
        all.filter(move |&date| service.local(service.at_minute_of_day(date, 0)).date == date)
    }
}

/// Returns the windows of clock hours over these dates, rising and disjoint; touching ones are one.
pub(super) fn windows(hours: &[Hours], service: ServiceTime, dates: Dates) -> Vec<Window> {
    let mut found: Vec<Window> = Vec::new();
    for date in dates.iter(service) {
        for span in hours
            .iter()
            .filter(|it| falls_on(&it.days, date, service))
            .flat_map(|it| &it.spans)
        {
            found.push(window(*span, service, date));
        }
    }
    union(found)
}

/// Returns the window of one span that begins on `date`.
pub(super) fn window(span: Span, service: ServiceTime, date: Date) -> Window {
    Window::new(
        service.at_minute_of_day(date, span.from),
        service.at_minute_of_day(date, span.to),
    )
}

/// Returns windows sorted, with overlapping and touching ones made one and empty ones left out.
pub(super) fn union(mut windows: Vec<Window>) -> Vec<Window> {
    windows.retain(|window| !window.is_empty());
    windows.sort_by_key(|window| (window.start, window.end));
    let mut joined: Vec<Window> = Vec::with_capacity(windows.len());
    for window in windows {
        match joined.last_mut() {
            Some(last) if window.start <= last.end => last.end = last.end.max(window.end),
            _ => joined.push(window),
        }
    }
    joined
}

/// Returns the stretches of `within` that none of `windows` (rising, disjoint) covers.
pub(super) fn between(windows: &[Window], within: Window) -> Vec<Window> {
    let mut gaps = Vec::new();
    let mut from = within.start;
    for window in windows {
        gaps.push(Window::new(from, window.start.min(within.end)));
        from = from.max(window.end);
    }
    gaps.push(Window::new(from, within.end));
    gaps.retain(|gap| !gap.is_empty());
    gaps
}

/// Returns what is left of `windows` where none of `taken` (rising, disjoint) lies.
pub(super) fn without(windows: &[Window], taken: &[Window]) -> Vec<Window> {
    windows
        .iter()
        .flat_map(|window| between(taken, *window))
        .collect()
}

/// Returns the parts that windows of both lists share.
pub(super) fn common(one: &[Window], other: &[Window]) -> Vec<Window> {
    let mut shared: Vec<Window> = Vec::new();
    for a in one {
        shared.extend(
            other
                .iter()
                .map(|b| a.intersect(*b))
                .filter(|window| !window.is_empty()),
        );
    }
    union(shared)
}

fn falls_on(days: &Days, date: Date, service: ServiceTime) -> bool {
    match days {
        Days::Every => true,
        Days::Weekdays(weekdays) => weekdays.contains(&date.weekday()),
        Days::Dates(dates) => dates.contains(&date),
        Days::BeforeService(counts) => counts
            .iter()
            .any(|&count| day_after(service.service_date(), -i64::from(count)) == date),
    }
}

/// Returns when the kitchen is open; always, where it names no hours.
pub(super) fn open(kitchen: &Kitchen, service: ServiceTime, dates: Dates) -> Vec<Window> {
    if kitchen.open.is_empty() {
        let from = service.at_minute_of_day(dates.first, 0);
        return vec![Window::new(
            from,
            service.at_minute_of_day(dates.last, 1440),
        )];
    }
    windows(&kitchen.open, service, dates)
}

/// Returns the first opening of each date on which the kitchen opens; midnights, where it names no hours.
///
/// "Overnight" ends at the next of these: a kitchen that shuts for an hour at noon does not make two nights
/// of a day, nor one that stays open past midnight; one that never shuts begins its days at midnight all the same.
pub(super) fn first_openings(kitchen: &Kitchen, service: ServiceTime, dates: Dates) -> Vec<Minute> {
    let open = open(kitchen, service, dates);
    let still_open = |at: Minute| {
        let mut since = open.iter().filter(|open| open.start < at && at < open.end);
        since.any(|open| open.length() <= Minutes::days(1))
    };
    let mut openings: Vec<Minute> = dates
        .iter(service)
        .filter_map(|date| {
            if kitchen.open.is_empty() {
                return Some(service.at_minute_of_day(date, 0));
            }
            let today = kitchen
                .open
                .iter()
                .filter(|hours| falls_on(&hours.days, date, service));
            today
                .flat_map(|hours| &hours.spans)
                .map(|span| service.at_minute_of_day(date, span.from))
                .filter(|&at| !still_open(at))
                .min()
        })
        .collect();
    openings.dedup();
    openings
}

/// Returns the minute a cook means by a moment of the menu.
pub(super) fn moment(moment: Moment, service: ServiceTime) -> Minute {
    let day = service.service_date();
    let at = |date: Date, time: TimeOfDay| service.at(Local { date, time });
    match moment {
        Moment::BeforeService(days, time) => at(day_after(day, -i64::from(days)), time),
        Moment::Weekday(weekday, time) => {
            let back =
                (day.weekday().num_days_from_monday() + 7 - weekday.num_days_from_monday()) % 7;
            at(day_after(day, -i64::from(back)), time)
        }
        Moment::On(date, time) => at(date, time),
    }
}

/// Returns the minutes at which the clock shows `time`, one a date.
pub(super) fn daily(time: TimeOfDay, service: ServiceTime, dates: Dates) -> Vec<Minute> {
    let minute_of_day = time.hour() * 60 + time.minute();
    let mut found: Vec<Minute> = dates
        .iter(service)
        .map(|date| service.at_minute_of_day(date, minute_of_day))
        .collect();
    found.sort_unstable();
    found.dedup();
    found
}
