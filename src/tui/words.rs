//! Sentences of the sheet.

use std::cmp::Reverse;

use super::sheet::{Offer, Sheet, Writing};
use super::theme::Tone;
use super::view::day_and_clock;
use super::widgets::text::{clean, columns, cut};
use crate::book::{Entry, EntryId, Happening};
use crate::plan::{DishPlan, Late, Lateness, Plan, PlanOutcome, StepKey};
use crate::prep::{AS_IT_STANDS, Progress, entry_words, in_time_but, slip};
use crate::time::{Minutes, Timestamp};

/// Returns the name of a step as the sheet lists it, clean; its key where it does not.
pub(super) fn step_name(sheet: &Sheet, key: &StepKey) -> String {
    let row = sheet.view.find(key).map(|row| &sheet.view.rows[row]);
    let name = row.map(|row| row.name.clone());
    clean(&name.unwrap_or_else(|| key.to_string())).into_owned()
}

/// Returns what an entry says, clean; its number where the sheet does not know it.
pub(super) fn entry_says(sheet: &Sheet, id: EntryId) -> String {
    let entry = sheet.entries.iter().find(|entry| entry.id == id);
    let words = entry.map(|entry| entry_words(&entry.what, sheet.service.zone()));
    clean(&words.unwrap_or_else(|| format!("entry {}", id.0))).into_owned()
}

/// Returns what to say once a tick is in the book: `started: Poach the pears, at 14:05; u takes it back`.
pub(super) fn ticked(sheet: &Sheet, what: &Happening, key: &StepKey, at: Timestamp) -> String {
    let name = step_name(sheet, key);
    let zone = sheet.service.zone();
    let (then, today) = (at.local(zone), sheet.now.local(zone).date);
    let when = if then.date == today {
        then.clock()
    } else {
        then.weekday_clock()
    };
    if let Some(slip) = slip(sheet.times(), &sheet.prep, what, key, at) {
        let (done, how) = match what {
            Happening::Started { .. } => ("started", "S"),
            _ => ("done", "D"),
        };
        return format!("{done}, {slip}: a slip? u takes it back, {how} says when: {name}");
    }
    match what {
        Happening::Started { .. } => format!("started: {name}, at {when}; u takes it back"),
        Happening::Finished { .. } => format!("done: {name}, at {when}; u takes it back"),
        Happening::Skipped { reason, .. } => {
            let stands = if is_followed(sheet, key) {
                "what follows it stands, C leaves a dish out; "
            } else {
                ""
            };
            format!(
                "skipped: {stands}u takes it back: {name} ({})",
                clean(reason)
            )
        }
        // What was said of a step last need not be a tick: notes and readings are taken back as well.
        Happening::Undone { entry } => {
            format!(
                "taken back: {}; R brings it back",
                entry_says(sheet, *entry)
            )
        }
        other => clean(&entry_words(other, zone)).into_owned(),
    }
}

/// Returns whether a step waits that follows one.
fn is_followed(sheet: &Sheet, key: &StepKey) -> bool {
    let plan = sheet.times();
    let step = plan.and_then(|plan| Some((plan, plan.find(key)?.1)));
    step.is_some_and(|(plan, step)| {
        let mut follow = step.followed_by.iter().map(|&next| &plan.steps[next].key);
        follow.any(|next| sheet.prep.progress(next) == Progress::Waiting)
    })
}

/// Returns what to say where another terminal had said the same of a step before this one: both are in the book, and
/// the first stands.
pub(super) fn second(sheet: &Sheet, writing: &Writing) -> String {
    let Some(key) = &writing.key else {
        return "another terminal was first; your entry is in the book beside it".to_owned();
    };
    let clock = |moment: Timestamp| moment.local(sheet.service.zone()).weekday_clock();
    let stands = match sheet.prep.progress(key) {
        Progress::Waiting => "it waits".to_owned(),
        Progress::Running { since } => format!("it was started at {}", clock(since)),
        Progress::Finished { at, .. } => format!("it was done at {}", clock(at)),
        Progress::Skipped { at, reason } => {
            format!("it was skipped at {} ({})", clock(at), clean(&reason))
        }
    };
    let name = step_name(sheet, key);
    format!(
        "another terminal was first with {name}: {stands}, and that stands; yours is in the book beside it"
    )
}

/// Returns what to say of what other terminals have written; nothing where no step is touched.
pub(super) fn told(sheet: &Sheet, entries: &[Entry]) -> Option<String> {
    let named = |entry: &Entry| {
        let (step, what) = match &entry.what {
            Happening::Started { step } => (step, "started"),
            Happening::Finished { step } => (step, "done"),
            Happening::Skipped { step, .. } => (step, "skipped"),
            Happening::Undone { .. } => return Some("an entry is taken back".to_owned()),
            Happening::Announced { .. } => return Some("a plan is announced".to_owned()),
            Happening::MenuSeen { .. }
            | Happening::Moved { .. }
            | Happening::Heeded { .. }
            | Happening::Unknown { .. } => return None,
            other => {
                let said = entry_words(other, sheet.service.zone());
                return Some(clean(&said).into_owned());
            }
        };
        let name = match step.parse::<StepKey>() {
            Ok(key) => step_name(sheet, &key),
            Err(_) => clean(step).into_owned(),
        };
        Some(format!("{what}: {name}"))
    };
    let said: Vec<String> = entries.iter().filter_map(named).collect();
    let last = said.last()?;
    Some(match said.len() {
        1 => format!("from another terminal: {last}"),
        many => format!("from other terminals, {many} entries, the last {last}"),
    })
}

/// Returns what to say of a better plan in so many columns: what it gains is cut before what can be done.
pub(super) fn offer(offer: &Offer, room: usize) -> String {
    let tail = match offer.moves.len() {
        1 => "; 1 moves; b shows, B takes it".to_owned(),
        many => format!("; {many} move; b shows, B takes it"),
    };
    let gains = format!("better plan ready: {}", offer.better.gains.join(", "));
    format!("{}{tail}", cut(&gains, room.saturating_sub(columns(&tail))))
}

/// Returns the dishes of a plan that are late, the worst first.
fn late_of(plan: &Plan) -> Vec<(&DishPlan, &Lateness)> {
    let mut late: Vec<_> = plan
        .dishes
        .iter()
        .filter_map(|dish| Some((dish, dish.late.as_ref()?)))
        .collect();
    late.sort_by_key(|(_, late)| Reverse(late.by.unwrap_or(Minutes(i32::MAX))));
    late
}

/// Returns in one line of so many columns how many dishes will be at the pass in time, and each that will not by name
/// and by how much, the worst first; and how grave that is.
pub(super) fn at_the_pass(sheet: &Sheet, room: usize) -> (String, Tone) {
    let plan = match &sheet.outcome {
        None => return ("at the pass: counting back…".to_owned(), Tone::Quiet),
        Some(PlanOutcome::Planned(plan)) => Some(plan),
        Some(other) => other.forecast(),
    };
    let Some(plan) = plan else {
        let said = "at the pass: not known; no plan holds";
        return (said.to_owned(), Tone::Alarm);
    };
    let (all, late) = (plan.dishes.len(), late_of(plan));
    if late.is_empty() {
        let said = match all {
            1 => "at the pass: the dish is on time".to_owned(),
            2 => "at the pass: both dishes on time".to_owned(),
            all => format!("at the pass: all {all} dishes on time"),
        };
        return match provided(plan) {
            Some(provided) => (cut(&format!("{said}, {provided}"), room), Tone::Caution),
            None => (with_nearest(said, (sheet, plan), room), Tone::Plain),
        };
    }
    let mut said = format!("at the pass: {} of {all} on time", all - late.len());
    for (place, (dish, lateness)) in late.iter().enumerate() {
        let how = match lateness.by {
            Some(by) => format!(" {by} late"),
            None => " left out".to_owned(),
        };
        let rest = late.len() - place - 1;
        let more = |count: usize| format!(" and {count} more");
        let after = if rest == 0 { String::new() } else { more(rest) };
        let lead = if place == 0 { "; " } else { ", " };
        let spare =
            room.saturating_sub(columns(&said) + columns(lead) + columns(&how) + columns(&after));
        let name = clean(&dish.name);
        if spare < columns(&name).min(LEAST_NAME) {
            said.push_str(&more(rest + 1));
            break;
        }
        said.push_str(lead);
        said.push_str(&cut(&name, spare));
        said.push_str(&how);
    }
    (said, Tone::Alarm)
}

/// Returns what is said of dishes that are all on time, with the one that has the least time in hand of those of which
/// anything is still to come.
fn with_nearest(said: String, (sheet, plan): (&Sheet, &Plan), room: usize) -> String {
    let is_to_come = |dish: &&DishPlan| {
        let mut keys = dish.steps.iter().map(|&step| &plan.steps[step].key);
        keys.any(|key| {
            matches!(
                sheet.prep.progress(key),
                Progress::Waiting | Progress::Running { .. }
            )
        })
    };
    let dishes = plan.dishes.iter().filter(is_to_come);
    let Some(nearest) = dishes.min_by_key(|dish| dish.in_hand()) else {
        return said;
    };
    let by = match nearest.in_hand() {
        Minutes(..=0) => ", to the minute".to_owned(),
        in_hand => format!(", {in_hand} in hand"),
    };
    if plan.dishes.len() == 1 {
        return format!("{said}{by}");
    }
    let lead = "; nearest ";
    let spare = room.saturating_sub(columns(&said) + columns(lead) + columns(&by));
    if spare < LEAST_NAME {
        return said;
    }
    format!("{said}{lead}{}{by}", cut(&clean(&nearest.name), spare))
}

/// Returns on what it hangs that every dish is on time: that somebody stays on, or that what comes later than its card
/// allows may still be served; none where it hangs on nothing.
fn provided(plan: &Plan) -> Option<String> {
    let mut cooks = plan.stays();
    cooks.sort_by_key(|(_, stays)| stays.first().map(|it| it.start));
    let stays = match cooks.as_slice() {
        [] => None,
        [(cook, stays)] => {
            let until = plan.service.local(stays.first()?.end).weekday_clock();
            Some(format!("if {} stays until {until}", clean(cook)))
        }
        [(one, _), (other, _)] => Some(format!("if {} and {} stay on", clean(one), clean(other))),
        [(one, _), rest @ ..] => Some(format!("if {} and {} more stay on", clean(one), rest.len())),
    };
    let late = plan.steps.iter().filter(|step| step.needed_by.is_some());
    let late = match late.count() {
        0 => None,
        1 => Some("1 step after its time".to_owned()),
        many => Some(format!("{many} steps after their time")),
    };
    let breaks = plan
        .breaks
        .then(|| "if what is past its limit may be served".to_owned());
    let said: Vec<String> = breaks.into_iter().chain(stays).chain(late).collect();
    (!said.is_empty()).then(|| said.join("; "))
}

/// The columns from which a name that is cut can still be told from others.
pub(super) const LEAST_NAME: usize = 12;

/// Returns which dishes of the forecast are late, the worst first: by how much, and because of what.
pub(super) fn late_dishes(sheet: &Sheet) -> Vec<String> {
    let Some(plan) = sheet.forecast() else {
        return Vec::new();
    };
    late_of(plan)
        .into_iter()
        .filter_map(|(dish, _)| dish.late_words())
        .map(|said| clean(&said).into_owned())
        .collect()
}

/// Returns what stands first on the sheet where no plan holds: the dish that is worst off, and how many more are late.
pub(super) fn banner(sheet: &Sheet, late: &[Late], because: &[String]) -> String {
    let dishes = late_dishes(sheet);
    match dishes.as_slice() {
        [] => too_late(sheet, late, because),
        [only] => only.clone(),
        [worst, _] => format!("{worst}; 1 more dish late"),
        [worst, rest @ ..] => format!("{worst}; {} more dishes late", rest.len()),
    }
}

/// Returns what to say of steps that have moved.
pub(super) fn moved(count: usize) -> String {
    match count {
        1 => "1 step has moved; m once seen".to_owned(),
        many => format!("{many} steps have moved; m once seen"),
    }
}

/// Returns the sentence that stands over times which are no plan: who must stay where nothing else is late, the first of
/// the reasons given, or what should have started where none is given.
pub(super) fn too_late(sheet: &Sheet, late: &[Late], because: &[String]) -> String {
    let behind = sheet.outcome.as_ref().and_then(PlanOutcome::only_behind);
    let how = sheet.outcome.as_ref().and_then(in_time_but);
    let how = how.unwrap_or(AS_IT_STANDS);
    let overtime = behind.and_then(|plan| plan.overtime_words().into_iter().next());
    let why = overtime.as_ref().or(because.first());
    let why = why.map(|why| clean(why).into_owned()).or_else(|| {
        let first = late.first()?;
        let name = &sheet.times()?.steps.get(first.step)?.name;
        Some(format!(
            "\"{}\" is needed by {}",
            clean(name),
            day_and_clock(sheet.service, first.latest)
        ))
    });
    match why {
        Some(why) => format!("{how}: {why}"),
        None => how.to_owned(),
    }
}
