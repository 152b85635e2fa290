//! Stretches of time in which more must be done than there is room for.
//!
//! # Theory
//! Wherever an activity stands in its window, at least so much of its work falls into a given stretch; where the
//! sum over activities exceeds what there is, no schedule exists (energetic reasoning: Erschler, Lopez and Thuriot
//! 1991; Baptiste, Le Pape and Nuijten, *Constraint-Based Scheduling*, 2001; from memory). Here the work may change
//! over an activity and the supply over time.
//!
//! # Practice
//! Whether any stretch can be overloaded by work that lies wholly inside it is decided by one sweep
//! ([`bound::unserved`](crate::schedule::bound::unserved)). Only where it is are the stretches between an earliest
//! start and a latest end compared; besides those, only the stretches in which supply does not change to or from
//! nothing (the shift of one resource, the free hours of another) are. Of the stretches the one with the largest excess is told, and then
//! with as few activities as keep it overloaded: those that matter least are let go first.

use super::Conflict;
use crate::schedule::bound::{Work, unserved, works};
use crate::schedule::problem::{ActivityId, Hold, ResourceId, Time};
use crate::schedule::reach::{Reach, Supply, Uses};

/// Something that asks for work of a resource.
enum Asks<'a> {
    /// An activity, in each of its modes with the mode's first and last start.
    Activity(ActivityId, Vec<(&'a Uses, Time, Time)>),
    /// A hold, kept for at least so many minutes.
    Hold(&'a Hold, Time),
}

/// Returns the stretch with the largest excess of work, if one is overloaded.
pub fn overload(reach: &Reach<'_>) -> Option<Conflict> {
    let resources = 0..reach.supplies().len();
    let worst = resources
        .filter_map(|index| on(reach, ResourceId(index)))
        .max_by_key(|found| (found.needed - found.available, std::cmp::Reverse(found.to)));
    worst.map(Found::told)
}

struct Found {
    resource: ResourceId,
    from: Time,
    to: Time,
    available: i64,
    needed: i64,
    activities: Vec<ActivityId>,
}

impl Found {
    fn told(self) -> Conflict {
        Conflict::Overload {
            resource: self.resource,
            from: self.from,
            to: self.to,
            available: self.available,
            needed: self.needed,
            activities: self.activities,
        }
    }
}

fn on(reach: &Reach<'_>, resource: ResourceId) -> Option<Found> {
    let supply = &reach.supplies()[resource.0];
    let works = works(reach, resource);
    if works.is_empty() {
        return None;
    }
    let asks = asks(reach, resource);
    let mut stretches = supplied(supply);
    if unserved(&works, supply) > 0 {
        stretches.extend(fullest(&works, supply));
    }
    let excess = |&(from, to): &(Time, Time)| {
        let needed: i64 = asks
            .iter()
            .map(|it| least(it, resource, reach, from, to))
            .sum();
        needed - available(supply, from, to)
    };
    let (most, (from, to)) = stretches
        .iter()
        .map(|stretch| (excess(stretch), *stretch))
        .max_by_key(|&(excess, (from, to))| (excess, from, std::cmp::Reverse(to)))?;
    if most <= 0 {
        return None;
    }
    let (from, to) = narrowed(supply, (from, to), |stretch| excess(&stretch) > 0);
    let available = available(supply, from, to);
    let mut users: Vec<(i64, usize)> = asks
        .iter()
        .enumerate()
        .map(|(index, it)| (least(it, resource, reach, from, to), index))
        .collect();
    users.sort_unstable();
    let mut needed: i64 = users.iter().map(|&(units, _)| units).sum();
    users.retain(|&(units, _)| {
        let spare = needed - units > available;
        needed -= if spare { units } else { 0 };
        !spare
    });
    let mut activities: Vec<ActivityId> = users
        .iter()
        .flat_map(|&(_, index)| match &asks[index] {
            Asks::Activity(id, _) => vec![*id],
            Asks::Hold(hold, _) => vec![hold.from.0, hold.to.0],
        })
        .collect();
    activities.sort_unstable();
    activities.dedup();
    Some(Found {
        resource,
        from,
        to,
        available,
        needed,
        activities,
    })
}

fn asks<'a>(reach: &'a Reach<'_>, resource: ResourceId) -> Vec<Asks<'a>> {
    let instance = reach.instance();
    let mut asks = Vec::new();
    for (index, activity) in instance.activities.iter().enumerate() {
        if activity.fixed.is_some() {
            continue;
        }
        let id = ActivityId(index);
        let modes: Vec<(&Uses, Time, Time)> = reach
            .uses(id)
            .iter()
            .zip(reach.modes(id))
            .filter(|(_, (first, last))| first <= last)
            .map(|(uses, &(first, last))| (uses, first, last))
            .collect();
        let every = modes.iter().all(|(uses, ..)| {
            let pieces = uses.pieces.iter();
            pieces.map(|it| it.resource).any(|it| it == resource)
        });
        if every && !modes.is_empty() {
            asks.push(Asks::Activity(id, modes));
        }
    }
    for hold in instance.holds.iter().filter(|it| it.resource == resource) {
        // What has happened holds what it holds: that is not in the supply any more.
        if instance.activities[hold.from.0.0].fixed.is_none() {
            let least = reach.between(hold.from, hold.to).0.max(0);
            asks.push(Asks::Hold(hold, Time::try_from(least).unwrap_or(0)));
        }
    }
    asks
}

/// Returns the least work that falls into a stretch wherever the asker stands.
fn least(asks: &Asks<'_>, resource: ResourceId, reach: &Reach<'_>, from: Time, to: Time) -> i64 {
    let overlap = |since: Time, until: Time| i64::from((until.min(to) - since.max(from)).max(0));
    match asks {
        Asks::Activity(_, modes) => {
            let of_mode = |&(uses, first, last): &(&Uses, Time, Time)| {
                let pieces = || uses.pieces.iter().filter(|it| it.resource == resource);
                let at = |start: Time| -> i64 {
                    pieces()
                        .map(|it| i64::from(it.quantity) * overlap(start + it.from, start + it.to))
                        .sum()
                };
                // Linear in the start but where an edge of a piece meets an edge of the stretch.
                let bends = pieces()
                    .flat_map(|it| [from - it.from, from - it.to, to - it.from, to - it.to]);
                bends
                    .filter(|start| (first..=last).contains(start))
                    .chain([first, last])
                    .map(at)
                    .min()
                    .unwrap_or(0)
            };
            modes.iter().map(of_mode).min().unwrap_or(0)
        }
        Asks::Hold(hold, least) => {
            let (taken, given) = (reach.edge(hold.from), reach.edge(hold.to));
            // Kept no longer than it must be: as late as lets it be given back at the earliest, or as late as
            // can be.
            let at = |since: Time| overlap(since, (since + least).max(given.0));
            let last = taken.1.min(given.1 - least).max(taken.0);
            let first = (given.0 - least).clamp(taken.0, last);
            i64::from(hold.quantity) * at(first).min(at(last))
        }
    }
}

fn available(supply: &Supply, from: Time, to: Time) -> i64 {
    supply
        .iter()
        .map(|&(since, until, amount)| {
            i64::from(amount.max(0)) * i64::from((until.min(to) - since.max(from)).max(0))
        })
        .sum()
}

/// Returns the stretches over which there is something all along.
fn supplied(supply: &Supply) -> Vec<(Time, Time)> {
    let mut stretches: Vec<(Time, Time)> = Vec::new();
    for &(from, to, _) in supply.iter().filter(|&&(.., amount)| amount > 0) {
        match stretches.last_mut() {
            Some(last) if last.1 == from => last.1 = to,
            _ => stretches.push((from, to)),
        }
    }
    stretches
}

/// Returns the stretch between an earliest start and a latest end that is most overloaded by the work that lies
/// wholly inside it.
fn fullest(works: &[Work], supply: &Supply) -> Option<(Time, Time)> {
    let mut by_start: Vec<&Work> = works.iter().collect();
    by_start.sort_unstable_by_key(|work| (std::cmp::Reverse(work.from), work.to));
    let mut ends: Vec<Time> = works.iter().map(|work| work.to).collect();
    ends.sort_unstable();
    ends.dedup();
    // What there is before each earliest start, going back, and before each end: differences are what is between.
    let before = Before::new(supply);
    let starts: Vec<i64> = by_start.iter().map(|work| before.at(work.from)).collect();
    let mut worst: Option<(i64, Time, Time)> = None;
    for to in ends {
        let all = before.at(to);
        let mut inside = 0;
        for (work, &starts) in by_start.iter().zip(&starts) {
            if work.to <= to && work.from < to {
                inside += work.units;
                let excess = inside - (all - starts);
                if excess > 0 && worst.is_none_or(|(most, ..)| excess > most) {
                    worst = Some((excess, work.from, to));
                }
            }
        }
    }
    worst.map(|(_, from, to)| (from, to))
}

/// What there has been of a resource by a moment.
struct Before(Vec<(Time, i64, i64)>);

impl Before {
    fn new(supply: &Supply) -> Self {
        let mut sum = 0;
        let sums = supply.iter().map(|&(from, to, amount)| {
            let amount = i64::from(amount.max(0));
            let before = sum;
            sum += amount * i64::from(to - from);
            (from, before, amount)
        });
        Self(sums.collect())
    }

    fn at(&self, moment: Time) -> i64 {
        let after = self.0.partition_point(|&(from, ..)| from <= moment);
        after.checked_sub(1).map_or(0, |place| {
            let (from, before, amount) = self.0[place];
            before + amount * i64::from(moment - from)
        })
    }
}

/// Returns a stretch without the minutes at its ends in which there is nothing anyway, where that still holds.
fn narrowed(
    supply: &Supply,
    (from, to): (Time, Time),
    holds: impl Fn((Time, Time)) -> bool,
) -> (Time, Time) {
    let inside = supplied(supply)
        .into_iter()
        .filter(|&(since, until)| since < to && from < until);
    let hull = inside.fold(None, |hull: Option<(Time, Time)>, (since, until)| {
        let (first, _) = hull.unwrap_or((since.max(from), 0));
        Some((first, until.min(to)))
    });
    match hull {
        Some(hull) if hull != (from, to) && holds(hull) => hull,
        _ => (from, to),
    }
}
