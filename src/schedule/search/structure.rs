//! What can be known of an instance before anything is placed: rigid blocks, and what waits for what.
//!
//! Activities whose distance is fixed by their lags (straight on, ready together) stand or move as one. Placing
//! them one at a time would place the last, find no room for the first, take the last back, and so on a minute
//! at a time; as one block they are placed by a single search over the block's start.

use crate::schedule::network::Network;
use crate::schedule::problem::{ActivityId, Duration, Edge, Instance, Time};

/// Activities that stand at fixed distances from one another; most blocks have one member.
#[derive(Clone, Debug)]
pub(super) struct Block {
    /// Its members, the latest ending first.
    pub(super) members: Vec<Member>,
}

/// One member of a block: which of its edges stands how long after the block's own time.
#[derive(Clone, Copy, Debug)]
pub(super) struct Member {
    pub(super) id: ActivityId,
    pub(super) offset: Time,
    pub(super) edge: Edge,
}

/// Blocks and their order.
#[derive(Clone, Debug)]
pub(super) struct Structure {
    pub(super) blocks: Vec<Block>,
    /// The block of each activity.
    pub(super) block_of: Vec<usize>,
    /// The blocks that a non-negative least lag puts before each block.
    pub(super) before: Vec<Vec<usize>>,
    /// And after.
    pub(super) after: Vec<Vec<usize>>,
    /// Which blocks hang together by lags and holds: one number for each group.
    pub(super) group_of: Vec<usize>,
    /// For each hold, the blocks from the one that takes to the one before the one that gives back.
    pub(super) between: Vec<Vec<usize>>,
}

impl Structure {
    pub(super) fn new(instance: &Instance, network: &Network<'_>) -> Self {
        let (blocks, block_of) = blocks(instance);
        let mut after: Vec<Vec<usize>> = vec![Vec::new(); blocks.len()];
        let mut before = after.clone();
        for (index, successors) in network.successors().into_iter().enumerate() {
            for next in successors {
                let (one, other) = (block_of[index], block_of[next as usize]);
                if one != other {
                    after[one].push(other);
                    before[other].push(one);
                }
            }
        }
        for hold in &instance.holds {
            let (one, other) = (block_of[hold.from.0.0], block_of[hold.to.0.0]);
            if one != other {
                after[one].push(other);
                before[other].push(one);
            }
        }
        for list in after.iter_mut().chain(&mut before) {
            list.sort_unstable();
            list.dedup();
        }
        let between = between(instance, &block_of, &after, &before);
        let group_of = groups(instance, network, &block_of, blocks.len());
        Self {
            blocks,
            block_of,
            before,
            after,
            group_of,
            between,
        }
    }
}

/// An edge of an activity, numbered: starts are even, ends odd.
fn node((id, edge): (ActivityId, Edge)) -> usize {
    2 * id.0 + usize::from(edge == Edge::End)
}

/// Joins activities that have an edge at a fixed distance from one another.
///
/// Edges are followed and not activities: where three steps must end together and one of them can be done in two
/// ways of different length, their ends are rigid and their starts are not.
fn blocks(instance: &Instance) -> (Vec<Block>, Vec<usize>) {
    let count = instance.activities.len();
    let mut rigid: Vec<Vec<(usize, Time)>> = vec![Vec::new(); 2 * count];
    let mut join = |one: usize, other: usize, distance: Time| {
        rigid[one].push((other, distance));
        rigid[other].push((one, -distance));
    };
    for (index, activity) in instance.activities.iter().enumerate() {
        if activity.fixed.is_none()
            && let Some(length) = activity.length()
        {
            join(2 * index, 2 * index + 1, length);
        }
    }
    let can_join = |(id, edge): (ActivityId, Edge)| {
        let activity = &instance.activities[id.0];
        // The end of a wait for a gate stays where it is while its start moves.
        let fixed_length =
            |mode: &crate::schedule::Mode| matches!(mode.duration, Duration::Fixed(_));
        activity.fixed.is_none() && (edge == Edge::Start || activity.modes.iter().all(fixed_length))
    };
    for lag in &instance.lags {
        if lag.most == Some(lag.least) && can_join(lag.from) && can_join(lag.to) {
            join(node(lag.from), node(lag.to), lag.least);
        }
    }
    // What two lags say of the same distance twice over is for the windows to refuse; here the first counts.
    let (mut blocks, mut block_of) = (Vec::new(), vec![usize::MAX; count]);
    let mut seen = vec![false; 2 * count];
    for first in 0..2 * count {
        let index = first / 2;
        let lonely = rigid[first].iter().all(|&(other, _)| other / 2 == index);
        // From an end only where the start is not tied to anybody: then the end may be.
        if block_of[index] != usize::MAX || (lonely && first.is_multiple_of(2)) {
            continue;
        }
        let mut members = Vec::new();
        let mut open = vec![(first, 0)];
        seen[first] = true;
        while let Some((at, offset)) = open.pop() {
            let id = ActivityId(at / 2);
            let edge = if at.is_multiple_of(2) {
                Edge::Start
            } else {
                Edge::End
            };
            if block_of[id.0] == usize::MAX {
                block_of[id.0] = blocks.len();
                members.push(Member { id, offset, edge });
            } else if block_of[id.0] != blocks.len() {
                // Its other edge belongs to another block; the windows tie the two.
                continue;
            }
            for &(other, distance) in &rigid[at] {
                if !std::mem::replace(&mut seen[other], true) {
                    open.push((other, offset + distance));
                }
            }
        }
        if let [only] = members.as_mut_slice() {
            (only.edge, only.offset) = (Edge::Start, 0);
        }
        // The latest ending first.
        members.sort_by_key(|member| {
            let length = instance.activities[member.id.0].length().unwrap_or(0);
            let end = match member.edge {
                Edge::Start => member.offset + length,
                Edge::End => member.offset,
            };
            (std::cmp::Reverse(end), member.id)
        });
        blocks.push(Block { members });
    }
    (blocks, block_of)
}

fn groups(
    instance: &Instance,
    network: &Network<'_>,
    block_of: &[usize],
    blocks: usize,
) -> Vec<usize> {
    let to_come = |id: ActivityId| instance.activities[id.0].fixed.is_none();
    let mut linked: Vec<Vec<usize>> = vec![Vec::new(); blocks];
    for index in 0..instance.activities.len() {
        let id = ActivityId(index);
        // What has happened, and what stands still (a course), binds nothing together.
        if to_come(id) {
            let others = network.neighbours(id).filter(|&other| to_come(other));
            linked[block_of[index]].extend(others.map(|other| block_of[other.0]));
        }
    }
    let (mut group_of, mut count) = (vec![usize::MAX; blocks], 0);
    for block in 0..blocks {
        if group_of[block] != usize::MAX {
            continue;
        }
        let mut open = vec![block];
        while let Some(at) = open.pop() {
            if group_of[at] == usize::MAX {
                group_of[at] = count;
                open.extend(&linked[at]);
            }
        }
        count += 1;
    }
    group_of
}

fn between(
    instance: &Instance,
    block_of: &[usize],
    after: &[Vec<usize>],
    before: &[Vec<usize>],
) -> Vec<Vec<usize>> {
    instance
        .holds
        .iter()
        .map(|hold| {
            let (from, to) = (block_of[hold.from.0.0], block_of[hold.to.0.0]);
            let (down, up) = (reach(from, after), reach(to, before));
            (0..after.len())
                .filter(|&block| down[block] && up[block] && block != to)
                .collect()
        })
        .collect()
}

/// Returns which blocks can be reached from one, itself among them.
pub(super) fn reach(from: usize, next: &[Vec<usize>]) -> Vec<bool> {
    let mut reached = vec![false; next.len()];
    let mut open = vec![from];
    while let Some(block) = open.pop() {
        if !std::mem::replace(&mut reached[block], true) {
            open.extend(&next[block]);
        }
    }
    reached
}
