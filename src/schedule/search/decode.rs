//! One order of activities, decoded into a schedule.

use super::board::Board;
use crate::schedule::conflict::Conflict;
use crate::schedule::network::{Empty, Network, Windows};
use crate::schedule::problem::{ActivityId, Edge, Instance, ResourceId, Time};

/// The keys that orders are made from.
#[derive(Debug)]
pub(super) struct Keys {
    bases: [Vec<i64>; 3],
    urged: Vec<i64>,
    successors: Vec<Vec<u32>>,
    step: i64,
    noise: i64,
}

/// One order: the keys, and whether what is kept between two activities is to be given back first.
#[derive(Debug)]
pub(super) struct Order {
    keys: Vec<i64>,
    close_first: bool,
}

/// Why an order found no schedule.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) activity: ActivityId,
    pub(super) conflict: Conflict,
}

impl Keys {
    pub(super) fn new(instance: &Instance, network: &Network<'_>, windows: &Windows) -> Self {
        let earliest: Vec<i64> = windows
            .earliest
            .iter()
            .map(|&start| i64::from(start))
            .collect();
        let ends: Vec<i64> = (0..instance.activities.len())
            .map(|index| i64::from(network.end_of(ActivityId(index), windows.latest[index])))
            .collect();
        let spread = ends.iter().max().unwrap_or(&0) - earliest.iter().min().unwrap_or(&0);
        let between = earliest
            .iter()
            .zip(&ends)
            .map(|(start, end)| (start + end) / 2)
            .collect();
        Self {
            urged: vec![0; ends.len()],
            successors: network.successors(),
            // Largest earliest start first is the latest-finish rule read backward, the best simple rule
            // there is; it also puts what has a narrow window before what can still go anywhere.
            bases: [earliest, between, ends],
            step: spread / 8 + 1,
            noise: spread / 40 + 2,
        }
    }

    /// Moves an activity that found no place toward the front of every order to come, and with it everything
    /// that must stand before it can be placed.
    pub(super) fn urge(&mut self, activity: ActivityId) {
        let mut open = vec![activity.0];
        let mut reached = vec![false; self.urged.len()];
        while let Some(index) = open.pop() {
            if !std::mem::replace(&mut reached[index], true) {
                self.urged[index] += self.step;
                open.extend(self.successors[index].iter().map(|&index| index as usize));
            }
        }
    }

    /// Returns one order; of the activities that can be placed, the one with the largest key is.
    pub(super) fn order(&self, order: u32) -> Order {
        let base = &self.bases[order as usize % self.bases.len()];
        let amplitude = self.noise * i64::from(order / 3);
        let keys = base
            .iter()
            .enumerate()
            .map(|(index, key)| {
                let noise = if amplitude == 0 {
                    0
                } else {
                    let drawn = mix(u64::from(order) << 32 | index as u64);
                    (drawn % (2 * amplitude as u64 + 1)) as i64 - amplitude
                };
                key + noise + self.urged[index]
            })
            .collect();
        Order {
            keys,
            close_first: order % 4 < 3,
        }
    }
}

/// Returns a well-mixed number for each number (the finaliser of `SplitMix64`, Steele, Lea and Flood 2014).
fn mix(number: u64) -> u64 {
    let mut mixed = number.wrapping_add(0x9E37_79B9_7F4A_7C15);
    mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    mixed ^ (mixed >> 31)
}

struct Run<'a, 'b> {
    board: Board<'a>,
    network: &'a Network<'a>,
    windows: Windows,
    first: &'b Windows,
    /// Latest starts that taking back has left.
    cap: Vec<Time>,
    /// What was placed, in order, with the log's place before it.
    stack: Vec<(ActivityId, usize)>,
    /// How many successors of each activity do not stand yet.
    waiting: Vec<u32>,
    predecessors: Vec<Vec<u32>>,
    /// For each hold, the activities from the one that takes to the one that gives back.
    between: Vec<Vec<u32>>,
    /// When each activity was placed, counted in placements.
    placed_at: Vec<u32>,
    placements: u32,
}

/// Returns the board that placing activities by `keys` leads to.
pub(super) fn decode<'a>(
    instance: &'a Instance,
    network: &'a Network<'a>,
    first: &Windows,
    order: &Order,
    take_backs: u32,
) -> Result<Board<'a>, Failure> {
    let successors = network.successors();
    let count = instance.activities.len();
    let mut predecessors = vec![Vec::new(); count];
    for (index, after) in successors.iter().enumerate() {
        for &next in after {
            predecessors[next as usize].push(index as u32);
        }
    }
    let mut run = Run {
        board: Board::new(instance, network),
        network,
        windows: first.clone(),
        first,
        cap: vec![Time::MAX; count],
        stack: Vec::with_capacity(count),
        waiting: successors.iter().map(|after| after.len() as u32).collect(),
        between: between(instance, &successors, &predecessors),
        predecessors,
        placed_at: vec![0; count],
        placements: 0,
    };
    for index in 0..count {
        if instance.activities[index].fixed.is_some() {
            run.release(ActivityId(index));
            run.bound_by_holds(ActivityId(index))
                .map_err(|empty| run.no_place(empty.activity, None))?;
        }
    }
    let mut taken_back = 0;
    'all: while let Some(activity) = run.next(order) {
        let Err(mut blamed) = run.try_place(activity) else {
            continue;
        };
        // What is missing may only be waiting to be given back: close what keeps it, then try again.
        while let (None, Some(lack)) = (blamed.culprit, blamed.lack) {
            let Some(inside) = run.closing(order, Some(lack.resource)) else {
                break;
            };
            if let Err(other) = run.try_place(inside) {
                blamed = other;
                break;
            }
            if inside == activity {
                continue 'all;
            }
            match run.try_place(activity) {
                Ok(()) => continue 'all,
                Err(again) => blamed = again,
            }
        }
        taken_back += 1;
        let culprit = blamed
            .culprit
            .or_else(|| run.make_room(blamed.activity, blamed.lack?));
        let Some((culprit, earlier)) = culprit else {
            return Err(run.no_place(blamed.activity, blamed.lack));
        };
        if taken_back > take_backs {
            return Err(run.no_place(blamed.activity, blamed.lack));
        }
        let Some(placed) = run.board.placed[culprit.0] else {
            return Err(run.no_place(blamed.activity, blamed.lack));
        };
        if !run.take_back(culprit) {
            return Err(run.no_place(blamed.activity, blamed.lack));
        }
        run.cap[culprit.0] = run.cap[culprit.0].min(placed.start - earlier.max(1));
    }
    Ok(run.board)
}

/// Returns, for each hold, the activities that come after the one that takes it (itself included) and before
/// the one that gives it back.
fn between(instance: &Instance, after: &[Vec<u32>], before: &[Vec<u32>]) -> Vec<Vec<u32>> {
    let reach = |from: usize, next: &[Vec<u32>]| {
        let mut reached = vec![false; next.len()];
        let mut open = vec![from];
        while let Some(index) = open.pop() {
            if !std::mem::replace(&mut reached[index], true) {
                open.extend(next[index].iter().map(|&index| index as usize));
            }
        }
        reached
    };
    instance
        .holds
        .iter()
        .map(|hold| {
            let (down, up) = (reach(hold.from.0.0, after), reach(hold.to.0.0, before));
            (0..after.len() as u32)
                .filter(|&index| down[index as usize] && up[index as usize])
                .filter(|&index| index as usize != hold.to.0.0)
                .collect()
        })
        .collect()
}

/// A failed placement: who failed, and which placed activity must go how much earlier.
struct Blamed {
    activity: ActivityId,
    culprit: Option<(ActivityId, Time)>,
    lack: Option<super::board::Lack>,
}

impl Run<'_, '_> {
    /// Returns the activity to place next: of those whose successors stand, the one with the largest key; of
    /// those inside an open hold first, so that what it keeps is soon given back.
    fn next(&self, order: &Order) -> Option<ActivityId> {
        let keys = &order.keys;
        let unplaced = || (0..keys.len()).filter(|&index| self.board.placed[index].is_none());
        let best = |candidates: &mut dyn Iterator<Item = usize>| {
            candidates.max_by_key(|&index| (keys[index], std::cmp::Reverse(index)))
        };
        let can_be_placed =
            |&index: &usize| self.board.placed[index].is_none() && self.waiting[index] == 0;
        if order.close_first
            && let Some(activity) = self.closing(order, None)
        {
            return Some(activity);
        }
        let free = best(&mut unplaced().filter(can_be_placed));
        // Non-negative lags that run in a circle leave none free; the latest goes first.
        free.or_else(|| best(&mut unplaced())).map(ActivityId)
    }

    /// Returns an activity that leads toward giving back what is kept: of the hold opened last (of `resource`,
    /// where one is named) that has any activity which can be placed, the one with the largest key.
    ///
    /// The last opened is closed first, so that chains of one kind do not each take a unit and then wait for
    /// another's.
    fn closing(&self, order: &Order, resource: Option<ResourceId>) -> Option<ActivityId> {
        let standing = |activity: ActivityId| self.board.placed[activity.0].is_some();
        let candidate = |index: &usize| !standing(ActivityId(*index)) && self.waiting[*index] == 0;
        let mut found: Option<(u32, i64, usize)> = None;
        for (hold, between) in self.board.instance.holds.iter().zip(&self.between) {
            let open = standing(hold.to.0) && !standing(hold.from.0);
            if !open || resource.is_some_and(|resource| resource != hold.resource) {
                continue;
            }
            let opened = self.placed_at[hold.to.0.0];
            for index in between
                .iter()
                .map(|&index| index as usize)
                .filter(candidate)
            {
                let rank = (opened, order.keys[index], index);
                if found.is_none_or(|best| (rank.0, rank.1) > (best.0, best.1)) {
                    found = Some(rank);
                }
            }
        }
        found.map(|(_, _, index)| ActivityId(index))
    }

    fn try_place(&mut self, activity: ActivityId) -> Result<(), Blamed> {
        let index = activity.0;
        let earliest = self.windows.earliest[index];
        let latest = self.windows.latest[index].min(self.cap[index]);
        let fit = self
            .board
            .latest_fit(activity, self.first.earliest[index], latest);
        let blame = |by: Time, lack| Blamed {
            activity,
            culprit: self.windows.source(activity).map(|source| (source, by)),
            lack,
        };
        let placement = match fit {
            Ok(placement) if placement.start >= earliest => placement,
            Ok(placement) => return Err(blame(earliest - placement.start, None)),
            Err(lack) => {
                return Err(Blamed {
                    culprit: None,
                    ..blame(1, lack)
                });
            }
        };
        let mark = self.windows.mark();
        self.board.place(activity, placement.start);
        self.placements += 1;
        self.placed_at[index] = self.placements;
        self.stack.push((activity, mark));
        self.release(activity);
        let settled = self
            .network
            .place(&mut self.windows, activity, placement.start)
            .and_then(|()| self.bound_by_holds(activity));
        settled.map_err(|empty| Blamed {
            activity: empty.activity,
            culprit: Some(
                empty
                    .source
                    .filter(|&source| self.stands_free(source))
                    .unwrap_or(activity),
            )
            .map(|source| (source, empty.lacking)),
            lack: None,
        })
    }

    /// Returns a placed activity that can leave the whole window of one that found no place, and how much
    /// earlier it must go: of those in the way, the one that can go furthest.
    fn make_room(
        &self,
        activity: ActivityId,
        lack: super::board::Lack,
    ) -> Option<(ActivityId, Time)> {
        let opens = self.windows.earliest[activity.0];
        self.board
            .standing_users(lack.resource, lack.at)
            .into_iter()
            .filter(|&user| self.stands_free(user))
            .filter_map(|user| {
                let placed = self.board.placed[user.0]?;
                let must_start = opens - (placed.end - placed.start);
                let room = must_start - self.first.earliest[user.0];
                (room >= 0 && must_start < placed.start).then_some((
                    room,
                    std::cmp::Reverse(user),
                    placed.start - must_start,
                ))
            })
            .max()
            .map(|(_, user, earlier)| (user.0, earlier))
    }

    fn stands_free(&self, activity: ActivityId) -> bool {
        self.board.instance.activities[activity.0].fixed.is_none()
    }

    /// Tells the network how far the holds that an activity opened can reach.
    fn bound_by_holds(&mut self, activity: ActivityId) -> Result<(), Empty> {
        for (other, since) in self.board.open_before(activity) {
            let start = self.network.start_for_edge(other, since);
            self.network
                .raise(&mut self.windows, other.0, start, activity)?;
        }
        for ((other, edge), until) in self.board.open_after(activity) {
            let start = match edge {
                Edge::Start => until,
                Edge::End => self.network.latest_start(other, until),
            };
            self.network.lower(&mut self.windows, other, start)?;
        }
        Ok(())
    }

    fn release(&mut self, activity: ActivityId) {
        for at in 0..self.predecessors[activity.0].len() {
            self.waiting[self.predecessors[activity.0][at] as usize] -= 1;
        }
    }

    /// Takes back placements until `culprit` no longer stands; returns whether it could be.
    fn take_back(&mut self, culprit: ActivityId) -> bool {
        if !self.stack.iter().any(|&(activity, _)| activity == culprit) {
            return false;
        }
        while let Some((activity, mark)) = self.stack.pop() {
            self.windows.back_to(mark);
            self.board.remove(activity);
            for at in 0..self.predecessors[activity.0].len() {
                self.waiting[self.predecessors[activity.0][at] as usize] += 1;
            }
            if activity == culprit {
                return true;
            }
        }
        false
    }

    fn no_place(&self, activity: ActivityId, lack: Option<super::board::Lack>) -> Failure {
        let conflict = Conflict::NoPlace {
            activity,
            earliest: self.first.earliest[activity.0],
            latest: self.windows.latest[activity.0],
            resource: lack.map(|lack| lack.resource),
            by: lack
                .map(|lack| self.board.users(lack.resource, lack.at))
                .unwrap_or_default(),
        };
        Failure { activity, conflict }
    }
}
