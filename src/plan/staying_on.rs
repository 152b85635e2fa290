//! Who stays on after a shift, and for how long.
//!
//! Plans count back, so an evening's work ends with the shift to the minute, and the first step that starts a minute
//! late leaves no room for the last. No kitchen lets a dish go for that: somebody stays. So on a forecast whoever works
//! may stay ([`overrun`]), at what overtime costs ([`weights`](super::weights)), and the plan says who and until when.
//! As a way out it is a decision, and then hours like others.
//!
//! # Left out
//! Beginning earlier than the shift: a forecast is made when things have gone late. Asking who has gone home.

use super::from_menu::{Bridge, shifts_of};
use super::hours::{self, Dates, between, union, without};
use super::more_hands::hours_of;
use super::run_sheet::{CookSpan, PlannedStep};
use crate::menu::{Kitchen, Menu};
use crate::time::{Minute, Minutes, ServiceTime, Window, day_after};

/// How long cooks stay on after their shifts on a forecast.
pub(super) const STAY: Minutes = Minutes::hours(1);

/// How long after its end a shift, or the hours on a card, are overrun at the most, however long anybody is still there.
pub(super) const FURTHEST: Minutes = Minutes::hours(3);

/// How long after the end of a shift it can be decided that somebody stays on.
const LONGEST: Minutes = Minutes::hours(6);

/// Returns until when hours that end at a moment are overrun on a forecast made now: by [`STAY`], and as long from now on
/// where they are being overrun already. Who looks at the sheet then is there.
pub(super) fn overrun(end: Minute, now: Minute) -> Minute {
    if now > end + FURTHEST {
        return end + STAY;
    }
    (end.max(now) + STAY).min(end + FURTHEST)
}

/// Returns the overtime of each cook with what each shift is [`overrun`] by, but for when they are away. While others are
/// on shift that is an hour and no more: who has gone home long since is not called back.
pub(super) fn staying_on(
    shifts: &[Vec<Window>],
    overtime: &[Vec<Window>],
    away: &[Vec<Window>],
    now: Minute,
) -> Vec<Vec<Window>> {
    let is_manned = shifts.iter().flatten().any(|shift| shift.contains(now));
    let until = |end: Minute| {
        if is_manned {
            end + STAY
        } else {
            overrun(end, now)
        }
    };
    let cooks = shifts.iter().zip(overtime).zip(away);
    cooks
        .map(|((shifts, overtime), away)| {
            let stays = shifts.iter();
            let stays = stays.map(|it| Window::new(it.end, until(it.end)));
            let more = union(stays.chain(overtime.iter().copied()).collect());
            let more: Vec<Window> = more.iter().flat_map(|it| between(shifts, *it)).collect();
            without(&more, away)
        })
        .collect()
}

/// Returns when each cook works beyond their shifts from now on, with hands or because a step wants somebody in the
/// building; only those who do.
pub(super) fn beyond_shifts(
    bridge: &Bridge<'_>,
    hands: &[Vec<Window>],
    steps: &[PlannedStep],
    now: Minute,
) -> Vec<CookSpan> {
    let mut beyond = hands.to_vec();
    let about = steps.iter().filter(|step| step.someone_about);
    for step in about.filter(|step| step.happened.is_none() && !step.is_presumed) {
        let there: Vec<Window> = bridge
            .regular
            .iter()
            .chain(beyond.iter().flatten())
            .copied()
            .collect();
        for alone in between(&union(there), step.window) {
            let mut from = alone.start;
            while let Some((cook, until)) = who_stays(bridge, &beyond, from) {
                let until = until.min(alone.end);
                beyond[cook].push(Window::new(from, until));
                from = until;
                if from >= alone.end {
                    break;
                }
            }
        }
    }
    let cooks = bridge.menu.kitchen.cooks.iter().zip(beyond);
    cooks
        .map(|(cook, windows)| {
            let mut windows = union(windows);
            windows.retain(|window| now < window.end);
            CookSpan {
                cook: cook.name.clone(),
                windows,
            }
        })
        .filter(|cook| !cook.windows.is_empty())
        .collect()
}

/// Returns who stays from a moment on, and until when they can: who has stayed until then, else who has just worked, else
/// whoever can the longest.
fn who_stays(bridge: &Bridge<'_>, beyond: &[Vec<Window>], from: Minute) -> Option<(usize, Minute)> {
    let cooks = bridge.overtime.iter().enumerate();
    let can = cooks.filter_map(|(cook, windows)| {
        let window = windows.iter().find(|it| it.contains(from))?;
        Some((cook, window))
    });
    let (cook, window) = can.min_by_key(|(cook, window)| {
        let stayed = beyond[*cook].iter().any(|it| it.end == from);
        (!stayed, window.start != from, -window.end.0)
    })?;
    Some((cook, window.end))
}

/// Returns the ends of shifts within a stretch of time, rising.
pub fn shift_ends(kitchen: &Kitchen, service: ServiceTime, within: Window) -> Vec<Minute> {
    let shifts = shifts_of(kitchen, service, around(service, within)).into_iter();
    let ends = shifts.flatten().map(|shift| shift.end);
    let mut ends: Vec<Minute> = ends
        .filter(|&end| within.start <= end && end < within.end)
        .collect();
    ends.sort_unstable();
    ends.dedup();
    ends
}

/// Returns the end of a shift from which somebody stays on who is there until a moment: the last in the six hours
/// before it.
pub fn stays_from(kitchen: &Kitchen, service: ServiceTime, until: Minute) -> Option<Minute> {
    let before = Window::new(until - LONGEST, until);
    shift_ends(kitchen, service, before).pop()
}

/// Returns the kitchen in which whoever works until a moment can be asked to stay until another, and that is open as
/// long; none where no shift ends there.
pub fn with_staying_on(menu: &Menu, service: ServiceTime, stay: Window) -> Option<Kitchen> {
    let mut kitchen = menu.kitchen.clone();
    let dates = around(service, stay);
    let shifts = shifts_of(&menu.kitchen, service, dates);
    let open = hours::open(&kitchen, service, dates);
    let is_open = kitchen.open.is_empty() || between(&open, stay).is_empty();
    let mut stays = false;
    for (cook, shifts) in kitchen.cooks.iter_mut().zip(shifts) {
        let at_end = shifts.iter().any(|shift| shift.end == stay.start);
        stays |= at_end;
        if cook.shifts.is_empty() && !is_open {
            // Who works whenever it is open works as long as it was; what is beyond is asked of them.
            cook.shifts.clone_from(&menu.kitchen.open);
        }
        if at_end && !cook.shifts.is_empty() {
            let asked = hours::windows(&cook.overtime, service, dates);
            let there = union(shifts.into_iter().chain(asked).collect());
            let more = between(&there, stay).into_iter();
            cook.overtime
                .extend(more.map(|more| hours_of(more, service)));
        }
    }
    if stays && !is_open {
        let more = between(&open, stay).into_iter();
        kitchen
            .open
            .extend(more.map(|more| hours_of(more, service)));
    }
    stays.then_some(kitchen)
}

/// Returns the dates whose hours can reach into a stretch of time.
fn around(service: ServiceTime, stretch: Window) -> Dates {
    Dates {
        first: day_after(service.local(stretch.start).date, -2),
        last: day_after(service.local(stretch.end).date, 1),
    }
}
