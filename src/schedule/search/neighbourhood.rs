//! Which blocks are taken off together, in the hope that another order of them costs less.

use super::board::Board;
use super::mix;
use super::prepared::Prepared;
use super::seat;
use super::structure::Member;
use crate::schedule::problem::Time;

/// A small generator of draws (`SplitMix64`).
#[derive(Clone, Copy, Debug)]
pub(super) struct Draws(u64);

impl Draws {
    pub(super) fn new(seed: u64) -> Self {
        Self(mix(seed))
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        mix(self.0)
    }

    /// Returns a number below `limit`, which is at least 1.
    pub(super) fn below(&mut self, limit: usize) -> usize {
        (self.next() % limit.max(1) as u64) as usize
    }
}

/// Returns some blocks to take off: never none, each once, where there are any to come.
pub(super) fn choose(
    prepared: &Prepared<'_>,
    board: &Board<'_>,
    to_come: &[usize],
    draws: &mut Draws,
) -> Vec<usize> {
    let most = to_come.len().min(24);
    let limit = if draws.below(4) == 0 {
        most
    } else {
        most.min(9)
    };
    let size = 2 + draws.below(limit);
    let seed = match one_that_weighs(prepared, board, to_come, draws) {
        Some(block) => block,
        None => worst_of_some(prepared, board, to_come, draws),
    };
    let mut chosen = match draws.below(5) {
        0 => near_in_time(prepared, board, to_come, seed, size),
        1 => linked(prepared, seed, size),
        2 => {
            let rivals = rivals(prepared, board, to_come, seed, size.div_ceil(2));
            with_those_before(prepared, rivals, size)
        }
        3 => {
            let mut some: Vec<usize> = (0..size.min(6))
                .map(|_| to_come[draws.below(to_come.len())])
                .collect();
            some.push(seed);
            some
        }
        _ => {
            let mut all = rivals(prepared, board, to_come, seed, size.div_ceil(2));
            all.extend(linked(prepared, seed, size / 2));
            all
        }
    };
    chosen.sort_unstable();
    chosen.dedup();
    chosen
}

fn start_of(prepared: &Prepared<'_>, board: &Board<'_>, block: usize) -> Time {
    let member = prepared.structure.blocks[block].members[0];
    board.placed[member.id.0].map_or(0, |placed| seat::time_of(member, placed))
}

/// Of so many rounds one begins at what is late or breaks a wish, where anything does.
const ROUNDS_FOR_WHAT_WEIGHS: usize = 3;

/// Returns now and then, of the blocks that are late or break a wish, one drawn: in a large instance those are few,
/// and hardly ever drawn among all.
fn one_that_weighs(
    prepared: &Prepared<'_>,
    board: &Board<'_>,
    to_come: &[usize],
    draws: &mut Draws,
) -> Option<usize> {
    let weighs = |&&block: &&usize| {
        let mut members = prepared.structure.blocks[block].members.iter();
        members.any(|&Member { id, .. }| board.weighs(id))
    };
    let those: Vec<usize> = to_come.iter().filter(weighs).copied().collect();
    // Nothing is drawn where nothing weighs.
    let drawn = !those.is_empty() && draws.below(ROUNDS_FOR_WHAT_WEIGHS) == 0;
    drawn.then(|| those[draws.below(those.len())])
}

/// Returns, of a few blocks drawn, the one that could gain most.
fn worst_of_some(
    prepared: &Prepared<'_>,
    board: &Board<'_>,
    to_come: &[usize],
    draws: &mut Draws,
) -> usize {
    let gain = |&block: &usize| {
        let members = prepared.structure.blocks[block].members.iter();
        let early = |&Member { id, .. }: &Member| {
            let stands = board.placed[id.0].map_or(0, |placed| placed.start);
            let weight = prepared.instance.activities[id.0].weight;
            i64::from(weight) * i64::from(prepared.first.latest[id.0] - stands)
        };
        members.map(early).sum::<i64>()
    };
    let drawn: Vec<usize> = (0..=draws.below(4))
        .map(|_| to_come[draws.below(to_come.len())])
        .collect();
    drawn.into_iter().max_by_key(gain).unwrap_or(to_come[0])
}

fn nearest(
    prepared: &Prepared<'_>,
    board: &Board<'_>,
    of: impl Iterator<Item = usize>,
    seed: usize,
    size: usize,
) -> Vec<usize> {
    let centre = start_of(prepared, board, seed);
    let mut by_distance: Vec<(Time, usize)> = of
        .map(|block| ((start_of(prepared, board, block) - centre).abs(), block))
        .collect();
    let size = size.min(by_distance.len());
    if size > 0 {
        by_distance.select_nth_unstable(size - 1);
    }
    by_distance.truncate(size);
    // In which order the selection leaves them is not promised, and what is put out with them depends on it.
    by_distance.sort_unstable();
    let mut found: Vec<usize> = by_distance.into_iter().map(|(_, block)| block).collect();
    found.push(seed);
    found
}

fn near_in_time(
    prepared: &Prepared<'_>,
    board: &Board<'_>,
    to_come: &[usize],
    seed: usize,
    size: usize,
) -> Vec<usize> {
    nearest(prepared, board, to_come.iter().copied(), seed, size)
}

/// Returns the blocks near in time that want something the seed wants.
fn rivals(
    prepared: &Prepared<'_>,
    board: &Board<'_>,
    to_come: &[usize],
    seed: usize,
    size: usize,
) -> Vec<usize> {
    let wants = &prepared.wants[seed];
    let shares = |&block: &usize| prepared.wants[block].iter().any(|it| wants.contains(it));
    nearest(
        prepared,
        board,
        to_come.iter().copied().filter(shares),
        seed,
        size,
    )
}

/// Returns a block with those its lags reach, nearest first.
fn linked(prepared: &Prepared<'_>, seed: usize, size: usize) -> Vec<usize> {
    let structure = &prepared.structure;
    let mut found = vec![seed];
    let mut at = 0;
    while at < found.len() && found.len() < size {
        for &Member { id, .. } in &structure.blocks[found[at]].members {
            for other in prepared.network.neighbours(id) {
                let block = structure.block_of[other.0];
                if prepared.is_to_come(block) && !found.contains(&block) {
                    found.push(block);
                }
            }
        }
        at += 1;
    }
    found.truncate(size.max(1));
    found
}

fn with_those_before(prepared: &Prepared<'_>, mut found: Vec<usize>, size: usize) -> Vec<usize> {
    let mut at = 0;
    while at < found.len() && found.len() < size {
        for &before in &prepared.structure.before[found[at]] {
            if prepared.is_to_come(before) && !found.contains(&before) {
                found.push(before);
            }
        }
        at += 1;
    }
    found
}
