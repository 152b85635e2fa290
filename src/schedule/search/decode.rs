//! One order of blocks, decoded into a schedule.

use super::board::{Board, Lack};
use super::structure::{Structure, reach};
use crate::schedule::conflict::Conflict;
use crate::schedule::network::{Empty, Network, Windows};
use crate::schedule::problem::{ActivityId, Instance, ResourceId, Time};

/// The keys that orders are made from, one for each block.
#[derive(Debug)]
pub(super) struct Keys {
    announced: Option<Vec<i64>>,
    bases: [Vec<i64>; 3],
    urged: Vec<i64>,
    step: i64,
    noise: i64,
}

/// One order of blocks.
#[derive(Debug)]
pub(super) struct Order {
    number: u32,
    keys: Vec<i64>,
    /// Whether what is kept between two activities is given back before anything else is kept.
    close_first: bool,
    /// Whether what is in the way is sent out of a whole window.
    sends_far: bool,
}

/// Why an order found no schedule.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) activity: ActivityId,
    pub(super) conflict: Conflict,
}

impl Keys {
    pub(super) fn new(
        structure: &Structure,
        network: &Network<'_>,
        windows: &Windows,
        announced: Option<&[Option<Time>]>,
    ) -> Self {
        let largest = |of: &dyn Fn(ActivityId) -> Time| -> Vec<i64> {
            let blocks = structure.blocks.iter();
            blocks
                .map(|block| {
                    block
                        .members
                        .iter()
                        .map(|&(id, _)| i64::from(of(id)))
                        .max()
                        .unwrap_or(0)
                })
                .collect()
        };
        let earliest = largest(&|id| windows.earliest[id.0]);
        let ends = largest(&|id| network.end_of(id, windows.latest[id.0]));
        // Windows without a start lie outside all time; noise need not follow them there.
        let spread = ends.iter().max().unwrap_or(&0) - earliest.iter().min().unwrap_or(&0);
        let spread = spread.clamp(0, 1_000_000);
        let between = earliest
            .iter()
            .zip(&ends)
            .map(|(start, end)| (start + end) / 2)
            .collect();
        // What had no announced start keeps the place its window gives it.
        let announced =
            announced.map(|starts| largest(&|id| starts[id.0].unwrap_or(windows.earliest[id.0])));
        Self {
            announced,
            urged: vec![0; ends.len()],
            // Largest earliest start first is the latest-finish rule read backward, the best simple rule
            // there is; it also puts what has a narrow window before what can still go anywhere.
            bases: [earliest, between, ends],
            step: spread / 8 + 1,
            noise: spread / 40 + 2,
        }
    }

    /// Moves an activity that found no place toward the front of every order to come, and with it everything
    /// that must stand before it can be placed.
    pub(super) fn urge(&mut self, structure: &Structure, activity: ActivityId) {
        let reached = reach(structure.block_of[activity.0], &structure.after);
        for (urged, _) in self
            .urged
            .iter_mut()
            .zip(reached)
            .filter(|(_, reached)| *reached)
        {
            *urged += self.step;
        }
    }

    /// Returns one order; of the blocks that can be placed, the one with the largest key is.
    pub(super) fn order(&self, number: u32) -> Order {
        let base = match &self.announced {
            Some(announced) if number == 0 => announced,
            _ => &self.bases[number as usize % self.bases.len()],
        };
        let amplitude = self.noise * i64::from(number / 3);
        let noise = |block: usize| {
            if amplitude == 0 {
                return 0;
            }
            let drawn = mix(u64::from(number) << 32 | block as u64);
            (drawn % (2 * amplitude as u64 + 1)) as i64 - amplitude
        };
        let keys = (0..base.len())
            .map(|block| base[block] + noise(block) + self.urged[block])
            .collect();
        Order {
            number,
            keys,
            close_first: number % 4 < 3,
            sends_far: number.is_multiple_of(2),
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
    structure: &'b Structure,
    order: &'b Order,
    windows: Windows,
    first: &'a Windows,
    /// Latest starts that taking back has left.
    cap: Vec<Time>,
    /// The blocks placed, in order, with the log's place before each.
    stack: Vec<(usize, usize)>,
    stands: Vec<bool>,
    /// How many of the blocks after each do not stand yet.
    waiting: Vec<u32>,
    /// When each block was placed, counted in placements.
    placed_at: Vec<u32>,
    placements: u32,
}

/// A failed placement: who failed, and which placed activity must go how much earlier.
struct Blamed {
    activity: ActivityId,
    culprit: Option<(ActivityId, Time)>,
    lack: Option<Lack>,
}

/// Returns the board that placing blocks in this order leads to.
pub(super) fn decode<'a>(
    instance: &'a Instance,
    network: &'a Network<'a>,
    structure: &Structure,
    first: &'a Windows,
    order: &Order,
    take_backs: u32,
) -> Result<Board<'a>, Failure> {
    let mut run = Run {
        board: Board::new(instance, network, &first.earliest),
        network,
        structure,
        order,
        windows: first.clone(),
        first,
        cap: vec![Time::MAX; instance.activities.len()],
        stack: Vec::with_capacity(structure.blocks.len()),
        stands: vec![false; structure.blocks.len()],
        waiting: structure
            .after
            .iter()
            .map(|after| after.len() as u32)
            .collect(),
        placed_at: vec![0; structure.blocks.len()],
        placements: 0,
    };
    for (block, it) in structure.blocks.iter().enumerate() {
        let activity = it.members[0].0;
        if instance.activities[activity.0].fixed.is_some() {
            run.mark_standing(block, true);
            run.bound_by_holds(activity)
                .map_err(|empty| run.no_place(empty.activity, None))?;
        }
    }
    let mut taken_back = 0;
    'all: while let Some(block) = run.next() {
        let Err(mut blamed) = run.try_place(block) else {
            continue;
        };
        // What is missing may only be waiting to be given back: close what keeps it, then try again.
        while let (None, Some(lack)) = (blamed.culprit, blamed.lack) {
            let Some(inside) = run.closing(Some(lack.resource)) else {
                break;
            };
            if let Err(other) = run.try_place(inside) {
                blamed = other;
                break;
            }
            if inside == block {
                continue 'all;
            }
            match run.try_place(block) {
                Ok(()) => continue 'all,
                Err(again) => blamed = again,
            }
        }
        taken_back += 1;
        let culprit = blamed
            .culprit
            .or_else(|| run.make_room(blamed.activity, blamed.lack?, taken_back))
            .filter(|_| taken_back <= take_backs);
        let sent = culprit.and_then(|(culprit, earlier)| {
            let stood = run.board.placed[culprit.0]?.start;
            run.take_back(culprit)
                .then_some((culprit, stood - earlier.max(1)))
        });
        let Some((culprit, latest)) = sent else {
            return Err(run.no_place(blamed.activity, blamed.lack));
        };
        run.cap[culprit.0] = run.cap[culprit.0].min(latest);
    }
    Ok(run.board)
}

/// Returns the board on which every activity stands at its announced start, if all of that still holds.
pub(super) fn stands<'a>(
    instance: &'a Instance,
    network: &'a Network<'a>,
    first: &'a Windows,
    starts: &[Option<Time>],
) -> Option<Board<'a>> {
    let mut board = Board::new(instance, network, &first.earliest);
    let mut windows = first.clone();
    // The latest first, so that what is kept is given back before it is taken.
    let mut order: Vec<usize> = (0..starts.len()).collect();
    order.retain(|&index| instance.activities[index].fixed.is_none());
    order.sort_by_key(|&index| std::cmp::Reverse(starts[index]));
    for index in order {
        // What was not announced follows from what was, or is new and goes where it can.
        let (id, start) = (
            ActivityId(index),
            starts[index].unwrap_or(windows.latest[index]),
        );
        let inside = windows.earliest[index] <= start && start <= windows.latest[index];
        if !inside || !board.fits(id, start) {
            return None;
        }
        board.place(id, start);
        if board.overdraws(id) {
            return None;
        }
        network.place(&mut windows, id, start).ok()?;
    }
    Some(board)
}

impl Run<'_, '_> {
    fn can_be_placed(&self, block: usize) -> bool {
        !self.stands[block] && self.waiting[block] == 0
    }

    /// Returns the block to place next: of those that everything after them stands for, the one with the
    /// largest key; of those inside an open hold first, so that what it keeps is soon given back.
    fn next(&self) -> Option<usize> {
        if self.order.close_first
            && let Some(block) = self.closing(None)
        {
            return Some(block);
        }
        let blocks = 0..self.stands.len();
        let rank = |block: &usize| (self.order.keys[*block], std::cmp::Reverse(*block));
        let free = blocks
            .clone()
            .filter(|&block| self.can_be_placed(block))
            .max_by_key(rank);
        // Non-negative lags that run in a circle leave none free; the latest goes first.
        free.or_else(|| blocks.filter(|&block| !self.stands[block]).max_by_key(rank))
    }

    /// Returns a block that leads toward giving back what is kept: of the hold opened last (of `resource`,
    /// where one is named) with any block inside that can be placed, the one with the largest key.
    ///
    /// The last opened is closed first, so that chains of one kind do not each take a unit and then wait for
    /// another's.
    fn closing(&self, resource: Option<ResourceId>) -> Option<usize> {
        let holds = self
            .board
            .instance
            .holds
            .iter()
            .zip(&self.structure.between);
        holds
            .filter(|(hold, _)| resource.is_none_or(|resource| resource == hold.resource))
            .filter_map(|(hold, between)| {
                let (from, to) = (hold.from.0.0, hold.to.0.0);
                let open = self.board.placed[to].is_some() && self.board.placed[from].is_none();
                open.then_some((self.placed_at[self.structure.block_of[to]], between))
            })
            .flat_map(|(opened, between)| between.iter().map(move |&block| (opened, block)))
            .filter(|&(_, block)| self.can_be_placed(block))
            .max_by_key(|&(opened, block)| {
                (opened, self.order.keys[block], std::cmp::Reverse(block))
            })
            .map(|(_, block)| block)
    }

    /// Places a block at the latest start at which all its members fit.
    fn try_place(&mut self, block: usize) -> Result<(), Blamed> {
        let structure = self.structure;
        let members = &structure.blocks[block].members;
        let (start, mark) = self.seat(members)?;
        self.placements += 1;
        self.placed_at[block] = self.placements;
        self.stack.push((block, mark));
        self.mark_standing(block, true);
        let settled = members.iter().try_for_each(|&(id, offset)| {
            self.network.place(&mut self.windows, id, start + offset)?;
            self.bound_by_holds(id)
        });
        settled.map_err(|empty| {
            let source = empty.source.filter(|&source| self.stands_free(source));
            let culprit = Some((source.unwrap_or(members[0].0), empty.lacking));
            Blamed {
                activity: empty.activity,
                culprit,
                lack: None,
            }
        })
    }

    /// Puts the members of a block on the board and returns the block's start, and the log's place before it.
    fn seat(&mut self, members: &[(ActivityId, Time)]) -> Result<(Time, usize), Blamed> {
        let latest = |&(id, offset): &(ActivityId, Time)| {
            self.windows.latest[id.0]
                .min(self.cap[id.0])
                .saturating_sub(offset)
        };
        let mut start = members.iter().map(latest).min().unwrap_or(0);
        // Members that want the same thing at the same minute do so wherever the block stands, unless what
        // there is of it changes; a day of such minutes is enough to see that.
        for _ in 0..1440 {
            start = self.fit_alone(members, start)?;
            self.above_its_earliest(members, start)?;
            let mark = self.windows.mark();
            let clash = members.iter().enumerate().find(|&(at, &(id, offset))| {
                let at_start = start + offset;
                let fits = at == 0 || self.board.latest_fit(id, at_start, at_start).is_ok();
                if fits {
                    self.board.place(id, at_start);
                    if self.board.overdraws(id) {
                        self.board.remove(id);
                        return true;
                    }
                }
                !fits
            });
            let Some((clash, _)) = clash else {
                return Ok((start, mark));
            };
            for &(id, _) in &members[..clash] {
                self.board.remove(id);
            }
            start -= 1;
        }
        Err(Blamed {
            activity: members[0].0,
            culprit: None,
            lack: None,
        })
    }

    /// Returns the latest start, no later than `start`, at which each member of a block fits by itself: each in
    /// turn pulls the block to its own latest fit, until all agree.
    fn fit_alone(&self, members: &[(ActivityId, Time)], mut start: Time) -> Result<Time, Blamed> {
        let mut settled = 0;
        for &(id, offset) in members.iter().cycle() {
            if settled == members.len() {
                break;
            }
            match self
                .board
                .latest_fit(id, self.first.earliest[id.0], start + offset)
            {
                Ok(placement) if placement.start == start + offset => settled += 1,
                Ok(placement) => (start, settled) = (placement.start - offset, 1),
                Err(lack) => {
                    return Err(Blamed {
                        activity: id,
                        culprit: None,
                        lack,
                    });
                }
            }
        }
        Ok(start)
    }

    /// Returns whom to blame if a block would start before its earliest start.
    fn above_its_earliest(
        &self,
        members: &[(ActivityId, Time)],
        start: Time,
    ) -> Result<(), Blamed> {
        let short = |&(id, offset): &(ActivityId, Time)| {
            let missing = self.windows.earliest[id.0] - (start + offset);
            (missing > 0).then_some((missing, id))
        };
        match members.iter().filter_map(short).max() {
            None => Ok(()),
            Some((missing, id)) => Err(Blamed {
                activity: id,
                culprit: self.windows.source(id).map(|source| (source, missing)),
                lack: None,
            }),
        }
    }

    /// Returns a placed activity to send earlier so that one that found no place may find one, and by how much:
    /// of those in the way and able to, in the first orders the one with most room, later any.
    ///
    /// It is asked to leave the whole window, or (in every other order) only the minute that was missing.
    fn make_room(
        &self,
        activity: ActivityId,
        lack: Lack,
        taken_back: u32,
    ) -> Option<(ActivityId, Time)> {
        let opens = self.windows.earliest[activity.0];
        let mut able: Vec<(Time, ActivityId, Time)> = self
            .board
            .standing_users(lack.resource, lack.at)
            .into_iter()
            .filter(|&user| user != activity && self.stands_free(user))
            .filter_map(|user| {
                let placed = self.board.placed[user.0]?;
                let before = if self.order.sends_far { opens } else { lack.at };
                let must_start = (before - (placed.end - placed.start)).min(placed.start - 1);
                let room = must_start - self.first.earliest[user.0];
                (room >= 0).then_some((room, user, placed.start - must_start))
            })
            .collect();
        able.sort_unstable_by_key(|&(room, user, _)| (std::cmp::Reverse(room), user));
        let number = self.order.number;
        let drawn = mix(u64::from(number) << 32 | u64::from(taken_back)) as usize;
        let chosen = if number < 2 {
            0
        } else {
            drawn % able.len().max(1)
        };
        able.get(chosen).map(|&(_, user, earlier)| (user, earlier))
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
        Ok(())
    }

    fn mark_standing(&mut self, block: usize, stands: bool) {
        self.stands[block] = stands;
        for &before in &self.structure.before[block] {
            if stands {
                self.waiting[before] -= 1;
            } else {
                self.waiting[before] += 1;
            }
        }
    }

    /// Takes back placements until `culprit` no longer stands; returns whether it could be.
    fn take_back(&mut self, culprit: ActivityId) -> bool {
        let culprit = self.structure.block_of[culprit.0];
        if !self.stack.iter().any(|&(block, _)| block == culprit) {
            return false;
        }
        while let Some((block, mark)) = self.stack.pop() {
            self.windows.back_to(mark);
            for &(id, _) in &self.structure.blocks[block].members {
                self.board.remove(id);
            }
            self.mark_standing(block, false);
            if block == culprit {
                return true;
            }
        }
        false
    }

    fn no_place(&self, activity: ActivityId, lack: Option<Lack>) -> Failure {
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
