//! What activities that share a resource must give up of their latest starts.
//!
//! # Theory
//! Cut every activity into its minutes, and let each unit of a resource in each minute be served by itself, as late
//! as it likes but no later than its place in the activity allows when that starts at its latest. A schedule serves
//! every unit at its place, so it is one way to do so. Charging each unit its activity's slope divided by the
//! activity's units, the units of an activity that starts `d` minutes before its latest are charged `d` times the
//! slope, as the activity is. The cheapest way to serve the units is found by a sweep from the last minute back
//! that always serves the dearest unit waiting: units are alike but for their charge and the minute they become
//! ready, and an exchange of two that stand in the wrong order never costs more. Its charge is a lower bound on what
//! all activities on the resource together lose.
//!
//! # Several resources
//! A slope is charged once. Resources are taken in the order of what they charge alone; an activity is spent on a
//! resource only if some of its units were ready in a minute at which units had to wait. All others could be taken
//! out of the sweep without changing any wait, so the charge holds without them, and they are free for the next.
//!
//! # Practice
//! The sweep jumps from one change to the next (a unit flow that begins or ends, a supply that changes, a queue that
//! runs empty), so its work follows the number of activities, not of minutes. Queues that are not served grow
//! linearly and are brought up to date when touched.

use std::collections::BTreeSet;

use super::Alone;
use crate::schedule::problem::{ActivityId, Time};
use crate::schedule::reach::{Reach, Supply, Uses};

/// One activity on the resource.
#[derive(Clone, Debug)]
struct Job {
    activity: usize,
    /// Its slope.
    slope: i64,
    /// How many units it has in all.
    units: i64,
    /// When its units become ready, going back in time: `(from, to, how many a minute)`.
    flows: Vec<(Time, Time, i64)>,
}

/// The state of a job during the sweep.
#[derive(Clone, Copy, Debug, Default)]
struct Queue {
    waiting: i64,
    flow: i64,
    since: Time,
    waited: i128,
}

/// What one sweep found.
#[derive(Clone, Debug, Default)]
struct Swept {
    charge: i128,
    /// The activities without which the charge might be less.
    spent: Vec<usize>,
}

/// Returns what the sharing of resources adds to the cost of all activities alone.
pub(super) fn increment(reach: &Reach<'_>, alone: &[Alone]) -> i128 {
    let on: Vec<Vec<Job>> = jobs(reach, alone);
    let supplies = reach.supplies();
    let mut swept: Vec<(usize, Swept)> = on
        .iter()
        .enumerate()
        .map(|(resource, jobs)| (resource, sweep(jobs, &supplies[resource])))
        .filter(|(_, swept)| swept.charge > 0)
        .collect();
    swept.sort_by_key(|(resource, swept)| (std::cmp::Reverse(swept.charge), *resource));
    let mut spent = vec![false; alone.len()];
    let mut total = 0;
    for (resource, mut swept) in swept {
        if swept.spent.iter().any(|&activity| spent[activity]) {
            let left: Vec<Job> = on[resource]
                .iter()
                .filter(|job| !spent[job.activity])
                .cloned()
                .collect();
            swept = sweep(&left, &supplies[resource]);
        }
        total += swept.charge;
        if swept.charge > 0 {
            for activity in swept.spent {
                spent[activity] = true;
            }
        }
    }
    total
}

/// Returns the jobs of each resource, those with the dearest units first.
fn jobs(reach: &Reach<'_>, alone: &[Alone]) -> Vec<Vec<Job>> {
    let mut on: Vec<Vec<Job>> = vec![Vec::new(); reach.supplies().len()];
    for (activity, alone) in alone.iter().enumerate() {
        if alone.slope <= 0 {
            continue;
        }
        let possible: Vec<&Uses> = reach
            .uses(ActivityId(activity))
            .iter()
            .zip(reach.modes(ActivityId(activity)))
            .filter(|(_, (first, last))| first <= last)
            .map(|(uses, _)| uses)
            .collect();
        for (resource, from, to, quantity) in common(&possible) {
            let flow = (alone.latest + from, alone.latest + to, i64::from(quantity));
            let units = i64::from(to - from) * i64::from(quantity);
            match on[resource].last_mut() {
                Some(job) if job.activity == activity => {
                    job.flows.push(flow);
                    job.units += units;
                }
                _ => on[resource].push(Job {
                    activity,
                    slope: alone.slope,
                    units,
                    flows: vec![flow],
                }),
            }
        }
    }
    for jobs in &mut on {
        jobs.sort_by(|one, other| {
            let dear = |job: &Job, than: &Job| i128::from(job.slope) * i128::from(than.units);
            dear(other, one)
                .cmp(&dear(one, other))
                .then(one.activity.cmp(&other.activity))
        });
    }
    on
}

/// Returns what all of these modes use: `(resource, from, to, quantity)`, counted from the start.
fn common(modes: &[&Uses]) -> Vec<(usize, Time, Time, i32)> {
    let laid = |uses: &Uses| -> Vec<(usize, Time, Time, i32)> {
        let pieces = uses.pieces.iter();
        pieces
            .map(|it| (it.resource.0, it.from, it.to, it.quantity))
            .collect()
    };
    let Some((first, others)) = modes.split_first() else {
        return Vec::new();
    };
    others.iter().fold(laid(first), |common, uses| {
        let mut both = Vec::new();
        for &(resource, from, to, quantity) in &common {
            for piece in uses.pieces.iter().filter(|it| it.resource.0 == resource) {
                let (from, to) = (from.max(piece.from), to.min(piece.to));
                if from < to {
                    both.push((resource, from, to, quantity.min(piece.quantity)));
                }
            }
        }
        both
    })
}

/// A change of what becomes ready a minute, met on the way back.
type Change = (Time, usize, i64);

fn sweep(jobs: &[Job], supply: &Supply) -> Swept {
    let mut changes: Vec<Change> = Vec::with_capacity(4 * jobs.len());
    for (job, it) in jobs.iter().enumerate() {
        for &(from, to, quantity) in &it.flows {
            changes.push((to, job, quantity));
            changes.push((from, job, -quantity));
        }
    }
    changes.sort_unstable_by_key(|&(at, job, change)| (std::cmp::Reverse(at), job, change));
    let Some(&(latest, ..)) = changes.first() else {
        return Swept::default();
    };
    let mut queues = vec![Queue::default(); jobs.len()];
    let mut active: BTreeSet<usize> = BTreeSet::new();
    // Stretches in which units wait, going back in time.
    let mut crowded: Vec<(Time, Time)> = Vec::new();
    let mut changes = changes.into_iter().peekable();
    let mut stretches = supply.iter().rev().peekable();
    let mut at = latest;
    loop {
        while let Some(&(_, job, change)) = changes.peek().filter(|&&(when, ..)| when >= at) {
            touch(&mut queues[job], at);
            queues[job].flow += change;
            active.insert(job);
            changes.next();
        }
        while stretches.peek().is_some_and(|&&(from, ..)| from >= at) {
            stretches.next();
        }
        let Some(&&(since, until, amount)) = stretches.peek() else {
            break;
        };
        // Beyond the last supply there is nothing; the horizon ends there.
        let (amount, since) = if until < at {
            (0, until)
        } else {
            (amount, since)
        };
        let next = changes
            .peek()
            .map_or(Time::MIN, |&(when, ..)| when)
            .max(since);
        if active.is_empty() {
            if changes.peek().is_none() {
                break;
            }
            at = next;
            continue;
        }
        serve(&mut queues, &mut active, &mut crowded, (next, at), amount);
        at = next;
    }
    charge(jobs, &mut queues, &crowded, at)
}

/// Serves the dearest units waiting from `until` back to `since`, so many a minute.
fn serve(
    queues: &mut [Queue],
    active: &mut BTreeSet<usize>,
    crowded: &mut Vec<(Time, Time)>,
    (since, until): (Time, Time),
    amount: i32,
) {
    let amount = i64::from(amount.max(0));
    let mut at = until;
    let mut served: Vec<(usize, i64)> = Vec::new();
    let mut idle: Vec<usize> = Vec::new();
    while at > since && !active.is_empty() {
        let mut left = amount;
        let mut minutes = i64::from(at - since);
        let mut waits = false;
        served.clear();
        idle.clear();
        for &job in active.iter() {
            let queue = &mut queues[job];
            if left == 0 {
                // The first that goes empty-handed says that units wait; the rest wait with it.
                waits |= queue.waiting > 0 || queue.flow > 0;
                if waits {
                    break;
                }
                continue;
            }
            touch(queue, at);
            let ready = queue.waiting + queue.flow;
            if ready == 0 {
                idle.push(job);
                continue;
            }
            let given = ready.min(left);
            waits |= queue.waiting > 0 || given < ready;
            if given < ready || given == left {
                // As long as the queue holds out, every minute is like this one.
                if given > queue.flow {
                    minutes = minutes.min((ready - given) / (given - queue.flow) + 1);
                }
            } else if queue.waiting > 0 {
                minutes = 1;
            }
            left -= given;
            served.push((job, given));
        }
        for &(job, given) in &served {
            let queue = &mut queues[job];
            let slope = queue.flow - given;
            grow(queue, slope, minutes);
        }
        for job in &idle {
            active.remove(job);
        }
        let back = at - minutes as Time;
        for &(job, _) in &served {
            queues[job].since = back;
        }
        if waits {
            match crowded.last_mut() {
                Some(last) if last.0 == at => last.0 = back,
                _ => crowded.push((back, at)),
            }
        }
        at = back;
    }
}

/// Lets a queue grow for so many minutes by so many units a minute; each unit that waits over the end of a minute
/// stands a minute earlier than it likes.
fn grow(queue: &mut Queue, slope: i64, minutes: i64) {
    let (waiting, slope, count) = (
        i128::from(queue.waiting),
        i128::from(slope),
        i128::from(minutes),
    );
    queue.waited += count * waiting + slope * count * (count + 1) / 2;
    queue.waiting = i64::try_from(waiting + slope * count).unwrap_or(i64::MAX);
}

/// Brings a queue that has not been served up to date.
fn touch(queue: &mut Queue, at: Time) {
    let minutes = i64::from(queue.since) - i64::from(at);
    if (queue.flow != 0 || queue.waiting != 0) && minutes > 0 {
        grow(queue, queue.flow, minutes);
    }
    queue.since = at;
}

fn charge(jobs: &[Job], queues: &mut [Queue], crowded: &[(Time, Time)], at: Time) -> Swept {
    let mut swept = Swept::default();
    for (job, queue) in jobs.iter().zip(queues) {
        touch(queue, at);
        swept.charge += i128::from(job.slope) * queue.waited / i128::from(job.units.max(1));
        let met = |&(from, to, _): &(Time, Time, i64)| {
            let place = crowded.partition_point(|&(back, _)| back >= to);
            crowded.get(place).is_some_and(|&(_, until)| until > from)
        };
        if job.flows.iter().any(met) {
            swept.spent.push(job.activity);
        }
    }
    swept
}
