//! Putting blocks in, one after another, among what already stands; all of them make a schedule from nothing.

use std::collections::BinaryHeap;

use super::board::{Board, Lack, Missing};
use super::seat::{self, Bounds, Look, Members, NoSeat, Turn};
use super::structure::{Member, Structure};
use crate::schedule::conflict::Conflict;
use crate::schedule::network::{Empty, Windows};
use crate::schedule::problem::{ActivityId, Time};

/// In which order blocks are put in: of those that can be, the one with the largest key.
#[derive(Clone, Copy, Debug)]
pub(super) struct Order<'k> {
    /// One key for each block.
    pub(super) keys: &'k [i64],
    /// Draws what else is a matter of taste.
    pub(super) draw: u64,
    /// Whether what is kept between two activities is given back before anything else is kept.
    pub(super) close_first: bool,
    /// Whether what is in the way is sent out of a whole window.
    pub(super) sends_far: bool,
    /// How often placements may be taken back.
    pub(super) take_backs: u32,
    /// At how many starts beside the latest a block is looked at.
    pub(super) starts: usize,
}

/// What stands, by blocks; kept from one insertion to the next.
#[derive(Clone, Debug)]
pub(super) struct Standing {
    stands: Vec<bool>,
    /// How many of the blocks after each do not stand.
    waiting: Vec<u32>,
    /// Latest starts that taking back has left, by activity.
    cap: Vec<Time>,
    placements: u64,
    ready: BinaryHeap<(i64, std::cmp::Reverse<usize>)>,
    /// Holds whose later end was put in by this insertion, in that order.
    opened: Vec<usize>,
    stack: Vec<(usize, usize)>,
}

/// Why blocks could not be put in.
#[derive(Debug)]
pub(super) struct Failure {
    pub(super) activity: ActivityId,
    pub(super) conflict: Conflict,
}

/// A failed placement: who failed, and which placed activity must go how much earlier.
struct Blamed {
    activity: ActivityId,
    culprit: Option<(ActivityId, Time)>,
    lack: Option<Lack>,
}

impl Standing {
    /// Returns what stands when only what has happened does.
    pub(super) fn new(structure: &Structure, board: &Board<'_>) -> Self {
        let blocks = structure.blocks.len();
        let mut standing = Self {
            stands: vec![false; blocks],
            waiting: structure
                .after
                .iter()
                .map(|after| after.len() as u32)
                .collect(),
            cap: vec![Time::MAX; board.placed.len()],
            placements: 0,
            ready: BinaryHeap::new(),
            opened: Vec::new(),
            stack: Vec::new(),
        };
        for (block, it) in structure.blocks.iter().enumerate() {
            if board.placed[it.members[0].id.0].is_some() {
                standing.mark(structure, block, true);
            }
        }
        standing
    }

    /// Returns how many placements have been made in all.
    pub(super) fn placements(&self) -> u64 {
        self.placements
    }

    /// Counts a placement made elsewhere.
    pub(super) fn placed_one(&mut self) {
        self.placements += 1;
    }

    /// Notes that a block stands or no longer does.
    pub(super) fn mark(&mut self, structure: &Structure, block: usize, stands: bool) {
        if self.stands[block] == stands {
            return;
        }
        self.stands[block] = stands;
        for &before in &structure.before[block] {
            if stands {
                self.waiting[before] -= 1;
            } else {
                self.waiting[before] += 1;
            }
        }
    }
}

/// One insertion under way.
pub(super) struct Insertion<'s, 'a> {
    pub(super) board: &'s mut Board<'a>,
    pub(super) windows: &'s mut Windows,
    pub(super) first: &'s Windows,
    pub(super) structure: &'s Structure,
    pub(super) standing: &'s mut Standing,
    pub(super) order: Order<'s>,
}

impl Insertion<'_, '_> {
    /// Puts `blocks` in; none of them may stand, and `windows` must be what stands leaves.
    ///
    /// When it fails some of them may stand.
    pub(super) fn run(&mut self, blocks: &[usize]) -> Result<(), Failure> {
        let standing = &mut *self.standing;
        standing.ready.clear();
        standing.opened.clear();
        standing.stack.clear();
        for &block in blocks {
            for &Member { id, .. } in &self.structure.blocks[block].members {
                standing.cap[id.0] = Time::MAX;
            }
        }
        for &block in blocks {
            self.ready(block);
        }
        for index in 0..self.board.instance.holds.len() {
            if self.board.is_open(index) {
                self.standing.opened.push(index);
            }
        }
        for index in 0..self.standing.opened.len() {
            let to = self.board.instance.holds[self.standing.opened[index]].to.0;
            self.bound_by_holds(to)
                .map_err(|empty| self.no_place(empty.activity, None))?;
        }
        let mut left = blocks.len();
        let mut taken_back = 0;
        'all: while left > 0 {
            let Some(block) = self.next(blocks) else {
                break;
            };
            let before = self.standing.stack.len();
            let placed = self.try_place(block);
            left -= self.standing.stack.len() - before;
            let Err(mut blamed) = placed else { continue };
            // What is missing may only be waiting to be given back: close what keeps it, then try again.
            while let (None, Some(lack)) = (blamed.culprit, blamed.lack) {
                let Missing::Resource(_) = lack.what else {
                    break;
                };
                let Some(inside) = self.closing(Some(lack.what)) else {
                    break;
                };
                let before = self.standing.stack.len();
                let closed = self.try_place(inside);
                left -= self.standing.stack.len() - before;
                if let Err(other) = closed {
                    blamed = other;
                    break;
                }
                if inside == block {
                    continue 'all;
                }
                let before = self.standing.stack.len();
                let again = self.try_place(block);
                left -= self.standing.stack.len() - before;
                match again {
                    Ok(()) => continue 'all,
                    Err(again) => blamed = again,
                }
            }
            taken_back += 1;
            let culprit = blamed
                .culprit
                .or_else(|| self.make_room(blamed.activity, blamed.lack?, taken_back))
                .filter(|_| taken_back <= self.order.take_backs);
            let before = self.standing.stack.len();
            let sent = culprit.and_then(|(culprit, earlier)| {
                let stood = self.board.placed[culprit.0]?.start;
                self.take_back(culprit)
                    .then_some((culprit, stood - earlier.max(1)))
            });
            left += before - self.standing.stack.len();
            let Some((culprit, latest)) = sent else {
                // What could not be placed is not ready again by itself.
                return Err(self.no_place(blamed.activity, blamed.lack));
            };
            let cap = &mut self.standing.cap[culprit.0];
            *cap = (*cap).min(latest);
            self.ready(block);
        }
        Ok(())
    }

    fn can_be_placed(&self, block: usize) -> bool {
        !self.standing.stands[block] && self.standing.waiting[block] == 0
    }

    fn ready(&mut self, block: usize) {
        if self.can_be_placed(block) {
            let key = self.order.keys[block];
            self.standing.ready.push((key, std::cmp::Reverse(block)));
        }
    }

    /// Returns the block to place next: of those that everything after them stands for, the one with the
    /// largest key; of those inside an open hold first, so that what it keeps is soon given back.
    fn next(&mut self, blocks: &[usize]) -> Option<usize> {
        if self.order.close_first
            && let Some(block) = self.closing(None)
        {
            return Some(block);
        }
        while let Some((_, std::cmp::Reverse(block))) = self.standing.ready.pop() {
            if self.can_be_placed(block) {
                return Some(block);
            }
        }
        // Non-negative lags that run in a circle leave none free; the latest goes first.
        let waiting = blocks
            .iter()
            .copied()
            .filter(|&block| !self.standing.stands[block]);
        waiting.max_by_key(|&block| (self.order.keys[block], std::cmp::Reverse(block)))
    }

    /// Returns a block that leads toward giving back what is kept: of the hold opened last (of one resource,
    /// where that is named) with any block inside that can be placed, the one with the largest key.
    ///
    /// The last opened is closed first, so that chains of one kind do not each take a unit and then wait for
    /// another's.
    fn closing(&mut self, of: Option<Missing>) -> Option<usize> {
        let board = &*self.board;
        self.standing.opened.retain(|&hold| board.is_open(hold));
        for &index in self.standing.opened.iter().rev() {
            let resource = board.instance.holds[index].resource;
            if of.is_some_and(|missing| missing != Missing::Resource(resource)) {
                continue;
            }
            let inside = self.structure.between[index]
                .iter()
                .copied()
                .filter(|&block| self.can_be_placed(block));
            if let Some(block) =
                inside.max_by_key(|&block| (self.order.keys[block], std::cmp::Reverse(block)))
            {
                return Some(block);
            }
        }
        None
    }

    /// Places a block where it is best put.
    fn try_place(&mut self, block: usize) -> Result<(), Blamed> {
        let structure = self.structure;
        let members: &Members = &structure.blocks[block].members;
        // Now and then a mode is taken that is not the best where it stands: what it leaves may be.
        let drawn = super::mix(self.order.draw ^ (block as u64) << 20);
        let turn = match drawn % 4 {
            0 if self.order.draw != 0 => Turn::Rather((drawn >> 8) as usize),
            1 if self.order.draw != 0 => Turn::From((drawn >> 8) as usize),
            _ => Turn::From(0),
        };
        let look = Look {
            times: self.order.starts,
            whim: (self.order.draw != 0 && (drawn >> 40).is_multiple_of(6)).then_some(drawn >> 44),
        };
        let mark = self.windows.mark();
        let (windows, first, cap) = (&*self.windows, self.first, &self.standing.cap);
        let bounds = |board: &Board<'_>, id: ActivityId| {
            let (earliest, latest) = board.network.in_chosen_mode(windows, id);
            Bounds {
                earliest,
                latest: latest.min(cap[id.0]),
                look_from: first.earliest[id.0],
            }
        };
        let latest = |member: &Member| {
            let start = windows.latest[member.id.0].min(cap[member.id.0]);
            seat::latest_time(&self.board.network, member, start)
        };
        let ceiling = members.iter().map(latest).min().unwrap_or(0);
        seat::best_seat(self.board, members, ceiling, turn, look, &bounds)
            .map_err(|none| self.blame(none))?;
        self.standing.placements += 1;
        self.standing.stack.push((block, mark));
        self.standing.mark(structure, block, true);
        for &before in &structure.before[block] {
            self.ready(before);
        }
        for &Member { id, .. } in members {
            for &hold in &self.board.facts.holds_of[id.0] {
                if self.board.is_open(hold as usize) {
                    self.standing.opened.push(hold as usize);
                }
            }
        }
        let settled = members.iter().try_for_each(|&Member { id, .. }| {
            let start = self.board.placed[id.0].map_or(0, |placed| placed.start);
            self.board.network.place(self.windows, id, start)?;
            self.bound_by_holds(id)
        });
        settled.map_err(|empty| {
            let source = empty.source.filter(|&source| self.stands_free(source));
            let culprit = Some((source.unwrap_or(members[0].id), empty.lacking));
            Blamed {
                activity: empty.activity,
                culprit,
                lack: None,
            }
        })
    }

    fn blame(&self, none: NoSeat) -> Blamed {
        Blamed {
            activity: none.activity,
            culprit: none
                .short
                .and_then(|short| Some((self.windows.source(none.activity)?, short))),
            lack: none.lack,
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
            .standing_users(lack)
            .into_iter()
            .filter(|&user| user != activity && self.stands_free(user))
            .filter_map(|user| {
                let placed = self.board.placed[user.0]?;
                let before = if self.order.sends_far { opens } else { lack.at };
                let before = match lack.what {
                    Missing::State(state, _) => before - self.board.instance.states[state.0].change,
                    Missing::Resource(_) => before,
                };
                let must_start = (before - (placed.end - placed.start)).min(placed.start - 1);
                let room = must_start - self.first.earliest[user.0];
                (room >= 0).then_some((room, user, placed.start - must_start))
            })
            .collect();
        able.sort_unstable_by_key(|&(room, user, _)| (std::cmp::Reverse(room), user));
        let drawn = super::mix(self.order.draw << 32 | u64::from(taken_back)) as usize;
        let chosen = if self.order.draw < 2 {
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
        if !self.board.wary {
            for at in 0..self.board.facts.holds_of[activity.0].len() {
                let hold = self.board.facts.holds_of[activity.0][at] as usize;
                let from = self.board.instance.holds[hold].from.0;
                if self.board.is_open(hold) {
                    self.board.expect(hold, self.windows.latest[from.0]);
                }
            }
            return Ok(());
        }
        for (other, since) in self.board.open_before(activity) {
            let start = self.board.network.start_for_edge(other, since);
            self.board
                .network
                .raise(self.windows, other.0, start, activity)?;
        }
        Ok(())
    }

    /// Takes back placements until `culprit` no longer stands; returns whether it could be.
    fn take_back(&mut self, culprit: ActivityId) -> bool {
        let culprit = self.structure.block_of[culprit.0];
        if !self
            .standing
            .stack
            .iter()
            .any(|&(block, _)| block == culprit)
        {
            return false;
        }
        let structure = self.structure;
        let mut back = Vec::new();
        while let Some((block, mark)) = self.standing.stack.pop() {
            self.windows.back_to(mark);
            seat::lift(self.board, &structure.blocks[block].members);
            self.standing.mark(structure, block, false);
            back.push(block);
            if block == culprit {
                break;
            }
        }
        for &block in &back {
            self.ready(block);
        }
        true
    }

    fn no_place(&self, activity: ActivityId, lack: Option<Lack>) -> Failure {
        let by = lack.map(|lack| self.board.users(lack)).unwrap_or_default();
        let resource = lack.and_then(|lack| match lack.what {
            Missing::Resource(resource) => Some(resource),
            Missing::State(..) => None,
        });
        let conflict = Conflict::NoPlace {
            activity,
            earliest: self.first.earliest[activity.0],
            latest: self.windows.latest[activity.0],
            resource,
            by,
        };
        Failure { activity, conflict }
    }
}
