//! Completing a schedule that an order could not: what finds no place takes one, and what was there looks for
//! another.
//!
//! An order that fails takes back everything since the culprit, and the next order meets the same knot. Here only
//! those in the way are put out: of some starts drawn, a block takes the one whose occupants have found it easiest
//! to go elsewhere so far (each time a block finds no place, putting it out costs more). So a knot is worked on
//! where it is, and what stands elsewhere stays (ejection after Nagata and Bräysy, *A powerful route minimization
//! heuristic*, Operations Research Letters 37, 2009; from memory; here for lags, holds and states too).
//!
//! It knows no cost; what it completes is justified and improved by others.

use super::board::{Board, Lack, Missing};
use super::neighbourhood::Draws;
use super::prepared::Prepared;
use super::seat::{self, Bounds, Members, Turn};
use super::structure::Member;
use crate::schedule::network::Windows;
use crate::schedule::problem::{ActivityId, Time};

/// At how many starts a block that found no place is looked at.
const STARTS: usize = 10;

/// How many may be put out for one that has found a place so far.
const MOST_OUT: usize = 12;

/// And for one that has found none however often it was tried. A whole batch may have to leave a chamber for one that
/// wants another state; allowed at once, that would throw out far too many where it need not.
const MOST_OUT_AT_LAST: usize = 64;

/// How many stretches could be looked at while one window is given anew.
const REOPENED: u64 = 32;

struct Knot<'p, 'a> {
    prepared: &'p Prepared<'a>,
    board: &'p mut Board<'a>,
    windows: Windows,
    /// The blocks that stand nowhere; the last is next.
    out: Vec<usize>,
    /// How often each block has found no place.
    trouble: Vec<u64>,
    /// The blocks that have gone out, or come in where no window said they could, since windows were last given.
    touched: Vec<usize>,
    /// In which round over the touched each activity was last come by.
    seen_in: Vec<u32>,
    round: u32,
    draws: Draws,
}

/// Puts in everything that does not stand on the board yet; returns whether all of it does within `most` tries, and
/// before `over` says that nobody needs it any more, who is told after how many looks that is asked.
pub(super) fn complete<'a>(
    prepared: &Prepared<'a>,
    board: &mut Board<'a>,
    seed: u64,
    most: u64,
    work: &mut u64,
    over: &dyn Fn(u64) -> bool,
) -> bool {
    board.be_bold();
    let looks = board.looks_left();
    let structure = &prepared.structure;
    let mut out: Vec<usize> = prepared
        .to_come()
        .into_iter()
        .filter(|&block| board.placed[structure.blocks[block].members[0].id.0].is_none())
        .collect();
    let latest = |&block: &usize| prepared.first.latest[structure.blocks[block].members[0].id.0];
    out.sort_by_key(latest);
    let mut knot = Knot {
        windows: (*prepared.first).clone(),
        trouble: vec![1; structure.blocks.len()],
        touched: Vec::new(),
        seen_in: vec![0; prepared.instance.activities.len()],
        round: 0,
        draws: Draws::new(seed),
        prepared,
        board,
        out,
    };
    for (index, placed) in knot.board.placed.iter().enumerate() {
        if let Some(placed) = placed {
            let id = ActivityId(index);
            knot.board
                .network
                .stand(&mut knot.windows, id, placed.start);
        }
    }
    knot.touched.clone_from(&knot.out);
    if !knot.reopen(None) {
        return false;
    }
    let until = *work + most;
    while let Some(block) = knot.out.pop() {
        *work += 1;
        let left = knot.board.looks_left();
        if *work > until || left == 0 || over(looks - left) {
            return false;
        }
        if knot.seat(block) {
            continue;
        }
        knot.trouble[block] += 1;
        *work += STARTS as u64 / 2;
        if !knot.force(block) && !knot.stand_back(block) {
            return false;
        }
    }
    true
}

/// A start at which a block could be forced in.
struct Forced {
    price: u64,
    time: Time,
    modes: Vec<usize>,
    /// The blocks that would have to go.
    out: Vec<usize>,
}

/// Who has been lifted so far, and from where.
struct Lifted {
    blocks: Vec<(usize, Time, Vec<usize>)>,
    /// How much trouble all of them have had.
    price: u64,
    /// From which price on it is no longer asked how much more it would be.
    below: u64,
}

impl Knot<'_, '_> {
    /// Puts a block where it fits, if it does; those still out must keep a window.
    fn seat(&mut self, block: usize) -> bool {
        let prepared = self.prepared;
        let structure = &prepared.structure;
        let members: &Members = &structure.blocks[block].members;
        let windows = &self.windows;
        let first = &self.prepared.first;
        let bounds = |board: &Board<'_>, id: ActivityId| {
            let (earliest, latest) = board.network.in_chosen_mode(windows, id);
            Bounds {
                earliest,
                latest,
                look_from: earliest.max(first.earliest[id.0]),
            }
        };
        let latest = |member: &Member| {
            seat::latest_time(&self.board.network, member, windows.latest[member.id.0])
        };
        let ceiling = members.iter().map(latest).min().unwrap_or(0);
        let earliest = |member: &Member| {
            seat::latest_time(&self.board.network, member, windows.earliest[member.id.0])
        };
        let floor = members.iter().map(earliest).max().unwrap_or(0);
        let turn = Turn::From(self.draws.below(4));
        // Whoever always takes its latest place may always leave the same neighbour none.
        let lower = if self.draws.below(3) == 0 && floor < ceiling {
            ceiling - self.draws.below((ceiling - floor) as usize) as Time
        } else {
            ceiling
        };
        let seated = seat::seat(self.board, members, lower, turn, &bounds).is_ok()
            || (lower < ceiling && seat::seat(self.board, members, ceiling, turn, &bounds).is_ok());
        if !seated {
            return false;
        }
        self.windows.keep();
        let settled = members.iter().try_for_each(|&Member { id, .. }| {
            let start = self.board.placed[id.0].map_or(0, |placed| placed.start);
            self.board.network.place(&mut self.windows, id, start)
        });
        if settled.is_err() {
            self.windows.back_to(0);
            seat::lift(self.board, members);
            return false;
        }
        self.windows.keep();
        true
    }

    /// Puts a block in at a start drawn, and whoever is in its way out; returns whether that could be done.
    fn force(&mut self, block: usize) -> bool {
        let prepared = self.prepared;
        let structure = &prepared.structure;
        let members: &Members = &structure.blocks[block].members;
        let mut best: Option<Forced> = None;
        for number in 0..STARTS {
            // Nobody costs less than one, and who found no place by itself is in somebody's way.
            if best.as_ref().is_some_and(|best| best.price <= 1) {
                break;
            }
            let modes: Vec<usize> = members
                .iter()
                .map(|&Member { id, .. }| {
                    self.draws
                        .below(self.board.instance.activities[id.0].modes.len())
                })
                .collect();
            let Some(time) = self.draw_time(members, &modes, number % 2 == 0) else {
                continue;
            };
            seat::put(self.board, members, time, &modes);
            let below = best.as_ref().map_or(u64::MAX, |best| best.price);
            let in_the_way = self.in_the_way(block, members, below);
            seat::lift(self.board, members);
            if let Some((price, out)) = in_the_way {
                best = Some(Forced {
                    price,
                    time,
                    modes,
                    out,
                });
            }
        }
        let Some(Forced {
            time, modes, out, ..
        }) = best
        else {
            return false;
        };
        seat::put(self.board, members, time, &modes);
        for &Member { id, .. } in members {
            let start = self.board.placed[id.0].map_or(0, |placed| placed.start);
            self.board.network.stand(&mut self.windows, id, start);
        }
        self.touched.push(block);
        for other in out {
            self.put_out(other);
        }
        self.reopen(Some(block))
    }

    /// Puts a block that cannot even be forced at the end of the row, and lets one around it out as well; returns
    /// whether there was one.
    fn stand_back(&mut self, block: usize) -> bool {
        self.put_out(block);
        self.out.rotate_right(1);
        let around = self.around(self.prepared.structure.blocks[block].members[0].id);
        let drawn = self.draws.below(around.len());
        let Some(&other) = around.get(drawn) else {
            return false;
        };
        self.put_out(other);
        self.reopen(None)
    }

    fn put_out(&mut self, block: usize) {
        seat::lift(self.board, &self.prepared.structure.blocks[block].members);
        self.out.push(block);
        self.touched.push(block);
    }

    /// Returns a time for a block in these modes that its calendars and its own windows allow: within what stands
    /// leaves it, or anywhere.
    fn draw_time(&mut self, members: &Members, modes: &[usize], near: bool) -> Option<Time> {
        let (mut from, mut to) = (Time::MIN / 4, Time::MAX / 4);
        for (member, &mode) in members.iter().zip(modes) {
            let id = member.id;
            self.board.network.choose(id, Some(mode));
            let windows = if near {
                &self.windows
            } else {
                &*self.prepared.first
            };
            let (earliest, latest) = self.board.network.in_chosen_mode(windows, id);
            let earliest = earliest.max(self.prepared.first.earliest[id.0]);
            from = from.max(seat::latest_time(&self.board.network, member, earliest));
            to = to.min(seat::latest_time(&self.board.network, member, latest));
        }
        let drawn = if from <= to {
            let mut time = from + self.draws.below((to - from) as usize + 1) as Time;
            // Each calendar pulls the block down until all agree.
            for _ in 0..16 {
                let before = time;
                for member in members {
                    let start = seat::start_in(&self.board.network, *member, time);
                    match self.board.network.calendar_down(member.id, start) {
                        Some(down) => {
                            let pulled = seat::latest_time(&self.board.network, member, down);
                            time = time.min(pulled);
                        }
                        None => time = Time::MIN / 4,
                    }
                }
                if time == before {
                    break;
                }
            }
            (time >= from).then_some(time)
        } else {
            None
        };
        for member in members {
            self.board.network.choose(member.id, None);
        }
        drawn
    }

    /// Returns the blocks that would have to go for a block just put in to stand, and what that costs; `None` where
    /// that would not help, would be too many, or would not cost less than `below`.
    fn in_the_way(
        &mut self,
        block: usize,
        members: &Members,
        below: u64,
    ) -> Option<(u64, Vec<usize>)> {
        let mut lifted = Lifted {
            blocks: Vec::new(),
            price: 0,
            below,
        };
        let found = self.clear(block, members, &mut lifted) && lifted.price < below;
        let out = lifted.blocks.iter().map(|&(block, ..)| block).collect();
        for (block, time, modes) in lifted.blocks {
            let members = &self.prepared.structure.blocks[block].members;
            seat::put(self.board, members, time, &modes);
        }
        found.then_some((lifted.price, out))
    }

    /// Lifts whoever is in the way of a block just put in; returns whether it then stands.
    fn clear(&mut self, block: usize, members: &Members, lifted: &mut Lifted) -> bool {
        let prepared = self.prepared;
        let structure = &prepared.structure;
        for &Member { id, .. } in members {
            for other in self.board.against(id) {
                if !self.lift(block, &[other], lifted) {
                    return false;
                }
            }
        }
        loop {
            let lack = structure.blocks[block]
                .members
                .iter()
                .find_map(|member| self.board.overdrawn(member.id));
            let Some(lack) = lack else { return true };
            let mut users = self.users(lack);
            users.retain(|user| structure.block_of[user.0] != block);
            if !self.lift(block, &users, lifted) {
                return false;
            }
        }
    }

    /// Returns how many may be put out for a block: more, the more often it has found no place.
    fn most_out(&self, block: usize) -> usize {
        let more = usize::try_from(self.trouble[block] / 3).unwrap_or(MOST_OUT_AT_LAST);
        MOST_OUT.saturating_add(more).min(MOST_OUT_AT_LAST)
    }

    fn users(&self, lack: Lack) -> Vec<ActivityId> {
        match lack.what {
            Missing::Resource(_) => self.board.standing_users(lack),
            Missing::State(..) => self.board.users(lack),
        }
    }

    /// Lifts the one of some activities that has found it easiest to go elsewhere; returns whether there was one.
    fn lift(&mut self, block: usize, of: &[ActivityId], lifted: &mut Lifted) -> bool {
        let prepared = self.prepared;
        let structure = &prepared.structure;
        let able = of
            .iter()
            .filter(|id| self.board.placed[id.0].is_some())
            .filter(|id| self.board.instance.activities[id.0].fixed.is_none())
            .map(|id| structure.block_of[id.0])
            .filter(|&other| other != block);
        let Some(other) = able.min_by_key(|&other| (self.trouble[other], other)) else {
            // One already lifted is out of the way.
            return of.iter().any(|id| self.board.placed[id.0].is_none());
        };
        lifted.price += self.trouble[other];
        if lifted.blocks.len() >= self.most_out(block) || lifted.price >= lifted.below {
            return false;
        }
        let members = &structure.blocks[other].members;
        let Some(placed) = self.board.placed[members[0].id.0] else {
            return false;
        };
        let time = seat::time_of(members[0], placed);
        let modes = seat::modes_of(self.board, members);
        lifted.blocks.push((other, time, modes));
        seat::lift(self.board, members);
        true
    }

    /// Gives everything that is out the window that what stands leaves it; where that leaves none, a neighbour
    /// goes out too, the block just `put_in` last. Returns whether all have one.
    fn reopen(&mut self, put_in: Option<usize>) -> bool {
        let prepared = self.prepared;
        let structure = &prepared.structure;
        for _ in 0..2 * MOST_OUT {
            let ids = self.out_around_the_touched();
            self.windows.keep();
            // Each is asked for its window by its neighbours, some times over.
            self.board.looked(REOPENED * ids.len() as u64);
            let network = &self.board.network;
            let Err(empty) = network.reopen(&mut self.windows, &self.prepared.first, &ids) else {
                self.windows.keep();
                self.touched.clear();
                return true;
            };
            self.windows.back_to(0);
            let around = self.around(empty.activity);
            let other = around
                .into_iter()
                .filter(|&other| Some(other) != put_in)
                .min_by_key(|&other| (self.trouble[other], other));
            // A window may close on one that stands, too; then that one goes before the one just put in does.
            let itself = || {
                let activity = &self.board.instance.activities[empty.activity.0];
                let stands = self.board.placed[empty.activity.0].is_some();
                (stands && activity.fixed.is_none()).then(|| structure.block_of[empty.activity.0])
            };
            let Some(other) = other.or_else(itself).or(put_in) else {
                return false;
            };
            self.trouble[other] += 1;
            self.put_out(other);
            // Last in the row, so that who lost its window is seated first.
            self.out.rotate_right(1);
        }
        false
    }

    /// Returns what is out and either touched itself, or tied by lags to what is over nothing that stands: no other
    /// window can be another than it was.
    fn out_around_the_touched(&mut self) -> Vec<ActivityId> {
        let structure = &self.prepared.structure;
        let members = |&block: &usize| structure.blocks[block].members.iter();
        let mut open: Vec<ActivityId> = self
            .touched
            .iter()
            .flat_map(members)
            .map(|it| it.id)
            .collect();
        let mut found = Vec::new();
        self.round += 1;
        while let Some(id) = open.pop() {
            if std::mem::replace(&mut self.seen_in[id.0], self.round) == self.round {
                continue;
            }
            let is_out = self.board.placed[id.0].is_none();
            if is_out {
                found.push(id);
            }
            // From what came in, one step leads to whoever is out beside it.
            let others = self.board.network.neighbours(id);
            open.extend(others.filter(|other| {
                self.seen_in[other.0] != self.round && self.board.placed[other.0].is_none()
            }));
        }
        found
    }

    /// Returns the blocks that stand around an activity that is out and all that are out with it: lags lead from
    /// it to them over nothing that stands.
    fn around(&self, activity: ActivityId) -> Vec<usize> {
        let structure = &self.prepared.structure;
        let (mut around, mut open) = (Vec::new(), vec![activity]);
        let mut seen = vec![activity];
        while let Some(id) = open.pop() {
            for other in self.board.network.neighbours(id) {
                if self.board.instance.activities[other.0].fixed.is_some() || seen.contains(&other)
                {
                    continue;
                }
                seen.push(other);
                if self.board.placed[other.0].is_some() {
                    around.push(structure.block_of[other.0]);
                } else {
                    open.push(other);
                }
            }
        }
        around.sort_unstable();
        around.dedup();
        around
    }
}
