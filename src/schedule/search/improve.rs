//! Improving a schedule, for as long as somebody looks.
//!
//! Each round takes some blocks off (`neighbourhood`) and puts them back in an order drawn around where they
//! stood; what their leaving makes room for follows. At the end of an epoch every block of the best is looked at once
//! more: after each find that would take most of the time. A schedule that costs a little more than the best is gone on
//! from too, so that the search does not stay in one hollow. When it has found nothing for long, it begins again
//! from a child of two of its population: each group of linked blocks in the order of one parent.
//!
//! Two islands always search, on one thread or two: an epoch is a fixed amount of work on each, and between epochs
//! they show each other their best. So the result depends on the seed and the number of epochs alone.

use super::board::Board;
use super::explained;
use super::insert::{Insertion, Order, Standing};
use super::justify::{self, Care};
use super::neighbourhood::{Draws, choose};
use super::order::Tried;
use super::prepared::{Prepared, looks, past_of};
use super::seat::{self, Turn};
use super::structure::Member;
use super::{both, starts};
use crate::schedule::bound::lower_bound;
use crate::schedule::conflict::Conflict;
use crate::schedule::cost::cost;
use crate::schedule::network::Windows;
use crate::schedule::problem::{ActivityId, Instance};
use crate::schedule::solution::{Placement, Schedule};

/// How many placements an island makes in an epoch.
const EPOCH: u64 = 2048;

/// An epoch gains next to nothing that takes no more than one in so many off what the best costs above the bound, and
/// less than a minute of overtime, a wish or a move counts.
const NEXT_TO_NOTHING: i64 = 20;

/// Of the looks an epoch has, at least one in so many is for polishing what it found.
const LOOKS_TO_POLISH: u64 = 8;

/// How many schedules an island keeps to have children from.
const POPULATION: usize = 6;

/// A schedule and what goes on being tried to better it.
#[derive(Debug)]
pub struct Improver<'a> {
    prepared: Prepared<'a>,
    islands: [Island<'a>; 2],
    epochs: u32,
}

/// A schedule by its cost, then its starts: an order in which no two differ in nothing.
type Ranked = (i64, Vec<Placement>);

#[derive(Debug)]
struct Island<'a> {
    prepared: Prepared<'a>,
    to_come: Vec<usize>,
    board: Board<'a>,
    windows: Windows,
    standing: Standing,
    keys: Vec<i64>,
    best: Ranked,
    population: Vec<Ranked>,
    draws: Draws,
    /// Rounds since anything better was found.
    stale: u32,
    /// The blocks changed in this round, with where their members stood.
    changed: Vec<usize>,
    is_changed: Vec<bool>,
    stood: Vec<(ActivityId, Placement)>,
}

impl<'a> Improver<'a> {
    /// Returns an improver of a schedule that holds; the conflict where the instance has none.
    pub fn new(instance: &'a Instance, schedule: &Schedule, seed: u64) -> Result<Self, Conflict> {
        let prepared = Prepared::new(instance, &past_of(instance, &schedule.placements))?;
        Ok(Self::with(prepared, &schedule.placements, seed))
    }

    pub(super) fn with(mut prepared: Prepared<'a>, placements: &[Placement], seed: u64) -> Self {
        prepared.bound = prepared.bound.max(lower_bound(prepared.instance));
        let island =
            |number: u64| Island::new(&prepared, placements, seed.wrapping_mul(2) ^ number);
        Self {
            islands: [island(0), island(1)],
            prepared,
            epochs: 0,
        }
    }

    /// Goes on for at most so many epochs; returns whether anything better was found.
    ///
    /// It ends early when the best is proved best, or when `stop` says so between two epochs.
    pub fn run(&mut self, epochs: u32, threads: usize, stop: &(dyn Fn() -> bool + Sync)) -> bool {
        let before = self.cost();
        for _ in 0..epochs {
            if self.is_optimal() || stop() {
                break;
            }
            let [one, other] = &mut self.islands;
            both(threads, || one.epoch(), || other.epoch());
            self.epochs += 1;
            one.meet(other);
            other.meet(one);
        }
        self.cost() < before
    }

    /// The same for somebody who waits: an epoch that gains next to nothing is the last.
    pub(super) fn run_while_it_pays(&mut self, epochs: u32, threads: usize) {
        for _ in 0..epochs {
            let before = self.cost();
            self.run(1, threads, &|| false);
            let gained = before - self.cost();
            // What the best costs above the bound may be there for good, a minute late say; then a wish is worth a look.
            let little = gained.saturating_mul(NEXT_TO_NOTHING) <= before - self.prepared.bound;
            // What weighs is mostly there for want of a draw: an epoch that found no way out says little of the next.
            if little && gained < self.weighs() && !self.has_what_weighs() {
                break;
            }
        }
    }

    /// Returns whether the best schedule may be late, or break a wish or ask for overtime, without need.
    fn has_what_weighs(&self) -> bool {
        if self.cost() - self.prepared.bound < self.weighs() {
            return false;
        }
        let cost = cost(self.prepared.instance, &self.leader().best.1);
        cost.late + cost.wish + cost.overtime > 0
    }

    /// Returns what the least of what weighs costs, a minute of it or a move.
    fn weighs(&self) -> i64 {
        let weights = &self.prepared.instance.weights;
        let weigh = [weights.late, weights.wish, weights.overtime, weights.moved];
        let least = weigh.into_iter().filter(|&it| it > 0).min();
        least.unwrap_or(i64::MAX)
    }

    fn leader(&self) -> &Island<'a> {
        let [one, other] = &self.islands;
        if rank(&other.best) < rank(&one.best) {
            other
        } else {
            one
        }
    }

    /// Returns the cost of the best schedule so far.
    pub fn cost(&self) -> i64 {
        self.leader().best.0
    }

    /// Returns what every schedule costs at least.
    pub fn bound(&self) -> i64 {
        self.prepared.bound.min(self.cost())
    }

    /// Returns whether the best schedule so far is proved best.
    pub fn is_optimal(&self) -> bool {
        self.cost() <= self.prepared.bound
    }

    /// Returns how many epochs have been run.
    pub fn epochs(&self) -> u32 {
        self.epochs
    }

    /// Returns the best schedule so far, with what holds each activity back.
    pub fn best(&self) -> Schedule {
        let board = self.prepared.board_of(&self.leader().best.1);
        explained(&self.prepared, board)
    }
}

fn rank(ranked: &Ranked) -> (i64, Vec<i32>) {
    (ranked.0, starts(&ranked.1))
}

impl<'a> Island<'a> {
    fn new(prepared: &Prepared<'a>, placements: &[Placement], seed: u64) -> Self {
        let board = prepared.board_of(placements);
        let standing = Standing::new(&prepared.structure, &board);
        let blocks = prepared.structure.blocks.len();
        let best = (board.cost, placements.to_vec());
        let mut island = Self {
            to_come: prepared.to_come(),
            windows: (*prepared.first).clone(),
            keys: vec![0; blocks],
            population: vec![best.clone()],
            draws: Draws::new(seed),
            stale: 0,
            changed: Vec::new(),
            is_changed: vec![false; blocks],
            stood: Vec::new(),
            prepared: prepared.clone(),
            board,
            standing,
            best,
        };
        island.stand_all();
        island
    }

    fn stand_all(&mut self) {
        for (index, placed) in self.board.placed.iter().enumerate() {
            if let Some(placed) = placed {
                let id = ActivityId(index);
                self.board
                    .network
                    .stand(&mut self.windows, id, placed.start);
            }
        }
    }

    fn epoch(&mut self) {
        if self.to_come.is_empty() {
            return;
        }
        let until = self.standing.placements() + EPOCH;
        let before = self.best.0;
        // A round that runs out of looks puts everything back and is the last.
        self.board.allow(looks(self.to_come.len()));
        // A round may fail before it places anything; so many rounds are an epoch too.
        for _ in 0..EPOCH {
            if self.standing.placements() >= until
                || self.best.0 <= self.prepared.bound
                || self.board.looks_left() == 0
            {
                break;
            }
            self.round();
        }
        if self.prepared.bound < self.best.0 && self.best.0 < before {
            self.polish();
        }
        self.board.allow(u64::MAX);
    }

    /// Moves each block of the best where it costs least among the others, until none moves.
    fn polish(&mut self) {
        // Where the epoch has used all its looks, some are for this all the same.
        let left = self.board.looks_left();
        let least = looks(self.to_come.len()) / LOOKS_TO_POLISH;
        self.board = self.prepared.board_of(&self.best.1);
        self.board.allow(left.max(least));
        justify::justify(&mut self.board, &self.prepared.structure, Care::FULL);
        self.stand_all();
        // What costs the same stands later now.
        if self.board.cost <= self.best.0 {
            self.best = (self.board.cost, self.board.placements());
            self.remember(self.best.clone());
            self.stale = 0;
        }
    }

    fn round(&mut self) {
        let patience = 60 + 2 * self.to_come.len().min(400) as u32;
        if self.stale > patience {
            self.begin_again();
        }
        let cost = self.board.cost;
        let blocks = choose(&self.prepared, &self.board, &self.to_come, &mut self.draws);
        let allowed = cost.max(self.best.0 + self.leeway());
        let moved = if self.draws.below(6) == 0 {
            self.slide(&blocks)
        } else {
            self.put_in_anew(&blocks)
        };
        if moved {
            self.follow_up();
        }
        if !moved || self.board.cost > allowed {
            self.undo();
            self.stale += 1;
            return;
        }
        self.forget_changes();
        if self.board.cost < self.best.0 {
            self.best = (self.board.cost, self.board.placements());
            self.remember(self.best.clone());
            self.stale = 0;
        } else {
            self.stale += 1;
        }
    }

    /// Returns how much more than the best may be gone on from: now and then some of what the best is above the
    /// bound.
    fn leeway(&mut self) -> i64 {
        let above = (self.best.0 - self.prepared.bound).max(0);
        let share = [0, 0, 400, 100, 40][self.draws.below(5)];
        if share == 0 { 0 } else { above / share }
    }

    /// Moves blocks by the same time, all together; returns whether they could be.
    ///
    /// Where each is held by another, no move of one of them gains, and no order of them says that all should go.
    fn slide(&mut self, blocks: &[usize]) -> bool {
        let structure = std::sync::Arc::clone(&self.prepared.structure);
        self.board.wary = false;
        let far = 1 << self.draws.below(7);
        let by = if self.draws.below(2) == 0 { far } else { -far };
        let mut stood = Vec::new();
        for &block in blocks {
            self.note(block);
            let members = &structure.blocks[block].members;
            if let Some(placed) = self.board.placed[members[0].id.0] {
                let time = seat::time_of(members[0], placed);
                stood.push((block, time + by, seat::modes_of(&self.board, members)));
            }
        }
        for &block in blocks {
            seat::lift(&mut self.board, &structure.blocks[block].members);
        }
        stood.into_iter().all(|(block, time, modes)| {
            let members = &structure.blocks[block].members;
            let bounds = |board: &Board<'_>, id: ActivityId| justify::bounds(board, members, id);
            let fits = seat::stands(&mut self.board, members, time, &modes, &bounds);
            for &Member { id, .. } in members {
                if let Some(placed) = self.board.placed[id.0] {
                    let network = &self.board.network;
                    network.stand(&mut self.windows, id, placed.start);
                }
            }
            self.standing.placed_one();
            fits
        })
    }

    /// Takes blocks off and puts them back in another order; returns whether they could be.
    fn put_in_anew(&mut self, blocks: &[usize]) -> bool {
        let structure = std::sync::Arc::clone(&self.prepared.structure);
        self.board.wary = self.draws.below(3) == 0;
        let spread = 1 << self.draws.below(12);
        let mut ids = Vec::new();
        for &block in blocks {
            self.note(block);
            let members = &structure.blocks[block].members;
            let stands = members
                .iter()
                .filter_map(|&Member { id, .. }| Some(self.board.placed[id.0]?.start))
                .max();
            let noise = self.draws.below(2 * spread + 1) as i64 - spread as i64;
            self.keys[block] = i64::from(stands.unwrap_or(0)) + noise;
            ids.extend(members.iter().map(|&Member { id, .. }| id));
        }
        for &block in blocks {
            seat::lift(&mut self.board, &structure.blocks[block].members);
            self.standing.mark(&structure, block, false);
        }
        self.windows.keep();
        let network = &self.board.network;
        let opened = network.reopen(&mut self.windows, &self.prepared.first, &ids);
        let done = opened.is_ok() && {
            // A small instance is worth looking at closely; in a large one rounds count for more.
            let (near, far) = if self.to_come.len() <= 24 {
                (6, 48)
            } else {
                (3, 12)
            };
            let order = Order {
                keys: &self.keys,
                draw: self.draws.next() | 1,
                close_first: self.draws.below(2) == 0,
                sends_far: self.draws.below(2) == 0,
                take_backs: 4 + blocks.len() as u32,
                starts: if self.draws.below(4) == 0 { far } else { near },
            };
            let mut insertion = Insertion {
                board: &mut self.board,
                windows: &mut self.windows,
                first: &self.prepared.first,
                structure: &structure,
                standing: &mut self.standing,
                order,
            };
            insertion.run(blocks).is_ok()
        };
        if !done {
            self.windows.back_to(0);
        }
        self.windows.keep();
        done
    }

    /// Moves what the blocks put in anew have made room for: themselves, what comes before them, and so on.
    fn follow_up(&mut self) {
        let structure = std::sync::Arc::clone(&self.prepared.structure);
        let mut open: std::collections::VecDeque<usize> = self.changed.iter().copied().collect();
        for &block in &self.changed {
            open.extend(&structure.before[block]);
        }
        let mut left = 4 * open.len() + 16;
        let near = if self.to_come.len() <= 24 { 8 } else { 3 };
        while let Some(block) = open.pop_front() {
            if left == 0 {
                break;
            }
            left -= 1;
            if !self.prepared.is_to_come(block) {
                continue;
            }
            let was = self.is_changed[block];
            self.note(block);
            let members = &structure.blocks[block].members;
            if justify::settle(&mut self.board, members, Turn::From(0), near) {
                for &Member { id, .. } in members {
                    if let Some(placed) = self.board.placed[id.0] {
                        self.board
                            .network
                            .stand(&mut self.windows, id, placed.start);
                    }
                }
                open.extend(&structure.before[block]);
            } else if !was {
                // It has not changed after all.
                self.is_changed[block] = false;
                self.changed.pop();
                self.stood.truncate(self.stood.len() - members.len());
            }
        }
    }

    /// Notes where a block stands before it is first changed in this round.
    fn note(&mut self, block: usize) {
        if std::mem::replace(&mut self.is_changed[block], true) {
            return;
        }
        self.changed.push(block);
        for &Member { id, .. } in &self.prepared.structure.blocks[block].members {
            if let Some(placed) = self.board.placed[id.0] {
                self.stood.push((id, placed));
            }
        }
    }

    fn forget_changes(&mut self) {
        for &block in &self.changed {
            self.is_changed[block] = false;
        }
        self.changed.clear();
        self.stood.clear();
    }

    /// Puts everything changed in this round back where it stood.
    fn undo(&mut self) {
        for &(id, _) in &self.stood {
            self.board.remove(id);
        }
        for &(id, placed) in &self.stood {
            self.board.place(id, placed.mode, placed.start);
            self.board
                .network
                .stand(&mut self.windows, id, placed.start);
        }
        for at in 0..self.changed.len() {
            let block = self.changed[at];
            self.standing.mark(&self.prepared.structure, block, true);
        }
        self.forget_changes();
    }

    fn remember(&mut self, found: Ranked) {
        if self.population.contains(&found) {
            return;
        }
        self.population.push(found);
        self.population.sort_by_cached_key(rank);
        self.population.truncate(POPULATION);
    }

    /// Goes on from a child of two of the population, or from one of them where no child holds.
    fn begin_again(&mut self) {
        self.stale = 0;
        let one = self.draws.below(self.population.len());
        let other = self.draws.below(self.population.len());
        let draw = self.draws.next();
        let keys: Vec<i64> = (0..self.keys.len())
            .map(|block| {
                let group = self.prepared.structure.group_of[block] as u64;
                let parent = if super::mix(draw ^ group).is_multiple_of(2) {
                    one
                } else {
                    other
                };
                let members = self.prepared.structure.blocks[block].members.iter();
                let stand = |&Member { id, .. }: &Member| self.population[parent].1[id.0].start;
                let noise = (super::mix(draw ^ (block as u64) << 16) % 61) as i64 - 30;
                i64::from(members.map(stand).max().unwrap_or(0)) + noise
            })
            .collect();
        let tried = Tried {
            number: (draw >> 40) as u32 | 4,
            keys,
        };
        let take_backs = 40 + self.to_come.len() as u32 / 4;
        let left = self.board.looks_left();
        self.board = match self.prepared.decode(&tried, take_backs, left, &mut 0) {
            Ok(mut child) => {
                justify::justify(&mut child, &self.prepared.structure, Care::QUICK);
                child
            }
            Err(failed) => {
                let mut board = self.prepared.board_of(&self.population[one].1);
                board.allow(failed.1.looks_left());
                board
            }
        };
        if self.board.cost < self.best.0 {
            self.best = (self.board.cost, self.board.placements());
            self.remember(self.best.clone());
        }
        self.stand_all();
    }

    /// Takes the other's best into the population; goes on from it when it is much better.
    fn meet(&mut self, other: &Self) {
        if rank(&other.best) >= rank(&self.best) {
            return;
        }
        self.remember(other.best.clone());
        self.best = other.best.clone();
        if self.draws.below(2) == 0 {
            self.board = self.prepared.board_of(&other.best.1);
            self.stand_all();
            self.stale = 0;
        }
    }
}
