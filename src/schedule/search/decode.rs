//! One order of activities, decoded into a schedule.

use super::board::Board;
use crate::schedule::conflict::Conflict;
use crate::schedule::network::{Empty, Network, Windows};
use crate::schedule::problem::{ActivityId, Edge, Instance, Time};

/// The keys that orders are made from.
#[derive(Debug)]
pub(super) struct Keys {
    ends: Vec<i64>,
    starts: Vec<i64>,
    urged: Vec<i64>,
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
        let starts: Vec<i64> = windows
            .latest
            .iter()
            .map(|&start| i64::from(start))
            .collect();
        let ends = (0..instance.activities.len())
            .map(|index| i64::from(network.end_of(ActivityId(index), windows.latest[index])))
            .collect();
        let spread = starts.iter().max().unwrap_or(&0) - starts.iter().min().unwrap_or(&0);
        Self {
            ends,
            urged: vec![0; starts.len()],
            starts,
            step: spread / 8 + 1,
            noise: spread / 40 + 2,
        }
    }

    /// Moves an activity that found no place toward the front of every order to come.
    pub(super) fn urge(&mut self, activity: ActivityId) {
        self.urged[activity.0] += self.step;
    }

    /// Returns one order; of the activities that can be placed, the one with the largest key is.
    pub(super) fn order(&self, order: u32) -> Order {
        let base = if order % 2 == 0 {
            &self.ends
        } else {
            &self.starts
        };
        let amplitude = if order < 2 {
            0
        } else {
            self.noise * i64::from(order / 2)
        };
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
            close_first: order % 4 < 2,
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
    };
    for index in 0..count {
        if instance.activities[index].fixed.is_some() {
            run.release(ActivityId(index));
            run.bound_by_holds(ActivityId(index))
                .map_err(|empty| run.no_place(empty.activity, None))?;
        }
    }
    let mut taken_back = 0;
    while let Some(activity) = run.next(order) {
        let Err(blamed) = run.try_place(activity) else {
            continue;
        };
        taken_back += 1;
        let Some((culprit, earlier)) = blamed.culprit else {
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
        if order.close_first {
            let holds = self.board.instance.holds.iter().zip(&self.between);
            let mut inside = holds
                .filter(|(hold, _)| self.board.placed[hold.to.0.0].is_some())
                .flat_map(|(_, between)| between.iter().map(|&index| index as usize))
                .filter(can_be_placed);
            if let Some(index) = best(&mut inside) {
                return Some(ActivityId(index));
            }
        }
        let free = best(&mut unplaced().filter(can_be_placed));
        // Non-negative lags that run in a circle leave none free; the latest goes first.
        free.or_else(|| best(&mut unplaced())).map(ActivityId)
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
