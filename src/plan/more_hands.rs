//! Shifts as they lie in time, and as a kitchen's card would say them: what more hands are asked for.
//!
//! # Left out
//! Whether more hands help, which is planned ([`ways_out`](super::ways_out())).

use super::from_menu::{Asked, Bound, Bridge};
use crate::menu::{Cook, Days, Hours, Kitchen, Span};
use crate::time::{Local, Minute, Minutes, ServiceTime, Timelike, Window, day_after};

/// Returns the shifts that are not over before now, rising.
pub(super) fn shifts(asked: Asked<'_>) -> Vec<Window> {
    let bridge = Bridge::new(asked, Bound::Now(asked.now));
    let last = Minute(bridge.instance.latest);
    let mut shifts: Vec<Window> = bridge
        .shifts
        .iter()
        .flatten()
        .map(|shift| shift.intersect(Window::new(asked.now, last)))
        .filter(|shift| !shift.is_empty())
        .collect();
    if shifts.is_empty() {
        // A kitchen without cooks has hours.
        let open = bridge.open.iter();
        shifts.extend(open.filter(|open| asked.now < open.end && open.start < last));
    }
    shifts = shifts
        .into_iter()
        .flat_map(|shift| by_day(shift, asked.service))
        .collect();
    shifts.sort_unstable_by_key(|shift| (shift.start, shift.end));
    shifts.dedup();
    // A shift that lies within a longer one adds nothing to try.
    let longest = shifts.clone();
    shifts.retain(|shift| {
        !longest
            .iter()
            .any(|other| other != shift && other.start <= shift.start && shift.end <= other.end)
    });
    shifts
}

/// Returns a stretch cut at the midnights inside it: a kitchen that never shuts has days all the same.
pub fn by_day(stretch: Window, service: ServiceTime) -> Vec<Window> {
    let mut days = Vec::new();
    let mut from = stretch.start;
    while from < stretch.end {
        let next = service.at_minute_of_day(day_after(service.local(from).date, 1), 0);
        let to = if stretch.length() > Minutes::days(1) && from < next {
            next.min(stretch.end)
        } else {
            stretch.end
        };
        days.push(Window::new(from, to));
        from = to;
    }
    days
}

/// Returns one more pair of hands on these shifts, who can do whatever anybody in the kitchen can, under a name that
/// nobody there has.
pub fn more_hands(kitchen: &Kitchen, shifts: &[Window], service: ServiceTime) -> Cook {
    let skills = kitchen.cooks.iter().flat_map(|it| &it.skills);
    let mut skills: Vec<String> = skills.cloned().collect();
    skills.sort_unstable();
    skills.dedup();
    let name = (1..=kitchen.cooks.len() + 1)
        .map(|place| match place {
            1 => "one more pair of hands".to_owned(),
            more => format!("one more pair of hands {more}"),
        })
        .find(|name| kitchen.cooks.iter().all(|cook| cook.name != *name));
    Cook {
        name: name.unwrap_or_default(),
        skills,
        shifts: shifts
            .iter()
            .map(|&shift| hours_of(shift, service))
            .collect(),
        overtime: Vec::new(),
        away: Vec::new(),
    }
}

/// Returns a stretch of at most two days as the kitchen's card would say it.
pub fn hours_of(shift: Window, service: ServiceTime) -> Hours {
    let (from, to) = (service.local(shift.start), service.local(shift.end));
    let minute = |local: Local| local.time.hour() * 60 + local.time.minute();
    let days = (to.date - from.date).num_days();
    let until = i64::from(minute(to)) + days * 1440;
    Hours {
        days: Days::Dates(vec![from.date]),
        spans: vec![Span {
            from: minute(from),
            to: u32::try_from(until).unwrap_or(1440),
        }],
    }
}
