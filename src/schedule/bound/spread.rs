//! What overtime and unevenness no order of the work can avoid.
//!
//! # Theory
//! Both let the work of an activity be spread freely over the minutes it can reach. Work that then still finds no
//! regular minute is overtime: each unit is wanted within an interval of minutes, and serving the one that must be
//! served soonest leaves as few as possible over (Glover, *Maximum matching in a convex bipartite graph*, 1967; from
//! memory). The least sum of squared loads is that of the evenest spread: the stretch of buckets with most work to a
//! bucket that can go nowhere else gets exactly that much in each, and so on with what is left (Yao, Demers and
//! Shenker, *A scheduling model for reduced CPU energy*, 1995, where load is the speed of a processor; from memory).

use std::cmp::Reverse;
use std::collections::BinaryHeap;

use crate::schedule::problem::{ActivityId, ResourceId, Time};
use crate::schedule::reach::{Reach, supply, taken};

/// Work on a resource that some activity, or some hold, is certain to ask for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Work {
    /// It can lie no earlier.
    pub from: Time,
    /// It is over by then.
    pub to: Time,
    /// Units times minutes.
    pub units: i64,
    /// The most units at once.
    pub at_once: i32,
}

/// Returns the work that what is still to come asks of a resource.
pub fn works(reach: &Reach<'_>, resource: ResourceId) -> Vec<Work> {
    let instance = reach.instance();
    let mut works = Vec::new();
    for (index, activity) in instance.activities.iter().enumerate() {
        let id = ActivityId(index);
        if activity.fixed.is_some() {
            continue;
        }
        let own: Vec<Vec<Work>> = reach
            .uses(id)
            .iter()
            .zip(reach.modes(id))
            .filter(|(_, (first, last))| first <= last)
            .map(|(uses, &(first, last))| {
                let pieces = uses.pieces.iter().filter(|it| it.resource == resource);
                pieces
                    .map(|it| Work {
                        from: first + it.from,
                        to: last + it.to,
                        units: i64::from(it.to - it.from) * i64::from(it.quantity),
                        at_once: it.quantity,
                    })
                    .collect()
            })
            .collect();
        match own.as_slice() {
            [only] => works.extend(only),
            several => {
                // Of several modes, the least work in the widest window.
                let units = several
                    .iter()
                    .map(|own| own.iter().map(|it| it.units).sum::<i64>())
                    .min();
                let all = several.iter().flatten();
                let widest = all.copied().reduce(|one, other| Work {
                    from: one.from.min(other.from),
                    to: one.to.max(other.to),
                    units: 0,
                    at_once: one.at_once.max(other.at_once),
                });
                if let (Some(units @ 1..), Some(widest)) = (units, widest) {
                    works.push(Work { units, ..widest });
                }
            }
        }
    }
    for hold in instance.holds.iter().filter(|it| it.resource == resource) {
        // What has happened holds what it holds: that is in the supply already.
        let over = instance.activities[hold.from.0.0].fixed.is_some();
        let least = reach.between(hold.from, hold.to).0;
        if least > 0 && !over {
            works.push(Work {
                from: reach.edge(hold.from).0,
                to: reach.edge(hold.to).1,
                units: least * i64::from(hold.quantity),
                at_once: hold.quantity,
            });
        }
    }
    works
}

/// Returns how much of the work is left over when every minute serves what must be served soonest, as much of it
/// as `supply` has.
pub fn unserved(works: &[Work], supply: &[(Time, Time, i32)]) -> i64 {
    let mut order: Vec<&Work> = works.iter().collect();
    order.sort_unstable_by_key(|work| (work.from, work.to));
    let mut order = order.into_iter().peekable();
    let mut open: BinaryHeap<Reverse<(Time, i64)>> = BinaryHeap::new();
    let mut over = 0;
    for &(from, to, amount) in supply {
        let amount = i64::from(amount.max(0));
        let mut at = from;
        while at < to {
            while let Some(work) = order.next_if(|work| work.from <= at) {
                open.push(Reverse((work.to, work.units)));
            }
            let next = order.peek().map_or(to, |work| work.from.min(to));
            let Some(Reverse((by, units))) = open.pop() else {
                at = next;
                continue;
            };
            if by <= at || amount == 0 {
                if by <= at {
                    over += units;
                } else {
                    open.push(Reverse((by, units)));
                    at = next.min(by);
                }
                continue;
            }
            let until = next.min(by);
            let minutes = i64::from(until - at);
            let room = minutes * amount;
            if units > room {
                open.push(Reverse((by, units - room)));
                at = until;
            } else {
                // Whole minutes first; what the last one has left goes to the next in line.
                let whole = units / amount;
                at += whole as Time;
                let mut left = units % amount;
                if left > 0 {
                    left = amount - left;
                    while left > 0 {
                        let Some(Reverse((by, units))) = open.pop() else {
                            break;
                        };
                        if by <= at {
                            over += units;
                        } else if units > left {
                            open.push(Reverse((by, units - left)));
                            left = 0;
                        } else {
                            left -= units;
                        }
                    }
                    at += 1;
                }
            }
        }
    }
    over += open
        .into_iter()
        .map(|Reverse((_, units))| units)
        .sum::<i64>();
    over + order.map(|work| work.units).sum::<i64>()
}

/// Returns the least overtime there can be, weighted.
pub(super) fn overtime(reach: &Reach<'_>) -> i128 {
    let instance = reach.instance();
    if instance.weights.overtime == 0 {
        return 0;
    }
    let taken = taken(instance);
    let mut total = 0;
    for (resource, taken) in taken.iter().enumerate() {
        let Some(regular) = &instance.resources[resource].regular else {
            continue;
        };
        let left = supply(instance, regular, taken);
        // What has happened and took more than the regular amount is overtime already.
        let past: i64 = left
            .iter()
            .map(|&(from, to, amount)| i64::from(to - from) * i64::from((-amount).max(0)))
            .sum();
        let to_come = unserved(&works(reach, ResourceId(resource)), &left);
        total += i128::from(past + to_come);
    }
    total * i128::from(instance.weights.overtime)
}

/// Returns the least unevenness there can be, weighted.
pub(super) fn uneven(reach: &Reach<'_>) -> i128 {
    let instance = reach.instance();
    if instance.weights.uneven == 0 {
        return 0;
    }
    let taken = taken(instance);
    let mut total = 0;
    for level in &instance.levels {
        let buckets = &level.buckets;
        if buckets.is_empty() {
            continue;
        }
        let index = level.resource;
        let mut loads: Vec<(usize, usize, i64)> = Vec::new();
        for work in works(reach, index) {
            let (from, to) = (
                work.from.max(instance.earliest),
                work.to.min(instance.latest),
            );
            let first = buckets.partition_point(|&(_, until)| until <= from);
            let last = buckets.partition_point(|&(since, _)| since < to);
            let inside: i64 = buckets[first.min(last)..last]
                .iter()
                .map(|&(since, until)| i64::from(until.min(to) - since.max(from)))
                .sum();
            // What fits into no bucket may lie between them.
            let outside = (i64::from(to - from) - inside) * i64::from(work.at_once);
            let units = work.units - outside.max(0);
            if first < last && units > 0 {
                loads.push((first, last - 1, units));
            }
        }
        for (bucket, &(from, to)) in buckets.iter().enumerate() {
            let (from, to) = (from.max(instance.earliest), to.min(instance.latest));
            let past: i64 = taken[index.0]
                .iter()
                .map(|&(since, until, quantity)| {
                    i64::from((until.min(to) - since.max(from)).max(0)) * i64::from(quantity)
                })
                .sum();
            if past > 0 {
                loads.push((bucket, bucket, past));
            }
        }
        total += i128::from(level.weight) * evenest(buckets.len(), loads);
    }
    total * i128::from(instance.weights.uneven)
}

/// Returns the least sum of squares, rounded down, of loads over so many buckets, each load spread freely from its
/// first to its last.
fn evenest(buckets: usize, mut loads: Vec<(usize, usize, i64)>) -> i128 {
    let mut left: Vec<usize> = (0..buckets).collect();
    let mut total = 0;
    while !loads.is_empty() && !left.is_empty() {
        // The stretch of buckets with most work to a bucket among that which can go nowhere else.
        let count = left.len();
        let mut ending: Vec<Vec<(usize, i64)>> = vec![Vec::new(); count];
        for &(first, last, units) in &loads {
            ending[last].push((first, units));
        }
        let mut most: Option<(i64, usize, usize)> = None;
        let mut starting = vec![0_i64; count];
        for (last, loads) in ending.iter().enumerate() {
            for &(first, units) in loads {
                starting[first] += units;
            }
            let mut sum = 0;
            for first in (0..=last).rev() {
                sum += starting[first];
                let wide = |first: usize, last: usize| i128::from((last + 1 - first) as i64);
                let denser = most.is_none_or(|(units, from, to)| {
                    i128::from(sum) * wide(from, to) > i128::from(units) * wide(first, last)
                });
                if denser {
                    most = Some((sum, first, last));
                }
            }
        }
        let Some((units, first, last)) = most.filter(|&(units, ..)| units > 0) else {
            break;
        };
        let width = last + 1 - first;
        total += i128::from(units) * i128::from(units) / i128::from(width as i64);
        left.drain(first..=last);
        // Loads that reached into the stretch and beyond it have what lies beyond.
        loads.retain(|&(from, to, _)| !(first <= from && to <= last));
        for (from, to, _) in &mut loads {
            *from = if *from > last {
                *from - width
            } else {
                (*from).min(first)
            };
            *to = if *to > last {
                *to - width
            } else if *to >= first {
                first - 1
            } else {
                *to
            };
        }
    }
    total
}
