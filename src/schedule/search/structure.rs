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
    /// Each member with the offset of its start from the start of the block's first; the latest ending first.
    pub(super) members: Vec<(ActivityId, Time)>,
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

/// Joins activities whose distance is fixed.
fn blocks(instance: &Instance) -> (Vec<Block>, Vec<usize>) {
    let count = instance.activities.len();
    // The distance from one start to the other, where a lag fixes it and neither end moves by itself.
    let length = |id: ActivityId| {
        let mut lengths = instance.activities[id.0]
            .modes
            .iter()
            .map(|mode| match mode.duration {
                Duration::Fixed(length) => Some(length),
                Duration::Until { .. } => None,
            });
        let first = lengths.next()??;
        lengths.all(|length| length == Some(first)).then_some(first)
    };
    let mut fixed: Vec<Vec<(usize, Time)>> = vec![Vec::new(); count];
    for lag in &instance.lags {
        let to_come = |id: ActivityId| instance.activities[id.0].fixed.is_none();
        let offset = |(id, edge): (ActivityId, Edge)| match edge {
            Edge::Start => Some(0),
            Edge::End => length(id),
        };
        if lag.most != Some(lag.least) || !to_come(lag.from.0) || !to_come(lag.to.0) {
            continue;
        }
        if let (Some(from), Some(to)) = (offset(lag.from), offset(lag.to)) {
            let distance = from + lag.least - to;
            fixed[lag.from.0.0].push((lag.to.0.0, distance));
            fixed[lag.to.0.0].push((lag.from.0.0, -distance));
        }
    }
    // What two lags say of the same distance twice over is for the windows to refuse; here the first counts.
    let (mut blocks, mut block_of) = (Vec::new(), vec![usize::MAX; count]);
    for index in 0..count {
        if block_of[index] != usize::MAX {
            continue;
        }
        let mut members = vec![(ActivityId(index), 0)];
        block_of[index] = blocks.len();
        let mut at = 0;
        while at < members.len() {
            let (ActivityId(member), offset) = members[at];
            for &(other, distance) in &fixed[member] {
                if block_of[other] == usize::MAX {
                    block_of[other] = blocks.len();
                    members.push((ActivityId(other), offset + distance));
                }
            }
            at += 1;
        }
        members
            .sort_by_key(|&(id, offset)| (std::cmp::Reverse(offset + length(id).unwrap_or(0)), id));
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
