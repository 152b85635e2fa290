//! What each mode is certain to use and when, and what there is to use.

use crate::schedule::problem::{Anchor, Duration, Edge, Instance, Mode, ResourceId, Time, Use};
use crate::schedule::segments::segments;

/// A stretch that a mode certainly uses, in minutes from its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Piece {
    /// Of which resource.
    pub resource: ResourceId,
    /// How much.
    pub quantity: i32,
    /// The first minute.
    pub from: Time,
    /// The first minute after.
    pub to: Time,
}

/// A stretch that ends with its activity, of a mode whose length depends on its start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tail {
    /// Of which resource.
    pub resource: ResourceId,
    /// How much.
    pub quantity: i32,
    /// How long before the end it begins; `None` where it begins with the activity.
    pub length: Option<Time>,
}

/// What a mode is certain to use.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Uses {
    /// The least it lasts.
    pub shortest: Time,
    /// Counted from its start; for one resource disjoint. Everything it uses, where its length is constant.
    pub pieces: Vec<Piece>,
    /// Counted from its end; empty where its length is constant.
    pub tails: Vec<Tail>,
}

/// Returns what a mode is certain to use wherever it starts.
///
/// A wait for a gate lasts at least a minute and `at_least`, and what follows the opening; of what it uses, only
/// what reaches from its start or up to its end is kept. That is less than it uses, so what is concluded from it
/// holds all the same.
pub fn uses(mode: &Mode) -> Uses {
    let (shortest, demands) = match mode.duration {
        Duration::Fixed(length) => (length, mode.demands.clone()),
        Duration::Until { at_least, then, .. } => {
            let from_start = mode.demands.iter().copied().filter(|demand| {
                matches!(
                    demand.when,
                    Use::Whole
                        | Use::Part {
                            anchor: Anchor::Start,
                            ..
                        }
                )
            });
            (at_least.max(1) + then, from_start.collect())
        }
    };
    let pieces = segments(&demands, 0, shortest).into_iter().map(|it| Piece {
        resource: it.resource,
        quantity: it.quantity,
        from: it.from,
        to: it.to,
    });
    let tails = match mode.duration {
        Duration::Fixed(_) => Vec::new(),
        Duration::Until { .. } => mode
            .demands
            .iter()
            .filter_map(|demand| {
                let length = match demand.when {
                    Use::Whole => None,
                    Use::Part {
                        anchor: Anchor::End,
                        from,
                        to: 0,
                    } if from < 0 => Some(-from),
                    _ => return None,
                };
                Some(Tail {
                    resource: demand.resource,
                    quantity: demand.quantity,
                    length,
                })
            })
            .collect(),
    };
    Uses {
        shortest,
        pieces: pieces.collect(),
        tails,
    }
}

/// What there is of one resource over the horizon: adjoining stretches `(from, to, amount)`, rising; an amount
/// may be below zero where what has happened took more than there was.
pub type Supply = Vec<(Time, Time, i32)>;

/// Returns what `steps` leave over the horizon of an instance once `taken` is subtracted.
pub fn supply(instance: &Instance, steps: &[(Time, i32)], taken: &[(Time, Time, i32)]) -> Supply {
    let (earliest, latest) = (instance.earliest, instance.latest);
    let mut changes: Vec<(Time, i32)> = Vec::with_capacity(steps.len() + 2 * taken.len() + 1);
    changes.push((earliest, 0));
    let mut before = 0;
    for &(from, amount) in steps {
        changes.push((from.max(earliest), amount - before));
        before = amount;
    }
    for &(from, to, quantity) in taken {
        changes.push((from.max(earliest), -quantity));
        changes.push((to.max(earliest), quantity));
    }
    changes.sort_unstable();
    let mut supply: Supply = Vec::new();
    let mut amount = 0;
    for (at, &(from, change)) in changes.iter().enumerate() {
        amount += change;
        let to = changes
            .get(at + 1)
            .map_or(latest, |&(next, _)| next.min(latest));
        if from >= to {
            continue;
        }
        match supply.last_mut() {
            Some(last) if last.2 == amount => last.1 = to,
            _ => supply.push((from, to, amount)),
        }
    }
    supply
}

/// A state resource in a state for certain.
#[derive(Clone, Copy, Debug)]
pub(super) struct InState {
    pub(super) start: Time,
    pub(super) end: Time,
    pub(super) value: i32,
}

/// Returns the minutes of a fixed activity, where they are known.
fn happened(instance: &Instance, index: usize) -> Option<(Time, Time)> {
    let activity = &instance.activities[index];
    let (start, end) = activity.fixed?;
    match (end, activity.modes.as_slice()) {
        (Some(end), _) => Some((start, end)),
        (None, [only]) => Some((start, instance.end_of(only, start)?)),
        _ => None,
    }
}

/// Returns, for each state resource, in which state fixed activities have it for certain, by start.
///
/// As in [`taken`], one that has happened in one of several ways, or whose end is not known, is left out.
pub(super) fn states_taken(instance: &Instance) -> Vec<Vec<InState>> {
    let mut states = vec![Vec::new(); instance.states.len()];
    for (index, activity) in instance.activities.iter().enumerate() {
        if let (Some((start, end)), [only]) = (happened(instance, index), activity.modes.as_slice())
        {
            for &(state, value) in &only.states {
                states[state.0].push(InState { start, end, value });
            }
        }
    }
    for of in &mut states {
        of.sort_unstable_by_key(|it: &InState| (it.start, it.end, it.value));
    }
    states
}

/// Returns, for each resource, the stretches that fixed activities and what they hold take for certain.
///
/// An activity that has happened in one of several ways, or whose end is not known, is left out.
pub fn taken(instance: &Instance) -> Vec<Vec<(Time, Time, i32)>> {
    let mut taken = vec![Vec::new(); instance.resources.len()];
    let placed = |index: usize| happened(instance, index);
    for (index, activity) in instance.activities.iter().enumerate() {
        if let (Some((start, end)), [only]) = (placed(index), activity.modes.as_slice()) {
            for segment in segments(&only.demands, start, end) {
                taken[segment.resource.0].push((segment.from, segment.to, segment.quantity));
            }
        }
    }
    for hold in &instance.holds {
        let edge = |(id, edge): (crate::schedule::ActivityId, Edge)| {
            placed(id.0).map(|(start, end)| if edge == Edge::Start { start } else { end })
        };
        let Some(from) = edge(hold.from) else {
            continue;
        };
        let to_come = &instance.activities[hold.to.0.0];
        // Whatever is still to come starts no earlier than the horizon and its release.
        let to = edge(hold.to).or_else(|| {
            let release = to_come.release.unwrap_or(instance.earliest);
            (to_come.fixed.is_none()).then_some(release.max(instance.earliest))
        });
        if let Some(to) = to.filter(|&to| from < to) {
            taken[hold.resource.0].push((from, to, hold.quantity));
        }
    }
    taken
}

/// Stretches in which less than a certain amount is to be had, for every amount that some demand asks for.
#[derive(Clone, Debug)]
pub struct Lacks(Vec<Vec<Lack>>);

/// An amount, and the stretches in which less is to be had.
type Lack = (i32, Vec<(Time, Time)>);

impl Lacks {
    /// Returns the lacks of supplies for the amounts that `wanted` lists.
    pub fn new(supplies: &[Supply], wanted: impl Iterator<Item = (ResourceId, i32)>) -> Self {
        let mut lacks: Vec<Vec<Lack>> = vec![Vec::new(); supplies.len()];
        for (resource, quantity) in wanted {
            let of = &mut lacks[resource.0];
            if let Err(place) = of.binary_search_by_key(&quantity, |&(quantity, _)| quantity) {
                let mut stretches: Vec<(Time, Time)> = Vec::new();
                for &(from, to, amount) in &supplies[resource.0] {
                    if amount < quantity {
                        match stretches.last_mut() {
                            Some(last) if last.1 == from => last.1 = to,
                            _ => stretches.push((from, to)),
                        }
                    }
                }
                of.insert(place, (quantity, stretches));
            }
        }
        Self(lacks)
    }

    fn of(&self, resource: ResourceId, quantity: i32) -> &[(Time, Time)] {
        let of = &self.0[resource.0];
        of.binary_search_by_key(&quantity, |&(quantity, _)| quantity)
            .map_or(&[], |place| &of[place].1)
    }

    /// Returns the first stretch that lacks within `[from, to)`.
    pub fn first(&self, piece: Piece, from: Time, to: Time) -> Option<(Time, Time)> {
        let lacks = self.of(piece.resource, piece.quantity);
        let at = lacks.partition_point(|&(_, until)| until <= from);
        lacks
            .get(at)
            .copied()
            .filter(|&(since, _)| since < to && from < to)
    }

    /// Returns the last stretch that lacks within `[from, to)`.
    pub fn last(&self, piece: Piece, from: Time, to: Time) -> Option<(Time, Time)> {
        let lacks = self.of(piece.resource, piece.quantity);
        let at = lacks
            .partition_point(|&(since, _)| since < to)
            .checked_sub(1)?;
        Some(lacks[at]).filter(|&(_, until)| until > from && from < to)
    }
}
