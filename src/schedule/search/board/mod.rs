//! The board: what stands where, what is free beside it, and what it costs.
//!
//! A hold (a resource kept from one activity to another) is known in full only when both stand. While only its
//! later end stands, a wary board lets it take the whole unbroken free stretch before it, and the activity at its
//! other end may not reach further back than that; placing that activity gives the rest back. So no hold is ever
//! caught open, but others find less room than there is. A bold board lets it take only what it is sure to need;
//! then the activity at its other end may find the way to it blocked. While only its earlier end stands, a hold
//! takes what it is sure to need on either board: until the other end can come at the earliest.
//!
//! The cost follows every placement and removal, so that asking what a move costs is making it and looking.

mod fit;

use std::cell::Cell;
use std::sync::Arc;

use super::facts::Facts;
use crate::schedule::network::Network;
use crate::schedule::problem::{ActivityId, Edge, Instance, ResourceId, StateId, Time};
use crate::schedule::profile::{Profile, Scratch};
use crate::schedule::solution::Placement;

/// Placements and the resources they leave.
#[derive(Clone, Debug)]
pub(super) struct Board<'a> {
    pub(super) instance: &'a Instance,
    pub(super) facts: Arc<Facts<'a>>,
    pub(super) network: Network<'a>,
    pub(super) placed: Vec<Option<Placement>>,
    /// What stands costs so much; the whole cost once everything does.
    pub(super) cost: i64,
    ledger: Ledger,
    /// Who has each state resource in which state, by start.
    in_state: Vec<Vec<InState>>,
    /// What each hold takes at present.
    taken: Vec<Option<(Time, Time)>>,
    /// Whether holds of which only the later end stands take all they may need.
    pub(super) wary: bool,
    /// How early each activity can start, resources not counted.
    earliest: Arc<Vec<Time>>,
    /// What was last found taken by others since this was last cleared; what there never is does not count.
    pub(super) lacked: Option<Lack>,
    /// Room for what one activity uses of a resource.
    parts: Vec<(Time, Time, i32)>,
    /// How many stretches have been looked at or laid down.
    looks: Cell<u64>,
    /// At how many nothing is looked for any more.
    most_looks: u64,
}

/// What is left of everything.
///
/// Apart from the board, so that the board can lay down what its facts say without a count of who holds them: two
/// islands on two threads share those, and would wait for each other's count with every placement.
#[derive(Clone, Debug)]
struct Ledger {
    profiles: Vec<Profile>,
    /// What is left of each regular amount.
    regular: Vec<Option<Profile>>,
    /// The load of each bucket of each level.
    loads: Vec<Vec<i64>>,
    /// Room for a profile with what one activity uses.
    scratch: Scratch,
}

impl Ledger {
    fn new(instance: &Instance) -> Self {
        let regular = |resource: &crate::schedule::Resource| {
            Some(Profile::of_steps(resource.regular.as_deref()?))
        };
        Self {
            profiles: instance.resources.iter().map(Profile::new).collect(),
            regular: instance.resources.iter().map(regular).collect(),
            loads: instance
                .levels
                .iter()
                .map(|level| vec![0; level.buckets.len()])
                .collect(),
            scratch: Scratch::default(),
        }
    }

    /// Uses so much more (less, if negative) of a resource in each of these stretches, which are sorted and do not
    /// overlap; they are cut to the time that is planned. Returns by how much the cost grows.
    fn take_all(
        &mut self,
        facts: &Facts<'_>,
        resource: ResourceId,
        parts: &mut Vec<(Time, Time, i32)>,
    ) -> i64 {
        let instance = facts.instance;
        self.profiles[resource.0].use_all(parts, &mut self.scratch);
        let (regular, levels) = (&mut self.regular[resource.0], &facts.levels_of[resource.0]);
        if regular.is_none() && levels.is_empty() {
            return 0;
        }
        let mut grown = 0;
        let weights = &instance.weights;
        parts.retain_mut(|(from, to, _)| {
            *from = instance.earliest.max(*from);
            *to = instance.latest.min(*to);
            from < to
        });
        if let Some(regular) = regular {
            for &(from, to, quantity) in &*parts {
                grown += weights.overtime * regular.growth_beyond(from, to, quantity);
            }
            regular.use_all(parts, &mut self.scratch);
        }
        for &index in levels {
            let level = &instance.levels[index as usize];
            let loads = &mut self.loads[index as usize];
            for &(since, until, quantity) in &*parts {
                let first = level.buckets.partition_point(|&(_, end)| end <= since);
                for (bucket, &(from, to)) in level.buckets.iter().enumerate().skip(first) {
                    if from >= until {
                        break;
                    }
                    let minutes = i64::from(to.min(until) - from.max(since));
                    let (before, after) =
                        (loads[bucket], loads[bucket] + minutes * i64::from(quantity));
                    loads[bucket] = after;
                    grown += weights.uneven
                        * i64::from(level.weight)
                        * (after * after - before * before);
                }
            }
        }
        grown
    }
}

#[derive(Clone, Copy, Debug)]
struct InState {
    start: Time,
    end: Time,
    value: i32,
    activity: ActivityId,
}

/// What was missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Missing {
    Resource(ResourceId),
    State(StateId, i32),
}

/// What stood in the way of a placement, and at which minute.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lack {
    pub(super) what: Missing,
    pub(super) at: Time,
}

/// The latest placement found, or the last thing that was lacking at a later one.
pub(super) type Fit = Result<Placement, Option<Lack>>;

impl<'a> Board<'a> {
    /// Returns a board on which only what has happened stands; `earliest` is how early each activity can start,
    /// resources not counted.
    pub(super) fn new(
        facts: &Arc<Facts<'a>>,
        network: &Network<'a>,
        earliest: &Arc<Vec<Time>>,
    ) -> Self {
        let instance = facts.instance;
        let mut board = Self {
            instance,
            facts: Arc::clone(facts),
            network: network.clone(),
            placed: vec![None; instance.activities.len()],
            cost: 0,
            ledger: Ledger::new(instance),
            in_state: vec![Vec::new(); instance.states.len()],
            taken: vec![None; instance.holds.len()],
            earliest: Arc::clone(earliest),
            lacked: None,
            wary: true,
            parts: Vec::new(),
            looks: Cell::new(0),
            most_looks: u64::MAX,
        };
        for (index, activity) in instance.activities.iter().enumerate() {
            if let Some((start, _)) = activity.fixed {
                let mode = network.chosen(ActivityId(index));
                board.place(ActivityId(index), mode, start);
            }
        }
        board
    }

    /// Lets so many more stretches be looked at; beyond them nothing is found to fit.
    ///
    /// Placements alone do not say what a search costs: one step that is looked at each minute for days, in two ways
    /// and tied to another, takes a thousand times what a common one does.
    pub(super) fn allow(&mut self, looks: u64) {
        self.most_looks = self.looks.get().saturating_add(looks);
    }

    /// Returns how many stretches may still be looked at.
    pub(super) fn looks_left(&self) -> u64 {
        self.most_looks.saturating_sub(self.looks.get())
    }

    /// Counts what was looked at elsewhere.
    pub(super) fn looked(&self, looks: u64) {
        self.looks.set(self.looks.get().saturating_add(looks));
    }

    fn edge(&self, (activity, edge): (ActivityId, Edge)) -> Option<Time> {
        self.placed[activity.0].map(|placed| match edge {
            Edge::Start => placed.start,
            Edge::End => placed.end,
        })
    }

    /// Puts an activity at a start without asking whether it fits.
    pub(super) fn place(&mut self, activity: ActivityId, mode: usize, start: Time) -> Placement {
        self.network.choose(activity, Some(mode));
        let placed = Placement {
            mode,
            start,
            end: self.network.end_of(activity, start),
        };
        self.count(activity, placed, 1);
        self.placed[activity.0] = Some(placed);
        self.cost += self.own_cost(activity, placed) + self.wish_cost(activity);
        self.reckon_holds(activity);
        placed
    }

    /// Takes an activity off again, and leaves its mode open.
    pub(super) fn remove(&mut self, activity: ActivityId) {
        if let Some(placed) = self.placed[activity.0] {
            self.cost -= self.own_cost(activity, placed) + self.wish_cost(activity);
            self.placed[activity.0] = None;
            self.count(activity, placed, -1);
            self.reckon_holds(activity);
            self.network.choose(activity, None);
        }
    }

    fn count(&mut self, activity: ActivityId, placed: Placement, sign: i32) {
        let Self {
            facts,
            ledger,
            parts,
            ..
        } = self;
        parts.clear();
        let (mut of, mut laid, mut grown) = (None, 0, 0);
        facts.each_segment(activity, placed, |segment| {
            if let Some(resource) = of.replace(segment.resource)
                && resource != segment.resource
            {
                grown += ledger.take_all(facts, resource, parts);
                parts.clear();
            }
            parts.push((segment.from, segment.to, sign * segment.quantity));
            laid += 1;
            true
        });
        if let Some(resource) = of {
            grown += ledger.take_all(facts, resource, parts);
        }
        self.cost += grown;
        self.laid(laid);
        let mode = &self.instance.activities[activity.0].modes[placed.mode];
        for &(state, value) in &mode.states {
            let list = &mut self.in_state[state.0];
            let at = list.partition_point(|it| it.start < placed.start);
            if sign > 0 {
                let (start, end) = (placed.start, placed.end);
                list.insert(
                    at,
                    InState {
                        start,
                        end,
                        value,
                        activity,
                    },
                );
            } else if let Some(past) = list[at..].iter().position(|it| it.activity == activity) {
                list.remove(at + past);
            }
        }
    }

    /// Counts so many stretches laid down: that splits and joins, which is dearer than looking.
    fn laid(&self, stretches: u64) {
        self.looked(4 * stretches);
    }

    /// Uses so much more (less, if negative) of a resource.
    fn take(&mut self, resource: ResourceId, from: Time, to: Time, quantity: i32) {
        self.laid(1);
        self.parts.clear();
        self.parts.push((from, to, quantity));
        self.cost += self.ledger.take_all(&self.facts, resource, &mut self.parts);
    }

    /// Returns what an activity costs at least that starts no later than then: its earliness, and its cheapest mode.
    pub(super) fn least_cost(&self, activity: ActivityId, start: Time) -> i64 {
        let (item, weights) = (
            &self.instance.activities[activity.0],
            &self.instance.weights,
        );
        let early = i64::from(item.weight) * i64::from(self.instance.latest - start);
        weights.early * early + weights.mode * self.facts.cheapest[activity.0]
    }

    /// Returns by how much the cost would fall at most if an activity that stands went; none where that is not said
    /// without trying it.
    pub(super) fn costs_here(&self, activity: ActivityId) -> Option<i64> {
        let placed = self.placed[activity.0]?;
        let weights = &self.instance.weights;
        let levelled = weights.uneven != 0 && self.facts.is_levelled[activity.0];
        if levelled || self.facts.keeps_counted[activity.0] {
            return None;
        }
        let mut overtime = 0;
        self.facts.each_segment(activity, placed, |segment| {
            if let Some(regular) = &self.ledger.regular[segment.resource.0] {
                let from = segment.from.max(self.instance.earliest);
                let to = segment.to.min(self.instance.latest);
                if from < to {
                    overtime -= regular.growth_beyond(from, to, -segment.quantity);
                }
            }
            true
        });
        let own = self.own_cost(activity, placed) + self.wish_cost(activity);
        Some(own + weights.overtime * overtime)
    }

    /// Returns what an activity costs by itself where it stands.
    fn own_cost(&self, activity: ActivityId, placed: Placement) -> i64 {
        let (item, weights) = (
            &self.instance.activities[activity.0],
            &self.instance.weights,
        );
        if item.fixed.is_some() {
            return 0;
        }
        let minutes = i64::from;
        let late = item.due.map_or(0, |due| minutes((placed.end - due).max(0)));
        let early = minutes(item.weight) * minutes(self.instance.latest - placed.start);
        let moved = match item.announced {
            Some(start) if start != placed.start => {
                weights.moved + weights.moved_by * minutes((placed.start - start).abs())
            }
            _ => 0,
        };
        weights.late * late
            + weights.early * early
            + weights.mode * minutes(item.modes[placed.mode].cost)
            + moved
    }

    /// Returns whether an activity that stands is late or breaks a wish.
    pub(super) fn weighs(&self, activity: ActivityId) -> bool {
        let due = self.instance.activities[activity.0].due;
        let ends = self.placed[activity.0].map(|placed| placed.end);
        let late = due.zip(ends).is_some_and(|(due, end)| end > due);
        late || self.wish_cost(activity) > 0
    }

    /// Returns what the wishes between an activity and what stands cost.
    fn wish_cost(&self, activity: ActivityId) -> i64 {
        let mut sum = 0;
        for &index in &self.facts.wishes_of[activity.0] {
            let wish = &self.instance.wishes[index as usize];
            if let (Some(from), Some(to)) = (self.edge(wish.from), self.edge(wish.to)) {
                let between = to - from;
                let short = wish.least.map_or(0, |least| (least - between).max(0));
                let past = wish.most.map_or(0, |most| (between - most).max(0));
                sum += i64::from(wish.weight) * i64::from(short + past);
            }
        }
        self.instance.weights.wish * sum
    }

    fn reckon_holds(&mut self, activity: ActivityId) {
        for at in 0..self.facts.holds_of[activity.0].len() {
            let index = self.facts.holds_of[activity.0][at] as usize;
            let hold = self.instance.holds[index];
            if let Some((from, to)) = self.taken[index].take() {
                self.take(hold.resource, from, to, -hold.quantity);
            }
            let profile = &self.ledger.profiles[hold.resource.0];
            self.taken[index] = match (self.edge(hold.from), self.edge(hold.to)) {
                (Some(from), Some(to)) => Some((from, to)),
                (None, Some(to)) if !self.wary => Some((to, to)),
                (None, Some(to)) => Some((
                    profile.free_since(to, hold.quantity, self.instance.earliest),
                    to,
                )),
                (Some(from), None) => {
                    let (other, edge) = hold.to;
                    let start = self.earliest[other.0];
                    let end = match edge {
                        Edge::Start => start,
                        Edge::End => self.network.end_of(other, start),
                    };
                    Some((from, end.clamp(from, self.instance.latest.max(from))))
                }
                (None, None) => None,
            };
            if let Some((from, to)) = self.taken[index] {
                self.take(hold.resource, from, to, hold.quantity);
            }
        }
    }

    /// Lets every open hold take only what it is sure to need, from now on and of what stands.
    pub(super) fn be_bold(&mut self) {
        self.wary = false;
        for hold in 0..self.taken.len() {
            if self.is_open(hold) {
                self.reckon_holds(self.instance.holds[hold].to.0);
            }
        }
    }

    /// Returns, for each open hold that ends at `activity`, the activity at its other end and the earliest
    /// moment it may begin at.
    pub(super) fn open_before(
        &self,
        activity: ActivityId,
    ) -> impl Iterator<Item = ((ActivityId, Edge), Time)> {
        self.facts.holds_of[activity.0]
            .iter()
            .filter_map(move |&index| {
                let hold = self.instance.holds[index as usize];
                let open = hold.to.0 == activity && self.edge(hold.from).is_none();
                let (since, _) = self.taken[index as usize].filter(|_| open)?;
                Some((hold.from, since))
            })
    }

    /// Lets an open hold take what it is sure to need, when the activity at its other end starts no later than
    /// `latest`.
    pub(super) fn expect(&mut self, hold: usize, latest: Time) {
        let it = self.instance.holds[hold];
        let Some((from, to)) = self.taken[hold].filter(|_| self.is_open(hold)) else {
            return;
        };
        let since = match it.from.1 {
            Edge::Start => latest,
            Edge::End => self.network.end_of(it.from.0, latest),
        };
        if since < from {
            self.take(it.resource, since, from, it.quantity);
            self.taken[hold] = Some((since, to));
        }
    }

    /// Returns whether the later end of a hold stands and its earlier does not.
    pub(super) fn is_open(&self, hold: usize) -> bool {
        let hold = &self.instance.holds[hold];
        self.placed[hold.to.0.0].is_some() && self.placed[hold.from.0.0].is_none()
    }

    /// Returns every placement, once all stand.
    pub(super) fn placements(&self) -> Vec<Placement> {
        let nowhere = Placement {
            mode: 0,
            start: 0,
            end: 0,
        };
        self.placed
            .iter()
            .map(|placed| placed.unwrap_or(nowhere))
            .collect()
    }
}
